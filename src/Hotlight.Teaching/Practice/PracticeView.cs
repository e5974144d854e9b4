using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Teaching.Practice;

/// <summary>A line on the position of a part, decided by one angle of the pose.</summary>
public sealed record PracticePosition
{
    /// <summary>Identifier of the line.</summary>
    public required string Line { get; init; }

    /// <summary>What decides it: "turn", "tilt" or the name of a joint of the lab.</summary>
    public required string Setting { get; init; }

    /// <summary>The setting's value as the projection demands, in degrees (of the chest's breath: steps of 0 to 10).</summary>
    public required double Rest { get; init; }

    /// <summary>The line is met up to so far from <see cref="Rest"/>.</summary>
    public required double MetWithin { get; init; }

    /// <summary>It is missed from so far on; between the two it does not count.</summary>
    public required double MissedFrom { get; init; }

    /// <summary>Farthest that is planted.</summary>
    public required double Most { get; init; }

    /// <summary>The way of missing it above <see cref="Rest"/>; null: none is known.</summary>
    public string? Above { get; init; }

    /// <summary>The way of missing it below; null: none is known.</summary>
    public string? Below { get; init; }

    /// <summary>Whether faults of it are planted on purpose.</summary>
    public bool Planted { get; init; } = true;

    /// <summary>Whether it only follows another line's fault and is never planted for itself.</summary>
    public bool Follows { get; init; }

    /// <summary>Lines that do not count while this one is not met, since the same setting moves them to an unknown degree.</summary>
    public IReadOnlyList<string> Unsettles { get; init; } = [];

    /// <summary>Landmarks of the lab on which it is seen.</summary>
    public IReadOnlyList<string> Landmarks { get; init; } = [];

    /// <summary>The setting's value in a scene.</summary>
    /// <param name="scene">The scene; it has a part.</param>
    /// <param name="view">How the lab knows the view.</param>
    public double Get(SceneDocument scene, PracticeView view)
    {
        ArgumentNullException.ThrowIfNull(scene);
        ArgumentNullException.ThrowIfNull(view);
        ScenePart part = scene.Part!;
        return Setting switch
        {
            "turn" => part.TurnDegrees,
            "tilt" => part.TiltDegrees,
            _ => part.Joints.GetValueOrDefault(Setting, view.DemandedJoint(Setting)),
        };
    }

    /// <summary>A scene with another value of the setting.</summary>
    /// <param name="scene">The scene; it has a part.</param>
    /// <param name="value">The value.</param>
    public SceneDocument Set(SceneDocument scene, double value)
    {
        ArgumentNullException.ThrowIfNull(scene);
        ScenePart part = scene.Part!;
        return scene with
        {
            Part = Setting switch
            {
                "turn" => part with { TurnDegrees = value },
                "tilt" => part with { TiltDegrees = value },
                _ => part with { Joints = new Dictionary<string, double>(part.Joints) { [Setting] = value } },
            },
        };
    }
}

/// <summary>A line on needed anatomy, decided by one edge of the field. Lengths in mm at the receptor from where the part is centred, right and down, for a right side.</summary>
/// <param name="Line">Identifier of the line.</param>
/// <param name="Edge">"top", "right", "bottom" or "left".</param>
/// <param name="WholeBeyondMm">With the edge here or farther out all of it is in the field.</param>
/// <param name="CutBeforeMm">With the edge here or farther in it is cut; between the two it does not count.</param>
/// <param name="CutMostMm">Farthest in that is planted.</param>
public sealed record PracticeAnatomy(string Line, string Edge, double WholeBeyondMm, double CutBeforeMm, double CutMostMm);

/// <summary>A thing that may lie over the part.</summary>
/// <param name="Kind">Kind of the lab's object.</param>
/// <param name="CentreMm">Where: right, down, up.</param>
public sealed record PracticeObject(string Kind, IReadOnlyList<double> CentreMm);

/// <summary>A published coefficient of effective dose.</summary>
/// <param name="MillisievertPerGyCm2">Effective dose over kerma-area product, in mSv/(Gy·cm²).</param>
/// <param name="Source">Where it is from.</param>
public sealed record PracticeDose(double MillisievertPerGyCm2, string Source);

/// <summary>What the practice knows of a view of the phantom lab.</summary>
public sealed record PracticeView
{
    private static readonly Lazy<IReadOnlyList<PracticeView>> Shipped = new(() => PracticeData.Read<ViewFile>("practice-views.json").Views);

    /// <summary>All views that can be practised, in the order of the file.</summary>
    public static IReadOnlyList<PracticeView> All => Shipped.Value;

    /// <summary>Name of the lab's part.</summary>
    public required string Part { get; init; }

    /// <summary>Name of the lab's view.</summary>
    public required string View { get; init; }

    /// <summary>Identifier of the projection in the catalogue.</summary>
    public required string Projection { get; init; }

    /// <summary>Where the side marker lies as it should, from the middle of the receptor: right, down, in mm, for a right side.</summary>
    public required IReadOnlyList<double> Marker { get; init; }

    /// <summary>A box that needed anatomy fills: left, top, right, bottom, in mm from where the part is centred, for a right side.</summary>
    public required IReadOnlyList<double> CoreMm { get; init; }

    /// <summary>Lines on position.</summary>
    public required IReadOnlyList<PracticePosition> Positions { get; init; }

    /// <summary>Lines on needed anatomy.</summary>
    public required IReadOnlyList<PracticeAnatomy> Anatomy { get; init; }

    /// <summary>Things that may be planted over the part.</summary>
    public required IReadOnlyList<PracticeObject> Objects { get; init; }

    /// <summary>Coefficient of effective dose; null: none is known to this project.</summary>
    public PracticeDose? EffectiveDose { get; init; }

    /// <summary>The lab's part.</summary>
    public LabPart LabPart => Lab.Parts.First(part => part.Name == Part);

    /// <summary>The view of a projection; null where it cannot be practised.</summary>
    /// <param name="projectionId">Identifier of the projection.</param>
    public static PracticeView? Find(string projectionId) => All.FirstOrDefault(view => view.Projection == projectionId);

    /// <summary>A joint's setting as the view demands, in degrees.</summary>
    /// <param name="joint">Name of the joint.</param>
    public double DemandedJoint(string joint)
        => LabPart.Views.First(each => each.Name == View).Joints.TryGetValue(joint, out double set) ? set : LabPart.Joints.First(each => each.Name == joint).DefaultDegrees;

    /// <summary>The scene as the projection demands, of an adult.</summary>
    /// <param name="side">Side, "R" or "L"; a part in the middle of the body ignores it.</param>
    /// <param name="person">Seed of the person and of the noise.</param>
    public SceneDocument Start(string side, ulong person)
    {
        SceneDocument start = SceneStarts.For(Part, View);
        bool isLeft = LabPart.IsPaired && side == "L";
        return start with
        {
            Seed = person,
            Part = start.Part! with { Side = isLeft ? "L" : "R", Person = person },
            Marker = new SceneMarker { Letter = isLeft ? "L" : LabPart.IsPaired ? "R" : Marker[0] < 0 ? "R" : "L", CentreMm = isLeft ? [-Marker[0], Marker[1]] : [Marker[0], Marker[1]] },
        };
    }

    private sealed record ViewFile
    {
        public required IReadOnlyList<PracticeView> Views { get; init; }
    }
}
