using System.Net;
using System.Runtime.InteropServices;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Measure.Exposure;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests;

/// <summary>What the viewer fetches, against the file's own pixels.</summary>
public sealed class ViewerEndpointsTests(RunningBench bench) : IClassFixture<RunningBench>
{
    private static readonly byte[] Limb = CaseEndpointsTests.WriteLimb(seed: 11);

    [Fact]
    public async Task Pixels_OfAKeptCase_AreTheFilesOwnBitForBit()
    {
        CaseRecord record = await BringInAsync(Limb);
        Radiograph expected = RadiographReader.Read(Limb, "limb.dcm");

        byte[] bytes = await GetAsync(record, "pixels");

        Assert.True(MemoryMarshal.Cast<byte, ushort>(bytes).SequenceEqual(expected.Pixels.Samples));
    }

    [Theory]
    [InlineData(2)]
    [InlineData(8)]
    [InlineData(64)]
    [Trait("evidence", "analytic")]
    public async Task Pixels_Reduced_AreRoundedMeansOfWholeBlocks(int scale)
    {
        CaseRecord record = await BringInAsync(Limb);
        ReadOnlyRaster<ushort> pixels = RadiographReader.Read(Limb, "limb.dcm").Pixels;
        (int rows, int columns) = (pixels.Rows / scale, pixels.Columns / scale);

        ushort[] reduced = MemoryMarshal.Cast<byte, ushort>(await GetAsync(record, $"pixels?scale={scale}")).ToArray();

        Assert.Equal(rows * columns, reduced.Length);
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                double sum = 0;
                for (int within = 0; within < scale * scale; within++)
                {
                    sum += pixels[(row * scale) + (within / scale), (column * scale) + (within % scale)];
                }

                // The mean of whole numbers, rounded: at most half a step from the true mean.
                Assert.InRange(reduced[(row * columns) + column], (sum / (scale * scale)) - 0.5, (sum / (scale * scale)) + 0.5);
            }
        }
    }

    [Theory]
    [InlineData("0")]
    [InlineData("3")]
    [InlineData("128")]
    public async Task Pixels_ReducedByAnotherScale_AreRefusedInOneSentence(string scale)
    {
        CaseRecord record = await BringInAsync(Limb);

        using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri($"/cases/{record.Id}/pixels?scale={scale}", UriKind.Relative));

        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Contains("scale", await DetailAsync(answer), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Table_OfAKeptCase_IsHowThePictureIsRenderedElsewhere()
    {
        CaseRecord record = await BringInAsync(Limb);
        Radiograph radiograph = RadiographReader.Read(Limb, "limb.dcm");
        Raster<byte> rendered = DisplayTable.Render(radiograph);

        byte[] table = await GetAsync(record, "table");

        Assert.Equal(radiograph.PixelMaximum + 1, table.Length);
        for (int row = 0; row < radiograph.Rows; row++)
        {
            for (int column = 0; column < radiograph.Columns; column++)
            {
                if (rendered[row, column] != table[radiograph.Pixels[row, column]])
                {
                    Assert.Fail($"row {row}, column {column}: rendered {rendered[row, column]}, table {table[radiograph.Pixels[row, column]]}");
                }
            }
        }
    }

    [Fact]
    public async Task Modality_OfAKeptCase_IsTheModalityValueOfEveryPixelValue()
    {
        CaseRecord record = await BringInAsync(Limb);
        Radiograph radiograph = RadiographReader.Read(Limb, "limb.dcm");

        double[] values = MemoryMarshal.Cast<byte, double>(await GetAsync(record, "modality")).ToArray();

        Assert.Equal(radiograph.PixelMaximum + 1, values.Length);
        Assert.All(Enumerable.Range(0, values.Length), value => Assert.Equal(radiograph.Modality.Apply(value), values[value]));
    }

    [Fact]
    public async Task Signal_OfALinearFile_IsWhatTheMeasuresWorkWith()
    {
        CaseRecord record = await BringInAsync(Limb);
        LinearSignal expected = LinearSignal.Of(RadiographReader.Read(Limb, "limb.dcm"), calibration: null)!;

        double[] values = MemoryMarshal.Cast<byte, double>(await GetAsync(record, "signal")).ToArray();

        Assert.Equal(expected.ByPixelValue.Select(value => (double)value), values);
    }

    [Fact]
    public async Task Signal_OfAFileForPresentation_IsNotThereAndSaysWhy()
    {
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100, seed: 12) with { PresentationIntent = PresentationIntent.ForPresentation }, folder["shown.dcm"]);
        CaseRecord record = await BringInAsync(await File.ReadAllBytesAsync(folder["shown.dcm"]));

        using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri($"/cases/{record.Id}/signal", UriKind.Relative));

        Assert.Equal(HttpStatusCode.NoContent, answer.StatusCode);
        Assert.Contains("processed for presentation", answer.Headers.GetValues("Hotlight-Signal-Basis").Single(), StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public async Task Signal_OfACalibratedReceptor_IsAirKermaUntilTheCalibrationIsTakenBack()
    {
        // Files are kept as they are: a teaching set-up takes the receptor's name out of them.
        using var folder = new ScratchFolder();
        Radiograph drawn = InventedExposure.Limb(rows: 120, columns: 100, seed: 13);
        InventedExposure.Write(drawn with { Exposure = drawn.Exposure with { ManufacturerModel = "Invented 2" } }, folder["limb.dcm"]);
        await using WebApplication clinical = await Bench.StartAsync(
            new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, Setting = IntakeSetting.Clinical }, TextWriter.Null);
        using var client = new HttpClient { BaseAddress = Bench.AddressOf(clinical) };
        using FileStream content = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await clinical.Services.GetRequiredService<CaseWorkflow>().BringInAsync("limb.dcm", content, long.MaxValue)).Record;
        ClinicWorkflow clinic = clinical.Services.GetRequiredService<ClinicWorkflow>();
        var calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 2000, Offset = 100 };
        await clinic.ChangeAsync(clinic.Current, clinic.Current.Settings with { Receptors = [new Receptor { Id = Guid.NewGuid(), Name = "room 2", ManufacturerModel = "Invented 2", Calibration = calibration }] }, "a calibration", null);

        using HttpResponseMessage calibrated = await client.GetAsync(new Uri($"/cases/{record.Id}/signal", UriKind.Relative));
        double[] kerma = MemoryMarshal.Cast<byte, double>(await calibrated.Content.ReadAsByteArrayAsync()).ToArray();
        await clinic.TakeBackAsync(clinic.Current, null);
        using HttpResponseMessage bare = await client.GetAsync(new Uri($"/cases/{record.Id}/signal", UriKind.Relative));
        await clinical.StopAsync();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();

        Assert.Equal("microgray", calibrated.Headers.GetValues("Hotlight-Signal-Unit").Single());

        // K = (value − offset) / gain, kept in single precision.
        Assert.Equal((8100 - 100) / 2000.0, kerma[8100], 6);
        Assert.Equal("unknown", bare.Headers.GetValues("Hotlight-Signal-Unit").Single());
        Assert.NotEqual(calibrated.Headers.ETag, bare.Headers.ETag);
    }

    [Fact]
    public async Task Pixels_AskedAgainWithTheirTag_AreNotSentAgain()
    {
        CaseRecord record = await BringInAsync(Limb);
        using HttpResponseMessage first = await bench.Client.GetAsync(new Uri($"/cases/{record.Id}/pixels", UriKind.Relative));
        using var request = new HttpRequestMessage(HttpMethod.Get, $"/cases/{record.Id}/pixels");
        request.Headers.IfNoneMatch.Add(first.Headers.ETag!);

        using HttpResponseMessage second = await bench.Client.SendAsync(request);
        using HttpResponseMessage reduced = await bench.Client.GetAsync(new Uri($"/cases/{record.Id}/pixels?scale=4", UriKind.Relative));

        Assert.Equal(HttpStatusCode.NotModified, second.StatusCode);
        Assert.Empty(await second.Content.ReadAsByteArrayAsync());
        Assert.NotEqual(first.Headers.ETag, reduced.Headers.ETag);
    }

    [Theory]
    [InlineData("pixels")]
    [InlineData("pixels?scale=4")]
    [InlineData("table")]
    [InlineData("modality")]
    [InlineData("signal")]
    public async Task AnyPart_OfACaseThatIsNotKept_SaysSo(string part)
    {
        using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri($"/cases/{Guid.NewGuid()}/{part}", UriKind.Relative));

        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        Assert.Contains("no longer kept", await DetailAsync(answer), StringComparison.Ordinal);
    }

    private static async Task<string> DetailAsync(HttpResponseMessage answer)
    {
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
        using JsonDocument document = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
        return document.RootElement.GetProperty("detail").GetString()!;
    }

    private Task<byte[]> GetAsync(CaseRecord record, string part) => bench.Client.GetByteArrayAsync(new Uri($"/cases/{record.Id}/{part}", UriKind.Relative));

    private async Task<CaseRecord> BringInAsync(byte[] content)
    {
        using HttpResponseMessage answer = await bench.SendAsync(content, "limb.dcm");
        string text = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.StatusCode == HttpStatusCode.Created, text);
        using JsonDocument document = JsonDocument.Parse(text);
        return await bench.Services.GetRequiredService<CaseWorkflow>().GetAsync(document.RootElement.GetProperty("id").GetGuid());
    }
}
