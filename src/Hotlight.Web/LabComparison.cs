using System.Globalization;
using Hotlight.Simulation;

namespace Hotlight.Web;

/// <summary>A figure of two exposures beside each other.</summary>
/// <param name="Name">What it is.</param>
/// <param name="Unit">Its unit; empty for none.</param>
/// <param name="Start">As the projection demands.</param>
/// <param name="Set">As set.</param>
/// <param name="Change">The change in words; empty for none.</param>
internal sealed record LabFigure(string Name, string Unit, string Start, string Set, string Change);

/// <summary>What a change did, in figures.</summary>
internal static class LabComparison
{
    /// <summary>Below this share a dose counts as the same: less than is printed.</summary>
    private const double Same = 0.005;

    private const string Unchanged = "unchanged";

    /// <summary>The figures of two exposures.</summary>
    /// <param name="start">As the projection demands.</param>
    /// <param name="set">As set.</param>
    public static IReadOnlyList<LabFigure> Figures(SceneTruth start, SceneTruth set)
    {
        ArgumentNullException.ThrowIfNull(start);
        ArgumentNullException.ThrowIfNull(set);
        List<LabFigure> figures =
        [
            Row("Exposure index", "", truth => truth.ExposureIndex, "0", Share),
            Row("Deviation index", "", truth => truth.DeviationIndex, "+0.0;−0.0;0.0", Difference("0.0", "")),
            Row("Relative noise", "%", truth => truth.RelativeNoisePercent, "0.00", Share),
            Row("Scatter share", "%", truth => truth.ScatterPercentOfSignal, "0.0", Difference("0.0", "points")),
            Row("Kerma-area product", "dGy·cm²", truth => truth.Dose?.KermaAreaProductDgyCm2, "0.000", Share),
            Row("Entrance surface kerma", "µGy", truth => truth.Dose?.EntranceSurfaceKermaMicrogray, "0", Share),
            Row("Field on the receptor", "cm²", truth => truth.FieldAreaMm2 / 100, "0", Share),
            Row("Empty part of the field", "%", truth => truth.EmptyPercentOfField, "0.0", Difference("0.0", "points")),
        ];

        // Faults that neither exposure has need no line.
        Fault(Row("Motion on the receptor", "mm", truth => truth.Sharpness?.MotionMm, "0.0", Difference("0.0", "mm")), "0.0");
        Fault(Row("Least grid transmission", "%", truth => 100 * truth.GridCutOffShare, "0", Difference("0", "points")), "100");
        Fault(Row("Saturated anatomy", "%", truth => truth.SaturatedPercentOfAnatomy, "0.0", Difference("0.0", "points")), "0.0");
        Fault(Row("Landmarks beyond the field", "", truth => truth.Landmarks.Count(each => !each.InsideField), "0", Difference("0", "")), "0");
        return figures;

        void Fault(LabFigure figure, string none)
        {
            if (figure.Start != none || figure.Set != none)
            {
                figures.Add(figure);
            }
        }

        LabFigure Row(string name, string unit, Func<SceneTruth, double?> get, string format, Func<double, double, string> change)
        {
            double? before = get(start);
            double? after = get(set);
            string first = Text(before, format);
            string second = Text(after, format);
            return new LabFigure(name, unit, first, second, first == second || before is not { } from || after is not { } to ? "" : change(from, to));
        }
    }

    /// <summary>What the change costs or spares the patient, one sentence.</summary>
    /// <param name="start">As the projection demands.</param>
    /// <param name="set">As set.</param>
    public static string DoseSentence(SceneTruth start, SceneTruth set)
    {
        ArgumentNullException.ThrowIfNull(start);
        ArgumentNullException.ThrowIfNull(set);
        if (start.Dose is not { } before || set.Dose is not { } after)
        {
            return "Dose: cannot tell, the scene has none.";
        }

        string area = Said(before.KermaAreaProductDgyCm2, after.KermaAreaProductDgyCm2);
        string skin = Said(before.EntranceSurfaceKermaMicrogray, after.EntranceSurfaceKermaMicrogray);
        return area == Unchanged && skin == Unchanged ? "Dose unchanged."
            : area == skin ? $"Dose: kerma-area product and entrance surface kerma {area}." : $"Dose: kerma-area product {area}, entrance surface kerma {skin}.";
    }

    private static string Said(double before, double after)
    {
        if (!(before > 0))
        {
            return "cannot be compared";
        }

        double share = (after / before) - 1;
        return Math.Abs(share) < Same ? Unchanged
            : share >= 1 ? string.Create(CultureInfo.InvariantCulture, $"{after / before:0.0} times as much")
            : string.Create(CultureInfo.InvariantCulture, $"{100 * Math.Abs(share):0} % {(share > 0 ? "more" : "less")}");
    }

    private static string Text(double? value, string format)
        => value is { } known && double.IsFinite(known) ? known.ToString(format, CultureInfo.InvariantCulture) : "cannot tell";

    private static string Share(double before, double after)
        => before > 0 && Math.Abs((after / before) - 1) >= Same ? Signed(100 * ((after / before) - 1), "0", "%") : "";

    private static Func<double, double, string> Difference(string format, string unit) => (before, after) => Signed(after - before, format, unit);

    private static string Signed(double value, string format, string unit)
    {
        string text = value.ToString($"+{format};−{format};{format}", CultureInfo.InvariantCulture);
        return unit.Length == 0 ? text : $"{text} {unit}";
    }
}
