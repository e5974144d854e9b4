using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>Direct exposure: the smooth region of most exposure that touches the field's edge, with a smooth surface fitted to it.</summary>
/// <remarks>All values are exposure values: pixel values times the exposure sign, so more is more exposure.</remarks>
internal sealed class DirectExposure
{
    // Along this share of its border a step as sharp as skin's settles that it is direct exposure: levels within the body reach 0.57 in the phantom lab.
    private const double SkinSharpness = 0.62;

    // A level first, then a plane, then a surface; few images need more passes to settle.
    private const int MostPasses = 7;
    private const int FirstFullPass = 3;

    // What a cell is to the growth of direct exposure.
    private const byte Uneven = 0;
    private const byte FlatInside = 1;
    private const byte FlatAtEdge = 2;

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
        var sample = new float[(cells.Count / take) + 1];
        int taken = 0;
        for (int i = 0, left = 0; i < exposure.Length; i++)
        {
            if (cells.Kind[i] >= 2 && left-- == 0)
            {
                sample[taken++] = exposure[i];
                left = take - 1;
            }
        }

        if (taken < 200)
        {
            return null;
        }

        Span<float> inField = sample.AsSpan(0, taken);
        double low = OrderStatistic.At(inField, (int)(taken * 0.02)), high = OrderStatistic.At(inField, (int)(taken * 0.9995));
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
        byte[] flat = Flat(gradient, cells, (float)flatLimit);
        for (int i = 0; i < exposure.Length; i++)
        {
            if (flat[i] != Uneven)
            {
                int bin = Math.Clamp((int)((exposure[i] - low) / range * Bins), 0, Bins);
                flatHistogram[bin]++;
                edgeHistogram[bin] += flat[i] == FlatAtEdge ? 1 : 0;
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
        bool[] grown = new bool[exposure.Length], before = new bool[exposure.Length];
        var level = new float[exposure.Length];
        var runs = new CellRuns { Columns = columns };
        for (int pass = 0; pass < MostPasses; pass++)
        {
            // The surface may not promise more exposure than the image has anywhere: a saturated receptor or display ends there.
            SurfaceFit.Evaluate(surface, rows, columns, high, level);
            (grown, before) = (before, grown);
            Grow(exposure, flat, level, pass == 0 ? Math.Max(tolerance, 0.04 * range) : tolerance, rows, runs, grown);
            if (pass > FirstFullPass && grown.AsSpan().SequenceEqual(before))
            {
                // The same cells give the same surface.
                break;
            }

            if (!SurfaceFit.Fit(exposure, grown, rows, columns, pass == 0 ? 1 : pass < FirstFullPass ? 3 : 6, ref surface, out sigma))
            {
                break;
            }

            tolerance = Math.Clamp(4 * sigma, 0.012 * range, 0.05 * range);
        }

        SurfaceFit.Evaluate(surface, rows, columns, high - (0.5 * tolerance), level);
        SideFalloff.Lower(level, exposure, grown, cells, field, image, range);
        Grow(exposure, flat, level, tolerance, rows, runs, grown);
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

        int grownCount = grown.AsSpan().Count(true), above = 0;
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

    // Cells even enough to belong to direct exposure, and those of them near the field's edge, from which it is grown.
    private static byte[] Flat(GradientField gradient, FieldCells cells, float limit)
    {
        var flat = new byte[cells.Kind.Length];
        ReadOnlySpan<float> magnitude = gradient.Magnitude;
        ReadOnlySpan<byte> kind = cells.Kind;
        for (int i = 0; i < flat.Length; i++)
        {
            flat[i] = kind[i] >= 2 && magnitude[i] < limit ? kind[i] < 4 ? FlatAtEdge : FlatInside : Uneven;
        }

        return flat;
    }

    // All even cells of enough exposure in one piece with such a cell near the field's edge.
    private static void Grow(float[] exposure, byte[] flat, float[] level, double tolerance, int rows, CellRuns runs, bool[] grown)
    {
        int columns = runs.Columns;
        float below = (float)tolerance;
        runs.Clear();
        for (int row = 0; row < rows; row++)
        {
            int first = row * columns;
            ReadOnlySpan<float> own = exposure.AsSpan(first, columns), expected = level.AsSpan(first, columns);
            ReadOnlySpan<byte> even = flat.AsSpan(first, columns);
            runs.BeginRow(isBelow: row > 0);
            int column = even.IndexOfAnyExcept(Uneven);
            if (column < 0)
            {
                continue;
            }

            for (int start = -1, kinds = 0; column <= columns; column++)
            {
                if (column < columns && even[column] != Uneven && own[column] >= expected[column] - below)
                {
                    start = start < 0 ? column : start;
                    kinds |= even[column];
                }
                else if (start >= 0)
                {
                    runs.Add(first, start, column, (kinds & FlatAtEdge) != 0);
                    (start, kinds) = (-1, 0);
                }
            }
        }

        Array.Clear(grown);
        for (int run = 0; run < runs.Count; run++)
        {
            if (runs.IsMarked(run))
            {
                grown.AsSpan(runs.Start(run), runs.End(run) - runs.Start(run)).Fill(true);
            }
        }
    }
}
