using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Display;

/// <summary>How far the pixel values overshoot on the direct-exposure side of the skin line.</summary>
/// <remarks>
/// <para>Profiles across the skin line, aligned on their steepest place and averaged by their median at each distance. Beside the body direct exposure is smooth: a straight line through 3 to 6 mm from the edge is extended to it, and what rises above the line within 2 mm, over the step from there to 1.5 mm inside, is the overshoot. An exposure has none; sharpening by an unsharp mask makes one on both sides of every edge.</para>
/// </remarks>
internal static class EdgeOvershoot
{
    // Distances across the edge, in mm; without spacing a pixel is taken as 0.15 mm, which only sets how far the profile reaches.
    private const double NearMm = 2;
    private const double FarFromMm = 3;
    private const double FarToMm = 6;
    private const double InsideMm = 1.5;
    private const double UnknownSpacingMm = 0.15;

    // Less certain than this it says nothing: the skin line has no step, or too much else lies on it.
    private const double MostSigmaPercent = 5;

    private const int MostProfiles = 400;
    private const int Groups = 8;

    /// <summary>Overshoot in percent of the step and one standard deviation; null where fewer than 40 places of the skin line border on direct exposure, direct exposure is at the end of the scale, or the places differ too much.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="regions">Its regions.</param>
    public static (double Percent, double Sigma)? Of(Radiograph radiograph, RadiographRegions regions)
    {
        if (!regions.Anatomy.IsMeasured || regions.DirectPixelValue is null)
        {
            return null;
        }

        double pixelMm = radiograph.ReceptorSpacing is { } spacing ? Math.Sqrt(spacing.RowSpacingMm * spacing.ColumnSpacingMm) : UnknownSpacingMm;
        int far = Math.Max(12, (int)Math.Round(FarToMm / pixelMm)), search = 2 * regions.Map.Step;
        var profiles = new List<double[]>();
        double total = regions.Anatomy.Value.Outlines.Sum(outline => (double)outline.Count);
        int stride = Math.Max(1, (int)(total / MostProfiles));
        foreach (IReadOnlyList<PixelPoint> outline in regions.Anatomy.Value.Outlines)
        {
            for (int at = 3; at + 3 < outline.Count; at += stride)
            {
                if (Profile(radiograph, regions, outline[at - 3], outline[at], outline[at + 3], far, search) is { } profile)
                {
                    profiles.Add(profile);
                }
            }
        }

        if (profiles.Count < 40)
        {
            return null;
        }

        double? all = Overshoot(profiles, far, pixelMm);
        if (all is null)
        {
            return null;
        }

        // The spread of eighths of the places, over √8: what the whole would vary by.
        var parts = new List<double>();
        for (int group = 0; group < Groups; group++)
        {
            int from = group * profiles.Count / Groups, to = (group + 1) * profiles.Count / Groups;
            if (Overshoot(profiles.GetRange(from, to - from), far, pixelMm) is { } part)
            {
                parts.Add(part);
            }
        }

        if (parts.Count < 4)
        {
            return null;
        }

        double mean = parts.Average(), sigma = Math.Sqrt(parts.Sum(part => (part - mean) * (part - mean)) / (parts.Count - 1) / parts.Count);
        return 100 * sigma > MostSigmaPercent ? null : (Math.Max(0, 100 * all.Value), 100 * sigma);
    }

