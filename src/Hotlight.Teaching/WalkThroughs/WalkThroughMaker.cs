using System.Globalization;
using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Judgement;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>Makes a walk-through of a critique: the whole image and what was asked for, then down the checklist, then verdict, changes, cost and what remains unknown.</summary>
/// <remarks>
/// A line with something to show, or that is missed, gets a step of its own; met lines that weigh nothing in the verdict share one for each part of the checklist; lines nobody decided and that point nowhere stand at the end.
/// Texts are in the language of <see cref="CultureInfo.CurrentUICulture"/>.
/// </remarks>
public static class WalkThroughMaker
{
    /// <summary>Free space around evidence, as a share of its larger side.</summary>
    private const double MarginShare = 0.2;

    /// <summary>A view is never smaller than this share of the image's longer side: closer, the part is no longer recognised. Common practice, no source.</summary>
    private const double LeastViewShare = 0.28;

    /// <summary>Evidence that takes more than this share of the image's longer side is shown with the whole image.</summary>
    private const double WholeShare = 0.8;

    /// <summary>Time from one piece of a line's evidence to the next, in seconds.</summary>
    private const double BetweenEvidenceSeconds = 0.6;

    /// <summary>Most open questions in one step.</summary>
    private const int QuestionsAtOnce = 3;

    /// <summary>Name of the style of evidence that has no style of its own.</summary>
    public const string EvidenceStyle = "evidence";

    /// <summary>Name of the style of a simulated phantom's outlines.</summary>
    public const string PhantomStyle = "phantom-outline";

    /// <summary>Points of an outline are no closer than this share of the image's longer side.</summary>
    private const double LeastStepShare = 0.004;

