namespace Hotlight.Catalogue;

/// <summary>A place of the anatomy that a reader can mark.</summary>
/// <param name="Id">Identifier in kebab-case, unique in the projection.</param>
/// <param name="Name">Its name, such as "medial femoral condyle, back edge".</param>
/// <param name="Where">How to find it on the image, one sentence.</param>
/// <param name="OnEdge">Whether it lies on an edge that a mark may be drawn to; not for the middle of a shaft or a vertebra.</param>
public sealed record Landmark(string Id, string Name, string Where, bool OnEdge = true);

/// <summary>What is reckoned from landmarks.</summary>
public enum RelationKind
{
    /// <summary>Signed distance from the first point to the second along or across an axis of the image, in mm at the object: superimposed, in profile, on the line.</summary>
    Offset,

    /// <summary>Distance between two points, in mm at the object: an open joint space.</summary>
    Distance,

    /// <summary>Distance between the first two points over the distance between the last two: fraction of overlap.</summary>
    Fraction,

    /// <summary>Distance between the first two points less the distance between the last two, in mm at the object: equal distances. Where both start at one place, they are read along the line between their ends.</summary>
    Difference,

    /// <summary>Angle between the line from the first to the second point and the line from the third to the fourth, 0 to 180 degrees.</summary>
    Angle,
}

/// <summary>How an offset lies to its axis.</summary>
public enum AxisDirection
{
    /// <summary>Along the axis, positive from its first landmark to its second.</summary>
    Along,

    /// <summary>Across the axis, positive toward the side where a third landmark lies.</summary>
    Across,
}

/// <summary>The axis an offset is read along or across. It is given by landmarks, so that a turned or mirrored image changes nothing.</summary>
/// <param name="From">Landmark where the axis starts.</param>
/// <param name="To">Landmark where it ends.</param>
/// <param name="Direction">Along or across it.</param>
/// <param name="Toward">Landmark on the positive side, where the direction is across; else null.</param>
public sealed record RelationAxis(string From, string To, AxisDirection Direction, string? Toward = null);

/// <summary>What a figure may be and still be right; in the unit of its kind.</summary>
/// <param name="From">Lower end; null where there is none.</param>
/// <param name="To">Upper end; null where there is none.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record AcceptedRange(double? From, double? To, string Basis);

/// <summary>A figure with one standard deviation and the key of its source.</summary>
/// <param name="Value">The figure.</param>
/// <param name="Uncertainty">One standard deviation between people.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record SpreadNumber(double Value, double Uncertainty, string Basis);

/// <summary>How a shift becomes an angle: two places that lie one behind the other along the beam, turned about an axis across it.</summary>
/// <remarks>sin of the angle = shift at the object / separation; of a difference of two distances each takes half.</remarks>
public sealed record TurnRule
{
    /// <summary>What is turned about what, a phrase such as "the leg about its long axis".</summary>
    public required string About { get; init; }

    /// <summary>Separation of the two places along the beam, in mm.</summary>
    public required SpreadNumber SeparationMm { get; init; }

    /// <summary>What the first point has over the second along the beam: true where the first lies nearer the tube.</summary>
    public required bool FirstNearerTube { get; init; }
}

/// <summary>How marked landmarks decide a relation.</summary>
public sealed record RelationMeasure
{
    /// <summary>What is reckoned.</summary>
    public required RelationKind Kind { get; init; }

    /// <summary>Landmarks: two for offset and distance, four for fraction, difference and angle; one may stand twice.</summary>
    public required IReadOnlyList<string> Points { get; init; }

    /// <summary>The axis of an offset; null for the other kinds.</summary>
    public RelationAxis? Axis { get; init; }

    /// <summary>What the figure may be.</summary>
    public required AcceptedRange Accept { get; init; }

    /// <summary>The miss that a figure below the range is; null where the range has no lower end.</summary>
    public string? Below { get; init; }

    /// <summary>The miss that a figure above the range is; null where the range has no upper end.</summary>
    public string? Above { get; init; }

    /// <summary>How the figure becomes degrees of turning; null where one image cannot tell.</summary>
    public TurnRule? Turn { get; init; }

    /// <summary>How many landmarks a kind takes.</summary>
    /// <param name="kind">The kind.</param>
    public static int PointCount(RelationKind kind) => kind is RelationKind.Offset or RelationKind.Distance ? 2 : 4;
}

/// <summary>Why the usual position cannot be taken.</summary>
public enum Situation
{
    /// <summary>The patient cannot move the part or stand.</summary>
    CannotMove,

    /// <summary>An injury that must not be moved.</summary>
    Trauma,

    /// <summary>A child.</summary>
    Child,

    /// <summary>Plaster, splint or dressing.</summary>
    Cast,

    /// <summary>A large body.</summary>
    LargeBody,
}

/// <summary>How the projection is made where the patient cannot take the usual position.</summary>
/// <param name="Situation">Why.</param>
/// <param name="Text">What to do instead, one or two sentences.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record Adaptation(Situation Situation, string Text, string Basis);

/// <summary>What the examination is asked for, and the lines it cannot do without.</summary>
/// <param name="Id">Identifier in kebab-case, unique in the projection, such as "fracture-check".</param>
/// <param name="Name">Its name, such as "fracture check".</param>
/// <param name="Needs">Identifiers of required anatomy and relations that this purpose needs; every other one weighs one step less.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record ExaminationPurpose(string Id, string Name, IReadOnlyList<string> Needs, string Basis);
