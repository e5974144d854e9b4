using System.Diagnostics;
using Hotlight.Core;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Measuring;

/// <summary>The workers of one process on the measuring queue: as many as <see cref="CaseWorkflow.QueuePlaces"/>. They ask for every case that this version, or the clinic's settings of now, did not measure, and measure what is asked for here or elsewhere.</summary>
public sealed class QueueWorkers
{
    // What another process asks for without a word, such as a retry whose pause is over, is seen so late at most.
    private static readonly TimeSpan LookEvery = TimeSpan.FromSeconds(10);

    // Counting a queue of a hundred thousand takes half a second: it is counted a tenth of the time at most.
    private static readonly TimeSpan TellAtMostEvery = TimeSpan.FromMilliseconds(500);
    private const int CountingShare = 10;
    private readonly CaseWorkflow cases;
    private readonly IMeasuringQueue queue;
    private readonly ClinicWorkflow clinic;
    private readonly CaseNews news;
    private readonly TimeProvider clock;
    private readonly Signal toAsk = new();
    private readonly Signal toTake = new();
    private readonly Signal toTell = new();

    /// <summary>Creates the workers; nothing is done before <see cref="RunAsync"/>.</summary>
    /// <param name="cases">Measures.</param>
    /// <param name="queue">What is to be measured.</param>
    /// <param name="clinic">The clinic's settings.</param>
    /// <param name="news">Tells of the queue.</param>
    /// <param name="clock">Tells the time.</param>
    public QueueWorkers(CaseWorkflow cases, IMeasuringQueue queue, ClinicWorkflow clinic, CaseNews news, TimeProvider clock)
    {
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(queue);
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(news);
        ArgumentNullException.ThrowIfNull(clock);
        this.cases = cases;
        this.queue = queue;
        this.clinic = clinic;
        this.news = news;
        this.clock = clock;
    }

    /// <summary>Raised when <see cref="Progress"/> changed.</summary>
    public event Action? Changed;

    /// <summary>Raised when the queue could not be read or written, or a measuring failed in a way of Hotlight's own; it is tried again.</summary>
    public event Action<Exception>? Troubled;

    /// <summary>How much is still to be measured, by all processes together.</summary>
    public MeasuringProgress Progress { get; private set; } = MeasuringProgress.None;

    /// <summary>Name of this process's workers, for the reader of the queue.</summary>
    public static string Name { get; } = $"{Environment.MachineName}, process {Environment.ProcessId}";

    /// <summary>Works until it is stopped; then what is taken is given back.</summary>
    /// <param name="cancellation">Stops it.</param>
    public async Task RunAsync(CancellationToken cancellation)
    {
        news.Beside += OnBeside;
        clinic.Changed += OnSettings;
        try
        {
            await Task.WhenAll(Task.Run(() => AskAsync(cancellation), CancellationToken.None), Task.Run(() => WorkAsync(cancellation), CancellationToken.None), Task.Run(() => TellAsync(cancellation), CancellationToken.None));
        }
        finally
        {
            news.Beside -= OnBeside;
            clinic.Changed -= OnSettings;
        }
    }

    /// <summary>Asks again for what was given up.</summary>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <returns>How many cases.</returns>
    public Task<int> AskAgainAsync(CancellationToken cancellation = default) => queue.AskAgainAsync(cancellation);

    /// <summary>Measures a case that was taken, holding it meanwhile; whatever comes of it is kept with the queue.</summary>
    /// <param name="job">The taking.</param>
    /// <param name="cancellation">Stops it; the case is given back.</param>
    internal async Task DoAsync(MeasuringJob job, CancellationToken cancellation)
    {
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        Task holding = HoldAsync(job, stop);
        try
        {
            await EndAsync(job, await AttemptAsync(job, stop.Token), cancellation);
        }
        catch (Exception error)
        {
            // The store is away: the lease runs out, and the case is taken again.
            Told(error);
        }
        finally
        {
            await stop.CancelAsync();
            await holding;
        }
    }

    private async Task<Exception?> AttemptAsync(MeasuringJob job, CancellationToken cancellation)
    {
        try
        {
            await cases.MeasureAsync(job, queue, cancellation);
            return null;
        }
        catch (Exception error)
        {
            return error;
        }
    }

    private async Task EndAsync(MeasuringJob job, Exception? error, CancellationToken cancellation)
    {
        switch (error)
        {
            case null:
                break;
            case OperationCanceledException or CaseGoneException:
                // Stopped, or the lease is lost, and then nothing is given back; a deleted case that is put back is measured then.
                await queue.ReleaseAsync(job, CancellationToken.None);
                break;
            case UnreadableImageException unreadable:
                await queue.FailAsync(job, unreadable.Message, isFinal: true, CancellationToken.None);
                break;
            case FileNotKeptException missing:
                await queue.FailAsync(job, missing.Message, isFinal: false, CancellationToken.None);
                break;
            default:
                Told(error);
                await queue.FailAsync(job, $"An error of Hotlight itself: {error.Message}", isFinal: false, cancellation);
                break;
        }
    }