    /// <summary>Makes a walk-through.</summary>
    /// <param name="critique">The critique.</param>
    /// <param name="radiograph">Its radiograph; borrowed.</param>
    /// <param name="isInvented">Whether the exposure is a simulated one.</param>
    /// <param name="purpose">Name of what the examination is asked for; null: not said.</param>
    /// <param name="phantom">A simulated phantom laid over the image, shown after the lines of positioning; null: none.</param>
    public static WalkThrough Make(Critique critique, Radiograph radiograph, bool isInvented, string? purpose = null, WalkPhantom? phantom = null)
    {
        ArgumentNullException.ThrowIfNull(critique);
        ArgumentNullException.ThrowIfNull(radiograph);
        var image = new WalkImage(radiograph.Columns, radiograph.Rows, AspectOf(radiograph.ReceptorSpacing), WindowOf(radiograph));
        WalkView anatomy = AroundAnatomy(critique, image);
        var steps = new List<WalkStep>();
        void Add(WalkStepKind kind, string heading, string caption, ChecklistLine? line = null)
        {
            string cut = caption.Length <= WalkStep.CaptionMaxLength ? caption : caption[..(WalkStep.CaptionMaxLength - 1)] + "…";
            var step = new WalkStep
            {
                Id = $"s{(steps.Count + 1).ToString(CultureInfo.InvariantCulture)}",
                Kind = kind,
                LineId = line?.Id,
                Heading = heading.Length <= WalkThrough.TitleMaxLength ? heading : heading[..WalkThrough.TitleMaxLength],
                Caption = cut,
                Seconds = CaptionCues.SecondsFor(cut),
                View = line is null ? image.Whole : line.Evidence.Count > 0 ? ViewOf(line.Evidence, image) : IsOfTheImage(line.Section) ? anatomy : image.Whole,
            };
            steps.Add(line is null ? step : step with { Marks = MarksOf(line.Evidence, SpokenFrom(step)) });
        }

        // The label stands in the heading, which a film draws too, and is said before all else.
        void AddPhantom(string heading, string caption, IReadOnlyList<IReadOnlyList<PixelPoint>> outlines)
        {
            Add(WalkStepKind.Phantom, heading, caption);
            WalkStep step = steps[^1] with { View = anatomy };
            double least = LeastStepShare * Math.Max(image.Columns, image.Rows), from = WalkTimeline.WayOf(step);
            steps[^1] = step with { Marks = [.. outlines.SelectMany(outline => Inside(outline, image)).Select(outline => Thinned(outline, least)).Where(outline => outline.Count > 1).Select(outline => new WalkMark(PhantomStyle, outline, false, Math.Round(from, 2)))] };
        }

        Add(WalkStepKind.Opening, Texts.Get("walk-through.opening.heading"), Joined(
            isInvented ? Texts.Get("walk-through.invented") : null,
            Texts.Get("walk-through.opening", critique.ProjectionName),
            purpose is null ? null : Texts.Get("walk-through.purpose", purpose)));
        foreach (IGrouping<ChecklistSection, ChecklistLine> section in critique.Lines.GroupBy(line => line.Section))
        {
            string part = SectionName(section.Key);
            ChecklistLine[] small = [.. section.Where(IsSmall)];
            foreach (ChecklistLine line in section.Where(line => line.State != ChecklistState.NotApplicable && !IsLeftForTheEnd(line) && (small.Length < 2 || !IsSmall(line))))
            {
                Add(WalkStepKind.Line, Texts.Get("walk-through.line.heading", part, StateName(line.State)), Told(line), line);
            }

            if (small.Length >= 2)
            {
                string[] figures = [.. small.Select(line => line.Figure).OfType<string>()];
                Add(WalkStepKind.Lines, Texts.Get("walk-through.line.heading", part, StateName(ChecklistState.Met)), Joined(
                    Texts.Get("walk-through.small-lines", small.Length.ToString(CultureInfo.InvariantCulture)),
                    figures.Length == 0 ? null : Texts.Get("walk-through.figures", string.Join("; ", figures))));
            }

            if (section.Key == ChecklistSection.Positioning && phantom is not null)
            {
                AddPhantom(Texts.Get("walk-through.phantom.heading", Texts.Get("walk-through.phantom.lies"), phantom.Label), Joined([phantom.Label, .. phantom.Angles]), phantom.AsItLies);
                if (phantom.AsItShould.Count > 0)
                {
                    AddPhantom(Texts.Get("walk-through.phantom.heading", Texts.Get("walk-through.phantom.should"), phantom.Label), Joined([phantom.Label, .. phantom.Moves, phantom.Caution]), phantom.AsItShould);
                }
            }
        }

        Add(WalkStepKind.Verdict, Texts.Get("walk-through.verdict.heading", VerdictName(critique.Verdict.Kind)), Joined(
            [critique.Verdict.Sentence, .. critique.Verdict.Reasons.Select(reason => reason.Sentence), critique.ReaderVerdict is { } own ? Texts.Get("walk-through.own-verdict", VerdictName(own.Kind), own.Reason) : null]));
        for (int place = 0; place < critique.Changes.Count; place++)
        {
            Change change = critique.Changes[place];
            Add(
                WalkStepKind.Change,
                Texts.Get("walk-through.change.heading", (place + 1).ToString(CultureInfo.InvariantCulture), critique.Changes.Count.ToString(CultureInfo.InvariantCulture)),
                Joined(change.Instruction, change.Why, change.Settled),
                critique.Lines.FirstOrDefault(line => line.Id == change.LineId && line.Evidence.Count > 0));
        }

        Add(WalkStepKind.Cost, Texts.Get("critique.cost"), Joined(critique.Cost.Sentence, critique.Cost.Gain));
        ChecklistLine[] open = [.. critique.Lines.Where(line => line.State == ChecklistState.CannotTell)];
        if (open.Length == 0)
        {
            Add(WalkStepKind.Unknown, Texts.Get("walk-through.unknown.heading"), Texts.Get("walk-through.nothing-unknown"));
        }

        foreach (ChecklistLine[] some in open.Chunk(QuestionsAtOnce))
        {
            Add(WalkStepKind.Unknown, Texts.Get("walk-through.unknown.heading"), Joined([Texts.Get("walk-through.unknown"), .. some.Select(line => line.Question)]));
        }

        var walk = new WalkThrough
        {
            Title = Texts.Get("walk-through.title", critique.ProjectionName),
            Language = CultureInfo.CurrentUICulture.TwoLetterISOLanguageName is { Length: 2 } code && code != "iv" ? code : Texts.Fallback,
            ProjectionId = critique.ProjectionId,
            ProjectionName = critique.ProjectionName,
            IsInvented = isInvented,
            Caution = Critique.SafetyCaution,
            Image = image,
            Steps = steps,
        };
        WalkThroughJson.Check(walk);
        return walk;
    }

