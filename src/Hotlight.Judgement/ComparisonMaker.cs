using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement;

/// <summary>Makes the comparison of two critiques. Rules: docs/methods/judgement.md.</summary>
internal sealed class ComparisonMaker(Critique first, Critique second)
{
    public CritiqueComparison Make()
    {
        HashSet<string> asked = Asked();
        LineComparison[] lines = [.. AllLines().Select(line => Compare(line.First, line.Second, asked))];
        (RepeatAnswer answer, string sentence) = Answer(lines);
        return new CritiqueComparison
        {
            Answer = answer,
            Sentence = sentence,
            Dose = Dose(),
            Lines = lines,
            Figures = [.. Figures()],
            Cautions = [.. Cautions(lines)],
        };
    }

    /// <summary>What the later image is made for: lines whose miss asks for a repeat; where there is none, every line that is missed.</summary>
    private HashSet<string> Asked()
    {
        ChecklistLine[] missed = [.. first.Lines.Where(line => line.State == ChecklistState.NotMet)];
        ChecklistLine[] repeat = [.. missed.Where(line => line.Weight == Weight.Repeat)];
        return [.. (repeat.Length > 0 ? repeat : missed).Select(line => line.Id)];
    }

    private IEnumerable<(ChecklistLine? First, ChecklistLine? Second)> AllLines()
    {
        var later = second.Lines.ToDictionary(line => line.Id, StringComparer.Ordinal);
        var earlier = first.Lines.ToDictionary(line => line.Id, StringComparer.Ordinal);
        return first.Lines.Select(line => ((ChecklistLine?)line, later.GetValueOrDefault(line.Id)))
            .Concat(second.Lines.Where(line => !earlier.ContainsKey(line.Id)).Select(line => ((ChecklistLine?)null, (ChecklistLine?)line)))
            .OrderBy(pair => (pair.Item1 ?? pair.Item2)!.Section);
    }

    private static LineComparison Compare(ChecklistLine? before, ChecklistLine? after, HashSet<string> asked)
    {
        ChecklistLine line = (before ?? after)!;
        return new LineComparison
        {
            LineId = line.Id,
            Section = line.Section,
            Question = line.Question,
            First = before?.State,
            Second = after?.State,
            FirstFigure = before?.Figure,
            SecondFigure = after?.Figure,
            WasAskedFor = before is not null && asked.Contains(line.Id),
            Course = (before?.State, after?.State) switch
            {
                (ChecklistState.NotMet, ChecklistState.Met) => LineCourse.PutRight,
                (ChecklistState.Met, ChecklistState.NotMet) => LineCourse.NewlyMissed,
                (ChecklistState.NotMet, ChecklistState.NotMet) => LineCourse.StillMissed,
                (ChecklistState.Met, ChecklistState.Met) => LineCourse.StaysMet,
                (ChecklistState.NotApplicable, not null) or (not null, ChecklistState.NotApplicable) => LineCourse.NotApplicable,
                _ => LineCourse.CannotTell,
            },
        };
    }

    private (RepeatAnswer Answer, string Sentence) Answer(LineComparison[] lines)
    {
        LineComparison[] asked = [.. lines.Where(line => line.WasAskedFor)];
        if (asked.Length == 0)
        {
            bool isOpen = first.Verdict.Kind == VerdictKind.Undetermined;
            return isOpen
                ? (RepeatAnswer.CannotTell, "The first image misses nothing so far, but lines of it are still open.")
                : (RepeatAnswer.NothingToPutRight, "The first image misses nothing that could be put right.");
        }

        LineComparison[] right = [.. asked.Where(line => line.Course is LineCourse.PutRight or LineCourse.NotApplicable)];
        LineComparison[] still = [.. asked.Where(line => line.Course == LineCourse.StillMissed)];
        LineComparison[] open = [.. asked.Except(right).Except(still)];

        // Losing what only deserves a remark is no reason to say that the repeat failed.
        Dictionary<string, Weight> weights = second.Lines.ToDictionary(line => line.Id, line => line.Weight, StringComparer.Ordinal);
        LineComparison[] lost = [.. lines.Where(line => line.Course == LineCourse.NewlyMissed && weights[line.LineId] == Weight.Repeat)];
        string losing = lost.Length == 0 ? string.Empty : $" New and asking for a repeat: {Names(lost)}.";
        string waiting = open.Length == 0 ? string.Empty : $" Not decided yet: {Names(open)}.";
        if (still.Length == 0 && open.Length > 0)
        {
            return (RepeatAnswer.CannotTell, $"{(right.Length > 0 ? $"Put right so far: {Names(right)}. " : string.Empty)}Whether the rest is put right cannot be told yet.{waiting}{losing}");
        }

        if (still.Length == 0)
        {
            return lost.Length == 0
                ? (RepeatAnswer.PutRight, $"What was to be put right is: {Names(right)}.")
                : (RepeatAnswer.PutRightButLost, $"What was to be put right is: {Names(right)}.{losing}");
        }

        return right.Length > 0
            ? (RepeatAnswer.PartlyPutRight, $"Put right: {Names(right)}. Still missed: {Names(still)}.{waiting}{losing}")
            : (RepeatAnswer.NotPutRight, $"Still missed: {Names(still)}.{waiting}{losing}");
    }

