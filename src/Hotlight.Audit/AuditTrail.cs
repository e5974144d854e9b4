using System.Globalization;
using System.Threading.Channels;
using Hotlight.Core;

namespace Hotlight.Audit;

/// <summary>Keeps events in a store. Many that are told at the same time are kept in one transaction; each teller waits until its own is kept.</summary>
public sealed class AuditTrail : IAuditTrail, IAsyncDisposable
{
    /// <summary>Name of the key's file in the data folder.</summary>
    public const string KeyFileName = "audit.key";

    /// <summary>Name of the file in the data folder that knows the newest entry: number, a space, seal.</summary>
    public const string HeadFileName = "audit.head";

    /// <summary>Length of the key, in bytes.</summary>
    public const int KeyBytes = 32;

    private const int MostAtOnce = 500;

    private readonly Channel<Told> waiting = Channel.CreateUnbounded<Told>(new UnboundedChannelOptions { SingleReader = true });
    private readonly IAuditStore store;
    private readonly TimeProvider clock;
    private readonly byte[] key;
    private readonly string headPath;
    private readonly Task working;

    /// <summary>Opens the trail.</summary>
    /// <param name="store">Where the entries lie.</param>
    /// <param name="folder">The data folder, with the key and what is known of the newest entry.</param>
    /// <param name="clock">Tells the time.</param>
    /// <exception cref="AuditRefusedException">The key cannot be read or made.</exception>
    public AuditTrail(IAuditStore store, string folder, TimeProvider clock)
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentException.ThrowIfNullOrWhiteSpace(folder);
        ArgumentNullException.ThrowIfNull(clock);
        (this.store, this.clock) = (store, clock);
        headPath = Path.Combine(folder, HeadFileName);
        try
        {
            key = KeyFile.Open(Path.Combine(folder, KeyFileName), KeyBytes);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new AuditRefusedException($"The key of the audit trail, {KeyFileName} in the data folder, cannot be read or made: {error.Message}", error);
        }

        working = Task.Run(WorkAsync);
    }

    /// <inheritdoc/>
    public async Task TellAsync(AuditEvent told, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(told);
        var kept = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        if (!waiting.Writer.TryWrite(new Told(told, told.By ?? AuditActor.Current, clock.GetUtcNow(), kept)))
        {
            throw new AuditRefusedException("The bench is stopping; nothing more is noted in the audit trail.");
        }

        await kept.Task.WaitAsync(cancellation);
    }

    /// <summary>Compares the store with what the data folder knows of the newest entry, and notes it where that is missing: newest entries were removed, or older records were restored.</summary>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>One sentence where it is missing; null: nothing is.</returns>
    public async Task<string?> CompareHeadAsync(CancellationToken cancellation = default)
    {
        if (Head() is not { } head)
        {
            return null;
        }

        AuditEntry? same = null;
        AuditEntry? newest = null;
        await foreach (AuditEntry each in store.ReadAsync(new AuditQuery { Newest = 1 }, cancellation))
        {
            newest = each;
        }

        if (newest is not null && newest.Number >= head.Number)
        {
            await foreach (AuditEntry each in store.ReadAsync(new AuditQuery { Number = head.Number }, cancellation))
            {
                same = each;
            }

            // What policy has removed since is not there and need not be.
            if (same is null || same.Seal == head.Seal)
            {
                return null;
            }
        }

        string detail = string.Create(CultureInfo.InvariantCulture, $"the trail ended at {newest?.Number ?? 0}, the data folder knew of {head.Number}, whose seal was {head.Seal}");
        await TellAsync(new AuditEvent(AuditAct.TrailUsed, AuditSubject.Trail, detail: detail) { IsFailure = true, By = AuditActor.Bench }, cancellation);
        return $"The audit trail is not the one that the data folder knows: {detail}. Either the newest entries were removed, or older records were restored. This is noted in the trail.";
    }

    /// <summary>Looks the whole trail over.</summary>
    /// <param name="cancellation">Stops it.</param>
    public Task<AuditCheck> CheckAsync(CancellationToken cancellation = default) => AuditCheck.OfAsync(key, store.ReadAsync(new AuditQuery(), cancellation), Head(), cancellation);

    /// <summary>Reads entries.</summary>
    /// <param name="query">Which.</param>
    /// <param name="cancellation">Stops it.</param>
    public IAsyncEnumerable<AuditEntry> ReadAsync(AuditQuery query, CancellationToken cancellation = default) => store.ReadAsync(query, cancellation);

    /// <summary>Removes what is older than the clinic's policy keeps.</summary>
    /// <param name="keep">How long entries are kept; at least a day.</param>
    /// <param name="cancellation">Stops before anything is removed.</param>
    /// <returns>How many were removed.</returns>
    public async Task<long> RetainAsync(TimeSpan keep, CancellationToken cancellation = default)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(keep, TimeSpan.FromDays(1));
        DateTimeOffset now = clock.GetUtcNow();
        (long removed, AuditEntry? entry) = await store.RetainAsync(key, now - keep, now, cancellation);
        if (entry is not null)
        {
            Know(entry);
        }

        return removed;
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        waiting.Writer.TryComplete();
        await working;
    }

    private async Task WorkAsync()
    {
        var batch = new List<Told>();
        while (await waiting.Reader.WaitToReadAsync())
        {
            batch.Clear();
            while (batch.Count < MostAtOnce && waiting.Reader.TryRead(out Told? next))
            {
                batch.Add(next);
            }

            try
            {
                Know(await store.AppendAsync(key, [.. batch.Select(each => (each.Event, each.By, each.At))]));
                batch.ForEach(each => each.Kept.SetResult());
            }
            catch (Exception error)
            {
                var refused = new AuditRefusedException("The act cannot be noted in the audit trail, so it was not done. Is the disk full or the database away?", error);
                batch.ForEach(each => each.Kept.SetException(refused));
            }
        }
    }

    private (long Number, string Seal)? Head()
    {
        try
        {
            string[] parts = File.ReadAllText(headPath).Trim().Split(' ');
            return parts.Length == 2 && parts[1].Length == AuditSeal.Digits && long.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out long number) ? (number, parts[1]) : null;
        }
        catch (Exception error) when (error is FileNotFoundException or DirectoryNotFoundException)
        {
            return null;
        }
    }

    // A help for finding a cut trail, not a part of it: where it cannot be written, the entry is kept all the same.
    private void Know(AuditEntry newest)
    {
        string unfinished = $"{headPath}.{Environment.ProcessId}.part";
        try
        {
            File.WriteAllText(unfinished, string.Create(CultureInfo.InvariantCulture, $"{newest.Number} {newest.Seal}\n"));
            File.Move(unfinished, headPath, overwrite: true);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            File.Delete(unfinished);
        }
    }

    private sealed record Told(AuditEvent Event, AuditActor By, DateTimeOffset At, TaskCompletionSource Kept);
}
