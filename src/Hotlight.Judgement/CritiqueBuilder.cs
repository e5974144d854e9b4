using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Positioning;

namespace Hotlight.Judgement;

/// <summary>Judges a measured radiograph against the checklist of its projection.</summary>
/// <remarks>The rules, their order and what each rests on: docs/methods/judgement.md.</remarks>
public static class CritiqueBuilder
{
    /// <summary>Builds the critique.</summary>
    /// <param name="exposure">What the header says of the exposure; empty for a file without a header.</param>
    /// <param name="measurements">What was measured.</param>
    /// <param name="projection">The projection it is judged as.</param>
    /// <param name="answers">The reader's answers; <see cref="Answers.None"/> before any.</param>
    /// <param name="rules">Limits; null: <see cref="JudgementRules.Default"/>.</param>
    /// <param name="context">What is known of the examination beside the image; null: what the answers say of it.</param>
    /// <param name="positions">What marked landmarks tell of the projection's relations; null where none were marked.</param>
    /// <exception cref="ArgumentException">The answers are for another projection, answer a line or name a way of missing it that does not exist, or hold a verdict without a reason or an edit of the plan that says nothing; the context names a purpose or a line that does not exist.</exception>
    public static Critique Build(
        ExposureRecord exposure,
        MeasurementDocument measurements,
        Projection projection,
        Answers answers,
        JudgementRules? rules = null,
        ExaminationContext? context = null,
        IReadOnlyList<RelationFinding>? positions = null)
    {
        ArgumentNullException.ThrowIfNull(exposure);
        ArgumentNullException.ThrowIfNull(measurements);
        ArgumentNullException.ThrowIfNull(projection);
        ArgumentNullException.ThrowIfNull(answers);
        if (answers.ProjectionId != projection.Id)
        {
            throw new ArgumentException($"The answers are for '{answers.ProjectionId}', but '{projection.Id}' is judged.", nameof(answers));
        }

        ExaminationContext examination = context ?? answers.Examination ?? ExaminationContext.None;
        if (examination.Fault(projection) is { } fault)
        {
            throw new ArgumentException(fault, nameof(context));
        }

        if (answers.Verdict is { } own && (string.IsNullOrWhiteSpace(own.Reason) || own.Kind == VerdictKind.Undetermined))
        {
            throw new ArgumentException("The reader's verdict is accept, accept-with-remark or repeat, and is kept only with a reason.", nameof(answers));
        }

        JudgementRules limits = rules ?? JudgementRules.Default;
        IReadOnlyList<ChecklistLine> decided = new ChecklistBuilder(exposure, measurements, projection, limits, positions).Build();
        foreach (string id in answers.Lines.Keys)
        {
            if (decided.All(line => line.Id != id))
            {
                throw new ArgumentException($"'{id}' is not a line of the checklist for {projection.Id}.", nameof(answers));
            }
        }

        ChecklistLine[] answered = [.. decided.Select(line => answers.Lines.TryGetValue(line.Id, out Answer? answer) ? ReaderAnswer.Apply(line, answer) : line)];
        var weigher = new VerdictWeigher(measurements, projection, limits);
        WeighedVerdict weighed = weigher.Run(answered, examination);
        IReadOnlyList<ChecklistLine> lines = weighed.Lines;
        Verdict verdict = VerdictMaker.Decide(lines);
        string[] toSee = [.. weighed.Steps.Where(step => step.Why == VerdictWeigher.FiguresAlone).Select(step => step.LineId)];
        if (toSee.Length > 0 && verdict.Kind != VerdictKind.Repeat)
        {
            verdict = verdict with { Sentence = $"{verdict.Sentence} Look first at {Wording.Join(toSee)}: if you see what the marks say, it weighs a repeat." };
        }

        (IReadOnlyList<Change> changes, IReadOnlyList<Change> struck) = EditedPlan.Of(new ChangePlanner(exposure, measurements, projection, limits, lines, examination, positions ?? []).Plan(), answers.Plan);
        return new Critique
        {
            Measurements = measurements,
            ProjectionId = projection.Id,
            ProjectionName = projection.Name,
            Reader = answers.Reader,
            DeviationScheme = limits.DeviationBands.Scheme,
            Lines = lines,
            Verdict = verdict,
            ReaderVerdict = answers.Verdict is { } given ? new ReaderVerdict(given.Kind, given.Reason.Trim(), given.Kind == verdict.Kind) : null,
            Context = context,
            Trace = new TraceMaker(weigher, projection, examination, answered, weighed).Make(),
            Changes = changes,
            Struck = struck.Count == 0 ? null : struck,
            Cost = RepeatCostTeller.Tell(exposure, measurements, lines, verdict, changes, examination),
            Cautions = Cautions(exposure, lines),
        };
    }

    /// <summary>The checklist of a projection before any image: every line, none decided.</summary>
    /// <param name="projection">The projection.</param>
    public static IReadOnlyList<ChecklistLine> BlankChecklist(Projection projection)
    {
        ArgumentNullException.ThrowIfNull(projection);
        const string NoImage = "No image has been measured.";
        var document = new MeasurementDocument
        {
            File = string.Empty,
            Image = Figure<ImageFacts>.CannotTell(NoImage),
            Field = Figure<FieldMeasurement>.CannotTell(NoImage),
            Anatomy = Figure<AnatomyMeasurement>.CannotTell(NoImage),
            Collimation = Figure<CollimationMeasurement>.CannotTell(NoImage),
            Exposure = Figure<ExposureMeasurement>.CannotTell(NoImage),
            Mottle = Figure<MottleMeasurement>.CannotTell(NoImage),
            Clipping = Figure<ClippingMeasurement>.CannotTell(NoImage),
            Sharpness = Figure<SharpnessMeasurement>.CannotTell(NoImage),
            Markers = Figure<MarkersMeasurement>.CannotTell(NoImage),
            Artifacts = Figure<ArtifactsMeasurement>.CannotTell(NoImage),
            Processing = Figure<ProcessingMeasurement>.CannotTell(NoImage),
            Display = Figure<DisplayMeasurement>.CannotTell(NoImage),
            TimingMs = new TimingMs(),
        };
        return new ChecklistBuilder(new ExposureRecord(), document, projection, JudgementRules.Default).Build();
    }

    /// <summary>Whether an answer is taken only with a remark: it decides against measurement or header, or takes a required line out of the checklist.</summary>
    /// <param name="line">The line, as it stands without the reader's answer or with it.</param>
    /// <param name="state">The state the reader would choose.</param>
    public static bool NeedsRemark(ChecklistLine line, ChecklistState state)
    {
        ArgumentNullException.ThrowIfNull(line);
        return ReaderAnswer.NeedsRemark(line, state);
    }

    private static List<string> Cautions(ExposureRecord exposure, IReadOnlyList<ChecklistLine> lines)
    {
        var cautions = new List<string> { Critique.SafetyCaution };
        if (lines.Any(line => line.Id == "exposure.deviation-index" && line.Figure is not null))
        {
            cautions.Add("Lead in the field or a wide field can mislead the exposure index; it never decides a repeat alone.");
        }

        if (exposure.CarriesPatientIdentity)
        {
            cautions.Add("The file carries a patient's identity: keep it where the patient's records are kept, and take the identity out before it is used for teaching.");
        }

        return cautions;
    }
}
