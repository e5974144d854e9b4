using System.Buffers;
using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>Direct exposure: the smooth region of most exposure that touches the field's edge, with a smooth surface fitted to it.</summary>
/// <remarks>All values are exposure values: pixel values times the exposure sign, so more is more exposure.</remarks>
internal sealed class DirectExposure
{
    // Along this share of its border a step as sharp as skin's settles that it is direct exposure: levels within the body reach 0.57 in the phantom lab.
    private const double SkinSharpness = 0.62;

    private DirectExposure(float[] level, double sigma, double tolerance, double range)
    {
        Level = level;
        Sigma = sigma;
        Tolerance = tolerance;
        Range = range;
    }

    /// <summary>The direct exposure expected at each cell: a quadratic surface, less what is missing towards each side of the field.</summary>
    internal float[] Level { get; }

    /// <summary>Spread of the smoothed direct exposure about its surface.</summary>
    internal double Sigma { get; }

    /// <summary>How far below the surface still counts as direct.</summary>
    internal double Tolerance { get; }

    /// <summary>From the densest anatomy to direct exposure.</summary>
    internal double Range { get; }

    /// <summary>Cells grown from the field's edge.</summary>
    internal int GrownCount { get; private init; }

    /// <summary>Finds direct exposure; null where the field holds none.</summary>
    internal static DirectExposure? Find(float[] exposure, ReducedImage image, GradientField gradient, FieldShape field, FieldCells cells, float edgeThreshold)
    {
        int rows = cells.Rows, columns = cells.Columns;
        // The levels' ends need no more than some ten thousand cells; a prime stride, so that no row's or column's pattern is sampled.
        int take = cells.Count > 100_000 ? 7 : 1;
        var inField = new List<float>((cells.Count / take) + 1);
        for (int i = 0, seen = 0; i < exposure.Length; i++)
        {
            if (cells.Kind[i] >= 2 && seen++ % take == 0)
            {
                inField.Add(exposure[i]);
            }
        }

        if (inField.Count < 200)
        {
            return null;
        }

        inField.Sort();
        double low = inField[(int)(inField.Count * 0.02)], high = inField[(int)(inField.Count * 0.9995)];
        double range = high - low;
        if (range <= 0)
        {
            return null;
        }

        // Histogram of flat cells: direct exposure is the uppermost populated level.
        const int Bins = 200;
        var flatHistogram = new int[Bins + 1];
        var edgeHistogram = new int[Bins + 1];
        double flatLimit = edgeThreshold;
        for (int i = 0; i < exposure.Length; i++)
        {
            if (cells.Kind[i] >= 2 && gradient.Magnitude[i] < flatLimit)
            {
                int bin = Math.Clamp((int)((exposure[i] - low) / range * Bins), 0, Bins);
                flatHistogram[bin]++;
                edgeHistogram[bin] += cells.Kind[i] is 2 or 3 ? 1 : 0;
            }
        }

        int least = Math.Max(12, (int)(0.002 * cells.Count)), seedBin = -1;
        for (int bin = Bins, sum = 0, edge = 0; bin > Bins / 4; bin--)
        {
            sum += flatHistogram[bin];
            edge += edgeHistogram[bin];
            if (sum >= least && edge >= 4)
            {
                seedBin = bin;
                break;
            }
        }

        if (seedBin < 0)
        {
            return null;
        }

        // The mode just below the first populated level.
        int peak = seedBin;
        for (int bin = seedBin; bin > Math.Max(0, seedBin - (Bins / 12)); bin--)
        {
            if (flatHistogram[bin] > flatHistogram[peak])
            {
                peak = bin;
            }
        }

        double seedLevel = low + ((peak + 0.5) / Bins * range);
        var surface = new double[6];
        surface[0] = seedLevel;
        double tolerance = 0.03 * range, sigma = tolerance / 4;
        bool[] grown = [];
        var level = new float[exposure.Length];
        for (int pass = 0; pass < 7; pass++)
        {
            Evaluate(surface, rows, columns, high, level);
            grown = Grow(exposure, gradient, cells, level, pass == 0 ? Math.Max(tolerance, 0.04 * range) : tolerance, flatLimit);
            if (!SurfaceFit.Fit(exposure, grown, rows, columns, pass == 0 ? 1 : pass < 3 ? 3 : 6, ref surface, out sigma))
            {
                break;
            }

            tolerance = Math.Clamp(4 * sigma, 0.012 * range, 0.05 * range);
        }

        Evaluate(surface, rows, columns, high - (0.5 * tolerance), level);
        SideFalloff.Lower(level, exposure, grown, cells, field, image, range);
        grown = Grow(exposure, gradient, cells, level, tolerance, flatLimit);
        var atLevel = new bool[exposure.Length];
        for (int i = 0; i < exposure.Length; i++)
        {
            atLevel[i] = cells.Kind[i] >= 2 && exposure[i] >= level[i] - tolerance;
        }

        double sharpness = EdgeSharpness(grown, gradient, cells, edgeThreshold);
        bool isKinked = sharpness >= SkinSharpness || SkinKink.IsSeen(exposure, level, atLevel, cells);
        if (isKinked)
        {
            DirectZones.Join(level, exposure, grown, gradient, cells, tolerance, range, flatLimit);
        }

        int grownCount = grown.Count(g => g), above = 0;
        for (int i = 0; i < exposure.Length; i++)
        {
            if (cells.Kind[i] == 4 && exposure[i] > level[i] + Math.Max(1.5 * tolerance, 0.06 * range))
            {
                above++;
            }
        }

        // Nothing of the body gets more exposure than direct exposure does: lungs that do show that this was no direct exposure.
        return grownCount < 0.003 * cells.Count || above > 0.02 * cells.Count || !isKinked
            ? null
            : new DirectExposure(level, sigma, tolerance, range) { GrownCount = grownCount, Sharpness = sharpness };
    }

