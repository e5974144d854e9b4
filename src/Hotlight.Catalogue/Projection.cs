using System.Text.Json.Serialization;

namespace Hotlight.Catalogue;

/// <summary>What an expert carries in the head of one projection: how it is made, what must be in it, what shows that the position is right, and what each way of missing it means.</summary>
/// <remarks>
/// Every figure names its source by a key of the register <c>data/sources.json</c>; the key <c>common-practice</c> says that there is no source.
/// Local protocols differ: every number is a default that a clinic may edit.
/// </remarks>
public sealed record Projection
{
    /// <summary>Where an editor finds the schema, relative to the file; not used by the program.</summary>
    [JsonPropertyName("$schema")]
    public string? SchemaReference { get; init; }

    /// <summary>Identifier in kebab-case, the file's name without its ending, such as "wrist-pa".</summary>
    public required string Id { get; init; }

    /// <summary>Name in full, such as "Wrist PA".</summary>
    public required string Name { get; init; }

    /// <summary>Other names in use.</summary>
    public required IReadOnlyList<string> OtherNames { get; init; }

    /// <summary>Region of the body, the folder's name, such as "wrist".</summary>
    public required string Region { get; init; }

    /// <summary>Whether the part has a right and a left, so that a side must be recorded and marked as the side examined.</summary>
    public required bool HasSide { get; init; }

    /// <summary>How a header names this projection.</summary>
    public required ProjectionCodes Codes { get; init; }

    /// <summary>What the projection is made for, one sentence.</summary>
    public required string Purpose { get; init; }

    /// <summary>What must be in the field, each item with its question to the reader.</summary>
    public required IReadOnlyList<RequiredAnatomy> RequiredAnatomy { get; init; }

    /// <summary>Through how many sides of the field the body may leave it; null where it may leave by all of them.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public required BodyExit? BodyExit { get; init; }

    /// <summary>How the patient sits, stands or lies.</summary>
    public required SourcedText PatientPosition { get; init; }

    /// <summary>How the part lies on the receptor.</summary>
    public required SourcedText PartPosition { get; init; }

    /// <summary>Where the central ray goes.</summary>
    public required CentralRay CentralRay { get; init; }

    /// <summary>Receptor, its size and direction.</summary>
    public required SourcedText Receptor { get; init; }

    /// <summary>Distance from source to receptor, in mm.</summary>
    public required SourcedNumber SourceImageDistanceMm { get; init; }

    /// <summary>Breathing during the exposure.</summary>
    public required SourcedText Breathing { get; init; }

    /// <summary>Usual tube voltage of a digital receptor, in kV peak.</summary>
    public required SourcedRange TubeVoltageKvp { get; init; }

    /// <summary>Grid.</summary>
    public required GridUse Grid { get; init; }

    /// <summary>The field.</summary>
    public required CollimationRule Collimation { get; init; }

    /// <summary>Where the side marker goes.</summary>
    public required SourcedText MarkerPlace { get; init; }

    /// <summary>Shielding.</summary>
    public required SourcedText Shielding { get; init; }

    /// <summary>What must be seen in bone and soft tissue when brightness and contrast are right, as a question to the reader.</summary>
    public required SourcedText TissueQuestion { get; init; }

    /// <summary>What must be seen when the position is right.</summary>
    public required IReadOnlyList<PositionRelation> Relations { get; init; }

    /// <summary>The places a reader can mark, by which relations are measured; empty where no relation is.</summary>
    public required IReadOnlyList<Landmark> Landmarks { get; init; }

    /// <summary>Distance from the part's landmarks to the receptor, in mm, for an adult of usual size: what magnification is reckoned from where the header has none.</summary>
    public required SourcedRange ObjectReceptorDistanceMm { get; init; }

    /// <summary>How the projection is made where the patient cannot take the usual position.</summary>
    public required IReadOnlyList<Adaptation> Adaptations { get; init; }

