using System.Numerics;
using Hotlight.Core;

namespace Hotlight.Measure.Artifacts;

/// <summary>A sign of two exposures on one receptor: a beam's edge inside the field.</summary>
/// <param name="From">An end of the edge, in pixels.</param>
/// <param name="To">The other end.</param>
/// <param name="Contrast">Step across the edge on the attenuation scale.</param>
/// <param name="Strength">How far above the limit, 1 or more.</param>
internal readonly record struct DoubleExposureSign(PixelPoint From, PixelPoint To, double Contrast, double Strength);

/// <summary>Looks for a second exposure on the same receptor by the edge of a second beam inside the field.</summary>
/// <remarks>
/// <para>A straight, narrow edge through direct exposure and anatomy alike, darker beyond by what a second exposure adds: no anatomy makes one.</para>
/// <para>Holds when: the two beams' sides lie apart by a centimetre or so, and the edge crosses levels that differ. Two exposures with one beam are not told. Nothing found is no proof.</para>
/// </remarks>
internal static class DoubleExposure
{
    // Cells of about a millimetre: a penumbra is one or two of them wide.
    private const double CellMm = 1;

    // Directions of a second beam's sides beside the image's own, and their pitch.
    private const double MostTiltDegrees = 12;
    private const double TiltStepDegrees = 1;

    // Distances from the line at which levels are read, in cells: clear of the penumbra, and as far again for the slope of what lies there.
    private const int Near = 2;
    private const int Far = 4;

    // The field's own sides are among the straightest lines too.
    private const int MostLines = 8;

    // Bins of five cells along the line.
    private const int BinCells = 5;

    // An edge must run through so much of the field's length, and the step be there in so many of its bins, among the brightest and the densest third too.
    private const double LeastLength = 0.45;
    private const double LeastShare = 0.85;
    private const double LeastShareOfThird = 0.7;

    // The least step: an exposure of a twentieth of the other's is an after-image, not a second exposure. In −ln of the signal, or in the field's range.
    private const double LeastStepLog = 0.05;
    private const double LeastStepRange = 0.012;

    // The greatest step, where direct exposure is brightest: the second exposure is at most as large again by a fifth. Beyond the beam's own edge, where
    // the field was found too large, it is darker than that.
    private const double MostStepLog = 1.1;
    private const double MostStepRange = 0.5;

    // Spread of the levels along the brighter side: a line along the skin has direct exposure beside it from end to end.
    private const double LeastSpreadLog = 0.5;
    private const double LeastSpreadRange = 0.2;

    // How far the steepest place of a bin may lie off the straight line, in cells: noise moves it by less, bones bend by more.
    private const double MostOffCells = 0.4;

    // Cells on the long side at most: a large receptor gets cells of 1.7 mm.
    private const int MostCells = 256;

    /// <summary>The clearest sign, or null.</summary>
    /// <param name="scan">Block means on the attenuation scale.</param>
    /// <param name="scale">The scale.</param>
    /// <param name="span">The field without its penumbra.</param>
    /// <param name="blockMm">Side of the scan's blocks, in mm.</param>
    internal static DoubleExposureSign? Find(ArtifactScan scan, AttenuationScale scale, FieldSpan span, double blockMm)
    {
        int step = Math.Max(1, (int)Math.Round(CellMm / blockMm));
        step = Math.Max(step, (Math.Max(scan.ReducedRows, scan.ReducedColumns) + MostCells - 1) / MostCells);
        Grid grid = Grid.Of(scan, span, step);
        if (grid.Rows < 40 || grid.Columns < 40)
        {
            return null;
        }

        double leastStep = scale.IsLogarithm ? LeastStepLog : LeastStepRange * scale.Range, mostStep = scale.IsLogarithm ? MostStepLog : MostStepRange * scale.Range, leastSpread = scale.IsLogarithm ? LeastSpreadLog : LeastSpreadRange * scale.Range;
        DoubleExposureSign? best = null;
        for (int family = 0; family < 2; family++)
        {
            foreach ((double angle, double rho) in Lines(grid, family, leastStep))
            {
                if (Verify(grid, angle, rho, leastStep, mostStep, leastSpread) is { } sign && (best is null || sign.Strength > best.Value.Strength))
                {
                    best = sign;
                }
            }
        }

        return best;
    }

