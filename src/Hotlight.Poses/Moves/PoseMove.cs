using Hotlight.Catalogue;
using Hotlight.Positioning;

namespace Hotlight.Poses;

/// <summary>One thing to move before the next exposure.</summary>
/// <param name="Axis">What is moved: "turn", "tilt", or a joint of the phantom such as "kneeFlexion".</param>
/// <param name="FromDegrees">Where it lay, in degrees.</param>
/// <param name="ToDegrees">Where it should lie, in degrees.</param>
/// <param name="UncertaintyDegrees">One standard deviation of where it lay, in degrees.</param>
/// <param name="Words">What to do, in the catalogue's words where a relation of the projection asks for it; whole sentences.</param>
/// <param name="Amount">By how much: degrees with their uncertainty, and where a part of the body can be named how far it moves; one sentence.</param>
/// <param name="Reach">The part of the body that moves furthest; null where none can be named or it moves by less than 3 mm.</param>
public sealed record PoseMove(string Axis, double FromDegrees, double ToDegrees, double UncertaintyDegrees, IReadOnlyList<string> Words, string Amount, PoseReach? Reach);

/// <summary>How far a part of the body moves.</summary>
/// <param name="What">The part, such as "shoulder"; a name of <c>data/poses/limbs</c>.</param>
/// <param name="TowardTubeMm">By how much it comes nearer to the tube, in mm; negative: nearer to the receptor.</param>
/// <param name="LimbMm">Length of the limb that carries it, in mm; null for a place of the part itself.</param>
public sealed record PoseReach(string What, double TowardTubeMm, double? LimbMm);

/// <summary>A relation of the projection as the phantom shows it along the way from how the part lay to how it should lie.</summary>
/// <param name="Relation">The relation.</param>
/// <param name="AsItLies">What it says at the fitted pose.</param>
/// <param name="AsItShould">What it says at the corrected pose.</param>
/// <param name="RightFrom">Share of the way from which on it holds to the end, 0 to 1; null where it does not hold at the end.</param>
public sealed record PoseRelation(PositionRelation Relation, RelationResult AsItLies, RelationResult AsItShould, double? RightFrom);

/// <summary>What to move so that every relation of a projection comes right.</summary>
public sealed record PosePlan
{
    /// <summary>The corrected pose.</summary>
    public required PoseState Corrected { get; init; }

    /// <summary>The smallest set of moves that leads there, the largest first; empty where every relation holds as it lies.</summary>
    public required IReadOnlyList<PoseMove> Moves { get; init; }

    /// <summary>The relations that the phantom can show.</summary>
    public required IReadOnlyList<PoseRelation> Relations { get; init; }

    /// <summary>What no move of this part puts right, or cannot be told: one sentence each.</summary>
    public required IReadOnlyList<string> Notes { get; init; }
}
