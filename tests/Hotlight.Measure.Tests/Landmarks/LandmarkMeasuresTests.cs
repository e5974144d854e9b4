using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Measure.Tests.Mottle;

namespace Hotlight.Measure.Tests.Landmarks;

/// <summary>Distances, angles, lines and circles against closed forms, their uncertainty against repeated draws.</summary>
public sealed class LandmarkMeasuresTests
{
    private const int Draws = 4000;

    private static readonly PixelSpacing Oblong = new(rowSpacingMm: 0.2, columnSpacingMm: 0.1);

    [Fact]
    [Trait("evidence", "analytic")]
    public void Distance_OblongPixels_IsInMmOfTheReceptor()
    {
        // 40 columns of 0.1 mm and 15 rows of 0.2 mm: 4 mm and 3 mm, so 5 mm; in pixels √(40² + 15²).
        ImageLength length = LandmarkMeasures.Distance(Exact(10, 10), Exact(50, 25), Oblong).Value!;
        Assert.Equal(5, length.Mm!.Value, 1e-9);
        Assert.Equal(Math.Sqrt((40 * 40) + (15 * 15)), length.Pixels, 1e-9);
        Assert.Equal(0, length.MmUncertainty!.Value, 1e-9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Distance_RoundUncertaintyAtBothEnds_IsTheRootOfTheirSum()
    {
        ImageLength length = LandmarkMeasures.Distance(LandmarkPoint.At(new PixelPoint(X: 0, Y: 0), 0.3), LandmarkPoint.At(new PixelPoint(X: 100, Y: 40), 0.4), spacing: null).Value!;
        Assert.Equal(0.5, length.PixelsUncertainty, 1e-6);
        Assert.Null(length.Mm);
        Assert.Null(length.MmUncertainty);
    }

    /// <summary>What is uncertain along an edge only does not change a distance across it.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Distance_UncertainAlongTheEdgeOnly_IsCertainAcrossIt()
    {
        LandmarkPoint one = LandmarkPoint.At(new PixelPoint(X: 0, Y: 0), directionDegrees: 90, alongPixels: 5, acrossPixels: 0.1);
        LandmarkPoint other = LandmarkPoint.At(new PixelPoint(X: 200, Y: 0), directionDegrees: 90, alongPixels: 5, acrossPixels: 0.1);
        Assert.Equal(0.1 * Math.Sqrt(2), LandmarkMeasures.Distance(one, other, spacing: null).Value!.PixelsUncertainty, 1e-4);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(10, 0, 0, 10, 90)]
    [InlineData(10, 0, 10, 10, 45)]
    [InlineData(10, 0, -10, 0, 180)]
    [InlineData(10, 0, 20, 0, 0)]
    public void Angle_PlacesOfKnownAngle_IsIt(double oneX, double oneY, double otherX, double otherY, double degrees)
    {
        ImageAngle angle = LandmarkMeasures.Angle(Exact(oneX, oneY), Exact(0, 0), Exact(otherX, otherY), spacing: null).Value!;
        Assert.Equal(degrees, angle.Degrees, 1e-9);
        Assert.Equal(0, angle.DegreesUncertainty, 1e-9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Angle_OblongPixels_IsThatOfTheReceptor()
    {
        // 20 columns of 0.1 mm against 10 rows of 0.2 mm: 45 degrees, where pixels say atan(1/2).
        Assert.Equal(45, LandmarkMeasures.Angle(Exact(1, 0), Exact(0, 0), Exact(20, 10), Oblong).Value!.Degrees, 1e-9);
        Assert.Equal(26.565, LandmarkMeasures.Angle(Exact(1, 0), Exact(0, 0), Exact(20, 10), spacing: null).Value!.Degrees, 5e-4);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void CircleThrough_PointsOfAKnownCircle_IsIt()
    {
        // (x − 50)² + (y − 40)² = 25²: 3-4-5 triangles.
        ImageCircle circle = LandmarkMeasures.CircleThrough(Exact(75, 40), Exact(50, 65), Exact(35, 20), new PixelSpacing(0.2, 0.2)).Value!;
        Assert.Equal(50, circle.Center.X, 1e-9);
        Assert.Equal(40, circle.Center.Y, 1e-9);
        Assert.Equal(25, circle.Radius.Pixels, 1e-9);
        Assert.Equal(5, circle.Radius.Mm!.Value, 1e-9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void CircleThrough_OblongPixels_IsRoundInMm()
    {
        // 5 mm about (50, 40): 50 columns, 25 rows; and (3 mm, 4 mm) is (30 columns, 20 rows).
        ImageCircle circle = LandmarkMeasures.CircleThrough(Exact(100, 40), Exact(50, 65), Exact(20, 20), Oblong).Value!;
        Assert.Equal(50, circle.Center.X, 1e-9);
        Assert.Equal(40, circle.Center.Y, 1e-9);
        Assert.Equal(5, circle.Radius.Mm!.Value, 1e-9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void FitLine_PointsOnALine_IsThatLine()
    {
        ImageLine line = LandmarkMeasures.FitLine([Exact(0, 1), Exact(10, 11), Exact(30, 31), Exact(40, 41)]).Value!;
        Assert.Equal(45, line.DirectionDegrees, 1e-9);
        Assert.Equal(0, line.ResidualPixels, 1e-6);
        Assert.Equal(20, line.Middle.X, 1e-9);
        ImageLine upright = LandmarkMeasures.FitLine([Exact(5, 0), Exact(5, 30)]).Value!;
        Assert.Equal(90, upright.DirectionDegrees, 1e-9);
        Assert.Equal(45, LandmarkMeasures.AngleBetween(line, upright, spacing: null).Value!.Degrees, 1e-9);

        // In 0.2 by 0.1 mm the first line rises 2 to 1: 63.435 degrees, 26.565 from the upright.
        Assert.Equal(26.565, LandmarkMeasures.AngleBetween(line, upright, Oblong).Value!.Degrees, 5e-4);
    }

    /// <summary>Stated deviations against those of 4,000 draws: the deviation of a deviation is 1/√(2n) = 1.1 %; five of them, and 2 % for the first order.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Uncertainty_DrawnPoints_IsTheSpreadOfTheFigures()
    {
        var random = new NoiseField(11);
        const double Sigma = 0.5;
        PixelPoint[] places = [new(X: 100, Y: 20), new(X: 30, Y: 60), new(X: 140, Y: 130), new(X: 60, Y: 150)];
        LandmarkPoint[] points = [.. places.Select(place => LandmarkPoint.At(place, Sigma))];
        LandmarkPoint[] Drawn() => [.. places.Select(place => LandmarkPoint.At(new PixelPoint(X: place.X + (Sigma * random.Gaussian()), Y: place.Y + (Sigma * random.Gaussian())), Sigma))];

        void Same(double stated, Func<LandmarkPoint[], double> figure)
        {
            double[] figures = [.. Enumerable.Range(0, Draws).Select(_ => figure(Drawn()))];
            double mean = figures.Average();
            double spread = Math.Sqrt(figures.Sum(value => (value - mean) * (value - mean)) / (Draws - 1));
            Assert.InRange(stated / spread, 1 - 0.076, 1 + 0.076);
        }

        Same(LandmarkMeasures.Distance(points[0], points[1], Oblong).Value!.MmUncertainty!.Value, some => LandmarkMeasures.Distance(some[0], some[1], Oblong).Value!.Mm!.Value);
        Same(LandmarkMeasures.Angle(points[0], points[1], points[2], Oblong).Value!.DegreesUncertainty, some => LandmarkMeasures.Angle(some[0], some[1], some[2], Oblong).Value!.Degrees);
        ImageCircle circle = LandmarkMeasures.CircleThrough(points[0], points[1], points[2], Oblong).Value!;
        Same(circle.Radius.MmUncertainty!.Value, some => LandmarkMeasures.CircleThrough(some[0], some[1], some[2], Oblong).Value!.Radius.Mm!.Value);
        Same(circle.CenterXPixelsUncertainty, some => LandmarkMeasures.CircleThrough(some[0], some[1], some[2], Oblong).Value!.Center.X);
        Same(circle.CenterYPixelsUncertainty, some => LandmarkMeasures.CircleThrough(some[0], some[1], some[2], Oblong).Value!.Center.Y);
        ImageLine one = LandmarkMeasures.FitLine(points[..2]).Value!, other = LandmarkMeasures.FitLine(points[2..]).Value!;
        Same(one.DirectionDegreesUncertainty, some => LandmarkMeasures.FitLine(some[..2]).Value!.DirectionDegrees);
        Same(
            LandmarkMeasures.AngleBetween(one, other, Oblong).Value!.DegreesUncertainty,
            some => LandmarkMeasures.AngleBetween(LandmarkMeasures.FitLine(some[..2]).Value!, LandmarkMeasures.FitLine(some[2..]).Value!, Oblong).Value!.Degrees);
    }

    /// <summary>Ten points with a deviation of 0.4 that nobody states: the scatter does. Within one stated deviation of the truth in 68.3 % of draws, less 3 % for eight degrees of freedom (Student: 65 %); five deviations of √(0.23/n).</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void FitLine_ScatterUnstated_CoversTheTruth()
    {
        var random = new NoiseField(12);
        int within = 0;
        const int Lines = 2000;
        for (int draw = 0; draw < Lines; draw++)
        {
            ImageLine line = LandmarkMeasures.FitLine([.. Enumerable.Range(0, 10).Select(i => Exact((i * 10) - (0.4 * random.Gaussian() * 0.5), (i * 10 * Math.Sqrt(1 / 3.0)) + (0.4 * random.Gaussian() * Math.Sqrt(0.75))))]).Value!;
            within += Math.Abs(line.DirectionDegrees - 30) <= line.DirectionDegreesUncertainty ? 1 : 0;
        }

        Assert.InRange((double)within / Lines, 0.654 - 0.054, 0.654 + 0.054);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Degenerate_Points_AreRefusedInOneSentence()
    {
        LandmarkPoint place = LandmarkPoint.At(new PixelPoint(X: 5, Y: 5), 0.5), near = LandmarkPoint.At(new PixelPoint(X: 5.4, Y: 5), 0.5), far = Exact(50, 5), farther = Exact(90, 5.2);
        Refused(LandmarkMeasures.Distance(place, place, null));
        Refused(LandmarkMeasures.Angle(near, place, far, null));
        Refused(LandmarkMeasures.FitLine([place]));
        Refused(LandmarkMeasures.FitLine([place, near]));
        Refused(LandmarkMeasures.FitLine([Exact(0, 0), Exact(10, 0), Exact(10, 10), Exact(0, 10)]));
        Refused(LandmarkMeasures.CircleThrough(Exact(0, 0), Exact(10, 10), Exact(30, 30), null));
        Refused(LandmarkMeasures.CircleThrough(place, far, farther, null));
        Assert.Throws<ArgumentOutOfRangeException>(() => LandmarkPoint.At(new PixelPoint(X: double.NaN, Y: 0), 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => LandmarkPoint.At(new PixelPoint(X: 0, Y: 0), -1));

        static void Refused<T>(Figure<T> figure)
            where T : class
        {
            Assert.False(figure.IsMeasured);
            Assert.EndsWith(".", figure.Why, StringComparison.Ordinal);
        }
    }

    private static LandmarkPoint Exact(double x, double y) => LandmarkPoint.At(new PixelPoint(X: x, Y: y), 0);
}
