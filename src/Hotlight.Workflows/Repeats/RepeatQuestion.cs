using Hotlight.Records;
using Hotlight.Records.Analysis;

namespace Hotlight.Workflows.Repeats;

/// <summary>What a repeat analysis is asked for. Immutable.</summary>
public sealed record RepeatQuestion
{
    /// <summary>Which entries.</summary>
    public required LogQuery Query { get; init; }

    /// <summary>Points of a trend: days, weeks or months.</summary>
    public LogDimension Period { get; init; } = LogDimension.Week;

    /// <summary>Which rate.</summary>
    public RateKind Kind { get; init; } = RateKind.Rejects;

    /// <summary>Only rejects for this reason count as events; null: all. Repeats have no reason.</summary>
    public RejectReason? Reason { get; init; }

    /// <summary>First day after a training; null: none is asked for.</summary>
    public DateOnly? Training { get; init; }

    /// <summary>Room that had no training, as a control; null: none.</summary>
    public string? ControlRoom { get; init; }

    /// <summary>The query as counts may be asked for: without what picks single entries only.</summary>
    public LogQuery Counted => Query with { Uses = [], Reasons = [], DeviationBeyond = null, HasIndex = null, ImportId = null };

    /// <summary>Whether only one reason counts.</summary>
    public bool IsOfOneReason => Reason is not null && Kind == RateKind.Rejects;

    /// <summary>The rate's name, such as "Reject rate" or "Rejects for positioning".</summary>
    public string RateName => Kind == RateKind.Repeats ? "Repeat rate" : IsOfOneReason ? $"Rejects for {RepeatWords.Of(Reason)}" : "Reject rate";

    /// <summary>The question as it may be asked by somebody who may not see single people's figures.</summary>
    public RepeatQuestion WithoutPeople() => this with { Query = Query with { Performers = [] } };
}
