using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Cases;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store.Tests;

public sealed class SqliteRecordStoreTests : RecordStoreSuite, IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("hotlight-store-").FullName;

    private string FilePath => Path.Combine(folder, "records.db");

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
        command.CommandText = "SELECT AnswersJson FROM Cases";
        Assert.Equal("{\"kept\":true}", await command.ExecuteScalarAsync());
    }

    protected override Task<IRecordStore> OpenAsync() => SqliteRecords.OpenAsync(FilePath, Clock);

    private static async Task<string?> PragmaAsync(DbContext context, string name)
    {
        await using System.Data.Common.DbCommand command = context.Database.GetDbConnection().CreateCommand();
        command.CommandText = $"PRAGMA {name};";
        return (await command.ExecuteScalarAsync())?.ToString();
    }
}
