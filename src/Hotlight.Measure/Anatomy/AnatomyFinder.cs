using Hotlight.Measure.Document;
using Hotlight.Measure.Field;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Anatomy;

/// <summary>Labels the field's cells: direct exposure, anatomy, dense things; and measures the anatomy.</summary>
internal static class AnatomyFinder
{
    internal static AnatomyCells Find(ReducedImage image, GradientField gradient, FieldCells cells, int exposureSign, DirectExposure? direct, double? cellMm)
    {
        int rows = image.Rows, columns = image.Columns, count = rows * columns;
        float[] smooth = GC.AllocateUninitializedArray<float>(count);
        for (int i = 0; i < count; i++)
        {
            smooth[i] = exposureSign * gradient.Smooth[i];
        }

        var labels = new byte[count];
        var anatomy = new bool[count];
        double low = 0, high = 0;
        if (direct is null)
        {
            for (int i = 0; i < count; i++)
            {
                anatomy[i] = cells.Kind[i] > 0;
            }
        }
        else
        {
            Classify(1, anatomy);
            if (IsMostlyWithinTheBody(direct, anatomy, cells))
            {
                return Find(image, gradient, cells, exposureSign, null, cellMm);
            }

            (low, high) = (AnatomyShare(0.6), AnatomyShare(1.6));
            CloseSpeckle(anatomy, cells, rows, columns);
        }

        double denseLevel = direct is null ? double.NegativeInfinity : DenseLevel(smooth, anatomy, direct.Range);
        var marker = new bool[count];
        if (direct is not null)
        {
            RemoveMarkers(anatomy, marker, smooth, denseLevel, cells, rows, columns);
        }

        FillPenumbra(anatomy, cells, rows, columns);
        bool[]? bone = direct is null ? null : BoneCells.Find(smooth, anatomy, cells, cellMm);
        int boneCount = 0, wholeCount = 0;
        double anatomyCount = 0;
        for (int i = 0; i < count; i++)
        {
            if (cells.Kind[i] == 0)
            {
                continue;
            }

            anatomyCount += anatomy[i] ? Coverage(i) : 0;
            wholeCount += anatomy[i] ? 1 : 0;
            boneCount += bone is not null && bone[i] ? 1 : 0;
            labels[i] = (byte)(anatomy[i] ? RegionLabel.SoftTissue : marker[i] && smooth[i] < denseLevel ? RegionLabel.Dense : RegionLabel.Direct);
        }

        return new AnatomyCells(labels, anatomy, anatomyCount, direct, Math.Abs(low - high) / 2)
        {
            Bone = bone,
            BonePercent = bone is null || wholeCount == 0 ? null : 100.0 * boneCount / wholeCount,
        };

        // A cell on the skin line is anatomy in part only: as much of it as its own level lies between direct exposure and the next cell inwards.
        double Coverage(int i)
        {
            int row = i / columns, column = i % columns;
            if (direct is null || cells.Kind[i] < 2 || row < 1 || column < 1 || row >= rows - 1 || column >= columns - 1)
            {
                return 1;
            }

            double least = 1;
            foreach (int offset in (ReadOnlySpan<int>)[1, -1, columns, -columns])
            {
                if (!anatomy[i + offset] && anatomy[i - offset] && cells.Kind[i + offset] >= 2)
                {
                    double own = direct.Level[i] - (exposureSign * image.Mean[i]), inward = direct.Level[i - offset] - (exposureSign * image.Mean[i - offset]);
                    least = Math.Min(least, inward <= 0 ? 1 : Math.Clamp(own / inward, 0, 1));
                }
            }

            return least;
        }

        void Classify(double share, bool[] target)
        {
            double tolerance = direct.Tolerance * share;
            for (int i = 0; i < count; i++)
            {
                if (cells.Kind[i] < 2)
                {
                    continue;
                }

                double surface = direct.Level[i];

                // The smoothed value finds thin tissue; the cell's own mean keeps a sharp edge from growing by the smoothing.
                bool below = smooth[i] < surface - tolerance;
                target[i] = below && (exposureSign * image.Mean[i] < surface - (0.5 * tolerance));
            }
        }

        double AnatomyShare(double share)
        {
            var trial = new bool[count];
            Classify(share, trial);
            int inside = 0;
            for (int i = 0; i < count; i++)
            {
                inside += trial[i] ? 1 : 0;
            }

            return 100.0 * inside / Math.Max(1, cells.Count);
        }
    }

    // Direct exposure is in one piece with the field's edge. Where most of what has its level is not (lungs in pieces between the ribs),
    // the field holds none: a chest that fills it.
    private static bool IsMostlyWithinTheBody(DirectExposure direct, bool[] anatomy, FieldCells cells)
    {
        int atItsLevel = 0;
        for (int i = 0; i < anatomy.Length; i++)
        {
            atItsLevel += cells.Kind[i] >= 2 && !anatomy[i] ? 1 : 0;
        }

        return atItsLevel > 2.5 * direct.GrownCount && atItsLevel - direct.GrownCount > 0.05 * cells.Count;
    }

    // The level below which only metal and lead lie: far under the anatomy's own densest hundredth, or the file's lower end.
    private static double DenseLevel(float[] exposure, bool[] anatomy, double range)
    {
        var values = new float[(exposure.Length / 3) + 1];
        int count = 0;
        for (int i = 0; i < exposure.Length; i += 3)
        {
            if (anatomy[i])
            {
                values[count++] = exposure[i];
            }
        }

        return count < 50 ? double.NegativeInfinity : OrderStatistic.At(values.AsSpan(0, count), (int)(count * 0.5)) - (0.1 * range);
    }

