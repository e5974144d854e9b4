using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Measure.Document;

namespace Hotlight.Teaching.Handouts;

/// <summary>Writes a handout from a critique, in the language of <see cref="CultureInfo.CurrentUICulture"/>.</summary>
/// <remarks>Sentences follow from the findings: each says one thing once, lines of one cause are joined, and what a reason has told is not told again by its correction. Nothing is added that the critique does not hold. See docs/handouts.md.</remarks>
public static class HandoutWriter
{
    private const int MostQuestions = 6;
    private const int MostReasonsInASentence = 2;

    /// <summary>Writes it.</summary>
    /// <param name="facts">What it is written from.</param>
    public static Handout Write(HandoutFacts facts)
    {
        ArgumentNullException.ThrowIfNull(facts);
        Critique critique = facts.Critique;
        var marks = new HandoutMarks(critique, facts.Columns, facts.Rows);
        IReadOnlyList<ChecklistLine> reasons = Reasons(critique);
        HandoutSection?[] sections =
        [
            new(HandoutPart.Summary, null, HandoutShape.Plain, [new("summary", Summary(critique, reasons))]),
            new(HandoutPart.Picture, Texts.Get("handout.section.picture"), HandoutShape.Plain, [.. Picture(facts, marks)]),
            new(HandoutPart.Verdict, Texts.Get("handout.section.verdict"), HandoutShape.Plain, [.. VerdictParagraphs(critique)]),
            Besides(critique),
            new(HandoutPart.Changes, Texts.Get("handout.section.changes"), critique.Changes.Count > 0 ? HandoutShape.Numbers : HandoutShape.Plain, [.. Changes(critique)]),
            Simulation(facts.Simulation),
            new(HandoutPart.Unknown, Texts.Get("handout.section.unknown"), HandoutShape.Bullets, [.. Unknown(critique)]),
            new(HandoutPart.Questions, Texts.Get("handout.section.questions"), HandoutShape.Numbers, [.. Questions(critique).Take(MostQuestions)]),
            new(HandoutPart.Checklist, Texts.Get("handout.section.checklist"), HandoutShape.Plain, []),
            new(HandoutPart.Definitions, Texts.Get("handout.section.definitions"), HandoutShape.Definitions, [.. Definitions(critique)]),
            new(HandoutPart.Cautions, Texts.Get("handout.section.cautions"), HandoutShape.Bullets, [.. Cautions(facts)]),
            new(HandoutPart.Versions, Texts.Get("handout.section.versions"), HandoutShape.Plain, [.. Versions(facts)]),
        ];
        return new Handout
        {
            Language = CultureInfo.CurrentUICulture.Name is { Length: > 0 } code ? code : Texts.Fallback,
            Title = new HandoutParagraph("title", Title(critique, reasons)),
            Safety = Critique.SafetyCaution,
            Sections = [.. sections.OfType<HandoutSection>()],
            Rows = [.. Rows(critique, marks)],
            Marks = marks.All,
            View = marks.View(critique, facts.Columns, facts.Rows),
            Field = critique.Measurements.Field.Value is { Outline.Count: > 2 } field ? field.Outline : [],
            PictureDescription = marks.All.Count == 0 ? Texts.Get("handout.picture.alt.none", critique.ProjectionName) : Texts.Get("handout.picture.alt", critique.ProjectionName, Plain(marks.All.Count)),
            Simulation = facts.Simulation,
            SimulationDescription = facts.Simulation is not { } simulation ? string.Empty
                : simulation.HasRepeat ? Texts.Get("handout.simulation.alt", critique.ProjectionName)
                : Texts.Get("handout.simulation.alt.lies", critique.ProjectionName),
            Table = new HandoutTableWords(
                Texts.Get("handout.table.mark"), Texts.Get("handout.table.question"), Texts.Get("handout.table.state"), Texts.Get("handout.table.figure"), Texts.Get("handout.table.decided"), Texts.Get("handout.table.caption")),
            EditedWord = Texts.Get("handout.edited"),
            Foot = Texts.Get("handout.foot"),
            PageWords = Texts.Get("handout.page", "{0}", "{1}"),
        };
    }

