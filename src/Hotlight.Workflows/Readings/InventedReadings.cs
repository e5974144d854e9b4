using Hotlight.Judgement;
using Hotlight.Simulation;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Readings;

/// <summary>Readings of the demo cases by readers who do not exist, so that agreement and progress have something to show. Made by a fixed recipe; marked as invented wherever they stand.</summary>
public static class InventedReadings
{
    private static readonly TimeSpan Apart = TimeSpan.FromDays(7);
    private static readonly ChecklistSection[] Looked = [ChecklistSection.RequiredAnatomy, ChecklistSection.Positioning, ChecklistSection.BrightnessAndContrast, ChecklistSection.Sharpness, ChecklistSection.Artifacts, ChecklistSection.SideMarker];

    // What the scene of a demo case was made with that a person must see: line and, where the fault is plain, the way it is missed.
    private static readonly Dictionary<string, (string Line, string? Miss)[]> Faults = new(StringComparer.Ordinal)
    {
        ["wrist-pa-masked"] = [("marker.side", "drawn-or-outside")],
        ["wrist-pa-moved"] = [("sharpness.edges", "moved")],
        ["wrist-pa-ring"] = [("artifacts.clear", "object-over-anatomy")],
        ["wrist-lateral-rotated"] = [("position.radius-over-ulna", "apart"), ("position.pisiform", null)],
        ["elbow-lateral-low"] = [("position.shoulder-level", "head-anterior")],
        ["elbow-lateral-clipped"] = [("anatomy.olecranon", "cut")],
        ["knee-ap-mirrored"] = [("position.patella-central", null)],
        ["knee-lateral-rotated"] = [("position.condyles-front-back", null)],
        ["chest-pa-clipped"] = [("anatomy.costophrenic-right", "cut"), ("position.no-rotation", null)],
        ["chest-pa-shallow"] = [("position.inspiration", "few-ribs"), ("artifacts.clear", "object-over-anatomy")],
        ["ankle-mortise-short"] = [("position.lateral-space", "closed")],
    };

    private static readonly Habit[] Habits =
    [
        new(new CaseReader(Known(1), "Gull", PersonRole.Supervisor, true), Missed: 0, MissedLater: 0, Imagined: 0, ImaginedLater: 0),
        new(new CaseReader(Known(2), "Whimbrel", PersonRole.Reader, true), Missed: 0.10, MissedLater: 0.10, Imagined: 0.03, ImaginedLater: 0.03),
        new(new CaseReader(Known(3), "Knot", PersonRole.Learner, true), Missed: 0.75, MissedLater: 0.10, Imagined: 0.25, ImaginedLater: 0.03),
        new(new CaseReader(Known(4), "Sanderling", PersonRole.Learner, true), Missed: 0.45, MissedLater: 0.45, Imagined: 0.16, ImaginedLater: 0.16),
    ];

    /// <summary>The invented readers: a supervisor, a reader and two learners.</summary>
    public static IReadOnlyList<CaseReader> Readers { get; } = [.. Habits.Select(habit => habit.Reader)];

    /// <summary>An example of a school's list for the invented learners, shown where the school has none of its own.</summary>
    public static IReadOnlyList<CompetencyRequirement> Requirements { get; } =
    [
        new CompetencyRequirement { Id = Known(11), Title = "Wrists", Region = "wrist", Count = 5, LeastAgreementPercent = 80, VerdictMustAgree = false },
        new CompetencyRequirement { Id = Known(12), Title = "Knees", Region = "knee", Count = 3, LeastAgreementPercent = 80 },
        new CompetencyRequirement { Id = Known(14), Title = "Practice", Count = 20, LeastAgreementPercent = 75, VerdictMustAgree = false, Counts = RequirementSource.Practice },
        new CompetencyRequirement { Id = Known(13), Title = "Any projection, to a high standard", Count = 12, LeastAgreementPercent = 90 },
    ];

    /// <summary>Makes the readings that are not there yet; called again after a stop it goes on.</summary>
    /// <param name="readings">Begins and finishes them.</param>
    /// <param name="store">Keeps their answers.</param>
    /// <param name="cases">The cases.</param>
    /// <param name="demo">Identifier of each demo case that is kept, by the case.</param>
    /// <param name="now">Now; the readings lie in the months before.</param>
    /// <param name="cancellation">Stops between two readings.</param>
    public static async Task MakeAsync(ReadingWorkflow readings, IReadingStore store, CaseWorkflow cases, IReadOnlyList<(DemoCase Demo, Guid CaseId)> demo, DateTimeOffset now, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(readings);
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(demo);
        for (int place = 0; place < demo.Count; place++)
        {
            for (int reader = 0; reader < Habits.Length; reader++)
            {
                CaseReader who = Habits[reader].Reader;
                if ((await store.ListAsync(new ReadingQuery { CaseIds = [demo[place].CaseId], ReaderIds = [who.Id], IsFinished = true }, cancellation)).Count > 0)
                {
                    continue;
                }

                DateTimeOffset at = now - (Apart * (demo.Count - place)) + TimeSpan.FromHours(reader);
                OwnReading begun = await readings.BeginAsync(demo[place].CaseId, who, at, cancellation);
                OpenCase open = await cases.OpenAsync(begun.Id, cancellation);
                Answers answers = Answer(open, demo[place].Demo.Id, Habits[reader], (double)place / Math.Max(1, demo.Count - 1), new Random((100 * place) + reader));
                await store.KeepAnswersAsync(begun.Id, open.Record.Version, new AnswerStep { AnswersJson = AnswersJson.Write(answers), Label = "an invented reader's answers" }, cancellation);
                await readings.FinishAsync(begun.Id, who.Id, at + TimeSpan.FromMinutes(6), cancellation);
            }
        }

        await TalkAsync(store, demo, now, cancellation);
        await SignAsync(store, now, cancellation);
    }

