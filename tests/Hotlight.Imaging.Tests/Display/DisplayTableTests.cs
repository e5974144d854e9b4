using System.Text.Json.Nodes;
using Hotlight.Core;
using Hotlight.Imaging.Display;
using Hotlight.Testing;

namespace Hotlight.Imaging.Tests.Display;

public sealed class DisplayTableTests
{
    private static readonly JsonArray Cases = JsonNode.Parse(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "display-tables", "tables.json")))!["cases"]!.AsArray();

    public static TheoryData<int> CaseNumbers() => [.. Enumerable.Range(0, Cases.Count)];

    private static Radiograph OfBits(int bits, int storedMinimum = 0) => new()
    {
        FileName = "any",
        Source = ImageSource.Dicom,
        Pixels = new Raster<ushort>(1, 1),
        BitsStored = bits,
        StoredMinimum = storedMinimum,
        Encoding = "",
    };

    // PS3.3 C.11.2.1.2.1 prints these special cases for an output of 0 to 255:
    // centre 2048, width 4096: x <= 0 gives 0, x > 4095 gives 255, else ((x - 2047.5) / 4095 + 0.5) * 255;
    // centre 2048, width 1: x <= 2047.5 gives 0, x > 2047.5 gives 255;
    // centre 0, width 100: x <= -50 gives 0, x > 49 gives 255, else ((x + 0.5) / 99 + 0.5) * 255;
    // centre 0, width 1: x <= -0.5 gives 0, x > -0.5 gives 255.
    [Theory]
    [Trait("evidence", "published")]
    [InlineData(2048, 4096, 0, 0)]
    [InlineData(2048, 4096, 4095, 255)]
    [InlineData(2048, 4096, 1000, ((1000 - 2047.5) / 4095 + 0.5) * 255)]
    [InlineData(2048, 1, 2047, 0)]
    [InlineData(2048, 1, 2048, 255)]
    [InlineData(0, 100, -50, 0)]
    [InlineData(0, 100, 49, 255)]
    [InlineData(0, 100, 0, ((0 + 0.5) / 99 + 0.5) * 255)]
    [InlineData(0, 100, -49, ((-49 + 0.5) / 99 + 0.5) * 255)]
    [InlineData(0, 1, -1, 0)]
    [InlineData(0, 1, 0, 255)]
    public void Create_LinearWindowPrintedInTheStandard_GivesThePrintedOutput(double center, double width, int modalityValue, double expectedOf255)
    {
        Radiograph radiograph = OfBits(13, storedMinimum: -4096) with { Windows = [new VoiTransform { Center = center, Width = width }] };
        float shown = DisplayTable.Create(radiograph)[modalityValue + 4096];
        Assert.Equal(expectedOf255, shown * 255.0, 255 * 1e-6);
    }

    [Theory]
    [Trait("evidence", "independent")]
    [MemberData(nameof(CaseNumbers))]
    public void Create_AnyFunction_AgreesWithAnotherProgram(int number)
    {
        JsonNode expected = Cases[number]!;
        bool isSigned = (bool)expected["signed"]!;
        int bits = (int)expected["bits"]!;
        int storedMinimum = isSigned ? -(1 << (bits - 1)) : 0;
        VoiTransform window = expected["table"] is { } table
            ? new VoiTransform { Table = new LookupTable((int)table["first"]!, (int)table["bits"]!, [.. table["entries"]!.AsArray().Select(entry => (ushort)(int)entry!)]) }
            : new VoiTransform
            {
                Center = (double)expected["center"]!,
                Width = (double)expected["width"]!,
                Function = (string)expected["function"]! switch { "SIGMOID" => WindowFunction.Sigmoid, "LINEAR_EXACT" => WindowFunction.LinearExact, _ => WindowFunction.Linear },
            };
        Radiograph radiograph = OfBits(bits, storedMinimum) with
        {
            Modality = new ModalityTransform { Slope = (double)expected["slope"]!, Intercept = (double)expected["intercept"]! },
            Windows = [window],
        };
        float[] shown = DisplayTable.Create(radiograph);
        JsonArray stored = expected["stored"]!.AsArray();
        JsonArray values = expected["shown"]!.AsArray();
        for (int i = 0; i < stored.Count; i++)
        {
            // The table is single precision, the stored answers have 9 decimals.
            Assert.Equal((double)values[i]!, shown[(int)stored[i]! - storedMinimum], 1e-6);
        }
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Create_HighShownDark_IsTheComplement()
    {
        Radiograph bright = OfBits(12) with { Windows = [new VoiTransform { Center = 1000, Width = 900, Function = WindowFunction.Sigmoid }] };
        float[] one = DisplayTable.Create(bright);
        float[] other = DisplayTable.Create(bright with { HighIsShownDark = true });
        Assert.All(Enumerable.Range(0, one.Length), value => Assert.Equal(1f, one[value] + other[value], 1e-6f));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void InUse_NoWindowInFile_RunsFromTheFirstToTheNinetyNinthPercentile()
    {
        // 1000 pixels of the values 0 … 999, padding 0 … 99: of the 900 that count, the 9th is 108 and the 891st is 990.
        Raster<ushort> pixels = new(20, 50);
        for (int i = 0; i < 1000; i++)
        {
            pixels.Samples[i] = (ushort)i;
        }

        Radiograph radiograph = OfBits(10) with { Pixels = pixels, Padding = new PixelPadding(0, 99), Modality = new ModalityTransform { Slope = 2, Intercept = 10 } };
        VoiTransform window = DisplayTable.InUse(radiograph);
        Assert.Equal(WindowBasis.Image, window.Basis);
        Assert.Equal((2 * 108) + 10, window.Center - (window.Width / 2), 1e-9);
        Assert.Equal((2 * 990) + 10, window.Center + (window.Width / 2), 1e-9);
    }

    [Fact]
    public void InUse_UnusableFirstWindow_TakesTheNext()
    {
        Radiograph radiograph = OfBits(12) with { Windows = [new VoiTransform { Center = 5, Width = 0 }, new VoiTransform { Center = 7, Width = 9 }] };
        Assert.Equal(7, DisplayTable.InUse(radiograph).Center);
        Assert.Equal(WindowBasis.File, DisplayTable.InUse(radiograph).Basis);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Render_AnyRadiograph_LooksUpEveryPixel()
    {
        Raster<ushort> pixels = new(3, 5, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 15]);
        Radiograph radiograph = OfBits(4) with { Pixels = pixels, Windows = [new VoiTransform { Center = 7.5, Width = 15, Function = WindowFunction.LinearExact }] };
        Raster<byte> picture = DisplayTable.Render(radiograph);
        Assert.Equal(pixels.Samples.ToArray().Select(value => (byte)(value * 17)), picture.Samples.ToArray());
    }
}
