using System.Numerics;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Objects;

/// <summary>Surface meshes of the user's own, from files.</summary>
internal static class UserMeshes
{
    /// <summary>The surfaces of one mesh: the share that is its material, the rest soft tissue, less what it takes the place of.</summary>
    /// <exception cref="ArgumentException">The scene has no folder.</exception>
    /// <exception cref="UnreadableMeshException">The file is damaged, no mesh or not closed.</exception>
    /// <exception cref="IOException">The file cannot be opened.</exception>
    public static IReadOnlyList<BeamItem> Build(SceneMesh mesh, string? folder)
    {
        if (folder is null)
        {
            throw new ArgumentException($"The mesh '{mesh.File}' cannot be read: the scene has no folder.", nameof(folder));
        }

        TriangleMesh surface = MeshReader.ReadClosed(Path.Combine(folder, mesh.File), mesh.Unit switch
        {
            "mm" => MeshUnit.Millimetre,
            "cm" => MeshUnit.Centimetre,
            _ => MeshUnit.Metre,
        }).Mesh;
        // Files are right-handed; the room is left-handed as seen from the tube (y runs down): a file's y runs up the image.
        Pose turned = new Pose(Vector3.Zero, Vector3.UnitX, -Vector3.UnitY, Vector3.UnitZ).Within(BodyTurn(mesh.TurnDegrees));
        Vector3 middle = (surface.Bounds.Minimum + surface.Bounds.Maximum) / 2;
        Vector3 centre = new((float)mesh.CentreMm[0], (float)mesh.CentreMm[1], (float)mesh.CentreMm[2]);
        Pose pose = turned with { Origin = centre - turned.TurnToOuter(middle) };
        List<BeamItem> items = [new(surface, pose, mesh.Material, (float)mesh.Share, false)];
        if (mesh.Share < 1)
        {
            items.Add(new BeamItem(surface, pose, "soft tissue", (float)(1 - mesh.Share), false));
        }

        if (mesh.Replaces is not null)
        {
            items.Add(new BeamItem(surface, pose, mesh.Replaces, -1, false));
        }

        return items;
    }

    private static Pose BodyTurn(IReadOnlyList<double> degrees)
    {
        Pose x = Phantom.BodyBuilder.About(Vector3.Zero, Vector3.UnitX, degrees[0]);
        Pose y = Phantom.BodyBuilder.About(Vector3.Zero, Vector3.UnitY, degrees[1]);
        Pose z = Phantom.BodyBuilder.About(Vector3.Zero, Vector3.UnitZ, degrees[2]);
        return x.Within(y).Within(z);
    }
}
