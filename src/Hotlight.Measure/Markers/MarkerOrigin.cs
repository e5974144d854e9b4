using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Measure.Markers;

/// <summary>Tells a lead letter from a drawn one by what the exposure leaves in its pixels.</summary>
/// <param name="SameShare">Share of the strokes' inner pixels that hold the most frequent value, 0 to 1; 1 for a letter drawn with one value.</param>
/// <param name="Hardness">Largest step between neighbouring pixels across the strokes' edge over the whole step from ground to letter, median over the edge; about 1 for a drawn letter, less for one blurred by penumbra and receptor.</param>
/// <param name="StrokeNoise">Standard deviation of the strokes' inner pixels from their neighbours' mean, over the step from ground to letter.</param>
/// <param name="GroundSameShare">As <paramref name="SameShare"/>, of the pixels around the letter.</param>
/// <param name="Bright">Whether the letter has higher pixel values than what is around it.</param>
/// <param name="Pixels">Inner pixels of the strokes that were looked at.</param>
/// <param name="Step">Step from the ground around the letter to its strokes, in pixel values.</param>
internal readonly record struct MarkerOrigin(double SameShare, double Hardness, double StrokeNoise, double GroundSameShare, bool Bright, int Pixels, double Step)
{
    /// <summary>Looks at a letter's pixels.</summary>
    /// <param name="pixels">The image; borrowed.</param>
    /// <param name="marker">The letter.</param>
    internal static MarkerOrigin Examine(ReadOnlyRaster<ushort> pixels, ReadMarker marker)
    {
        // The letter's own box and a tenth around it.
        double halfWidth = (marker.HalfWidth / marker.Height) + 0.15;
        double reach = marker.Height * Math.Max(0.87, Math.Sqrt((halfWidth * halfWidth) + (0.58 * 0.58)));
        int left = Math.Max(0, (int)(marker.X - reach)), right = Math.Min(pixels.Columns - 1, (int)(marker.X + reach));
        int top = Math.Max(0, (int)(marker.Y - reach)), bottom = Math.Min(pixels.Rows - 1, (int)(marker.Y + reach));
        int width = right - left + 1, height = bottom - top + 1;
        if (width < 5 || height < 5)
        {
            return default;
        }

        var inside = new bool[width * height];
        var values = new List<ushort>();
        var rim = new List<ushort>();
        (double sin, double cos) = Math.SinCos(marker.RotationDegrees * Math.PI / 180);
        for (int row = 0; row < height; row++)
        {
            ReadOnlySpan<ushort> line = pixels.Row(top + row);
            for (int column = 0; column < width; column++)
            {
                double x = left + column - marker.X, y = top + row - marker.Y;
                double across = Math.Abs((x * cos) + (y * sin)) / marker.Height, along = Math.Abs((y * cos) - (x * sin)) / marker.Height;
                if (across > halfWidth || along > 0.58)
                {
                    continue;
                }

                inside[(row * width) + column] = true;
                values.Add(line[left + column]);
                if (across > halfWidth - 0.04 || along > 0.54)
                {
                    rim.Add(line[left + column]);
                }
            }
        }

        if (values.Count < 20 || rim.Count == 0)
        {
            return default;
        }

        values.Sort();
        double threshold = Otsu(values);
        bool bright = rim.Count(value => value > threshold) * 2 < rim.Count;
        return Measure(pixels, inside, left, top, width, height, threshold, bright);
    }

    /// <summary>Looks at the pixels of a rectangle that holds something dense, and four pixels around it.</summary>
    /// <param name="pixels">The image; borrowed.</param>
    /// <param name="left">First column.</param>
    /// <param name="top">First row.</param>
    /// <param name="right">Column after the last.</param>
    /// <param name="bottom">Row after the last.</param>
    internal static MarkerOrigin Examine(ReadOnlyRaster<ushort> pixels, int left, int top, int right, int bottom)
    {
        left = Math.Max(0, left - 4);
        top = Math.Max(0, top - 4);
        int width = Math.Min(pixels.Columns, right + 4) - left, height = Math.Min(pixels.Rows, bottom + 4) - top;
        if (width < 5 || height < 5)
        {
            return default;
        }

        var inside = new bool[width * height];
        Array.Fill(inside, true);
        var values = new List<ushort>(width * height);
        var rim = new List<ushort>();
        for (int row = 0; row < height; row++)
        {
            ReadOnlySpan<ushort> line = pixels.Row(top + row).Slice(left, width);
            foreach (ushort value in line)
            {
                values.Add(value);
            }

            if (row == 0 || row == height - 1)
            {
                rim.AddRange(line);
            }
            else
            {
                rim.Add(line[0]);
                rim.Add(line[^1]);
            }
        }

        values.Sort();
        double threshold = Otsu(values);
        return Measure(pixels, inside, left, top, width, height, threshold, rim.Count(value => value > threshold) * 2 < rim.Count);
    }

    /// <summary>Lead or drawn, with the probability.</summary>
    internal (MarkerKind Kind, double Confidence) Decide()
    {
        if (Pixels == 0)
        {
            // Strokes too thin to be looked at: lead of 6 mm and more has inner pixels wherever a letter can be read.
            return (MarkerKind.Annotation, 0.5);
        }

        // Logistic weights set by hand on the tuning exposures and the tuning half of the real radiographs: docs/methods/markers.md.
        // Lead that a display curve clips is of one value too, so that the edge counts for more.
        double drawn = (4 * (SameShare - 0.5)) + (12 * (Hardness - 0.55));
        double chance = 1 / (1 + Math.Exp(-drawn));
        return chance >= 0.5 ? (MarkerKind.Annotation, chance) : (MarkerKind.Lead, 1 - chance);
    }

    private static MarkerOrigin Measure(ReadOnlyRaster<ushort> pixels, bool[] inside, int left, int top, int width, int height, double threshold, bool bright)
    {
        var strokes = new List<ushort>();
        var all = new List<ushort>();
        var ground = new List<ushort>();
        var steps = new List<int>();
        double roughness = 0;
        for (int row = 1; row < height - 1; row++)
        {
            ReadOnlySpan<ushort> above = pixels.Row(top + row - 1), line = pixels.Row(top + row), below = pixels.Row(top + row + 1);
            for (int column = 1; column < width - 1; column++)
            {
                int x = left + column;
                if (!inside[(row * width) + column])
                {
                    continue;
                }

                bool here = line[x] > threshold == bright;
                bool l = line[x - 1] > threshold == bright, r = line[x + 1] > threshold == bright, u = above[x] > threshold == bright, d = below[x] > threshold == bright;
                if (here)
                {
                    all.Add(line[x]);
                }

                if (here && l && r && u && d)
                {
                    strokes.Add(line[x]);
                    double off = line[x] - ((line[x - 1] + line[x + 1] + above[x] + below[x]) / 4.0);
                    roughness += off * off;
                }
                else if (!here && !l && !r && !u && !d)
                {
                    ground.Add(line[x]);
                }

                if (here != r)
                {
                    steps.Add(Largest(line[x - 1], line[x], line[x + 1], line[Math.Min(x + 2, line.Length - 1)]));
                }

                if (here != d && top + row + 2 < pixels.Rows)
                {
                    steps.Add(Largest(above[x], line[x], below[x], pixels.Row(top + row + 2)[x]));
                }
            }
        }

        if (strokes.Count < 5)
        {
            // Strokes of two pixels have no inner ones.
            strokes = all;
        }

        if (strokes.Count < 5 || ground.Count < 5 || steps.Count < 5)
        {
            return default;
        }

        strokes.Sort();
        ground.Sort();
        steps.Sort();
        double step = Math.Max(1, Math.Abs(strokes[strokes.Count / 2] - (double)ground[ground.Count / 2]));

        // The variance of a value's difference from the mean of four neighbours is 1.25 times the noise's.
        double noise = Math.Sqrt(roughness / strokes.Count / 1.25);
        return new MarkerOrigin(
            ModeShare(strokes),
            steps[steps.Count / 2] / step,
            noise / step,
            ModeShare(ground),
            bright,
            strokes.Count,
            step);
    }

    private static int Largest(int a, int b, int c, int d) => Math.Max(Math.Abs(b - c), Math.Max(Math.Abs(a - b), Math.Abs(c - d)));

    private static double ModeShare(List<ushort> sorted)
    {
        int most = 0, run = 0;
        for (int i = 0; i < sorted.Count; i++)
        {
            run = i > 0 && sorted[i] == sorted[i - 1] ? run + 1 : 1;
            most = Math.Max(most, run);
        }

        return (double)most / sorted.Count;
    }

    // Otsu's threshold (IEEE Trans. Syst. Man Cybern. 9, 62-66, 1979): the cut that leaves the most variance between the two classes.
    private static double Otsu(List<ushort> sorted)
    {
        double total = 0;
        foreach (ushort value in sorted)
        {
            total += value;
        }

        double sum = 0, best = -1, threshold = sorted[sorted.Count / 2];
        for (int i = 0; i < sorted.Count - 1; i++)
        {
            sum += sorted[i];
            if (sorted[i] == sorted[i + 1])
            {
                continue;
            }

            double n = i + 1, m = sorted.Count - n;
            double between = n * m * Math.Pow((sum / n) - ((total - sum) / m), 2);
            if (between > best)
            {
                best = between;
                threshold = (sorted[i] + sorted[i + 1]) / 2.0;
            }
        }

        return threshold;
    }
}
