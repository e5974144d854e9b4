using System.Globalization;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Measure.Landmarks;
using Hotlight.Workflows.Critiques;

namespace Hotlight.Workflows.Cases;

/// <summary>One change a reader makes to a case, with what it touches: so that two readers' changes at the same moment are told apart.</summary>
/// <remarks>Two changes of different parts are both kept. Of two changes of the same part the later writer is told the other's, and nothing is overwritten unless the reader says so.</remarks>
public sealed record CaseEdit
{
    private static readonly Dictionary<string, LandmarkPoint> None = [];

    /// <summary>What it touches, as it reads in "this changed … meanwhile", such as "the answer to “Is the marker R?”".</summary>
    public required string What { get; init; }

    /// <summary>Makes the change on the case as it stands.</summary>
    public required Func<OpenCase, Task<OpenCase>> Make { get; init; }

    /// <summary>The part it touches, as text that is equal while nobody changed it.</summary>
    public required Func<OpenCase, string> Part { get; init; }

    /// <summary>How the part stands, for the reader whose change was not kept; null where a look at the page tells it.</summary>
    public Func<OpenCase, string>? Stands { get; init; }

    /// <summary>The answer to a line.</summary>
    /// <param name="lineId">The line.</param>
    /// <param name="question">Its question.</param>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfLine(string lineId, string question, Func<OpenCase, Task<OpenCase>> make) => new()
    {
        What = $"the answer to “{question}”",
        Make = make,
        Part = open => open.Answers?.Lines.GetValueOrDefault(lineId) is { } answer ? $"{answer.State}|{answer.Miss}|{answer.Remark}" : string.Empty,
        Stands = open => open.Answers?.Lines.GetValueOrDefault(lineId) is { } answer
            ? CritiqueText.State(answer.State) + (answer.Remark is { } remark ? $", with the remark “{remark}”" : string.Empty)
            : "without an answer",
    };

    /// <summary>A landmark or a further point of the pose; null: all of them.</summary>
    /// <param name="landmarkId">The landmark.</param>
    /// <param name="name">Its name.</param>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfLandmark(string? landmarkId, string name, Func<OpenCase, Task<OpenCase>> make) => new()
    {
        What = landmarkId is null ? "the landmarks" : $"the landmark “{name}”",
        Make = make,
        Part = open => string.Join(';', (open.Answers?.Landmarks ?? None).Concat(open.Answers?.Pose?.Points ?? None).Where(each => landmarkId is null || each.Key == landmarkId).OrderBy(each => each.Key, StringComparer.Ordinal)),
    };

    /// <summary>What the reader says of the position in space beside the marks.</summary>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfPose(Func<OpenCase, Task<OpenCase>> make) => new()
    {
        What = "the side, or whether the position in space stands in the handout",
        Make = make,
        Part = open => $"{open.Answers?.Pose?.Side}|{open.Answers?.Pose?.IsInHandout == true}",
    };

    /// <summary>What is known of the examination.</summary>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfExamination(Func<OpenCase, Task<OpenCase>> make) => new()
    {
        What = "what is known of the examination",
        Make = make,
        Part = open => open.Answers?.Examination is { } given ? $"{given.PurposeId}|{given.Ability}|{given.RepeatsAlready}|{string.Join(',', given.ShownElsewhere)}" : string.Empty,
    };

    /// <summary>The reader's own verdict.</summary>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfVerdict(Func<OpenCase, Task<OpenCase>> make) => new()
    {
        What = "the reader's own verdict",
        Make = make,
        Part = open => open.Answers?.Verdict is { } given ? $"{given.Kind}|{given.Reason}" : string.Empty,
    };

    /// <summary>The plan for the next exposure.</summary>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfPlan(Func<OpenCase, Task<OpenCase>> make) => new()
    {
        What = "the plan for the next exposure",
        Make = make,
        Part = open => string.Join(';', open.Answers?.Plan ?? []),
    };

    /// <summary>The title.</summary>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfTitle(Func<OpenCase, Task<OpenCase>> make) => new() { What = "the title", Make = make, Part = open => open.Record.Title, Stands = open => $"“{open.Record.Title}”" };

    /// <summary>The projection, or the spacing a reader gave: what is measured again.</summary>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfMeasuring(Func<OpenCase, Task<OpenCase>> make) => new()
    {
        What = "the projection or the pixel spacing",
        Make = make,
        Part = open => $"{open.Record.ProjectionId}|{open.Record.GivenSpacing}",
    };

    /// <summary>A step back or forth in the history: it touches whatever the last step was.</summary>
    /// <param name="make">Makes the change.</param>
    public static CaseEdit OfHistory(Func<OpenCase, Task<OpenCase>> make) => new()
    {
        What = "the last step",
        Make = make,
        Part = open => string.Create(CultureInfo.InvariantCulture, $"{open.Record.AnswerStep}|{open.Record.LastAnswerStep}|{open.Record.AnswersJson}"),
    };
}

/// <summary>How an edit ended.</summary>
public enum EditResult
{
    /// <summary>It is kept, and nobody else changed the case meanwhile.</summary>
    Kept,

    /// <summary>It is kept beside what somebody else changed meanwhile.</summary>
    KeptBesideOthers,

    /// <summary>It is not kept: somebody else changed the same part meanwhile, and theirs stands.</summary>
    NotKept,
}

/// <summary>How an edit ended, and the case as it stands now.</summary>
/// <param name="Open">The case as it stands.</param>
/// <param name="Result">How it ended.</param>
public sealed record EditOutcome(OpenCase Open, EditResult Result);

/// <summary>Makes changes to a case that others may change at the same moment.</summary>
public static class SharedEditing
{
    // Each round means that somebody else wrote in the moment between: ten in a row do not happen by hand.
    private const int MostRounds = 10;

    /// <summary>Makes a change; where the case moved on meanwhile it is made on the newer state, unless its own part changed there.</summary>
    /// <param name="cases">The workflow.</param>
    /// <param name="held">The case as the reader saw it.</param>
    /// <param name="edit">The change.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    /// <exception cref="CaseChangedException">Others wrote without a pause; nothing was changed.</exception>
    public static async Task<EditOutcome> ApplyAsync(CaseWorkflow cases, OpenCase held, CaseEdit edit, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(held);
        ArgumentNullException.ThrowIfNull(edit);
        OpenCase current = held;
        for (int round = 1; ; round++)
        {
            try
            {
                OpenCase made = await edit.Make(current);
                return new EditOutcome(made, ReferenceEquals(current, held) ? EditResult.Kept : EditResult.KeptBesideOthers);
            }
            catch (CaseChangedException) when (round < MostRounds)
            {
                current = (await cases.OpenAsync(held.Record.Id, cancellation)) with { ReaderId = held.ReaderId };

                // Lines belong to a projection: with another one chosen, an answer has no line to go to.
                if (edit.Part(current) != edit.Part(held) || current.Record.ProjectionId != held.Record.ProjectionId)
                {
                    return new EditOutcome(current, EditResult.NotKept);
                }
            }
        }
    }
}
