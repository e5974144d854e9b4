using Hotlight.Core;

namespace Hotlight.Statistics.Proportions;

/// <summary>A change less the change of a control group in the same time.</summary>
/// <param name="Change">Difference of the group: after less before.</param>
/// <param name="ControlChange">Difference of the control.</param>
/// <param name="Difference">Change less the control's change, −2 to 2.</param>
/// <param name="Interval">Interval of the true one.</param>
/// <param name="Test">Test that the two changes are the same, on the scale of log ratios; cannot-tell where a group has no event.</param>
/// <param name="Method">Method and source.</param>
public sealed record ControlledDifference(DifferenceEstimate Change, DifferenceEstimate ControlChange, double Difference, Interval Interval, Figure<TestResult> Test, StatisticalMethod Method);

/// <summary>Holds a change of a rate against the change of a group that had no training: docs/methods/repeat-statistics.md#two-rates.</summary>
public static class ControlledComparison
{
    /// <summary>Difference of two changes.</summary>
    /// <remarks>
    /// <para>Method: D = d − c with d and c the two differences; from their Newcombe intervals (l, u) lower D − √((d − l_d)² + (u_c − c)²), upper D + √((u_d − d)² + (c − l_c)²): the square-and-add recovery of Zou and Donner, Stat Med 2008;27:1693. Test: z = (ln r − ln s)/√(v_r + v_s) with r and s the ratios after over before and v = 1/x₁ − 1/n₁ + 1/x₂ − 1/n₂.</para>
    /// <para>Holds when: without the training both groups would have moved alike.</para>
    /// </remarks>
    /// <param name="before">The group's count before.</param>
    /// <param name="after">The group's count after.</param>
    /// <param name="controlBefore">The control's count before.</param>
    /// <param name="controlAfter">The control's count after.</param>
    /// <param name="level">Level as a fraction, in [0.5, 0.999999].</param>
    /// <returns>The difference; cannot-tell when one of the four totals is 0.</returns>
    public static Figure<ControlledDifference> Of(EventCount before, EventCount after, EventCount controlBefore, EventCount controlAfter, double level = 0.95)
    {
        Figure<DifferenceEstimate> change = ProportionComparison.Difference(before, after, level);
        Figure<DifferenceEstimate> control = ProportionComparison.Difference(controlBefore, controlAfter, level);
        if (!change.IsMeasured || !control.IsMeasured)
        {
            return Figure<ControlledDifference>.CannotTell(change.Why ?? control.Why!);
        }

        (double d, double c) = (change.Value.Difference, control.Value.Difference);
        double lower = d - c - Hypotenuse(d - change.Value.Interval.Lower, control.Value.Interval.Upper - c);
        double upper = d - c + Hypotenuse(change.Value.Interval.Upper - d, c - control.Value.Interval.Lower);
        return Figure<ControlledDifference>.Measured(new ControlledDifference(
            change.Value,
            control.Value,
            d - c,
            new Interval(lower, upper, level),
            Test(before, after, controlBefore, controlAfter),
            new StatisticalMethod("Difference of two differences, square-and-add interval", "Zou and Donner, Stat Med 2008;27:1693 (from memory)")));
    }

    private static Figure<TestResult> Test(EventCount before, EventCount after, EventCount controlBefore, EventCount controlAfter)
    {
        EventCount[] all = [before, after, controlBefore, controlAfter];
        if (all.Any(count => count.Events == 0))
        {
            return Figure<TestResult>.CannotTell("One of the four groups has no event, so the changes have no ratio; look at the difference.");
        }

        double ratio = Math.Log(after.Fraction() / before.Fraction()) - Math.Log(controlAfter.Fraction() / controlBefore.Fraction());
        double variance = all.Sum(count => (1.0 / count.Events) - (1.0 / count.Total));
        double z = variance > 0 ? ratio / Math.Sqrt(variance) : 0;
        return Figure<TestResult>.Measured(new TestResult(Tails.NormalBeyond(z), z, "Both rates changed by the same factor.", all.Sum(count => count.Total), new StatisticalMethod("z test of two log ratios", "Katz et al., Biometrics 1978;34:469 (from memory)")));
    }

    private static double Hypotenuse(double a, double b) => Math.Sqrt((a * a) + (b * b));
}
