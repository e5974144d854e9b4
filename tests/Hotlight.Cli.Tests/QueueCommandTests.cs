using System.Text.Json;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Measuring;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class QueueCommandTests : IAsyncLifetime
{
    private static readonly MeasuringTarget Target = new("2", "k", 0);
    private readonly ScratchFolder folder = new();
    private IRecordStore records = null!;

    private string Store => Path.Combine(folder["data"], "records.db");

    public async Task InitializeAsync()
    {
        Directory.CreateDirectory(folder["data"]);
        records = await SqliteRecords.OpenAsync(Store, TimeProvider.System);
    }

    public Task DisposeAsync()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
        return Task.CompletedTask;
    }

    [Fact]
    public void Queue_NothingLeft_SaysSo()
    {
        CommandLineCall call = CommandLineCall.Run("queue", "--data", folder["data"]);
        Assert.Equal((0, string.Empty), (call.ExitStatus, call.Output));
        Assert.Contains("every case is measured", call.Errors, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Queue_RunningWaitingAndGivenUp_AreListedWithTheirReasonsAndAskedForAgain()
    {
        foreach (string title in new[] { "one", "two", "three", "four" })
        {
            await records.AddAsync(New(title));
        }

        IMeasuringQueue queue = SqliteRecords.Queue(Store, TimeProvider.System);
        await queue.AskAsync(Target);
        await queue.FailAsync((await queue.TakeAsync(Target, "bench a"))!, "The file is no radiograph.", isFinal: true);
        await queue.FailAsync((await queue.TakeAsync(Target, "bench a"))!, "The file is missing.");
        await queue.TakeAsync(Target, "bench b");

        CommandLineCall call = CommandLineCall.Run("queue", "--data", folder["data"]);

        string[] lines = call.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(4, lines.Length);
        Assert.Matches("running   .*: attempt 1, bench b", lines[0]);
        Assert.Matches("attempt 2 of 5 not before .*; The file is missing.", string.Join('\n', lines[1..3]));
        Assert.Matches("waiting   .*: since ", string.Join('\n', lines[1..3]));
        Assert.Matches("given up  .*: The file is no radiograph.", lines[3]);
        Assert.Contains("of 4 cases 2 wait, 1 are being measured, 1 were given up", call.Errors, StringComparison.Ordinal);

        CommandLineCall again = CommandLineCall.Run("queue", "--again", "--json", "--most", "1", "--data", folder["data"]);
        Assert.Contains("1 case is asked for again", again.Errors, StringComparison.Ordinal);
        Assert.Contains("of 4 cases 3 wait, 1 are being measured, 0 were given up", again.Errors, StringComparison.Ordinal);
        Assert.Equal("running", JsonDocument.Parse(again.Output).RootElement.GetProperty("state").GetString());
    }

    [Fact]
    public void Queue_CalledWrongly_IsRefusedInOneSentence()
    {
        Assert.Equal(2, CommandLineCall.Run("queue", "--most", "0", "--data", folder["data"]).ExitStatus);
        Assert.Contains("holds no records", CommandLineCall.Run("queue", "--data", folder["nowhere"]).Errors, StringComparison.Ordinal);
    }

    private static CaseRecord New(string title) => new()
    {
        Id = Guid.NewGuid(),
        Title = title,
        FileName = "wrist.dcm",
        ContentHash = new string('a', 64),
        ContentBytes = 1,
        ExposureRecordJson = "{}",
        MeasurementsJson = "{}",
        MeasuredBy = "1",
        Created = DateTimeOffset.UnixEpoch,
        Changed = DateTimeOffset.UnixEpoch,
    };
}