    /// <summary>The view in which evidence is wholly in sight, as far as the image holds it, with a margin.</summary>
    /// <param name="evidence">The evidence; none: the whole image.</param>
    /// <param name="image">The image.</param>
    internal static WalkView ViewOf(IReadOnlyList<Evidence> evidence, WalkImage image)
    {
        WalkView whole = image.Whole;
        PixelPoint[] points = [.. evidence.SelectMany(each => each.Outlines).SelectMany(outline => outline)];
        if (points.Length == 0)
        {
            return whole;
        }

        double left = Math.Clamp(points.Min(point => point.X), whole.X, whole.X + whole.Width);
        double right = Math.Clamp(points.Max(point => point.X), left, whole.X + whole.Width);
        double top = Math.Clamp(points.Min(point => point.Y), whole.Y, whole.Y + whole.Height);
        double bottom = Math.Clamp(points.Max(point => point.Y), top, whole.Y + whole.Height);
        double longSide = Math.Max(whole.Width, whole.Height);
        double extent = Math.Max(right - left, bottom - top);
        if (extent > WholeShare * longSide)
        {
            return whole;
        }

        double margin = MarginShare * extent;
        (double x, double width) = Placed(left - margin, right + margin, LeastViewShare * longSide, whole.X, whole.Width);
        (double y, double height) = Placed(top - margin, bottom + margin, LeastViewShare * longSide, whole.Y, whole.Height);
        return new WalkView(Math.Round(x, 2), Math.Round(y, 2), Math.Round(width, 2), Math.Round(height, 2));
    }

    // The pieces of an outline that lie on the image.
    private static IEnumerable<IReadOnlyList<PixelPoint>> Inside(IReadOnlyList<PixelPoint> outline, WalkImage image)
    {
        List<PixelPoint> piece = [];
        foreach (PixelPoint point in outline)
        {
            if (image.Whole.Holds(point))
            {
                piece.Add(point);
            }
            else if (piece.Count > 0)
            {
                yield return piece;
                piece = [];
            }
        }

        if (piece.Count > 0)
        {
            yield return piece;
        }
    }

    private static IReadOnlyList<PixelPoint> Thinned(IReadOnlyList<PixelPoint> outline, double least)
    {
        List<PixelPoint> kept = [];
        for (int place = 0; place < outline.Count; place++)
        {
            PixelPoint point = new(X: Math.Round(outline[place].X, 1), Y: Math.Round(outline[place].Y, 1));
            if (kept.Count == 0 || place == outline.Count - 1 || point.DistancePixelsTo(kept[^1]) >= least)
            {
                kept.Add(point);
            }
        }

        return kept;
    }

    // What is asked of the anatomy is looked at on the anatomy, where that leaves much of the image out.
    private static WalkView AroundAnatomy(Critique critique, WalkImage image)
        => critique.Measurements.Anatomy.Value is { Outlines.Count: > 0 } found
            ? ViewOf([new Evidence { Kind = EvidenceKind.Anatomy, Outlines = found.Outlines, Closed = true }], image)
            : image.Whole;

    private static bool IsOfTheImage(ChecklistSection section)
        => section is ChecklistSection.RequiredAnatomy or ChecklistSection.Positioning or ChecklistSection.Exposure or ChecklistSection.BrightnessAndContrast or ChecklistSection.Sharpness or ChecklistSection.Artifacts;

    // Widened about its middle, then pushed into the image.
    private static (double From, double Length) Placed(double from, double to, double least, double imageFrom, double imageLength)
    {
        double length = Math.Min(imageLength, Math.Max(least, to - from));
        double start = ((from + to) / 2) - (length / 2);
        return (Math.Clamp(start, imageFrom, imageFrom + imageLength - length), length);
    }

    // The question comes first; what decides it is drawn when the answer begins.
    private static double SpokenFrom(WalkStep step)
    {
        IReadOnlyList<CaptionCue> cues = CaptionCues.Of(step);
        return Math.Max(WalkTimeline.WayOf(step), step.Kind == WalkStepKind.Line && cues.Count > 1 ? cues[1].FromSeconds : 0);
    }

    private static IReadOnlyList<WalkMark> MarksOf(IReadOnlyList<Evidence> evidence, double from)
        => [.. evidence.SelectMany((each, place) => each.Outlines.Where(outline => outline.Count > 0).Select(outline => new WalkMark(
            StyleOf(each.Kind),
            [.. outline.Select(point => new PixelPoint(X: Math.Round(point.X, 2), Y: Math.Round(point.Y, 2)))],
            each.Closed,
            Math.Round(from + (place * BetweenEvidenceSeconds), 2))))];

