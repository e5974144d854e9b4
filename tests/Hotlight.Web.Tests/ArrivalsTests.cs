using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using Hotlight.Testing;
using Hotlight.Web.Intake;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;
using Microsoft.AspNetCore.Builder;

namespace Hotlight.Web.Tests;

/// <summary>What comes in by itself while the bench runs.</summary>
public sealed class ArrivalsTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public async Task Inbox_OfARunningBench_BringsInWhatIsPutThere()
    {
        await using WebApplication bench = await Bench.StartAsync(
            new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, InboxFolder = folder["in"] }, TextWriter.Null);
        InventedExposure.Write(InventedExposure.Limb(rows: 240, columns: 200), folder["limb.dcm"]);
        File.Move(folder["limb.dcm"], folder["in/limb.dcm"]);

        await UntilAsync(() => File.Exists(folder["in/taken/limb.dcm"]));

        var log = (ArrivalLog)bench.Services.GetService(typeof(ArrivalLog))!;
        await UntilAsync(() => log.Sums.Kept == 1);
        CaseSummary kept = Assert.Single(await ((CaseWorkflow)bench.Services.GetService(typeof(CaseWorkflow))!).ListAsync(0, 10));
        Assert.Equal(CaseOrigin.Inbox, kept.ReceivedBy);
        await bench.StopAsync();
    }

    [SystemFileFact("/usr/bin/storescu")]
    [Trait("evidence", "independent")]
    public async Task Receiver_OfARunningBench_KeepsWhatAnotherAuthorsClientSends()
    {
        await using WebApplication bench = await Bench.StartAsync(
            new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, ReceivePort = 0, ReceiveTitle = "ROOM" }, TextWriter.Null);
        int port = ((ReceiverHost)bench.Services.GetService(typeof(ReceiverHost))!).Port!.Value;
        InventedExposure.Write(InventedExposure.Limb(rows: 240, columns: 200), folder["limb.dcm"]);

        using Process client = Process.Start(new ProcessStartInfo("storescu", ["-aec", "ROOM", "127.0.0.1", $"{port}", folder["limb.dcm"]]))!;
        await client.WaitForExitAsync();

        Assert.Equal(0, client.ExitCode);
        CaseSummary kept = Assert.Single(await ((CaseWorkflow)bench.Services.GetService(typeof(CaseWorkflow))!).ListAsync(0, 10));
        Assert.Equal(CaseOrigin.Network, kept.ReceivedBy);
        Assert.StartsWith("P-", kept.PatientLabel, StringComparison.Ordinal);
        await bench.StopAsync();
    }

    [Fact]
    public async Task Start_ReceivePortThatIsTaken_IsRefusedInOneSentence()
    {
        using var other = new TcpListener(IPAddress.Loopback, 0);
        other.Start();
        int port = ((IPEndPoint)other.LocalEndpoint).Port;

        BenchRefusedException refused = await Assert.ThrowsAsync<BenchRefusedException>(() => Bench.StartAsync(
            new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, ReceivePort = port }, TextWriter.Null));

        Assert.Contains($"port {port}", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Start_InboxThatIsAFile_IsRefusedInOneSentence()
    {
        await File.WriteAllTextAsync(folder["in"], "a file");
        await Assert.ThrowsAsync<BenchRefusedException>(() => Bench.StartAsync(
            new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, InboxFolder = folder["in"] }, TextWriter.Null));
    }

    private static async Task UntilAsync(Func<bool> holds)
    {
        // Patience, not a measure: a loaded machine may take long.
        for (int round = 0; round < 600 && !holds(); round++)
        {
            await Task.Delay(100);
        }

        Assert.True(holds());
    }
}
