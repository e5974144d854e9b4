using Hotlight.Core;

namespace Hotlight.Statistics.Agreement;

/// <summary>A coefficient of agreement.</summary>
/// <param name="Value">The coefficient: 1 is full agreement, 0 what chance gives as the method counts it (for percent agreement: none), below 0 less than that.</param>
/// <param name="Observed">Observed agreement, weights taken in, 0 to 1; for alpha 1 − observed disagreement where that is a share (nominal), else null.</param>
/// <param name="Expected">Agreement by chance as the method counts it; null where it takes none off or has no share.</param>
/// <param name="StandardError">Standard error of the coefficient; null where the method gives none.</param>
/// <param name="Interval">Its interval; cannot-tell where the method's spread is 0 or the cases are too few.</param>
/// <param name="AgainstZero">Test that the coefficient is 0; cannot-tell where the method has none.</param>
/// <param name="Cases">Cases used.</param>
/// <param name="Readings">Readings used.</param>
/// <param name="Method">Method and source.</param>
public sealed record AgreementEstimate(double Value, double? Observed, double? Expected, double? StandardError, Figure<Interval> Interval, Figure<TestResult> AgainstZero, long Cases, long Readings, StatisticalMethod Method)
{
    // Rounding leaves up to about 1e-8 of an error that is 0; a true one of ten million cases is 1e-4.
    private const double NoSpread = 1e-7;

    /// <summary>The interval value ± quantile · error, cut at −1 and 1; cannot-tell where the error is 0.</summary>
    /// <param name="value">The coefficient.</param>
    /// <param name="error">Its standard error.</param>
    /// <param name="quantile">Quantile of the level.</param>
    /// <param name="level">The level.</param>
    internal static Figure<Interval> Around(double value, double error, double quantile, double level)
        => error > NoSpread && double.IsFinite(error)
            ? Figure<Interval>.Measured(new Interval(Math.Max(-1, value - (quantile * error)), Math.Min(1, value + (quantile * error)), level))
            : Figure<Interval>.CannotTell("The readings do not differ from case to case in how far they agree, so the standard error is 0 and says nothing; read more cases.");

    /// <summary>Test of a coefficient against 0 with its standard error under that.</summary>
    /// <param name="value">The coefficient.</param>
    /// <param name="error">Its standard error if the true one is 0.</param>
    /// <param name="cases">Cases used.</param>
    /// <param name="method">Method and source.</param>
    internal static Figure<TestResult> Zero(double value, double error, long cases, StatisticalMethod method)
        => error > NoSpread && double.IsFinite(error)
            ? Figure<TestResult>.Measured(new TestResult(Tails.NormalBeyond(value / error), value / error, "Readers agree no more than by chance.", cases, method))
            : Figure<TestResult>.CannotTell("The standard error under chance is 0, so there is no test.");
}
