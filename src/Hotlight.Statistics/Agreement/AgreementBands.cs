namespace Hotlight.Statistics.Agreement;

/// <summary>A word for a coefficient: a convention, not a test.</summary>
/// <param name="Word">The word.</param>
/// <param name="Convention">Whose convention it is; to be shown with the word.</param>
public sealed record AgreementBand(string Word, string Convention);

/// <summary>Customary words for coefficients of agreement. They rest on no data: what agreement is enough depends on what the answer is used for.</summary>
public static class AgreementBands
{
    /// <summary>Landis and Koch's words: below 0 poor, to 0.20 slight, to 0.40 fair, to 0.60 moderate, to 0.80 substantial, above almost perfect.</summary>
    /// <param name="kappa">The coefficient, −1 to 1.</param>
    public static AgreementBand LandisKoch(double kappa)
        => new(kappa switch { < 0 => "poor", <= 0.20 => "slight", <= 0.40 => "fair", <= 0.60 => "moderate", <= 0.80 => "substantial", _ => "almost perfect" }, "convention of Landis and Koch, Biometrics 1977;33:159");

    /// <summary>Fleiss' words: below 0.40 poor, to 0.75 fair to good, above excellent.</summary>
    /// <param name="kappa">The coefficient, −1 to 1.</param>
    public static AgreementBand Fleiss(double kappa)
        => new(kappa switch { < 0.40 => "poor", <= 0.75 => "fair to good", _ => "excellent" }, "convention of Fleiss, Statistical Methods for Rates and Proportions, 1981");

    /// <summary>Krippendorff's customary reading: 0.800 and above reliable, 0.667 and above for tentative conclusions only, below neither.</summary>
    /// <param name="alpha">Alpha, at most 1.</param>
    public static AgreementBand Krippendorff(double alpha)
        => new(alpha switch { >= 0.800 => "reliable", >= 0.667 => "tentative only", _ => "not to be relied on" }, "convention of Krippendorff, Content Analysis, 2004");
}
