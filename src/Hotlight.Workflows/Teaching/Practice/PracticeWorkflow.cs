using System.Globalization;
using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Judgement;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Teaching.Practice;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Teaching.Practice;

/// <summary>Sessions of practice: begun, answered, scored, remembered.</summary>
public sealed class PracticeWorkflow
{
    /// <summary>Why a case of the clinic is not practised on now.</summary>
    public const string KeptBack = "This case is read blind now, or held back by a round: it is practised on once its answers may be shown.";

    private readonly ILessonStore lessons;
    private readonly CaseWorkflow cases;
    private readonly ProgressWorkflow progress;
    private readonly PracticeShelf shelf;
    private readonly ClinicWorkflow clinic;
    private readonly TimeProvider clock;

    /// <summary>Creates the workflow.</summary>
    /// <param name="lessons">Where sessions are kept.</param>
    /// <param name="cases">The cases and the catalogue.</param>
    /// <param name="progress">Knows the references of cases.</param>
    /// <param name="shelf">Makes exposures.</param>
    /// <param name="clinic">The bands of the deviation index.</param>
    /// <param name="clock">Tells the time.</param>
    public PracticeWorkflow(ILessonStore lessons, CaseWorkflow cases, ProgressWorkflow progress, PracticeShelf shelf, ClinicWorkflow clinic, TimeProvider clock)
    {
        ArgumentNullException.ThrowIfNull(lessons);
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(progress);
        ArgumentNullException.ThrowIfNull(shelf);
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(clock);
        this.lessons = lessons;
        this.cases = cases;
        this.progress = progress;
        this.shelf = shelf;
        this.clinic = clinic;
        this.clock = clock;
    }

    /// <summary>The projection's checklist before any image.</summary>
    /// <param name="projectionId">Identifier of the projection.</param>
    public IReadOnlyList<ChecklistLine> Checklist(string projectionId) => CritiqueBuilder.BlankChecklist(cases.Projections.Single(each => each.Id == projectionId));

    /// <summary>What an exercise of the lab is called: projection and side.</summary>
    /// <param name="view">The view.</param>
    /// <param name="scene">The scene.</param>
    public string NameOf(PracticeView view, SceneDocument scene)
    {
        ArgumentNullException.ThrowIfNull(view);
        ArgumentNullException.ThrowIfNull(scene);
        string name = cases.NameOf(view.Projection)!;
        return view.LabPart.IsPaired ? $"{name}, {(scene.Part!.Side == "L" ? "left" : "right")}" : name;
    }

    /// <summary>The lines that an exercise asks: of a view of the lab always the same, so that what is asked tells nothing of what is planted; of a case those that its reference decides.</summary>
    /// <param name="exercise">The exercise.</param>
    public IReadOnlyList<ChecklistLine> Lines(PracticeExercise exercise)
    {
        ArgumentNullException.ThrowIfNull(exercise);
        IReadOnlyList<ChecklistLine> all = Checklist(exercise.ProjectionId);
        if (exercise.SceneJson is null || PracticeView.Find(exercise.ProjectionId) is not { } view)
        {
            return [.. all.Where(line => exercise.Truth.Any(known => known.LineId == line.Id))];
        }

        return Lines(view);
    }

    /// <summary>The lines that are asked of every image of a view of the lab.</summary>
    /// <param name="view">The view.</param>
    public IReadOnlyList<ChecklistLine> Lines(PracticeView view)
    {
        ArgumentNullException.ThrowIfNull(view);
        HashSet<string> asked =
        [
            .. view.Anatomy.Select(each => each.Line), .. view.Positions.Select(each => each.Line), "exposure.deviation-index", "exposure.mottle", "exposure.saturation",
            "sharpness.edges", "artifacts.clear", "collimation.edges", "collimation.size", "marker.side",
        ];
        return [.. Checklist(view.Projection).Where(line => asked.Contains(line.Id))];
    }

