using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>Finds the exposed field: lines on the reduced image, chosen together, then refined at full resolution.</summary>
internal static class FieldFinder
{
    internal static FieldShape Find(Radiograph radiograph, ReducedImage image, GradientField gradient)
    {
        float threshold = EdgeThreshold(gradient);
        List<EdgeLine> lines = EdgeLineSearch.Find(image, gradient, threshold);
        int tolerance = radiograph.LossyCompressed == true || radiograph.Source == ImageSource.Jpeg ? 2 : 0;
        var refused = new List<EdgeLine>();
        for (int attempt = 0; attempt < 10; attempt++)
        {
            EdgeLine?[] set = FieldCombination.Best(image, gradient, lines, threshold, refused);
            var sides = new List<FoundSide>();
            int before = refused.Count;
            for (int role = 0; role < 4; role++)
            {
                if (set[role] is not { } line)
                {
                    continue;
                }

                (double from, double to) = FieldCombination.Extent(line, set[(role + 3) % 4], set[(role + 1) % 4], set[(role + 2) % 4]);
                RefinedSide? refined = SideRefiner.Refine(radiograph.Pixels, ToPixels(line, from, to, image.Step), image.Step, tolerance);
                if (refined is null || !IsStraight(refined, image.Step))
                {
                    refused.Add(line);
                    continue;
                }

                bool mask = refined.ConstantShare > 0.97 && refined.Width < 4 + image.Step;
                SegmentEvidence e = line.Between(from, to);
                sides.Add(new FoundSide(refined, mask ? FieldEdge.Mask : FieldEdge.Beam, e));
            }

            if (refused.Count > before)
            {
                continue;
            }

            FieldShape shape = FieldShape.From(radiograph.Rows, radiograph.Columns, sides);
            if (sides.Count == 0 || HoldsTheActivity(shape, image, gradient, threshold))
            {
                return shape;
            }

            // The set has its inside out: the side with the most image beyond it goes.
            refused.Add(set.OfType<EdgeLine>().MinBy(line => line.Rho - (line.NormalX * image.Columns / 2.0) - (line.NormalY * image.Rows / 2.0))!);
        }

        return FieldShape.From(radiograph.Rows, radiograph.Columns, []);
    }

    // Edges of anatomy are denser inside the field than beyond it; the line itself and its neighbourhood count on neither side.
    private static bool HoldsTheActivity(FieldShape shape, ReducedImage image, GradientField gradient, float threshold)
    {
        long inside = 0, insideActive = 0, outside = 0, outsideActive = 0;
        double margin = 4 * image.Step;
        for (int row = 1; row < image.Rows - 1; row += 2)
        {
            (double from, double to) = ConvexOutline.AcrossRow(shape.Outline, image.ToPixel(row));
            for (int column = 1; column < image.Columns - 1; column += 2)
            {
                double x = image.ToPixel(column);
                bool active = gradient.Magnitude[(row * image.Columns) + column] > threshold;
                if (x > from && x < to)
                {
                    inside++;
                    insideActive += active ? 1 : 0;
                }
                else if (shape.Found.All(side => Math.Abs((side.Refined.Line.NormalX * x) + (side.Refined.Line.NormalY * image.ToPixel(row)) - side.Refined.Line.Rho) > margin + side.Refined.Width))
                {
                    outside++;
                    outsideActive += active ? 1 : 0;
                }
            }
        }

        double insideShare = (insideActive + 1.0) / (inside + 10.0), outsideShare = (outsideActive + 0.0) / (outside + 10.0);
        return inside > (shape.Found.Count >= 3 ? 0.03 : 0.2) * (inside + outside) && outsideShare < 0.8 * insideShare;
    }

    // A collimator or a mask is straight; skin, bone and plaster wander by several pixels over the length of a field.
    private static bool IsStraight(RefinedSide side, int step)
        => side.SeenShare >= 0.6 && side.Spread <= 0.9 + (0.25 * step) + (0.02 * side.Width);

    private static SideLine ToPixels(EdgeLine line, double from, double to, int step)
    {
        double centre = (step - 1) / 2.0;
        return new SideLine(
            line.NormalX,
            line.NormalY,
            (line.Rho * step) + (centre * (line.NormalX + line.NormalY)),
            (from * step) + (centre * (line.NormalX - line.NormalY)),
            (to * step) + (centre * (line.NormalX - line.NormalY)));
    }

