using Hotlight.Judgement;
using Hotlight.Simulation.Scene;
using Hotlight.Teaching.Practice;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Teaching.Practice;

/// <summary>Sessions of practice of learners who do not exist, so that the pages have something to show. Made by a fixed recipe, without exposing anything; marked as invented wherever they stand.</summary>
public static class InventedPractice
{
    private static readonly (int Reader, int Sessions, double Missed, double MissedLater, double Imagined, FaultKind Weak, double Boast)[] Habits =
    [
        (2, 4, 0.45, 0.10, 0.15, FaultKind.Position, 0.55),
        (3, 3, 0.40, 0.35, 0.10, FaultKind.Motion, 0.85),
    ];

    /// <summary>Makes the sessions; one after another, the oldest first.</summary>
    /// <param name="lessons">Where they are kept.</param>
    /// <param name="workflow">Knows the checklists and scores.</param>
    /// <param name="now">Now; the sessions lie in the weeks before.</param>
    /// <param name="cancellation">Stops between two sessions.</param>
    public static async Task MakeAsync(ILessonStore lessons, PracticeWorkflow workflow, DateTimeOffset now, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(lessons);
        ArgumentNullException.ThrowIfNull(workflow);
        foreach ((int Reader, int Sessions, double Missed, double MissedLater, double Imagined, FaultKind Weak, double Boast) habit in Habits)
        {
            CaseReader reader = InventedReadings.Readers[habit.Reader];
            int there = (await workflow.ListAsync(reader.Id, cancellation)).Count;
            for (int place = there; place < habit.Sessions; place++)
            {
                DateTimeOffset at = now - TimeSpan.FromDays(6 * (habit.Sessions - place));
                double course = (double)place / Math.Max(1, habit.Sessions - 1);
                var random = new Random((habit.Reader * 100) + place);
                var order = new PracticeOrder { Count = 6, Difficulty = (Difficulty)Math.Min(place, 2), ByWeakness = false, Seed = (habit.Reader * 100) + place, GivenBy = place == 0 ? InventedReadings.Readers[0].Pseudonym : null };
                List<PracticeExercise> made = [];
                FaultKind[] kinds = [.. FaultKinds.Planted, FaultKind.None];
                random.Shuffle(kinds);
                for (int number = 1; number <= order.Count; number++)
                {
                    PracticeView view = PracticeView.All[random.Next(PracticeView.All.Count)];
                    Exercise exercise = ExerciseMaker.Make(view, kinds[number - 1], order.Difficulty, (order.Seed * 100) + number);
                    IReadOnlyList<TrueLine> truth = SceneReferee.Tell(view, exercise.Scene, SceneReferee.PlannedDeviationIndex(view, exercise.Scene), 0);
                    IReadOnlyList<VerdictKind> verdicts = TrueVerdict.Of(truth, workflow.Checklist(view.Projection));
                    double missed = habit.Missed + (course * (habit.MissedLater - habit.Missed));
                    PracticeAnswers answers = Answer(truth, verdicts, exercise.Kind == habit.Weak ? Math.Min(0.9, 2 * missed) : missed, habit.Imagined * (1 - (0.6 * course)), habit.Boast, random);
                    var draft = new PracticeExercise
                    {
                        Number = number,
                        ProjectionId = view.Projection,
                        Title = workflow.NameOf(view, exercise.Scene),
                        Kind = exercise.Kind,
                        SceneJson = SceneJson.Write(exercise.Scene),
                        Truth = truth,
                        Verdicts = verdicts,
                        Answers = answers,
                        Finished = at + TimeSpan.FromMinutes(4 * number),
                    };
                    ExerciseScore score = workflow.Score(draft);
                    made.Add(draft with { Total = score.Total, VerdictRight = score.Verdict >= 1 });
                }

                await lessons.AddAsync(
                    new Lesson
                    {
                        Id = Guid.CreateVersion7(at),
                        Kind = LessonKind.Practice,
                        OwnerId = reader.Id,
                        OwnerPseudonym = reader.Pseudonym,
                        IsInvented = true,
                        Title = $"{order.Count} exercises of the phantom lab",
                        BodyJson = new PracticeSession { Order = order, Exercises = made }.Write(),
                        Begun = at,
                        Changed = at + TimeSpan.FromMinutes(4 * order.Count),
                        Ended = at + TimeSpan.FromMinutes(4 * order.Count),
                    },
                    cancellation);
            }
        }
    }

    private static PracticeAnswers Answer(IReadOnlyList<TrueLine> truth, IReadOnlyList<VerdictKind> verdicts, double missed, double imagined, double boast, Random random)
    {
        var answers = new PracticeAnswers();
        bool sawAll = true;
        foreach (TrueLine line in truth)
        {
            double luck = random.NextDouble();
            bool isWrong = luck < (line.IsFault ? missed : imagined);
            sawAll &= !(line.IsFault && isWrong);
            ChecklistState state = isWrong ? luck < 0.03 ? ChecklistState.CannotTell : line.IsFault ? ChecklistState.Met : ChecklistState.NotMet : line.State;
            string? miss = state == ChecklistState.NotMet && !isWrong && line.Misses.Count > 0 && random.NextDouble() < 0.8 ? line.Misses[random.Next(line.Misses.Count)] : null;
            answers = answers.With(line.LineId, new PracticeAnswer(state, miss, Certainty(isWrong, boast, random)));
        }

        return answers with { Verdict = sawAll && verdicts.Count > 0 ? verdicts[0] : VerdictKind.Accept, VerdictCertainty = Certainty(!sawAll, boast, random) };
    }

    // Who boasts is as sure of what is wrong as of what is right.
    private static string Certainty(bool isWrong, double boast, Random random)
    {
        double luck = random.NextDouble();
        double sure = isWrong ? boast * 0.7 : 0.7;
        return luck < sure ? "sure" : luck < sure + 0.2 ? "rather" : "guess";
    }
}
