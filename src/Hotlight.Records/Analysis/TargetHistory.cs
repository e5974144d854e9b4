namespace Hotlight.Records.Analysis;

/// <summary>The target exposure indices that one projection had on one receptor, where there was more than one: a target that moves moves every deviation index with it, though nobody exposes otherwise.</summary>
/// <param name="Receptor">The receptor; null: not told.</param>
/// <param name="ProjectionId">The projection; null: not told.</param>
/// <param name="Steps">The targets in the order they came into use, two or more.</param>
public sealed record TargetHistory(string? Receptor, string? ProjectionId, IReadOnlyList<TargetStep> Steps)
{
    /// <summary>Whether two targets were in use at the same time, so that deviation indices of that time do not mean the same.</summary>
    public bool IsMixed => Steps.Any(step => step.Overlaps);

    /// <summary>Patients' exposures with any of the targets.</summary>
    public long Exposures => Steps.Sum(step => step.Use.Exposures);

    /// <summary>The histories in uses of targets; a projection with one target on a receptor has none.</summary>
    /// <param name="uses">The uses.</param>
    /// <returns>Those with the most exposures first.</returns>
    public static IReadOnlyList<TargetHistory> Of(IEnumerable<TargetUse> uses)
    {
        ArgumentNullException.ThrowIfNull(uses);
        return
        [
            .. uses.GroupBy(use => (use.Receptor, use.ProjectionId))
                .Where(group => group.Select(use => use.Target).Distinct().Count() > 1)
                .Select(group => new TargetHistory(group.Key.Receptor, group.Key.ProjectionId, StepsOf([.. group.OrderBy(use => use.First).ThenBy(use => use.Target)])))
                .OrderByDescending(history => history.Exposures).ThenBy(history => history.Receptor, StringComparer.Ordinal).ThenBy(history => history.ProjectionId, StringComparer.Ordinal),
        ];
    }

    private static TargetStep[] StepsOf(TargetUse[] uses)
        => [.. uses.Select((use, place) => new TargetStep(
            use,
            place == 0 ? null : 10 * Math.Log10(uses[place - 1].Target / use.Target),
            uses.Any(other => other != use && other.First <= use.Last && use.First <= other.Last)))];
}

/// <summary>A target in a history.</summary>
/// <param name="Use">The target and when it was used.</param>
/// <param name="DeviationShift">By how much it moves the deviation index of an unchanged exposure against the target before it: 10·log10(before/now), IEC 62494-1; null: it is the first.</param>
/// <param name="Overlaps">Whether another target was in use in the same days.</param>
public sealed record TargetStep(TargetUse Use, double? DeviationShift, bool Overlaps);
