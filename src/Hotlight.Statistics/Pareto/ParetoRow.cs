using Hotlight.Core;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Pareto;

/// <summary>Events of one reason.</summary>
/// <param name="Name">The reason.</param>
/// <param name="Events">Events, 0 or more.</param>
public sealed record ReasonCount(string Name, long Events);

/// <summary>One bar of a Pareto table.</summary>
/// <param name="Name">The reason.</param>
/// <param name="Share">Its share of all events, with a Wilson interval.</param>
/// <param name="CumulativeFraction">Share of this and all larger reasons together, 0 to 1.</param>
/// <param name="AheadOfNext">Test that this reason and the next are equally common; cannot-tell for the last.</param>
public sealed record ParetoRow(string Name, ProportionEstimate Share, double CumulativeFraction, Figure<TestResult> AheadOfNext);
