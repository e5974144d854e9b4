using Hotlight.Core;

namespace Hotlight.Statistics.ControlCharts;

/// <summary>Makes p, u and c charts, and Laney's p' and u': docs/methods/repeat-statistics.md#control-charts.</summary>
public static class ShewhartCharts
{
    /// <summary>Makes a chart of counts.</summary>
    /// <remarks>
    /// <para>Method: centre ± k·σ_z·√(p̄(1 − p̄)/n_i) for a p chart, centre ± k·σ_z·√(ū/n_i) for a u chart and centre ± k·√c̄ for a c chart, k = 3; σ_z = 1, or with over-dispersion the mean moving range of the baseline's z values over 1.128 (Laney, Qual Eng 2002;14:531). Limits are cut at 0 (and at 1 on a p chart). NIST/SEMATECH e-Handbook of Statistical Methods 6.3.3.</para>
    /// <para>Holds when: subgroups are in order of time, and the expected events of each are 5 or so or more; with fewer the limits still stand, and <see cref="FalseAlarms"/> says what they cost by exact tails. Laney's σ_z below 1 narrows the limits, as in his paper.</para>
    /// </remarks>
    /// <param name="subgroups">The subgroups, in order of time.</param>
    /// <param name="kind">What is assumed of chance.</param>
    /// <param name="settings">Baseline, limits and rules; null: all subgroups are the baseline, 3 standard deviations, one rule.</param>
    /// <returns>The chart; cannot-tell when the baseline holds no event, nothing but events, or nothing.</returns>
    /// <exception cref="ArgumentException">A count or a size makes no sense, or the baseline lies outside the list.</exception>
    public static Figure<ShewhartChart> Make(IReadOnlyList<Subgroup> subgroups, ChartKind kind, ChartSettings? settings = null)
    {
        ChartSettings chosen = settings ?? new ChartSettings();
        Figure<StandardisedSubgroups> standard = StandardisedSubgroups.Of(subgroups, kind, chosen);
        if (!standard.IsMeasured)
        {
            return Figure<ShewhartChart>.CannotTell(standard.Why);
        }

        StandardisedSubgroups ground = standard.Value;
        ChartPoint[] points = [.. subgroups.Select((subgroup, index) => Point(subgroup, index, ground, kind, chosen))];
        return Figure<ShewhartChart>.Measured(new ShewhartChart(kind, ground.Centre, ground.SigmaZ, ground.BaselineEvents, ground.BaselineSize, points, Signals(points, chosen), Alarms(points, kind, ground, chosen), MethodOf(kind, chosen)));
    }

    /// <summary>Tests whether the subgroups' rates differ by more than chance, which is when Laney's charts are called for.</summary>
    /// <remarks>Method: X² = Σ z_i² over subgroups about their pooled rate, against a chi-square with m − 1 degrees of freedom (Pearson's test of homogeneity; for Poisson counts Fisher's dispersion test).</remarks>
    /// <param name="subgroups">The subgroups; empty ones are passed over.</param>
    /// <param name="kind">What is assumed of chance.</param>
    /// <returns>The test; cannot-tell with fewer than two subgroups, no event, or nothing but events.</returns>
    public static Figure<TestResult> DispersionTest(IReadOnlyList<Subgroup> subgroups, ChartKind kind)
    {
        Figure<StandardisedSubgroups> standard = StandardisedSubgroups.Of(subgroups, kind, new ChartSettings());
        if (!standard.IsMeasured)
        {
            return Figure<TestResult>.CannotTell(standard.Why);
        }

        double[] z = [.. standard.Value.Z.Where(double.IsFinite)];
        if (z.Length < 2)
        {
            return Figure<TestResult>.CannotTell("With fewer than two points nothing can be said about the spread between them.");
        }

        double statistic = z.Sum(value => value * value);
        return Figure<TestResult>.Measured(new TestResult(Tails.ChiSquareAbove(statistic, z.Length - 1), statistic, "All subgroups share one rate.", z.Length, new StatisticalMethod("Chi-square test of homogeneity", "Pearson 1900; Fisher, Statistical Methods for Research Workers, 1925 (from memory)")));
    }

    private static ChartPoint Point(Subgroup subgroup, int index, StandardisedSubgroups ground, ChartKind kind, ChartSettings settings)
    {
        if (subgroup.Size <= 0)
        {
            return new ChartPoint(subgroup, null, null, null, null, ground.InBaseline(index));
        }

        double half = settings.LimitSigmas * ground.Deviations[index];
        double top = kind == ChartKind.Proportion ? 1 : double.PositiveInfinity;
        return new ChartPoint(subgroup, subgroup.Events / subgroup.Size, Math.Max(0, ground.Centre - half), Math.Min(top, ground.Centre + half), ground.Z[index], ground.InBaseline(index));
    }