    /// <summary>Begins a session.</summary>
    /// <param name="order">What it is made of.</param>
    /// <param name="owner">The learner; null: nobody in particular.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonRefusedException">The order cannot be met.</exception>
    public async Task<KeptPractice> BeginAsync(PracticeOrder order, CaseReader? owner, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(order);
        if (order.Fault is { } fault)
        {
            throw new LessonRefusedException(fault);
        }

        PracticeOrder kept = order;
        if (order.Source == PracticeSource.Cases)
        {
            IReadOnlySet<Guid> keptBack = await progress.KeptBackAsync(owner?.Id, cancellation);
            Guid[] open = [.. order.CaseIds.Where(id => !keptBack.Contains(id))];
            kept = open.Length == 0 ? throw new LessonRefusedException(KeptBack) : order with { CaseIds = open, Count = Math.Min(open.Length, PracticeOrder.MostExercises) };
        }

        var session = new PracticeSession { Order = kept };
        if (kept.Source == PracticeSource.Expose)
        {
            string id = kept.ProjectionIds.Count > 0 ? kept.ProjectionIds[0] : PracticeView.All[0].Projection;
            session = session with { Task = ExposeTask.Make(PracticeView.Find(id)!, kept.Seed) };
        }

        string title = kept.Source switch
        {
            PracticeSource.Expose => $"Expose it yourself: {cases.NameOf(session.Task!.ProjectionId)}",
            PracticeSource.Cases => $"{kept.Count} cases of the clinic",
            _ => $"{kept.Count} exercises of the phantom lab{(kept.ProjectionIds.Count == 1 ? $", {cases.NameOf(kept.ProjectionIds[0])}" : "")}",
        };
        DateTimeOffset now = clock.GetUtcNow();
        Lesson lesson = await lessons.AddAsync(
            new Lesson
            {
                Id = Guid.CreateVersion7(now),
                Kind = LessonKind.Practice,
                OwnerId = owner?.Id,
                OwnerPseudonym = owner?.Pseudonym ?? "",
                IsInvented = owner?.IsInvented ?? false,
                Title = title,
                BodyJson = session.Write(),
                Begun = now,
                Changed = now,
            },
            cancellation);
        return new KeptPractice(lesson, session);
    }

    /// <summary>A session; null where it is not kept, or a later version kept it.</summary>
    /// <param name="id">The session.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<KeptPractice?> FindAsync(Guid id, CancellationToken cancellation = default)
        => await lessons.FindAsync(id, cancellation) is { Kind: LessonKind.Practice } lesson ? Read(lesson) : null;

    /// <summary>Sessions of a learner, the last changed first.</summary>
    /// <param name="ownerId">The learner; null: those of nobody in particular.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<KeptPractice>> ListAsync(Guid? ownerId, CancellationToken cancellation = default)
        => [.. (await lessons.ListAsync(new LessonQuery { Kind = LessonKind.Practice, OwnerId = ownerId }, cancellation)).Where(each => each.OwnerId == ownerId).Select(Read).OfType<KeptPractice>()];

    /// <summary>Learners who have sessions, those who do not exist last.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<CaseReader>> LearnersAsync(CancellationToken cancellation = default)
        =>
        [
            .. (await lessons.ListAsync(new LessonQuery { Kind = LessonKind.Practice }, cancellation)).Where(each => each.OwnerId is not null)
                .GroupBy(each => each.OwnerId!.Value).Select(group => new CaseReader(group.Key, group.First().OwnerPseudonym, PersonRole.Learner, group.First().IsInvented))
                .OrderBy(each => each.IsInvented).ThenBy(each => each.Pseudonym, StringComparer.OrdinalIgnoreCase),
        ];

    /// <summary>Finished exercises of a learner with their scores, the first first.</summary>
    /// <param name="ownerId">The learner; null: nobody in particular.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<ScoredExercise>> HistoryAsync(Guid? ownerId, CancellationToken cancellation = default)
        => [.. (await ListAsync(ownerId, cancellation)).SelectMany(each => Scored(each.Session)).OrderBy(each => each.Finished)];

    /// <summary>Finished exercises of a session with their scores.</summary>
    /// <param name="session">The session.</param>
    public IReadOnlyList<ScoredExercise> Scored(PracticeSession session)
    {
        ArgumentNullException.ThrowIfNull(session);
        IEnumerable<ScoredExercise> exposed = session.Task is { } task && cases.Projections.Any(one => one.Id == task.ProjectionId)
            ? task.Attempts.Where(each => each.Judged is not null).Select(each => new ScoredExercise(null, task.ProjectionId, each.Judged!.Value, each.Score(Checklist(task.ProjectionId))))
            : [];
        return
        [
            .. session.Exercises.Where(each => each.Finished is not null && cases.Projections.Any(one => one.Id == each.ProjectionId)).Select(each => new ScoredExercise(each.Kind, each.ProjectionId, each.Finished!.Value, Score(each))),
            .. exposed,
        ];
    }

