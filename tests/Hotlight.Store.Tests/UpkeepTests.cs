using Hotlight.Records;
using Hotlight.Store.Log;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Records;
using Microsoft.Data.Sqlite;

namespace Hotlight.Store.Tests;

public sealed class UpkeepTests : IDisposable
{
    private static readonly DateTimeOffset Time = new(2026, 11, 3, 4, 5, 6, TimeSpan.Zero);
    private readonly string folder = Directory.CreateTempSubdirectory("hotlight-upkeep-").FullName;

    private string Store => Path.Combine(folder, "records.db");

    private string Backup => Path.Combine(folder, "backup.db");

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task BackUpAndRestore_WhileTheStoreIsOpen_GiveBackWhatWasThereThen()
    {
        ExposureLog log = await FilledAsync(3);
        StoreCheck saved = await SqliteUpkeep.BackUpAsync(Store, Backup);
        await log.AddAsync(Import(), [Entry(50)]);
        SqliteConnection.ClearAllPools();

        (StoreCheck found, string? former) = await SqliteUpkeep.RestoreAsync(Backup, Store, replaces: true, Time);

        Assert.Equal((1, 3, 0), (saved.Cases, saved.Entries, saved.Faults.Count));
        Assert.Equal(saved.Entries, found.Entries);
        Assert.Equal(Path.Combine(folder, "records-before-20261103-040506.db"), former);
        await SqliteRecords.OpenAsync(Store, TimeProvider.System);
        Assert.Equal(3, await SqliteRecords.Log(Store, TimeProvider.System).CountEntriesAsync(new LogQuery()));
        Assert.Equal(4, (await SqliteUpkeep.CheckAsync(former!)).Entries);
        Assert.Equal(["backup.db", "records-before-20261103-040506.db", "records.db"], FilesButJournals());
    }

    [Fact]
    public async Task Restore_StoreInUseOrThere_IsRefusedAndChangesNothing()
    {
        await FilledAsync(3);
        await SqliteUpkeep.BackUpAsync(Store, Backup);
        SqliteConnection.ClearAllPools();
        using (SqliteUpkeep.Hold(Store))
        {
            Assert.Contains("in use", (await RefusedAsync(() => SqliteUpkeep.RestoreAsync(Backup, Store, replaces: true, Time))).Message, StringComparison.Ordinal);
        }

        Assert.Contains("--replace", (await RefusedAsync(() => SqliteUpkeep.RestoreAsync(Backup, Store, replaces: false, Time))).Message, StringComparison.Ordinal);
        Assert.Contains("never written over", (await RefusedAsync(() => SqliteUpkeep.BackUpAsync(Store, Backup))).Message, StringComparison.Ordinal);
        Assert.Contains("no records", (await RefusedAsync(() => SqliteUpkeep.CheckAsync(Path.Combine(folder, "none.db")))).Message, StringComparison.Ordinal);
        Assert.Equal(3, (await SqliteUpkeep.CheckAsync(Store)).Entries);
        Assert.Equal(["backup.db", "records.db"], FilesButJournals());
    }

    [Fact]
    public async Task CheckAndRestore_DamagedOrTamperedBackup_AreFoundAndNothingIsReplaced()
    {
        await FilledAsync(200);
        await SqliteUpkeep.BackUpAsync(Store, Backup);
        string tampered = Path.Combine(folder, "tampered.db");
        File.Copy(Backup, tampered);
        await using (var connection = new SqliteConnection($"Data Source={tampered};Pooling=False"))
        {
            await connection.OpenAsync();
            await using SqliteCommand command = connection.CreateCommand();
            command.CommandText = "UPDATE log_days SET n = n + 1 WHERE outcome = 0";
            await command.ExecuteNonQueryAsync();
        }

        // Pages overwritten in the middle, as a failing disk does; the first page, which says what the file is, stays.
        byte[] bytes = await File.ReadAllBytesAsync(Backup);
        bytes.AsSpan(4096 * 8, bytes.Length - (4096 * 8)).Fill(0x5a);
        string damaged = Path.Combine(folder, "damaged.db");
        await File.WriteAllBytesAsync(damaged, bytes);

        Assert.Contains("log_days", Assert.Single((await SqliteUpkeep.CheckAsync(tampered)).Faults), StringComparison.Ordinal);
        Assert.NotEmpty((await SqliteUpkeep.CheckAsync(damaged)).Faults);
        foreach (string bad in new[] { tampered, damaged })
        {
            await RefusedAsync(() => SqliteUpkeep.RestoreAsync(bad, Store, replaces: true, Time));
        }

        Assert.Equal(200, (await SqliteUpkeep.CheckAsync(Store)).Entries);
    }

