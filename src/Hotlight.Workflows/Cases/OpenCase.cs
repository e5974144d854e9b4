using Hotlight.Catalogue;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure.Document;
using Hotlight.Positioning;
using Hotlight.Workflows.Positions;

namespace Hotlight.Workflows.Cases;

/// <summary>A case as it lies on the bench: its record, what was measured, and the critique as it stands.</summary>
public sealed record OpenCase
{
    /// <summary>The kept record.</summary>
    public required CaseRecord Record { get; init; }

    /// <summary>What was measured.</summary>
    public required MeasurementDocument Measurements { get; init; }

    /// <summary>What the header says of the exposure.</summary>
    public required ExposureRecord Exposure { get; init; }

    /// <summary>The chosen projection; null until one is chosen.</summary>
    public Projection? Projection { get; init; }

    /// <summary>The reader's answers; null until a projection is chosen.</summary>
    public Answers? Answers { get; init; }

    /// <summary>The critique; null until a projection is chosen.</summary>
    public Critique? Critique { get; init; }

    /// <summary>Who answers now, a person of the clinic: kept with every step of the history. Null: not known.</summary>
    public Guid? ReaderId { get; init; }

    /// <summary>What the reader's marks tell of the position, a finding for each relation that landmarks can decide; empty without a projection.</summary>
    public IReadOnlyList<RelationFinding> Positions => Projection is { } projection && Answers is { } answers
        ? RelationMeasurer.Measure(projection, new MarkedLandmarks(projection.Id, answers.Landmarks), PositionWorkflow.GeometryOf(Exposure, Measurements, answers.Examination))
        : [];
}

/// <summary>What became of a file that was brought in.</summary>
/// <param name="Record">Its case.</param>
/// <param name="WasKept">Whether the case was there before: the same exposure (SOP Instance UID) or the same bytes.</param>
/// <param name="Warnings">What a person must look at, one sentence each.</param>
public sealed record CaseBroughtIn(CaseRecord Record, bool WasKept, IReadOnlyList<string> Warnings);