    /// <summary>An exercise's score as its answers stand.</summary>
    /// <param name="exercise">The exercise.</param>
    public ExerciseScore Score(PracticeExercise exercise)
    {
        ArgumentNullException.ThrowIfNull(exercise);
        return ExerciseScore.Of(exercise.Truth, exercise.Verdicts, exercise.Answers, Checklist(exercise.ProjectionId));
    }

    /// <summary>Sees to it that there is an exercise to answer and one made ahead; nothing happens when all are finished.</summary>
    /// <param name="kept">The session.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    public async Task<KeptPractice> AdvanceAsync(KeptPractice kept, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(kept);
        PracticeSession session = kept.Session;
        if (session.Order.Source == PracticeSource.Expose || kept.Lesson.Ended is not null)
        {
            return kept;
        }

        if (session.Order.Source == PracticeSource.Cases)
        {
            session = WithoutKeptBack(session, await progress.KeptBackAsync(kept.Lesson.OwnerId, cancellation));
            if (session.Done >= session.Order.Count)
            {
                return await KeepAsync(kept, session, cancellation, clock.GetUtcNow());
            }
        }

        int wanted = Math.Min(session.Order.Count, session.Done + 2);
        while (session.Exercises.Count < wanted)
        {
            session = session with { Exercises = [.. session.Exercises, await NextAsync(session, kept.Lesson.OwnerId, session.Exercises.Count + 1, cancellation)] };
        }

        KeptPractice now = ReferenceEquals(session, kept.Session) ? kept : await KeepAsync(kept, session, cancellation);
        foreach (PracticeExercise ahead in now.Session.Exercises.Where(each => each.Finished is null))
        {
            if (ahead.SceneJson is { } scene)
            {
                shelf.Prepare(scene);
            }
        }

