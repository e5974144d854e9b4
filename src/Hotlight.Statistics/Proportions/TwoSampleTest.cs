namespace Hotlight.Statistics.Proportions;

/// <summary>Tests that two rates are the same.</summary>
public enum TwoSampleTest
{
    /// <summary>Pearson's chi-square without correction, where every expected count is 5 or more; else Fisher's exact test.</summary>
    AsFits,

    /// <summary>Pearson's chi-square with one degree of freedom, without correction.</summary>
    ChiSquare,

    /// <summary>Fisher's exact test: never more false alarms than it says, often far fewer.</summary>
    FisherExact,

    /// <summary>Fisher's test with half the weight of tables as likely as the one seen: nearer to its level than the exact test.</summary>
    FisherMidP,
}
