using Hotlight.Teaching.Practice;

namespace Hotlight.Teaching.Tests.Practice;

public sealed class NextChoiceTests
{
    private const int Exercises = 300;
    private const int Learners = 60;

    private static readonly PracticeArm[] Arms = [.. from kind in FaultKinds.Planted.Prepend(FaultKind.None) from projection in new[] { "knee-ap", "chest-pa", "wrist-pa" } select new PracticeArm(kind, projection)];

    [Fact]
    public void PosteriorMean_WorkedByHand_IsChosen()
    {
        // Motion failed 3 of 4 in the knee and was not practised in the chest; position failed 0 of 3 in the knee.
        // m(motion) = (3 + 1)/(4 + 2) = 2/3: knee (3 + 2·2/3)/(4 + 2) = 0.7222, chest 2/3. m(position) = 1/5: knee (0 + 2/5)/5 = 0.08.
        PracticeArm motion = new(FaultKind.Motion, "knee-ap");
        PracticeArm position = new(FaultKind.Position, "knee-ap");
        (PracticeArm, bool)[] history = [(motion, true), (motion, true), (motion, true), (motion, false), (position, false), (position, false), (position, false)];
        NextChoice choice = NextChoice.Of([position, motion, motion with { ProjectionId = "chest-pa" }], history, 1, new ChoiceRules(2, 0));
        Assert.Equal(motion, choice.Arm);
        Assert.Equal(13.0 / 18, choice.FailureMean, 12);
        Assert.Equal((4, 3), (choice.Practised, choice.Failed));
        Assert.Contains("movement in Knee AP, failed 3 of 4 times before; expected to fail 72 %", choice.After("Knee AP"), StringComparison.Ordinal);

        // Before the exercise the learner is told the projection and not the kind.
        Assert.DoesNotContain("movement", choice.Before("Knee AP"), StringComparison.Ordinal);
    }

    [Fact]
    public void NothingPractised_IsSaidToBeChance()
    {
        NextChoice choice = NextChoice.Of(Arms, [], 3);

        Assert.False(choice.HasRecord);
        Assert.Equal("Wrist PA, by chance: there is no record of yours yet.", choice.Before("Wrist PA"));
        Assert.StartsWith("Chosen by chance", choice.After("Wrist PA"), StringComparison.Ordinal);
        Assert.True(NextChoice.Of(Arms, [(Arms[0], true)], 3).HasRecord);
    }

    [Fact]
    public void Explore_Always_GoesToWhatWasPractisedLeast()
    {
        (PracticeArm, bool)[] history = [.. Arms.Skip(1).Select(arm => (arm, true))];
        NextChoice choice = NextChoice.Of(Arms, history, 5, new ChoiceRules(2, 1));
        Assert.Equal(Arms[0], choice.Arm);
        Assert.True(choice.IsExploring);
    }

    [Fact]
    public void SameHistoryAndSeed_GiveTheSameChoice()
    {
        (PracticeArm, bool)[] history = [.. Arms.Select((arm, place) => (arm, place % 3 == 0))];
        for (int seed = 0; seed < 50; seed++)
        {
            Assert.Equal(NextChoice.Of(Arms, history, seed), NextChoice.Of(Arms, history, seed));
        }
    }

    [Fact]
    public void PlantedWeakness_IsPractisedMore()
    {
        // Learners who fail movement in 80 % and anything else in 10 %. One of seven kinds is theirs: 14.3 % by chance.
        double[] shares = new double[Learners];
        for (int learner = 0; learner < Learners; learner++)
        {
            var luck = new Random(1000 + learner);
            var history = new List<(PracticeArm, bool)>();
            for (int exercise = 0; exercise < Exercises; exercise++)
            {
                PracticeArm arm = NextChoice.Of(Arms, history, (learner * 1000) + exercise).Arm;
                history.Add((arm, luck.NextDouble() < (arm.Kind == FaultKind.Motion ? 0.8 : 0.1)));
            }

            shares[learner] = history.Count(each => each.Item1.Kind == FaultKind.Motion) / (double)Exercises;
            Assert.All(Arms, arm => Assert.Contains(history, each => each.Item1 == arm));
        }

        // Twice the share of chance at the least, by three standard errors of the mean of 60 learners; and not all of it, since a fifth explores.
        double mean = shares.Average();
        double error = Math.Sqrt(shares.Sum(share => (share - mean) * (share - mean)) / (Learners - 1) / Learners);
        Assert.True(mean - (3 * error) > 2.0 / 7, $"mean share {mean:0.000} ± {error:0.000}");
        Assert.True(mean + (3 * error) < 0.9, $"mean share {mean:0.000} ± {error:0.000}");
    }
}
