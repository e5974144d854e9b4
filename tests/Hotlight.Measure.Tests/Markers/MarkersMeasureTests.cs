using System.Security.Cryptography;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Markers;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Images;
using Hotlight.Testing;

namespace Hotlight.Measure.Tests.Markers;

public class MarkersMeasureTests
{
    private static readonly Lazy<Radiograph> Limb = new(() => new DrawnRadiograph
    {
        Rows = 800,
        Columns = 640,
        Middle = new PixelPoint(X: 320, Y: 400),
        Width = 520,
        Height = 680,
        HeaderSign = 1,
        Shapes = [new DrawnBand(new PixelPoint(X: 250, Y: 400), 88, 200, 0.35), new DrawnBand(new PixelPoint(X: 245, Y: 400), 87, 70, 0.45)],
    }.Draw());

    // Upper right of the field, beside the limb.
    private static readonly PixelPoint Corner = new(X: 500, Y: 160);

    public static TheoryData<char, double, bool, bool, double> Letters => new()
    {
        { 'R', 0, false, true, 60 },
        { 'R', 35, false, true, 60 },
        { 'R', -90, true, true, 50 },
        { 'R', 180, false, false, 60 },
        { 'R', 0, true, false, 60 },
        { 'L', 0, false, true, 60 },
        { 'L', -50, false, true, 40 },
        { 'L', 120, true, true, 60 },
        { 'L', 0, false, false, 50 },

        // 6.4 mm and 24 mm at 0.2 mm a pixel.
        { 'R', 10, false, true, 32 },
        { 'L', 10, false, true, 120 },
    };

