using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>Finds the exposed field: lines on the reduced image, chosen together, then refined at full resolution.</summary>
internal static class FieldFinder
{
    // A step of less than a twelfth of the image's range is more often a fold, a gain step or a plate mark than the end of the field.
    private const double LeastStep = 0.08;

    // The shadow's step is judged along its whole length and with its sign, so that half as much is enough.
    private const double LeastShadowStep = 0.04;

    private static readonly FieldSide[] Roles = [FieldSide.Right, FieldSide.Bottom, FieldSide.Left, FieldSide.Top];

    /// <summary>Finds the field.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="image">It by block means.</param>
    /// <param name="gradient">Their gradient.</param>
    /// <param name="frame">What a mask leaves open; the whole image without one.</param>
    /// <param name="presumedSign">Which way exposure most likely goes in the pixels: for the collimator's shadow.</param>
    /// <param name="stepsPerEFold">Pixel steps for e times the exposure, where that is known; else 0.</param>
    /// <param name="knownSign">The same once it is known, else 0: a line with direct exposure beyond it then ends no field.</param>
    internal static FieldShape Find(Radiograph radiograph, ReducedImage image, GradientField gradient, FieldShape frame, int presumedSign, double stepsPerEFold, int knownSign = 0)
    {
        FoundSide[] opening = [.. frame.Found];
        List<FoundSide> sides = ShadowSides(radiograph, image, gradient, presumedSign, stepsPerEFold, frame);
        if (opening.Length > 0)
        {
            return WithinOpening(radiograph, image, sides, opening, frame, () => FindByLines(radiograph, image, gradient, presumedSign, stepsPerEFold, knownSign));
        }

        if (sides.Count == 4 && FieldShape.From(radiograph.Rows, radiograph.Columns, sides) is var closed && !IsTooSmall(closed, frame))
        {
            NameBeyond45(sides);
            return closed;
        }

        FieldShape byLines = FindByLines(radiograph, image, gradient, presumedSign, stepsPerEFold, knownSign);
        if (byLines.HoldsSeveral)
        {
            return byLines;
        }

        FoundSide[] masked = [.. byLines.Found.Where(side => side.Edge == FieldEdge.Mask)];
        if (masked.Length > 0)
        {
            // What a mask covers may have misled the search: once more within what it leaves open.
            sides = ShadowSides(radiograph, image, gradient, presumedSign, stepsPerEFold, FieldShape.From(radiograph.Rows, radiograph.Columns, masked));
        }

        if (sides.Count == 0 || IsTooSmall(FieldShape.From(radiograph.Rows, radiograph.Columns, sides), frame))
        {
            return byLines;
        }

        // A mask may have been put over what the collimator left open on the other sides.
        sides.AddRange(masked.Where(side => !sides.Exists(other => other.Side == side.Side)));

        NameBeyond45(sides);
        return FieldShape.From(radiograph.Rows, radiograph.Columns, sides);
    }

    // The mask's sides are exact. A beam's side that lies within the opening ends the field before the mask does.
    private static FieldShape WithinOpening(Radiograph radiograph, ReducedImage image, List<FoundSide> beam, FoundSide[] opening, FieldShape frame, Func<FieldShape> byLines)
    {
        if (beam.Count > 0 && IsTooSmall(FieldShape.From(radiograph.Rows, radiograph.Columns, [.. opening, .. beam]), frame))
        {
            beam = [];
        }

        bool isClosed = Roles.All(role => Array.Exists(opening, side => side.Side == role) || beam.Exists(side => side.Side == role));
        if (!isClosed && byLines() is { HoldsSeveral: false } lines)
        {
            beam.AddRange(lines.Found.Where(side => side.Edge == FieldEdge.Beam && !Array.Exists(opening, other => other.Side == side.Side) && !beam.Exists(other => other.Side == side.Side)));
        }

        NameBeyond45(beam);
        // What the mask's edge and the beam's edge share is the mask's.
        double near = 2.0 * image.Step;
        beam.RemoveAll(side => Array.Exists(opening, mask => mask.Side == side.Side && MiddleBeyond(side.Refined.Line, mask.Refined.Line) > -near));
        return FieldShape.From(radiograph.Rows, radiograph.Columns, [.. beam, .. opening]);
    }

    // How far the middle of one line lies beyond another.
    private static double MiddleBeyond(SideLine line, SideLine other)
    {
        double t = (line.FromT + line.ToT) / 2;
        double x = (line.NormalX * line.Rho) - (line.NormalY * t), y = (line.NormalY * line.Rho) + (line.NormalX * t);
        return (other.NormalX * x) + (other.NormalY * y) - other.Rho;
    }

