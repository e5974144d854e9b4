using Hotlight.Core;

namespace Hotlight.Accuracy.Elsewhere;

/// <summary>Blurs of whole pictures; beyond the edge the edge's own value goes on.</summary>
internal static class Blurs
{
    /// <summary>Shares and widths, over the scale, of the Gaussians that stand for a blur with a long tail.</summary>
    public static readonly (double Share, double Width)[] LongTail = [(0.56, 0.62), (0.31, 1.25), (0.13, 3.2)];

    /// <summary>A blur with a long tail, as phosphor plates have: a modulation transfer that falls at once instead of staying flat.</summary>
    /// <param name="picture">The picture; not changed.</param>
    /// <param name="scalePixels">Scale, in pixels.</param>
    public static Raster<float> Tailed(Raster<float> picture, double scalePixels)
    {
        var sum = new Raster<float>(picture.Rows, picture.Columns);
        foreach ((double share, double width) in LongTail)
        {
            Raster<float> one = Gaussian(picture, width * scalePixels);
            float weight = (float)share;
            Parallel.For(0, sum.Rows, row =>
            {
                Span<float> to = sum.Row(row);
                ReadOnlySpan<float> from = one.Row(row);
                for (int column = 0; column < to.Length; column++)
                {
                    to[column] += weight * from[column];
                }
            });
        }

        return sum;
    }

    /// <summary>The width of the Gaussian whose edge lies nearest, in squares, to the edge that <see cref="Tailed"/> makes, over its scale.</summary>
    public static double NearestGaussian()
    {
        double best = 1;
        double least = double.MaxValue;
        for (double width = 0.4; width < 2.5; width += 0.005)
        {
            double sum = 0;
            for (double at = -6; at <= 6; at += 0.05)
            {
                double edge = LongTail.Sum(part => part.Share * Normal(at / part.Width));
                double off = edge - Normal(at / width);
                sum += off * off;
            }

            if (sum < least)
            {
                least = sum;
                best = width;
            }
        }

        return best;
    }

