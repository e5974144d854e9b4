using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement;

/// <summary>Weighs answered lines by the examination's context and decides: the part of a critique that the trace runs again with other lines.</summary>
internal sealed class VerdictWeigher(MeasurementDocument document, Projection projection, JudgementRules rules)
{
    /// <summary>Why a figure's line weighs no repeat.</summary>
    public static string FiguresAlone => Texts.Get("verdict.step.figures-alone");

    /// <summary>Weighs and decides.</summary>
    /// <param name="answered">The lines with the reader's answers on them, each with the weight of its miss.</param>
    /// <param name="context">What is known of the examination.</param>
    public WeighedVerdict Run(IReadOnlyList<ChecklistLine> answered, ExaminationContext context)
    {
        var steps = new List<WeightStep>();
        ChecklistLine[] lines = [.. answered.Select(line => Weighed(line, context, steps))];
        VerdictMaker.WeighExposure(lines, document, rules);
        return new WeighedVerdict(lines, steps, VerdictMaker.Sort(lines));
    }

    private static Weight StepLess(Weight weight) => weight == Weight.Note ? Weight.Note : weight - 1;

    private ChecklistLine Weighed(ChecklistLine line, ExaminationContext context, List<WeightStep> steps)
    {
        ChecklistLine weighed = line;
        void Step(Weight to, string why)
        {
            if (to != weighed.Weight)
            {
                if (line.State == ChecklistState.NotMet)
                {
                    steps.Add(new WeightStep(line.Id, weighed.Weight, to, why));
                }

                weighed = weighed with { Weight = to };
            }
        }

        // A purpose speaks of the projection's own lines only: blur, mottle, artifacts and the side marker concern them all.
        if (context.PurposeId is { } id && NameInCatalogue(line) is { } name)
        {
            ExaminationPurpose purpose = projection.Purposes.Single(each => each.Id == id);
            if (!purpose.Needs.Contains(name))
            {
                weighed = weighed with { Required = weighed.Required && line.Misses.Any(miss => StepLess(miss.Weight) == Weight.Repeat) };
                Step(StepLess(weighed.Weight), Texts.Get("verdict.step.purpose", purpose.Name));
            }
        }

        if (weighed.Weight != Weight.Repeat)
        {
            return weighed;
        }

        if (context.RulesOutMoving && TableOrder.AsksToMove(line))
        {
            Step(Weight.Consult, Texts.Get("verdict.step.cannot-move"));
        }
        else if (context.ShownElsewhere.Contains(line.Id))
        {
            Step(Weight.Consult, Texts.Get("verdict.step.shown-elsewhere"));
        }
        else if (context.RepeatsAlready >= rules.RepeatsBeforeAsking)
        {
            Step(Weight.Consult, Texts.Get("verdict.step.repeated", Wording.Times(context.RepeatsAlready.Value)));
        }
        else if (line is { State: ChecklistState.NotMet, DecidedBy: DecidedBy.Measurement or DecidedBy.Header })
        {
            Step(Weight.Consult, FiguresAlone);
        }

        return weighed;
    }

    // "anatomy.carpus" and "position.palm-flat" are the catalogue's; "anatomy.skin" is every projection's that does not name it.
    private string? NameInCatalogue(ChecklistLine line)
    {
        string name = line.Id[(line.Id.IndexOf('.', StringComparison.Ordinal) + 1)..];
        return line.Section switch
        {
            ChecklistSection.RequiredAnatomy when projection.RequiredAnatomy.Any(item => item.Id == name) => name,
            ChecklistSection.Positioning => name,
            _ => null,
        };
    }
}

/// <summary>Weighed lines, the steps that made them lighter, and how they sort.</summary>
internal sealed record WeighedVerdict(IReadOnlyList<ChecklistLine> Lines, IReadOnlyList<WeightStep> Steps, SortedLines Sorted)
{
    /// <summary>Number of the rule that decides.</summary>
    public int Rule => Sorted.Rule;
}
