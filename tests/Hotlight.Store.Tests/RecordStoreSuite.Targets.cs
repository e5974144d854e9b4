using Hotlight.Records;
using Hotlight.Store.Log;

namespace Hotlight.Store.Tests;

/// <summary>Which targets were used when, whatever database is below.</summary>
public abstract partial class RecordStoreSuite
{
    [StoreFact]
    public async Task Log_TargetsOfManyEntries_AreThoseOfOneByOne()
    {
        await OpenAsync();
        ExposureLog log = Log();
        var random = new Random(31);
        List<ExposureEntry> entries = [.. Mixed(600, 31).Select(entry => entry with { TargetExposureIndex = random.Next(6) switch { 0 => null, 1 or 2 => 312.5, _ => 250 } })];
        await log.AddAsync(Import(), entries);
        DateTime middle = entries.Select(entry => entry.ExposedAt).Order().ElementAt(300).Date;

        foreach (LogQuery query in new[] { new LogQuery(), new LogQuery { From = DateOnly.FromDateTime(middle) }, new LogQuery { Rooms = [entries[0].Room] } })
        {
            IEnumerable<TargetUse> expected = entries
                .Where(entry => entry.TargetExposureIndex is not null && entry.Use != ExposureUse.Test)
                .Where(entry => query.From is not { } from || DateOnly.FromDateTime(entry.ExposedAt) >= from)
                .Where(entry => query.Rooms.Count == 0 || query.Rooms.Contains(entry.Room))
                .GroupBy(entry => (entry.Receptor, entry.ProjectionId, Target: entry.TargetExposureIndex!.Value))
                .Select(group => new TargetUse(group.Key.Receptor, group.Key.ProjectionId, group.Key.Target, group.Count(), DateOnly.FromDateTime(group.Min(entry => entry.ExposedAt)), DateOnly.FromDateTime(group.Max(entry => entry.ExposedAt))))
                .OrderBy(use => use.Receptor, StringComparer.Ordinal).ThenBy(use => use.ProjectionId, StringComparer.Ordinal).ThenBy(use => use.First).ThenBy(use => use.Target);

            IReadOnlyList<TargetUse> found = await log.TargetsAsync(query);

            Assert.NotEmpty(found);
            Assert.Equal(expected, found);
        }
    }
}
