using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Clipping;
using Hotlight.Measure.Display;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Mottle;

/// <summary>Stochastic noise over soft tissue, told from the structure of the anatomy.</summary>
/// <remarks>
/// <para>Method: the power spectra of many small squares of soft tissue at full resolution; those with the least structure are used; a model of noise through a blur, white noise and steeply falling structure is fitted to their mean; the variance is the power measured above the structure's band, without the structure's share, and the model below. The figure is the median over the squares. docs/methods/mottle.md.</para>
/// <para>Holds when: at least <see cref="LeastSquares"/> squares of soft tissue are free of bone, edges and clipping; the noise spans at least half a grey step; the pixels were never compressed with loss. Otherwise cannot-tell.</para>
/// <para>Not: the standard deviation in a region, which also counts the anatomy.</para>
/// </remarks>
public static class MottleMeasure
{
    /// <summary>Fewest squares of soft tissue a figure is given from.</summary>
    public const int LeastSquares = 12;

    private const int MostSquares = 192;
    private const int FewSquares = 96;
    private const int Groups = 8;

    // Below half a grey step the rounding error is no longer independent of the noise, and rounding no longer adds 1/12 step².
    private const double LeastNoiseSteps = 0.5;

    private const double ReferenceQuantile = 0.15;
    private const double SteepnessKept = 1.35;

    // The blocks of JPEG make steps between neighbours at every eighth pixel; without them the ratio is 1 within a few percent.
    private const double BlockRatio = 1.15;

    // What remains between the fitted and the true spectrum; measured, docs/methods/mottle.md#accuracy.
    private const double ModelFraction = 0.03;
    private const double StructureFraction = 0.6;

    // Beyond this share of structure in the counted band the parting of the two is off by a third and more on drawn texture.
    private const double MostStructureShare = 0.3;

    // Noise is judged at the scale the eye sees best: half a cycle of the standard target of PS3.14 (4 cycles per degree) at 600 mm is 1.3 mm,
    // which is 1/250 of a display 325 mm high that the image fills (distance and height: common practice, no source).
    private const double CellsPerImageHeight = 250;

    // One just-noticeable difference is defined on a uniform background; over the structure of anatomy about twice that is needed (masking; common practice, no source).
    private const double VisibleJnd = 2;

    /// <summary>Measures one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    public static Figure<MottleMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options)
        => Measure(radiograph, regions, options, histogram: null);

