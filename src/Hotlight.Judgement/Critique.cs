using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement;

/// <summary>What to do with an image.</summary>
public enum VerdictKind
{
    /// <summary>Keep it.</summary>
    Accept,

    /// <summary>Keep it, with remarks that go along or into the next exposure.</summary>
    AcceptWithRemark,

    /// <summary>It does not do what it was made for: weigh a repeat against its dose.</summary>
    Repeat,

    /// <summary>Lines that decide are still open.</summary>
    Undetermined,
}

/// <summary>Why: one line of the checklist in one sentence.</summary>
/// <param name="LineId">Identifier of the line.</param>
/// <param name="Sentence">The sentence.</param>
public sealed record Reason(string LineId, string Sentence);

/// <summary>The verdict, why, and what stays open.</summary>
public sealed record Verdict
{
    /// <summary>What to do.</summary>
    public required VerdictKind Kind { get; init; }

    /// <summary>The verdict as one sentence for the reader.</summary>
    public required string Sentence { get; init; }

    /// <summary>The lines that made it, the heaviest first, in teaching order.</summary>
    public required IReadOnlyList<Reason> Reasons { get; init; }

    /// <summary>The lines that must still be answered, in teaching order.</summary>
    public required IReadOnlyList<Reason> Open { get; init; }
}

/// <summary>What a change is about.</summary>
public enum ChangeKind
{
    /// <summary>The place of the field on the body.</summary>
    Centring,

    /// <summary>The position of the patient or the part.</summary>
    Position,

    /// <summary>Tube voltage, mAs, time, distance, automatic exposure.</summary>
    Exposure,

    /// <summary>Display or processing; no new exposure is needed.</summary>
    Display,

    /// <summary>Holding still.</summary>
    Stillness,

    /// <summary>Objects, receptor, grid.</summary>
    Artifact,

    /// <summary>The size of the field.</summary>
    Collimation,

    /// <summary>The side marker.</summary>
    Marker,

    /// <summary>Shielding and records.</summary>
    Records,
}

/// <summary>The steps at the table, in the order they are done.</summary>
public enum TableStep
{
    /// <summary>How the patient stands, sits or lies; what comes off.</summary>
    Patient,

    /// <summary>How the part lies.</summary>
    Part,

    /// <summary>Angle and centring of the tube.</summary>
    Tube,

    /// <summary>Receptor and grid.</summary>
    Receptor,

    /// <summary>Size of the field.</summary>
    Collimation,

    /// <summary>The side marker.</summary>
    Marker,

    /// <summary>Tube voltage, mAs, time, automatic exposure.</summary>
    Technique,

    /// <summary>What the patient is told.</summary>
    Instructions,

    /// <summary>Display, processing and records, with no new exposure.</summary>
    AfterExposure,
}

/// <summary>How far one side of the field comes in.</summary>
/// <param name="Side">The side as seen on the stored image.</param>
/// <param name="Mm">How far, in mm at the receptor, above 0.</param>
public sealed record FieldTrim(FieldSide Side, double Mm);

/// <summary>One change for the next exposure.</summary>
public sealed record Change
{
    /// <summary>The <see cref="LineId"/> of a change of the reader's own.</summary>
    public const string OwnLineId = "reader";

    /// <summary>Identifier of the line it follows from; <see cref="OwnLineId"/> where a reader added it.</summary>
    public required string LineId { get; init; }

    /// <summary>What it is about.</summary>
    public required ChangeKind Kind { get; init; }

    /// <summary>At which step at the table it is done; changes stand in this order. Null in a document of an earlier version.</summary>
    public TableStep? Step { get; init; }

    /// <summary>Other lines it answers as well; null where there is none.</summary>
    public IReadOnlyList<string>? AlsoFor { get; init; }

    /// <summary>What another line asked for and why this goes before it, one sentence; null where nothing was against it.</summary>
    public string? Settled { get; init; }

    /// <summary>What to do, one sentence in the imperative, with direction and, where measured, size.</summary>
    public required string Instruction { get; init; }

    /// <summary>Why, one sentence.</summary>
    public required string Why { get; init; }

    /// <summary>What was proposed, where a reader worded it otherwise; null where it stands as proposed.</summary>
    public string? Proposed { get; init; }

    /// <summary>The direction alone, such as "pronate", "raise", "smaller"; null where it has none.</summary>
    public string? Direction { get; init; }

    /// <summary>mAs for the target exposure over mAs used, 10^(−DI/10); null where the change is not of mAs.</summary>
    public double? MasFactor { get; init; }