    // The straight lines across which the clipped gradient is steepest on the whole.
    private static List<(double Angle, double Rho)> Lines(Grid grid, int family, double leastStep)
    {
        (float[] x, float[] y) = grid.Gradient();
        var found = new List<(double Angle, double Rho, double Steepness)>();
        int tilts = (int)Math.Round(2 * MostTiltDegrees / TiltStepDegrees) + 1;
        Parallel.For(0, tilts, tilt =>
        {
            double angle = ((90 * family) - MostTiltDegrees + (tilt * TiltStepDegrees)) * Math.PI / 180;
            List<(double Rho, double Steepness)> own = LinesAt(grid, x, y, angle, leastStep);
            lock (found)
            {
                found.AddRange(own.Select(line => (angle, line.Rho, line.Steepness)));
            }
        });
        // Threads end in any order: by steepness, then by place.
        found.Sort((a, b) => (b.Steepness, a.Angle, a.Rho).CompareTo((a.Steepness, b.Angle, b.Rho)));
        var kept = new List<(double Angle, double Rho)>();
        foreach ((double angle, double rho, _) in found)
        {
            if (kept.Count == MostLines)
            {
                break;
            }

            if (!kept.Exists(other => Math.Abs(other.Angle - angle) < 0.09 && Math.Abs(other.Rho - rho) < 4))
            {
                kept.Add((angle, rho));
            }
        }

        return kept;
    }

    private static List<(double Rho, double Steepness)> LinesAt(Grid grid, float[] x, float[] y, double angle, double leastStep)
    {
        int reach = grid.Rows + grid.Columns;
        var sums = new float[2 * reach];
        var counts = new int[2 * reach];
        float clip = (float)leastStep, sin = (float)Math.Sin(angle), cos = (float)Math.Cos(angle);
        // Across and bin of many cells at once; then each is put into its bin.
        int wide = Vector<float>.Count, columns = grid.Columns;
        var acrosses = new float[columns + wide];
        var bins = new int[columns + wide];
        for (int row = 1; row < grid.Rows - 1; row++)
        {
            Vector<float> rho = new((row * sin) + reach + 0.5f), places = Vector.ConvertToSingle(Vector<int>.Indices) + Vector<float>.One;
            int line = row * columns, column = 1;
            for (; column + wide <= columns; column += wide)
            {
                Vector<float> across = (new Vector<float>(x, line + column) * cos) + (new Vector<float>(y, line + column) * sin);
                across.CopyTo(acrosses, column);
                Vector.ConvertToInt32(rho + (places * cos)).CopyTo(bins, column);
                places += new Vector<float>(wide);
            }

            for (; column < columns; column++)
            {
                acrosses[column] = (x[line + column] * cos) + (y[line + column] * sin);
                bins[column] = (int)(rho[0] + (column * cos));
            }

            for (column = 1; column < columns - 1; column++)
            {
                float across = acrosses[column];
                if (!float.IsNaN(across))
                {
                    sums[bins[column]] += Math.Clamp(across, -clip, clip);
                    counts[bins[column]]++;
                }
            }
        }

        int longest = counts.Max();
        var found = new List<(double Rho, double Steepness)>();
        for (int at = 8; at < sums.Length - 8; at++)
        {
            if (counts[at] < LeastLength * longest)
            {
                continue;
            }

            double mean = sums[at] / counts[at], beside = 0;
            for (int off = 4; off <= 8; off++)
            {
                beside += ((counts[at - off] > 0 ? sums[at - off] / counts[at - off] : 0) + (counts[at + off] > 0 ? sums[at + off] / counts[at + off] : 0)) / 10;
            }

            double steepness = Math.Abs(mean - beside);
            if (steepness >= 0.2 * leastStep)
            {
                found.Add((at - reach, steepness));
            }
        }

        return found;
    }