    internal static Figure<MottleMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, FieldHistogram? histogram)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(regions);
        ArgumentNullException.ThrowIfNull(options);
        if (radiograph.Source == ImageSource.Jpeg || radiograph.LossyCompressed == true)
        {
            return CannotTell("The pixels were compressed with loss, which removes and changes noise; give the image as the receptor stored it.");
        }

        if (!regions.Anatomy.IsMeasured)
        {
            return CannotTell("Noise is measured over soft tissue, and the anatomy could not be told from the rest of the image.");
        }

        histogram ??= FieldHistogram.Count(radiograph, regions.Map);
        SignalLimits limits = SignalLimits.Find(radiograph, histogram);
        LinearSignal? linear = LinearSignal.Of(radiograph, options.Calibration);
        float[] signal = linear?.ByPixelValue ?? ModalityValues(radiograph);
        int side = Math.Min(radiograph.Rows, radiograph.Columns) >= 512 ? 64 : 32;
        List<PixelPoint> corners = SoftTissueSquares(radiograph, regions.Map, side, limits);
        if (corners.Count < FewSquares && side == 64)
        {
            // Between the bones of a small part smaller squares find more places that are free of them.
            side = 32;
            corners = SoftTissueSquares(radiograph, regions.Map, side, limits);
        }

        if (corners.Count < LeastSquares)
        {
            return CannotTell($"Noise is measured on squares of {side} × {side} pixels of soft tissue away from bone, edges and clipped values; the image holds only {corners.Count} of the {LeastSquares} that a figure needs.");
        }

        Square[] squares = Transform(radiograph, signal, corners, side, out PeriodogramSquares periodograms);
        squares = squares.Where(square => square.Mean > 0 && double.IsFinite(square.PowerAbove)).ToArray();
        if (squares.Length < LeastSquares)
        {
            return CannotTell("Noise is given relative to the mean signal, and the mean signal over soft tissue is not above zero on this file's scale.");
        }

        Square[] chosen = LeastStructured(squares);
        double stepPixelValues = GreyStep(histogram);
        if (chosen.Count(square => square.PowerAbove > 0) < chosen.Length / 2)
        {
            return CannotTell("The grey steps of the file are coarser than the noise: whole squares of soft tissue have one value.");
        }

        chosen = chosen.Where(square => square.PowerAbove > 0).ToArray();
        if (BlockStepRatio(radiograph, chosen, side) > BlockRatio)
        {
            return CannotTell("The pixels show the 8-pixel blocks of JPEG compression, which removes and changes noise; give the image as the receptor stored it.");
        }

        Estimate estimate = EstimateFrom(chosen, periodograms, signal, stepPixelValues);
        if (!(estimate.NoiseSteps >= LeastNoiseSteps))
        {
            return CannotTell("The grey steps of the file are coarser than the noise, so the noise cannot be told from rounding.");
        }

        if (estimate.StructureShare > MostStructureShare)
        {
            return CannotTell("Over all soft tissue the structure of the anatomy is too strong, down to the finest detail, to tell the noise from it.");
        }

        double spread = JackknifeDeviation(chosen, periodograms, signal, stepPixelValues);
        double model = ModelFraction + (StructureFraction * estimate.StructureShare);
        double uncertainty = Math.Sqrt((spread * spread) + Math.Pow(model * estimate.Relative, 2));
        double cell = Math.Max(1, radiograph.Rows / CellsPerImageHeight);
        double shownJnd = ShownFraction(ShownBrightness.Of(radiograph, histogram), signal, chosen, estimate)
            * JustNoticeableDifference.OfFullRange * Math.Sqrt(estimate.Spectrum.VarianceShareAfterAveraging(cell));
        return Figure<MottleMeasurement>.Measured(new MottleMeasurement
        {
            RelativeNoisePercent = Significant(100 * estimate.Relative),
            RelativeNoisePercentUncertainty = Significant(100 * uncertainty),
            SignalToNoise = Significant(1 / estimate.Relative),
            Visible = shownJnd >= VisibleJnd,
            ShownNoiseJnd = Math.Round(shownJnd, 2),
            Scale = linear is null ? "pixel values" : "linear signal",
            Places = chosen.Select(square => new PixelPoint(X: square.Corner.X + ((side - 1) / 2.0), Y: square.Corner.Y + ((side - 1) / 2.0))).ToArray(),
            PlaceSidePixels = side,
        });
    }

    private static Figure<MottleMeasurement> CannotTell(string why) => Figure<MottleMeasurement>.CannotTell(why);

    private static double Significant(double value)
        => value > 0 ? Math.Round(value, Math.Clamp(3 - (int)Math.Floor(Math.Log10(value)), 0, 15)) : 0;

    private static float[] ModalityValues(Radiograph radiograph)
    {
        var values = new float[radiograph.PixelMaximum + 1];
        for (int value = 0; value < values.Length; value++)
        {
            values[value] = (float)radiograph.Modality.Apply(value + radiograph.StoredMinimum);
        }

        return values;
    }

    /// <summary>Upper left corners of squares that lie, with a margin of one cell, on soft tissue, and hold neither clipped nor padded values; thinned evenly.</summary>
    private static List<PixelPoint> SoftTissueSquares(Radiograph radiograph, RegionMap map, int side, SignalLimits limits)
    {
        var corners = new List<PixelPoint>();
        for (int row = 0; row + side <= radiograph.Rows; row += side)
        {
            for (int column = 0; column + side <= radiograph.Columns; column += side)
            {
                if (IsSoftTissue(map, row, column, side))
                {
                    corners.Add(new PixelPoint(X: column, Y: row));
                }
            }
        }

        int keepOneIn = Math.Max(1, corners.Count / (side == 64 ? MostSquares : 2 * MostSquares));
        var kept = new List<PixelPoint>();
        for (int at = 0; at < corners.Count; at += keepOneIn)
        {
            if (HoldsWholeSignal(radiograph, corners[at], side, limits))
            {
                kept.Add(corners[at]);
            }
        }

        return kept;
    }

    private static bool IsSoftTissue(RegionMap map, int row, int column, int side)
    {
        int top = (row / map.Step) - 1;
        int left = (column / map.Step) - 1;
        int bottom = ((row + side - 1) / map.Step) + 1;
        int right = ((column + side - 1) / map.Step) + 1;
        if (top < 0 || left < 0 || bottom >= map.Labels.Rows || right >= map.Labels.Columns)
        {
            return false;
        }

        for (int y = top; y <= bottom; y++)
        {
            if (map.Labels.Row(y)[left..(right + 1)].ContainsAnyExcept((byte)RegionLabel.SoftTissue))
            {
                return false;
            }
        }

        return true;
    }

    private static bool HoldsWholeSignal(Radiograph radiograph, PixelPoint corner, int side, SignalLimits limits)
    {
        for (int row = 0; row < side; row++)
        {
            foreach (ushort value in radiograph.Pixels.Row((int)corner.Y + row).Slice((int)corner.X, side))
            {
                if (value <= limits.Low || value >= limits.High || radiograph.Padding?.Contains(value + radiograph.StoredMinimum) == true)
                {
                    return false;
                }
            }
        }

        return true;
    }

    /// <summary>The squares whose structure is least: first those whose spectrum falls no steeper than the flattest do, then of these the half with the least power at the lowest frequencies.</summary>
    private static Square[] LeastStructured(Square[] squares)
    {
        // Noise has the same spectrum everywhere, within the chance of a few dozen frequencies (about 10 %); bone's fine structure and edges steepen it.
        Square[] bySteepness = squares.OrderBy(square => square.Steepness).ToArray();
        double flattest = bySteepness[(int)(ReferenceQuantile * (bySteepness.Length - 1))].Steepness;

        // Where all squares are alike, the median lies one deviation above this quantile, so its square lies one above the median and keeps five of six.
        double alike = Math.Pow(bySteepness[(bySteepness.Length - 1) / 2].Steepness / Math.Max(flattest, 1e-30), 2);
        double most = flattest * Math.Clamp(alike, SteepnessKept, squares[0].Side == 64 ? 1.5 : 2);
        int kept = Math.Max(Math.Min(LeastSquares, squares.Length), bySteepness.Count(square => square.Steepness <= most));
        return bySteepness.Take(kept).OrderBy(square => square.PowerBelow / Math.Max(square.PowerAbove, 1e-30)).Take(Math.Max(LeastSquares, kept / 2)).ToArray();
    }

    private static Square[] Transform(Radiograph radiograph, float[] signal, List<PixelPoint> corners, int side, out PeriodogramSquares periodograms)
    {
        var transform = new PeriodogramSquares(side);
        periodograms = transform;
        var squares = new Square[corners.Count];
        int pairs = (corners.Count + 1) / 2;
        Parallel.For(0, pairs, () => (First: new float[side * side], Second: new float[side * side]), (pair, _, blocks) =>
        {
            int one = 2 * pair;
            int two = Math.Min(one + 1, corners.Count - 1);
            (double meanOne, double pixelOne) = Load(radiograph, signal, corners[one], side, blocks.First);
            (double meanTwo, double pixelTwo) = Load(radiograph, signal, corners[two], side, blocks.Second);
            (double[] powerOne, double[] powerTwo) = transform.Transform(blocks.First, blocks.Second);
            squares[one] = Square.From(corners[one], meanOne, pixelOne, powerOne, transform.Modes, side);
            squares[two] = Square.From(corners[two], meanTwo, pixelTwo, powerTwo, transform.Modes, side);
            return blocks;
        }, _ => { });
        return squares;
    }

    private static (double Mean, double MeanPixelValue) Load(Radiograph radiograph, float[] signal, PixelPoint corner, int side, float[] block)
    {
        double sum = 0;
        double pixels = 0;
        for (int row = 0; row < side; row++)
        {
            ReadOnlySpan<ushort> from = radiograph.Pixels.Row((int)corner.Y + row).Slice((int)corner.X, side);
            Span<float> to = block.AsSpan(row * side, side);
            for (int column = 0; column < side; column++)
            {
                float value = signal[from[column]];
                to[column] = value;
                sum += value;
                pixels += from[column];
            }
        }

        // The mean is taken out before the transform works in single precision.
        double mean = sum / (side * side);
        for (int at = 0; at < block.Length; at++)
        {
            block[at] = (float)(block[at] - mean);
        }

        return (mean, pixels / (side * side));
    }

    private static Estimate EstimateFrom(IReadOnlyCollection<Square> squares, PeriodogramSquares periodograms, float[] signal, double stepPixelValues)
    {
        int side = squares.First().Side;
        int first = Square.FirstBinAbove(side);
        double frequencies = (double)side * side;
        double shareAbove = periodograms.Modes.Skip(first).Sum() / frequencies;

        // Rounding adds white noise of step²/12; it is taken off before anything is fitted.
        var mean = new double[periodograms.Bins];
        var steps = new double[squares.Count];
        var above = new double[squares.Count];
        int at = 0;
        foreach (Square square in squares)
        {
            steps[at] = stepPixelValues * Slope(signal, square.MeanPixelValue);
            double rounding = steps[at] * steps[at] / 12;
            above[at] = Math.Max(square.PowerAbove - (rounding * shareAbove), 0.02 * square.PowerAbove);
            for (int bin = 0; bin < mean.Length; bin++)
            {
                mean[bin] += (square.Power[bin] - rounding) / above[at] / squares.Count;
            }

            at++;
        }

        NoiseSpectrum spectrum = NoiseSpectrum.Fit(periodograms.MeanFrequency, mean, periodograms.Modes, firstBin: 2);
        double below = 0;
        double structure = 0;
        for (int bin = 0; bin < mean.Length; bin++)
        {
            double share = periodograms.Modes[bin] / frequencies;
            if (bin < first)
            {
                below += share * spectrum.NoiseAt(periodograms.MeanFrequency[bin]);
            }
            else
            {
                structure += share * Math.Min(Math.Max(mean[bin], 0), spectrum.StructureAt(periodograms.MeanFrequency[bin]));
            }
        }

        // By the scaling above, the measured power at and above the first bin is 1 on average.
        double varianceOverPowerAbove = below + 1 - structure;
        var relative = new double[squares.Count];
        at = 0;
        foreach (Square square in squares)
        {
            double deviation = Math.Sqrt(above[at] * varianceOverPowerAbove);
            relative[at] = deviation / square.Mean;
            steps[at] = steps[at] > 0 ? deviation / steps[at] : double.PositiveInfinity;
            at++;
        }

        return new Estimate(Median(relative), Median(steps), structure, spectrum);
    }

    /// <summary>One standard deviation of the median over squares and of the fit together: each eighth of the squares left out in turn.</summary>
    private static double JackknifeDeviation(Square[] squares, PeriodogramSquares periodograms, float[] signal, double stepPixelValues)
    {
        var estimates = new double[Groups];
        Parallel.For(0, Groups, group =>
        {
            Square[] kept = squares.Where((_, at) => at % Groups != group).ToArray();
            estimates[group] = EstimateFrom(kept, periodograms, signal, stepPixelValues).Relative;
        });
        double mean = estimates.Average();
        return Math.Sqrt((Groups - 1.0) / Groups * estimates.Sum(estimate => (estimate - mean) * (estimate - mean)));
    }

    /// <summary>The noise of single pixels as a share of the shown range, the median over the squares.</summary>
    private static double ShownFraction(ShownBrightness? shown, float[] signal, Square[] squares, Estimate estimate)
        => shown is null
            ? 0
            : Median(squares.Select(square =>
            {
                double deviation = Math.Min(estimate.Relative * square.Mean / Slope(signal, square.MeanPixelValue), signal.Length);
                return Math.Abs(Interpolated(shown.FractionByPixelValue, square.MeanPixelValue + deviation) - Interpolated(shown.FractionByPixelValue, square.MeanPixelValue - deviation)) / 2;
            }).ToArray());

    private static double Interpolated(float[] table, double at)
    {
        double inside = Math.Clamp(at, 0, table.Length - 1);
        int lower = Math.Min((int)inside, table.Length - 2);
        return table[lower] + ((inside - lower) * (table[lower + 1] - table[lower]));
    }

    /// <summary>Signal per pixel value about a pixel value, 0 or more.</summary>
    private static double Slope(float[] signal, double pixelValue)
    {
        int reach = Math.Max(2, signal.Length / 256);
        int low = Math.Max(0, (int)Math.Round(pixelValue) - reach);
        int high = Math.Min(signal.Length - 1, (int)Math.Round(pixelValue) + reach);
        return Math.Abs(signal[high] - signal[low]) / (high - low);
    }

    private static double Median(double[] values)
    {
        Array.Sort(values);
        int middle = values.Length / 2;
        return values.Length % 2 == 1 ? values[middle] : (values[middle - 1] + values[middle]) / 2;
    }

    /// <summary>The distance between grey values that the anatomy really uses: 1, or more where the file was made from fewer bits.</summary>
    private static double GreyStep(FieldHistogram histogram)
    {
        int low = FieldHistogram.Quantile(histogram.Anatomy, histogram.AnatomyPixels, 0.05);
        int high = FieldHistogram.Quantile(histogram.Anatomy, histogram.AnatomyPixels, 0.95);
        int range = high - low;
        if (range == 0)
        {
            return 1;
        }

        int occupied = 0;
        int divisor = 0;
        for (int value = low; value <= high; value++)
        {
            if (histogram.Anatomy[value] > 0)
            {
                occupied++;
                divisor = (int)System.Numerics.BigInteger.GreatestCommonDivisor(divisor, value - low);
            }
        }

        // With ten pixels a level or more, a level that does not occur is one that the file cannot hold.
        return histogram.AnatomyPixels >= 10L * range ? (double)range / (occupied - 1) : divisor;
    }

    /// <summary>How much larger the steps between neighbours are at every eighth pixel than elsewhere, in both directions; 1 without blocks.</summary>
    private static double BlockStepRatio(Radiograph radiograph, Square[] squares, int side)
    {
        var across = new double[8];
        var down = new double[8];
        foreach (Square square in squares)
        {
            int top = (int)square.Corner.Y;
            int left = (int)square.Corner.X;
            for (int row = top + 1; row < top + side; row++)
            {
                ReadOnlySpan<ushort> above = radiograph.Pixels.Row(row - 1);
                ReadOnlySpan<ushort> here = radiograph.Pixels.Row(row);
                for (int column = left + 1; column < left + side; column++)
                {
                    across[column & 7] += Math.Abs(here[column] - here[column - 1]);
                    down[row & 7] += Math.Abs(here[column] - above[column]);
                }
            }
        }

        // The first column and row of a square have no neighbour in it; squares begin at multiples of eight.
        across[0] *= (double)side / (side - 8);
        down[0] *= (double)side / (side - 8);
        return Math.Min(LargestOverMedian(across), LargestOverMedian(down));
    }

    private static double LargestOverMedian(double[] sums)
    {
        double largest = sums.Max();
        double median = Median(sums);
        return median > 0 ? largest / median : largest > 0 ? double.PositiveInfinity : 1;
    }
}
