using System.Net;
using Hotlight.Core;
using Hotlight.Poses;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Positions;
using Hotlight.Workflows.Readings;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests;

/// <summary>The picture of the position in space that a handout has: there only where the reader asked for it, and not while the case is read blind.</summary>
public sealed class HandoutEndpointsTests(RunningBench bench) : IClassFixture<RunningBench>
{
    [Fact]
    public async Task Simulation_OfACase_IsGivenWhereItWasAskedForAndNotToBlindReaders()
    {
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument start = SceneStarts.For(model.Part, model.View);
        SceneDocument scene = start with { Id = "turned", Part = start.Part! with { TurnDegrees = 9, TiltDegrees = -4 }, Receptor = start.Receptor with { SpacingMm = 0.5 } };
        using var file = new MemoryStream(Lab.Expose(scene).ForPresentation(), writable: false);
        CaseRecord record = (await cases.BringInInventedAsync("turned.dcm", file, "Turned knee", model.ProjectionId, CaseOrigin.Lab)).Record;
        OpenCase open = await cases.OpenAsync(record.Id);
        foreach ((string id, PixelPoint at) in model.Places(scene))
        {
            open = await cases.MarkAsync(open, id, at, null);
        }

        var address = new Uri($"/cases/{record.Id}/handout/simulation?language=de", UriKind.Relative);
        using (HttpResponseMessage without = await bench.Client.GetAsync(address))
        {
            Assert.Equal(HttpStatusCode.NotFound, without.StatusCode);
            Assert.Contains("no picture of the position in space", await without.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        }

        await cases.PutPoseInHandoutAsync(open, true);
        using (HttpResponseMessage with = await bench.Client.GetAsync(address))
        {
            Assert.Equal(HttpStatusCode.OK, with.StatusCode);
            Assert.Equal("image/png", with.Content.Headers.ContentType?.MediaType);
            byte[] picture = await with.Content.ReadAsByteArrayAsync();

            // A PNG's header: width and height are the eight bytes from the sixteenth on. Three pictures of 512 rows with a heading and a label.
            int width = System.Buffers.Binary.BinaryPrimitives.ReadInt32BigEndian(picture.AsSpan(16)), height = System.Buffers.Binary.BinaryPrimitives.ReadInt32BigEndian(picture.AsSpan(20));
            Assert.InRange(width, 3 * 380, 3 * 390);
            Assert.InRange(height, PoseStrip.LongestSide + 40, PoseStrip.LongestSide + 200);
        }

        ReadingWorkflow readings = bench.Services.GetRequiredService<ReadingWorkflow>();
        await readings.CallAsync(record.Id, null);
        using (HttpResponseMessage blind = await bench.Client.GetAsync(address))
        {
            Assert.Equal(HttpStatusCode.Conflict, blind.StatusCode);
            Assert.Contains("read blind", await blind.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        }

        await readings.EndCallAsync(record.Id);
        using HttpResponseMessage nobody = await bench.Client.GetAsync(new Uri($"/cases/{Guid.NewGuid()}/handout/simulation", UriKind.Relative));
        Assert.Equal(HttpStatusCode.NotFound, nobody.StatusCode);
    }
}