    /// <summary>The paragraph that says that a teacher's words stand in the handout.</summary>
    internal static HandoutParagraph EditedNote() => new("versions.edited", Texts.Get("handout.versions.edited"));

    /// <summary>The lines that made the verdict, the heaviest first; those of a lighter weight than the verdict's are left out.</summary>
    private static IReadOnlyList<ChecklistLine> Reasons(Critique critique)
    {
        Dictionary<string, ChecklistLine> lines = critique.Lines.ToDictionary(line => line.Id, StringComparer.Ordinal);
        ChecklistLine[] all = [.. critique.Verdict.Reasons.Select(reason => lines.GetValueOrDefault(reason.LineId)).OfType<ChecklistLine>()];
        return critique.Verdict.Kind switch
        {
            VerdictKind.Repeat => [.. all.Where(line => line.Weight == Weight.Repeat)],
            VerdictKind.AcceptWithRemark when all.Any(line => line.Weight == Weight.Consult) => [.. all.Where(line => line.Weight == Weight.Consult)],
            VerdictKind.AcceptWithRemark => all,
            _ => [],
        };
    }

    private static string Title(Critique critique, IReadOnlyList<ChecklistLine> reasons) => critique.Verdict.Kind switch
    {
        VerdictKind.Accept => Texts.Get("handout.title.accept", critique.ProjectionName),
        VerdictKind.Undetermined => Texts.Get("handout.title.open", critique.ProjectionName),
        _ when reasons.Count > 1 && critique.Verdict.Kind == VerdictKind.Repeat => Texts.Get("handout.title.several", critique.ProjectionName, Plain(reasons.Count)),
        _ when reasons.Count > 0 => Texts.Get("handout.title.finding", critique.ProjectionName, HandoutWording.Finding(reasons[0], critique)),
        _ => Texts.Get("handout.title.accept", critique.ProjectionName),
    };

    private static string Summary(Critique critique, IReadOnlyList<ChecklistLine> reasons)
    {
        string applying = Plain(critique.Lines.Count(line => line.State != ChecklistState.NotApplicable));
        string met = Plain(critique.Lines.Count(line => line.State == ChecklistState.Met));
        string found = HandoutWording.Joined([.. reasons.Take(MostReasonsInASentence).Select(line => HandoutWording.Finding(line, critique))]);
        if (reasons.Count > MostReasonsInASentence)
        {
            found = Texts.Get("handout.clause.more", found, Plain(reasons.Count - MostReasonsInASentence));
        }

        return critique.Verdict.Kind switch
        {
            VerdictKind.Repeat when reasons.Count > 0 => Texts.Get("handout.summary.repeat", found, met, applying),
            VerdictKind.AcceptWithRemark when reasons is [{ Weight: Weight.Consult }, ..] => Texts.Get("handout.summary.ask", found, met, applying),
            VerdictKind.AcceptWithRemark when reasons.Count > 0 => Texts.Get("handout.summary.remark", found, met, applying),
            VerdictKind.Undetermined => Texts.Get("handout.summary.open", met, applying, Plain(critique.Verdict.Open.Count)),
            _ => Texts.Get("handout.summary.accept", met, applying),
        };
    }

    private static IEnumerable<HandoutParagraph> Picture(HandoutFacts facts, HandoutMarks marks)
    {
        yield return new HandoutParagraph("picture.caption", marks.All.Count == 0
            ? Texts.Get("handout.picture.caption.none")
            : Texts.Get("handout.picture.caption", string.Join("; ", marks.All.Select(mark => Texts.Get("handout.picture.mark", Plain(mark.Number), marks.WordsOf(mark.Number))))));
        if (facts.HasCoveredPlaces)
        {
            yield return new HandoutParagraph("picture.covered", Texts.Get("handout.picture.covered"));
        }

        if (facts.IsInvented)
        {
            yield return new HandoutParagraph("picture.invented", Texts.Get("handout.picture.invented"));
        }
    }

