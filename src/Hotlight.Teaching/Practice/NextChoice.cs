using System.Globalization;

namespace Hotlight.Teaching.Practice;

/// <summary>What may be practised next.</summary>
/// <param name="Kind">The kind of fault.</param>
/// <param name="ProjectionId">The projection.</param>
public sealed record PracticeArm(FaultKind Kind, string ProjectionId);

/// <summary>What is practised next, and why.</summary>
/// <param name="Arm">The choice.</param>
/// <param name="IsExploring">Whether it was chosen since it was practised least, not by weakness.</param>
/// <param name="FailureMean">Posterior mean of failing it, 0 to 1.</param>
/// <param name="Practised">How often this kind was practised in this projection.</param>
/// <param name="Failed">How often it failed.</param>
public sealed record NextChoice(PracticeArm Arm, bool IsExploring, double FailureMean, int Practised, int Failed)
{
    /// <summary>Whether the learner practised anything before; else the choice is by chance alone.</summary>
    public bool HasRecord { get; init; } = true;

    /// <summary>Why, in words that name the projection alone, so that the learner is not told what to look for.</summary>
    /// <param name="projectionName">Name of the projection.</param>
    public string Before(string projectionName) => !HasRecord
        ? $"{projectionName}, by chance: there is no record of yours yet."
        : IsExploring ? $"{projectionName}, since something in it was practised least so far."
        : $"{projectionName}, by your record so far: something in it was seen least often.";

    /// <summary>Why, in full; for after the exercise.</summary>
    /// <param name="projectionName">Name of the projection.</param>
    public string After(string projectionName)
    {
        string of = $"{FaultKinds.Words(Arm.Kind)} in {projectionName}";
        string record = Practised == 0 ? "not practised before" : string.Create(CultureInfo.InvariantCulture, $"failed {Failed} of {Practised} times before");
        return !HasRecord ? $"Chosen by chance: {of}; nothing was practised before." : IsExploring
            ? $"Chosen to explore: {of}, {record}, was practised least."
            : string.Create(CultureInfo.InvariantCulture, $"Chosen by weakness: {of}, {record}; expected to fail {100 * FailureMean:0} %, the most of all.");
    }

    /// <summary>Chooses.</summary>
    /// <remarks>
    /// <para>Rule: for a kind k in a projection p with f of n exercises failed, the posterior mean of failing is (f + w·m)/(n + w), with m = (F + 1)/(N + 2) from the F of N exercises of the kind in all projections (a uniform prior) and w the prior's weight. The greatest is chosen.</para>
    /// <para>A stated share of exercises goes, by the seed, to an arm that was practised least. Ties are broken by the seed. The same history and seed give the same choice.</para>
    /// <para>Source: the beta-binomial model with a prior from the group and an exploring share are textbook methods; their combination here is the project's own rule.</para>
    /// </remarks>
    /// <param name="arms">What may be chosen; not empty.</param>
    /// <param name="history">What was practised, with whether it failed.</param>
    /// <param name="seed">Seed of this choice.</param>
    /// <param name="rules">The rules; null: as shipped.</param>
    /// <exception cref="ArgumentException">There is nothing to choose from.</exception>
    public static NextChoice Of(IReadOnlyList<PracticeArm> arms, IReadOnlyList<(PracticeArm Arm, bool Failed)> history, int seed, ChoiceRules? rules = null)
    {
        ArgumentNullException.ThrowIfNull(arms);
        ArgumentNullException.ThrowIfNull(history);
        if (arms.Count == 0)
        {
            throw new ArgumentException("There is nothing to choose from.", nameof(arms));
        }

        ChoiceRules used = rules ?? PracticeRules.Default.Choice;
        var random = new Random(seed);
        NextChoice[] weighed =
        [
            .. arms.Select(arm =>
            {
                int all = history.Count(each => each.Arm.Kind == arm.Kind);
                int allFailed = history.Count(each => each.Arm.Kind == arm.Kind && each.Failed);
                int own = history.Count(each => each.Arm == arm);
                int ownFailed = history.Count(each => each.Arm == arm && each.Failed);
                double kind = (allFailed + 1.0) / (all + 2.0);
                return new NextChoice(arm, false, (ownFailed + (used.PriorWeight * kind)) / (own + used.PriorWeight), own, ownFailed);
            }),
        ];
        bool explores = random.NextDouble() < used.ExploreShare;
        NextChoice[] best = explores
            ? [.. weighed.Where(each => each.Practised == weighed.Min(one => one.Practised))]
            : [.. weighed.Where(each => each.FailureMean >= weighed.Max(one => one.FailureMean) - 1e-12)];
        return best[random.Next(best.Length)] with { IsExploring = explores, HasRecord = history.Count > 0 };
    }
}
