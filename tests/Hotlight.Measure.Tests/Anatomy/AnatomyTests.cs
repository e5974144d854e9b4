using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Field;
using Hotlight.Measure.Tests.Images;
using Xunit;

namespace Hotlight.Measure.Tests.Anatomy;

public sealed class AnatomyTests
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 1, 0)]
    [InlineData(12, -1, 0)]
    [InlineData(0, 1, 0.2)]
    [InlineData(-5, -1, 0.15)]
    public void Find_DiscOfKnownArea_ShareOfFieldMatches(double tilt, int sign, double heel)
    {
        var disc = new DrawnDisc(new PixelPoint(X: 400, Y: 500), 150, 0.5);
        var drawn = new DrawnRadiograph { TiltDegrees = tilt, Sign = sign, HighIsShownDark = sign > 0, HeelShare = heel, Shapes = [disc] };

        RadiographRegions regions = RegionFinder.Find(drawn.Draw(), new MeasureOptions());

        // Closed form π·r² over width × height. The cells are 2 pixels: the border can be off by one cell all round.
        double expected = 100 * disc.Area / (drawn.Width * drawn.Height);
        double tolerance = 100 * 2 * Math.PI * disc.RadiusPixels * 2 / (drawn.Width * drawn.Height);
        Assert.InRange(regions.Anatomy.Value!.PercentOfField, expected - tolerance, expected + tolerance);
        Assert.Empty(regions.Anatomy.Value.Leaves);
        Assert.Equal(sign, regions.ExposureSign);
        Assert.NotNull(regions.DirectPixelValue);
        Assert.Equal(RegionLabel.SoftTissue, regions.Map.At(500, 400));
        Assert.Equal(RegionLabel.Direct, regions.Map.At(800, 400));
        Assert.Equal(RegionLabel.Outside, regions.Map.At(5, 5));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_ThinSkin_IsAnatomyThoughItHardlyAttenuates()
    {
        // 6 % attenuation at a noise of 2 % a pixel: three sigma of one pixel, six of a cell of 2 × 2.
        var thin = new DrawnDisc(new PixelPoint(X: 400, Y: 500), 180, 0.94);
        var drawn = new DrawnRadiograph { Shapes = [thin, new DrawnDisc(new PixelPoint(X: 400, Y: 500), 120, 0.4)] };

        RadiographRegions regions = RegionFinder.Find(drawn.Draw(), new MeasureOptions());

        double expected = 100 * thin.Area / (drawn.Width * drawn.Height);
        double tolerance = 100 * 2 * Math.PI * thin.RadiusPixels * 2 / (drawn.Width * drawn.Height);
        Assert.InRange(regions.Anatomy.Value!.PercentOfField, expected - tolerance, expected + tolerance);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(90, FieldSide.Top, FieldSide.Bottom)]
    [InlineData(0, FieldSide.Right, FieldSide.Left)]
    public void Find_LimbAcrossTheField_LeavesByTwoSides(double direction, FieldSide one, FieldSide other)
    {
        var drawn = new DrawnRadiograph { Width = 500, Height = 500, Shapes = [new DrawnBand(new PixelPoint(X: 400, Y: 500), direction, 160, 0.4)] };

        AnatomyMeasurement anatomy = RegionFinder.Find(drawn.Draw(), new MeasureOptions()).Anatomy.Value!;

        // Closed form: 160 of 500.
        Assert.InRange(anatomy.PercentOfField, 32 - 0.8, 32 + 0.8);
        Assert.Equal(new[] { one, other }.Order(), anatomy.Leaves.Order());
        Assert.Single(anatomy.Outlines);
        Assert.True(anatomy.Outlines[0].Count <= 400);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_LeadLetterBesideTheLimb_IsNotAnatomy()
    {
        var limb = new DrawnBand(new PixelPoint(X: 400, Y: 500), 90, 200, 0.4);
        var letter = new DrawnCapsule(new PixelPoint(X: 200, Y: 350), new PixelPoint(X: 200, Y: 390), 16, 0.01);
        var drawn = new DrawnRadiograph { Width = 500, Height = 600, Shapes = [limb, letter] };

        RadiographRegions regions = RegionFinder.Find(drawn.Draw(), new MeasureOptions());

        // Closed form: 200 of 500, without the letter's own 0.3 %; the border can be off by half a cell of 2 pixels each side.
        Assert.InRange(regions.Anatomy.Value!.PercentOfField, 40 - 0.4, 40 + 0.4);
        Assert.Equal(RegionLabel.Dense, regions.Map.At(370, 200));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_BodyFillsTheField_NoDirectExposureIsInvented()
    {
        // Overlapping discs of three transmissions cover the whole field: there is no level that is smooth, uppermost and at the edge.
        var shapes = new List<DrawnShape> { new DrawnDisc(new PixelPoint(X: 400, Y: 500), 2000, 0.4) };
        for (int k = 0; k < 30; k++)
        {
            shapes.Add(new DrawnDisc(new PixelPoint(X: 100 + (97 * k % 600), Y: 150 + (211 * k % 700)), 60, 0.8));
        }

        var lung = new DrawnRadiograph { Width = 3000, Height = 3000, Shapes = shapes };

        RadiographRegions regions = RegionFinder.Find(lung.Draw(), new MeasureOptions());

        Assert.True(regions.Anatomy.IsMeasured);
        Assert.All(regions.Field.Value!.Sides, side => Assert.Equal(FieldEdge.Receptor, side.Edge));
    }

    [Theory]
    [Trait("evidence", "invariant")]
    [InlineData(1)]
    [InlineData(-1)]
    public void Find_ShownBoneDarkWithoutHeader_FindsThePolarityInTheImage(int sign)
    {
        // Drawn with the sign that is against the way of showing: bone appears dark.
        Radiograph radiograph = new DrawnRadiograph
        {
            Sign = sign,
            HighIsShownDark = sign < 0,
            Shapes = [new DrawnBand(new PixelPoint(X: 400, Y: 500), 85, 200, 0.5), new DrawnBand(new PixelPoint(X: 400, Y: 500), 85, 70, 0.5)],
        }.Draw();

        RadiographRegions regions = RegionFinder.Find(radiograph, new MeasureOptions());

        Assert.Equal(sign, regions.ExposureSign);
        Assert.Contains("direct exposure", regions.ExposureSignBasis, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_HeaderSaysTheSign_HeaderIsTaken()
    {
        Radiograph radiograph = new DrawnRadiograph { HeaderSign = -1, Shapes = [new DrawnDisc(new PixelPoint(X: 400, Y: 500), 150, 0.4)] }.Draw();

        RadiographRegions regions = RegionFinder.Find(radiograph, new MeasureOptions());

        Assert.Equal(-1, regions.ExposureSign);
        Assert.Contains("(0028,1041)", regions.ExposureSignBasis, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Find_InvertedImage_SameShares()
    {
        Radiograph radiograph = new DrawnRadiograph { HeelShare = 0.1, Shapes = [new DrawnCapsule(new PixelPoint(X: 300, Y: 300), new PixelPoint(X: 480, Y: 640), 140, 0.45)] }.Draw();

        double upright = RegionFinder.Find(radiograph, new MeasureOptions()).Anatomy.Value!.PercentOfField;
        double inverted = RegionFinder.Find(FieldTests.Inverted(radiograph), new MeasureOptions()).Anatomy.Value!.PercentOfField;

        Assert.Equal(upright, inverted, 0.3);
    }
}
