using Hotlight.Core;

namespace Hotlight.Measure.Landmarks;

/// <summary>Distances, angles, lines and circles from points of the image, with propagated uncertainty.</summary>
/// <remarks>
/// <para>In mm at the receptor where the spacing is given, anisotropic spacing included; angles are those of the receptor's plane then, else those of the pixels, which are taken for square.</para>
/// <para>Degenerate points give cannot-tell with one sentence. Method and evidence: docs/methods/landmarks.md.</para>
/// </remarks>
public static class LandmarkMeasures
{
    // Two places nearer than their own uncertainty have no direction; an arc flatter than its points' uncertainty has no centre.
    private const double LeastSeparation = 3;

    /// <summary>The distance between two points.</summary>
    /// <param name="one">A point.</param>
    /// <param name="other">Another one.</param>
    /// <param name="spacing">Pixel spacing at the receptor; null where it is not known.</param>
    public static Figure<ImageLength> Distance(LandmarkPoint one, LandmarkPoint other, PixelSpacing? spacing)
        => one.Point.DistancePixelsTo(other.Point) < 1e-9
            ? Figure<ImageLength>.CannotTell("Both ends lie on the same place; a distance needs two different ones.")
            : Figure<ImageLength>.Measured(Length([one, other], spacing, (at, scaleX, scaleY) => Hypot((at[0] - at[2]) * scaleX, (at[1] - at[3]) * scaleY)));

    /// <summary>The angle at a vertex between the ways to two points, 0 to 180 degrees.</summary>
    /// <param name="one">A point on one leg.</param>
    /// <param name="vertex">The vertex.</param>
    /// <param name="other">A point on the other leg.</param>
    /// <param name="spacing">Pixel spacing at the receptor; null where it is not known.</param>
    public static Figure<ImageAngle> Angle(LandmarkPoint one, LandmarkPoint vertex, LandmarkPoint other, PixelSpacing? spacing)
    {
        if (!IsApart(one, vertex) || !IsApart(other, vertex))
        {
            return Figure<ImageAngle>.CannotTell("A point lies on the vertex, within its uncertainty; an angle needs three different places.");
        }

        (double scaleX, double scaleY) = Scale(spacing);
        double Value(double[] at)
        {
            double ax = (at[0] - at[2]) * scaleX, ay = (at[1] - at[3]) * scaleY;
            double bx = (at[4] - at[2]) * scaleX, by = (at[5] - at[3]) * scaleY;
            return Math.Atan2((ax * by) - (ay * bx), (ax * bx) + (ay * by));
        }

        // The signed angle is smooth at 0; its size is what is asked for. Differences across the half turn are brought back.
        double signed = Value(Coordinates([one, vertex, other]));
        double deviation = Propagation.Deviations([one, vertex, other], at => [Wrapped(Value(at) - signed)])[0];
        return Angle(Math.Abs(signed), deviation);
    }

    /// <summary>The angle between two lines, 0 to 90 degrees.</summary>
    /// <param name="one">A line.</param>
    /// <param name="other">Another one.</param>
    /// <param name="spacing">Pixel spacing at the receptor; null where it is not known.</param>
    public static Figure<ImageAngle> AngleBetween(ImageLine one, ImageLine other, PixelSpacing? spacing)
    {
        ArgumentNullException.ThrowIfNull(one);
        ArgumentNullException.ThrowIfNull(other);
        (double scaleX, double scaleY) = Scale(spacing);
        (double first, double firstSpread) = InPlane(one, scaleX, scaleY);
        (double second, double secondSpread) = InPlane(other, scaleX, scaleY);
        double apart = Math.Abs(first - second) % Math.PI;
        return Angle(Math.Min(apart, Math.PI - apart), Math.Sqrt((firstSpread * firstSpread) + (secondSpread * secondSpread)));
    }

