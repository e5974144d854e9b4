using System.Xml.Linq;
using Hotlight.Audit;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Microsoft.Data.Sqlite;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class AuditCommandTests : IAsyncLifetime
{
    private readonly ScratchFolder folder = new();

    private string Store => Path.Combine(folder["data"], "records.db");

    public async Task InitializeAsync()
    {
        Directory.CreateDirectory(folder["data"]);
        await SqliteRecords.OpenAsync(Store, TimeProvider.System);
        await using var trail = new AuditTrail(SqliteRecords.Trail(Store), folder["data"], TimeProvider.System);
        await trail.TellAsync(new AuditEvent(AuditAct.Looked, AuditSubject.Case, "case-1") { By = new AuditActor("Turnstone", Role: "reader") });
        await trail.TellAsync(new AuditEvent(AuditAct.Deleted, AuditSubject.Case, "case-2"));
    }

    public Task DisposeAsync()
    {
        SqliteConnection.ClearAllPools();
        folder.Dispose();
        return Task.CompletedTask;
    }

    [Fact]
    public void Check_WholeTrail_SaysSoAndGivesTheSealToKeep()
    {
        CommandLineCall call = CommandLineCall.Run("audit", "check", "--data", folder["data"]);
        Assert.Equal(0, call.ExitStatus);
        Assert.Contains("2 entries, 1 to 2: every seal fits, none is missing.", call.Output, StringComparison.Ordinal);
        string head = call.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries)[^1];

        Assert.Equal(0, CommandLineCall.Run("audit", "check", "--head", head, "--data", folder["data"]).ExitStatus);
        CommandLineCall other = CommandLineCall.Run("audit", "check", "--head", "2:" + new string('a', 64), "--data", folder["data"]);
        Assert.NotEqual(0, other.ExitStatus);
        Assert.Contains("written anew", other.Output, StringComparison.Ordinal);
        Assert.NotEqual(0, CommandLineCall.Run("audit", "check", "--head", "two", "--data", folder["data"]).ExitStatus);
    }

    [Fact]
    public void Store_BackedUpExportedOrReplaced_IsNotedBefore()
    {
        Assert.Equal(0, CommandLineCall.Run("store", "backup", folder["night.backup"], "--data", folder["data"]).ExitStatus);
        Assert.Equal(0, CommandLineCall.Run("store", "export", folder["out"], "--format", "jsonl", "--data", folder["data"]).ExitStatus);
        string list = CommandLineCall.Run("audit", "list", "--data", folder["data"]).Output;
        Assert.Matches(@"Exported +Store, a backup, night\.backup +by command line,", list);
        Assert.Matches(@"Exported +Store, everything as jsonl, out +by command line,", list);

        // What is replaced says by what; it is kept beside.
        SqliteConnection.ClearAllPools();
        CommandLineCall restored = CommandLineCall.Run("store", "restore", folder["night.backup"], "--replace", "--data", folder["data"]);
        Assert.Equal(0, restored.ExitStatus);
        string former = Directory.EnumerateFiles(folder["data"], "records*.db*").Single(file => Path.GetFileName(file) != "records.db" && !file.EndsWith("-wal", StringComparison.Ordinal) && !file.EndsWith("-shm", StringComparison.Ordinal));
        Directory.CreateDirectory(folder["former"]);
        File.Copy(former, Path.Combine(folder["former"], "records.db"));
        Assert.Matches(@"Changed +Store, replaced by the backup night\.backup", CommandLineCall.Run("audit", "list", "--data", folder["former"]).Output);
    }

    [Fact]
    public async Task Check_EntryChangedByWhoeverTookTheTriggersAway_NamesIt()
    {
        await using (var connection = new SqliteConnection($"Data Source={Store};Pooling=False"))
        {
            await connection.OpenAsync();
            await using SqliteCommand command = connection.CreateCommand();
            command.CommandText = "DROP TRIGGER AuditEntries_unchanged; UPDATE AuditEntries SET SubjectId = 'case-9' WHERE Number = 2";
            Assert.Equal(1, await command.ExecuteNonQueryAsync());
        }

        CommandLineCall call = CommandLineCall.Run("audit", "check", "--data", folder["data"]);

        Assert.NotEqual(0, call.ExitStatus);
        Assert.Contains("Entry 2 of ", call.Output, StringComparison.Ordinal);
        Assert.Contains("was changed: its seal does not fit", call.Output, StringComparison.Ordinal);
        Assert.Contains("not whole: 1 fault", call.Errors, StringComparison.Ordinal);
    }

    [Fact]
    public void List_NewestOfACase_AndOfAPerson()
    {
        string all = CommandLineCall.Run("audit", "list", "--data", folder["data"]).Output;
        Assert.Contains("Looked         Case case-1  by Turnstone (reader)", all, StringComparison.Ordinal);
        Assert.Contains("TrailUsed      Trail, listed  by command line, ", all, StringComparison.Ordinal);

        string one = Assert.Single(CommandLineCall.Run("audit", "list", "--case", "CASE-2", "--json", "--data", folder["data"]).Output.Split('\n', StringSplitOptions.RemoveEmptyEntries));
        Assert.Contains("\"subjectId\":\"case-2\"", one, StringComparison.Ordinal);
        Assert.Contains("case-1", Assert.Single(CommandLineCall.Run("audit", "list", "--by", "Turnstone", "--data", folder["data"]).Output.Split('\n', StringSplitOptions.RemoveEmptyEntries)), StringComparison.Ordinal);
    }

    [Fact]
    public void Export_ANewFile_HoldsAMessageALineAndIsNeverWrittenOver()
    {
        CommandLineCall call = CommandLineCall.Run("audit", "export", folder["trail.xml"], "--data", folder["data"]);
        Assert.Equal(0, call.ExitStatus);
        string[] lines = File.ReadAllLines(folder["trail.xml"]);
        Assert.Equal(3, lines.Length);
        Assert.All(lines, line => Assert.Equal("AuditMessage", XElement.Parse(line).Name.LocalName));

        Assert.NotEqual(0, CommandLineCall.Run("audit", "export", folder["trail.xml"], "--data", folder["data"]).ExitStatus);
        Assert.Equal(lines, File.ReadAllLines(folder["trail.xml"]));
        Assert.False(File.Exists(folder["trail.xml"] + ".part"));
    }

    [Fact]
    public void Remove_NothingOld_RemovesNothing()
    {
        Assert.Contains("nothing was removed", CommandLineCall.Run("audit", "remove", "--older-than", "30", "--data", folder["data"]).Output, StringComparison.Ordinal);
        Assert.NotEqual(0, CommandLineCall.Run("audit", "remove", "--data", folder["data"]).ExitStatus);
    }

    [Fact]
    public void Audit_FolderWithoutRecords_IsRefusedAndNothingIsMade()
    {
        CommandLineCall call = CommandLineCall.Run("audit", "check", "--data", folder["none"]);
        Assert.NotEqual(0, call.ExitStatus);
        Assert.Contains("holds no records", call.Errors, StringComparison.Ordinal);
        Assert.False(Directory.Exists(folder["none"]));
    }
}
