using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Clipping;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Document;
using Hotlight.Measure.Tests.Mottle;

namespace Hotlight.Measure.Tests.Clipping;

public class ClippingMeasureTests
{
    private const int Side = 800;
    private const double Middle = 399.5;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(1, 12)]
    [InlineData(-1, 12)]
    [InlineData(1, 8)]
    [InlineData(-1, 16)]
    public void Measure_DrawnShares_AreCountedAtTheRightEnd(int exposureSign, int bits)
    {
        // 400 × 400 anatomy: the first 20 of its columns (5 %) at the upper end of the exposure, the next 8 (2 %) at the lower.
        int largest = (1 << bits) - 1;
        double Exposure(int row, int column) => column < 120 ? largest : column < 128 ? 0 : largest / 2 + ((row + column) % 5);
        Radiograph radiograph = HandDrawn.Radiograph(600, 600, bits, (row, column) => exposureSign > 0 ? Exposure(row, column) : largest - Exposure(row, column));
        RadiographRegions regions = HandDrawn.Regions(radiograph, (row, column) => row is >= 104 and < 504 && column is >= 100 and < 500 ? RegionLabel.SoftTissue : RegionLabel.Direct, exposureSign: exposureSign, step: 4);

        ClippingMeasurement clipping = ClippingMeasure.Measure(radiograph, regions, new MeasureOptions()).Value!;

        Assert.Equal(5, clipping.SaturatedPercentOfAnatomy, 0.001);
        Assert.Equal(2, clipping.FloorPercentOfAnatomy, 0.001);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_ValuesThatPileUpBelowTheRangesEnd_AreClipped()
    {
        // The read-out stops at 3000 of 4095: 10 % of the anatomy (rows 200 to 239 of 400) and all direct exposure stand there.
        var noise = new NoiseField(seed: 1);
        Radiograph radiograph = HandDrawn.Radiograph(400, 400, 12, (row, column) => column >= 200 || row is >= 200 and < 240 ? 3000 : Math.Min(3000, 1500 + (60 * noise.Gaussian())));
        RadiographRegions regions = HandDrawn.Regions(radiograph, (_, column) => column < 200 ? RegionLabel.SoftTissue : RegionLabel.Direct);

        Assert.Equal(10, ClippingMeasure.Measure(radiograph, regions, new MeasureOptions()).Value!.SaturatedPercentOfAnatomy, 0.001);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_LargestValueOfPlainNoise_IsNoLimit()
    {
        var noise = new NoiseField(seed: 1);
        Radiograph radiograph = HandDrawn.Radiograph(400, 400, 12, (_, _) => 1500 + (60 * noise.Gaussian()));

        ClippingMeasurement clipping = ClippingMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!;

        Assert.Equal(0, clipping.SaturatedPercentOfAnatomy);
        Assert.Equal(0, clipping.FloorPercentOfAnatomy);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_PaddingInTheField_IsNotFloor()
    {
        Radiograph radiograph = HandDrawn.Radiograph(400, 400, 12, (row, column) => row < 40 ? 0 : 1500 + ((row * column) % 7));

        Assert.Equal(10, ClippingMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!.FloorPercentOfAnatomy, 0.001);
        Radiograph padded = radiograph with { Padding = new PixelPadding(FromStoredValue: 0, ToStoredValue: 0) };
        Assert.Equal(0, ClippingMeasure.Measure(padded, HandDrawn.AllSoftTissue(padded), new MeasureOptions()).Value!.FloorPercentOfAnatomy);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_WindowNarrowerThanTheAnatomy_IsToldFromLostSignal()
    {
        // Values 1000 to 1999, each column one; a linear window from 1250 to 1750 (PS3.3: centre − 0.5 ± (width − 1) / 2) shows a quarter black and a quarter white; the pixels hold all.
        Radiograph radiograph = HandDrawn.Radiograph(200, 1000, 12, (_, column) => 1000 + column) with
        {
            HighIsShownDark = false,
            PresentationIntent = PresentationIntent.ForPresentation,
            Windows = [new VoiTransform { Center = 1500, Width = 500 }],
        };

        ClippingMeasurement clipping = ClippingMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!;

        // One just-noticeable difference is 1/581.6 of 500 values, less than one: two values of 1000 at most.
        Assert.Equal(25, clipping.ShownBlackPercentOfAnatomy!.Value, 0.2);
        Assert.Equal(25, clipping.ShownWhitePercentOfAnatomy!.Value, 0.2);
        Assert.Equal(0, clipping.SaturatedPercentOfAnatomy);
        Assert.Equal(0, clipping.FloorPercentOfAnatomy);
        Assert.Null(clipping.LimitSetBy);
    }

    [Theory]
    [InlineData(PresentationIntent.ForProcessing, "receptor")]
    [InlineData(PresentationIntent.ForPresentation, "receptor or rendering")]
    [InlineData(PresentationIntent.Unknown, "receptor or rendering")]
    public void LimitSetBy_LostSignal_SaysWhatTheFileCanSay(PresentationIntent intent, string expected)
    {
        Radiograph radiograph = HandDrawn.Radiograph(400, 400, 12, (row, _) => row < 40 ? 4095 : 2000 + (row % 7)) with { PresentationIntent = intent };

        Assert.Equal(expected, ClippingMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!.LimitSetBy);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.0, 0)] // nothing saturates
    [InlineData(1.0, 0)] // direct exposure stands at the limit: half of its noise is cut off, nothing of the skin
    [InlineData(1.05, 0)] // saturates to a depth of 0.02 mm: the skin itself is seen
    [InlineData(1.6, 100)] // saturates to a depth of 2.2 mm
    [InlineData(2.5, 100)]
    public void SkinLineLost_CylinderBehindASaturatingReceptor_FollowsTheDepthThatIsLost(double directOverLimit, double expectedPercent)
    {
        // A cylinder of radius 50 mm (250 pixels of 0.2 mm) across its axis: thickness 2 √(R² − r²), μ = 0.025 per mm, 1 % noise.
        // Saturated where direct · exp(−μ t) ≥ limit, that is t ≤ ln(direct / limit) / μ: 18.8 mm for 1.6, which lies (9.4)² / 2 R = 0.9 mm
        // of depth below the skin to first order; 36.7 mm for 2.5, 3.5 mm. The rule's threshold is 1 mm, so 1.6 is set up with μ = 0.016:
        // 29.4 mm, 2.2 mm.
        double attenuationPerMm = directOverLimit > 2 ? 0.025 : 0.016;
        double limit = 4095;
        double direct = directOverLimit == 0 ? limit / 2 : directOverLimit * limit;
        ClippingMeasurement clipping = MeasureDisc(direct, attenuationPerMm, shadedFraction: 0);

        // One profile in a hundred may be spoilt by noise.
        Assert.Equal(expectedPercent, clipping.SkinLineLostPercent!.Value, 1.0);

        // What is burned out wholly is no anatomy for whoever finds regions, so its share is a lower bound.
        Assert.Equal(expectedPercent > 0 ? true : null, clipping.SaturatedIsAtLeast);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void SkinLineLost_HalfOfTheOutlineSaturated_IsHalf()
    {
        // The lower half of the field gets a third of the exposure, so only the upper half of the outline is burned out.
        ClippingMeasurement clipping = MeasureDisc(direct: 2.5 * 4095, attenuationPerMm: 0.025, shadedFraction: 0.5);

        // The lost half is drawn at the border of saturation, 3.5 mm within the skin: 46.5 / (46.5 + 50) = 48.2 % of the outline.
        // It is judged in pieces of 12 of about 1,500 pixels; two ends of one piece each: 24 / 1500 = 1.6 points.
        Assert.Equal(48.2, clipping.SkinLineLostPercent!.Value, 1.6);
        Assert.NotEmpty(clipping.LostSkinLines);
        Assert.All(clipping.LostSkinLines, line => Assert.All(line, point => Assert.True(point.Y < Middle + 12)));
    }

    [Fact]
    public void SkinLineLost_NoOutlineInTheField_IsAbsent()
    {
        Radiograph radiograph = HandDrawn.Radiograph(400, 400, 12, (row, column) => 1500 + ((row * column) % 7));

        Assert.Null(ClippingMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Value!.SkinLineLostPercent);
    }

    [Fact]
    public void Measure_AnatomyNotFound_CannotTell()
    {
        Radiograph radiograph = HandDrawn.Radiograph(100, 100, 12, (_, _) => 1500);

        Assert.Contains("anatomy", ClippingMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), new MeasureOptions()).Why, StringComparison.Ordinal);
    }

    /// <summary>A cylinder seen end on, as a disc; the region found is the disc that does not saturate, as a finder of regions would see it.</summary>
    private static ClippingMeasurement MeasureDisc(double direct, double attenuationPerMm, double shadedFraction)
    {
        const double RadiusMm = 50;
        const double Spacing = 0.2;
        var noise = new NoiseField(seed: 9);
        double Thickness(double radiusPixels)
        {
            double radius = radiusPixels * Spacing;
            return radius < RadiusMm ? 2 * Math.Sqrt((RadiusMm * RadiusMm) - (radius * radius)) : 0;
        }

        double ExposureAt(int row) => shadedFraction > 0 && row > Middle ? direct / 3 : direct;
        double Radius(double row, double column) => Math.Sqrt(((row - Middle) * (row - Middle)) + ((column - Middle) * (column - Middle)));
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 12, (row, column) => ExposureAt(row) * Math.Exp(-attenuationPerMm * Thickness(Radius(row, column))) * (1 + (0.01 * noise.Gaussian())));
        double SkinRadius(double row)
        {
            double radius = RadiusMm / Spacing;
            while (ExposureAt((int)Math.Round(row)) > 4095 && ExposureAt((int)Math.Round(row)) * Math.Exp(-attenuationPerMm * Thickness(radius)) >= 4095)
            {
                radius -= 0.25;
            }

            return radius;
        }

        PixelPoint[] skin = Enumerable.Range(0, 720).Select(at =>
        {
            double angle = at * Math.PI / 360;
            double y = Math.Sin(angle);
            double radius = SkinRadius(Middle + (y * RadiusMm / Spacing));
            return new PixelPoint(X: Middle + (radius * Math.Cos(angle)), Y: Middle + (radius * y));
        }).ToArray();
        RadiographRegions regions = HandDrawn.Regions(radiograph, (row, column) => Radius(row, column) < SkinRadius(row) ? RegionLabel.SoftTissue : RegionLabel.Direct, skin);
        Figure<ClippingMeasurement> clipping = ClippingMeasure.Measure(radiograph, regions, new MeasureOptions());
        Assert.True(clipping.IsMeasured, clipping.Why);
        return clipping.Value;
    }
}