    private static DoubleExposureSign? Verify(Grid grid, double angle, double rho, double leastStep, double mostStep, double leastSpread)
    {
        (double sin, double cos) = Math.SinCos(angle);
        int reach = grid.Rows + grid.Columns;
        var bins = new List<(double T, double Step, double Low, double High)>();
        double step = 0, low = 0, high = 0;
        int count = 0;
        for (int t = -reach; t <= reach; t++)
        {
            double x = (rho * cos) - (t * sin), y = (rho * sin) + (t * cos);
            double before = grid.Between(x - (Near * cos), y - (Near * sin)), after = grid.Between(x + (Near * cos), y + (Near * sin));
            double farBefore = grid.Between(x - (Far * cos), y - (Far * sin)), farAfter = grid.Between(x + (Far * cos), y + (Far * sin));
            double own = after - before - (((farAfter - after) + (before - farBefore)) / 2 * (2.0 * Near / (Far - Near)));
            if (!double.IsFinite(own))
            {
                count = 0;
                (step, low, high) = (0, 0, 0);
                continue;
            }

            step += own / BinCells;
            low += before / BinCells;
            high += after / BinCells;
            if (++count == BinCells)
            {
                bins.Add((t - BinCells + 1, step, low, high));
                (step, low, high, count) = (0, 0, 0, 0);
            }
        }

        double extent = Math.Abs(cos) > Math.Abs(sin) ? grid.FieldRows : grid.FieldColumns;
        int fewest = Math.Max(8, (int)Math.Ceiling(LeastLength * extent / BinCells));
        for (int sign = -1; sign <= 1; sign += 2)
        {
            // The longest run of bins with the step in nearly all of them, from one that has it to one that has it.
            (int First, int End) run = (0, 0);
            for (int first = 0; first < bins.Count; first++)
            {
                int with = 0;
                for (int end = first; end < bins.Count; end++)
                {
                    bool has = bins[end].Step * sign > leastStep;
                    with += has ? 1 : 0;
                    if (with == 0)
                    {
                        break;
                    }

                    if (has && with >= LeastShare * (end + 1 - first) && end + 1 - first > run.End - run.First)
                    {
                        run = (first, end + 1);
                    }
                }
            }

            if (run.End - run.First < fewest)
            {
                continue;
            }

            (double Level, double Step)[] levels = [.. bins.GetRange(run.First, run.End - run.First).Select(bin => (Level: sign > 0 ? bin.Low : bin.High, Step: bin.Step * sign)).OrderBy(bin => bin.Level)];
            int third = levels.Length / 3;
            double spread = levels[levels.Length * 9 / 10].Level - levels[levels.Length / 10].Level;
            double brightest = levels[..third].Select(bin => bin.Step).Order().ElementAt(third / 2);
            if (spread < leastSpread || brightest > mostStep
                || levels[..third].Count(bin => bin.Step > leastStep) < LeastShareOfThird * third
                || levels[^third..].Count(bin => bin.Step > leastStep) < LeastShareOfThird * third
                || !IsStraight(grid, angle, rho, bins[run.First].T, bins[run.End - 1].T + BinCells - 1, sign))
            {
                continue;
            }

            PixelPoint Point(double t) => grid.Pixel((rho * cos) - (t * sin), (rho * sin) + (t * cos));
            double middle = levels.Select(bin => bin.Step).Order().ElementAt(levels.Length / 2);
            // The step says how plain it is to the eye, not how sure: of the claims on tuning exposures one in six was none.
            return new DoubleExposureSign(Point(bins[run.First].T), Point(bins[run.End - 1].T + BinCells - 1), middle, 1 + (Math.Log(middle / leastStep) / 4));
        }

        return null;
    }

    // A collimator's edge is straight and as wide as its penumbra: in each bin the steepest place lies on the line, and most of the step within a cell and a half of it.
    private static bool IsStraight(Grid grid, double angle, double rho, double first, double last, int sign)
    {
        (double sin, double cos) = Math.SinCos(angle);
        const int Reach = 8;
        var places = new List<(double T, double Place)>();
        int narrow = 0, bins = 0;
        Span<double> profile = stackalloc double[(2 * Reach) + 1];
        for (double start = first; start + BinCells <= last + 1; start += BinCells)
        {
            profile.Clear();
            for (int k = 0; k < BinCells; k++)
            {
                double t = start + k;
                for (int u = -Reach; u <= Reach; u++)
                {
                    // Half cells across the line.
                    double away = rho + (u / 2.0);
                    profile[u + Reach] += grid.Between((away * cos) - (t * sin), (away * sin) + (t * cos)) * sign / BinCells;
                }
            }

            int steepest = -1;
            double most = 0;
            for (int u = 2; u < (2 * Reach) - 1; u++)
            {
                double slope = profile[u + 1] - profile[u - 1];
                if (slope > most)
                {
                    most = slope;
                    steepest = u;
                }
            }

            bins++;
            if (steepest < 3 || steepest > (2 * Reach) - 3)
            {
                continue;
            }

            double left = profile[steepest] - profile[steepest - 2], right = profile[steepest + 2] - profile[steepest];
            double bend = left + right - (2 * most);
            double place = steepest + (bend < 0 ? Math.Clamp((left - right) / (2 * bend), -1, 1) : 0);
            places.Add((start, (place - Reach) / 2));
            int low = Math.Max(0, steepest - 3), high = Math.Min(2 * Reach, steepest + 3);
            double whole = profile[Math.Min(2 * Reach, steepest + 6)] - profile[Math.Max(0, steepest - 6)];
            narrow += profile[high] - profile[low] > 0.7 * whole && whole > 0 ? 1 : 0;
        }

        if (places.Count < LeastShare * bins || narrow < LeastShare * bins)
        {
            return false;
        }

        double meanT = places.Average(bin => bin.T), meanPlace = places.Average(bin => bin.Place);
        double slopeOfLine = places.Sum(bin => (bin.T - meanT) * (bin.Place - meanPlace)) / Math.Max(1e-9, places.Sum(bin => (bin.T - meanT) * (bin.T - meanT)));
        return places.Count(bin => Math.Abs(bin.Place - meanPlace - (slopeOfLine * (bin.T - meanT))) < MostOffCells) >= LeastShare * bins;
    }

