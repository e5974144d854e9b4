using Hotlight.Core;

namespace Hotlight.Statistics.Scores;

/// <summary>How good stated chances were, with Murphy's parts.</summary>
/// <param name="Score">Mean of (chance − outcome)², 0 to 1; lower is better.</param>
/// <param name="Reliability">How far the stated chances are from what happened: Σ n_k(f_k − ō_k)²/n; 0 is calibrated.</param>
/// <param name="Resolution">How far they tell cases apart: Σ n_k(ō_k − ō)²/n; higher is better.</param>
/// <param name="Uncertainty">Spread of the outcomes themselves: ō(1 − ō).</param>
/// <param name="SkillScore">1 − score/uncertainty: 0 is as good as always saying the base rate; null where all outcomes are alike.</param>
/// <param name="Events">Outcomes that happened.</param>
/// <param name="Total">Number of forecasts.</param>
/// <param name="StandardError">Standard error of the score's mean; null for one forecast.</param>
/// <param name="Method">Method and source.</param>
public sealed record BrierScore(double Score, double Reliability, double Resolution, double Uncertainty, double? SkillScore, long Events, long Total, double? StandardError, StatisticalMethod Method)
{
    /// <summary>Scores forecasts of yes-or-no outcomes.</summary>
    /// <remarks>Method: score = reliability − resolution + uncertainty, exact since forecasts are grouped by their own value. Brier, Mon Weather Rev 1950;78:1 (half of his score of two classes); Murphy, J Appl Meteorol 1973;12:595. Many unlike values leave few cases a group, and reliability and resolution are then both too high by chance; state chances in steps, or look at the bins.</remarks>
    /// <param name="forecasts">Stated chances, each in [0, 1].</param>
    /// <param name="outcomes">What happened, as many.</param>
    /// <returns>The score; cannot-tell without forecasts.</returns>
    /// <exception cref="ArgumentException">The lengths differ, or a chance is outside [0, 1].</exception>
    public static Figure<BrierScore> Of(IReadOnlyList<double> forecasts, IReadOnlyList<bool> outcomes)
    {
        CalibrationBins.Check(forecasts, outcomes);
        int total = forecasts.Count;
        if (total == 0)
        {
            return Figure<BrierScore>.CannotTell("There are no forecasts to score.");
        }

        double[] losses = [.. forecasts.Zip(outcomes, (forecast, outcome) => Math.Pow(forecast - (outcome ? 1 : 0), 2))];
        double score = losses.Average();
        double rate = outcomes.Count(outcome => outcome) / (double)total;
        double reliability = 0;
        double resolution = 0;
        foreach (IGrouping<double, bool> group in forecasts.Zip(outcomes).GroupBy(pair => pair.First, pair => pair.Second))
        {
            double share = group.Count() / (double)total;
            double own = group.Count(outcome => outcome) / (double)group.Count();
            reliability += share * (group.Key - own) * (group.Key - own);
            resolution += share * (own - rate) * (own - rate);
        }

        double uncertainty = rate * (1 - rate);
        double? error = total > 1 ? Math.Sqrt(losses.Sum(loss => (loss - score) * (loss - score)) / (total - 1.0) / total) : null;
        return Figure<BrierScore>.Measured(new BrierScore(score, reliability, resolution, uncertainty, uncertainty > 0 ? 1 - (score / uncertainty) : null, outcomes.Count(outcome => outcome), total, error, new StatisticalMethod("Brier score with Murphy's parts", "Brier, Mon Weather Rev 1950;78:1; Murphy, J Appl Meteorol 1973;12:595 (from memory)")));
    }
}