        return now;
    }

    /// <summary>Whether an exercise of a case may not be shown now.</summary>
    /// <param name="exercise">The exercise.</param>
    /// <param name="learnerId">Who practises; null: nobody in particular.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<bool> IsKeptBackAsync(PracticeExercise exercise, Guid? learnerId, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(exercise);
        return exercise.CaseId is { } id && (await progress.KeptBackAsync(learnerId, cancellation)).Contains(id);
    }

    /// <summary>The exposure of an exercise of the lab, and the exercise with its truth kept.</summary>
    /// <param name="kept">The session.</param>
    /// <param name="number">The exercise.</param>
    /// <param name="told">Told the share that is done, 0 to 1.</param>
    /// <param name="cancellation">Stops the waiting.</param>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    public async Task<(KeptPractice Kept, PracticeExposure Exposure)> ExposeAsync(KeptPractice kept, int number, Action<double>? told = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(kept);
        PracticeExercise exercise = kept.Session.Exercises.Single(each => each.Number == number);
        PracticeExposure exposure = await shelf.TakeAsync(exercise.SceneJson ?? throw new ArgumentException("A case of the clinic is not exposed.", nameof(number)), told, cancellation);
        if (exercise.Truth.Count > 0)
        {
            return (kept, exposure);
        }

        PracticeView view = PracticeView.Find(exercise.ProjectionId)!;
        IReadOnlyList<TrueLine> truth = SceneReferee.Tell(view, SceneJson.Read(exercise.SceneJson, "exercise"), exposure.Truth.DeviationIndex, exposure.Truth.SaturatedPercentOfAnatomy, clinic.Current.Rules.DeviationBands);
        PracticeExercise known = exercise with { Truth = truth, Verdicts = TrueVerdict.Of(truth, Checklist(exercise.ProjectionId)) };
        return (await KeepAsync(kept, kept.Session.With(known), cancellation), exposure);
    }

    /// <summary>Waits until an exposure is made.</summary>
    /// <param name="sceneJson">The scene as JSON.</param>
    /// <param name="told">Told the share that is done, 0 to 1.</param>
    /// <param name="cancellation">Stops the waiting.</param>
    public Task WaitAsync(string sceneJson, Action<double> told, CancellationToken cancellation = default) => shelf.TakeAsync(sceneJson, told, cancellation);

    /// <summary>Keeps answers as a draft.</summary>
    /// <param name="kept">The session.</param>
    /// <param name="number">The exercise.</param>
    /// <param name="answers">The answers.</param>
    /// <param name="sawFigures">Whether the figures were looked at.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonRefusedException">The exercise is finished.</exception>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    public Task<KeptPractice> AnswerAsync(KeptPractice kept, int number, PracticeAnswers answers, bool sawFigures, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(kept);
        ArgumentNullException.ThrowIfNull(answers);
        PracticeExercise exercise = kept.Session.Exercises.Single(each => each.Number == number);
        return exercise.Finished is not null
            ? throw new LessonRefusedException("This exercise is finished; its answers stay as they are.")
            : KeepAsync(kept, kept.Session.With(exercise with { Answers = answers, SawFigures = exercise.SawFigures || sawFigures }), cancellation);
    }

    /// <summary>Finishes an exercise: from here on its answers do not change, and its truth is shown. The session ends with its last one.</summary>
    /// <param name="kept">The session.</param>
    /// <param name="number">The exercise.</param>
    /// <param name="at">When; null: now.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonRefusedException">It is finished already, or its truth is not known yet.</exception>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    public async Task<KeptPractice> FinishAsync(KeptPractice kept, int number, DateTimeOffset? at = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(kept);
        PracticeExercise exercise = kept.Session.Exercises.Single(each => each.Number == number);
        if (exercise.Finished is not null || exercise.Truth.Count == 0)
        {
            throw new LessonRefusedException(exercise.Finished is not null ? "This exercise is finished already." : "The exposure is not ready yet.");
        }

        if (await IsKeptBackAsync(exercise, kept.Lesson.OwnerId, cancellation))
        {
            throw new LessonRefusedException(KeptBack);
        }

        DateTimeOffset now = at ?? clock.GetUtcNow();
        ExerciseScore score = Score(exercise);
        PracticeSession session = kept.Session.With(exercise with { Finished = now, Total = score.Total, VerdictRight = score.Verdict is { } verdict ? verdict >= PracticeRules.Default.Credit.VerdictRight : null });
        return await KeepAsync(kept, session, cancellation, session.Done >= session.Order.Count ? now : null);
    }

    /// <summary>Ends a session before its last exercise; what is finished counts.</summary>
    /// <param name="kept">The session.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    public Task<KeptPractice> EndAsync(KeptPractice kept, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(kept);
        return KeepAsync(kept, kept.Session with { Exercises = [.. kept.Session.Exercises.Where(each => each.Finished is not null)] }, cancellation, clock.GetUtcNow());
    }

    /// <summary>Makes the exposure that a learner set, and keeps it with its truth.</summary>
    /// <param name="kept">A session of exposing.</param>
    /// <param name="set">The scene as it was set.</param>
    /// <param name="told">Told the share that is done, 0 to 1.</param>
    /// <param name="cancellation">Stops the waiting; nothing is kept then.</param>
    /// <exception cref="UnreadableSceneException">The scene cannot be exposed.</exception>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    public async Task<(KeptPractice Kept, PracticeExposure Exposure)> AttemptAsync(KeptPractice kept, SceneDocument set, Action<double>? told = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(kept);
        ArgumentNullException.ThrowIfNull(set);
        ExposeTask task = kept.Session.Task ?? throw new LessonRefusedException("Nothing is exposed in this session.");
        if (kept.Lesson.Ended is not null)
        {
            throw new LessonRefusedException("This session is over; begin another.");
        }

        if (task.Attempts.Count > 0 && task.Attempts[^1].Verdict != VerdictKind.Repeat)
        {
            throw new LessonRefusedException(task.Attempts[^1].Verdict is null ? "Say first what you would do with the last image." : "You would keep the last image. Say repeat to expose again.");
        }

        PracticeExposure exposure = await shelf.TakeAsync(SceneJson.Write(task.Actual(set)), told, cancellation);
        ExposeTask made = task.Finished(Checklist(task.ProjectionId), clock.GetUtcNow()).With(set, exposure.Truth, Checklist(task.ProjectionId), clock.GetUtcNow());
        return (await KeepAsync(kept, kept.Session with { Task = made }, cancellation), exposure);
    }

    /// <summary>The exposure of an attempt, made again where it is not in memory.</summary>
    /// <param name="task">The task.</param>
    /// <param name="number">The attempt.</param>
    /// <param name="told">Told the share that is done, 0 to 1.</param>
    /// <param name="cancellation">Stops the waiting.</param>
    public Task<PracticeExposure> ShowAsync(ExposeTask task, int number, Action<double>? told = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(task);
        ExposeTask before = task with { Attempts = [.. task.Attempts.Take(number - 1)] };
        return shelf.TakeAsync(SceneJson.Write(before.Actual(SceneJson.Read(task.Attempts[number - 1].SetJson, "exposure"))), told, cancellation);
    }

    /// <summary>Keeps the learner's judgement of the last exposure as a draft.</summary>
    /// <param name="kept">A session of exposing.</param>
    /// <param name="judgement">Answers and verdict.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonRefusedException">Nothing was exposed yet, or it is over.</exception>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    public Task<KeptPractice> JudgeAsync(KeptPractice kept, PracticeAnswers judgement, CancellationToken cancellation = default)
    {
        ExposeTask task = ToJudge(kept);
        return KeepAsync(kept, kept.Session with { Task = task with { Attempts = [.. task.Attempts.SkipLast(1), task.Attempts[^1].With(judgement)] } }, cancellation);
    }

    /// <summary>Accepts the last exposure: the session ends, and the truth is shown.</summary>
    /// <param name="kept">A session of exposing.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="LessonRefusedException">Nothing was exposed yet, it is over, or the verdict is not to keep the image.</exception>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    public Task<KeptPractice> AcceptAsync(KeptPractice kept, CancellationToken cancellation = default)
    {
        ExposeTask task = ToJudge(kept);
        DateTimeOffset now = clock.GetUtcNow();
        return task.Attempts[^1].Verdict is VerdictKind.Accept or VerdictKind.AcceptWithRemark
            ? KeepAsync(kept, kept.Session with { Task = task.Finished(Checklist(task.ProjectionId), now) }, cancellation, now)
            : throw new LessonRefusedException("Only an image that you would keep ends the exercise.");
    }

    /// <summary>Cases of the clinic that a learner can practise on: de-identified or invented, with a reference, not blind to the learner.</summary>
    /// <param name="learnerId">The learner; null: nobody in particular.</param>
    /// <param name="most">Most to give.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<ReadCase>> CasesAsync(Guid? learnerId, int most = 200, CancellationToken cancellation = default)
        => await progress.ReferencedCasesAsync(learnerId, most, cancellation);

    // Cases that may not be told of any more drop out of the series; what is finished stays.
    private static PracticeSession WithoutKeptBack(PracticeSession session, IReadOnlySet<Guid> keptBack)
    {
        HashSet<Guid> finished = [.. session.Exercises.Where(each => each.Finished is not null).Select(each => each.CaseId).OfType<Guid>()];
        Guid[] cases = [.. session.Order.CaseIds.Where(id => finished.Contains(id) || !keptBack.Contains(id))];
        if (cases.Length == session.Order.CaseIds.Count)
        {
            return session;
        }

        PracticeExercise[] left = [.. session.Exercises.Where(each => each.Finished is not null || !keptBack.Contains(each.CaseId!.Value))];
        return session with
        {
            Order = session.Order with { CaseIds = cases, Count = Math.Min(cases.Length, PracticeOrder.MostExercises) },
            Exercises = [.. left.Select((each, place) => each with { Number = place + 1 })],
        };
    }

    private static ExposeTask ToJudge(KeptPractice kept)
    {
        ArgumentNullException.ThrowIfNull(kept);
        return kept.Session.Task is { Attempts.Count: > 0 } task && kept.Lesson.Ended is null ? task : throw new LessonRefusedException("There is no exposure to judge.");
    }

    private static KeptPractice? Read(Lesson lesson)
    {
        try
        {
            return new KeptPractice(lesson, PracticeSession.Read(lesson.BodyJson));
        }
        catch (Exception error) when (error is JsonException or NotSupportedException)
        {
            return null;
        }
    }

    private async Task<KeptPractice> KeepAsync(KeptPractice kept, PracticeSession session, CancellationToken cancellation, DateTimeOffset? ended = null)
    {
        Lesson lesson = await lessons.KeepAsync(kept.Lesson with { BodyJson = session.Write(), Ended = ended ?? kept.Lesson.Ended }, cancellation);
        return new KeptPractice(lesson, session);
    }

    private async Task<PracticeExercise> NextAsync(PracticeSession session, Guid? ownerId, int number, CancellationToken cancellation)
    {
        PracticeOrder order = session.Order;
        if (order.Source == PracticeSource.Cases)
        {
            return await CaseAsync(order.CaseIds[number - 1], ownerId, number, cancellation);
        }

        string[] projections = [.. (order.ProjectionIds.Count > 0 ? order.ProjectionIds : PracticeView.All.Select(view => view.Projection)).Where(id => cases.Projections.Any(each => each.Id == id))];
        FaultKind[] kinds = [.. order.Kinds.Count > 0 ? order.Kinds : FaultKinds.Planted, FaultKind.None];
        int seed = unchecked((order.Seed * 7919) + number) & int.MaxValue;
        PracticeArm arm;
        NextChoice? choice = null;
        if (order.ByWeakness)
        {
            (PracticeArm, bool)[] history = [.. (await HistoryAsync(ownerId, cancellation)).Where(each => each.Kind is not null).Select(each => (new PracticeArm(each.Kind!.Value, each.ProjectionId), each.Failed))];
            choice = NextChoice.Of([.. from kind in kinds from projection in projections select new PracticeArm(kind, projection)], history, seed);
            arm = choice.Arm;
        }
        else
        {
            // Mixed: every kind once in a round, in an order of the seed's own.
            int round = (number - 1) / kinds.Length;
            FaultKind[] mixed = [.. kinds];
            new Random(unchecked((order.Seed * 31) + round) & int.MaxValue).Shuffle(mixed);
            arm = new PracticeArm(mixed[(number - 1) % kinds.Length], projections[new Random(seed).Next(projections.Length)]);
        }

        Exercise made = ExerciseMaker.Make(PracticeView.Find(arm.ProjectionId)!, arm.Kind, order.Difficulty, seed);
        string name = cases.NameOf(arm.ProjectionId)!;
        return new PracticeExercise
        {
            Number = number,
            ProjectionId = arm.ProjectionId,
            Title = NameOf(made.View, made.Scene),
            Kind = arm.Kind,
            SceneJson = SceneJson.Write(made.Scene),
            WhyBefore = choice?.Before(name),
            WhyAfter = choice?.After(name),
        };
    }

    private async Task<PracticeExercise> CaseAsync(Guid caseId, Guid? ownerId, int number, CancellationToken cancellation)
    {
        CaseRecord record = await cases.GetAsync(caseId, cancellation);
        Reference reference = await progress.ReferenceOfAsync(caseId, ownerId, cancellation) ?? throw new LessonRefusedException($"{record.Title} has no reference any more.");
        string projectionId = reference.Result.ProjectionId;
        IReadOnlyList<TrueLine> truth = ReferenceLines.Of(reference.Result, Checklist(projectionId));
        return new PracticeExercise
        {
            Number = number,
            ProjectionId = projectionId,
            Title = string.Create(CultureInfo.InvariantCulture, $"Case {number}, {cases.NameOf(projectionId)}"),
            CaseId = caseId,
            Reference = reference.Name,
            Truth = truth,
            Verdicts = reference.Result.Stands == VerdictKind.Undetermined ? [] : [reference.Result.Stands],
        };
    }
}

