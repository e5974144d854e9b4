using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Objects;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Scene;

/// <summary>A scene built up in the room: receptor, source, leaves, the placed part and everything else in the beam. The room's origin is where the central ray meets the receptor.</summary>
internal sealed class SceneSetup
{
    /// <summary>Room left between the focal spot and the highest thing in the beam, in mm.</summary>
    private const float LeastBelowSourceMm = 20;

    /// <summary>Cell of the mesh by which a skin's lowest point is found, in mm.</summary>
    private const float SkinCellMm = 4;

    private readonly Func<Shape, Pose, float> lowest;

    /// <param name="scene">A checked scene.</param>
    /// <param name="folder">Folder that mesh files are relative to; null where none may be read.</param>
    /// <param name="quick">Whether the skin's lowest point is found on a coarse mesh and then on the skin itself: within 0.1 mm of what an exposure finds, and many times faster when a joint moves.</param>
    /// <exception cref="UnreadableSceneException">A mesh cannot be read or used, a material or a bone is unknown, or the tube is tilted too far.</exception>
    public SceneSetup(SceneDocument scene, string? folder, bool quick = false)
    {
        Scene = scene;
        IsQuick = quick;
        lowest = quick ? SkinReach.LowestZ : LowestZ;
        PersonSeed = scene.Part is { Person: not 0 } one ? one.Person : scene.Seed;
        double spacing = scene.Receptor.SpacingMm;
        int rows = Math.Max(8, (int)Math.Round(scene.Receptor.HeightMm / spacing));
        int columns = Math.Max(8, (int)Math.Round(scene.Receptor.WidthMm / spacing));
        SceneTube tube = scene.Tube;
        CentralRay = new PixelPoint(X: ((columns - 1) / 2.0) + (tube.CentreMm[0] / spacing), Y: ((rows - 1) / 2.0) + (tube.CentreMm[1] / spacing));

        // Sent towards the top, the tube stands below: the source moves the other way.
        Geometry = BeamGeometry.FromTube(rows, columns, spacing, tube.SourceImageDistanceMm, -tube.AngleDegrees[0], -tube.AngleDegrees[1], CentralRay);
        Middle = new Vector3((float)-tube.CentreMm[0], (float)-tube.CentreMm[1], (float)scene.Receptor.GapMm);
        try
        {
            if (scene.Part is { } part)
            {
                Phantom = PartPhantoms.ByName(part.Name);
                View = Phantom.View(part.View);
                Body placed = Phantom.Place(
                    View,
                    new PartForm
                    {
                        Size = part.Size == "child" ? BodySize.Child : BodySize.Adult,
                        Habitus = part.Habitus,
                        Joints = part.Joints,
                        Seed = PersonSeed,
                    },
                    Examination.IsMirrored(part),
                    new PartOffset(part.TurnDegrees, part.TiltDegrees, part.LeanDegrees, part.ShiftMm[0], part.ShiftMm[1], part.LiftMm),
                    lowest);
                Body = placed with { Placement = placed.Placement with { Origin = placed.Placement.Origin + Middle } };
            }

            ForeignObjects = [.. scene.Objects.Select(thing => (thing.Kind, (IReadOnlyList<BeamItem>)[.. Objects.ForeignObjects.Build(thing, Body).Select(InRoom)]))];
            List<BeamItem> items = [.. ForeignObjects.SelectMany(thing => thing.Items)];
            if (scene.Marker is { } marker)
            {
                items.AddRange(SideMarkers.Build(marker).Select(InRoom));
            }

            foreach (SceneMesh mesh in scene.Meshes)
            {
                items.AddRange(UserMeshes.Build(mesh, folder).Select(InRoom));
            }

            Items = items;
            CheckHeights();
        }
        catch (ArgumentException error)
        {
            throw new UnreadableSceneException(scene.Id, Sentence(error), error);
        }
        catch (UnreadableMeshException error)
        {
            throw new UnreadableSceneException(scene.Id, $"the mesh '{error.FileName}' cannot be used: {error.Reason}", error);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new UnreadableSceneException(scene.Id, $"a mesh cannot be opened: {error.Message}", error);
        }
    }

