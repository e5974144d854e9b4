using Hotlight.Core;

namespace Hotlight.Statistics.Agreement;

/// <summary>Kappa whose chance is one in as many as there are answers, whoever chose what; for two answers also called prevalence- and bias-adjusted kappa.</summary>
public static class FreeMarginalKappa
{
    /// <summary>Free-marginal kappa of any number of readers.</summary>
    /// <remarks>Method: (P̄ − 1/q)/(1 − 1/q), with P̄ from <see cref="PercentAgreement.OfAll"/> and q categories on the scale; error and interval are those of P̄ over 1 − 1/q. Brennan and Prediger, Educ Psychol Meas 1981;41:687; Randolph 2005; for two answers Byrt, Bishop and Carlin, J Clin Epidemiol 1993;46:423. Adding an answer that nobody chooses raises it.</remarks>
    /// <param name="table">The readings; gaps are allowed.</param>
    /// <param name="level">Level of the interval as a fraction.</param>
    /// <returns>Kappa; cannot-tell with a scale of one category or when no case has two readings.</returns>
    public static Figure<AgreementEstimate> Of(ReadingTable table, double level = 0.95)
    {
        ArgumentNullException.ThrowIfNull(table);
        if (table.Scale.Count < 2)
        {
            return Figure<AgreementEstimate>.CannotTell("There is only one answer to choose from.");
        }

        Figure<AgreementEstimate> percent = PercentAgreement.OfAll(table, level);
        if (!percent.IsMeasured)
        {
            return percent;
        }

        double chance = 1.0 / table.Scale.Count;
        double Scaled(double agreement) => (agreement - chance) / (1 - chance);
        Figure<Interval> interval = percent.Value.Interval is { IsMeasured: true, Value: { } own }
            ? Figure<Interval>.Measured(new Interval(Scaled(own.Lower), Scaled(own.Upper), level))
            : percent.Value.Interval;
        return Figure<AgreementEstimate>.Measured(percent.Value with
        {
            Value = Scaled(percent.Value.Value),
            Expected = chance,
            StandardError = percent.Value.StandardError / (1 - chance),
            Interval = interval,
            AgainstZero = Figure<TestResult>.CannotTell("This coefficient has no test against 0 here; look at its interval."),
            Method = new StatisticalMethod("Free-marginal kappa", "Brennan and Prediger, Educ Psychol Meas 1981;41:687; Randolph 2005 (from memory)"),
        });
    }
}
