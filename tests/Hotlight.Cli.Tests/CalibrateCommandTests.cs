using System.Buffers.Binary;
using System.Globalization;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Exposure;
using Hotlight.Testing;
using Xunit;

namespace Hotlight.Cli.Tests;

/// <summary>A receptor's calibration from flat exposures that the test makes: the fit, what it leaves, the files, and one sentence for each bad call.</summary>
[Collection("command line")]
public sealed class CalibrateCommandTests : IDisposable
{
    // Of the receptor that is drawn: modality value = Offset + Gain · K, noise of 1 % of the signal.
    private const double Gain = 400;
    private const double Offset = 100;
    private const double NoiseShare = 0.01;

    private static readonly double[] Kermas = [1, 2.5, 8, 24];

    // The median over the middle quarter, 64 × 64 of 256 × 256 pixels: 1.2533 · 1 % / √4096 = 0.02 % one standard deviation; rounding to whole steps adds at most 0.5 of 500, 0.1 %.
    private const double MostErrorPercent = (5 * 0.02) + 0.1;

    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    [Trait("evidence", "analytic")]
    public void Calibrate_FlatExposures_WritesTheRelationTheyWereMadeWith()
    {
        string file = folder["room-2.json"];
        CommandLineCall call = CommandLineCall.Run(["calibrate", .. Flats(), "--out", file, "--meter", "5", "--note", "room 2, invented"]);

        Assert.Equal(0, call.ExitStatus);
        Assert.Empty(call.Errors);
        Calibration calibration = CalibrationFile.Read(file);
        Assert.Equal(PixelRelationship.Linear, calibration.Relationship);
        foreach (double kerma in Kermas)
        {
            double found = (Offset + (Gain * kerma) - calibration.Offset) / calibration.Gain;
            Assert.Equal(kerma, found, kerma * MostErrorPercent / 100);
        }

        // The meter's 5 % and residuals of a tenth of a percent, in quadrature.
        Assert.Equal(5, calibration.KermaUncertaintyPercent!.Value, 0.02);
        Assert.Equal("room 2, invented", calibration.Note);
        Assert.StartsWith("linear: gain ", call.Output, StringComparison.Ordinal);
        double[] residuals = Residuals(call.Output);
        Assert.Equal(Kermas.Length, residuals.Length);

        // Printed to a tenth of a percent.
        Assert.All(residuals, residual => Assert.Equal(0, residual, MostErrorPercent + 0.05));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Calibrate_OneKermaNotedFivePercentTooLow_LeavesMostOfItAsThatExposuresResidual()
    {
        // 24.0 µGy noted as 22.8: the calibration gives more than was noted, and the others, which pull the line back, less.
        string[] exposures = [Flat("a.dcm", 1), Flat("b.dcm", 2.5), Flat("c.dcm", 8), Flat("d.dcm", 24, noted: 22.8)];
        CommandLineCall call = CommandLineCall.Run(["calibrate", .. exposures, "--out", folder["off.json"]]);

        Assert.Equal(0, call.ExitStatus);
        double[] residuals = Residuals(call.Output);
        Assert.InRange(residuals[3], 1, 5.3);
        Assert.Equal(residuals.Max(), residuals[3]);
        Assert.True(residuals.Min() < 0, call.Output);
        Assert.Contains("The meter's uncertainty was not given (--meter)", call.Output, StringComparison.Ordinal);
        Assert.Null(CalibrationFile.Read(folder["off.json"]).KermaUncertaintyPercent);
    }

    [Fact]
    public void Calibrate_WithoutOut_PrintsTheFileAlone()
    {
        CommandLineCall call = CommandLineCall.Run(["calibrate", .. Flats()]);

        Assert.Equal(0, call.ExitStatus);
        Calibration calibration = CalibrationFile.Parse(System.Text.Encoding.UTF8.GetBytes(call.Output), "printed");
        Assert.Equal(Gain, calibration.Gain, Gain * MostErrorPercent / 100);
    }

    [Fact]
    public void Calibrate_ThenMeasure_GivesTheKermaOfThePixels()
    {
        string calibration = folder["room-2.json"], limb = folder["limb.dcm"];
        Assert.Equal(0, CommandLineCall.Run(["calibrate", .. Flats(), "--out", calibration, "--meter", "5"]).ExitStatus);
        InventedExposure.Write(InventedExposure.Limb() with { Exposure = new ExposureRecord() }, limb);

        CommandLineCall call = CommandLineCall.Run("measure", limb, "--calibration", calibration, "--json");

        Assert.Equal(0, call.ExitStatus);
        using var document = System.Text.Json.JsonDocument.Parse(call.Output);
        System.Text.Json.JsonElement exposure = document.RootElement.GetProperty("exposure");
        Assert.Equal("pixels", exposure.GetProperty("basis").GetString());
        double value = exposure.GetProperty("valueOfInterestPixelValue").GetDouble(), kerma = exposure.GetProperty("receptorAirKermaMicrogray").GetDouble();
        Assert.Equal((value - Offset) / Gain, kerma, kerma * MostErrorPercent / 100);
        Assert.Equal(100 * kerma, exposure.GetProperty("exposureIndex").GetDouble(), 0.1);
    }

    [Theory]
    [InlineData("plot.png")]
    [InlineData("plot.svg")]
    public void Calibrate_WithPlot_DrawsAPictureInTheFormOfItsName(string name)
    {
        CommandLineCall call = CommandLineCall.Run(["calibrate", .. Flats(), "--out", folder["room-2.json"], "--plot", folder[name]]);

        Assert.Equal(0, call.ExitStatus);
        byte[] picture = File.ReadAllBytes(folder[name]);
        if (name.EndsWith(".png", StringComparison.Ordinal))
        {
            // Signature and the image header's width and height (PNG, ISO/IEC 15948, 5.2 and 11.2.2).
            Assert.Equal([0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A], picture[..8]);
            Assert.Equal("IHDR"u8.ToArray(), picture[12..16]);
            Assert.True(BinaryPrimitives.ReadInt32BigEndian(picture.AsSpan(16)) >= 600);
            Assert.True(BinaryPrimitives.ReadInt32BigEndian(picture.AsSpan(20)) >= 400);
        }
        else
        {
            XElement root = XDocument.Parse(System.Text.Encoding.UTF8.GetString(picture)).Root!;
            Assert.Equal("svg", root.Name.LocalName);

            // Every exposure is a point in both parts of the plot.
            Assert.True(root.Descendants().Count(shape => shape.Name.LocalName is "circle" or "ellipse") >= 2 * Kermas.Length, root.ToString());
        }
    }

    public static TheoryData<string, string> BadCalls => new()
    {
        { "no kerma", "'*flat.dcm' is not one" },
        { "kerma of zero", "flat-1.dcm:2.5" },
        { "kerma in words", "flat-1.dcm:2.5" },
        { "missing", "missing.dcm" },
        { "text", "notes.txt" },
        { "for presentation", "for presentation" },
        { "not flat", "not flat" },
        { "clipped", "clipped" },
        { "two exposures", "needs 3 flat exposures" },
        { "close together", "span a factor of 4" },
        { "mixed up", "mixed up" },
        { "no relation", "no linear, logarithmic or square-root relation fits" },
        { "meter in words", "--meter takes" },
        { "meter below zero", "--meter takes" },
        { "out without ending", "--out takes a name that ends in .json" },
        { "plot of another kind", "--plot takes a name that ends in .png or .svg" },
        { "out over an exposure", "would write over the exposure" },
        { "out into no folder", "a folder that is there" },
    };

    [Theory]
    [MemberData(nameof(BadCalls))]
    public void Calibrate_BadCall_IsOneClearSentenceAndWritesNothing(string kind, string part)
    {
        string[] good = Flats();
        string flat = Flat("flat.dcm", 5);
        File.WriteAllText(folder["notes.txt"], "room 2, before lunch");
        string[] options = ["--out", folder["never.json"], "--plot", folder["never.png"]];
        string[] exposures = kind switch
        {
            "no kerma" => [.. good, folder["flat.dcm"]],
            "kerma of zero" => [.. good, folder["flat.dcm"] + ":0"],
            "kerma in words" => [.. good, folder["flat.dcm"] + ":five"],
            "missing" => [.. good, folder["missing.dcm"] + ":5"],
            "text" => [.. good, folder["notes.txt"] + ":5"],
            "for presentation" => [.. good, Written("shown.dcm", 5, Drawn(5) with { PresentationIntent = PresentationIntent.ForPresentation })],
            "not flat" => [.. good, Written("step.dcm", 5, Drawn(5, step: 0.5))],
            "clipped" => [.. good, Flat("clipped.dcm", 60)],
            "two exposures" => good[..2],
            "close together" => [Flat("x.dcm", 5), Flat("y.dcm", 8), Flat("z.dcm", 12)],
            "mixed up" => [Flat("x.dcm", 1), Flat("y.dcm", 24, noted: 5), Flat("z.dcm", 5, noted: 24)],
            "no relation" => [.. good, Flat("y.dcm", 16, noted: 24.1)],
            "out over an exposure" => [.. good, Written("flat.json", 5, Drawn(5))],
            _ => [.. good, flat],
        };
        options = kind switch
        {
            "meter in words" => [.. options, "--meter", "five"],
            "meter below zero" => [.. options, "--meter=-3"],
            "out without ending" => ["--out", folder["never"]],
            "plot of another kind" => [.. options[..2], "--plot", folder["never.bmp"]],
            "out over an exposure" => ["--out", folder["flat.json"]],
            "out into no folder" => ["--out", Path.Combine(folder["nowhere"], "never.json")],
            _ => options,
        };
        Dictionary<string, byte[]> before = Contents();

        string sentence = CommandLineCall.Run(["calibrate", .. exposures, .. options]).OneSentence();

        Assert.Matches(Regex.Escape(part).Replace("\\*", ".*", StringComparison.Ordinal), sentence);
        Dictionary<string, byte[]> after = Contents();
        Assert.Equal(before.Keys.Order(), after.Keys.Order());
        Assert.All(before, file => Assert.Equal(file.Value, after[file.Key]));
    }

    private Dictionary<string, byte[]> Contents() => Directory.GetFiles(Path.GetDirectoryName(folder["x"])!).ToDictionary(path => path, File.ReadAllBytes);

    private string[] Flats() => [.. Kermas.Select((kerma, at) => Flat($"flat-{at + 1}.dcm", kerma))];

    private string Flat(string name, double kerma, double? noted = null) => Written(name, noted ?? kerma, Drawn(kerma));

    private string Written(string name, double noted, Radiograph radiograph)
    {
        InventedExposure.Write(radiograph, folder[name]);
        return string.Create(CultureInfo.InvariantCulture, $"{folder[name]}:{noted}");
    }

    // An even field; with a step, its right half has so much less of the signal.
    private static Radiograph Drawn(double kerma, double step = 0)
    {
        const int Side = 256;
        var random = new Random((int)(1000 * kerma));
        var pixels = new Raster<ushort>(Side, Side);
        for (int row = 0; row < Side; row++)
        {
            for (int column = 0; column < Side; column++)
            {
                double normal = Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
                double signal = Gain * kerma * (column < Side / 2 ? 1 : 1 - step);
                pixels[row, column] = (ushort)Math.Clamp(Math.Round(Offset + (signal * (1 + (NoiseShare * normal)))), 0, 16383);
            }
        }

        return InventedExposure.Limb() with { Pixels = pixels };
    }

    private static double[] Residuals(string output)
        => [.. Regex.Matches(output, @"residual\s+([+−]?[\d.]+) %").Select(match => double.Parse(match.Groups[1].Value.Replace('−', '-'), CultureInfo.InvariantCulture))];
}
