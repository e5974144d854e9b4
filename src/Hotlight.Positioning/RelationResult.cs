using Hotlight.Catalogue;

namespace Hotlight.Positioning;

/// <summary>What a relation's figure says.</summary>
public enum RelationState
{
    /// <summary>The figure lies in the accepted range, further from its ends than its uncertainty.</summary>
    Holds,

    /// <summary>The figure lies outside the range, further from its ends than its uncertainty.</summary>
    Missed,

    /// <summary>The figure lies within its uncertainty of an end of the range: the reader decides.</summary>
    AtTheLimit,
}

/// <summary>By how much something is turned.</summary>
/// <param name="About">What is turned about what, a phrase.</param>
/// <param name="Degrees">Size of the turn, in degrees, 0 or more; the miss says which way.</param>
/// <param name="Uncertainty">One standard deviation, in degrees.</param>
/// <param name="OffCentreMm">How much of the shift on the image, in mm at the object, comes from lying off the central ray and was taken off; null where the central ray is not known.</param>
public sealed record Turn(string About, double Degrees, double Uncertainty, double? OffCentreMm)
{
    /// <summary>Which way: 1 as a figure above the range is missed, −1 as one below, 0 for none.</summary>
    public required int Sign { get; init; }

    /// <summary>Lower end of the 68 % range, not below 0, in degrees.</summary>
    public double FromDegrees => Math.Max(0, Degrees - Uncertainty);

    /// <summary>Upper end of the 68 % range, in degrees.</summary>
    public double ToDegrees => Degrees + Uncertainty;
}

/// <summary>One relation of a projection, decided by marked landmarks.</summary>
public sealed record RelationResult
{
    /// <summary>Identifier of the relation.</summary>
    public required string RelationId { get; init; }

    /// <summary>What was reckoned.</summary>
    public required RelationKind Kind { get; init; }

    /// <summary>The figure: mm at the object, a fraction, or degrees.</summary>
    public required double Value { get; init; }

    /// <summary>One standard deviation of the figure, in its unit.</summary>
    public required double Uncertainty { get; init; }

    /// <summary>Its unit: "mm", "" or "°".</summary>
    public required string Unit { get; init; }

    /// <summary>What it says.</summary>
    public required RelationState State { get; init; }

    /// <summary>Which way it is missed; null where it holds, and at the limit where neither way is nearer than the other.</summary>
    public string? MissId { get; init; }

    /// <summary>By how much; null where one image cannot tell.</summary>
    public Turn? Turn { get; init; }

    /// <summary>Magnification used; null for fractions and angles.</summary>
    public Magnification? Magnification { get; init; }
}

/// <summary>A relation with its result, or why there is none.</summary>
/// <param name="Relation">The relation.</param>
/// <param name="Result">Its result; null where it cannot be told.</param>
/// <param name="Why">Why it cannot be told, one sentence; null where it is.</param>
/// <param name="MissingLandmarks">Landmarks that must still be marked.</param>
public sealed record RelationFinding(PositionRelation Relation, RelationResult? Result, string? Why, IReadOnlyList<string> MissingLandmarks);
