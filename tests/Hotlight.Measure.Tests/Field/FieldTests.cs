using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Images;
using Xunit;

namespace Hotlight.Measure.Tests.Field;

public sealed class FieldTests
{
    // The aim set for the field: corners within 3 pixels at full resolution (1 mm is 5 pixels of 0.2 mm).
    private const double CornerTolerancePixels = 3;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 1)]
    [InlineData(0, -1)]
    [InlineData(1.3, 1)]
    [InlineData(-3, -1)]
    [InlineData(8, 1)]
    [InlineData(-20, -1)]
    [InlineData(33, 1)]
    [InlineData(45, -1)]
    public void Find_FourBeamSides_CornersKindsAndTiltMatchTheDrawing(double tilt, int sign)
    {
        var drawn = new DrawnRadiograph
        {
            TiltDegrees = tilt,
            Sign = sign,
            HighIsShownDark = sign > 0,
            Width = 420,
            Height = 560,
            Shapes = [new DrawnCapsule(new PixelPoint(X: 340, Y: 430), new PixelPoint(X: 470, Y: 600), 120, 0.35)],
        };

        FieldMeasurement field = Find(drawn).Field.Value!;

        Assert.All(drawn.Corners, corner => Assert.True(Nearest(field.Outline, corner) < CornerTolerancePixels, $"corner {corner} is {Nearest(field.Outline, corner):F2} pixels off"));
        Assert.Equal(4, field.Outline.Count);
        Assert.All(field.Sides, side => Assert.Equal(FieldEdge.Beam, side.Edge));

        // Closed form: width × height. A side's 3-pixel aim over the perimeter bounds the area.
        double area = drawn.Width * drawn.Height * 0.04, bound = CornerTolerancePixels * 2 * (drawn.Width + drawn.Height) * 0.04;
        Assert.InRange(field.AreaMm2!.Value, area - bound, area + bound);
        foreach (FieldSideMeasurement side in field.Sides)
        {
            // A 3-pixel error at one end of the shorter side turns it by atan(3/420).
            double off = Math.IEEERemainder(side.TiltDegrees - tilt, 90);
            Assert.InRange(off, -0.41, 0.41);
        }
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, (ushort)0)]
    [InlineData(2.4, (ushort)0)]
    [InlineData(-12, (ushort)16383)]
    [InlineData(38, (ushort)0)]
    public void Find_FieldUnderAMask_SidesAreMasks(double tilt, ushort value)
    {
        var drawn = new DrawnRadiograph
        {
            TiltDegrees = tilt,
            Width = 420,
            Height = 560,
            MaskValue = value,
            Shapes = [new DrawnDisc(new PixelPoint(X: 400, Y: 500), 110, 0.4)],
        };

        FieldMeasurement field = Find(drawn).Field.Value!;

        Assert.All(field.Sides, side => Assert.Equal(FieldEdge.Mask, side.Edge));
        Assert.All(drawn.Corners, corner => Assert.True(Nearest(field.Outline, corner) < CornerTolerancePixels));
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(FieldSide.Top)]
    [InlineData(FieldSide.Right)]
    [InlineData(FieldSide.Bottom)]
    [InlineData(FieldSide.Left)]
    public void Find_OneVisibleSide_OthersAreTheReceptor(FieldSide visible)
    {
        // The field reaches 200 pixels beyond the frame everywhere but at one side, where it ends 120 pixels inside.
        (double left, double right, double top, double bottom) = visible switch
        {
            FieldSide.Left => (120.0, 1000.0, -200.0, 1200.0),
            FieldSide.Right => (-200.0, 680.0, -200.0, 1200.0),
            FieldSide.Top => (-200.0, 1000.0, 120.0, 1200.0),
            _ => (-200.0, 1000.0, -200.0, 880.0),
        };
        var drawn = new DrawnRadiograph
        {
            Middle = new PixelPoint(X: (left + right) / 2, Y: (top + bottom) / 2),
            Width = right - left,
            Height = bottom - top,
            Shapes = [new DrawnDisc(new PixelPoint(X: 400, Y: 500), 150, 0.4)],
        };

        FieldMeasurement field = Find(drawn).Field.Value!;

        Assert.All(field.Sides, side => Assert.Equal(side.Side == visible ? FieldEdge.Beam : FieldEdge.Receptor, side.Edge));

        // Closed form: the frame less the band of 120.5 (left, top) or 119.5 (right, bottom) pixels beyond the side.
        double band = visible is FieldSide.Left or FieldSide.Top ? 120.5 : 119.5;
        double share = visible is FieldSide.Left or FieldSide.Right ? 100 * (1 - (band / 800)) : 100 * (1 - (band / 1000));
        Assert.InRange(field.AreaPercentOfImage, share - (100 * CornerTolerancePixels / 800), share + (100 * CornerTolerancePixels / 800));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_NoSideVisible_FieldIsTheWholeImage()
    {
        var drawn = new DrawnRadiograph { Width = 3000, Height = 3000, Shapes = [new DrawnDisc(new PixelPoint(X: 380, Y: 520), 180, 0.3)] };

        FieldMeasurement field = Find(drawn).Field.Value!;

        Assert.All(field.Sides, side => Assert.Equal(FieldEdge.Receptor, side.Edge));
        Assert.Equal(100, field.AreaPercentOfImage, 6);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_LongStraightBoneAndSkin_AreNotTakenForACollimator()
    {
        // A limb with a shaft in it, straight from frame to frame: four full-length edges, none of them the end of the field.
        var drawn = new DrawnRadiograph
        {
            Width = 3000,
            Height = 3000,
            Shapes =
            [
                new DrawnBand(new PixelPoint(X: 400, Y: 500), 87, 320, 0.45), new DrawnBand(new PixelPoint(X: 390, Y: 500), 88.5, 90, 0.3),
            ],
        };

        FieldMeasurement field = Find(drawn).Field.Value!;

        Assert.All(field.Sides, side => Assert.Equal(FieldEdge.Receptor, side.Edge));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Find_ImageTurnedMirroredOrInverted_FieldMovesWithIt()
    {
        var drawn = new DrawnRadiograph { TiltDegrees = 4, Width = 420, Height = 600, Shapes = [new DrawnDisc(new PixelPoint(X: 420, Y: 480), 120, 0.35)] };
        Radiograph upright = drawn.Draw();
        double share = RegionFinder.Find(upright, new MeasureOptions()).Field.Value!.AreaPercentOfImage;

        Radiograph[] changed = [Rearranged(upright, turned: true, mirrored: false), Rearranged(upright, turned: false, mirrored: true), Inverted(upright)];

        // 0.5 pixel on every side of the field: sub-pixel interpolation is not exactly symmetric.
        double tolerance = 100 * 0.5 * 2 * (420 + 600) / (1000.0 * 800);
        Assert.All(changed, image => Assert.InRange(RegionFinder.Find(image, new MeasureOptions()).Field.Value!.AreaPercentOfImage, share - tolerance, share + tolerance));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_TwoExposuresSideBySide_CannotTell()
    {
        // Many discs: a wrist's bones, so that both halves hold image and not a surround.
        static List<DrawnShape> Bones(double transmission, int phase)
        {
            List<DrawnShape> shapes = [new DrawnDisc(new PixelPoint(X: 250, Y: 500), 2000, transmission)];
            for (int k = 0; k < 45; k++)
            {
                shapes.Add(new DrawnDisc(new PixelPoint(X: 20 + (((97 * k) + phase) % 460), Y: 20 + (((211 * k) + phase) % 960)), 34, 0.7));
            }

            return shapes;
        }

        Radiograph left = new DrawnRadiograph { Width = 3000, Height = 3000, Columns = 500, NoiseShare = 0.01, Shapes = Bones(0.9, 0) }.Draw();
        Radiograph right = new DrawnRadiograph { Width = 3000, Height = 3000, Columns = 500, NoiseShare = 0.01, Seed = 7, Shapes = Bones(0.35, 40) }.Draw();
        var both = new Raster<ushort>(1000, 1000);
        for (int row = 0; row < 1000; row++)
        {
            left.Pixels.Row(row).CopyTo(both.Row(row));
            right.Pixels.Row(row).CopyTo(both.Row(row)[500..]);
        }

        RadiographRegions regions = RegionFinder.Find(left with { Pixels = both }, new MeasureOptions());

        Assert.False(regions.Field.IsMeasured);
        Assert.Contains("more than one exposure", regions.Field.Why, StringComparison.Ordinal);
        Assert.False(regions.Anatomy.IsMeasured);
    }

    internal static Radiograph Inverted(Radiograph radiograph)
    {
        var raster = new Raster<ushort>(radiograph.Rows, radiograph.Columns);
        for (int i = 0; i < raster.Samples.Length; i++)
        {
            raster.Samples[i] = (ushort)(radiograph.PixelMaximum - radiograph.Pixels.Samples[i]);
        }

        return radiograph with { Pixels = raster, HighIsShownDark = !radiograph.HighIsShownDark };
    }

    private static Radiograph Rearranged(Radiograph radiograph, bool turned, bool mirrored)
    {
        var raster = turned ? new Raster<ushort>(radiograph.Columns, radiograph.Rows) : new Raster<ushort>(radiograph.Rows, radiograph.Columns);
        for (int row = 0; row < radiograph.Rows; row++)
        {
            for (int column = 0; column < radiograph.Columns; column++)
            {
                int x = mirrored ? radiograph.Columns - 1 - column : column;
                raster[turned ? column : row, turned ? radiograph.Rows - 1 - row : x] = radiograph.Pixels[row, column];
            }
        }

        return radiograph with { Pixels = raster };
    }

    private static RadiographRegions Find(DrawnRadiograph drawn) => RegionFinder.Find(drawn.Draw(), new MeasureOptions());

    private static double Nearest(IReadOnlyList<PixelPoint> outline, PixelPoint corner) => outline.Min(point => point.DistancePixelsTo(corner));
}
