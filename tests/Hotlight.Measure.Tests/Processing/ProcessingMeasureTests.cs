using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Display;
using Hotlight.Measure.Document;
using Hotlight.Measure.Processing;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Document;
using Hotlight.Measure.Tests.Mottle;
using Hotlight.Testing;

namespace Hotlight.Measure.Tests.Processing;

public class ProcessingMeasureTests
{
    private static readonly Figure<DisplayMeasurement> NoDisplay = Figure<DisplayMeasurement>.CannotTell("not measured");

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_NoiseAsAReceptorGivesIt_ShowsNoSign()
    {
        Radiograph radiograph = Exposed(1, blurPixels: 0.8);
        Figure<ProcessingMeasurement> processing = ProcessingMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions(), NoDisplay);

        Assert.Empty(processing.Value!.Signs);
        Assert.Empty(processing.Value.Details!);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(2, 50.0)]
    [InlineData(4, 75.0)]
    public void Measure_ValuesSpreadByAFactor_LeavesThatShareOfGaps(int factor, double percent)
    {
        // Only every factor-th value occurs: 1 − 1/factor of them are missing.
        Radiograph exposed = Exposed(2, blurPixels: 0);
        Radiograph spread = HandDrawn.Radiograph(exposed.Rows, exposed.Columns, 14, (row, column) => exposed.Pixels[row, column] / factor * factor);

        ProcessingSign sign = Assert.Single(Signs(spread), sign => sign.Kind == ProcessingKind.HistogramGaps);
        Assert.Equal(percent, sign.Figure!.Value, 1.0);
    }

    [Theory]
    [Trait("evidence", "independent")]
    [InlineData("plain.png", false)]
    [InlineData("quality-90.jpg", true)]
    [InlineData("quality-75.jpg", true)]
    [InlineData("quality-50.jpg", true)]
    public void Measure_PicturesOfAnotherEncoder_ShowBlocksWhereTheyWereCompressed(string file, bool isLossy)
    {
        Radiograph picture = Picture(file);

        // The pixels alone: what the file says of itself is taken away.
        IReadOnlyList<ProcessingSign> signs = Signs(picture with { LossyCompressed = null });

        Assert.Equal(isLossy, signs.Any(sign => sign.Kind == ProcessingKind.LossyBlocks));
        Assert.DoesNotContain(signs, sign => sign.Kind == ProcessingKind.Upsampling);
    }

    [Theory]
    [Trait("evidence", "independent")]
    [InlineData("enlarged-2.png", 2.0)]
    [InlineData("enlarged-1.5.png", 3.0)]
    public void Measure_PicturesEnlargedByAnotherLibrary_RepeatAtTheirPeriod(string file, double period)
    {
        // At a factor of 2 every second pixel lies alike between old ones; at 1.5 every third (two old steps).
        ProcessingSign sign = Assert.Single(Signs(Picture(file)), sign => sign.Kind == ProcessingKind.Upsampling);

        Assert.Equal(period, sign.Figure!.Value, 0.03);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.0)]
    [InlineData(1.0)]
    [InlineData(2.0)]
    public void Measure_UnsharpMaskOverAnEdge_OvershootsByTheClosedForm(double share)
    {
        // An edge blurred by σ = 1.5 pixels, sharpened by a times its difference from a blur of 4 pixels:
        // Φ(x/1.5) + a·(Φ(x/1.5) − Φ(x/√(1.5² + 4²))); inside, 1.5 mm = 7.5 pixels away, it undershoots alike, which widens the step.
        double Profile(double x) => Phi(x / 1.5) + (share * (Phi(x / 1.5) - Phi(x / Math.Sqrt(2.25 + 16))));
        double most = Enumerable.Range(0, 100).Max(step => (Profile((step / 10.0) - 1) + Profile(step / 10.0) + Profile((step / 10.0) + 1)) / 3) - 1;
        double expected = 100 * Math.Max(0, most) / (1 - Profile(-8));
        var field = new NoiseField(3);
        Radiograph radiograph = HandDrawn.Radiograph(400, 400, 14, (row, column) => 3000 + (4000 * Profile(200 - column)) + (20 * field.Gaussian())) with { PresentationIntent = PresentationIntent.ForPresentation, Relationship = PixelRelationship.Unknown };
        PixelPoint[] skin = [.. Enumerable.Range(5, 390).Select(row => new PixelPoint(X: 200, Y: row))];
        RadiographRegions regions = HandDrawn.Regions(radiograph, (_, column) => column < 200 ? RegionLabel.Direct : RegionLabel.SoftTissue, skin) with { DirectPixelValue = 7000 };
        DisplayMeasurement display = DisplayMeasure.Measure(radiograph, regions, new MeasureOptions()).Value!;

        // The steepest pixel is found to a pixel, which moves the step's inner end: 3 % of the expected; the median of 390 values of deviation 20 in 4000, four deviations over three pixels: 0.2.
        Assert.InRange(display.EdgeOvershootPercent!.Value, (0.97 * expected) - 0.4, (1.03 * expected) + 0.4);

        bool isSeen = ProcessingMeasure.Measure(radiograph, regions, new MeasureOptions(), Figure<DisplayMeasurement>.Measured(display)).Value!.Details!.Any(sign => sign.Kind == ProcessingKind.EdgeEnhancement && sign.Sentence.Contains("skin", StringComparison.Ordinal));
        Assert.Equal(expected > 4, isSeen);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_NoiseThatRisesWithFrequency_IsEnhancement()
    {
        // White noise less its own blur: its spectrum (1 − exp(−2π²σ²f²))² rises, as no receptor's does.
        double[,] fine = new NoiseField(4).Correlated(400, 400, 0), coarse = new NoiseField(4).Correlated(400, 400, 0);
        Radiograph radiograph = HandDrawn.Radiograph(400, 400, 14, (row, column) => row is 0 or 399 || column is 0 or 399 ? 6000
            : 6000 + (60 * ((2 * fine[row, column]) - ((coarse[row - 1, column] + coarse[row + 1, column] + coarse[row, column - 1] + coarse[row, column + 1] + coarse[row, column]) / 5))));

        Assert.Contains(Signs(radiograph), sign => sign.Kind == ProcessingKind.EdgeEnhancement);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_MaskAndDrawnStrokes_AreNamed()
    {
        Radiograph exposed = Exposed(5, blurPixels: 0.8);
        Radiograph drawn = HandDrawn.Radiograph(exposed.Rows, exposed.Columns, 14, (row, column) => row is > 100 and < 220 && column is > 300 and < 308 ? 16383 : exposed.Pixels[row, column]);
        RadiographRegions regions = HandDrawn.AllSoftTissue(drawn);
        FieldMeasurement field = regions.Field.Value! with { Sides = [.. regions.Field.Value!.Sides.Select(side => side with { Edge = side.Side == FieldSide.Left ? FieldEdge.Mask : side.Edge })] };
        ProcessingMeasurement processing = ProcessingMeasure.Measure(drawn, regions with { Field = Figure<FieldMeasurement>.Measured(field) }, new MeasureOptions(), NoDisplay).Value!;

        // 119 rows, every second one looked at: 60 runs of seven pixels about column 304, row 160.
        ProcessingSign strokes = Assert.Single(processing.Details!, sign => sign.Kind == ProcessingKind.DrawnText);
        Assert.Equal(60, strokes.Figure!.Value, 1.0);
        Assert.Contains("left", Assert.Single(processing.Details!, sign => sign.Kind == ProcessingKind.Mask).Sentence, StringComparison.Ordinal);
        Assert.Equal(processing.Details!.Select(sign => sign.Sentence), processing.Signs);
    }

    [Fact]
    public void Measure_FieldNotFound_CannotTell()
    {
        Radiograph radiograph = Exposed(6, blurPixels: 0);

        Assert.False(ProcessingMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), new MeasureOptions(), NoDisplay).IsMeasured);
    }

    private static Radiograph Picture(string file) => RadiographReader.Read(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "lossy-blocks", file));

    private static IReadOnlyList<ProcessingSign> Signs(Radiograph radiograph)
        => ProcessingMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions(), NoDisplay).Value!.Details!;

    private static Radiograph Exposed(int seed, double blurPixels)
    {
        double[,] noise = new NoiseField(seed).Correlated(512, 448, blurPixels);
        return HandDrawn.Radiograph(512, 448, 14, (row, column) => 4000 + (2 * row) + (80 * noise[row, column]));
    }

    // The normal integral by its own series and continued fraction, to 1e-12.
    private static double Phi(double x)
    {
        if (Math.Abs(x) > 6)
        {
            return x > 0 ? 1 : 0;
        }

        double term = x, sum = x;
        for (int k = 1; k < 120; k++)
        {
            term *= x * x / ((2 * k) + 1);
            sum += term;
        }

        return 0.5 + (sum * Math.Exp(-x * x / 2) / Math.Sqrt(2 * Math.PI));
    }
}
