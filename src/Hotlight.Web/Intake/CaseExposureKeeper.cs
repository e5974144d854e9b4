using System.Collections.Concurrent;
using System.Globalization;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Records;

namespace Hotlight.Web.Intake;

/// <summary>Keeps cases in the department's records shortly after they change; what changed while the bench was not running is caught up with at the start.</summary>
internal sealed class CaseExposureKeeper(CaseExposures exposures, IRecordStore records, CaseNews news, TimeProvider clock, ILogger<CaseExposureKeeper> log) : BackgroundService
{
    /// <summary>Name of the fact that says up to which change cases are in the records.</summary>
    public const string Fact = "exposures-of-cases";

    private const int Page = 200;
    private static readonly TimeSpan Soon = TimeSpan.FromSeconds(2);
    private readonly ConcurrentDictionary<Guid, bool> changed = [];

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        news.Happened += OnHappened;
        await Task.Yield();
        bool isBehind = true;
        try
        {
            while (!stoppingToken.IsCancellationRequested)
            {
                try
                {
                    if (isBehind)
                    {
                        await CatchUpAsync(stoppingToken);
                        isBehind = false;
                    }

                    await KeepChangedAsync(stoppingToken);
                }
                catch (Exception error) when (error is not OperationCanceledException)
                {
                    // The cases stand in the store: they are caught up with.
                    log.LogError(error, "Cases could not be kept in the records of exposures.");
                    isBehind = true;
                    await Task.Delay(TimeSpan.FromMinutes(1), stoppingToken);
                }

                await Task.Delay(Soon, stoppingToken);
            }
        }
        catch (OperationCanceledException)
        {
            // The bench stops; the next start catches up.
        }
        finally
        {
            news.Happened -= OnHappened;
        }
    }

    private void OnHappened(Guid id, CaseEvent what, int version)
    {
        if (what is CaseEvent.Added or CaseEvent.Changed or CaseEvent.PutBack)
        {
            changed[id] = true;
        }
    }

    private async Task KeepChangedAsync(CancellationToken stoppingToken)
    {
        Guid[] ids = [.. changed.Keys];
        if (ids.Length == 0)
        {
            return;
        }

        foreach (Guid id in ids)
        {
            changed.TryRemove(id, out _);
        }

        DateTimeOffset newest = DateTimeOffset.MinValue;
        foreach (Guid id in ids)
        {
            newest = await records.FindAsync(id, stoppingToken) is { } record && record.Changed > newest ? record.Changed : newest;
        }

        await exposures.KeepAsync(ids, stoppingToken);
        if (newest > await KnownAsync(stoppingToken))
        {
            await records.KeepFactAsync(Fact, newest.ToString("O", CultureInfo.InvariantCulture), stoppingToken);
        }
    }

    private async Task CatchUpAsync(CancellationToken stoppingToken)
    {
        DateTimeOffset known = await KnownAsync(stoppingToken), newest = known;
        var query = new WorklistQuery { Sort = WorklistSort.Changed, IsDescending = true };
        for (int skip = 0; ; skip += Page)
        {
            IReadOnlyList<CaseSummary> some = await records.ListAsync(query, skip, Page, stoppingToken);
            CaseSummary[] later = [.. some.Where(each => each.Changed > known)];
            await exposures.KeepAsync([.. later.Where(each => each.Verdict is not null).Select(each => each.Id)], stoppingToken);
            newest = later.Length > 0 && later[0].Changed > newest ? later[0].Changed : newest;
            if (later.Length < Page)
            {
                break;
            }
        }

        if (newest > known)
        {
            await records.KeepFactAsync(Fact, newest.ToString("O", CultureInfo.InvariantCulture), stoppingToken);
        }
    }

    private async Task<DateTimeOffset> KnownAsync(CancellationToken stoppingToken)
        => DateTimeOffset.TryParseExact(await records.FindFactAsync(Fact, stoppingToken), "O", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateTimeOffset known)

            // A time to come was written before the clock was put back: from it nothing can be told.
            && known <= clock.GetUtcNow() ? known : DateTimeOffset.MinValue;
}
