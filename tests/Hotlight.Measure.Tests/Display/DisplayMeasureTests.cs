using Hotlight.Imaging;
using Hotlight.Measure.Display;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Document;

namespace Hotlight.Measure.Tests.Display;

public class DisplayMeasureTests
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(false)]
    [InlineData(true)]
    public void Measure_RampInALinearWindow_IsTheClosedForm(bool highIsShownDark)
    {
        // Values 1000 to 1999, each as often; window 2000 wide about 2000 (exact): brightness (v − 1000) / 2000, so 0 to 0.4995.
        // Mean 0.24975; 5th to 95th percentile 0.9 · 0.5 = 0.45. One value in 1000 more or less: 0.05 points.
        Radiograph radiograph = Ramp() with
        {
            HighIsShownDark = highIsShownDark,
            Windows = [new VoiTransform { Center = 2000, Width = 2000, Function = WindowFunction.LinearExact }],
        };

        DisplayMeasurement display = DisplayMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!;

        Assert.Equal(45, display.ContrastPercent, 0.051);
        Assert.Equal(highIsShownDark ? 75.025 : 24.975, display.MeanBrightnessPercent, 0.006);
        Assert.Equal(2000, display.WindowCenter);
        Assert.Equal(2000, display.WindowWidth);
        Assert.Equal("file", display.WindowBasis);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_WindowWithRescale_IsInModalityValues()
    {
        // Modality value = 2 v + 500: 2500 to 4498 in a window of 4000 about 4500.
        Radiograph radiograph = Ramp() with
        {
            HighIsShownDark = false,
            Modality = new ModalityTransform { Slope = 2, Intercept = 500 },
            Windows = [new VoiTransform { Center = 4500, Width = 4000, Function = WindowFunction.LinearExact }],
        };

        Assert.Equal(24.975, DisplayMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!.MeanBrightnessPercent, 0.006);
    }

    [Fact]
    public void Measure_NoWindowInTheFile_TakesOneOverTheAnatomy()
    {
        Radiograph radiograph = Ramp() with { HighIsShownDark = false };

        DisplayMeasurement display = DisplayMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!;

        // 0.5th to 99.5th percentile of 1000 to 1999: 1004 to 1994.
        Assert.Equal("anatomy", display.WindowBasis);
        Assert.Equal(1499, display.WindowCenter, 1.0);
        Assert.Equal(990, display.WindowWidth, 1.0);
        Assert.Equal(50, display.MeanBrightnessPercent, 0.1);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_WindowNarrowerThanTheAnatomy_SaysWhatItHides()
    {
        // Values 1000 to 1999, each as often; a window of 400 about 1400 (exact) shows 1200 to 1600: a fifth lies below and two fifths above, each to the grain of 1/510 of 400 (0.8 values of 1000).
        Radiograph radiograph = Ramp() with { HighIsShownDark = false, Windows = [new VoiTransform { Center = 1400, Width = 400, Function = WindowFunction.LinearExact }] };
        DisplayMeasurement display = DisplayMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!;

        Assert.Equal(20, display.BelowWindowPercentOfAnatomy!.Value, 0.21);
        Assert.Equal(40, display.AboveWindowPercentOfAnatomy!.Value, 0.21);

        // 0.5th to 99.5th percentile: 1004 to 1994, a tenth wider in all.
        Assert.Equal(1499, display.ProposedWindowCenter!.Value, 1.0);
        Assert.Equal(1089, display.ProposedWindowWidth!.Value, 2.0);
        Assert.Equal(64, display.Histogram!.Field.Count);
        Assert.Equal(radiograph.Rows * (long)radiograph.Columns, display.Histogram.Field.Sum());
        Assert.Equal(display.Histogram.Field, display.Histogram.Anatomy);
        Assert.Null(display.EdgeOvershootPercent);
    }

    [Fact]
    public void Measure_FirstWindowShowsNothing_TakesTheNext()
    {
        Radiograph radiograph = Ramp() with
        {
            Windows = [new VoiTransform { Center = 30, Width = 40 }, new VoiTransform { Center = double.NaN, Width = 40 }, new VoiTransform { Center = 1500, Width = 1200 }],
        };

        Assert.Equal(1500, DisplayMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!.WindowCenter);
    }

    [Fact]
    public void Measure_TableInTheFile_GivesTheRangeItMaps()
    {
        // 1024 entries from 1000: brightness 0 to 1 over 1000 to 2023; mean of 1000 to 1999: 499.5 / 1023 = 48.83 %.
        ushort[] entries = Enumerable.Range(0, 1024).Select(entry => (ushort)entry).ToArray();
        Radiograph radiograph = Ramp() with
        {
            HighIsShownDark = false,
            Windows = [new VoiTransform { Table = new LookupTable(FirstMapped: 1000, BitsPerEntry: 10, entries) }],
        };

        DisplayMeasurement display = DisplayMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!;

        Assert.Equal(48.83, display.MeanBrightnessPercent, 0.01);
        Assert.Equal(1511.5, display.WindowCenter);
        Assert.Equal(1024, display.WindowWidth);
    }

    [Fact]
    public void Measure_OnlyTheAnatomyCounts()
    {
        Radiograph radiograph = HandDrawn.Radiograph(80, 80, 12, (row, _) => row < 40 ? 4000 : 1000) with
        {
            HighIsShownDark = false,
            Windows = [new VoiTransform { Center = 2000, Width = 4000, Function = WindowFunction.LinearExact }],
        };
        RadiographRegions regions = HandDrawn.Regions(radiograph, (row, column) => row < 40 ? RegionLabel.Direct : column < 40 ? RegionLabel.Bone : RegionLabel.SoftTissue);

        DisplayMeasurement display = DisplayMeasure.Measure(radiograph, regions, new MeasureOptions()).Value!;

        Assert.Equal("anatomy", display.WindowBasis); // one value alone has no contrast in any window
        Assert.Equal(0, display.ContrastPercent);
    }

    [Fact]
    public void Measure_AnatomyNotFound_CannotTell()
    {
        Radiograph radiograph = Ramp();

        Assert.Contains("anatomy", DisplayMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), new MeasureOptions()).Why, StringComparison.Ordinal);
    }

    private static Radiograph Ramp() => HandDrawn.Radiograph(200, 1000, 12, (_, column) => 1000 + column);
}
