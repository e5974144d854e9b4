using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Statistics.Proportions;
using Hotlight.Teaching.Practice;
using Hotlight.Technique.Dose;

namespace Hotlight.Web;

/// <summary>Words of practice as the pages say them.</summary>
internal static class PracticeWords
{
    /// <summary>How plain planted faults are.</summary>
    public static string Of(Difficulty difficulty) => difficulty switch
    {
        Difficulty.Plain => "plain",
        Difficulty.Moderate => "moderate",
        _ => "subtle",
    };

    /// <summary>What became of an answer.</summary>
    public static string Of(LineOutcome outcome) => outcome switch
    {
        LineOutcome.Right => "right",
        LineOutcome.RightOtherWay => "seen, way not right",
        LineOutcome.Missed => "missed",
        LineOutcome.Imagined => "imagined",
        LineOutcome.Undecided => "could be told",
        _ => "left open",
    };

    /// <summary>The sign beside the word.</summary>
    public static string Sign(LineOutcome outcome) => outcome switch
    {
        LineOutcome.Right => "✓",
        LineOutcome.RightOtherWay => "◐",
        LineOutcome.Missed => "✕",
        LineOutcome.Imagined => "!",
        LineOutcome.Undecided => "?",
        _ => "–",
    };

    /// <summary>Style of an outcome; that of a state of the checklist.</summary>
    public static string Css(LineOutcome outcome) => outcome switch
    {
        LineOutcome.Right => "met",
        LineOutcome.RightOtherWay => "cannot-tell",
        LineOutcome.Missed or LineOutcome.Imagined => "not-met",
        LineOutcome.Undecided => "cannot-tell",
        _ => "not-applicable",
    };

    /// <summary>A share in whole percent; a dash where there is none.</summary>
    public static string Percent(double? share) => share is { } value ? string.Create(CultureInfo.InvariantCulture, $"{100 * value:0} %") : "–";

    /// <summary>A credit with two digits at most.</summary>
    public static string Credit(double credit) => credit.ToString("0.##", CultureInfo.InvariantCulture);

    /// <summary>A certainty with its chance.</summary>
    public static string Of(CertaintyWord word) => string.Create(CultureInfo.InvariantCulture, $"{word.Word}, {100 * word.Chance:0} %");

    /// <summary>A rate, or why there is none.</summary>
    public static string Of(Figure<ProportionEstimate> rate) => rate.IsMeasured ? ReadingWords.Of(rate) : rate.Why!;

    /// <summary>A kerma-area product with its uncertainty.</summary>
    public static string Of(Figure<KermaAreaProduct> product) => product.Value is { } known
        ? $"{Pair(known.DgyCm2, known.UncertaintyDgyCm2)} dGy·cm²"
        : "cannot tell";

    /// <summary>A kerma-area product with its uncertainty under a heading that gives the unit, dGy·cm².</summary>
    public static string InDgyCm2(Figure<KermaAreaProduct> product) => product.Value is { } known ? Pair(known.DgyCm2, known.UncertaintyDgyCm2) : "cannot tell";

    /// <summary>An effective dose with its uncertainty.</summary>
    public static string Of(Figure<EffectiveDose> dose) => dose.Value is { } known
        ? $"{Pair(1000 * known.Millisievert, 1000 * known.UncertaintyMillisievert)} µSv"
        : "cannot tell";

    /// <summary>What the console shows of an exposure; never what follows from it.</summary>
    public static string Console(ExposureRecord record)
    {
        ArgumentNullException.ThrowIfNull(record);
        List<string> said = [];
        Add(record.TubeVoltageKvp, "0", "kVp");
        Add(record.ExposureMas, "0.###", "mAs");
        Add(record.SourceImageDistanceMm, "0", "mm source to receptor");
        if (record.ExposureIndex is { } index)
        {
            said.Add(string.Create(CultureInfo.InvariantCulture, $"exposure index {index:0}{(record.TargetExposureIndex is { } target ? $", target {target:0}" : "")}"));
        }

        return said.Count == 0 ? "The file says nothing of the exposure." : string.Join(" · ", said);

        void Add(double? value, string form, string unit)
        {
            if (value is { } known)
            {
                said.Add($"{known.ToString(form, CultureInfo.InvariantCulture)} {unit}");
            }
        }
    }

    /// <summary>A value and its uncertainty, to the digit that the uncertainty still tells: its first, or its second where the first is a 1.</summary>
    private static string Pair(double value, double uncertainty)
    {
        if (uncertainty <= 0 || !double.IsFinite(uncertainty))
        {
            return value.ToString("0.###", CultureInfo.InvariantCulture);
        }

        int first = (int)Math.Floor(Math.Log10(uncertainty));
        int last = uncertainty / Math.Pow(10, first) < 1.95 ? first - 1 : first;
        return $"{Rounded(value, last)} ± {Rounded(uncertainty, last)}";
    }

    private static string Rounded(double value, int last)
    {
        double unit = Math.Pow(10, Math.Max(0, last));
        return last >= 0 ? (Math.Round(value / unit) * unit).ToString("0", CultureInfo.InvariantCulture) : value.ToString("0." + new string('0', -last), CultureInfo.InvariantCulture);
    }
}