    private async Task HoldAsync(MeasuringJob job, CancellationTokenSource stop)
    {
        try
        {
            do
            {
                await Task.Delay(MeasuringJob.LeaseTime / 4, clock, stop.Token);
            }
            while (await ExtendAsync(job, stop.Token));

            // Somebody else has it: what is measured here is not waited for.
            await stop.CancelAsync();
        }
        catch (OperationCanceledException)
        {
            // Done.
        }
    }

    private async Task<bool> ExtendAsync(MeasuringJob job, CancellationToken cancellation)
    {
        try
        {
            return await queue.ExtendAsync(job, cancellation);
        }
        catch (Exception error) when (error is not OperationCanceledException)
        {
            // Whether the lease still holds is seen when the result is kept.
            Told(error);
            return true;
        }
    }

    private async Task AskAsync(CancellationToken cancellation)
    {
        bool isBehind = true;
        while (!cancellation.IsCancellationRequested)
        {
            if (isBehind)
            {
                isBehind = !await TryAsync(async () => { await queue.AskAsync(cases.Target, null, cancellation); }, cancellation);
                toTake.Set();
                toTell.Set();
            }

            isBehind |= await toAsk.WaitAsync(isBehind ? LookEvery : Timeout.InfiniteTimeSpan, cancellation);
        }
    }

    private async Task WorkAsync(CancellationToken cancellation)
    {
        using var places = new SemaphoreSlim(cases.QueuePlaces);
        var inWork = new List<Task>();
        while (!cancellation.IsCancellationRequested)
        {
            try
            {
                await places.WaitAsync(cancellation);
            }
            catch (OperationCanceledException)
            {
                break;
            }

            MeasuringJob? job = null;
            await TryAsync(async () => job = await queue.TakeAsync(cases.Target, Name, cancellation), cancellation);
            if (job is { } taken)
            {
                inWork.RemoveAll(task => task.IsCompleted);
                inWork.Add(Task.Run(
                    async () =>
                    {
                        try
                        {
                            await DoAsync(taken, cancellation);
                        }
                        finally
                        {
                            places.Release();
                        }
                    },
                    CancellationToken.None));
                continue;
            }

            places.Release();
            await toTake.WaitAsync(LookEvery, cancellation);
        }

        await Task.WhenAll(inWork);
    }

    private async Task TellAsync(CancellationToken cancellation)
    {
        while (!cancellation.IsCancellationRequested)
        {
            long start = Stopwatch.GetTimestamp();
            await TryAsync(
                async () =>
                {
                    MeasuringProgress now = await queue.ProgressAsync(cancellation);
                    if (now != Progress)
                    {
                        Progress = now;
                        Listeners.Tell(Changed, listener => listener());
                    }
                },
                cancellation);
            TimeSpan pause = Stopwatch.GetElapsedTime(start) * CountingShare;
            await Task.Delay(pause > TellAtMostEvery ? pause : TellAtMostEvery, cancellation).ContinueWith(_ => { }, TaskScheduler.Default);
            await toTell.WaitAsync(LookEvery, cancellation);
        }
    }

    private async Task<bool> TryAsync(Func<Task> act, CancellationToken cancellation)
    {
        try
        {
            await act();
            return true;
        }
        catch (Exception error)
        {
            if (!cancellation.IsCancellationRequested)
            {
                Told(error);
            }

            return false;
        }
    }

    private void Told(Exception error) => Listeners.Tell(Troubled, listener => listener(error));

    private void OnBeside(StoreTopic topic, Guid about)
    {
        if (topic == StoreTopic.Queue)
        {
            toTake.Set();
            toTell.Set();
        }
    }

    private void OnSettings() => toAsk.Set();

    /// <summary>Wakes one waiting loop; set many times before it looks, it wakes once.</summary>
    private sealed class Signal
    {
        private readonly SemaphoreSlim set = new(0);

        public void Set()
        {
            lock (set)
            {
                if (set.CurrentCount == 0)
                {
                    set.Release();
                }
            }
        }

        /// <summary>Waits until it is set, the time is over or it is stopped.</summary>
        /// <returns>Whether it was set.</returns>
        public async Task<bool> WaitAsync(TimeSpan longest, CancellationToken cancellation)
        {
            try
            {
                return await set.WaitAsync(longest, cancellation);
            }
            catch (OperationCanceledException)
            {
                return false;
            }
        }
    }
}
