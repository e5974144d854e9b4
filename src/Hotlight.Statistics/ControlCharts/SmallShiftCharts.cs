using Hotlight.Core;

namespace Hotlight.Statistics.ControlCharts;

/// <summary>Makes EWMA and CUSUM charts, of values or of counts standardised by their own subgroup: docs/methods/repeat-statistics.md#control-charts.</summary>
public static class SmallShiftCharts
{
    private const string Empty = "There are no points to draw.";

    /// <summary>EWMA of values, such as a month's mean deviation index.</summary>
    /// <remarks>Method: w_i = λx_i + (1 − λ)w_{i−1}, w₀ the target; limits target ± L·σ·√(λ/(2 − λ)·(1 − (1 − λ)^{2i})). Roberts, Technometrics 1959;1:239; NIST/SEMATECH e-Handbook 6.3.2.4.</remarks>
    /// <param name="values">The values, in order of time, all finite.</param>
    /// <param name="target">Target in their unit.</param>
    /// <param name="sigma">Standard deviation of one value in their unit, above 0.</param>
    /// <param name="weight">Weight λ, in [0.01, 1].</param>
    /// <param name="limitSigmas">Half width L, above 0.</param>
    /// <returns>The chart; cannot-tell without values.</returns>
    public static Figure<EwmaChart> EwmaOfValues(IReadOnlyList<double> values, double target, double sigma, double weight = 0.2, double limitSigmas = 2.962)
    {
        CheckValues(values, target);
        Preconditions.AboveZero(sigma);
        return values.Count == 0
            ? Figure<EwmaChart>.CannotTell(Empty)
            : Ewma([.. values.Select((value, index) => (index, value))], target, sigma, weight, limitSigmas, null);
    }

    /// <summary>EWMA of counts: of each subgroup's distance from the centre in its own standard deviations.</summary>
    /// <remarks>The points after the baseline are watched; where the baseline is all, all are. λ = 0.2 with L = 2.962 gives about 500 points between false alarms (Lucas and Saccucci, Technometrics 1990;32:1; from memory), if the points were normal: with few expected events the upper side calls more often.</remarks>
    /// <param name="subgroups">The subgroups, in order of time; empty ones are passed over.</param>
    /// <param name="kind">What is assumed of chance.</param>
    /// <param name="settings">Baseline and spread; null: all subgroups are the baseline. Limits and rules of it are not used.</param>
    /// <param name="weight">Weight λ, in [0.01, 1].</param>
    /// <param name="limitSigmas">Half width L, above 0.</param>
    /// <returns>The chart; cannot-tell as for a Shewhart chart.</returns>
    public static Figure<EwmaChart> EwmaOfCounts(IReadOnlyList<Subgroup> subgroups, ChartKind kind, ChartSettings? settings = null, double weight = 0.2, double limitSigmas = 2.962)
    {
        Figure<StandardisedSubgroups> standard = StandardisedSubgroups.Of(subgroups, kind, settings ?? new ChartSettings());
        return standard.IsMeasured
            ? Ewma(Watched(standard.Value), 0, 1, weight, limitSigmas, Ground(standard.Value))
            : Figure<EwmaChart>.CannotTell(standard.Why);
    }

    /// <summary>Tabular CUSUM of values.</summary>
    /// <remarks>Method: S⁺ = max(0, S⁺ + x − target − k), S⁻ = max(0, S⁻ + target − k − x), both from 0; a sum above h calls. Page, Biometrika 1954;41:100; NIST/SEMATECH e-Handbook 6.3.2.3.</remarks>
    /// <param name="values">The values, in order of time, all finite.</param>
    /// <param name="target">Target in their unit.</param>
    /// <param name="sigma">Standard deviation of one value in their unit, above 0.</param>
    /// <param name="reference">k in standard deviations: half of the shift to be found soonest.</param>
    /// <param name="decision">h in standard deviations.</param>
    /// <returns>The chart; cannot-tell without values.</returns>
    public static Figure<CusumChart> CusumOfValues(IReadOnlyList<double> values, double target, double sigma, double reference = 0.5, double decision = 5)
    {
        CheckValues(values, target);
        Preconditions.AboveZero(sigma);
        return values.Count == 0
            ? Figure<CusumChart>.CannotTell(Empty)
            : Cusum([.. values.Select((value, index) => (index, value))], target, sigma, reference, decision, null);
    }