    /// <summary>The field by cells of about a millimetre; not a number beyond it.</summary>
    private sealed class Grid
    {
        private readonly float[] values;
        private readonly int pixelsPerCell;
        private readonly int firstRow;
        private readonly int firstColumn;

        private Grid(int rows, int columns, int pixelsPerCell, int firstRow, int firstColumn)
        {
            Rows = rows;
            Columns = columns;
            this.pixelsPerCell = pixelsPerCell;
            this.firstRow = firstRow;
            this.firstColumn = firstColumn;
            values = new float[rows * columns];
        }

        public int Rows { get; }

        public int Columns { get; }

        public double FieldRows { get; private set; }

        public double FieldColumns { get; private set; }

        public static Grid Of(ArtifactScan scan, FieldSpan span, int step)
        {
            int pixels = step * scan.Step, top = int.MaxValue, bottom = 0, left = int.MaxValue, right = 0;
            for (int row = 0; row < span.Rows; row++)
            {
                (int first, int end) = span.Row(row);
                if (end > first)
                {
                    top = Math.Min(top, row);
                    bottom = row;
                    left = Math.Min(left, first);
                    right = Math.Max(right, end);
                }
            }

            if (top > bottom)
            {
                return new Grid(0, 0, pixels, 0, 0);
            }

            int firstRow = top / pixels, firstColumn = left / pixels;
            int rows = Math.Max(0, Math.Min((bottom / pixels) + 1, scan.ReducedRows / step) - firstRow), columns = Math.Max(0, Math.Min((right / pixels) + 1, scan.ReducedColumns / step) - firstColumn);
            var grid = new Grid(rows, columns, pixels, firstRow, firstColumn) { FieldRows = rows, FieldColumns = columns };
            for (int row = 0; row < rows; row++)
            {
                for (int column = 0; column < columns; column++)
                {
                    int y = (firstRow + row) * pixels, x = (firstColumn + column) * pixels;
                    float sum = float.NaN;
                    if (span.Holds(y, x) && span.Holds(y, x + pixels - 1) && span.Holds(y + pixels - 1, x) && span.Holds(y + pixels - 1, x + pixels - 1))
                    {
                        sum = 0;
                        for (int k = 0; k < step * step; k++)
                        {
                            sum += scan.Reduced[((((firstRow + row) * step) + (k / step)) * scan.ReducedColumns) + ((firstColumn + column) * step) + (k % step)];
                        }
                    }

                    grid.values[(row * columns) + column] = sum / (step * step);
                }
            }

            return grid;
        }

        /// <summary>Half the differences of the neighbours, to the right and downward; not a number beside what is none.</summary>
        public (float[] X, float[] Y) Gradient()
        {
            var x = new float[values.Length];
            var y = new float[values.Length];
            for (int at = Columns; at < values.Length - Columns; at++)
            {
                x[at] = (values[at + 1] - values[at - 1]) / 2;
                y[at] = (values[at + Columns] - values[at - Columns]) / 2;
            }

            return (x, y);
        }

        public float At(int row, int column) => values[(row * Columns) + column];

        public double Between(double x, double y)
        {
            int column = (int)Math.Floor(x), row = (int)Math.Floor(y);
            if (row < 0 || column < 0 || row >= Rows - 1 || column >= Columns - 1)
            {
                return double.NaN;
            }

            double fx = x - column, fy = y - row;
            return ((1 - fy) * (((1 - fx) * At(row, column)) + (fx * At(row, column + 1)))) + (fy * (((1 - fx) * At(row + 1, column)) + (fx * At(row + 1, column + 1))));
        }

        public PixelPoint Pixel(double x, double y) => new(
            X: ((firstColumn + x) * pixelsPerCell) + ((pixelsPerCell - 1) / 2.0),
            Y: ((firstRow + y) * pixelsPerCell) + ((pixelsPerCell - 1) / 2.0));
    }
}