    public SceneDocument Scene { get; }

    /// <summary>Whether it is for a picture that follows a hand.</summary>
    public bool IsQuick { get; }

    /// <summary>Seed of what differs between people.</summary>
    public ulong PersonSeed { get; }

    public BeamGeometry Geometry { get; }

    /// <summary>Where the central ray meets the receptor, in pixels.</summary>
    public PixelPoint CentralRay { get; }

    /// <summary>Where the middle of the support over the receptor lies in the room.</summary>
    public Vector3 Middle { get; }

    public PartPhantom? Phantom { get; }

    public PartView? View { get; }

    /// <summary>The part where it lies in the room, or null.</summary>
    public Body? Body { get; init; }

    /// <summary>Everything else; what moves with the part is in the part's frame.</summary>
    public IReadOnlyList<BeamItem> Items { get; }

    /// <summary>The foreign objects among them, with their kinds.</summary>
    public IReadOnlyList<(string Kind, IReadOnlyList<BeamItem> Items)> ForeignObjects { get; }

    /// <summary>Lowest point of a skin in a pose, in mm.</summary>
    public static float LowestZ(Shape skin, Pose pose)
    {
        TriangleMesh mesh = MeshCache.Common.Get(skin, BitConverter.SingleToUInt32Bits(SkinCellMm), () => ShapeMesher.FromShape(skin, SkinCellMm));
        float lowest = float.MaxValue;
        foreach (Vector3 vertex in mesh.Vertices)
        {
            lowest = MathF.Min(lowest, pose.ToOuter(vertex).Z);
        }

        return mesh.IsEmpty ? 0 : lowest;
    }

    /// <summary>Highest point of the placed part's skin over the receptor, in mm; 0 without a part.</summary>
    public float HighestZ()
    {
        if (Body is null)
        {
            return 0;
        }

        Pose placement = Body.Placement;
        Pose turned = placement with { X = new(placement.X.X, placement.X.Y, -placement.X.Z), Y = new(placement.Y.X, placement.Y.Y, -placement.Y.Z), Z = new(placement.Z.X, placement.Z.Y, -placement.Z.Z), Origin = new(0, 0, -placement.Origin.Z) };
        return -lowest(Body.Skin, turned);
    }

    /// <summary>A place given from the middle of the receptor, in pixels of the stored image.</summary>
    public PixelPoint PixelsFromMiddle(IReadOnlyList<double> mm) => new(
        X: ((Geometry.Columns - 1) / 2.0) + (mm[0] / Geometry.SpacingMm),
        Y: ((Geometry.Rows - 1) / 2.0) + (mm[1] / Geometry.SpacingMm));

    // Everything in the beam lies below the focal spot; a mesh in the wrong unit does not.
    private void CheckHeights()
    {
        foreach (BeamItem item in Items)
        {
            Pose pose = item.MovesWithPart && Body is not null ? item.Pose.Within(Body.Placement) : item.Pose;
            float highest = pose.ToOuter(item.Mesh.Bounds).Maximum.Z;
            if (highest > Geometry.Source.Z - LeastBelowSourceMm)
            {
                throw new ArgumentException(FormattableString.Invariant($"Something of {item.Material} reaches {highest:0} mm above the receptor, but the focal spot is at {Geometry.Source.Z:0} mm; look at its place, and at the unit of a mesh."));
            }
        }

        if (HighestZ() is float skin && skin > Geometry.Source.Z - LeastBelowSourceMm)
        {
            throw new ArgumentException(FormattableString.Invariant($"The part reaches {skin:0} mm above the receptor, but the focal spot is at {Geometry.Source.Z:0} mm; lower it or make the source-image distance longer."));
        }
    }

    private static string Sentence(ArgumentException error)
    {
        int parameter = error.Message.IndexOf(" (Parameter", StringComparison.Ordinal);
        string text = parameter > 0 ? error.Message[..parameter] : error.Message;
        return char.ToLowerInvariant(text[0]) + text[1..];
    }

    private BeamItem InRoom(BeamItem item)
        => item.MovesWithPart ? item : item with { Pose = item.Pose with { Origin = item.Pose.Origin + Middle } };
}
