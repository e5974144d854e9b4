using System.Net;
using System.Net.Sockets;
using Hotlight.Audit;
using Hotlight.Testing;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests;

public sealed class StartTests
{
    [Fact]
    public async Task StartAsync_PortIsTaken_IsRefusedInOneSentence()
    {
        using var folder = new ScratchFolder();
        using var taken = new TcpListener(IPAddress.Loopback, 0);
        taken.Start();
        int port = ((IPEndPoint)taken.LocalEndpoint).Port;

        BenchRefusedException refused = await Assert.ThrowsAsync<BenchRefusedException>(
            () => Bench.StartAsync(new BenchOptions { Port = port, DataFolder = folder["data"], WithDemoCases = false }, TextWriter.Null));

        Assert.Equal($"Port {port} is taken on 127.0.0.1; stop what uses it or give another with --port.", refused.Message);
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    [Fact]
    public async Task StartAsync_AnotherBenchOnTheSameFolder_IsRefusedInOneSentenceUntilThatOneEnds()
    {
        using var folder = new ScratchFolder();
        BenchProcess first = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"]);
        try
        {
            BenchRefusedException refused = await Assert.ThrowsAsync<BenchRefusedException>(
                () => Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false }, TextWriter.Null));
            Assert.StartsWith($"Another bench runs on the data folder {folder["data"]}:", refused.Message, StringComparison.Ordinal);
            Assert.DoesNotContain('\n', refused.Message);
            InvalidOperationException second = await Assert.ThrowsAsync<InvalidOperationException>(() => BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"]));
            Assert.Contains("Hotlight: Another bench runs", second.Message, StringComparison.Ordinal);
            Assert.DoesNotContain("   at ", second.Message, StringComparison.Ordinal);

            // The first goes on; killed, it holds nothing.
            using var client = new HttpClient { BaseAddress = first.Address };
            Assert.Equal("ready", await client.GetStringAsync(new Uri("/ready", UriKind.Relative)));
            first.Kill();
        }
        finally
        {
            first.Dispose();
        }

        await using (WebApplication bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false }, TextWriter.Null))
        {
            await bench.StopAsync();
        }

        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    [Fact]
    public async Task StopAsync_TimeForStoppingIsUsedUp_IsNotedInTheTrailAllTheSame()
    {
        using var folder = new ScratchFolder();
        await using (WebApplication bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false }, TextWriter.Null))
        {
            // As it is when pages stay open for longer than the bench waits for them.
            await Record.ExceptionAsync(() => bench.StopAsync(new CancellationToken(canceled: true)));

            Assert.Equal(AuditAct.Stopped, (await bench.Services.GetRequiredService<AuditTrail>().ReadAsync(new AuditQuery { Newest = 1 }).ToListAsync())[0].Act);
        }

        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    [Fact]
    public async Task StartAsync_DataFolderIsAFile_IsRefusedInOneSentence()
    {
        using var folder = new ScratchFolder();
        await File.WriteAllTextAsync(folder["taken"], "a file");

        BenchRefusedException refused = await Assert.ThrowsAsync<BenchRefusedException>(
            () => Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["taken"], WithDemoCases = false }, TextWriter.Null));

        Assert.Contains("cannot be written", refused.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', refused.Message);
    }

    [Fact]
    public async Task StartAsync_Started_ListensOnThisMachineOnlyAndKeepsOthersOut()
    {
        using var folder = new ScratchFolder();
        await using WebApplication bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false }, TextWriter.Null);

        Assert.Equal("127.0.0.1", Bench.AddressOf(bench).Host);
        if (!OperatingSystem.IsWindows())
        {
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute, File.GetUnixFileMode(folder["data"]));
        }

        await bench.StopAsync();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }
}
