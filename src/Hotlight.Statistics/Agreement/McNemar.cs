using Hotlight.Core;

namespace Hotlight.Statistics.Agreement;

/// <summary>Whether two readers say yes equally often, from the cases on which they differ.</summary>
/// <param name="FirstOnly">Cases on which only the first said yes (b).</param>
/// <param name="SecondOnly">Cases on which only the second said yes (c).</param>
/// <param name="ChiSquare">McNemar's chi-square.</param>
/// <param name="Corrected">The same with Edwards' correction.</param>
/// <param name="Exact">Exact test.</param>
/// <param name="MidP">Mid-P test, the one for reports (Fagerland, Lydersen and Laake, BMC Med Res Methodol 2013;13:91; from memory).</param>
public sealed record McNemar(long FirstOnly, long SecondOnly, TestResult ChiSquare, TestResult Corrected, TestResult Exact, TestResult MidP)
{
    private const string Hypothesis = "Both readers say yes equally often.";

    /// <summary>McNemar's tests of paired yes-or-no readings.</summary>
    /// <remarks>Method: χ² = (b − c)²/(b + c); corrected max(0, |b − c| − 1)²/(b + c); exact min(1, 2·P(X ≤ min(b, c))), X binomial(b + c, ½); mid-P 2·P(X ≤ min(b, c)) − P(X = min(b, c)). McNemar, Psychometrika 1947;12:153. Cases on which both agree say nothing to this question.</remarks>
    /// <param name="firstOnly">b, 0 or more.</param>
    /// <param name="secondOnly">c, 0 or more.</param>
    /// <returns>The tests; cannot-tell when the readers never differ.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A count is below 0.</exception>
    public static Figure<McNemar> Of(long firstOnly, long secondOnly)
    {
        if (firstOnly < 0 || secondOnly < 0)
        {
            throw new ArgumentOutOfRangeException(nameof(firstOnly), $"The counts are {firstOnly} and {secondOnly}; they must be 0 or more.");
        }

        long total = firstOnly + secondOnly;
        if (total == 0)
        {
            return Figure<McNemar>.CannotTell("The two readers differ on no case, so there is nothing to test.");
        }

        double difference = Math.Abs(firstOnly - secondOnly);
        double plain = difference * difference / total;
        double corrected = Math.Pow(Math.Max(0, difference - 1), 2) / total;
        long fewer = Math.Min(firstOnly, secondOnly);
        double twice = 2 * Tails.BinomialAtMost(fewer, total, 0.5);
        StatisticalMethod Named(string name, string source) => new(name, source + " (from memory)");
        return Figure<McNemar>.Measured(new McNemar(
            firstOnly,
            secondOnly,
            new TestResult(Tails.ChiSquareAbove(plain, 1), plain, Hypothesis, total, Named("McNemar's chi-square", "McNemar, Psychometrika 1947;12:153")),
            new TestResult(Tails.ChiSquareAbove(corrected, 1), corrected, Hypothesis, total, Named("McNemar's chi-square, corrected", "Edwards, Psychometrika 1948;13:185")),
            new TestResult(Math.Min(1, twice), null, Hypothesis, total, Named("McNemar's test, exact", "McNemar, Psychometrika 1947;12:153")),
            new TestResult(Math.Min(1, twice - Tails.BinomialAt(fewer, total, 0.5)), null, Hypothesis, total, Named("McNemar's test, mid-P", "Fagerland, Lydersen and Laake, BMC Med Res Methodol 2013;13:91"))));
    }
}