    [Theory]
    [Trait("evidence", "analytic")]
    [MemberData(nameof(Letters))]
    public void Measure_OneLetter_IsFoundWhereAndAsItWasPut(char letter, double turn, bool mirrored, bool lead, double height)
    {
        Radiograph radiograph = new DrawnLetter(letter, Corner, height) { TurnDegrees = turn, Mirrored = mirrored, DrawnValue = lead ? null : (ushort)0 }.On(Limb.Value);

        FoundMarker found = Assert.Single(Find(radiograph));

        Assert.Equal(letter.ToString(), found.Letter);
        Assert.Equal(mirrored, found.Mirrored);
        Assert.Equal(lead ? MarkerKind.Lead : MarkerKind.Annotation, found.Kind);

        // "Within a few degrees": 5; the centre within a tenth of the height, the height within 15 %, both as the requirement's tolerance of a measure for drawing.
        Assert.Equal(0, Math.IEEERemainder(found.RotationDegrees - turn, 360), 5.0);
        Assert.True(found.Center.DistancePixelsTo(Corner) < 0.1 * height);
        Assert.Equal(height * 0.2, found.HeightMm!.Value, 0.15 * height * 0.2);
        Assert.True(found.InsideField);
        Assert.False(found.OverAnatomy);
        Assert.False(found.CutByEdge);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_ImageTurnedByAQuarter_TurnsTheLetter()
    {
        Radiograph radiograph = new DrawnLetter('R', Corner, 60) { TurnDegrees = 20 }.On(Limb.Value);

        FoundMarker upright = Assert.Single(Find(radiograph)), turned = Assert.Single(Find(Moved(radiograph, quarter: true)));

        Assert.Equal(upright.Letter, turned.Letter);
        Assert.False(turned.Mirrored);
        Assert.Equal(0, Math.IEEERemainder(turned.RotationDegrees - upright.RotationDegrees - 90, 360), 3.0);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_ImageMirrored_MirrorsTheLetter()
    {
        Radiograph radiograph = new DrawnLetter('L', Corner, 60) { TurnDegrees = 20 }.On(Limb.Value);

        FoundMarker upright = Assert.Single(Find(radiograph)), mirrored = Assert.Single(Find(Moved(radiograph, quarter: false)));

        Assert.Equal("L", mirrored.Letter);
        Assert.True(mirrored.Mirrored);
        Assert.Equal(0, Math.IEEERemainder(mirrored.RotationDegrees + upright.RotationDegrees, 360), 3.0);
        Assert.Equal(639 - upright.Center.X, mirrored.Center.X, 2.0);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_ImageInverted_FindsTheSame()
    {
        Radiograph radiograph = new DrawnLetter('R', Corner, 60) { TurnDegrees = -15 }.On(Limb.Value);
        var pixels = new Raster<ushort>(radiograph.Rows, radiograph.Columns);
        for (int i = 0; i < pixels.Samples.Length; i++)
        {
            pixels.Samples[i] = (ushort)(radiograph.PixelMaximum - radiograph.Pixels.Samples[i]);
        }

        FoundMarker plain = Assert.Single(Find(radiograph));
        FoundMarker inverted = Assert.Single(Find(radiograph with { Pixels = pixels, RelationshipSign = -1, HighIsShownDark = false }));

        Assert.Equal((plain.Letter, plain.Mirrored, plain.Kind, plain.InsideField), (inverted.Letter, inverted.Mirrored, inverted.Kind, inverted.InsideField));
        Assert.Equal(plain.RotationDegrees, inverted.RotationDegrees, 3.0);
    }

    [Fact]
    public void Measure_WithoutSpacing_FindsTheLetterAndGivesNoMillimetres()
    {
        Radiograph radiograph = new DrawnLetter('R', Corner, 50).On(Limb.Value) with { ReceptorSpacing = null };

        FoundMarker found = Assert.Single(Find(radiograph));

        Assert.Equal("R", found.Letter);
        Assert.Null(found.HeightMm);
        Assert.Equal(50, found.HeightPixels!.Value, 7.5);
    }

    [Fact]
    public void Measure_DrawnBeyondTheField_IsNotInside()
    {
        Radiograph radiograph = new DrawnLetter('L', new PixelPoint(X: 608, Y: 300), 40) { DrawnValue = 16000 }.On(Limb.Value);

        FoundMarker found = Assert.Single(Find(radiograph));

        Assert.False(found.InsideField);
        Assert.Equal(MarkerKind.Annotation, found.Kind);
    }

    [Fact]
    public void Measure_OverTheLimb_IsOverAnatomy()
    {
        Radiograph radiograph = new DrawnLetter('L', new PixelPoint(X: 250, Y: 400), 60) { ScatterShare = 0.2 }.On(Limb.Value);

        FoundMarker found = Assert.Single(Find(radiograph));

        Assert.True(found.InsideField);
        Assert.True(found.OverAnatomy);
    }

    [Fact]
    public void Measure_CutByTheField_SaysSo()
    {
        // The field's right edge lies at 580: a fifth of the letter's width is beyond it.
        Radiograph limb = Limb.Value;
        Radiograph radiograph = new DrawnLetter('R', new PixelPoint(X: 567, Y: 300), 60).On(limb);

        FoundMarker found = Assert.Single(Find(radiograph));

        Assert.True(found.CutByEdge);
        Assert.Equal("R", found.Letter);
    }

    [Theory]
    [InlineData("R", true)]
    [InlineData("L", false)]
    [InlineData("B", null)]
    [InlineData(null, null)]
    public void Measure_Laterality_IsComparedWithTheLetter(string? laterality, bool? agrees)
    {
        Radiograph radiograph = new DrawnLetter('R', Corner, 60).On(Limb.Value) with { Exposure = new ExposureRecord { Laterality = laterality } };

        Assert.Equal(agrees, Assert.Single(Find(radiograph)).AgreesWithHeader);
    }

    [Theory]

    // The letter lies at the right of the picture. Rows run towards the patient's left: the picture's right is the left side.
    [InlineData(@"L\F", null, false)]
    [InlineData(@"R\F", null, true)]
    [InlineData(@"LP\F", null, false)]
    [InlineData(@"A\F", null, null)]
    [InlineData(@"L\F", "R", null)]
    [InlineData(null, null, null)]
    public void Measure_Orientation_TellsWhetherTheLetterIsOnItsSide(string? orientation, string? laterality, bool? onItsSide)
    {
        Radiograph radiograph = new DrawnLetter('R', Corner, 60).On(Limb.Value) with { Exposure = new ExposureRecord { PatientOrientation = orientation, Laterality = laterality } };

        Assert.Equal(onItsSide, Assert.Single(Find(radiograph)).OnItsSide);
    }

    [Fact]
    public void Measure_NoLetter_FindsNone()
    {
        Assert.Empty(Find(Limb.Value));
        Radiograph things = new DrawnRadiograph
        {
            Rows = 800,
            Columns = 640,
            Shapes =
            [
                new DrawnBand(new PixelPoint(X: 300, Y: 500), 92, 220, 0.3),
                new DrawnDisc(new PixelPoint(X: 520, Y: 300), 30, 0.05),
                new DrawnCapsule(new PixelPoint(X: 480, Y: 600), new PixelPoint(X: 600, Y: 640), 12, 0.05),
                new DrawnCapsule(new PixelPoint(X: 500, Y: 720), new PixelPoint(X: 590, Y: 720), 40, 0.1),
            ],
        }.Draw();
        Assert.Empty(Find(things));
    }

    [Fact]
    public void Measure_TinyPicture_CannotTell()
    {
        Radiograph tiny = Limb.Value with { Pixels = new Raster<ushort>(40, 300) };

        Figure<MarkersMeasurement> figure = MarkersMeasure.Measure(tiny, RegionFinder.Find(Limb.Value, new MeasureOptions()), new MeasureOptions());

        Assert.False(figure.IsMeasured);
        Assert.Contains("64 pixels", figure.Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_FlatPicture_FindsNone()
        => Assert.Empty(MarkersMeasure.Measure(Limb.Value with { Pixels = new Raster<ushort>(800, 640) }, RegionFinder.Find(Limb.Value, new MeasureOptions()), new MeasureOptions()).Value!.Found);

    [Fact]
    public void Weights_AreThoseTheRecipeNames()
    {
        string[] lines = File.ReadAllLines(Path.Combine(SharedData.RepositoryRoot, "training", "markers", "weights.sha256"));
        Dictionary<string, string> named = lines.Where(line => line.Length > 0).ToDictionary(line => line.Split("  ")[1], line => line.Split("  ")[0]);

        foreach (string name in new[] { MarkerNetworks.FinderName, MarkerNetworks.ReaderName })
        {
            byte[] weights = MarkerNetworks.Weights(name);
            Assert.Equal(named[name], Convert.ToHexStringLower(SHA256.HashData(weights)));
            Assert.InRange(weights.Length, 100_000, 10_000_000);
        }

        Assert.Equal(named["train.py"], Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(Path.Combine(SharedData.RepositoryRoot, "training", "markers", "train.py")))));
    }

    [Theory]
    [InlineData("PATCH", MarkerNetworks.Patch)]
    [InlineData("STRIDE", MarkerNetworks.FinderStride)]
    public void Recipe_UsesTheSizesOfTheCode(string name, int value)
        => Assert.Contains($"\n{name} = {value} ", File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "training", "markers", "train.py")), StringComparison.Ordinal);

    [Fact]
    public void Networks_AnswerInTheirShapes()
    {
        Assert.Equal(8 * 9 * 10, MarkerNetworks.Shared.Find(new float[70 * 80], 70, 80).Length);
        Assert.Equal(3 * MarkerNetworks.ReaderValues, MarkerNetworks.Shared.Read(new float[3 * 48 * 48], 3).Length);
    }

    private static IReadOnlyList<FoundMarker> Find(Radiograph radiograph)
        => MarkersMeasure.Measure(radiograph, RegionFinder.Find(radiograph, new MeasureOptions()), new MeasureOptions()).Value!.Found;

    // Turned clockwise by a quarter, or mirrored left to right.
    private static Radiograph Moved(Radiograph radiograph, bool quarter)
    {
        Raster<ushort> moved = quarter ? new(radiograph.Columns, radiograph.Rows) : new(radiograph.Rows, radiograph.Columns);
        for (int row = 0; row < moved.Rows; row++)
        {
            for (int column = 0; column < moved.Columns; column++)
            {
                moved[row, column] = quarter ? radiograph.Pixels[radiograph.Rows - 1 - column, row] : radiograph.Pixels[row, radiograph.Columns - 1 - column];
            }
        }

        return radiograph with { Pixels = moved };
    }
}