    /// <summary>What the examination may be asked for, each with the lines it cannot do without.</summary>
    public required IReadOnlyList<ExaminationPurpose> Purposes { get; init; }

    /// <summary>Target exposure index, IEC 62494-1; null: it is the clinic's to set, and no source gives one for every receptor.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public required SourcedNumber? TargetExposureIndex { get; init; }
}

/// <summary>How a header names a projection.</summary>
public sealed record ProjectionCodes
{
    /// <summary>Terms of Body Part Examined (0018,0015) that mean this part.</summary>
    public required IReadOnlyList<string> BodyParts { get; init; }

    /// <summary>Terms of View Position (0018,5101) that mean this view, defined terms first.</summary>
    public required IReadOnlyList<string> ViewPositions { get; init; }

    /// <summary>Code of the part for Anatomic Region Sequence (0008,2218).</summary>
    public required CodedConcept BodyPart { get; init; }

    /// <summary>Codes of the view for View Code Sequence (0054,0220).</summary>
    public required IReadOnlyList<CodedConcept> Views { get; init; }

    /// <summary>Key of the source of the codes.</summary>
    public required string Basis { get; init; }
}

/// <summary>A coded concept, PS3.3 8.8.</summary>
/// <param name="Scheme">Coding scheme designator (0008,0102).</param>
/// <param name="Value">Code value (0008,0100).</param>
/// <param name="Meaning">Code meaning (0008,0104).</param>
public sealed record CodedConcept(string Scheme, string Value, string Meaning);

/// <summary>A statement with the key of its source.</summary>
/// <param name="Text">The statement.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record SourcedText(string Text, string Basis);

/// <summary>A figure with the key of its source; the unit stands in the member's name.</summary>
/// <param name="Value">The figure.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record SourcedNumber(double Value, string Basis);

/// <summary>A range of figures with the key of its source; both ends belong to it.</summary>
/// <param name="From">Lower end.</param>
/// <param name="To">Upper end.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record SourcedRange(double From, double To, string Basis)
{
    /// <summary>Whether a figure lies in the range.</summary>
    /// <param name="value">The figure.</param>
    public bool Contains(double value) => value >= From && value <= To;
}

/// <summary>One part of the body that must be in the field.</summary>
public sealed record RequiredAnatomy
{
    /// <summary>Identifier in kebab-case, unique in the projection.</summary>
    public required string Id { get; init; }

    /// <summary>Question to the reader that "yes" answers when the part is there.</summary>
    public required string Question { get; init; }

    /// <summary>The ways of missing it.</summary>
    public required IReadOnlyList<Miss> Misses { get; init; }

    /// <summary>What a reader of the image gains when it is right, as a phrase.</summary>
    public required string Gain { get; init; }

    /// <summary>Key of the source.</summary>
    public required string Basis { get; init; }
}

/// <summary>How the sides lie by which the body may leave the field.</summary>
public enum ExitArrangement
{
    /// <summary>Any sides.</summary>
    Any,

    /// <summary>Two opposite sides.</summary>
    Opposite,
}

/// <summary>Through how many sides of the field the body may leave it without skin being cut.</summary>
public sealed record BodyExit
{
    /// <summary>Number of sides, 1 to 3.</summary>
    public required int Sides { get; init; }

    /// <summary>How they lie to each other.</summary>
    public required ExitArrangement Arrangement { get; init; }

    /// <summary>Which part leaves where, one sentence.</summary>
    public required string Explanation { get; init; }

    /// <summary>Key of the source.</summary>
    public required string Basis { get; init; }
}

/// <summary>Where the central ray goes.</summary>
public sealed record CentralRay
{
    /// <summary>Direction, one phrase.</summary>
    public required string Direction { get; init; }

    /// <summary>Where it enters the body, as a phrase after "through" or "on", such as "a point 2.5 cm below the inner epicondyle".</summary>
    public required string EntryPoint { get; init; }

