using Hotlight.Core;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Images;
using Xunit;

namespace Hotlight.Measure.Tests.Collimation;

public sealed class TighterFieldTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_DiscInTheField_RoomMarginAndReductionMatchTheDrawing()
    {
        // Field 560 × 700 about (400, 500), disc of radius 100 about (380, 460), 0.2 mm pixels:
        // room top 210 px = 42 mm, right 200 = 40, bottom 290 = 58, left 160 = 32; margin 20 mm = 100 px.
        // Tighter field: (100 + 200 + 100) by (100 + 200 + 100) pixels.
        var drawn = new DrawnRadiograph { Shapes = [new DrawnDisc(new PixelPoint(X: 380, Y: 460), 100, 0.4)] };

        CollimationMeasurement collimation = RegionFinder.Find(drawn.Draw(), new MeasureOptions { SkinMarginMm = 20 }).Collimation.Value!;

        // One cell of 2 pixels at the skin and 3 pixels at the side: 1 mm.
        double[] expected = [42, 40, 58, 32];
        Assert.Equal(4, collimation.SkinToEdgeMm!.Count);
        for (int side = 0; side < 4; side++)
        {
            Assert.InRange(collimation.SkinToEdgeMm[side], expected[side] - 1, expected[side] + 1);
        }

        double reduction = 100 * (1 - (400.0 * 400 / (560 * 700)));

        // Each side of the tighter field within 5 pixels: 2·(400 + 400)·5 of 560 × 700.
        Assert.InRange(collimation.AreaReductionPercent, reduction - 2.1, reduction + 2.1);
        Assert.Equal(20, collimation.SkinMarginMm);
        Assert.Equal(100, collimation.EmptyPercentOfField + RegionFinder.Find(drawn.Draw(), new MeasureOptions()).Anatomy.Value!.PercentOfField, 6);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_LimbLeavesTopAndBottom_ThoseSidesStay()
    {
        var drawn = new DrawnRadiograph { TiltDegrees = 6, Width = 500, Height = 600, Shapes = [new DrawnBand(new PixelPoint(X: 400, Y: 500), 96, 140, 0.4)] };

        RadiographRegions regions = RegionFinder.Find(drawn.Draw(), new MeasureOptions { SkinMarginMm = 10 });
        CollimationMeasurement collimation = regions.Collimation.Value!;

        // Across the limb: 140 + 2 × 50 pixels of 500 stay, its whole length stays: 52 % less.
        Assert.InRange(collimation.AreaReductionPercent, 52 - 2, 52 + 2);
        Assert.Equal(0, collimation.SkinToEdgeMm![0]);
        Assert.Equal(0, collimation.SkinToEdgeMm[2]);
        Assert.InRange(collimation.SkinToEdgeMm[1], 35, 37);
        Assert.InRange(collimation.SkinToEdgeMm[3], 35, 37);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Find_AnatomyNearerThanTheMargin_TighterFieldNeverLeavesTheField()
    {
        var drawn = new DrawnRadiograph { Width = 300, Height = 300, Shapes = [new DrawnDisc(new PixelPoint(X: 400, Y: 500), 130, 0.4)] };

        CollimationMeasurement collimation = RegionFinder.Find(drawn.Draw(), new MeasureOptions { SkinMarginMm = 20 }).Collimation.Value!;

        Assert.Equal(0, collimation.AreaReductionPercent, 0.01);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Find_SpacingUnknown_NoFigureInMillimetres()
    {
        var drawn = new DrawnRadiograph { Spacing = null, Shapes = [new DrawnDisc(new PixelPoint(X: 400, Y: 500), 130, 0.4)] };

        RadiographRegions regions = RegionFinder.Find(drawn.Draw(), new MeasureOptions());

        Assert.Null(regions.Field.Value!.AreaMm2);
        Assert.Null(regions.Collimation.Value!.SkinToEdgeMm);
        Assert.Null(regions.Collimation.Value.SkinMarginMm);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_PixelsAreNotSquare_MillimetresFollowTheirDirection()
    {
        // Rows 0.3 mm apart, columns 0.2 mm: room top 210 px = 63 mm, right 200 px = 40 mm.
        var drawn = new DrawnRadiograph { Spacing = new PixelSpacing(rowSpacingMm: 0.3, columnSpacingMm: 0.2), Shapes = [new DrawnDisc(new PixelPoint(X: 380, Y: 460), 100, 0.4)] };

        CollimationMeasurement collimation = RegionFinder.Find(drawn.Draw(), new MeasureOptions()).Collimation.Value!;

        Assert.InRange(collimation.SkinToEdgeMm![0], 63 - 1.5, 63 + 1.5);
        Assert.InRange(collimation.SkinToEdgeMm[1], 40 - 1, 40 + 1);
    }
}
