using Hotlight.Core;

namespace Hotlight.Statistics.Trends;

/// <summary>How the exposure of one projection has moved over months.</summary>
/// <param name="SlopePerYear">Change of the deviation index in a year, with its interval.</param>
/// <param name="ExposureChangePercentPerYear">The same as exposure at the receptor: 100·(10^(slope/10) − 1), in percent a year.</param>
/// <param name="ExposureChangeInterval">Interval of that, in percent a year.</param>
/// <param name="Test">Mann-Kendall test that nothing moves.</param>
/// <param name="Creeping">Whether the whole interval lies above 0.</param>
public sealed record DoseCreep(TrendSlope SlopePerYear, double ExposureChangePercentPerYear, Interval ExposureChangeInterval, TrendTest Test, bool Creeping)
{
    /// <summary>Works out dose creep from one deviation index a month, such as its median.</summary>
    /// <remarks>Method: <see cref="MonotoneTrend.TheilSen"/> and <see cref="MonotoneTrend.MannKendall"/> over time in years. The deviation index is 10·log₁₀(EI/EI_T) (IEC 62494-1), so a slope of +1 a year is 26 % more exposure a year. Holds while the target stays: a changed target moves the index without any exposure having changed (<see cref="TargetDrift"/>). Months may be missing; each given one counts alike.</remarks>
    /// <param name="months">Months since any start, strictly rising; a half may stand for a middle.</param>
    /// <param name="deviationIndices">Deviation index of each, as many.</param>
    /// <param name="level">Level as a fraction.</param>
    /// <returns>The creep; cannot-tell with too few months or all alike.</returns>
    public static Figure<DoseCreep> Of(IReadOnlyList<double> months, IReadOnlyList<double> deviationIndices, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(months);
        double[] years = [.. months.Select(month => month / 12)];
        Figure<TrendSlope> slope = MonotoneTrend.TheilSen(years, deviationIndices, level);
        if (!slope.IsMeasured)
        {
            return Figure<DoseCreep>.CannotTell(slope.Why);
        }

        Figure<TrendTest> test = MonotoneTrend.MannKendall(years, deviationIndices);
        if (!test.IsMeasured)
        {
            return Figure<DoseCreep>.CannotTell(test.Why);
        }

        Interval interval = slope.Value.Interval;
        return Figure<DoseCreep>.Measured(new DoseCreep(slope.Value, Percent(slope.Value.Slope), new Interval(Percent(interval.Lower), Percent(interval.Upper), level), test.Value, interval.Lower > 0));
    }

    private static double Percent(double slope) => 100 * (Math.Pow(10, slope / 10) - 1);
}