    private static HandoutSection? Simulation(HandoutSimulation? simulation)
    {
        if (simulation is null)
        {
            return null;
        }

        List<HandoutParagraph> paragraphs = [new("simulation.caption", simulation.HasRepeat ? Texts.Get("handout.simulation.caption") : Texts.Get("handout.simulation.caption.lies"))];
        if (simulation.Angles.Count > 0)
        {
            paragraphs.Add(new HandoutParagraph("simulation.angles", Texts.Get("handout.simulation.angles", string.Join("; ", simulation.Angles))));
        }

        if (simulation.HasRepeat)
        {
            paragraphs.Add(new HandoutParagraph("simulation.moves", Texts.Get("handout.simulation.moves", string.Join(" ", simulation.Moves))));
        }

        paragraphs.Add(new HandoutParagraph("simulation.caution", Texts.Get("handout.simulation.caution")));
        return new HandoutSection(HandoutPart.Simulation, Texts.Get("handout.section.simulation"), HandoutShape.Plain, paragraphs);
    }

    private static IEnumerable<HandoutParagraph> VerdictParagraphs(Critique critique)
    {
        IReadOnlyList<ChecklistLine> reasons = Reasons(critique);
        yield return new HandoutParagraph("verdict", (critique.Verdict.Kind, reasons.Count) switch
        {
            (VerdictKind.Repeat, 1) => Texts.Get("handout.verdict.repeat.one"),
            (VerdictKind.Repeat, > 1) => Texts.Get("handout.verdict.repeat.several", Plain(reasons.Count)),
            _ => Texts.Get("handout.verdict", HandoutWording.Verdict(critique.Verdict.Kind), critique.Verdict.Sentence),
        });
        foreach (ChecklistLine line in reasons)
        {
            yield return new HandoutParagraph("reason." + line.Id, HandoutWording.Reason(line, critique));
        }

        if (critique.ReaderVerdict is { } own)
        {
            yield return new HandoutParagraph("verdict.own", Texts.Get("handout.verdict.own", HandoutWording.Verdict(own.Kind), HandoutWording.Sentence(own.Reason))) { IsTyped = true };
        }

        if (critique.Verdict.Kind != VerdictKind.Accept)
        {
            yield return new HandoutParagraph("cost", $"{HandoutWording.Cost(critique.Cost)} {critique.Cost.Gain}");
        }
    }

    private static HandoutSection? Besides(Critique critique)
    {
        IReadOnlyList<ChecklistLine> told = Reasons(critique);
        HandoutParagraph[] left =
        [
            .. critique.Lines.Where(line => line.State == ChecklistState.NotMet && !told.Contains(line)).Select(line => new HandoutParagraph("reason." + line.Id, HandoutWording.Reason(line, critique))),
        ];
        return left.Length == 0 ? null : new HandoutSection(HandoutPart.Besides, Texts.Get("handout.section.besides"), HandoutShape.Bullets, left);
    }

    private static IEnumerable<HandoutParagraph> Changes(Critique critique)
    {
        if (critique.Changes.Count == 0)
        {
            yield return new HandoutParagraph("changes.none", critique.Verdict.Kind == VerdictKind.Undetermined ? Texts.Get("handout.changes.open") : Texts.Get("handout.changes.none"));
            yield break;
        }

        Dictionary<string, ChecklistLine> lines = critique.Lines.ToDictionary(line => line.Id, StringComparer.Ordinal);
        for (int place = 0; place < critique.Changes.Count; place++)
        {
            Change change = critique.Changes[place];
            List<string> sentences = [HandoutWording.Sentence(HandoutWording.Instruction(change, critique))];

            // A reason that stands above is not told again.
            bool isTold = lines.TryGetValue(change.LineId, out ChecklistLine? line) && line.State == ChecklistState.NotMet;
            if (!isTold && change.Why.Length > 0)
            {
                sentences.Add(HandoutWording.Sentence(change.Why));
            }

            if (change.Settled is not null)
            {
                sentences.Add(Texts.Get("handout.change.settled"));
            }

            sentences.AddRange((change.AlsoFor ?? []).Where(lines.ContainsKey).Select(id => Texts.Get("handout.change.also", lines[id].Question)));
            yield return new HandoutParagraph(
                change.LineId == Change.OwnLineId ? string.Create(CultureInfo.InvariantCulture, $"change.own.{place}") : "change." + change.LineId,
                string.Join(' ', sentences))
            {
                IsTyped = change.LineId == Change.OwnLineId || change.Proposed is not null,
            };
        }
    }