    /// <summary>Tabular CUSUM of counts: of each subgroup's distance from the centre in its own standard deviations.</summary>
    /// <remarks>The points after the baseline are watched; where the baseline is all, all are.</remarks>
    /// <param name="subgroups">The subgroups, in order of time; empty ones are passed over.</param>
    /// <param name="kind">What is assumed of chance.</param>
    /// <param name="settings">Baseline and spread; null: all subgroups are the baseline. Limits and rules of it are not used.</param>
    /// <param name="reference">k in standard deviations: half of the shift to be found soonest.</param>
    /// <param name="decision">h in standard deviations.</param>
    /// <returns>The chart; cannot-tell as for a Shewhart chart.</returns>
    public static Figure<CusumChart> CusumOfCounts(IReadOnlyList<Subgroup> subgroups, ChartKind kind, ChartSettings? settings = null, double reference = 0.5, double decision = 5)
    {
        Figure<StandardisedSubgroups> standard = StandardisedSubgroups.Of(subgroups, kind, settings ?? new ChartSettings());
        return standard.IsMeasured
            ? Cusum(Watched(standard.Value), 0, 1, reference, decision, Ground(standard.Value))
            : Figure<CusumChart>.CannotTell(standard.Why);
    }

    private static Figure<EwmaChart> Ewma((int Index, double Value)[] values, double target, double sigma, double weight, double limitSigmas, ChartGround? ground)
    {
        double length = RunLengths.Ewma(weight, limitSigmas);
        double average = target;
        List<EwmaPoint> points = [];
        List<ChartSignal> signals = [];
        int since = 0;
        foreach ((int index, double value) in values)
        {
            double before = average;
            average = (weight * value) + ((1 - weight) * average);
            if (points.Count == 0 || Math.Sign(before - target) != Math.Sign(average - target))
            {
                since = index;
            }

            double half = limitSigmas * sigma * Math.Sqrt(weight / (2 - weight) * (1 - Math.Pow(1 - weight, 2 * (points.Count + 1))));
            points.Add(new EwmaPoint(index, average, target - half, target + half));
            if (Math.Abs(average - target) > half)
            {
                signals.Add(new ChartSignal(index, average > target, "The moving average is outside its limits.", since));
            }
        }

        StatisticalMethod alarms = new("Run length of the chart, points taken as normal and independent", "Integral equation after Crowder, Technometrics 1987;29:401 (from memory)");
        StatisticalMethod method = new("EWMA chart with exact limits", "Roberts, Technometrics 1959;1:239 (from memory); NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.4");
        return Figure<EwmaChart>.Measured(new EwmaChart(target, sigma, weight, limitSigmas, points, signals, new FalseAlarms(points.Count, length, points.Count / length, alarms), ground, method));
    }

    private static Figure<CusumChart> Cusum((int Index, double Value)[] values, double target, double sigma, double reference, double decision, ChartGround? ground)
    {
        double length = RunLengths.Cusum(reference, decision);
        double k = reference * sigma;
        double h = decision * sigma;
        double high = 0;
        double low = 0;
        int highSince = 0;
        int lowSince = 0;
        List<CusumPoint> points = [];
        List<ChartSignal> signals = [];
        foreach ((int index, double value) in values)
        {
            highSince = high == 0 ? index : highSince;
            lowSince = low == 0 ? index : lowSince;
            high = Math.Max(0, high + value - target - k);
            low = Math.Max(0, low + target - k - value);
            points.Add(new CusumPoint(index, high, low));
            if (high > h)
            {
                signals.Add(new ChartSignal(index, true, "The sum on the high side is above its decision interval.", highSince));
            }

            if (low > h)
            {
                signals.Add(new ChartSignal(index, false, "The sum on the low side is above its decision interval.", lowSince));
            }
        }

        StatisticalMethod alarms = new("Run length of the chart, points taken as normal and independent", "Integral equation of Page, Biometrika 1954;41:100 (from memory)");
        StatisticalMethod method = new("Tabular CUSUM chart", "Page, Biometrika 1954;41:100 (from memory); NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.3");
        return Figure<CusumChart>.Measured(new CusumChart(target, sigma, k, h, points, signals, new FalseAlarms(points.Count, length, points.Count / length, alarms), ground, method));
    }

    private static (int Index, double Value)[] Watched(StandardisedSubgroups ground)
    {
        (int Index, double Value)[] filled = [.. ground.Z.Select((value, index) => (index, value)).Where(pair => double.IsFinite(pair.value))];
        (int Index, double Value)[] after = [.. filled.Where(pair => pair.Index >= ground.First + ground.Count)];
        return after.Length > 0 ? after : filled;
    }

    private static ChartGround Ground(StandardisedSubgroups ground) => new(ground.Centre, ground.SigmaZ, ground.BaselineEvents, ground.BaselineSize);

    private static void CheckValues(IReadOnlyList<double> values, double target)
    {
        ArgumentNullException.ThrowIfNull(values);
        if (!double.IsFinite(target) || values.Any(value => !double.IsFinite(value)))
        {
            throw new ArgumentException("The target and every value must be finite.", nameof(values));
        }
    }
}