    // A rectangle of less than a tenth of what can be seen is more often a strip beside the patient than a field; where a mask already shows what the maker took for the field, one of a third.
    private static bool IsTooSmall(FieldShape shape, FieldShape frame) => shape.Area < (frame.Found.Count > 0 ? 0.35 : 0.1) * frame.Area;

    private static List<FoundSide> ShadowSides(Radiograph radiograph, ReducedImage image, GradientField gradient, int sign, double stepsPerEFold, FieldShape masks)
    {
        float threshold = EdgeThreshold(gradient);
        List<ShadowSide> shadow = BeamShadow.Find(image, gradient, sign, masks, out List<ShadowSide> withinGhosts);
        if (shadow.Count == 0)
        {
            return [];
        }

        if (withinGhosts.Count > 0 && Verified(withinGhosts, isWithinGhost: true) is { } inner && inner.Count == withinGhosts.Count)
        {
            return inner;
        }

        return Verified(shadow, isWithinGhost: false);

        List<FoundSide> Verified(List<ShadowSide> tried, bool isWithinGhost)
        {
            float leastOfField = ShadowLevels.LeastOfField(tried, image, gradient, sign);
            var found = new FoundSide?[tried.Count];
            Parallel.For(0, tried.Count, k => found[k] = Verify(tried[k], leastOfField, isWithinGhost));
            return [.. found.OfType<FoundSide>()];
        }

        FoundSide? Verify(ShadowSide side, float leastOfField, bool isWithinGhost)
        {
            if (EdgeLine.At(image, gradient, side.NormalX, side.NormalY, side.Rho, threshold) is not { } line)
            {
                return null;
            }

            SegmentEvidence e = line.Between(side.FromT, side.ToT);
            if (e.OutsideConstant > 0.9 || !ShadowLevels.IsUnexposedBeyond(side, leastOfField, image, gradient, sign, isWithinGhost))
            {
                return null;
            }

            (double from, double to) = line.ClipTo(0, 0, image.Columns - 1, image.Rows - 1);
            SideLine start = ToPixels(line, Math.Max(from, side.FromT), Math.Min(to, side.ToT), image.Step);
            RefinedSide? refined = SideRefiner.Refine(radiograph.Pixels, start, image.Step, 0, sign * stepsPerEFold);
            return refined is not null && refined.ConstantShare <= 0.97 && IsStraightShadow(refined, image.Step)
                && Math.Sign(refined.Step) == -sign && Math.Abs(refined.Step) >= LeastShadowStep * gradient.Range
                ? new FoundSide(refined, FieldEdge.Beam, e) { Side = Roles[side.Role] }
                : null;
        }
    }

