using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Sharpness;
using Hotlight.Measure.Tests.Document;

namespace Hotlight.Measure.Tests.Sharpness;

/// <summary>Blur, direction and motion on drawn contours whose blur is known in closed form.</summary>
public sealed class SharpnessMeasureTests
{
    /// <summary>Hundreds of contours known to a few percent each: the figure within 5 %, the goal for blur without natural softness.</summary>
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.12)]
    [InlineData(0.2)]
    [InlineData(0.35)]
    [InlineData(0.6)]
    public void EdgeBlur_DiscsOfKnownBlur_IsTheirSigmaAndNoMotion(double sigmaMm)
    {
        SharpnessMeasurement sharpness = Measured(new SharpPhantom { SigmaMm = sigmaMm });
        Assert.InRange(sharpness.EdgeBlurMm!.Value / sigmaMm, 0.95, 1.05);
        Assert.InRange(sharpness.DirectionRatio!.Value, 1, 1.1);
        Assert.Equal(MotionSign.NotSeen, sharpness.Motion);
        Assert.Null(sharpness.MotionMm);
        Assert.Null(sharpness.DoubleContourMm);
    }

    /// <summary>f50 of a Gaussian is √(ln 2/2)/(πσ): 0.18739/σ.</summary>
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.15, 1.2493)]
    [InlineData(0.20, 0.9370)]
    public void EdgeBlur_AsMtf50_IsTheGaussiansClosedForm(double sigmaMm, double f50PerMm)
    {
        SharpnessMeasurement sharpness = Measured(new SharpPhantom { SigmaMm = sigmaMm });
        Assert.InRange(0.18739 / sharpness.EdgeBlurMm!.Value / f50PerMm, 0.95, 1.05);
    }

    /// <summary>A box of length L has the variance L²/12. The way and direction within two stated deviations.</summary>
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(1.0, 0)]
    [InlineData(1.0, 120)]
    [InlineData(1.5, 45)]
    [InlineData(2.5, 30)]
    [InlineData(2.5, 90)]
    public void Motion_SteadyWayOfKnownLength_IsSeenWithLengthAndDirection(double wayMm, double degrees)
    {
        SharpnessMeasurement sharpness = Measured(new SharpPhantom { MotionMm = wayMm, MotionDegrees = degrees });
        Assert.Equal(MotionSign.Seen, sharpness.Motion);
        Assert.InRange(DirectionalBlur.Apart(sharpness.DirectionDegrees!.Value, degrees), 0, 2 * sharpness.DirectionDegreesUncertainty!.Value);
        Assert.InRange(DirectionalBlur.Apart(sharpness.DirectionDegrees!.Value, degrees), 0, 15);
        Assert.InRange(sharpness.MotionMm!.Value, wayMm - (2 * sharpness.MotionMmUncertainty!.Value), wayMm + (2 * sharpness.MotionMmUncertainty!.Value));
        double ratio = Math.Sqrt(0.04 + (wayMm * wayMm / 12)) / 0.2;
        Assert.InRange(sharpness.DirectionRatio!.Value, ratio - (2 * sharpness.DirectionRatioUncertainty!.Value), ratio + (2 * sharpness.DirectionRatioUncertainty!.Value));
        Assert.Null(sharpness.DoubleContourMm);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(1.5, 40)]
    [InlineData(1.3, 100)]
    public void DoubleContour_APartThatJumped_IsToldFromSmearing(double apartMm, double degrees)
    {
        SharpnessMeasurement sharpness = Measured(new SharpPhantom { MotionMm = apartMm, MotionDegrees = degrees, Jumps = true });
        Assert.Equal(MotionSign.Seen, sharpness.Motion);
        Assert.NotNull(sharpness.DoubleContourMm);

        // Widths are tried in steps of 12 %: half a step.
        Assert.InRange(sharpness.DoubleContourMm!.Value / apartMm, 0.94, 1.06);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Direction_ImageTurnedAndMirrored_TurnsAndIsMirrored()
    {
        Radiograph radiograph = new SharpPhantom { MotionMm = 1.5, MotionDegrees = 30 }.Draw();
        int last = radiograph.Rows - 1;

        // A quarter turn clockwise: x right becomes down, so 30 becomes 120 degrees. Mirrored left to right: 150.
        SharpnessMeasurement turned = Of(SharpPhantom.MeasureMoved(radiograph, (row, column) => (last - column, row)));
        SharpnessMeasurement mirrored = Of(SharpPhantom.MeasureMoved(radiograph, (row, column) => (row, last - column)));
        SharpnessMeasurement plain = Of(SharpPhantom.MeasureMoved(radiograph, (row, column) => (row, column)));
        double allowed = 2 * plain.DirectionDegreesUncertainty!.Value;
        Assert.InRange(DirectionalBlur.Apart(turned.DirectionDegrees!.Value, plain.DirectionDegrees!.Value + 90), 0, allowed);
        Assert.InRange(DirectionalBlur.Apart(mirrored.DirectionDegrees!.Value, 180 - plain.DirectionDegrees!.Value), 0, allowed);
        foreach (SharpnessMeasurement other in new[] { turned, mirrored })
        {
            Assert.Equal(MotionSign.Seen, other.Motion);
            Assert.InRange(other.EdgeBlurMm!.Value, plain.EdgeBlurMm!.Value - plain.EdgeBlurMmUncertainty!.Value, plain.EdgeBlurMm!.Value + plain.EdgeBlurMmUncertainty!.Value);
        }
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void EdgeBlur_DoseScaled_StaysTheSame()
    {
        SharpnessMeasurement whole = Measured(new SharpPhantom()), quarter = Measured(new SharpPhantom { Dose = 0.25 });
        Assert.InRange(quarter.EdgeBlurMm!.Value / whole.EdgeBlurMm!.Value, 0.97, 1.03);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void EdgeBlur_PolarityInverted_IsTheSame()
    {
        Radiograph radiograph = new SharpPhantom { MotionMm = 1.5, MotionDegrees = 30 }.Draw() with { Relationship = PixelRelationship.Unknown, RelationshipSign = null };
        var pixels = new Raster<ushort>(radiograph.Rows, radiograph.Columns);
        for (int row = 0; row < pixels.Rows; row++)
        {
            for (int column = 0; column < pixels.Columns; column++)
            {
                pixels[row, column] = (ushort)(ushort.MaxValue - radiograph.Pixels[row, column]);
            }
        }

        Radiograph inverted = radiograph with { Pixels = pixels };
        SharpnessMeasurement plain = Of(SharpnessMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()));
        SharpnessMeasurement other = Of(SharpnessMeasure.Measure(inverted, HandDrawn.AllSoftTissue(inverted) with { ExposureSign = -1 }, new MeasureOptions()));
        Assert.Equal(plain.Motion, other.Motion);
        Assert.InRange(other.EdgeBlurMm!.Value / plain.EdgeBlurMm!.Value, 0.99, 1.01);
        Assert.InRange(DirectionalBlur.Apart(other.DirectionDegrees!.Value, plain.DirectionDegrees!.Value), 0, 1);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Motion_StripesOfOneDirection_CannotBeTold()
    {
        SharpnessMeasurement sharpness = Measured(new SharpPhantom { Stripes = true });
        Assert.Null(sharpness.Motion);
        Assert.Null(sharpness.DirectionRatio);
        Assert.Null(sharpness.DirectionDegrees);
        Assert.Contains("too few directions", sharpness.DirectionWhy, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_NoiseWithoutContours_CannotTell()
    {
        Figure<SharpnessMeasurement> sharpness = new SharpPhantom { Transmission = 1, NoiseShare = 0.02 }.Measure();
        Assert.False(sharpness.IsMeasured);
        Assert.Contains("contours", sharpness.Why, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_AnatomyNotFound_CannotTell()
    {
        Radiograph radiograph = new SharpPhantom().Draw();
        Assert.False(SharpnessMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), new MeasureOptions()).IsMeasured);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_SpacingUnknown_GivesNoMillimetres()
    {
        // Taken for a part of 300 mm, in which these 108 mm are three times as large and the way as well. √(0.15² + 1.3²/12)/0.15 is 2.7.
        Radiograph radiograph = new SharpPhantom { MotionMm = 1.3, MotionDegrees = 60, SigmaMm = 0.15 }.Draw() with { ReceptorSpacing = null };
        SharpnessMeasurement sharpness = Of(SharpnessMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()));
        Assert.Null(sharpness.EdgeBlurMm);
        Assert.Null(sharpness.MotionMm);
        Assert.All(sharpness.Edges!, edge => Assert.Null(edge.BlurMm));
        Assert.InRange(DirectionalBlur.Apart(sharpness.DirectionDegrees!.Value, 60), 0, 15);
    }

    /// <summary>A ratio of 1.6 is no motion where no length in mm is known: √(0.2² + 0.87²/12)/0.2.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Motion_SpacingUnknownAndBlurNotTwice_CannotBeTold()
    {
        Radiograph radiograph = new SharpPhantom { MotionMm = 0.87, MotionDegrees = 60 }.Draw() with { ReceptorSpacing = null };
        SharpnessMeasurement sharpness = Of(SharpnessMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()));
        Assert.Null(sharpness.Motion);
        Assert.NotNull(sharpness.DirectionWhy);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void EdgeEnhancement_UnsharpMask_IsNoticedAndItsAbsenceToo()
    {
        Assert.False(Measured(new SharpPhantom()).EdgeEnhancementSeen);

        // The overshoot of (1 + k) - k·Φ beside a step is about k/2 at the edge of a mask much wider than the blur.
        SharpnessMeasurement enhanced = Measured(new SharpPhantom { Enhancement = (1.0, 0.8) });
        Assert.True(enhanced.EdgeEnhancementSeen);
        Assert.InRange(enhanced.EdgeHaloPercent!.Value, EdgeHalo.LeastPercent, 50);
    }

    /// <summary>A wire ring that lies still, sharp and dense, does not hide that the part moved.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Motion_SharpDenseRingThatLaysStill_DoesNotDecide()
    {
        Radiograph moved = new SharpPhantom { MotionMm = 2, MotionDegrees = 20 }.Draw();
        var pixels = new Raster<ushort>(moved.Rows, moved.Columns);
        for (int row = 0; row < pixels.Rows; row++)
        {
            for (int column = 0; column < pixels.Columns; column++)
            {
                double fromRing = Math.Abs(Math.Sqrt(Math.Pow(column - 360, 2) + Math.Pow(row - 360, 2)) - 60) * SharpPhantom.SpacingMm;
                pixels[row, column] = (ushort)(moved.Pixels[row, column] * Math.Pow(0.15, SharpPhantom.NormalShare((1.2 - fromRing) / 0.15)));
            }
        }

        Radiograph radiograph = moved with { Pixels = pixels };
        SharpnessMeasurement sharpness = Of(SharpnessMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()));
        Assert.Equal(MotionSign.Seen, sharpness.Motion);
        Assert.InRange(DirectionalBlur.Apart(sharpness.DirectionDegrees!.Value, 20), 0, 15);
    }

    /// <summary>Coverage over eight seeds each: the truth within two stated deviations in all, as blur without natural softness must.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Uncertainty_RepeatedNoise_CoversTheTruth()
    {
        for (int seed = 1; seed <= 8; seed++)
        {
            SharpnessMeasurement sharpness = Measured(new SharpPhantom { Side = 480, Seed = seed, NoiseShare = 0.01, SigmaMm = 0.25 });
            Assert.InRange(sharpness.EdgeBlurMm!.Value, 0.25 - (2 * sharpness.EdgeBlurMmUncertainty!.Value), 0.25 + (2 * sharpness.EdgeBlurMmUncertainty!.Value));
            Assert.Equal(MotionSign.NotSeen, sharpness.Motion);
        }
    }

    private static SharpnessMeasurement Measured(SharpPhantom phantom) => Of(phantom.Measure());

    private static SharpnessMeasurement Of(Figure<SharpnessMeasurement> figure)
    {
        Assert.True(figure.IsMeasured, figure.Why);
        return figure.Value;
    }
}