    private static List<ChartSignal> Signals(ChartPoint[] points, ChartSettings settings)
    {
        List<ChartSignal> signals = [];
        int[] filled = [.. Enumerable.Range(0, points.Length).Where(index => points[index].Z is not null)];
        int run = 0;
        for (int place = 0; place < filled.Length; place++)
        {
            int index = filled[place];
            double z = points[index].Z!.Value;
            run = z == 0 ? 0 : Math.Sign(z) == Math.Sign(run) ? run + Math.Sign(z) : Math.Sign(z);

            // A point whose z equals the limit but for rounding is on it, which is inside.
            if (settings.Rules.Contains(RunRule.BeyondLimits) && Math.Abs(z) > settings.LimitSigmas + 1e-9)
            {
                signals.Add(new ChartSignal(index, z > 0, "One point outside its limits.", index));
            }

            if (settings.Rules.Contains(RunRule.TwoOfThreeBeyondTwoSigma) && Math.Abs(z) > 2)
            {
                int earlier = Enumerable.Range(1, 2).Where(back => place >= back && points[filled[place - back]].Z!.Value * Math.Sign(z) > 2).LastOrDefault();
                if (earlier > 0)
                {
                    signals.Add(new ChartSignal(index, z > 0, "Two of three points in a row beyond two standard deviations on one side.", filled[place - earlier]));
                }
            }

            if (settings.Rules.Contains(RunRule.EightOnOneSide) && Math.Abs(run) >= 8)
            {
                signals.Add(new ChartSignal(index, z > 0, "Eight or more points in a row on one side of the centre.", filled[place - Math.Abs(run) + 1]));
            }
        }

        return signals;
    }

    private static FalseAlarms Alarms(ChartPoint[] points, ChartKind kind, StandardisedSubgroups ground, ChartSettings settings)
    {
        ChartPoint[] filled = [.. points.Where(point => point.Z is not null)];
        ChartPoint[] apart = [.. filled.Where(point => !point.InBaseline)];
        ChartPoint[] watched = apart.Length > 0 ? apart : filled;
        if (settings.Rules.Count == 1 && settings.Rules[0] == RunRule.BeyondLimits && !settings.Overdispersion)
        {
            double expected = watched.Sum(point => Outside(point, kind, ground.Centre, settings.LimitSigmas));
            StatisticalMethod exact = new("Exact tails outside the limits of each point", kind == ChartKind.Proportion ? "Binomial distribution with the centre as its chance" : "Poisson distribution with the centre as its rate");
            return new FalseAlarms(watched.Length, expected > 1e-12 ? watched.Length / expected : null, expected, exact);
        }

        // A lower limit that was cut at 0 cannot be passed: then only the upper side gives alarms. The run lengths take both.
        double length = RunLengths.Shewhart(settings.Rules, settings.LimitSigmas);
        return new FalseAlarms(watched.Length, length, watched.Length / length, new StatisticalMethod("Run length of the rules together, points taken as normal and independent", "Markov chain after Champ and Woodall, Technometrics 1987;29:393 (from memory)"));
    }

    private static double Outside(ChartPoint point, ChartKind kind, double centre, double sigmas)
    {
        // Counts exactly on a limit are inside, rounding or not.
        double half = sigmas * Math.Sqrt((kind == ChartKind.Proportion ? centre * (1 - centre) : centre) * point.Subgroup.Size);
        double mean = centre * point.Subgroup.Size;
        long highest = (long)Math.Floor(mean + half + 1e-9);
        long lowest = (long)Math.Ceiling(mean - half - 1e-9);
        return kind == ChartKind.Proportion
            ? Tails.BinomialAtMost((long)point.Subgroup.Size - highest - 1, (long)point.Subgroup.Size, 1 - centre) + Tails.BinomialAtMost(lowest - 1, (long)point.Subgroup.Size, centre)
            : Tails.PoissonAbove(highest, mean) + Tails.PoissonAtMost(lowest - 1, mean);
    }

    private static StatisticalMethod MethodOf(ChartKind kind, ChartSettings settings)
    {
        string name = kind switch { ChartKind.Proportion => "p", ChartKind.Rate => "u", _ => "c" };
        return settings.Overdispersion
            ? new StatisticalMethod($"Laney {name}' chart", "Laney, Qual Eng 2002;14:531 (from memory)")
            : new StatisticalMethod($"{name} chart", "NIST/SEMATECH e-Handbook of Statistical Methods 6.3.3");
    }
}