    /// <summary>Share of direct exposure's inner border along which the gradient is clearly an edge, 0 to 1: skin and metal are, a gradual thickening is not.</summary>
    internal double Sharpness { get; private init; }

    private static double EdgeSharpness(bool[] grown, GradientField gradient, FieldCells cells, float edgeThreshold)
    {
        int rows = cells.Rows, columns = cells.Columns, border = 0, sharp = 0;
        for (int row = 4; row < rows - 4; row++)
        {
            for (int column = 4; column < columns - 4; column++)
            {
                int i = (row * columns) + column;
                if (!grown[i] || cells.Kind[i] < 3)
                {
                    continue;
                }

                foreach (int offset in (ReadOnlySpan<int>)[1, -1, columns, -columns])
                {
                    if (!grown[i + offset] && cells.Kind[i + offset] >= 3)
                    {
                        border++;
                        float most = Math.Max(Math.Max(gradient.Magnitude[i + offset], gradient.Magnitude[i + (2 * offset)]), Math.Max(gradient.Magnitude[i + (3 * offset)], gradient.Magnitude[i + (4 * offset)]));
                        sharp += most > 1.8f * edgeThreshold ? 1 : 0;
                    }
                }
            }
        }

        return border < 8 ? 0.5 : (double)sharp / border;
    }

    // The surface may not promise more exposure than the image has anywhere: a saturated receptor or display ends there.
    private static void Evaluate(double[] surface, int rows, int columns, double ceiling, float[] level)
    {
        Parallel.For(0, rows, row =>
        {
            Span<float> line = level.AsSpan(row * columns, columns);
            for (int column = 0; column < columns; column++)
            {
                line[column] = (float)Math.Min(ceiling, SurfaceFit.At(surface, column, row, columns, rows));
            }
        });
    }

    private static bool[] Grow(float[] exposure, GradientField gradient, FieldCells cells, float[] level, double tolerance, double flatLimit)
    {
        int rows = cells.Rows, columns = cells.Columns;
        var grown = new bool[exposure.Length];
        float[] magnitude = gradient.Magnitude;
        byte[] kind = cells.Kind;
        float flat = (float)flatLimit, below = (float)tolerance;

        // Each cell enters the stack once at most.
        int[] stack = ArrayPool<int>.Shared.Rent(exposure.Length);
        int height = 0;
        for (int i = 0; i < exposure.Length; i++)
        {
            if (kind[i] is 2 or 3)
            {
                Visit(i);
            }
        }

        while (height > 0)
        {
            int i = stack[--height], column = i % columns;
            if (i >= columns)
            {
                Visit(i - columns);
            }

            if (i < (rows - 1) * columns)
            {
                Visit(i + columns);
            }

            if (column > 0)
            {
                Visit(i - 1);
            }

            if (column < columns - 1)
            {
                Visit(i + 1);
            }
        }

        ArrayPool<int>.Shared.Return(stack);
        return grown;

        void Visit(int i)
        {
            if (!grown[i] && kind[i] >= 2 && magnitude[i] < flat && exposure[i] >= level[i] - below)
            {
                grown[i] = true;
                stack[height++] = i;
            }
        }
    }
}
