using Hotlight.Records;
using Hotlight.Records.Analysis;

namespace Hotlight.Workflows.Repeats;

/// <summary>The overview of a period.</summary>
/// <param name="Question">What was asked.</param>
/// <param name="All">All exposures together.</param>
/// <param name="Counts">Their counts.</param>
/// <param name="Dose">Kerma-area product of the rejects.</param>
/// <param name="Reasons">Reasons of the rejects.</param>
/// <param name="Trend">The rate over time.</param>
/// <param name="Alerts">What calls for a look.</param>
/// <param name="ExpectedFalse">Calls that chance alone would bring in all that was watched.</param>
public sealed record RepeatOverview(RepeatQuestion Question, RateRow All, LogCount Counts, RejectDose Dose, ReasonPareto Reasons, RateTrend Trend, IReadOnlyList<RepeatAlert> Alerts, double ExpectedFalse);

/// <summary>Rates of the groups of a dimension.</summary>
/// <param name="Question">What was asked.</param>
/// <param name="By">The dimension.</param>
/// <param name="Table">The rates.</param>
/// <param name="Funnel">The funnel adjusted for projections; null where it does not fit.</param>
public sealed record RepeatGroups(RepeatQuestion Question, LogDimension By, RateTable Table, MixFunnel? Funnel);

/// <summary>The deviation indices of a period.</summary>
/// <param name="Question">What was asked.</param>
/// <param name="All">All exposures together.</param>
/// <param name="ByReceptor">By receptor.</param>
/// <param name="ByProjection">By projection.</param>
/// <param name="Months">Over the months.</param>
/// <param name="Receptors">Each receptor over the months.</param>
public sealed record IndexAnswer(RepeatQuestion Question, IndexFigures All, IReadOnlyList<IndexFigures> ByReceptor, IReadOnlyList<IndexFigures> ByProjection, IndexTrend Months, IReadOnlyList<IndexTrend> Receptors);