    /// <summary>One standard deviation of <see cref="MasFactor"/>.</summary>
    public double? MasFactorUncertainty { get; init; }

    /// <summary>The generator's step nearest to the changed mAs; null where no mAs is changed or recorded, or the exposure was automatic.</summary>
    public double? GeneratorMas { get; init; }

    /// <summary>Sides that come in, at the receptor; empty where the change is not of the field's size or spacing is unknown.</summary>
    public IReadOnlyList<FieldTrim> Trims { get; init; } = [];
}

/// <summary>What the cost of a repeat is told in.</summary>
public enum CostBasis
{
    /// <summary>The kerma-area product of the header.</summary>
    KermaAreaProduct,

    /// <summary>The entrance dose of the header.</summary>
    EntranceDose,

    /// <summary>Only in relation to this exposure.</summary>
    Relative,
}

/// <summary>What a repeat would cost the patient, and what a reader would gain.</summary>
/// <remarks>It is a dose quantity of the exposure, never an effective dose or a risk: those need a model of the patient that an image does not hold.</remarks>
public sealed record RepeatCost
{
    /// <summary>What it is told in.</summary>
    public required CostBasis Basis { get; init; }

    /// <summary>This exposure's kerma-area product, in dGy·cm²; null where the header has none.</summary>
    public double? ThisExposureDgyCm2 { get; init; }

    /// <summary>A repeat's kerma-area product with the changes made, in dGy·cm²; null where it cannot be told.</summary>
    public double? RepeatDgyCm2 { get; init; }

    /// <summary>One standard deviation of the repeat's kerma-area product, in dGy·cm²; null where the product is.</summary>
    public double? RepeatDgyCm2Uncertainty { get; init; }

    /// <summary>Kerma-area product of this exposure, of the repeats already made taken as large as this one, and of the next, in dGy·cm²; null where it cannot be told.</summary>
    public double? TotalDgyCm2 { get; init; }

    /// <summary>A repeat's kerma-area product with the field as it is, in dGy·cm²; null where no tighter field is asked for.</summary>
    public double? RepeatWithUnchangedFieldDgyCm2 { get; init; }

    /// <summary>A repeat's kerma-area product over this exposure's, with the changes of mAs and field made; null where a change has no known size.</summary>
    public double? RelativeToThisExposure { get; init; }

    /// <summary>The cost in words, one or two sentences.</summary>
    public required string Sentence { get; init; }

    /// <summary>What a reader of the image would gain by a repeat, one sentence.</summary>
    public required string Gain { get; init; }
}

/// <summary>A measured radiograph judged against the checklist of its projection.</summary>
public sealed record Critique
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.critique/1";

    /// <summary>What every critique says first. It is not a setting.</summary>
    public static string SafetyCaution => Texts.Get("caution.safety");

    /// <summary>Name and version of the document's form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>What was measured.</summary>
    public required MeasurementDocument Measurements { get; init; }

    /// <summary>Identifier of the projection.</summary>
    public required string ProjectionId { get; init; }

    /// <summary>Name of the projection.</summary>
    public required string ProjectionName { get; init; }

    /// <summary>The reader's pseudonym; null where none was given.</summary>
    public string? Reader { get; init; }

    /// <summary>Name of the scheme of action bands that the deviation index was held against.</summary>
    public required string DeviationScheme { get; init; }

    /// <summary>The checklist in teaching order.</summary>
    public required IReadOnlyList<ChecklistLine> Lines { get; init; }

    /// <summary>The verdict.</summary>
    public required Verdict Verdict { get; init; }

    /// <summary>The reader's own verdict beside it; null where none is given.</summary>
    public ReaderVerdict? ReaderVerdict { get; init; }

    /// <summary>What is known of the examination beside the image; null where nothing is.</summary>
    public ExaminationContext? Context { get; init; }

    /// <summary>How the verdict came about; null in a document of an earlier version.</summary>
    public VerdictTrace? Trace { get; init; }

    /// <summary>Changes for the next exposure, in the order to make them.</summary>
    public required IReadOnlyList<Change> Changes { get; init; }

    /// <summary>Proposed changes that the reader struck out; null where there is none.</summary>
    public IReadOnlyList<Change>? Struck { get; init; }

    /// <summary>What a repeat would cost and give.</summary>
    public required RepeatCost Cost { get; init; }

    /// <summary>Cautions, <see cref="SafetyCaution"/> first.</summary>
    public required IReadOnlyList<string> Cautions { get; init; }
}
