using Hotlight.Imaging;
using Hotlight.Measure.Clipping;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Mottle;

/// <summary>How the linear signal is spread over soft tissue: what the noise's relation to the signal is averaged over.</summary>
/// <remarks>
/// <para>Taken: one pixel of every cell of anatomy, 4 mm and more from whatever ends the field, not beside direct exposure or metal.</para>
/// <para>Where the map does not tell bone from soft tissue and the field shows direct exposure, a limb's soft tissue is what lets more through than the threshold that parts the logarithms of the signal best in two (Otsu, IEEE Trans SMC 1979;9:62).
/// The rim within 8 mm of direct exposure, where a round part gets thick, and what lets through more than half of direct exposure have no part in finding the threshold. Where there is no direct exposure, as in a trunk, the brighter half would be lung and gas: the whole anatomy is taken.</para>
/// </remarks>
internal sealed class TissueSignals
{
    // Within it lie the penumbra and the scatter beyond the beam. Without a spacing, 1/250 of the shorter side stands for 1 mm.
    private const double MarginMm = 4;

    private const int Bins = 256;
    private const int FewestSamples = 200;

    // Below it a round limb of 25 to 60 mm radius is 40 mm thick and more, so what is left is mostly tissue with and without bone.
    private const double RimMm = 8;

    // More of direct exposure comes through less than 8 mm of tissue: the outermost rim, or direct exposure that the map took for tissue.
    private const double MostShareOfDirect = 0.85;

    // Half of direct exposure comes through about 30 mm; what lets more through has no bone in it and no part in finding the threshold.
    private const double RimShareOfDirect = 0.5;

    // How far the threshold may be off: a fifth of the signal to either side.
    private const double ThresholdDeviation = 0.2;

    private readonly double[] counts;
    private readonly double lowest;
    private readonly double width;
    private readonly double samples;

    private TissueSignals(double[] counts, double lowest, double width, double? threshold, bool bonesAreTold)
    {
        BonesAreTold = bonesAreTold;
        this.counts = counts;
        this.lowest = lowest;
        this.width = width;
        samples = counts.Sum();
        Threshold = threshold;
    }

    /// <summary>ln(signal) above which a limb's tissue counts as free of bone; null where all of the tissue counts.</summary>
    public double? Threshold { get; }

    /// <summary>Whether the map tells bone from soft tissue.</summary>
    public bool BonesAreTold { get; }

    /// <summary>Collects the signals of a radiograph's soft tissue.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="signal">Linear signal of each pixel value.</param>
    /// <param name="limits">Pixel values at which signal is lost.</param>
    /// <returns>Null where too few places are left.</returns>
    public static TissueSignals? Collect(Radiograph radiograph, RadiographRegions regions, float[] signal, SignalLimits limits)
    {
        RegionMap map = regions.Map;
        double millimetreCells = (radiograph.ReceptorSpacing is { } spacing
            ? 1 / Math.Sqrt(spacing.PixelAreaMm2)
            : Math.Min(radiograph.Rows, radiograph.Columns) / 250.0) / map.Step;
        bool[] isTaken = Taken(map, (int)Math.Ceiling(MarginMm * millimetreCells));
        bool[] isRim = Grown(map, (int)Math.Ceiling(RimMm * millimetreCells), static label => label == RegionLabel.Direct);
        double direct = DirectSignal(regions, signal) ?? double.PositiveInfinity;
        var logarithms = new List<float>();
        var cores = new List<bool>();
        bool bonesAreTold = false;
        for (int row = 0; row < map.Labels.Rows; row++)
        {
            ReadOnlySpan<byte> labels = map.Labels.Row(row);
            ReadOnlySpan<ushort> pixels = radiograph.Pixels.Row(Math.Min((row * map.Step) + (map.Step / 2), radiograph.Rows - 1));
            for (int column = 0; column < labels.Length; column++)
            {
                bonesAreTold |= labels[column] == (byte)RegionLabel.Bone;
                if (!isTaken[(row * labels.Length) + column])
                {
                    continue;
                }

                int value = pixels[Math.Min((column * map.Step) + (map.Step / 2), pixels.Length - 1)];
                if (value > limits.Low && value < limits.High && signal[value] > 0 && signal[value] <= MostShareOfDirect * direct)
                {
                    logarithms.Add(MathF.Log(signal[value]));
                    cores.Add(!isRim[(row * labels.Length) + column] && signal[value] <= RimShareOfDirect * direct);
                }
            }
        }

        if (logarithms.Count < FewestSamples)
        {
            return null;
        }

        double lowest = double.PositiveInfinity;
        double highest = double.NegativeInfinity;
        foreach (float one in logarithms)
        {
            lowest = Math.Min(lowest, one);
            highest = Math.Max(highest, one);
        }

        double width = Math.Max((highest - lowest) / Bins, 1e-6);
        var counts = new double[Bins];
        var coreCounts = new double[Bins];
        for (int at = 0; at < logarithms.Count; at++)
        {
            int bin = Math.Min((int)((logarithms[at] - lowest) / width), Bins - 1);
            counts[bin]++;
            coreCounts[bin] += cores[at] ? 1 : 0;
        }

        double? threshold = !bonesAreTold && regions.DirectPixelValue is not null ? BestThreshold(coreCounts, lowest, width) : null;

        return new TissueSignals(counts, lowest, width, threshold, bonesAreTold);
    }