    private async Task<ExposureLog> FilledAsync(int entries)
    {
        IRecordStore records = await SqliteRecords.OpenAsync(Store, TimeProvider.System);
        await records.AddAsync(NewCase());
        ExposureLog log = SqliteRecords.Log(Store, TimeProvider.System);
        await log.AddAsync(Import(), Enumerable.Range(0, entries).Select(Entry));
        return log;
    }

    private static CaseRecord NewCase() => new()
    {
        Id = Guid.NewGuid(), Title = "Wrist", FileName = "wrist.dcm", ContentHash = new string('a', 64), ContentBytes = 9, ExposureRecordJson = "{}", MeasurementsJson = "{}", MeasuredBy = "0.1.0", Created = Time, Changed = Time,
    };

    private static LogImport Import() => new() { Id = Guid.NewGuid(), Title = "archive" };

    private static ExposureEntry Entry(int number) => new() { Id = Guid.NewGuid(), Key = $"k{number}", ExposedAt = Time.DateTime.AddDays(-number), Room = $"Room {number % 3}", KermaAreaProductDgyCm2 = number };

    private static async Task<StoreRefusedException> RefusedAsync(Func<Task> work) => await Assert.ThrowsAsync<StoreRefusedException>(work);

    private IEnumerable<string> FilesButJournals() => Directory.EnumerateFiles(folder).Select(file => Path.GetFileName(file)!).Where(name => !name.EndsWith("-wal", StringComparison.Ordinal) && !name.EndsWith("-shm", StringComparison.Ordinal)).Order(StringComparer.Ordinal);

    /// <summary>The same on PostgreSQL, by its own programs.</summary>
    public sealed class PostgresUpkeepTests
    {
        [StoreFact]
        public async Task BackUpAndRestore_OfADatabase_GiveBackWhatWasThereThenAndKeepTheFormer()
        {
            string backup = Path.Combine(Path.GetTempPath(), $"hotlight-{Guid.NewGuid():N}.dump");
            string text = PostgresServer.AddressOf(PostgresServer.Instance.NewDatabase());
            var address = PostgresAddress.Parse(text);
            try
            {
                await using (PostgresRecords records = await PostgresRecords.OpenAsync(PostgresAddress.Parse(text), TimeProvider.System))
                {
                    await records.Records.AddAsync(NewCase());
                    await records.Log.AddAsync(Import(), Enumerable.Range(0, 400).Select(Entry));
                    await PostgresUpkeep.BackUpAsync(address, backup);
                    await records.Log.AddAsync(Import(), [Entry(1000)]);
                    Assert.Contains("--replace", (await RefusedAsync(() => PostgresUpkeep.RestoreAsync(backup, address, replaces: false, Time))).Message, StringComparison.Ordinal);
                }

                (StoreCheck found, string? former) = await PostgresUpkeep.RestoreAsync(backup, address, replaces: true, Time);

                Assert.Equal((1, 400, 0, "before_20261103_040506"), (found.Cases, found.Entries, found.Faults.Count, former));
                await using PostgresRecords again = await PostgresRecords.OpenAsync(PostgresAddress.Parse(text), TimeProvider.System);
                Assert.Equal(1, (await again.Log.AddAsync(Import(), [Entry(3), Entry(2000)])).Added);
                Assert.Empty((await PostgresUpkeep.CheckAsync(address)).Faults);
                await File.WriteAllTextAsync(backup, "no backup");
                await RefusedAsync(() => PostgresUpkeep.RestoreAsync(backup, address, replaces: true, Time));
                Assert.Equal(401, (await PostgresUpkeep.CheckAsync(address)).Entries);
            }
            finally
            {
                File.Delete(backup);
            }
        }
    }
}
