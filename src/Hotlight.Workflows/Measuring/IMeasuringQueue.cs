using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Measuring;

/// <summary>What cases are to be measured with: the version of Hotlight and the clinic's settings.</summary>
/// <param name="MeasuredBy">Version that measures, as <see cref="CaseRecord.MeasuredBy"/> keeps it.</param>
/// <param name="MeasuredWith">Key of the settings, as <see cref="CaseRecord.MeasuredWith"/> keeps it.</param>
/// <param name="SettingsNumber">Number of the settings' version, from 0: who has not heard of newer settings yet changes nothing of what was asked for with them.</param>
public sealed record MeasuringTarget(string MeasuredBy, string MeasuredWith, int SettingsNumber);

/// <summary>A case that a worker has taken to measure. It is the worker's until its lease is lost: extended in time, it never is.</summary>
/// <param name="CaseId">The case.</param>
/// <param name="Lease">Identifies this taking; what is kept, failed or given back names it, and a later taking has another.</param>
/// <param name="Attempt">Which attempt it is, from 1.</param>
public sealed record MeasuringJob(Guid CaseId, Guid Lease, int Attempt)
{
    /// <summary>Most attempts; after the last the case is given up until somebody asks again.</summary>
    public const int MostAttempts = 5;

    /// <summary>How long a taking holds without being extended.</summary>
    public static readonly TimeSpan LeaseTime = TimeSpan.FromMinutes(2);

    /// <summary>The pause after an attempt that failed: 15 s, 1 min, 4 min, 16 min.</summary>
    /// <param name="attempt">The attempt, from 1.</param>
    public static TimeSpan PauseAfter(int attempt)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(attempt, 1);
        return TimeSpan.FromSeconds(15) * Math.Pow(4, Math.Min(attempt, MostAttempts) - 1);
    }
}

/// <summary>How a queued case stands.</summary>
public enum QueuedState
{
    /// <summary>It waits for a worker.</summary>
    Waiting = 0,

    /// <summary>A worker is on it.</summary>
    Running = 1,

    /// <summary>Every attempt failed; it waits until somebody asks again.</summary>
    GivenUp = 2,
}

/// <summary>A case in the queue.</summary>
/// <param name="CaseId">The case.</param>
/// <param name="Title">What the reader calls it.</param>
/// <param name="State">How it stands.</param>
/// <param name="Attempts">How many attempts were begun.</param>
/// <param name="Asked">When it was asked for.</param>
/// <param name="Due">When the next attempt may begin; of a running one, when its lease ends unless it is extended.</param>
/// <param name="Worker">Who is on it, or was last; null: nobody yet.</param>
/// <param name="Reason">Why the last attempt failed, one sentence; null: none did.</param>
public sealed record QueuedCase(Guid CaseId, string Title, QueuedState State, int Attempts, DateTimeOffset Asked, DateTimeOffset Due, string? Worker, string? Reason);

/// <summary>How much is still to be measured.</summary>
/// <param name="Waiting">Cases that wait.</param>
/// <param name="Running">Cases that a worker is on.</param>
/// <param name="GivenUp">Cases of which every attempt failed.</param>
/// <param name="Cases">All cases kept, without deleted ones; 0 where nothing is queued.</param>
public sealed record MeasuringProgress(int Waiting, int Running, int GivenUp, int Cases)
{
    /// <summary>Nothing is queued.</summary>
    public static MeasuringProgress None { get; } = new(0, 0, 0, 0);

    /// <summary>Cases that are still to be measured.</summary>
    public int Left => Waiting + Running;
}

