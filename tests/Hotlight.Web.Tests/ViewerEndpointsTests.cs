using System.Net;
using System.Runtime.InteropServices;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Measure.Exposure;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
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
    public async Task Signal_OfAFileForPresentation_IsNotThere()
    {
        using var folder = new ScratchFolder();
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100, seed: 12) with { PresentationIntent = PresentationIntent.ForPresentation }, folder["shown.dcm"]);
        CaseRecord record = await BringInAsync(await File.ReadAllBytesAsync(folder["shown.dcm"]));

        using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri($"/cases/{record.Id}/signal", UriKind.Relative));

        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
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
