using Hotlight.Core;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Statistics.Scores;

/// <summary>Forecasts of like chance, and what came of them.</summary>
/// <param name="Lower">Lower edge, which belongs to the bin.</param>
/// <param name="Upper">Upper edge, which belongs to the next; 1 belongs to the last.</param>
/// <param name="MeanForecast">Mean of the stated chances in it; null where there are none.</param>
/// <param name="Happened">How often it happened, with a Wilson interval; cannot-tell where there are none.</param>
public sealed record CalibrationBin(double Lower, double Upper, double? MeanForecast, Figure<ProportionEstimate> Happened);

/// <summary>Bins of a calibration diagram.</summary>
public static class CalibrationBins
{
    /// <summary>Sorts forecasts into bins of equal width.</summary>
    /// <remarks>Method: the mean stated chance of a bin is held against how often it happened there; a calibrated reader's mean lies in the interval as often as its level says (DeGroot and Fienberg, The Statistician 1983;32:12; from memory).</remarks>
    /// <param name="forecasts">Stated chances, each in [0, 1].</param>
    /// <param name="outcomes">What happened, as many.</param>
    /// <param name="bins">Number of bins, 1 to 100.</param>
    /// <param name="level">Level of the intervals as a fraction.</param>
    /// <exception cref="ArgumentException">The lengths differ, a chance is outside [0, 1], or the bins are outside [1, 100].</exception>
    public static IReadOnlyList<CalibrationBin> Of(IReadOnlyList<double> forecasts, IReadOnlyList<bool> outcomes, int bins = 10, double level = 0.95)
    {
        Check(forecasts, outcomes);
        Preconditions.Within(bins, 1, 100);
        Tails.CheckedLevel(level);
        List<CalibrationBin> result = [];
        for (int bin = 0; bin < bins; bin++)
        {
            int[] own = [.. Enumerable.Range(0, forecasts.Count).Where(index => BinOf(forecasts[index], bins) == bin)];
            result.Add(new CalibrationBin(
                (double)bin / bins,
                (bin + 1.0) / bins,
                own.Length == 0 ? null : own.Average(index => forecasts[index]),
                own.Length == 0 ? Figure<ProportionEstimate>.CannotTell("No forecast is in this bin.") : ProportionIntervals.Wilson(new EventCount(own.Count(index => outcomes[index]), own.Length), level)));
        }

        return result;
    }

    /// <summary>Checks forecasts and outcomes.</summary>
    /// <param name="forecasts">Stated chances.</param>
    /// <param name="outcomes">What happened.</param>
    internal static void Check(IReadOnlyList<double> forecasts, IReadOnlyList<bool> outcomes)
    {
        ArgumentNullException.ThrowIfNull(forecasts);
        ArgumentNullException.ThrowIfNull(outcomes);
        if (forecasts.Count != outcomes.Count)
        {
            throw new ArgumentException($"There are {forecasts.Count} forecasts and {outcomes.Count} outcomes; there must be as many of each.", nameof(outcomes));
        }

        foreach (double forecast in forecasts)
        {
            Preconditions.Within(forecast, 0, 1, "a forecast");
        }
    }

    // A chance of 0.3 is in the bin from 0.3 on, though 0.3 · 10 falls short of 3 in binary.
    private static int BinOf(double forecast, int bins) => Math.Min(bins - 1, (int)Math.Floor((forecast * bins) + 1e-9));
}
