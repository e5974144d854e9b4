using System.Net;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Readings;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests;

/// <summary>A walk-through tells a case's answers: nothing of it is given out while the case is read blind.</summary>
public sealed class WalkThroughEndpointsTests : IAsyncLifetime, IDisposable
{
    private readonly RunningBench bench = new();
    private readonly ScratchFolder folder = new();

    public Task InitializeAsync() => bench.InitializeAsync();

    public Task DisposeAsync() => bench.DisposeAsync();

    public void Dispose()
    {
        bench.Dispose();
        folder.Dispose();
    }

    [Theory]
    [InlineData("play")]
    [InlineData("picture")]
    [InlineData("voices/0123")]
    public async Task Get_WhileTheCaseIsReadBlind_IsRefusedAndAfterItIsNot(string what)
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await bench.Services.GetRequiredService<CaseWorkflow>().BringInInventedAsync("limb.dcm", file, "Wrist", "wrist-pa", CaseOrigin.Lab)).Record;
        ReadingWorkflow readings = bench.Services.GetRequiredService<ReadingWorkflow>();
        using var client = new HttpClient { BaseAddress = bench.Address };
        var address = new Uri($"/cases/{record.Id}/walk-through/{what}", UriKind.Relative);

        await readings.CallAsync(record.Id, null);
        using (HttpResponseMessage blind = await client.GetAsync(address))
        {
            Assert.Equal(HttpStatusCode.Conflict, blind.StatusCode);
            Assert.Contains("read blind", await blind.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        }

        await readings.EndCallAsync(record.Id);
        using HttpResponseMessage seen = await client.GetAsync(address);
        Assert.Equal(what.StartsWith("voices", StringComparison.Ordinal) ? HttpStatusCode.NotFound : HttpStatusCode.OK, seen.StatusCode);
    }
}
