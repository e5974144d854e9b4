using Hotlight.Core;
using Hotlight.Statistics;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Records.Analysis;

/// <summary>A rate before and after a date.</summary>
/// <param name="Kind">Which rate.</param>
/// <param name="Before">Events before.</param>
/// <param name="After">Events from the date on.</param>
/// <param name="RateBefore">Rate before.</param>
/// <param name="RateAfter">Rate after.</param>
/// <param name="Difference">After less before.</param>
/// <param name="Ratio">After over before.</param>
/// <param name="Test">Test that the two rates are the same.</param>
/// <param name="Effect">Cohen's h.</param>
/// <param name="MixAdjusted">Events after over those that the rates before would give for the projections made after.</param>
public sealed record RateComparison(
    RateKind Kind,
    EventCount Before,
    EventCount After,
    Figure<ProportionEstimate> RateBefore,
    Figure<ProportionEstimate> RateAfter,
    Figure<DifferenceEstimate> Difference,
    Figure<RiskRatioEstimate> Ratio,
    Figure<TestResult> Test,
    Figure<EffectSize> Effect,
    Figure<StandardisedRatio> MixAdjusted);

/// <summary>A training's time before and after, beside a control group's where one is given.</summary>
/// <param name="Date">First day after.</param>
/// <param name="Group">The group that had it.</param>
/// <param name="Control">The group that had none; null: none is given.</param>
/// <param name="Controlled">The group's change less the control's; cannot-tell without a control.</param>
public sealed record TrainingComparison(DateOnly Date, RateComparison Group, RateComparison? Control, Figure<ControlledDifference> Controlled)
{
    /// <summary>Compares counts by projection before and after.</summary>
    /// <param name="date">First day after.</param>
    /// <param name="kind">Which rate.</param>
    /// <param name="before">Counts by projection before.</param>
    /// <param name="after">Counts by projection from the date on.</param>
    /// <param name="controlBefore">The control's before; null: no control.</param>
    /// <param name="controlAfter">The control's after; null: no control.</param>
    public static TrainingComparison Of(DateOnly date, RateKind kind, IReadOnlyList<LogCount> before, IReadOnlyList<LogCount> after, IReadOnlyList<LogCount>? controlBefore = null, IReadOnlyList<LogCount>? controlAfter = null)
    {
        RateComparison group = Compare(kind, before, after);
        RateComparison? control = controlBefore is not null && controlAfter is not null ? Compare(kind, controlBefore, controlAfter) : null;
        return new TrainingComparison(date, group, control, control is null
            ? Figure<ControlledDifference>.CannotTell("No control group is given, so what else changed in that time cannot be told apart.")
            : ControlledComparison.Of(group.Before, group.After, control.Before, control.After));
    }

    private static RateComparison Compare(RateKind kind, IReadOnlyList<LogCount> before, IReadOnlyList<LogCount> after)
    {
        EventCount first = RateTable.Events(RateTable.Sum(before), kind);
        EventCount second = RateTable.Events(RateTable.Sum(after), kind);
        return new RateComparison(
            kind,
            first,
            second,
            ProportionIntervals.Wilson(first),
            ProportionIntervals.Wilson(second),
            ProportionComparison.Difference(first, second),
            ProportionComparison.RiskRatio(first, second),
            ProportionComparison.Test(first, second),
            ProportionComparison.CohenH(first, second),
            CaseMix.Indirect(Strata(after, kind), Strata(before, kind)));
    }

    private static GroupCount[] Strata(IEnumerable<LogCount> counts, RateKind kind)
        => [.. counts.GroupBy(count => count.Keys[0] ?? "exposures without a projection", StringComparer.Ordinal).Select(group => new GroupCount(group.Key, RateTable.Events(RateTable.Sum(group), kind)))];
}
