using Hotlight.Workflows.Cases;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store;

/// <summary>A row with a place in a history of answers: a case, or a reading of one's own.</summary>
internal interface IAnsweredRow
{
    /// <summary>Place in the history: 0 before the first answer.</summary>
    int AnswerStep { get; set; }

    /// <summary>Last step the history holds.</summary>
    int LastAnswerStep { get; set; }

    /// <summary>Term of the verdict as it stands at the place.</summary>
    string? Verdict { get; set; }
}

/// <summary>A step of such a history.</summary>
internal interface IAnswerStepRow
{
    /// <summary>Number of the step, from 1.</summary>
    int Step { get; set; }

    /// <summary>All answers after the step, as JSON.</summary>
    string AnswersJson { get; set; }

    /// <summary>Term of the verdict after the step.</summary>
    string? Verdict { get; set; }

    /// <summary>What changed, for the reader.</summary>
    string Label { get; set; }

    /// <summary>Key under which following steps become one.</summary>
    string? MergeKey { get; set; }

    /// <summary>When it was given.</summary>
    DateTimeOffset Given { get; set; }
}

/// <summary>How answers step on and back, alike for every row that has a history of them.</summary>
internal static class AnswerHistory
{
    /// <summary>Puts a step behind the row's place: what was taken back is gone then, and a step under the same key as the last becomes one with it.</summary>
    /// <typeparam name="TStep">Kind of the steps.</typeparam>
    /// <param name="context">The context that tracks row and steps; nothing is saved here.</param>
    /// <param name="row">The row; its place and verdict move.</param>
    /// <param name="fromHere">Its steps from its place on, tracked.</param>
    /// <param name="step">What is to be kept.</param>
    /// <param name="now">The time.</param>
    /// <param name="mayMerge">Whether the step may become one with this one, keys apart.</param>
    /// <param name="make">Makes a step with its owner, where none is to be overwritten.</param>
    /// <returns>The step as it is kept.</returns>
    public static TStep Keep<TStep>(DbContext context, IAnsweredRow row, IReadOnlyList<TStep> fromHere, AnswerStep step, DateTimeOffset now, Func<TStep, bool> mayMerge, Func<TStep> make)
        where TStep : class, IAnswerStepRow
    {
        TStep? current = fromHere.FirstOrDefault(each => each.Step == row.AnswerStep);
        bool merges = current is not null && step.MergeKey is not null && current.MergeKey == step.MergeKey && mayMerge(current) && row.AnswerStep == row.LastAnswerStep;
        row.AnswerStep += merges ? 0 : 1;
        context.RemoveRange(fromHere.Where(each => each.Step > row.AnswerStep));

        // The key of a step that was taken back is used again: it is overwritten, not removed and added.
        TStep? kept = fromHere.FirstOrDefault(each => each.Step == row.AnswerStep);
        bool isNew = kept is null;
        kept ??= make();
        kept.Step = row.AnswerStep;
        kept.AnswersJson = step.AnswersJson;
        kept.Verdict = step.Verdict;
        kept.Label = step.Label;
        kept.MergeKey = step.MergeKey;
        kept.Given = now;
        if (isNew)
        {
            context.Add(kept);
        }

        row.LastAnswerStep = row.AnswerStep;
        row.Verdict = step.Verdict;
        return kept;
    }

    /// <summary>The place a step back or forth leads to; null where there is none.</summary>
    /// <param name="row">The row.</param>
    /// <param name="direction">Back or forth.</param>
    public static int? Target(IAnsweredRow row, AnswerStepDirection direction)
    {
        int target = direction == AnswerStepDirection.Undo ? row.AnswerStep - 1 : row.AnswerStep + 1;
        return target < 0 || target > row.LastAnswerStep ? null : target;
    }
}