    // One pass of a 3 × 3 majority, so that noise leaves no single cells on either side.
    private static void CloseSpeckle(bool[] mask, FieldCells cells, int rows, int columns)
    {
        var copy = (bool[])mask.Clone();
        for (int row = 1; row < rows - 1; row++)
        {
            for (int column = 1; column < columns - 1; column++)
            {
                int i = (row * columns) + column, sum = 0;
                if (cells.Kind[i] < 2)
                {
                    continue;
                }

                for (int dy = -columns; dy <= columns; dy += columns)
                {
                    sum += (copy[i + dy - 1] ? 1 : 0) + (copy[i + dy] ? 1 : 0) + (copy[i + dy + 1] ? 1 : 0);
                }

                mask[i] = sum >= 5;
            }
        }
    }

    private static void RemoveMarkers(bool[] anatomy, bool[] marker, float[] exposure, double denseLevel, FieldCells cells, int rows, int columns)
    {
        CellRegions regions = CellRegions.Of(anatomy, rows, columns);
        var dense = new int[regions.Sizes.Count];
        int largest = 0;
        for (int i = 0; i < anatomy.Length; i++)
        {
            if (regions.Label[i] > 0 && exposure[i] < denseLevel)
            {
                dense[regions.Label[i]]++;
            }
        }

        for (int k = 1; k < regions.Sizes.Count; k++)
        {
            largest = Math.Max(largest, regions.Sizes[k]);
        }

        for (int i = 0; i < anatomy.Length; i++)
        {
            int k = regions.Label[i];
            if (k == 0)
            {
                continue;
            }

            int size = regions.Sizes[k];
            bool tiny = size < 0.006 * cells.Count;
            bool lettered = size < 0.07 * cells.Count && dense[k] > 0.05 * size;
            if (size < largest && size < 0.25 * largest && (tiny || lettered))
            {
                anatomy[i] = false;
                marker[i] = true;
            }
        }

        // Holes of "direct" inside the body that are small are gas or dark bone, not air beside the patient; so are large ones where there is
        // less air at the field's edge than inside the body: lungs.
        var free = new bool[anatomy.Length];
        for (int i = 0; i < anatomy.Length; i++)
        {
            free[i] = cells.Kind[i] >= 2 && !anatomy[i];
        }

        CellRegions holes = CellRegions.Of(free, rows, columns);
        var touches = new bool[holes.Sizes.Count];
        for (int i = 0; i < anatomy.Length; i++)
        {
            if (holes.Label[i] > 0 && cells.Kind[i] == 2)
            {
                touches[holes.Label[i]] = true;
            }
        }

        int beside = 0, enclosed = 0;
        for (int k = 1; k < holes.Sizes.Count; k++)
        {
            beside += touches[k] ? holes.Sizes[k] : 0;
            enclosed += touches[k] ? 0 : holes.Sizes[k];
        }

        for (int i = 0; i < anatomy.Length; i++)
        {
            int k = holes.Label[i];
            if (k > 0 && !touches[k] && (holes.Sizes[k] < 0.004 * cells.Count || enclosed > beside))
            {
                anatomy[i] = true;
            }
        }
    }

    // Cells in a side's penumbra hold no usable level: each takes the label of the nearest interior cell.
    private static void FillPenumbra(bool[] anatomy, FieldCells cells, int rows, int columns)
    {
        var known = new bool[anatomy.Length];
        var queue = new Queue<int>();
        for (int i = 0; i < anatomy.Length; i++)
        {
            known[i] = cells.Kind[i] >= 2;
            if (known[i] && cells.Kind[i] == 2)
            {
                queue.Enqueue(i);
            }
        }

        while (queue.TryDequeue(out int i))
        {
            int row = i / columns, column = i % columns;
            Visit(row > 0 ? i - columns : -1, anatomy[i]);
            Visit(row < rows - 1 ? i + columns : -1, anatomy[i]);
            Visit(column > 0 ? i - 1 : -1, anatomy[i]);
            Visit(column < columns - 1 ? i + 1 : -1, anatomy[i]);
        }

        void Visit(int i, bool value)
        {
            if (i >= 0 && cells.Kind[i] > 0 && !known[i])
            {
                known[i] = true;
                anatomy[i] = value;
                queue.Enqueue(i);
            }
        }
    }
}

/// <summary>The labels of the cells and what was found of direct exposure.</summary>
/// <param name="Labels">One <see cref="RegionLabel"/> a cell.</param>
/// <param name="Anatomy">Whether a cell is anatomy.</param>
/// <param name="Count">Cells of anatomy.</param>
/// <param name="Direct">Direct exposure; null where the field holds none.</param>
/// <param name="ThresholdSpreadPercent">Half the change of the anatomy's share of the field between a threshold of 0.6 and of 1.6 times the one used, in points.</param>
internal sealed record AnatomyCells(byte[] Labels, bool[] Anatomy, double Count, DirectExposure? Direct, double ThresholdSpreadPercent)
{
    /// <summary>Whether bone lies under a cell; null where it is not told.</summary>
    internal bool[]? Bone { get; init; }

    /// <summary>Share of the anatomy that is bone, 0 to 100; null where it is not told.</summary>
    internal double? BonePercent { get; init; }
}
