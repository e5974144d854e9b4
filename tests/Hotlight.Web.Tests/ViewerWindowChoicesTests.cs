using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Testing;

namespace Hotlight.Web.Tests;

/// <summary>Windows from the image's own statistics.</summary>
public sealed class ViewerWindowChoicesTests
{
    // 100 pixels in bins of 10 from 1000: 0, 20, 60, 20.
    private static readonly ValueHistogram Drawn = new() { From = 1000, BinWidth = 10, Field = [0, 20, 60, 20], Anatomy = [0, 20, 60, 20] };

    [Theory]
    [InlineData(0.1, 1015)]
    [InlineData(0.2, 1020)]
    [InlineData(0.5, 1025)]
    [InlineData(0.95, 1037.5)]
    [InlineData(1, 1040)]
    [Trait("evidence", "analytic")]
    public void Quantile_OfDrawnCounts_LiesWhereTheShareIsReached(double fraction, double expected)
        => Assert.Equal(expected, WindowChoices.Quantile(Drawn, fraction)!.Value, 9);

    [Fact]
    public void Quantile_OfNothing_IsNone() => Assert.Null(WindowChoices.Quantile(Drawn with { Anatomy = [0, 0, 0, 0] }, 0.5));

    [Theory]
    [InlineData(1, true)]
    [InlineData(1, false)]
    [InlineData(-1, true)]
    public void Halves_WhicheverWayValuesGo_PartBoneFromTheThinSide(int slope, bool highIsDark)
    {
        Radiograph radiograph = InventedExposure.Limb() with { HighIsShownDark = highIsDark, Modality = new ModalityTransform { Slope = slope, Intercept = slope < 0 ? 16383 : 0 } };
        IReadOnlyList<WindowChoice> choices = WindowChoices.Of(radiograph, RadiographMeasure.Measure(radiograph));
        (ViewerWindow dense, ViewerWindow thin) = (choices[3].Window!, choices[4].Window!);

        // More exposure gives a higher pixel value in the limb: dense is low, unless the rescale falls.
        Assert.Equal(slope > 0, dense.Center < thin.Center);

        // The halves meet at the median, to the six digits they are given in.
        double seam = slope > 0 ? dense.Center + (dense.Width / 2) : dense.Center - (dense.Width / 2);
        Assert.InRange(slope > 0 ? thin.Center - (thin.Width / 2) : thin.Center + (thin.Width / 2), seam - 0.2, seam + 0.2);
    }

    [Fact]
    public void WithoutAnatomy_OnlyTheWholeRangeIsGiven()
    {
        Radiograph radiograph = InventedExposure.Limb(rows: 60, columns: 50);
        MeasurementDocument measured = RadiographMeasure.Measure(radiograph) with { Display = Core.Figure<DisplayMeasurement>.CannotTell("No anatomy was found.") };

        IReadOnlyList<WindowChoice> choices = WindowChoices.Of(radiograph, measured);

        Assert.NotNull(choices[0].Window);
        Assert.All(choices.Skip(1), choice => Assert.Null(choice.Window));
        Assert.All(choices.Skip(1), choice => Assert.Contains("Cannot tell", choice.Detail, StringComparison.Ordinal));
        ushort[] samples = radiograph.Pixels.Samples.ToArray();
        Assert.Equal(samples.Max() - samples.Min(), choices[0].Window!.Width, 9);
    }
}