/// <summary>Lines of a reference as the truth of an exercise.</summary>
public static class ReferenceLines
{
    private static readonly ChecklistSection[] Asked =
    [
        ChecklistSection.RequiredAnatomy, ChecklistSection.Positioning, ChecklistSection.Exposure, ChecklistSection.BrightnessAndContrast, ChecklistSection.Sharpness, ChecklistSection.Artifacts, ChecklistSection.Collimation, ChecklistSection.SideMarker,
    ];

    /// <summary>The lines of a reference that a learner can be asked: those that the reference's reader decided, and those that measurement or header found missed, in the parts of the checklist that are seen on the image.</summary>
    /// <param name="result">The reference.</param>
    /// <param name="checklist">The projection's checklist.</param>
    public static IReadOnlyList<TrueLine> Of(ReadingResult result, IReadOnlyList<ChecklistLine> checklist)
    {
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(checklist);
        return
        [
            .. from read in result.Lines
               join line in checklist on read.Id equals line.Id
               where Asked.Contains(read.Section) && (read.IsReaders || read.State == ChecklistState.NotMet) && (read.State is ChecklistState.Met or ChecklistState.NotMet) && read.DecidedBy != DecidedBy.Nobody
               select new TrueLine(
                   read.Id,
                   read.State,
                   [.. line.Misses.Where(miss => miss.Looks == read.Miss && read.State == ChecklistState.NotMet).Select(miss => miss.Id)],
                   read.Remark ?? (read.Figure is null ? "So says the reference." : $"So says the reference: {read.Figure}.")),
        ];
    }
}