    private static string Told(ChecklistLine line) => Joined(
        line.Question,
        line.State switch
        {
            ChecklistState.Met => Texts.Get("walk-through.answer.yes"),
            ChecklistState.NotMet => Texts.Get("walk-through.answer.no"),
            _ => Texts.Get("walk-through.answer.open"),
        },
        line.Figure is { Length: > 0 } figure && line.Explanation?.Contains(figure, StringComparison.OrdinalIgnoreCase) != true && figure.Contains(' ', StringComparison.Ordinal) ? figure : null,
        line.Explanation,
        line.State is ChecklistState.CannotTell or ChecklistState.NotMet ? line.Hint : null,
        line.Remark is { Length: > 0 } remark ? Texts.Get("walk-through.remark", remark) : null);

    private static bool IsSmall(ChecklistLine line) => line is { State: ChecklistState.Met, Weight: Weight.Note, Evidence.Count: 0, Remark: null };

    private static bool IsLeftForTheEnd(ChecklistLine line) => line is { State: ChecklistState.CannotTell, Evidence.Count: 0, Figure: null, Remark: null };

    private static string Joined(params IEnumerable<string?> sentences)
        => string.Join(' ', sentences.Where(sentence => !string.IsNullOrWhiteSpace(sentence)).Select(sentence => Sentence(sentence!.Trim())));

    private static string Sentence(string text)
    {
        string capital = char.ToUpper(text[0], CultureInfo.CurrentUICulture) + text[1..];
        return capital[^1] is '.' or '!' or '?' or '…' ? capital : capital + ".";
    }

    private static double AspectOf(PixelSpacing? spacing) => spacing is { } known ? Math.Round(known.RowSpacingMm / known.ColumnSpacingMm, 6) : 1;

    private static WalkWindow WindowOf(Radiograph radiograph)
    {
        VoiTransform window = DisplayTable.InUse(radiograph);
        return window.Table is { } table
            ? new WalkWindow(table.FirstMapped + (table.Entries.Length / 2.0), table.Entries.Length)
            : new WalkWindow(Math.Round(window.Center, 4), Math.Max(1e-4, Math.Round(window.Width, 4)));
    }

    private static string StyleOf(EvidenceKind kind) => kind switch
    {
        EvidenceKind.Field => "field-beam-edge",
        EvidenceKind.Anatomy => "skin-outline",
        EvidenceKind.TighterField or EvidenceKind.LostSkin or EvidenceKind.MottlePlace or EvidenceKind.SharpEdge or EvidenceKind.SideMarker or EvidenceKind.Artifact
            => JsonNamingPolicy.KebabCaseLower.ConvertName(kind.ToString()),
        _ => EvidenceStyle,
    };

    private static string SectionName(ChecklistSection section) => section switch
    {
        ChecklistSection.RequiredAnatomy => Texts.Get("section.required-anatomy"),
        ChecklistSection.Positioning => Texts.Get("section.positioning"),
        ChecklistSection.Exposure => Texts.Get("section.exposure"),
        ChecklistSection.BrightnessAndContrast => Texts.Get("section.brightness-and-contrast"),
        ChecklistSection.Sharpness => Texts.Get("section.sharpness"),
        ChecklistSection.Artifacts => Texts.Get("section.artifacts"),
        ChecklistSection.Collimation => Texts.Get("section.collimation"),
        ChecklistSection.SideMarker => Texts.Get("section.side-marker"),
        ChecklistSection.ShieldingAndRecords => Texts.Get("section.shielding-and-records"),
        _ => Texts.Get("section.processing"),
    };

    private static string StateName(ChecklistState state) => state switch
    {
        ChecklistState.Met => Texts.Get("state.met"),
        ChecklistState.NotMet => Texts.Get("state.not-met"),
        ChecklistState.CannotTell => Texts.Get("state.cannot-tell"),
        _ => Texts.Get("state.not-applicable"),
    };

    private static string VerdictName(VerdictKind kind) => kind switch
    {
        VerdictKind.Accept => Texts.Get("verdict.kind.accept"),
        VerdictKind.AcceptWithRemark => Texts.Get("verdict.kind.accept-with-remark"),
        VerdictKind.Repeat => Texts.Get("verdict.kind.repeat"),
        _ => Texts.Get("verdict.kind.undetermined"),
    };
}
