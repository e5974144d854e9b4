using System.Data.Common;
using System.Globalization;
using Hotlight.Records;

namespace Hotlight.Store.Log;

/// <summary>Looking over the log: are the sums what the entries give?</summary>
public abstract partial class ExposureLog
{
    /// <summary>Works every summary out anew from the entries and compares; and looks over what stands in an entry's row beside what was told.</summary>
    /// <param name="cancellation">Stops the looking.</param>
    public async Task<LogCheck> CheckAsync(CancellationToken cancellation = default)
    {
        var faults = new List<string>();
        await using LogConnection log = await OpenLogAsync(cancellation);

        // All of it at one moment: writers may be at work.
        await log.BeginReadingAsync(cancellation);
        foreach (LogSummary summary in LogSummary.All)
        {
            string keys = string.Join(", ", summary.KeyColumns.Prepend("site"));
            IReadOnlyList<string> sums = summary.SumColumns;
            string wrong = string.Join(" OR ", sums.Select(sum => $"SUM({sum}) <> 0"));
            await using DbCommand command = log.Command($"""
                SELECT COUNT(*) FROM (
                  SELECT {keys} FROM (
                    SELECT {keys}, {string.Join(", ", sums)} FROM log_facts
                    UNION ALL
                    SELECT {keys}, {string.Join(", ", sums.Select(sum => $"-{sum}"))} FROM {summary.Table}
                  ) AS parts GROUP BY {keys} HAVING {wrong}
                ) AS differing
                """);
            long rows = Convert.ToInt64(await command.ExecuteScalarAsync(cancellation), CultureInfo.InvariantCulture);
            if (rows > 0)
            {
                faults.Add($"{rows} sums of {summary.Table} are not what the entries give.");
            }
        }

        (long entries, string? fault) = await CheckRowsAsync(log, cancellation);
        return new LogCheck(entries, fault is null ? faults : [.. faults, fault]);
    }

    /// <summary>Works every summary out anew from the entries and keeps that, in one step; writers wait meanwhile.</summary>
    /// <param name="cancellation">Stops before anything is kept.</param>
    public async Task RecountAsync(CancellationToken cancellation = default)
    {
        await using LogConnection log = await OpenLogAsync(cancellation);
        await log.BeginAsync(cancellation);
        await HoldWritersOffAsync(log, cancellation);
        foreach (LogSummary summary in LogSummary.All)
        {
            await EmptyAsync(log, summary.Table, cancellation);
            await using DbCommand command = log.Command(summary.AddingStatement("1 = 1"));
            await command.ExecuteNonQueryAsync(cancellation);
        }

        cancellation.ThrowIfCancellationRequested();
        await log.CommitAsync(cancellation);
        await AfterAddingAsync(log, long.MaxValue, CancellationToken.None);
    }

    /// <summary>Holds off whoever changes entries until the transaction ends.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="cancellation">Stops the waiting.</param>
    protected abstract Task HoldWritersOffAsync(LogConnection log, CancellationToken cancellation);

    /// <summary>Takes all rows out of a table of sums.</summary>
    /// <param name="log">The connection.</param>
    /// <param name="table">Its name.</param>
    /// <param name="cancellation">Stops it.</param>
    protected abstract Task EmptyAsync(LogConnection log, string table, CancellationToken cancellation);

    private static async Task<(long Entries, string? Fault)> CheckRowsAsync(LogConnection log, CancellationToken cancellation)
    {
        long entries = 0;
        long wrong = 0;
        await using DbCommand command = log.Command("SELECT exposed_at, day, month, exposure_use, reason, outcome, deviation_index, bin FROM log_entries");
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            entries++;
            var day = DateOnly.FromDateTime(new DateTime(reader.GetInt64(0)));
            int reason = reader.GetInt32(4);
            bool isRight = day.DayNumber == reader.GetInt32(1) && EntryColumns.MonthOf(day) == reader.GetInt32(2)
                && EntryColumns.OutcomeOf((ExposureUse)reader.GetInt32(3), reason == 0 ? null : (RejectReason)reason) == reader.GetInt32(5)
                && EntryColumns.BinOf(reader.IsDBNull(6) ? null : reader.GetDouble(6)) == reader.GetInt32(7);
            wrong += isRight ? 0 : 1;
        }

        return (entries, wrong == 0 ? null : $"{wrong} entries have a day, month, outcome or bin that is not their own.");
    }
}

/// <summary>What looking over the log found.</summary>
/// <param name="Entries">How many entries there are.</param>
/// <param name="Faults">What is wrong, a sentence each; empty: nothing.</param>
public sealed record LogCheck(long Entries, IReadOnlyList<string> Faults);
