namespace Hotlight.Poses;

/// <summary>A part of the body whose way along the beam is told for moves about one axis: a point itself, or the far end of a limb that runs from one point through another.</summary>
/// <param name="Projection">The projection.</param>
/// <param name="Axis">"turn", "tilt" or a joint.</param>
/// <param name="What">Name of the part, such as "shoulder".</param>
/// <param name="Basis">A key of the register of sources.</param>
/// <param name="Point">A point of the projection's model; null for a limb.</param>
/// <param name="From">Where the limb begins; null for a point.</param>
/// <param name="Through">A point further along it; null for a point.</param>
/// <param name="LengthMm">Its length in an adult of usual size; null for a point.</param>
/// <param name="Relation">Relation whose words go with moves about this axis where it puts several right; null: the one that it moves most.</param>
internal sealed record Limb(string Projection, string Axis, string What, string Basis, string? Point = null, string? From = null, string? Through = null, double? LengthMm = null, string? Relation = null);