    /// <summary>Values from −far inside to +far outside, by whole pixels from the steepest place.</summary>
    private static double[]? Profile(Radiograph radiograph, RadiographRegions regions, PixelPoint before, PixelPoint at, PixelPoint after, int far, int search)
    {
        double tx = after.X - before.X, ty = after.Y - before.Y, length = Math.Sqrt((tx * tx) + (ty * ty));
        if (length < 1)
        {
            return null;
        }

        double nx = -ty / length, ny = tx / length;
        RegionLabel one = Label(1), other = Label(-1);
        if (RegionMap.IsAnatomy(one) && other == RegionLabel.Direct)
        {
            (nx, ny) = (-nx, -ny);
        }
        else if (!(RegionMap.IsAnatomy(other) && one == RegionLabel.Direct))
        {
            return null;
        }

        int reach = far + search;
        var line = new double[(2 * reach) + 1];
        for (int away = -reach; away <= reach; away++)
        {
            double x = at.X + (away * nx), y = at.Y + (away * ny);
            if (x < 1 || y < 1 || x >= radiograph.Columns - 2 || y >= radiograph.Rows - 2)
            {
                return null;
            }

            int column = (int)x, row = (int)y;
            double fx = x - column, fy = y - row;
            ReadOnlyRaster<ushort> pixels = radiograph.Pixels;
            line[away + reach] = ((1 - fy) * (((1 - fx) * pixels[row, column]) + (fx * pixels[row, column + 1]))) + (fy * (((1 - fx) * pixels[row + 1, column]) + (fx * pixels[row + 1, column + 1])));
        }

        int steepest = 0;
        double most = 0;
        for (int away = -search; away <= search; away++)
        {
            int place = away + reach;
            double slope = regions.ExposureSign * (line[place + 1] + line[place + 2] - line[place - 1] - line[place - 2]);
            if (slope > most)
            {
                most = slope;
                steepest = away;
            }
        }

        if (most <= 0)
        {
            return null;
        }

        var profile = new double[(2 * far) + 1];
        for (int away = -far; away <= far; away++)
        {
            double value = line[Math.Clamp(away + steepest + reach, 0, line.Length - 1)];
            profile[away + far] = regions.ExposureSign * value;
        }

        // Direct exposure at the end of the scale cannot overshoot.
        double end = regions.ExposureSign > 0 ? radiograph.PixelMaximum : 0;
        int clipped = 0;
        for (int away = far / 2; away <= far; away++)
        {
            clipped += Math.Abs(profile[away + far]) >= radiograph.PixelMaximum && end > 0 || (end == 0 && profile[away + far] >= 0) ? 1 : 0;
        }

        return clipped > far / 8 ? null : profile;

        RegionLabel Label(int side)
        {
            int column = (int)Math.Round(at.X + (side * far * nx)), row = (int)Math.Round(at.Y + (side * far * ny));
            return column < 0 || row < 0 || column >= radiograph.Columns || row >= radiograph.Rows ? RegionLabel.Outside : regions.Map.At(row, column);
        }
    }

    private static double? Overshoot(List<double[]> profiles, int far, double pixelMm)
    {
        var median = new double[(2 * far) + 1];
        var column = new double[profiles.Count];
        for (int place = 0; place < median.Length; place++)
        {
            for (int at = 0; at < column.Length; at++)
            {
                column[at] = profiles[at][place];
            }

            Array.Sort(column);
            median[place] = column[column.Length / 2];
        }

        int near = Math.Max(2, (int)Math.Round(NearMm / pixelMm)), from = Math.Max(near + 1, (int)Math.Round(FarFromMm / pixelMm)), inside = Math.Max(2, (int)Math.Round(InsideMm / pixelMm));
        double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
        for (int away = from; away <= far; away++)
        {
            n++;
            sx += away;
            sy += median[away + far];
            sxx += (double)away * away;
            sxy += away * median[away + far];
        }

        double slope = ((n * sxy) - (sx * sy)) / ((n * sxx) - (sx * sx)), level = (sy - (slope * sx)) / n;
        double step = level - median[far - inside];
        if (step <= 0)
        {
            return null;
        }

        // The mean of three neighbours: one value alone would pick the noise.
        double most = double.NegativeInfinity;
        for (int away = 1; away <= near; away++)
        {
            double rise = 0;
            for (int side = -1; side <= 1; side++)
            {
                rise += (median[away + side + far] - level - (slope * (away + side))) / 3;
            }

            most = Math.Max(most, rise);
        }

        return most / step;
    }
}