    private static Answers Answer(OpenCase open, string demoId, Habit habit, double course, Random random)
    {
        (string Line, string? Miss)[] faults = Faults.GetValueOrDefault(demoId) ?? [];
        double missed = habit.Missed + (course * (habit.MissedLater - habit.Missed));
        double imagined = habit.Imagined + (course * (habit.ImaginedLater - habit.Imagined));
        Answers answers = open.Answers!;
        foreach (ChecklistLine line in open.Critique!.Lines.Where(line => line.DecidedBy == DecidedBy.Nobody && Looked.Contains(line.Section)))
        {
            double luck = random.NextDouble();
            Answer given = faults.FirstOrDefault(fault => fault.Line == line.Id) is { Line: not null } fault
                ? luck < missed ? new Answer(luck < missed / 4 ? ChecklistState.CannotTell : ChecklistState.Met) : new Answer(ChecklistState.NotMet, line.Misses.Any(miss => miss.Id == fault.Miss) ? fault.Miss : null)
                : luck < imagined ? new Answer(luck < imagined / 4 ? ChecklistState.CannotTell : ChecklistState.NotMet) : new Answer(ChecklistState.Met);
            answers = answers.With(line.Id, given);
        }

        return answers;
    }

    private static async Task TalkAsync(IReadingStore store, IReadOnlyList<(DemoCase Demo, Guid CaseId)> demo, DateTimeOffset now, CancellationToken cancellation)
    {
        (string Case, string? Line, int Reader, string Text)[] said =
        [
            ("elbow-lateral-low", "position.shoulder-level", 2, "I took the radial head for normal here. What should I have looked at first?"),
            ("elbow-lateral-low", "position.shoulder-level", 0, "At the epicondyles: they lie one in front of the other, so the shoulder end was too low. The head in front follows from that."),
            ("chest-pa-shallow", null, 0, "Before a repeat is thought of: could this patient have breathed in deeper at all?"),
        ];
        foreach ((string demoId, string? line, int reader, string text) in said)
        {
            if (demo.FirstOrDefault(each => each.Demo.Id == demoId) is { Demo: not null } of && (await store.RemarksAsync(of.CaseId, cancellation)).All(each => each.Text != text))
            {
                await store.AddRemarkAsync(new CaseRemark { Id = Guid.NewGuid(), CaseId = of.CaseId, LineId = line, Author = Habits[reader].Reader, Text = text, Written = now - TimeSpan.FromDays(3 - reader) }, cancellation);
            }
        }
    }

    private static async Task SignAsync(IReadingStore store, DateTimeOffset now, CancellationToken cancellation)
    {
        if ((await store.SignOffsAsync(Habits[2].Reader.Id, cancellation)).Count > 0)
        {
            return;
        }

        var early = new SignOff
        {
            Id = Guid.NewGuid(),
            Learner = Habits[2].Reader,
            Supervisor = Habits[0].Reader,
            RequirementId = Requirements[1].Id,
            Requirement = "Knees: 3 cases of any projection of the region knee (an example)",
            Stood = "entered by the demo: no figures stood",
            Signed = now - TimeSpan.FromDays(40),
        };
        await store.AddSignOffAsync(early, cancellation);
        await store.WithdrawAsync(early.Id, Habits[0].Reader.Pseudonym, "Signed too early: an example of a sign-off that was taken back.", cancellation);
    }

    private static Guid Known(int number) => new(0x4e0f1a57, 0x11, 0x40, [0x80, 0, 0, 0, 0, 0, 0, (byte)number]);

    /// <summary>How an invented reader reads, from the first case to the last.</summary>
    /// <param name="Reader">Who.</param>
    /// <param name="Missed">Share of faults not seen at the beginning, 0 to 1.</param>
    /// <param name="MissedLater">The same at the end.</param>
    /// <param name="Imagined">Share of lines without a fault that are not answered as met, at the beginning.</param>
    /// <param name="ImaginedLater">The same at the end.</param>
    private sealed record Habit(CaseReader Reader, double Missed, double MissedLater, double Imagined, double ImaginedLater);
}