    /// <summary>A Gaussian blur, taps to four widths.</summary>
    /// <param name="picture">The picture; not changed.</param>
    /// <param name="sigmaPixels">Standard deviation, in pixels.</param>
    public static Raster<float> Gaussian(Raster<float> picture, double sigmaPixels)
    {
        if (sigmaPixels > 8)
        {
            // Wide ones on blocks, read back by straight lines between their middles.
            int step = (int)(sigmaPixels / 4);
            return Enlarged(Gaussian(Reduced(picture, step), sigmaPixels / step), step, picture.Rows, picture.Columns);
        }

        int half = (int)Math.Ceiling(4 * sigmaPixels);
        float[] taps = new float[(2 * half) + 1];
        double total = 0;
        for (int k = -half; k <= half; k++)
        {
            taps[k + half] = (float)Math.Exp(-k * k / (2 * Math.Max(1e-6, sigmaPixels * sigmaPixels)));
            total += taps[k + half];
        }

        for (int k = 0; k < taps.Length; k++)
        {
            taps[k] /= (float)total;
        }

        var across = new Raster<float>(picture.Rows, picture.Columns);
        Parallel.For(0, picture.Rows, row =>
        {
            ReadOnlySpan<float> from = picture.Row(row);
            Span<float> to = across.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                float sum = 0;
                for (int k = -half; k <= half; k++)
                {
                    sum += taps[k + half] * from[Math.Clamp(column + k, 0, to.Length - 1)];
                }

                to[column] = sum;
            }
        });
        var down = new Raster<float>(picture.Rows, picture.Columns);
        Parallel.For(0, picture.Rows, row =>
        {
            Span<float> to = down.Row(row);
            for (int k = -half; k <= half; k++)
            {
                ReadOnlySpan<float> from = across.Row(Math.Clamp(row + k, 0, picture.Rows - 1));
                float tap = taps[k + half];
                for (int column = 0; column < to.Length; column++)
                {
                    to[column] += tap * from[column];
                }
            }
        });
        return down;
    }

    /// <summary>The picture seen along a way that is walked at constant speed.</summary>
    /// <param name="picture">The picture; not changed.</param>
    /// <param name="way">Places on the way, in pixels, evenly spaced.</param>
    public static Raster<float> Along(Raster<float> picture, IReadOnlyList<PixelPoint> way)
    {
        var sum = new Raster<float>(picture.Rows, picture.Columns);
        Parallel.For(0, sum.Rows, row =>
        {
            Span<float> to = sum.Row(row);
            foreach (PixelPoint place in way)
            {
                int right = (int)Math.Floor(place.X);
                int down = (int)Math.Floor(place.Y);
                float u = (float)(place.X - right);
                float v = (float)(place.Y - down);
                ReadOnlySpan<float> upper = picture.Row(Math.Clamp(row + down, 0, picture.Rows - 1));
                ReadOnlySpan<float> lower = picture.Row(Math.Clamp(row + down + 1, 0, picture.Rows - 1));
                for (int column = 0; column < to.Length; column++)
                {
                    int a = Math.Clamp(column + right, 0, to.Length - 1);
                    int b = Math.Min(a + 1, to.Length - 1);
                    to[column] += ((1 - v) * (((1 - u) * upper[a]) + (u * upper[b]))) + (v * (((1 - u) * lower[a]) + (u * lower[b])));
                }
            }

            for (int column = 0; column < to.Length; column++)
            {
                to[column] /= way.Count;
            }
        });
        return sum;
    }

    private static Raster<float> Reduced(Raster<float> picture, int step)
    {
        int rows = (picture.Rows + step - 1) / step;
        int columns = (picture.Columns + step - 1) / step;
        var small = new Raster<float>(rows, columns);
        Parallel.For(0, rows, row =>
        {
            Span<float> to = small.Row(row);
            for (int column = 0; column < columns; column++)
            {
                double sum = 0;
                int count = 0;
                for (int r = row * step; r < Math.Min(picture.Rows, (row + 1) * step); r++)
                {
                    ReadOnlySpan<float> from = picture.Row(r);
                    for (int c = column * step; c < Math.Min(picture.Columns, (column + 1) * step); c++)
                    {
                        sum += from[c];
                        count++;
                    }
                }

                to[column] = (float)(sum / count);
            }
        });
        return small;
    }

    private static Raster<float> Enlarged(Raster<float> small, int step, int rows, int columns)
    {
        var large = new Raster<float>(rows, columns);
        Parallel.For(0, rows, row =>
        {
            double y = Math.Clamp(((row + 0.5) / step) - 0.5, 0, small.Rows - 1);
            int top = Math.Min((int)y, Math.Max(0, small.Rows - 2));
            float v = (float)(y - top);
            ReadOnlySpan<float> upper = small.Row(top);
            ReadOnlySpan<float> lower = small.Row(Math.Min(top + 1, small.Rows - 1));
            Span<float> to = large.Row(row);
            for (int column = 0; column < columns; column++)
            {
                double x = Math.Clamp(((column + 0.5) / step) - 0.5, 0, small.Columns - 1);
                int left = Math.Min((int)x, Math.Max(0, small.Columns - 2));
                int next = Math.Min(left + 1, small.Columns - 1);
                float u = (float)(x - left);
                to[column] = ((1 - v) * (((1 - u) * upper[left]) + (u * upper[next]))) + (v * (((1 - u) * lower[left]) + (u * lower[next])));
            }
        });
        return large;
    }

    /// <summary>The normal distribution, by Abramowitz and Stegun 26.2.17 (error under 7.5e-8).</summary>
    private static double Normal(double z)
    {
        double t = 1 / (1 + (0.2316419 * Math.Abs(z)));
        double tail = Math.Exp(-z * z / 2) / Math.Sqrt(2 * Math.PI) * t * (0.319381530 + (t * (-0.356563782 + (t * (1.781477937 + (t * (-1.821255978 + (t * 1.330274429))))))));
        return z > 0 ? 1 - tail : tail;
    }
}