    private static FieldShape FindByLines(Radiograph radiograph, ReducedImage image, GradientField gradient, int presumedSign, double stepsPerEFold, int exposureSign)
    {
        float threshold = EdgeThreshold(gradient);
        List<EdgeLine> lines = EdgeLineSearch.Find(image, gradient, threshold);
        int tolerance = radiograph.LossyCompressed == true || radiograph.Source == ImageSource.Jpeg ? 2 : 0;
        if (HoldsSeveralExposures(radiograph.Pixels, image, gradient, lines, threshold))
        {
            return FieldShape.Several(radiograph.Rows, radiograph.Columns);
        }

        var reversed = new EdgeLine[lines.Count];
        Parallel.For(0, lines.Count, k => reversed[k] = lines[k].Reversed(image, gradient, threshold));
        EdgeLine[] directed = [.. lines, .. reversed];
        var refused = new List<EdgeLine>();
        float[] levels = GradientField.Sample(gradient.Smooth, 20_000);
        Array.Sort(levels);
        var known = new Dictionary<(EdgeLine Line, int From, int To), RefinedSide?>();
        for (int attempt = 0; attempt < 10; attempt++)
        {
            EdgeLine?[] set = FieldCombination.Best(image, directed, threshold, refused);
            var sides = new List<FoundSide>();
            int before = refused.Count;
            for (int role = 0; role < 4; role++)
            {
                if (set[role] is not { } line)
                {
                    continue;
                }

                (double from, double to) = FieldCombination.Extent(line, set[(role + 3) % 4], set[(role + 1) % 4], set[(role + 2) % 4]);
                var key = (line, (int)from, (int)to);
                if (!known.TryGetValue(key, out RefinedSide? refined))
                {
                    refined = SideRefiner.Refine(radiograph.Pixels, ToPixels(line, from, to, image.Step), image.Step, tolerance, presumedSign * stepsPerEFold);
                    if (stepsPerEFold > 0 && refined is { ConstantShare: > 0.97 })
                    {
                        // A mask ends between two pixels: halfway of any scale that is even there.
                        refined = SideRefiner.Refine(radiograph.Pixels, ToPixels(line, from, to, image.Step), image.Step, tolerance) ?? refined;
                    }

                    known[key] = refined;
                }

                SegmentEvidence e = line.Between(from, to);
                if (refined is null || !IsStraight(refined, image.Step) || !IsEndOfImage(refined, e, levels, image.Step, gradient.Range))
                {
                    refused.Add(line);
                    continue;
                }

                bool mask = refined.ConstantShare > 0.97 && refined.Width < 4 + image.Step;
                sides.Add(new FoundSide(refined, mask ? FieldEdge.Mask : FieldEdge.Beam, e) { Side = Roles[role] });
            }

            if (refused.Count > before)
            {
                continue;
            }

            NameBeyond45(sides);
            FieldShape shape = FieldShape.From(radiograph.Rows, radiograph.Columns, sides);
            for (int k = 0, role = 0; role < 4; role++)
            {
                if (set[role] is { } line && IsDirectExposureBeyond(sides[k++], shape, image, gradient, exposureSign))
                {
                    refused.Add(line);
                }
            }

            if (refused.Count > before)
            {
                continue;
            }

            if (sides.Count == 0 || HoldsTheActivity(shape, image, gradient, threshold, sides.Exists(side => IsWithinRange(side, levels)) ? 0.5 : 0.8))
            {
                return shape;
            }

            // The set has its inside out: the side with the most image beyond it goes.
            refused.Add(set.OfType<EdgeLine>().MinBy(line => line.Rho - (line.NormalX * image.Columns / 2.0) - (line.NormalY * image.Rows / 2.0))!);
        }

        return FieldShape.From(radiograph.Rows, radiograph.Columns, []);
    }

    // Two exposures put side by side meet in a step of one pixel, exactly along a row or column, across the whole image, with image on both sides.
    // A collimator has a penumbra and a mask has nothing on one side.
    private static bool HoldsSeveralExposures(ReadOnlyRaster<ushort> pixels, ReducedImage image, GradientField gradient, List<EdgeLine> lines, float threshold)
    {
        foreach (EdgeLine line in lines)
        {
            bool upright = Math.Abs(line.NormalX) > Math.Abs(line.NormalY);
            double tilt = FieldCombination.FoldedTilt(line.NormalDegrees), place = Math.Abs(line.Rho) / (upright ? image.Columns : image.Rows);
            if (Math.Abs(tilt) > 0.5 || place < 0.15 || place > 0.85)
            {
                continue;
            }

            SegmentEvidence e = line.Between(line.FirstT, line.EndT);
            if (e.Coverage + e.Opposed < 0.6 || e.OutsideConstant > 0.85)
            {
                continue;
            }

            int at = (int)Math.Round(image.ToPixel(Math.Abs(line.Rho)));
            for (int k = Math.Max(2, at - (2 * image.Step) - 1); k <= at + (2 * image.Step) + 1; k++)
            {
                if (IsSeam(pixels, upright, k, 0.05 * gradient.Range))
                {
                    return HasImageOnBothSides(gradient, upright, line, threshold);
                }
            }
        }

        return false;
    }

    // Between lines k − 1 and k most places jump, and the lines just before and after do not.
    private static bool IsSeam(ReadOnlyRaster<ushort> pixels, bool upright, int k, double jump)
    {
        int length = upright ? pixels.Rows : pixels.Columns, across = upright ? pixels.Columns : pixels.Rows;
        if (k < 4 || k > across - 4)
        {
            return false;
        }

        // Noise must not count as a jump: six times the median difference of neighbours three lines away.
        var quiet = new List<int>();
        for (int t = 0; t < length; t += Math.Max(1, length / 600))
        {
            quiet.Add(upright ? Math.Abs(pixels[t, k - 2] - pixels[t, k - 3]) : Math.Abs(pixels[k - 2, t] - pixels[k - 3, t]));
        }

        jump = Math.Max(jump, 6.0 * OrderStatistic.At(CollectionsMarshal.AsSpan(quiet), quiet.Count / 2));
        int jumps = 0, neighbours = 0, lasting = 0, seen = 0;
        for (int t = 0; t < length; t += Math.Max(1, length / 600))
        {
            int At(int u) => upright ? pixels[t, u] : pixels[u, t];
            seen++;
            jumps += Math.Abs(At(k) - At(k - 1)) > jump || Math.Abs(At(k + 1) - At(k - 1)) > 1.5 * jump ? 1 : 0;

            // Behind a dead line the image goes on as before it; behind a seam it does not.
            lasting += Math.Abs(At(k + 2) - At(k - 3)) > jump ? 1 : 0;
            neighbours += Math.Abs(At(k - 2) - At(k - 3)) > jump || Math.Abs(At(k + 3) - At(k + 2)) > jump ? 1 : 0;
        }

        return jumps > 0.6 * seen && lasting > 0.5 * seen && neighbours < 0.15 * seen;
    }