    /// <summary>The root of the mean squared relative noise over the tissue, as a share of the signal.</summary>
    /// <param name="relation">The noise's relation to the signal.</param>
    public double RelativeNoise(NoiseRelation relation) => RelativeNoiseAbove(relation, Threshold ?? double.NegativeInfinity);

    /// <summary>What the choice of tissue leaves open, as a share of the figure, one standard deviation.</summary>
    /// <param name="relation">The noise's relation to the signal.</param>
    public double ChoiceFraction(NoiseRelation relation)
    {
        double figure = RelativeNoise(relation);
        if (Threshold is { } threshold)
        {
            return Math.Abs(RelativeNoiseAbove(relation, threshold - ThresholdDeviation) - RelativeNoiseAbove(relation, threshold + ThresholdDeviation)) / 2 / figure;
        }

        // Of a whole trunk: how unlike its places are.
        return Math.Abs(figure - Math.Sqrt(relation.RelativeVarianceAt(Quantile(0.5)))) / 2 / figure;
    }

    /// <summary>The signal below which a share of the counted tissue lies.</summary>
    /// <param name="share">0 to 1.</param>
    public double Quantile(double share)
    {
        int first = FirstBin(Threshold ?? double.NegativeInfinity);
        double wanted = share * counts.Skip(first).Sum();
        double sum = 0;
        for (int bin = first; bin < Bins; bin++)
        {
            if (sum + counts[bin] >= wanted && counts[bin] > 0)
            {
                return Math.Exp(lowest + (width * (bin + ((wanted - sum) / counts[bin]))));
            }

            sum += counts[bin];
        }

        return Math.Exp(lowest + (width * Bins));
    }

    private double RelativeNoiseAbove(NoiseRelation relation, double threshold)
    {
        int first = FirstBin(threshold);
        double sum = 0;
        double count = 0;
        for (int bin = first; bin < Bins; bin++)
        {
            sum += counts[bin] * relation.RelativeVarianceAt(Math.Exp(lowest + (width * (bin + 0.5))));
            count += counts[bin];
        }

        return count > 0 ? Math.Sqrt(sum / count) : RelativeNoiseAbove(relation, double.NegativeInfinity);
    }

    private int FirstBin(double threshold) => double.IsNegativeInfinity(threshold) ? 0 : Math.Clamp((int)((threshold - lowest) / width), 0, Bins - 1);

    private static double? DirectSignal(RadiographRegions regions, float[] signal)
        => regions.DirectPixelValue is { } value && signal[Math.Clamp((int)Math.Round(value), 0, signal.Length - 1)] is > 0 and float direct ? direct : null;

    private static double? BestThreshold(double[] counts, double lowest, double width)
    {
        double all = 0;
        double moment = 0;
        for (int bin = 0; bin < counts.Length; bin++)
        {
            all += counts[bin];
            moment += counts[bin] * bin;
        }

        if (all < FewestSamples)
        {
            return null;
        }

        double below = 0;
        double belowMoment = 0;
        double best = -1;
        int at = 0;
        for (int bin = 0; bin < counts.Length; bin++)
        {
            below += counts[bin];
            belowMoment += counts[bin] * bin;
            double above = all - below;
            if (below > 0 && above > 0)
            {
                double apart = (belowMoment / below) - ((moment - belowMoment) / above);
                double between = below * above * apart * apart;
                if (between > best)
                {
                    best = between;
                    at = bin;
                }
            }
        }

        return lowest + (width * (at + 1));
    }

    /// <summary>Soft tissue cells that lie a margin from everything outside the field and a cell from direct exposure and dense things.</summary>
    private static bool[] Taken(RegionMap map, int marginCells)
    {
        int rows = map.Labels.Rows;
        int columns = map.Labels.Columns;
        bool[] nearOutside = Grown(map, marginCells, static label => label == RegionLabel.Outside);
        bool[] nearOthers = Grown(map, 1, static label => label is RegionLabel.Direct or RegionLabel.Dense);
        var taken = new bool[rows * columns];
        for (int row = 0; row < rows; row++)
        {
            ReadOnlySpan<byte> labels = map.Labels.Row(row);
            for (int column = 0; column < columns; column++)
            {
                int at = (row * columns) + column;
                taken[at] = labels[column] == (byte)RegionLabel.SoftTissue && !nearOutside[at] && !nearOthers[at];
            }
        }

        return taken;
    }

    private static bool[] Grown(RegionMap map, int reach, Func<RegionLabel, bool> isGrown)
    {
        int rows = map.Labels.Rows;
        int columns = map.Labels.Columns;
        var kinds = new bool[256];
        for (int label = 0; label < kinds.Length; label++)
        {
            kinds[label] = isGrown((RegionLabel)label);
        }

        var marked = new bool[rows * columns];
        for (int row = 0; row < rows; row++)
        {
            ReadOnlySpan<byte> labels = map.Labels.Row(row);
            for (int column = 0; column < columns; column++)
            {
                marked[(row * columns) + column] = kinds[labels[column]];
            }
        }

        return GrownCells.Of(marked, rows, columns, reach);
    }
}