    /// <summary>Angle to the receptor's normal, from, in degrees; positive toward the head.</summary>
    public required double AngleFromDegrees { get; init; }

    /// <summary>Angle to the receptor's normal, to, in degrees; positive toward the head.</summary>
    public required double AngleToDegrees { get; init; }

    /// <summary>Key of the source.</summary>
    public required string Basis { get; init; }
}

/// <summary>Whether a grid is used.</summary>
public enum GridRule
{
    /// <summary>No grid.</summary>
    Without,

    /// <summary>A grid where the part is thick.</summary>
    WhenThick,

    /// <summary>A grid.</summary>
    With,
}

/// <summary>Grid.</summary>
/// <param name="Rule">Whether one is used.</param>
/// <param name="Text">When and why, one sentence.</param>
/// <param name="Basis">Key of the source.</param>
public sealed record GridUse(GridRule Rule, string Text, string Basis);

/// <summary>The field.</summary>
public sealed record CollimationRule
{
    /// <summary>From where to where, one sentence.</summary>
    public required string Extent { get; init; }

    /// <summary>How far the field reaches along the limb from the joint each way, in mm; null where the rule is not given as a length.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.Never)]
    public required SourcedNumber? ReachMm { get; init; }

    /// <summary>Margin between skin and the field's edge, in mm at the receptor.</summary>
    public required SourcedNumber SkinMarginMm { get; init; }

    /// <summary>Key of the source of the extent.</summary>
    public required string Basis { get; init; }
}

/// <summary>What a line of the checklist that is not met does to the verdict.</summary>
public enum Weight
{
    /// <summary>Said, nothing more.</summary>
    Note,

    /// <summary>The image is kept; the remark goes with it and into the next exposure.</summary>
    Remark,

    /// <summary>The image is kept if the person who reports it can answer the question with it: ask.</summary>
    Consult,

    /// <summary>The image does not do what it was made for: a repeat is to be weighed against its dose.</summary>
    Repeat,
}

/// <summary>One way of missing a line of the checklist: how it looks, what it means, what to do.</summary>
public sealed record Miss
{
    /// <summary>Identifier in kebab-case, unique in its line.</summary>
    public required string Id { get; init; }

    /// <summary>How it looks on the image, a phrase the reader picks.</summary>
    public required string Looks { get; init; }

    /// <summary>What it means, one sentence.</summary>
    public required string Means { get; init; }

    /// <summary>What to do at the next exposure, one sentence in the imperative, with its direction.</summary>
    public required string Correction { get; init; }

    /// <summary>The direction of the correction in one or two words that also stand in <see cref="Correction"/>, such as "supinate"; null where it has none.</summary>
    public string? Direction { get; init; }

    /// <summary>The miss of the same line that is the opposite error; its direction is the opposite one.</summary>
    public string? Opposite { get; init; }

    /// <summary>The miss of the same line that this one becomes when left and right are swapped; null where it stays itself.</summary>
    public string? Mirror { get; init; }

    /// <summary>What it does to the verdict.</summary>
    public required Weight Weight { get; init; }
}

/// <summary>What must be seen when the position is right.</summary>
public sealed record PositionRelation
{
    /// <summary>Identifier in kebab-case, unique in the projection.</summary>
    public required string Id { get; init; }

    /// <summary>Question to the reader that "yes" answers when the position is right.</summary>
    public required string Question { get; init; }

    /// <summary>How far it may be off and still be right.</summary>
    public required SourcedText Tolerance { get; init; }

    /// <summary>The ways of missing it.</summary>
    public required IReadOnlyList<Miss> Misses { get; init; }

    /// <summary>What a reader of the image gains when it is right, as a phrase.</summary>
    public required string Gain { get; init; }

    /// <summary>Key of the source.</summary>
    public required string Basis { get; init; }

    /// <summary>How marked landmarks decide it; null where only the eye can.</summary>
    public RelationMeasure? Measure { get; init; }
}
