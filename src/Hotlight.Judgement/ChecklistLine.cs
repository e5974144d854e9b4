using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Judgement;

/// <summary>How a line of the checklist stands.</summary>
public enum ChecklistState
{
    /// <summary>What the line asks for is there.</summary>
    Met,

    /// <summary>It is not.</summary>
    NotMet,

    /// <summary>Neither measurement, header nor reader has decided it.</summary>
    CannotTell,

    /// <summary>The line has no meaning for this image.</summary>
    NotApplicable,
}

/// <summary>Who decided a line.</summary>
public enum DecidedBy
{
    /// <summary>A figure of the measurement document.</summary>
    Measurement,

    /// <summary>The file's header.</summary>
    Header,

    /// <summary>The person who looked.</summary>
    Reader,

    /// <summary>Nobody yet.</summary>
    Nobody,
}

/// <summary>The parts of the checklist, in the order they are taught.</summary>
public enum ChecklistSection
{
    /// <summary>What must be in the field.</summary>
    RequiredAnatomy,

    /// <summary>How the part lay.</summary>
    Positioning,

    /// <summary>How much the receptor got.</summary>
    Exposure,

    /// <summary>How the image is shown.</summary>
    BrightnessAndContrast,

    /// <summary>Blur.</summary>
    Sharpness,

    /// <summary>What is in the image and not of the patient.</summary>
    Artifacts,

    /// <summary>The field's size and edges.</summary>
    Collimation,

    /// <summary>R or L.</summary>
    SideMarker,

    /// <summary>Shielding, and what was written down.</summary>
    ShieldingAndRecords,

    /// <summary>Processing before the image is sent.</summary>
    Processing,
}

/// <summary>What a piece of evidence shows.</summary>
public enum EvidenceKind
{
    /// <summary>The exposed field.</summary>
    Field,

    /// <summary>The body's outline, skin to skin.</summary>
    Anatomy,

    /// <summary>The field that would have been enough.</summary>
    TighterField,

    /// <summary>Skin outline along which soft tissue is lost.</summary>
    LostSkin,

    /// <summary>Places at which mottle was measured.</summary>
    MottlePlace,

    /// <summary>A side of the field by which the body leaves though it should not.</summary>
    CutSide,

    /// <summary>An edge at which blur was measured.</summary>
    SharpEdge,

    /// <summary>A side marker.</summary>
    SideMarker,

    /// <summary>Something that does not belong in the image.</summary>
    Artifact,
}

/// <summary>What on the image shows why a line was decided as it was.</summary>
public sealed record Evidence
{
    /// <summary>What it shows.</summary>
    public required EvidenceKind Kind { get; init; }

    /// <summary>Outlines in pixels of the stored image.</summary>
    public required IReadOnlyList<IReadOnlyList<PixelPoint>> Outlines { get; init; }

    /// <summary>Whether each outline is a closed polygon; false: an open line.</summary>
    public required bool Closed { get; init; }
}

/// <summary>What measurement or header had decided before the reader decided otherwise.</summary>
public sealed record EarlierDecision
{
    /// <summary>How the line stood.</summary>
    public required ChecklistState State { get; init; }

    /// <summary>Who had decided it.</summary>
    public required DecidedBy DecidedBy { get; init; }

    /// <summary>How it had been decided, one sentence.</summary>
    public string? Explanation { get; init; }
}

/// <summary>One line of the checklist.</summary>
public sealed record ChecklistLine
{
    /// <summary>Identifier, the section's word, a point and the line's word, such as "position.palm-flat"; stable from image to image.</summary>
    public required string Id { get; init; }

    /// <summary>The part of the checklist it stands in.</summary>
    public required ChecklistSection Section { get; init; }

    /// <summary>The question; "yes" means <see cref="ChecklistState.Met"/>.</summary>
    public required string Question { get; init; }

    /// <summary>How it stands.</summary>
    public required ChecklistState State { get; init; }

    /// <summary>Who decided it.</summary>
    public required DecidedBy DecidedBy { get; init; }

    /// <summary>The figure with its unit and uncertainty, such as "DI +2.1 ± 0.1"; null where there is none.</summary>
    public string? Figure { get; init; }

    /// <summary>How it was decided, or what is missing; one or two sentences.</summary>
    public string? Explanation { get; init; }

    /// <summary>What the reader should look at before answering; null where nothing points anywhere.</summary>
    public string? Hint { get; init; }

    /// <summary>How far it may be off and still be met; null where the question says it all.</summary>
    public string? Tolerance { get; init; }

    /// <summary>The reader's remark.</summary>
    public string? Remark { get; init; }

    /// <summary>Which of <see cref="Misses"/> the reader saw; null where none was named.</summary>
    public string? MissId { get; init; }

    /// <summary>What the line does to the verdict when it is not met.</summary>
    public required Weight Weight { get; init; }

    /// <summary>Whether the image cannot be accepted while the line is undecided.</summary>
    public required bool Required { get; init; }

    /// <summary>What measurement or header had decided, where the reader decided otherwise.</summary>
    public EarlierDecision? Overridden { get; init; }

    /// <summary>What on the image shows it.</summary>
    public IReadOnlyList<Evidence> Evidence { get; init; } = [];

    /// <summary>The ways of missing it that a reader may name.</summary>
    public IReadOnlyList<Miss> Misses { get; init; } = [];

    /// <summary>What a reader of the image gains when the line is met, as a phrase; null where it is not a matter of the image.</summary>
    public string? Gain { get; init; }

    /// <summary>Keys of the sources of question, figure limits and corrections.</summary>
    public IReadOnlyList<string> Basis { get; init; } = [];

    /// <summary>The way of missing it that the reader named, or null.</summary>
    [System.Text.Json.Serialization.JsonIgnore]
    public Miss? Miss => MissId is null ? null : Misses.FirstOrDefault(miss => miss.Id == MissId);
}