/// <summary>Cases to be measured, shared by every process on the store. A case is in it once, whoever asks and however often; its result is kept once.</summary>
/// <remarks>Leases go by the clock of each process. Clocks that disagree cost work that is done twice, never a result that is kept twice: what is kept names its taking, in the transaction that changes the case.</remarks>
public interface IMeasuringQueue
{
    /// <summary>Asks for cases to be measured. One that is measured so already, or asked for so already, is left as it is; one asked for with another version or earlier settings is asked for anew.</summary>
    /// <param name="target">What they are to be measured with.</param>
    /// <param name="caseIds">The cases; null: all.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>How many were asked for anew.</returns>
    Task<int> AskAsync(MeasuringTarget target, IReadOnlyList<Guid>? caseIds = null, CancellationToken cancellation = default);

    /// <summary>Takes the case that is next: one never measured first, then in the order of the worklist; one whose worker's lease ran out like one that waits.</summary>
    /// <param name="target">What the worker measures with: only what was asked for so is taken.</param>
    /// <param name="worker">Name of the worker, for the reader of the queue, at most 100 characters.</param>
    /// <param name="cancellation">Stops before anything is taken.</param>
    /// <returns>Null where nothing is to be taken now.</returns>
    Task<MeasuringJob?> TakeAsync(MeasuringTarget target, string worker, CancellationToken cancellation = default);

    /// <summary>Holds a taken case for another <see cref="MeasuringJob.LeaseTime"/>.</summary>
    /// <param name="job">The taking.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when the lease was lost.</returns>
    Task<bool> ExtendAsync(MeasuringJob job, CancellationToken cancellation = default);

    /// <summary>Keeps what was measured with the case and takes the case out of the queue, in one step. Answers and filing stay; the case counts as changed by now only where its verdict or what its header says changed.</summary>
    /// <param name="job">The taking.</param>
    /// <param name="measured">The case with what was measured; its <see cref="CaseRecord.Version"/> is the one the measuring started from.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>The case as it is kept; null when the lease was lost, and nothing was changed.</returns>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="CaseChangedException">The case moved on; nothing was changed, and the lease holds.</exception>
    Task<CaseRecord?> KeepAsync(MeasuringJob job, CaseRecord measured, CancellationToken cancellation = default);

    /// <summary>Takes a case out of the queue that needs no measuring any more.</summary>
    /// <param name="job">The taking.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when the lease was lost.</returns>
    Task<bool> DropAsync(MeasuringJob job, CancellationToken cancellation = default);

    /// <summary>Keeps that an attempt failed: it is tried again after a pause, or given up.</summary>
    /// <param name="job">The taking.</param>
    /// <param name="reason">Why, one sentence; cut to 300 characters.</param>
    /// <param name="isFinal">Whether another attempt cannot go better.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when the lease was lost.</returns>
    Task<bool> FailAsync(MeasuringJob job, string reason, bool isFinal = false, CancellationToken cancellation = default);

    /// <summary>Gives a taken case back untouched; the attempt does not count.</summary>
    /// <param name="job">The taking.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>False when the lease was lost.</returns>
    Task<bool> ReleaseAsync(MeasuringJob job, CancellationToken cancellation = default);

    /// <summary>How much is still to be measured.</summary>
    /// <param name="cancellation">Stops the counting.</param>
    Task<MeasuringProgress> ProgressAsync(CancellationToken cancellation = default);

    /// <summary>What is in the queue: running first, then waiting in the order it will be taken, then given up. Deleted cases and those measured meanwhile are left out.</summary>
    /// <param name="take">How many to give at most, 1 or more.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyList<QueuedCase>> ListAsync(int take, CancellationToken cancellation = default);

    /// <summary>Why cases were given up, one sentence each; those that were not are left out.</summary>
    /// <param name="caseIds">The cases.</param>
    /// <param name="cancellation">Stops the reading.</param>
    Task<IReadOnlyDictionary<Guid, string>> ReasonsAsync(IReadOnlyList<Guid> caseIds, CancellationToken cancellation = default);

    /// <summary>Asks again for all that was given up.</summary>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>How many.</returns>
    Task<int> AskAgainAsync(CancellationToken cancellation = default);
}