    /// <summary>The straight line nearest to points, by their distance from it in pixels (total least squares).</summary>
    /// <remarks>Points count alike. The uncertainty is from the points' own across the line, or from their scatter about it where that is larger and there are three and more.</remarks>
    /// <param name="points">Two points or more.</param>
    public static Figure<ImageLine> FitLine(IReadOnlyList<LandmarkPoint> points)
    {
        ArgumentNullException.ThrowIfNull(points);
        if (points.Count < 2)
        {
            return Figure<ImageLine>.CannotTell("A line needs two points or more.");
        }

        int count = points.Count;
        double middleX = points.Average(point => point.Point.X), middleY = points.Average(point => point.Point.Y);
        double xx = points.Sum(point => Math.Pow(point.Point.X - middleX, 2));
        double yy = points.Sum(point => Math.Pow(point.Point.Y - middleY, 2));
        double xy = points.Sum(point => (point.Point.X - middleX) * (point.Point.Y - middleY));
        double direction = 0.5 * Math.Atan2(2 * xy, xx - yy);
        (double sine, double cosine) = Math.SinCos(direction);
        double along = (xx * cosine * cosine) + (2 * xy * sine * cosine) + (yy * sine * sine);
        double across = Math.Max(0, (xx * sine * sine) - (2 * xy * sine * cosine) + (yy * cosine * cosine));
        double own = points.Average(point => (point.VarianceX * sine * sine) - (2 * point.Covariance * sine * cosine) + (point.VarianceY * cosine * cosine));
        double scatter = count > 2 ? across / (count - 2) : 0;
        double variance = Math.Max(own, scatter);
        if (along < 1e-12 || along < LeastSeparation * LeastSeparation * variance)
        {
            return Figure<ImageLine>.CannotTell("The points lie too close together, for how surely each is known, to give a direction.");
        }

        if (across > 0.25 * along)
        {
            return Figure<ImageLine>.CannotTell("The points do not lie along a line: they are spread half as far across it as along it.");
        }

        double degrees = direction * 180 / Math.PI;
        return Figure<ImageLine>.Measured(new ImageLine
        {
            Middle = new PixelPoint(X: middleX, Y: middleY),
            DirectionDegrees = degrees < 0 ? degrees + 180 : degrees,
            DirectionDegreesUncertainty = Math.Sqrt(variance / along) * 180 / Math.PI,
            OffsetPixelsUncertainty = Math.Sqrt(variance / count),
            ResidualPixels = Math.Sqrt(across / count),
        });
    }

    /// <summary>The circle through three points.</summary>
    /// <param name="one">A point on it.</param>
    /// <param name="two">Another one.</param>
    /// <param name="three">A third.</param>
    /// <param name="spacing">Pixel spacing at the receptor; null where it is not known.</param>
    public static Figure<ImageCircle> CircleThrough(LandmarkPoint one, LandmarkPoint two, LandmarkPoint three, PixelSpacing? spacing)
    {
        LandmarkPoint[] points = [one, two, three];
        (double scaleX, double scaleY) = Scale(spacing);
        double[] coordinates = Coordinates(points);

        // The height of the triangle over its longest side, with that height's own uncertainty: on a straight line there is no circle.
        double[] height = [HeightPixels(coordinates)];
        double heightDeviation = Propagation.Deviations(points, at => [HeightPixels(at)])[0];
        double longest = Math.Max(one.Point.DistancePixelsTo(two.Point), Math.Max(two.Point.DistancePixelsTo(three.Point), one.Point.DistancePixelsTo(three.Point)));
        if (longest < 1e-9 || height[0] < 1e-9 * longest || height[0] < LeastSeparation * heightDeviation)
        {
            return Figure<ImageCircle>.CannotTell("The three points lie on a straight line, within their uncertainty, so no circle is defined by them.");
        }

        double[] circle = Circle(coordinates, scaleX, scaleY);
        double[] deviations = Propagation.Deviations(points, at => Circle(at, scaleX, scaleY));
        return Figure<ImageCircle>.Measured(new ImageCircle
        {
            Center = new PixelPoint(X: circle[0], Y: circle[1]),
            CenterXPixelsUncertainty = deviations[0],
            CenterYPixelsUncertainty = deviations[1],
            Radius = new ImageLength
            {
                Pixels = circle[2] / scaleX,
                PixelsUncertainty = deviations[2] / scaleX,
                Mm = spacing is null ? null : circle[2],
                MmUncertainty = spacing is null ? null : deviations[2],
            },
        });
    }

