using System.Text.Json;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Microsoft.Data.Sqlite;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class DoctorCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public void Doctor_BeforeTheFirstStart_FindsNothingWrongAndMakesNothing()
    {
        CommandLineCall call = CommandLineCall.Run("doctor", "--data", folder["data"], "--port", "1");

        Assert.Equal((0, string.Empty), (call.ExitStatus, call.Errors));
        Assert.Contains("is not there yet", call.Output, StringComparison.Ordinal);
        Assert.Contains("Nothing answers on port 1", call.Output, StringComparison.Ordinal);
        Assert.False(Directory.Exists(folder["data"]));
    }

    [Fact]
    public async Task Doctor_SoundRecordsInAShutFolder_IsFine()
    {
        await MakeAsync();

        CommandLineCall call = CommandLineCall.Run("doctor", "--data", folder["data"], "--port", "1", "--json");

        Assert.Equal(0, call.ExitStatus);
        using JsonDocument found = JsonDocument.Parse(call.Output);
        Assert.Equal("fine", found.RootElement.EnumerateArray().Single(each => each.GetProperty("what").GetString() == "Records").GetProperty("state").GetString());
        Assert.Equal("fine", found.RootElement.EnumerateArray().Single(each => each.GetProperty("what").GetString() == "Rights").GetProperty("state").GetString());
    }

    [Fact]
    public async Task Doctor_RecordsThatAreDamagedOpenToOthersAndFromTheFuture_SaysEachWithItsRemedy()
    {
        await MakeAsync();
        SqliteConnection.ClearAllPools();
        await File.WriteAllTextAsync(Path.Combine(folder["data"], "records.db"), new string('x', 5000));
        File.SetLastWriteTimeUtc(Path.Combine(folder["data"], "records.db"), DateTime.UtcNow.AddDays(2));
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(folder["data"], UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute | UnixFileMode.OtherRead | UnixFileMode.OtherExecute);
        }

        CommandLineCall call = CommandLineCall.Run("doctor", "--data", folder["data"], "--port", "1");

        Assert.NotEqual(0, call.ExitStatus);
        Assert.Contains("3 things are wrong", call.Errors, StringComparison.Ordinal);
        Assert.Contains("chmod -R go-rwx", call.Output, StringComparison.Ordinal);
        Assert.Contains("time server", call.Output, StringComparison.Ordinal);
        Assert.Contains("hotlight store restore", call.Output, StringComparison.Ordinal);
    }

    private async Task MakeAsync()
    {
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder["data"]);
        }
        else
        {
            Directory.CreateDirectory(folder["data"], UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }

        await SqliteRecords.OpenAsync(Path.Combine(folder["data"], "records.db"), TimeProvider.System);
    }
}