    // A gradient counts when noise alone would hardly give it (4 sigma) and it is more than 0.6 % of the image's range a cell.
    internal static float EdgeThreshold(GradientField gradient) => Math.Max(0.006f * gradient.Range, 4 * gradient.Noise);
}

/// <summary>A side that was found.</summary>
internal sealed record FoundSide(RefinedSide Refined, FieldEdge Edge, SegmentEvidence Evidence);

/// <summary>The field as a polygon and the sides that end it.</summary>
internal sealed class FieldShape
{
    private FieldShape(int rows, int columns, IReadOnlyList<FoundSide> found, List<PixelPoint> outline)
    {
        Rows = rows;
        Columns = columns;
        Found = found;
        Outline = outline;
    }

    internal int Rows { get; }

    internal int Columns { get; }

    internal IReadOnlyList<FoundSide> Found { get; }

    internal List<PixelPoint> Outline { get; }

    internal double Area => ConvexOutline.Area(Outline);

    /// <summary>The field's own tilt: the median of its visible sides', weighted by none; 0 where no side is visible.</summary>
    internal double TiltDegrees
    {
        get
        {
            double[] tilts = [.. Found.Select(side => side.Refined.Line.TiltDegrees).Order()];
            return tilts.Length == 0 ? 0 : tilts.Length % 2 == 1 ? tilts[tilts.Length / 2] : (tilts[(tilts.Length / 2) - 1] + tilts[tilts.Length / 2]) / 2;
        }
    }

    internal static FieldShape From(int rows, int columns, IReadOnlyList<FoundSide> found)
    {
        List<PixelPoint> outline = ConvexOutline.OfImage(rows, columns);
        foreach (FoundSide side in found)
        {
            outline = ConvexOutline.Clip(outline, side.Refined.Line.NormalX, side.Refined.Line.NormalY, side.Refined.Line.Rho);
        }

        return new FieldShape(rows, columns, found, ConvexOutline.Tidy(outline, Math.Max(1.5, 0.004 * Math.Min(rows, columns))));
    }

    internal FieldMeasurement ToMeasurement(PixelSpacing? spacing)
    {
        double image = (double)Rows * Columns, area = Area;

        // Each visible side moves by its own uncertainty over its own length, and turns by its tilt's about its middle; both move the area.
        double variance = 0;
        var sides = new List<FieldSideMeasurement>();
        foreach (FieldSide which in new[] { FieldSide.Top, FieldSide.Right, FieldSide.Bottom, FieldSide.Left })
        {
            if (Found.FirstOrDefault(side => SideOf(side.Refined.Line) == which) is not { } found)
            {
                sides.Add(new FieldSideMeasurement { Side = which, Edge = FieldEdge.Receptor, TiltDegrees = 0 });
                continue;
            }

            double length = found.Refined.Line.ToT - found.Refined.Line.FromT;
            variance += Math.Pow(length * found.Refined.PositionUncertainty, 2);
            sides.Add(new FieldSideMeasurement
            {
                Side = which,
                Edge = found.Edge,
                TiltDegrees = Math.Round(found.Refined.Line.TiltDegrees, 3),
                TiltDegreesUncertainty = Math.Round(found.Refined.TiltDegreesUncertainty, 4),
                PositionPixelsUncertainty = Math.Round(found.Refined.PositionUncertainty, 3),
            });
        }

        double sigma = Math.Sqrt(variance);
        return new FieldMeasurement
        {
            Outline = Outline,
            AreaMm2 = spacing is { } s ? Math.Round(area * s.PixelAreaMm2, 1) : null,
            AreaMm2Uncertainty = spacing is { } u ? Math.Round(sigma * u.PixelAreaMm2, 2) : null,
            AreaPercentOfImage = Math.Round(100 * area / image, 3),
            AreaPercentOfImageUncertainty = Math.Round(100 * sigma / image, 4),
            Sides = sides,
        };
    }

    internal static FieldSide SideOf(SideLine line)
        => Math.Abs(line.NormalX) > Math.Abs(line.NormalY)
            ? (line.NormalX > 0 ? FieldSide.Right : FieldSide.Left)
            : (line.NormalY > 0 ? FieldSide.Bottom : FieldSide.Top);
}