    private static bool HasImageOnBothSides(GradientField gradient, bool upright, EdgeLine line, float threshold)
    {
        int at = (int)Math.Round(Math.Abs(line.Rho));
        long[] active = [0, 0], all = [0, 0];
        for (int row = 2; row < gradient.Rows - 2; row += 2)
        {
            for (int column = 2; column < gradient.Columns - 2; column += 2)
            {
                int u = upright ? column : row;
                if (Math.Abs(u - at) > 4)
                {
                    int side = u < at ? 0 : 1;
                    all[side]++;
                    active[side] += gradient.Magnitude[(row * gradient.Columns) + column] > threshold ? 1 : 0;
                }
            }
        }

        return active[0] > 0.06 * all[0] && active[1] > 0.06 * all[1];
    }

    // Beyond 45 degrees every side has become its neighbour.
    private static void NameBeyond45(List<FoundSide> sides)
    {
        double[] tilts = [.. sides.Select(side => side.TiltDegrees).Order()];
        double middle = tilts.Length == 0 ? 0 : tilts[tilts.Length / 2];
        int turn = middle > 45.5 ? 1 : middle < -45.5 ? 3 : 0;
        for (int k = 0; turn != 0 && k < sides.Count; k++)
        {
            sides[k] = sides[k] with { Side = Roles[(Array.IndexOf(Roles, sides[k].Side) + turn) % 4] };
        }
    }

    // Edges of anatomy are denser inside the field than beyond it; the line itself and its neighbourhood count on neither side.
    private static bool HoldsTheActivity(FieldShape shape, ReducedImage image, GradientField gradient, float threshold, double most)
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
        return inside > (shape.Found.Count >= 3 ? 0.03 : 0.2) * (inside + outside) && outsideShare < most * insideShare;
    }

    // A collimator or a mask is straight; skin, bone and plaster wander by several pixels over the length of a field.
    private static bool IsStraight(RefinedSide side, int step)
        => side.SeenShare >= 0.6 && side.Spread <= 0.9 + (0.25 * step) + (0.04 * side.Width);

    // The shadow has shown along its whole length that it falls outwards; where it crosses bone its small step may be out of place or not seen.
    // Halfway wanders with the level inside, the more the wider the penumbra; the penumbra's fit puts that right.
    private static bool IsStraightShadow(RefinedSide side, int step)
        => side.SeenShare >= 0.4 && side.Spread <= 1.2 + (0.3 * step) + (0.2 * side.Width);

    // Beyond the end of the field lies a level of its own: a constant, an extreme of the image, or, after a dark surround was put there,
    // a level within the image's range but behind a strong step that is there all along the side. Soft tissue beside bone is none of these.
    private static bool IsEndOfImage(RefinedSide side, SegmentEvidence e, float[] levels, int step, float range)
    {
        if (Math.Abs(side.Step) < LeastStep * range)
        {
            return false;
        }

        if (side.ConstantShare > 0.97)
        {
            return true;
        }

        bool strong = e.Coverage + e.Opposed >= 0.93 && side.Spread <= 0.5 + (0.25 * step) && Math.Abs(side.Step) >= 0.25 * range;
        return strong || !IsWithin(e.OutsideMean, levels);
    }

    private static bool IsWithinRange(FoundSide side, float[] levels) => side.Refined.ConstantShare <= 0.97 && IsWithin(side.Evidence.OutsideMean, levels);

    // A tenth of the image clearly below and a tenth clearly above; what is beyond the field itself may be most of the image and counts for neither.
    private static bool IsWithin(double level, float[] levels)
    {
        double margin = 0.03 * (levels[(int)(levels.Length * 0.995)] - levels[(int)(levels.Length * 0.005)]);
        return Below(level - margin) > 0.1 * levels.Length && Below(level + margin) < 0.9 * levels.Length;

        int Below(double value)
        {
            int at = Array.BinarySearch(levels, (float)value);
            return at < 0 ? ~at : at;
        }
    }

    // The edge of a limb or of a plate has direct exposure beyond it: more exposure than within, and as much as anywhere in the image within.
    // A dark surround put there afterwards is as dark only by chance, and a bezel of the file is sharp and all but constant.
    internal static bool IsDirectExposureBeyond(FoundSide side, FieldShape shape, ReducedImage image, GradientField gradient, int sign)
    {
        SegmentEvidence e = side.Evidence;
        bool bezel = side.Refined.Width <= 2 && e.OutsideSpread <= 0.004 * gradient.Range;
        if (side.Refined.ConstantShare > 0.97 || bezel || sign * e.StepMean <= 0)
        {
            return false;
        }

        var inside = new List<float>();
        for (int row = 1; row < image.Rows - 1; row += 2)
        {
            (double from, double to) = ConvexOutline.AcrossRow(shape.Outline, image.ToPixel(row));
            for (int column = 1; column < image.Columns - 1; column += 2)
            {
                double x = image.ToPixel(column);
                if (x > from && x < to)
                {
                    inside.Add(sign * gradient.Smooth[(row * image.Columns) + column]);
                }
            }
        }

        if (inside.Count < 100)
        {
            return true;
        }

        return sign * e.OutsideMean > OrderStatistic.At(CollectionsMarshal.AsSpan(inside), (int)(inside.Count * 0.995)) - (0.03 * gradient.Range);
    }

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
internal sealed record FoundSide(RefinedSide Refined, FieldEdge Edge, SegmentEvidence Evidence)
{
    /// <summary>Which side it is; at a tilt near 45 degrees that is a matter of its neighbours, not of its own direction.</summary>
    internal required FieldSide Side { get; init; }

