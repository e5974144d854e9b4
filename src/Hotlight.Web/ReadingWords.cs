using System.Globalization;
using Hotlight.Core;
using Hotlight.Statistics;
using Hotlight.Statistics.Agreement;
using Hotlight.Statistics.Proportions;
using Hotlight.Workflows.Readings;

namespace Hotlight.Web;

/// <summary>Words of readings and of agreement as the pages say them.</summary>
internal static class ReadingWords
{
    /// <summary>What the reader could know of others' answers.</summary>
    public static string Of(ReadingCondition condition) => condition switch
    {
        ReadingCondition.Blind => "blind",
        ReadingCondition.Open => "open",
        _ => "after an earlier one",
    };

    /// <summary>A coefficient with two digits, and an honest minus.</summary>
    public static string Number(double value) => value.ToString("0.00", CultureInfo.InvariantCulture).Replace('-', '−');

    /// <summary>A share in whole percent.</summary>
    public static string Percent(double fraction) => string.Create(CultureInfo.InvariantCulture, $"{100 * fraction:0} %");

    /// <summary>An interval of coefficients.</summary>
    public static string Of(Figure<Interval> interval) => interval.IsMeasured ? $"{Number(interval.Value.Lower)} to {Number(interval.Value.Upper)}" : "no interval";

    /// <summary>An interval of shares, in percent.</summary>
    public static string PercentOf(Interval interval) => string.Create(CultureInfo.InvariantCulture, $"{100 * interval.Lower:0} to {100 * interval.Upper:0} %");

    /// <summary>A p value.</summary>
    public static string P(double value) => value < 0.001 ? "p < 0.001" : string.Create(CultureInfo.InvariantCulture, $"p {value:0.000}");

    /// <summary>A rate with its count and interval.</summary>
    public static string Of(Figure<ProportionEstimate> rate) => rate.IsMeasured
        ? string.Create(CultureInfo.InvariantCulture, $"{rate.Value.Count.Events} of {rate.Value.Count.Total} ({100 * rate.Value.Fraction:0} %, {PercentOf(rate.Value.Interval)})")
        : "cannot tell";

    /// <summary>What a coefficient's word is, by whose convention.</summary>
    public static string Title(Figure<AgreementEstimate> figure, AgreementBand? band) => figure.IsMeasured
        ? string.Create(CultureInfo.InvariantCulture, $"{figure.Value.Method.Name}, {figure.Value.Method.Source}; {figure.Value.Cases} cases, {figure.Value.Readings} readings{(band is null ? string.Empty : $"; “{band.Word}” by the {band.Convention}")}{(figure.Value.Interval.IsMeasured ? string.Empty : $". {figure.Value.Interval.Why}")}")
        : figure.Why;
}
