using System.Numerics;
using System.Runtime.Intrinsics;
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
/// <para>Method: the power spectra of many small squares of soft tissue at full resolution; the spectrum of the noise, from direct exposure or from a model fitted to the squares with the least structure; with it noise and structure are parted in each square, and the variance of the noise is followed over the signal. The figure is the root of the mean squared relative noise over the soft tissue. docs/methods/mottle.md.</para>
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

    // With the noise's spectrum known from direct exposure the two are parted better; measured over the lab's exposures, docs/methods/mottle.md#accuracy.
    private const double MostStructureUnderKnownNoise = 20;
    private const double KnownShapeFraction = 0.03;
    private const double KnownShapeStructureFraction = 0.05;

    // Of the squares parted by a known spectrum: those with less structure than the median keep no structure in their noise.
    private const double ShareKept = 0.4;

    private const int LeastDirectSquares = 6;
    private const int MostDirectSquares = 64;

    // A heel effect takes up to a quarter of direct exposure, its corners somewhat more.
    private const double LeastDirectShare = 0.6;

    // Between 0 and the first frequency that a square can tell, about 0.05 cycles per pixel, a scintillator's noise rises by about this much.
    private const double ZeroFrequencyFraction = 0.15;

    // One dead element in 500 is far above what a receptor in use shows; 64 pixels of a line are one in 64.
    private const double MostDeadFraction = 0.002;

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

    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    /// <param name="histogram">Its histogram; null to count it.</param>
    /// <param name="exposure">Its exposure, for the quantum limit; null where not asked.</param>
    internal static Figure<MottleMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, FieldHistogram? histogram, Figure<ExposureMeasurement>? exposure = null)
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
        List<PixelPoint> corners = Squares(radiograph, regions.Map, RegionLabel.SoftTissue, side, limits, side == 64 ? MostSquares : 2 * MostSquares);
        if (corners.Count < FewSquares && side == 64)
        {
            // Between the bones of a small part smaller squares find more places that are free of them.
            side = 32;
            corners = Squares(radiograph, regions.Map, RegionLabel.SoftTissue, side, limits, side == 64 ? MostSquares : 2 * MostSquares);
        }

        if (corners.Count < LeastSquares)
        {
            return CannotTell($"Noise is measured on squares of {side} × {side} pixels of soft tissue away from bone, edges and clipped values; the image holds only {corners.Count} of the {LeastSquares} that a figure needs.");
        }

        var periodograms = new PeriodogramSquares(side);
        Square[] squares = Transform(radiograph, signal, corners, periodograms, limits);
        squares = squares.Where(square => square.Mean > 0 && double.IsFinite(square.PowerAbove)).ToArray();
        if (squares.Length < LeastSquares)
        {
            return CannotTell("Noise is given relative to the mean signal, and the mean signal over soft tissue is not above zero on this file's scale.");
        }

        double stepPixelValues = GreyStep(histogram);
        NoiseShape? direct = linear is null ? null : DirectShape(radiograph, regions, signal, periodograms, limits);
        Square[] chosen = direct is null ? LeastStructured(squares) : squares;
        if (chosen.Count(square => square.PowerAbove > 0) < chosen.Length / 2)
        {
            return CannotTell("The grey steps of the file are coarser than the noise: whole squares of soft tissue have one value.");
        }

        chosen = chosen.Where(square => square.PowerAbove > 0).ToArray();
        if (BlockStepRatio(radiograph, chosen, side) > BlockRatio)
        {
            return CannotTell("The pixels show the 8-pixel blocks of JPEG compression, which removes and changes noise; give the image as the receptor stored it.");
        }

        NoiseInSquare[] noise = direct is null
            ? PartedByModel(chosen, periodograms, signal, stepPixelValues, out NoiseShape shape)
            : PartedBy(shape = direct, chosen, periodograms, signal, stepPixelValues);
        if (noise.Length < LeastSquares || !(Median(noise.Select(one => one.Steps).ToArray()) >= LeastNoiseSteps))
        {
            return CannotTell("The grey steps of the file are coarser than the noise, so the noise cannot be told from rounding.");
        }

        double structureShare = Median(noise.Select(one => one.StructureShare).ToArray());
        if (structureShare > (direct is null ? MostStructureShare : MostStructureUnderKnownNoise))
        {
            return CannotTell("Over all soft tissue the structure of the anatomy is too strong, down to the finest detail, to tell the noise from it.");
        }

        TissueSignals? tissue = linear is null ? null : TissueSignals.Collect(radiograph, regions, signal, limits);
        NoiseRelation? relation = linear is null ? null : RelationOf(noise, static (_, _) => true, group: 0);
        double relative = RelativeNoise(noise, relation, tissue);
        double spread = JackknifeDeviation(noise, linear is not null, tissue);
        double model = direct is null
            ? ModelFraction + (StructureFraction * structureShare)
            : KnownShapeFraction + (KnownShapeStructureFraction * Math.Min(1, structureShare));
        double choice = relation is { } fitted && tissue is not null ? tissue.ChoiceFraction(fitted) : 0;
        double uncertainty = Math.Sqrt((spread * spread) + (((model * model) + (choice * choice)) * relative * relative));
        double cell = Math.Max(1, radiograph.Rows / CellsPerImageHeight);
        double shownJnd = ShownFraction(ShownBrightness.Of(radiograph, histogram), signal, noise, relation, relative)
            * JustNoticeableDifference.OfFullRange * Math.Sqrt(shape.VarianceShareAfterAveraging(cell));
        var measurement = new MottleMeasurement
        {
            RelativeNoisePercent = Significant(100 * relative),
            RelativeNoisePercentUncertainty = Significant(100 * uncertainty),
            SignalToNoise = Significant(1 / relative),
            Visible = shownJnd >= VisibleJnd,
            ShownNoiseJnd = Math.Round(shownJnd, 2),
            Scale = linear is null ? "pixel values" : "linear signal",
            Over = tissue is null ? "places" : tissue.BonesAreTold ? "soft tissue" : tissue.Threshold is null ? "anatomy" : "soft tissue by its signal",
            Places = noise.Select(one => new PixelPoint(X: one.Square.Corner.X + ((side - 1) / 2.0), Y: one.Square.Corner.Y + ((side - 1) / 2.0))).ToArray(),
            PlaceSidePixels = side,
        };
        return Figure<MottleMeasurement>.Measured(relation is { } known
            ? WithRelation(measurement, radiograph, known, tissue, shape, linear!, exposure, Math.Sqrt((uncertainty * uncertainty / (relative * relative)) - (choice * choice)))
            : measurement);
    }

    /// <summary>Adds what only a linear signal can tell: noise by signal, and the quantum limit.</summary>
    private static MottleMeasurement WithRelation(
        MottleMeasurement measurement, Radiograph radiograph, NoiseRelation relation, TissueSignals? tissue, NoiseShape shape, LinearSignal linear, Figure<ExposureMeasurement>? exposure, double deviationFraction)
    {
        double median = tissue?.Quantile(0.5) ?? relation.Reference;
        measurement = measurement with
        {
            VarianceExponent = Math.Round(1 + relation.Slope, 2),
            BySignal = tissue is null
                ? null
                : [.. new[] { 0.1, 0.5, 0.9 }.Select(share => tissue.Quantile(share)).Select(at => new NoiseAtSignal(Significant(at), Significant(100 * Math.Sqrt(relation.RelativeVarianceAt(at)))))],
        };
        if (radiograph.ReceptorSpacing is not { } spacing)
        {
            return measurement;
        }

        double ideal = QuantumLimit.IdealKermaMicrogray(relation.RelativeVarianceAt(median) * shape.AtZero, spacing.PixelAreaMm2);
        double? known = linear.IsKermaMicrogray ? median : exposure is { IsMeasured: true } ? exposure.Value.ReceptorAirKermaMicrogray : null;
        return measurement with
        {
            IdealReceptorKermaMicrogray = Significant(ideal),

            // Of the variance, so twice that of the deviation; and what the spectrum leaves open towards frequency 0.
            IdealReceptorKermaMicrograyUncertainty = Significant(Math.Sqrt((4 * deviationFraction * deviationFraction) + (ZeroFrequencyFraction * ZeroFrequencyFraction)) * ideal),
            QuantumLimitPercent = known is { } kerma ? Significant(100 * Math.Sqrt(relation.RelativeVarianceAt(median) * ideal / kerma)) : null,
        };
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

    /// <summary>Upper left corners of squares that lie, with a margin of one cell, on one kind of place, and hold neither clipped nor padded values; thinned evenly.</summary>
    private static List<PixelPoint> Squares(Radiograph radiograph, RegionMap map, RegionLabel label, int side, SignalLimits limits, int most)
    {
        var corners = new List<PixelPoint>();
        for (int row = 0; row + side <= radiograph.Rows; row += side)
        {
            for (int column = 0; column + side <= radiograph.Columns; column += side)
            {
                if (IsAll(label, map, row, column, side))
                {
                    corners.Add(new PixelPoint(X: column, Y: row));
                }
            }
        }

        int keepOneIn = Math.Max(1, corners.Count / most);
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

    private static bool IsAll(RegionLabel label, RegionMap map, int row, int column, int side)
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
            if (map.Labels.Row(y)[left..(right + 1)].ContainsAnyExcept((byte)label))
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>Whether a square holds no padding and hardly a value at a limit: single dead elements are bridged, a dead line or clipping is not.</summary>
    private static bool HoldsWholeSignal(Radiograph radiograph, PixelPoint corner, int side, SignalLimits limits)
    {
        int lost = 0;
        for (int row = 0; row < side; row++)
        {
            ReadOnlySpan<ushort> line = radiograph.Pixels.Row((int)corner.Y + row).Slice((int)corner.X, side);
            lost += Lost(line, limits);
            if (radiograph.Padding is not { } padding)
            {
                continue;
            }

            foreach (ushort value in line)
            {
                if (padding.Contains(value + radiograph.StoredMinimum))
                {
                    return false;
                }
            }
        }

        return lost <= MostDeadFraction * side * side;
    }

    /// <summary>Number of values at or beyond a limit.</summary>
    private static int Lost(ReadOnlySpan<ushort> line, SignalLimits limits)
    {
        int lost = 0, at = 0;
        if (limits.Low is >= -1 and < ushort.MaxValue && limits.High is > 0 and <= ushort.MaxValue + 1)
        {
            // Whole are the values from Low + 1 to High − 1.
            Vector<ushort> least = new((ushort)(limits.Low + 1)), most = new((ushort)(limits.High - 1));
            for (; at + Vector<ushort>.Count <= line.Length; at += Vector<ushort>.Count)
            {
                var values = new Vector<ushort>(line[at..]);
                lost += Vector.Sum((Vector.LessThan(values, least) | Vector.GreaterThan(values, most)) & Vector<ushort>.One);
            }
        }

        for (; at < line.Length; at++)
        {
            lost += line[at] <= limits.Low || line[at] >= limits.High ? 1 : 0;
        }

        return lost;
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

    private static Square[] Transform(Radiograph radiograph, float[] signal, List<PixelPoint> corners, PeriodogramSquares transform, SignalLimits limits)
    {
        int side = transform.Side;
        var squares = new Square[corners.Count];
        int pairs = (corners.Count + 1) / 2;
        Parallel.For(0, pairs, () => (First: new float[side * side], Second: new float[side * side]), (pair, _, blocks) =>
        {
            int one = 2 * pair;
            int two = Math.Min(one + 1, corners.Count - 1);
            (double meanOne, double pixelOne) = Load(radiograph, signal, corners[one], side, limits, blocks.First);
            (double meanTwo, double pixelTwo) = Load(radiograph, signal, corners[two], side, limits, blocks.Second);
            (double[] powerOne, double[] powerTwo) = transform.Transform(blocks.First, blocks.Second);
            squares[one] = Square.From(corners[one], meanOne, pixelOne, powerOne, transform.Modes, side);
            squares[two] = Square.From(corners[two], meanTwo, pixelTwo, powerTwo, transform.Modes, side);
            return blocks;
        }, _ => { });
        return squares;
    }

    private static (double Mean, double MeanPixelValue) Load(Radiograph radiograph, float[] signal, PixelPoint corner, int side, SignalLimits limits, float[] block)
    {
        double sum = 0;
        long pixels = 0;
        ushort whole = 0;
        for (int row = 0; row < side; row++)
        {
            ReadOnlySpan<ushort> from = radiograph.Pixels.Row((int)corner.Y + row).Slice((int)corner.X, side);
            Span<float> to = block.AsSpan(row * side, side);
            bool allWhole = Lost(from, limits) == 0;
            for (int column = 0; column < to.Length; column++)
            {
                // A dead element takes the value before it (see HoldsWholeSignal: there are few).
                ushort pixel = allWhole || (from[column] > limits.Low && from[column] < limits.High) ? from[column] : whole > 0 ? whole : NextWhole(from, column, limits);
                whole = pixel;
                float value = signal[pixel];
                to[column] = value;
                sum += value;
                pixels += pixel;
            }
        }

        // The mean is taken out before the transform works in single precision.
        double mean = sum / (side * side);
        for (int at = 0; at < block.Length; at++)
        {
            block[at] = (float)(block[at] - mean);
        }

        return (mean, (double)pixels / (side * side));
    }

    private static ushort NextWhole(ReadOnlySpan<ushort> line, int column, SignalLimits limits)
    {
        while (column < line.Length - 1 && (line[column] <= limits.Low || line[column] >= limits.High))
        {
            column++;
        }

        return line[column];
    }

    /// <summary>The noise's spectrum from squares of direct exposure; null where there are too few.</summary>
    private static NoiseShape? DirectShape(Radiograph radiograph, RadiographRegions regions, float[] signal, PeriodogramSquares periodograms, SignalLimits limits)
    {
        List<PixelPoint> corners = Squares(radiograph, regions.Map, RegionLabel.Direct, periodograms.Side, limits, MostDirectSquares);
        if (corners.Count < LeastDirectSquares)
        {
            return null;
        }

        Square[] squares = Transform(radiograph, signal, corners, periodograms, limits).Where(square => square.Mean > 0 && square.PowerAbove > 0).ToArray();
        if (squares.Length < LeastDirectSquares)
        {
            return null;
        }

        // Direct exposure is the highest signal of a field, even at the far end of a heel effect; what lies far below it was not.
        double highest = squares.Max(square => square.Mean);
        squares = squares.Where(square => square.Mean >= LeastDirectShare * highest).OrderBy(square => square.Steepness).ToArray();
        return squares.Length < LeastDirectSquares ? null : NoiseShape.OfDirectExposure(squares[..Math.Max(LeastDirectSquares, squares.Length * 3 / 4)], periodograms);
    }

    /// <summary>Noise of each square by a known spectrum; the squares with the least structure.</summary>
    private static NoiseInSquare[] PartedBy(NoiseShape shape, Square[] squares, PeriodogramSquares periodograms, float[] signal, double stepPixelValues)
    {
        var noise = new NoiseInSquare[squares.Length];
        Parallel.For(0, squares.Length, at => noise[at] = NoiseInSquare.Of(squares[at], shape, periodograms, stepPixelValues * Slope(signal, squares[at].MeanPixelValue)));
        NoiseInSquare[] told = noise.Where(one => one.Variance > 0 && double.IsFinite(one.StructureShare)).OrderBy(one => one.StructureShare).ToArray();
        return told[..Math.Min(told.Length, Math.Max(LeastSquares, (int)(ShareKept * told.Length)))];
    }

    /// <summary>Noise of each square by a model of noise and structure fitted to their mean spectrum.</summary>
    private static NoiseInSquare[] PartedByModel(Square[] squares, PeriodogramSquares periodograms, float[] signal, double stepPixelValues, out NoiseShape shape)
    {
        int side = periodograms.Side;
        int first = Square.FirstBinAbove(side);
        double frequencies = (double)side * side;
        double shareAbove = periodograms.Modes.Skip(first).Sum() / frequencies;

        // Rounding adds white noise of step²/12; it is taken off before anything is fitted.
        var mean = new double[periodograms.Bins];
        var steps = new double[squares.Length];
        var above = new double[squares.Length];
        for (int at = 0; at < squares.Length; at++)
        {
            Square square = squares[at];
            steps[at] = stepPixelValues * Slope(signal, square.MeanPixelValue);
            double rounding = steps[at] * steps[at] / 12;
            above[at] = Math.Max(square.PowerAbove - (rounding * shareAbove), 0.02 * square.PowerAbove);
            for (int bin = 0; bin < mean.Length; bin++)
            {
                mean[bin] += (square.Power[bin] - rounding) / above[at] / squares.Length;
            }
        }

        NoiseSpectrum spectrum = NoiseSpectrum.Fit(periodograms.MeanFrequency, mean, periodograms.Modes, firstBin: 2);
        shape = NoiseShape.Of(spectrum, periodograms);
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
        var noise = new NoiseInSquare[squares.Length];
        for (int at = 0; at < squares.Length; at++)
        {
            double variance = above[at] * varianceOverPowerAbove;
            noise[at] = new NoiseInSquare(squares[at], variance, structure, steps[at] > 0 ? Math.Sqrt(variance) / steps[at] : double.PositiveInfinity);
        }

        return noise;
    }

    private static NoiseRelation RelationOf(NoiseInSquare[] noise, Func<int, int, bool> isKept, int group)
    {
        int[] kept = Enumerable.Range(0, noise.Length).Where(at => isKept(at, group)).ToArray();
        return NoiseRelation.Fit(kept.Select(at => noise[at].Square.Mean).ToArray(), kept.Select(at => noise[at].Variance).ToArray());
    }

    /// <summary>The figure, as a share: over the tissue by the relation, or where there is none the median over the squares.</summary>
    private static double RelativeNoise(IEnumerable<NoiseInSquare> noise, NoiseRelation? relation, TissueSignals? tissue)
        => relation is { } known
            ? tissue?.RelativeNoise(known) ?? Math.Sqrt(Median(noise.Select(one => known.RelativeVarianceAt(one.Square.Mean)).ToArray()))
            : Median(noise.Select(one => Math.Sqrt(one.Variance) / one.Square.Mean).ToArray());

    /// <summary>One standard deviation of the figure by the squares' chance: each eighth of them left out in turn.</summary>
    private static double JackknifeDeviation(NoiseInSquare[] noise, bool isLinear, TissueSignals? tissue)
    {
        var estimates = new double[Groups];
        for (int group = 0; group < Groups; group++)
        {
            int left = group;
            estimates[group] = RelativeNoise(
                noise.Where((_, at) => at % Groups != left),
                isLinear ? RelationOf(noise, static (at, group) => at % Groups != group, group) : null,
                tissue);
        }

        double mean = estimates.Average();
        return Math.Sqrt((Groups - 1.0) / Groups * estimates.Sum(estimate => (estimate - mean) * (estimate - mean)));
    }

    /// <summary>The noise of single pixels as a share of the shown range, the median over the squares.</summary>
    private static double ShownFraction(ShownBrightness? shown, float[] signal, NoiseInSquare[] noise, NoiseRelation? relation, double relative)
        => shown is null
            ? 0
            : Median(noise.Select(one =>
            {
                Square square = one.Square;
                double signalDeviation = relation is { } known ? Math.Sqrt(known.VarianceAt(square.Mean)) : relative * square.Mean;
                double deviation = Math.Min(signalDeviation / Slope(signal, square.MeanPixelValue), signal.Length);
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
        Span<uint> sums = stackalloc uint[8];
        foreach (Square square in squares)
        {
            int top = (int)square.Corner.Y;
            int left = (int)square.Corner.X;
            sums.Clear();
            Vector128<uint> low = Vector128<uint>.Zero, high = low;
            for (int row = top + 1; row < top + side; row++)
            {
                ReadOnlySpan<ushort> above = radiograph.Pixels.Row(row - 1).Slice(left, side);
                ReadOnlySpan<ushort> here = radiograph.Pixels.Row(row).Slice(left, side);
                uint below = 0;
                for (int column = 1; column < 8; column++)
                {
                    sums[column] += (uint)Math.Abs(here[column] - here[column - 1]);
                    below += (uint)Math.Abs(here[column] - above[column]);
                }

                // Squares begin at multiples of eight and are as wide: eight columns to a register, each always in its own place.
                Vector128<uint> belows = Vector128<uint>.Zero;
                for (int column = 8; column < side; column += 8)
                {
                    Vector128<ushort> own = Vector128.Create(here[column..]);
                    (Vector128<uint> a, Vector128<uint> b) = Vector128.Widen(Size(own, Vector128.Create(here[(column - 1)..])));
                    (Vector128<uint> c, Vector128<uint> d) = Vector128.Widen(Size(own, Vector128.Create(above[column..])));
                    low += a;
                    high += b;
                    belows += c + d;
                }

                down[row & 7] += below + Vector128.Sum(belows);
            }

            for (int place = 0; place < 8; place++)
            {
                across[place] += (double)sums[place] + (place < 4 ? low[place] : high[place - 4]);
            }
        }

        // The first column and row of a square have no neighbour in it; squares begin at multiples of eight.
        across[0] *= (double)side / (side - 8);
        down[0] *= (double)side / (side - 8);
        return Math.Min(LargestOverMedian(across), LargestOverMedian(down));
    }

    private static Vector128<ushort> Size(Vector128<ushort> one, Vector128<ushort> other) => Vector128.Max(one, other) - Vector128.Min(one, other);

    private static double LargestOverMedian(double[] sums)
    {
        double largest = sums.Max();
        double median = Median(sums);
        return median > 0 ? largest / median : largest > 0 ? double.PositiveInfinity : 1;
    }
}