    private static IEnumerable<HandoutParagraph> Unknown(Critique critique)
    {
        int told = 0;
        foreach (IGrouping<string, ChecklistLine> cause in critique.Lines.Where(line => line.State == ChecklistState.CannotTell).GroupBy(line => HandoutWording.Settles(line, critique)))
        {
            // Lines that one thing would settle stand together; a remark is said with its own line.
            ChecklistLine[] silent = [.. cause.Where(line => line.Remark is null)];
            if (silent.Length > 0)
            {
                told++;
                yield return new HandoutParagraph("unknown." + silent[0].Id, Texts.Get("handout.unknown.line", HandoutWording.InLanguage(string.Join(' ', silent.Select(line => line.Question))), cause.Key));
            }

            foreach (ChecklistLine line in cause.Where(line => line.Remark is not null))
            {
                told++;
                yield return new HandoutParagraph("unknown." + line.Id, Texts.Get("handout.unknown.line", line.Question, $"{Texts.Get("handout.unknown.remark", HandoutWording.Sentence(line.Remark!))}{(silent.Length > 0 ? string.Empty : " " + cause.Key)}")) { IsTyped = true };
            }
        }

        if (critique.Trace?.Unknown.Any(reason => reason.LineId == "purpose") == true)
        {
            told++;
            yield return new HandoutParagraph("unknown.purpose", Texts.Get("handout.unknown.purpose"));
        }

        if (told == 0)
        {
            yield return new HandoutParagraph("unknown.none", Texts.Get("handout.unknown.none"));
        }
    }

    private static IEnumerable<HandoutParagraph> Questions(Critique critique)
    {
        foreach (ChecklistLine line in critique.Lines.Where(line => line.Overridden is not null).Take(2))
        {
            yield return new HandoutParagraph("question.overruled." + line.Id, Texts.Get("handout.question.overruled", line.Question));
        }

        foreach (ChecklistLine line in critique.Lines.Where(line => line is { State: ChecklistState.NotMet, Miss.Opposite: not null, Section: ChecklistSection.RequiredAnatomy or ChecklistSection.Positioning }).Take(2))
        {
            if (line.Misses.FirstOrDefault(miss => miss.Id == line.Miss!.Opposite) is { } opposite)
            {
                yield return new HandoutParagraph("question.opposite." + line.Id, Texts.Get("handout.question.opposite", opposite.Means));
            }
        }

        foreach (ChecklistLine line in critique.Lines.Where(line => line is { State: ChecklistState.CannotTell, Misses.Count: > 0 } && line.Id != "records.shielding").Take(2))
        {
            yield return new HandoutParagraph("question.how." + line.Id, Texts.Get("handout.question.how", line.Question));
        }

        if (critique.Lines.FirstOrDefault(line => line is { Id: "exposure.deviation-index", Figure: not null, State: not ChecklistState.Met }) is { } deviation)
        {
            yield return new HandoutParagraph("question.deviation", Texts.Get("handout.question.deviation", HandoutWording.InLanguage(deviation.Figure!)));
        }

        if (critique.Measurements.Mottle.Value is { Visible: true } mottle)
        {
            yield return new HandoutParagraph("question.mottle", Texts.Get("handout.question.mottle", HandoutWording.InLanguage(FigureText.Write(mottle.RelativeNoisePercent, mottle.RelativeNoisePercentUncertainty, " %", 1))));
        }

        if (critique.Verdict.Kind is VerdictKind.Repeat or VerdictKind.AcceptWithRemark)
        {
            yield return new HandoutParagraph("question.dose", Texts.Get("handout.question.dose"));
        }

        yield return new HandoutParagraph("question.first", Texts.Get("handout.question.first"));
    }

