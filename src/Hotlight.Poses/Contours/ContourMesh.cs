using System.Numerics;
using System.Runtime.CompilerServices;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Poses;

/// <summary>A surface of the phantom with smooth normals, for its contours.</summary>
internal sealed class ContourMesh
{
    private static readonly ConditionalWeakTable<object, ContourMesh> Known = [];

    private readonly TriangleMesh mesh;
    private readonly Vector3[] normals;

    private ContourMesh(TriangleMesh mesh)
    {
        this.mesh = mesh;
        normals = Smooth(mesh);
    }

    public ReadOnlySpan<Vector3> Vertices => mesh.Vertices;

    public ReadOnlySpan<int> Corners => mesh.Corners;

    public ReadOnlySpan<Vector3> Normals => normals;

    /// <summary>A bone's outer surface without its roughness; made once.</summary>
    public static ContourMesh Of(Bone bone) => Known.GetValue(bone.Surface, surface => new ContourMesh(ShapeMesher.FromShape((Shape)surface, Cell(bone.Surface, 0.7f, 1.4f))));

    /// <summary>A rib or a clavicle.</summary>
    public static ContourMesh Of(Tube tube) => Known.GetValue(tube, _ => new ContourMesh(SolidMeshes.Tube([.. tube.Stations.Select(station => new SweepStation(station.Point, station.HalfHeight, station.HalfThickness))], tube.HeightAxis, 28)));

    /// <summary>A skin.</summary>
    public static ContourMesh OfSkin(Shape skin) => Known.GetValue(skin, surface => new ContourMesh(ShapeMesher.FromShape((Shape)surface, Cell(skin, 3, 8))));

    private static float Cell(Shape shape, float least, float most)
    {
        Vector3 size = shape.Bounds.Maximum - shape.Bounds.Minimum;
        return Math.Clamp(MathF.Min(size.X, MathF.Min(size.Y, size.Z)) / 30, least, most);
    }

    /// <summary>Normals weighted by the triangles' areas, then twice the mean with the neighbours': the facets' own steps would break a contour to pieces.</summary>
    private static Vector3[] Smooth(TriangleMesh mesh)
    {
        ReadOnlySpan<Vector3> vertices = mesh.Vertices;
        ReadOnlySpan<int> corners = mesh.Corners;
        Vector3[] sums = new Vector3[vertices.Length];
        for (int at = 0; at < corners.Length; at += 3)
        {
            Vector3 area = Vector3.Cross(vertices[corners[at + 1]] - vertices[corners[at]], vertices[corners[at + 2]] - vertices[corners[at]]);
            for (int corner = 0; corner < 3; corner++)
            {
                sums[corners[at + corner]] += area;
            }
        }

        for (int pass = 0; pass < 2; pass++)
        {
            Vector3[] units = [.. sums.Select(sum => sum.LengthSquared() > 1e-20f ? Vector3.Normalize(sum) : Vector3.Zero)];
            sums = [.. units];
            for (int at = 0; at < corners.Length; at += 3)
            {
                Vector3 all = units[corners[at]] + units[corners[at + 1]] + units[corners[at + 2]];
                for (int corner = 0; corner < 3; corner++)
                {
                    sums[corners[at + corner]] += 0.3f * all;
                }
            }
        }

        return [.. sums.Select(sum => sum.LengthSquared() > 1e-20f ? Vector3.Normalize(sum) : Vector3.Zero)];
    }
}