    private static ImageLength Length(LandmarkPoint[] points, PixelSpacing? spacing, Func<double[], double, double, double> length)
    {
        double[] at = Coordinates(points);
        double? Mm(Func<PixelSpacing, double> figure) => spacing is { } known ? figure(known) : null;
        return new ImageLength
        {
            Pixels = length(at, 1, 1),
            PixelsUncertainty = Propagation.Deviations(points, moved => [length(moved, 1, 1)])[0],
            Mm = Mm(known => length(at, known.ColumnSpacingMm, known.RowSpacingMm)),
            MmUncertainty = Mm(known => Propagation.Deviations(points, moved => [length(moved, known.ColumnSpacingMm, known.RowSpacingMm)])[0]),
        };
    }

    private static Figure<ImageAngle> Angle(double radians, double deviation)
        => Figure<ImageAngle>.Measured(new ImageAngle { Degrees = radians * 180 / Math.PI, DegreesUncertainty = deviation * 180 / Math.PI });

    private static double Wrapped(double radians) => Math.IEEERemainder(radians, 2 * Math.PI);

    private static double Hypot(double x, double y) => Math.Sqrt((x * x) + (y * y));

    private static (double X, double Y) Scale(PixelSpacing? spacing) => spacing is { } known ? (known.ColumnSpacingMm, known.RowSpacingMm) : (1, 1);

    private static double[] Coordinates(LandmarkPoint[] points) => [.. points.SelectMany(point => new[] { point.Point.X, point.Point.Y })];

    private static bool IsApart(LandmarkPoint one, LandmarkPoint other)
    {
        double distance = one.Point.DistancePixelsTo(other.Point);
        return distance > 1e-9
            && distance > LeastSeparation * Propagation.Deviations([one, other], at => [Hypot(at[0] - at[2], at[1] - at[3])])[0];
    }

    /// <summary>A line's direction in the receptor's plane and its deviation, in radians.</summary>
    private static (double Radians, double Deviation) InPlane(ImageLine line, double scaleX, double scaleY)
    {
        (double sine, double cosine) = Math.SinCos(line.DirectionDegrees * Math.PI / 180);
        double x = cosine * scaleX, y = sine * scaleY;

        // d atan2(s_y sin, s_x cos) / d angle = s_x·s_y / (x² + y²).
        return (Math.Atan2(y, x), line.DirectionDegreesUncertainty * Math.PI / 180 * scaleX * scaleY / ((x * x) + (y * y)));
    }

    private static double HeightPixels(double[] at)
    {
        double area2 = Math.Abs(((at[2] - at[0]) * (at[5] - at[1])) - ((at[4] - at[0]) * (at[3] - at[1])));
        double longest = Math.Max(Hypot(at[0] - at[2], at[1] - at[3]), Math.Max(Hypot(at[2] - at[4], at[3] - at[5]), Hypot(at[0] - at[4], at[1] - at[5])));
        return longest > 0 ? area2 / longest : 0;
    }

    /// <summary>Centre in pixels and radius in the scale's unit.</summary>
    private static double[] Circle(double[] at, double scaleX, double scaleY)
    {
        double bx = (at[2] - at[0]) * scaleX, by = (at[3] - at[1]) * scaleY;
        double cx = (at[4] - at[0]) * scaleX, cy = (at[5] - at[1]) * scaleY;
        double cross = 2 * ((bx * cy) - (by * cx));
        double b2 = (bx * bx) + (by * by), c2 = (cx * cx) + (cy * cy);
        double ux = ((cy * b2) - (by * c2)) / cross, uy = ((bx * c2) - (cx * b2)) / cross;
        return [at[0] + (ux / scaleX), at[1] + (uy / scaleY), Hypot(ux, uy)];
    }
}