    private static string Names(IEnumerable<LineComparison> lines) => Wording.Join(lines.Select(line => $"“{line.Question}”"));

    private string? Dose()
        => (first.Cost.ThisExposureDgyCm2, second.Cost.ThisExposureDgyCm2) switch
        {
            ({ } one, { } other) => $"Kerma-area product: {Wording.Significant(one)} dGy·cm² and {Wording.Significant(other)} dGy·cm², together {Wording.Significant(one + other)} dGy·cm².",
            ({ } one, null) => $"Kerma-area product: {Wording.Significant(one)} dGy·cm² for the first; the second file records none.",
            (null, { } other) => $"Kerma-area product: {Wording.Significant(other)} dGy·cm² for the second; the first file records none.",
            _ => null,
        };

    private IEnumerable<FigureComparison> Figures()
    {
        MeasurementDocument one = first.Measurements;
        MeasurementDocument other = second.Measurements;
        FigureComparison?[] all =
        [
            Of("Exposure index", one.Exposure.Value?.ExposureIndex, one.Exposure.Value?.ExposureIndexUncertainty, other.Exposure.Value?.ExposureIndex, other.Exposure.Value?.ExposureIndexUncertainty, string.Empty, 0),
            Of("Deviation index", one.Exposure.Value?.DeviationIndex, one.Exposure.Value?.DeviationIndexUncertainty, other.Exposure.Value?.DeviationIndex, other.Exposure.Value?.DeviationIndexUncertainty, string.Empty, 1, signed: true),
            one.Mottle.Value?.Scale == other.Mottle.Value?.Scale
                ? Of("Mottle", one.Mottle.Value?.RelativeNoisePercent, one.Mottle.Value?.RelativeNoisePercentUncertainty, other.Mottle.Value?.RelativeNoisePercent, other.Mottle.Value?.RelativeNoisePercentUncertainty, " % of the signal", 1)
                : null,
            Of("Edge blur", one.Sharpness.Value?.EdgeBlurMm, one.Sharpness.Value?.EdgeBlurMmUncertainty, other.Sharpness.Value?.EdgeBlurMm, other.Sharpness.Value?.EdgeBlurMmUncertainty, " mm", 2),
            Of("Anatomy in the field", one.Anatomy.Value?.PercentOfField, one.Anatomy.Value?.PercentOfFieldUncertainty, other.Anatomy.Value?.PercentOfField, other.Anatomy.Value?.PercentOfFieldUncertainty, " % of the field", 0),
            Of("Area of the field", one.Field.Value?.AreaMm2 / 100, null, other.Field.Value?.AreaMm2 / 100, null, " cm²", 0),
        ];
        return all.OfType<FigureComparison>();
    }

    private static FigureComparison? Of(string name, double? one, double? oneUncertainty, double? other, double? otherUncertainty, string unit, int decimals, bool signed = false)
    {
        if (one is not { } before || other is not { } after)
        {
            return null;
        }

        var figure = new FigureComparison
        {
            Name = name,
            First = before,
            FirstUncertainty = oneUncertainty,
            Second = after,
            SecondUncertainty = otherUncertainty,
            Unit = unit,
            Sentence = string.Empty,
        };
        string shift = FigureText.Write(figure.Difference, figure.DifferenceUncertainty, unit, decimals, signed: true);
        return figure with
        {
            Sentence = string.Concat(
                FigureText.Write(before, oneUncertainty, unit, decimals, signed),
                ", then ",
                FigureText.Write(after, otherUncertainty, unit, decimals, signed),
                $": {shift}, ",
                figure.IsMoreThanUncertainty switch
                {
                    true => "more than twice its uncertainty.",
                    false => "within twice its uncertainty: no difference can be told.",
                    null => "its uncertainty is not stated.",
                }),
        };
    }

    private IEnumerable<string> Cautions(LineComparison[] lines)
    {
        if (first.ProjectionId != second.ProjectionId)
        {
            yield return $"The two were judged as different projections, {first.ProjectionName} and {second.ProjectionName}; only the {lines.Count(line => line.First is not null && line.Second is not null)} lines of both checklists are compared.";
        }

        if (first.DeviationScheme != second.DeviationScheme)
        {
            yield return "Their deviation indices were held against different action bands.";
        }

        if (first.Measurements.Mottle.Value is { } one && second.Measurements.Mottle.Value is { } other && one.Scale != other.Scale)
        {
            yield return $"Mottle is not compared: one was measured in {one.Scale}, the other in {other.Scale}.";
        }

        if ((first.Measurements.Sharpness.Value?.EdgeEnhancementSeen ?? false) != (second.Measurements.Sharpness.Value?.EdgeEnhancementSeen ?? false))
        {
            yield return "Edges of one of them show the halo of edge enhancement, which makes blur read lower.";
        }

        if (first.Measurements.Image.Value?.PresentationIntent is { } intent && second.Measurements.Image.Value?.PresentationIntent is { } later && intent != later)
        {
            yield return "One is for processing and the other for presentation; figures that depend on the display curve differ by that alone.";
        }
    }
}