    private static IEnumerable<HandoutRow> Rows(Critique critique, HandoutMarks marks)
    {
        ChecklistSection? section = null;
        foreach (ChecklistLine line in critique.Lines)
        {
            string[] notes =
            [
                .. line.Remark is { } remark ? [Texts.Get("handout.table.remark", remark)] : Array.Empty<string>(),
                .. line.Overridden is { } earlier ? [Texts.Get("handout.table.overruled", HandoutWording.State(earlier.State))] : Array.Empty<string>(),
            ];
            yield return new HandoutRow
            {
                LineId = line.Id,
                Section = section == line.Section ? null : HandoutWording.Section(line.Section),
                Mark = marks.NumberOf(line.Id),
                Question = HandoutWording.InLanguage(line.Question),
                State = line.State,
                StateWord = HandoutWording.State(line.State),
                Figure = line.Figure is { } figure ? HandoutWording.InLanguage(HandoutWording.Capital(figure)) : string.Empty,
                Decided = line.State == ChecklistState.NotApplicable || line.DecidedBy == DecidedBy.Nobody ? string.Empty : HandoutWording.Decided(line.DecidedBy),
                Note = notes.Length == 0 ? null : string.Join(' ', notes),
            };
            section = line.Section;
        }
    }

    private static IEnumerable<HandoutParagraph> Definitions(Critique critique)
    {
        bool Has(string id) => critique.Lines.Any(line => line.Id == id && line.Figure is not null);
        HandoutParagraph Of(string id, string term, string text) => new("define." + id, text) { Term = term };
        MeasurementDocument document = critique.Measurements;
        yield return Of("uncertainty", Texts.Get("handout.define.uncertainty"), Texts.Get("handout.define.uncertainty.text"));
        if (Has("exposure.deviation-index"))
        {
            yield return Of("deviation", Texts.Get("handout.define.deviation"), Texts.Get("handout.define.deviation.text"));
        }

        if (document.Exposure.IsMeasured || Has("records.exposure-index"))
        {
            yield return Of("index", Texts.Get("handout.define.index"), Texts.Get("handout.define.index.text"));
        }

        if (Has("exposure.mottle"))
        {
            yield return Of("noise", Texts.Get("handout.define.noise"), Texts.Get("handout.define.noise.text"));
        }

        if (Has("exposure.saturation"))
        {
            yield return Of("saturation", Texts.Get("handout.define.saturation"), Texts.Get("handout.define.saturation.text"));
        }

        if (Has("exposure.skin-line"))
        {
            yield return Of("skin-line", Texts.Get("handout.define.skin-line"), Texts.Get("handout.define.skin-line.text"));
        }

        if (Has("brightness.tissues"))
        {
            yield return Of("contrast", Texts.Get("handout.define.contrast"), Texts.Get("handout.define.contrast.text"));
        }

        if (document.Sharpness.Value?.EdgeBlurMm is not null)
        {
            yield return Of("blur", Texts.Get("handout.define.blur"), Texts.Get("handout.define.blur.text"));
        }

        if (Has("collimation.size"))
        {
            yield return Of("empty", Texts.Get("handout.define.empty"), Texts.Get("handout.define.empty.text"));
        }

        if (Has("records.dose"))
        {
            yield return Of("product", Texts.Get("handout.define.product"), Texts.Get("handout.define.product.text"));
        }
    }

    private static IEnumerable<HandoutParagraph> Cautions(HandoutFacts facts)
    {
        yield return new HandoutParagraph("caution.picture", Texts.Get("handout.caution.picture"));
        if (facts.Critique.Lines.Any(line => line is { Id: "exposure.deviation-index", Figure: not null }))
        {
            yield return new HandoutParagraph("caution.index", Texts.Get("handout.caution.index"));
        }

        if (!facts.IsInvented)
        {
            yield return new HandoutParagraph("caution.identity", Texts.Get("handout.caution.identity"));
        }
    }

    private static IEnumerable<HandoutParagraph> Versions(HandoutFacts facts)
    {
        yield return new HandoutParagraph("versions.made", Texts.Get("handout.versions.made", facts.Version, facts.Critique.ProjectionId, HandoutWording.Scheme(facts.Critique.DeviationScheme)));
        yield return new HandoutParagraph("versions.sources", Texts.Get("handout.versions.sources"));
    }

    private static string Plain(int number) => number.ToString(CultureInfo.InvariantCulture);
}
