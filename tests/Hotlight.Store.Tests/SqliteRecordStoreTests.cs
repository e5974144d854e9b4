using Hotlight.Audit;
using Hotlight.Store.Exchange;
using Hotlight.Store.Log;
using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;

namespace Hotlight.Store.Tests;

public sealed class SqliteRecordStoreTests : RecordStoreSuite, IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("hotlight-store-").FullName;

    private string fileName = "records.db";

    private string FilePath => Path.Combine(folder, fileName);

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task OpenAsync_NewFile_JournalIsWriteAheadAndCommitsAreFlushed()
    {
        await OpenAsync();
        await using var context = new SqliteRecordContext(SqliteRecords.Options(FilePath));
        await context.Database.OpenConnectionAsync();

        // SQLite's documentation of PRAGMA synchronous: FULL is 2.
        Assert.Equal("wal", await PragmaAsync(context, "journal_mode"));
        Assert.Equal("2", await PragmaAsync(context, "synchronous"));
        Assert.Equal("1", await PragmaAsync(context, "foreign_keys"));
    }

    [Fact]
    public void Migrations_AgainstTheModel_NoneIsMissing()
    {
        using var context = new SqliteRecordContext(SqliteRecords.Options(FilePath));
        Assert.False(context.Database.HasPendingModelChanges());
        Assert.NotEmpty(context.Database.GetMigrations());
    }

    [Theory]
    [InlineData(null)]
    [InlineData("FirstRecords")]
    public async Task OpenAsync_AfterAProgramWasKilledWhileItOpened_DoesNotWaitForIt(string? version)
    {
        // What a killed program leaves: its mark that a migration is under way.
        await using (var killed = new SqliteRecordContext(SqliteRecords.Options(FilePath)))
        {
            await killed.GetService<IMigrator>().MigrateAsync(version);
            await killed.Database.ExecuteSqlRawAsync("INSERT INTO \"__EFMigrationsLock\" VALUES (1, '2026-11-27 07:09:04')");
        }

        // Without an end to the waiting it would wait for good.
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(2));
        IRecordStore store = await SqliteRecords.OpenAsync(FilePath, Clock, null, patience.Token);

        await store.AddAsync(NewCase());
        await using var context = new SqliteRecordContext(SqliteRecords.Options(FilePath));
        Assert.Empty(await context.Database.GetPendingMigrationsAsync());
    }

    [Fact]
    public async Task OpenAsync_FileOfAnEarlierVersion_IsCopiedBeforeSoThatTheEarlierVersionCanGoOn()
    {
        await using (var earlier = new SqliteRecordContext(SqliteRecords.Options(FilePath)))
        {
            await earlier.GetService<IMigrator>().MigrateAsync("FirstRecords");
            await InsertFirstAsync(earlier, Guid.NewGuid(), "Wrist", "wrist.dcm", isInvented: false, steps: 1, deleted: null);
        }

        SqliteConnection.ClearAllPools();
        for (int opening = 0; opening < 2; opening++)
        {
            await OpenAsync();
        }

        string copy = Assert.Single(Directory.GetFiles(folder, "records-before-upgrade-*.db"));
        await using (var context = new SqliteRecordContext(SqliteRecords.Options(copy)))
        {
            Assert.Equal("FirstRecords", Assert.Single(await context.Database.GetAppliedMigrationsAsync())[15..]);
        }

        // The way back, and forth again: the copy in the store's place holds what was there before.
        (StoreCheck found, string? former) = await SqliteUpkeep.RestoreAsync(copy, FilePath, replaces: true, Clock.GetUtcNow());
        Assert.Equal((1L, 0), (found.Cases, found.Faults.Count));
        Assert.NotNull(former);
        Assert.Equal(1, await (await OpenAsync()).CountAsync());
    }

    [Fact]
    public async Task OpenAsync_UpgradeThatWasKilledHalfway_GoesOnWithTheCopyOfBeforeTheFirstAttempt()
    {
        await using (var earlier = new SqliteRecordContext(SqliteRecords.Options(FilePath)))
        {
            await earlier.GetService<IMigrator>().MigrateAsync("FirstRecords");
        }

        // What a kill between two steps leaves: the copy, the mark that names it, and a store brought up by half.
        string copy = Path.Combine(folder, "records-before-upgrade-20261101-000000.db");
        await SqliteUpkeep.BackUpAsync(FilePath, copy);
        await File.WriteAllTextAsync(FilePath + "-opening", Path.GetFileName(copy));
        await File.WriteAllTextAsync(Path.Combine(folder, "records-before-upgrade-20261101-000001.db.part"), "half a copy");
        await using (var half = new SqliteRecordContext(SqliteRecords.Options(FilePath)))
        {
            await half.GetService<IMigrator>().MigrateAsync("ExposureLog");
        }

        SqliteConnection.ClearAllPools();
        await OpenAsync();

        Assert.Equal([copy], Directory.GetFiles(folder, "records-before-upgrade-*.db"));
        Assert.False(File.Exists(FilePath + "-opening"));
    }

    [Fact]
    public async Task OpenAsync_FileOfALaterVersion_IsRefusedAndLeftAlone()
    {
        await OpenAsync();
        await TamperAsync("INSERT INTO \"__EFMigrationsHistory\" VALUES ('99990101000000_Later', '99.0')");

        FileNotKeptException refused = await Assert.ThrowsAsync<FileNotKeptException>(OpenAsync);

        Assert.Contains("was made by a later version", refused.Message, StringComparison.Ordinal);
        Assert.Equal(1, await TamperAsync("DELETE FROM \"__EFMigrationsHistory\" WHERE \"MigrationId\" = '99990101000000_Later'"));
        await OpenAsync();
    }

    [Fact]
    public async Task OpenAsync_ManyAtOnceOfANewFile_AllOpenIt()
    {
        IRecordStore[] stores = await Task.WhenAll(Enumerable.Range(0, 6).Select(_ => Task.Run(() => SqliteRecords.OpenAsync(FilePath, Clock))));

        CaseRecord record = await stores[0].AddAsync(NewCase());
        Assert.All(await Task.WhenAll(stores.Select(store => store.FindAsync(record.Id))), found => Assert.Equal(record, found));
    }

    [Fact]
    public async Task OpenAsync_FileThatIsNoDatabase_SaysSoAndLeavesItAlone()
    {
        await File.WriteAllTextAsync(FilePath, "this is a letter, not a database, and it is long enough to be looked at");

        FileNotKeptException error = await Assert.ThrowsAsync<FileNotKeptException>(OpenAsync);

        Assert.Contains("cannot be opened", error.Message, StringComparison.Ordinal);
        Assert.StartsWith("this is a letter", await File.ReadAllTextAsync(FilePath), StringComparison.Ordinal);
    }

    [Fact]
    public async Task KeepAnswersAsync_Acknowledged_IsSeenByAnotherConnectionAtOnce()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord record = await store.AddAsync(NewCase());
        await store.KeepAnswersAsync(record.Id, record.Version, new AnswerStep { AnswersJson = "{\"kept\":true}", Label = "kept" });

        await using var connection = new SqliteConnection($"Data Source={FilePath};Mode=ReadOnly;Pooling=False");
        await connection.OpenAsync();
        await using SqliteCommand command = connection.CreateCommand();
        command.CommandText = "SELECT AnswersJson FROM CaseDocuments";
        Assert.Equal("{\"kept\":true}", await command.ExecuteScalarAsync());
    }

    [Fact]
    public async Task OpenAsync_FileOfTheFirstVersion_KeepsEveryCaseWithAnswersAndHistory()
    {
        var own = Guid.NewGuid();
        var demo = Guid.NewGuid();
        var lab = Guid.NewGuid();
        var deleted = Guid.NewGuid();
        await using (var first = new SqliteRecordContext(SqliteRecords.Options(FilePath)))
        {
            await first.GetService<IMigrator>().MigrateAsync("FirstRecords");
            await InsertFirstAsync(first, own, "Größe: wrist", "wrist.dcm", isInvented: false, steps: 2, deleted: null);
            await InsertFirstAsync(first, demo, "Demo", "demo-01.dcm", isInvented: true, steps: 0, deleted: null);
            await InsertFirstAsync(first, lab, "Lab", "phantom-lab-1.dcm", isInvented: true, steps: 0, deleted: null);
            await InsertFirstAsync(first, deleted, "Deleted", "old.dcm", isInvented: false, steps: 1, deleted: Clock.GetUtcNow().UtcTicks);
        }

        IRecordStore store = await OpenAsync();

        CaseRecord kept = (await store.FindAsync(own))!;
        Assert.Equal(("{\"tubeVoltageKvp\":55}", "{\"measured\":true}", "{\"step\":2}", "repeat"), (kept.ExposureRecordJson, kept.MeasurementsJson, kept.AnswersJson, kept.Verdict));
        Assert.Equal((CaseState.InWork, CaseOrigin.Upload, 1, "two"), (kept.State, kept.ReceivedBy, kept.FilingVersion, kept.UndoLabel));
        Assert.Equal([(1, (Guid?)null), (2, null)], (await store.StepsAsync(own)).Select(each => (each.Number, each.GivenBy)));
        Assert.Equal(["{\"step\":1}"], [(await store.StepAnswersAsync(own, kept.Version, AnswerStepDirection.Undo)).AnswersJson]);
        Assert.Equal([own, lab, demo], (await store.ListAsync(0, 10)).Select(each => each.Id));
        Assert.Equal([(CaseOrigin.Lab, CaseState.New), (CaseOrigin.Demo, CaseState.New)], (await store.ListAsync(1, 2)).Select(each => (each.ReceivedBy, each.State)));
        Assert.Single(await store.ListAsync(new WorklistQuery { Words = [new SearchWord("GRÖßE", [])] }, 0, 10));
        Assert.True(await store.RestoreAsync(deleted));
        Assert.Equal("{\"step\":1}", (await store.FindAsync(deleted))!.AnswersJson);
    }

    [Theory]
    [InlineData("WorklistAndClinic")]
    [InlineData("WorklistIndexes")]
    [InlineData("ExposureLog")]
    public async Task OpenAsync_FileOfALaterVersion_KeepsEveryCaseAndTakesExposures(string version)
    {
        var id = Guid.NewGuid();
        var person = Guid.NewGuid();
        await using (var earlier = new SqliteRecordContext(SqliteRecords.Options(FilePath)))
        {
            await earlier.GetService<IMigrator>().MigrateAsync("FirstRecords");
            await InsertFirstAsync(earlier, id, "Wrist", "wrist.dcm", isInvented: false, steps: 2, deleted: null);
            await earlier.GetService<IMigrator>().MigrateAsync(version);
            await earlier.Database.ExecuteSqlAsync($"INSERT INTO People (Id, Pseudonym, Role, IsActive) VALUES ({person}, 'Heron', 0, 1)");
            await earlier.Database.ExecuteSqlAsync($"UPDATE Cases SET AssigneeId = {person}, Priority = 1, Tags = 'rotated'");
            await earlier.Database.ExecuteSqlAsync($$"""INSERT INTO ClinicVersions (Number, SettingsJson, Label, Changed) VALUES (1, '{"rooms":[]}', 'rooms', {{Start.UtcTicks}})""");
        }

        CaseRecord kept = (await (await OpenAsync()).FindAsync(id))!;

        Assert.Equal(("{\"step\":2}", "two", person, CasePriority.High, "rotated"), (kept.AnswersJson, kept.UndoLabel, kept.AssigneeId, kept.Priority, kept.Tags));
        Assert.Equal("{\"rooms\":[]}", (await Clinic().NewestAsync())!.SettingsJson);
        Assert.Equal(1, (await Log().AddAsync(Import(), [FullEntry("k")])).Added);
        Assert.Empty((await Log().CheckAsync()).Faults);
    }

    [Fact]
    public async Task Migrations_BackToTheFirst_LeaveTheLongTextsInTheirPlace()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord record = await store.AddAsync(NewCase());
        await store.KeepAnswersAsync(record.Id, record.Version, new AnswerStep { AnswersJson = "{\"kept\":true}", Label = "kept" });

        await using var context = new SqliteRecordContext(SqliteRecords.Options(FilePath));
        await context.GetService<IMigrator>().MigrateAsync("FirstRecords");
        await context.Database.OpenConnectionAsync();
        await using System.Data.Common.DbCommand command = context.Database.GetDbConnection().CreateCommand();
        command.CommandText = "SELECT AnswersJson || ExposureRecordJson FROM Cases";
        Assert.Equal("{\"kept\":true}{\"tubeVoltageKvp\":55}", await command.ExecuteScalarAsync());
        command.CommandText = "SELECT COUNT(*) FROM AnswerSteps";
        Assert.Equal(1L, await command.ExecuteScalarAsync());
    }

    // As the first version wrote it: texts in the row, times as UTC ticks.
    private static async Task InsertFirstAsync(SqliteRecordContext context, Guid id, string title, string fileName, bool isInvented, int steps, long? deleted)
    {
        long time = Start.UtcTicks;
        await context.Database.ExecuteSqlAsync($$"""
            INSERT INTO Cases (Id, Title, FileName, ContentHash, ContentBytes, ProjectionId, ExposureRecordJson, MeasurementsJson, MeasuredBy, AnswersJson, Verdict,
                AnswerStep, LastAnswerStep, Version, IsInvented, FileCarriesPatientIdentity, Created, Changed, Deleted)
            VALUES ({{id}}, {{title}}, {{fileName}}, {{new string('a', 64)}}, 9, 'wrist-pa', '{"tubeVoltageKvp":55}', '{"measured":true}', '0.1.0', {{$"{{\"step\":{steps}}}"}}, 'repeat',
                {{steps}}, {{steps}}, {{steps + 1}}, {{isInvented}}, 0, {{time}}, {{time}}, {{deleted}});
            """);
        for (int step = 1; step <= steps; step++)
        {
            await context.Database.ExecuteSqlAsync($$"""
                INSERT INTO AnswerSteps (CaseId, Step, AnswersJson, Verdict, Label, MergeKey, Given)
                VALUES ({{id}}, {{step}}, {{$"{{\"step\":{step}}}"}}, 'repeat', {{(step == 1 ? "one" : "two")}}, NULL, {{time}});
                """);
        }
    }

    protected override Task<IRecordStore> OpenAsync() => SqliteRecords.OpenAsync(FilePath, Clock);

    protected override IClinicStore Clinic() => SqliteRecords.Clinic(FilePath, Clock);

    protected override ExposureLog Log() => SqliteRecords.Log(FilePath, Clock);

    protected override OpenStore Exchange() => SqliteRecords.Exchange(FilePath);

    protected override Task<IRecordStore> OpenAnotherAsync()
    {
        fileName = $"another-{fileName}";
        return OpenAsync();
    }

    protected override IReadingStore Readings() => SqliteRecords.Readings(FilePath, Clock);

    protected override IMeasuringQueue Queue() => SqliteRecords.Queue(FilePath, Clock);

    protected override IAuditStore Trail() => SqliteRecords.Trail(FilePath);

    protected override async Task<int> TamperAsync(string sql)
    {
        await using var context = new SqliteRecordContext(SqliteRecords.Options(FilePath));
        return await context.Database.ExecuteSqlRawAsync(sql);
    }

    protected override ILessonStore Lessons() => SqliteRecords.Lessons(FilePath, Clock);

    protected override IAccountStore Accounts() => SqliteRecords.Accounts(FilePath);

    protected override async Task MigrateAsync(string? version)
    {
        await using var context = new SqliteRecordContext(SqliteRecords.Options(FilePath));
        await context.GetService<IMigrator>().MigrateAsync(version);
    }

    protected override async Task RunSqlAsync(string sql)
    {
        await using var context = new SqliteRecordContext(SqliteRecords.Options(FilePath));
        await context.Database.ExecuteSqlRawAsync(sql);
    }

    private static async Task<string?> PragmaAsync(DbContext context, string name)
    {
        await using System.Data.Common.DbCommand command = context.Database.GetDbConnection().CreateCommand();
        command.CommandText = $"PRAGMA {name};";
        return (await command.ExecuteScalarAsync())?.ToString();
    }
}