    /// <summary>Its angle to the image axis that its side lies along, clockwise positive.</summary>
    internal double TiltDegrees
    {
        get
        {
            double along = Side switch { FieldSide.Right => 0, FieldSide.Bottom => 90, FieldSide.Left => 180, _ => -90 };
            return Math.IEEERemainder(Refined.Line.NormalDegrees - along, 360);
        }
    }
}

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

    /// <summary>Whether the image holds more than one exposure, so that it has no one field.</summary>
    internal bool HoldsSeveral { get; private init; }

    internal List<PixelPoint> Outline { get; }

    internal double Area => ConvexOutline.Area(Outline);

    /// <summary>Whether a place in pixels lies within every side that was found.</summary>
    internal bool Holds(double x, double y)
    {
        foreach (FoundSide side in Found)
        {
            SideLine line = side.Refined.Line;
            if ((line.NormalX * x) + (line.NormalY * y) > line.Rho)
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>The field's own tilt: the median of its visible sides', weighted by none; 0 where no side is visible.</summary>
    internal double TiltDegrees
    {
        get
        {
            double[] tilts = [.. Found.Select(side => side.TiltDegrees).Order()];
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

    internal static FieldShape Several(int rows, int columns) => new(rows, columns, [], ConvexOutline.OfImage(rows, columns)) { HoldsSeveral = true };

    internal FieldMeasurement ToMeasurement(PixelSpacing? spacing)
    {
        double image = (double)Rows * Columns, area = Area;

        // Each visible side moves by its own uncertainty over its own length; what all sides share moves them outwards together.
        double variance = 0, together = 0;
        var sides = new List<FieldSideMeasurement>();
        foreach (FieldSide which in new[] { FieldSide.Top, FieldSide.Right, FieldSide.Bottom, FieldSide.Left })
        {
            if (Found.FirstOrDefault(side => side.Side == which) is not { } found)
            {
                sides.Add(new FieldSideMeasurement { Side = which, Edge = FieldEdge.Receptor, TiltDegrees = 0 });
                continue;
            }

            double length = found.Refined.Line.ToT - found.Refined.Line.FromT;
            double shared = found.Refined.SharedUncertainty;
            variance += length * length * Math.Max(0, (found.Refined.PositionUncertainty * found.Refined.PositionUncertainty) - (shared * shared));
            together += length * shared;
            sides.Add(new FieldSideMeasurement
            {
                Side = which,
                Edge = found.Edge,
                TiltDegrees = Math.Round(found.TiltDegrees, 3),
                TiltDegreesUncertainty = Math.Round(found.Refined.TiltDegreesUncertainty, 4),
                PositionPixelsUncertainty = Math.Round(found.Refined.PositionUncertainty, 3),
            });
        }

        double sigma = Math.Sqrt(variance + (together * together));
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
}
