using Hotlight.Core;

namespace Hotlight.Measure.Sharpness;

/// <summary>The values across an edge, along its normal, averaged along the edge.</summary>
internal sealed class EdgeProfile
{
    // Along the edge: a Gaussian weight, cut where it is small. A contour of 8 mm radius bends by 0.02 mm within one sigma.
    private const double AlongSigmaMm = 0.35;
    private const double AlongReachMm = 0.6;

    // Linear interpolation at random places keeps (1 − f)² + f², on the average two thirds, of white noise's variance in each direction.
    private const double KeptDeviation = 2 / 3.0;

    private readonly ReadOnlyRaster<ushort> pixels;
    private readonly ImageScale scale;
    private readonly int lowLimit;
    private readonly int highLimit;
    private readonly double[] along;
    private readonly double[] weights;
    private readonly double effectiveLines;
    private readonly float[] line;
    private readonly double[] acrossX;
    private readonly double[] acrossY;

    /// <summary>Room for profiles of one image.</summary>
    /// <param name="pixels">Pixel values; borrowed.</param>
    /// <param name="scale">Their scale.</param>
    /// <param name="reachMm">How far a profile goes to either side, in mm.</param>
    /// <param name="lowLimit">Pixel value at and below which signal is lost.</param>
    /// <param name="highLimit">Pixel value at and above which signal is lost.</param>
    internal EdgeProfile(ReadOnlyRaster<ushort> pixels, ImageScale scale, double reachMm, int lowLimit, int highLimit)
    {
        this.pixels = pixels;
        this.scale = scale;
        this.lowLimit = lowLimit;
        this.highLimit = highLimit;
        StepMm = scale.StepMm;
        Reach = Math.Max(4, (int)Math.Round(reachMm / StepMm));
        Values = new double[(2 * Reach) + 1];
        ErrorVariance = new double[(2 * Reach) + 1];
        int lines = Math.Max(1, (int)Math.Round(AlongReachMm / StepMm));
        along = new double[(2 * lines) + 1];
        weights = new double[(2 * lines) + 1];
        line = new float[(2 * lines) + 1];
        acrossX = new double[line.Length];
        acrossY = new double[line.Length];
        double sum = 0, squares = 0;
        for (int k = 0; k < along.Length; k++)
        {
            along[k] = (k - lines) * StepMm;
            weights[k] = Math.Exp(-0.5 * along[k] * along[k] / (AlongSigmaMm * AlongSigmaMm));
            sum += weights[k];
        }

        for (int k = 0; k < along.Length; k++)
        {
            weights[k] /= sum;
            squares += weights[k] * weights[k];
        }

        effectiveLines = 1 / squares;
    }

    /// <summary>Samples to either side of the middle one.</summary>
    internal int Reach { get; }

    /// <summary>Distance of neighbouring samples, in mm.</summary>
    internal double StepMm { get; }

    /// <summary>Variance that the sampling adds to an edge's blur, in squared steps: linear interpolation a share f of the way between two samples is a blur of variance f·(1 − f), a sixth of a squared pixel on the average.</summary>
    internal double AddedVarianceSteps { get; private set; }

    /// <summary>Mean values along the edge, from −Reach to +Reach steps, rising at the edge.</summary>
    internal double[] Values { get; }

    /// <summary>Variance of each mean, from the spread along the edge.</summary>
    internal double[] ErrorVariance { get; }

    /// <summary>Samples to either side that hold no clipped value and lie in the image.</summary>
    internal int WholeReach { get; private set; }

    /// <summary>The value at a place along the profile, in steps from its middle.</summary>
    internal double At(double steps)
    {
        double place = Math.Clamp(steps + Reach, 0, Values.Length - 1);
        int below = Math.Min((int)place, Values.Length - 2);
        return Values[below] + ((place - below) * (Values[below + 1] - Values[below]));
    }

    /// <summary>Noise of one pixel away from the edge, from the spread along it, as if it were white: the median of both sides.</summary>
    /// <param name="middle">Where the edge is, in steps.</param>
    internal double PixelNoise(double middle)
    {
        int away = Math.Max(2, Reach / 8);
        double[] variances = [.. ErrorVariance.Where((_, i) => Math.Abs(i - Reach - middle) >= away && Math.Abs(i - Reach - middle) <= Reach / 2.0).Order()];
        return variances.Length == 0 ? 0 : Math.Sqrt(variances[variances.Length / 2] * effectiveLines) / KeptDeviation;
    }

    /// <summary>Takes the profile of an edge.</summary>
    /// <param name="candidate">The edge's place and normal.</param>
    internal void Take(EdgeCandidate candidate)
    {
        float[] values = scale.Values;
        int rows = pixels.Rows, columns = pixels.Columns;
        ReadOnlySpan<ushort> samples = pixels.Samples;
        double perX = 1 / scale.ColumnSpacingMm, perY = 1 / scale.RowSpacingMm;
        WholeReach = Reach;
        double addedX = 0, addedY = 0;
        for (int k = 0; k < along.Length; k++)
        {
            acrossX[k] = along[k] * candidate.NormalY;
            acrossY[k] = along[k] * candidate.NormalX;
        }

        bool within = IsWithin(candidate, perX, perY);
        for (int n = -Reach; n <= Reach; n++)
        {
            double mean = 0;
            bool whole = true;
            double stepX = n * StepMm * candidate.NormalX, stepY = n * StepMm * candidate.NormalY;
            for (int k = 0; k < weights.Length; k++)
            {
                double x = candidate.X + ((stepX - acrossX[k]) * perX);
                double y = candidate.Y + ((stepY + acrossY[k]) * perY);
                int column, row;
                float fx, fy;
                if (within)
                {
                    column = (int)x;
                    row = (int)y;
                    fx = (float)(x - column);
                    fy = (float)(y - row);
                }
                else
                {
                    column = (int)Math.Floor(x);
                    row = (int)Math.Floor(y);
                    if ((uint)column >= (uint)(columns - 1) || (uint)row >= (uint)(rows - 1))
                    {
                        whole = false;
                        column = Math.Clamp(column, 0, columns - 2);
                        row = Math.Clamp(row, 0, rows - 2);
                    }

                    fx = (float)Math.Clamp(x - column, 0, 1);
                    fy = (float)Math.Clamp(y - row, 0, 1);
                }

                int at = (row * columns) + column;
                ushort a = samples[at], b = samples[at + 1], c = samples[at + columns], d = samples[at + columns + 1];
                whole &= Math.Min(Math.Min(a, b), Math.Min(c, d)) > lowLimit && Math.Max(Math.Max(a, b), Math.Max(c, d)) < highLimit;
                addedX += weights[k] * fx * (1 - fx);
                addedY += weights[k] * fy * (1 - fy);
                float top = values[a] + (fx * (values[b] - values[a]));
                float bottom = values[c] + (fx * (values[d] - values[c]));
                float value = top + (fy * (bottom - top));
                line[k] = value;
                mean += weights[k] * value;
            }

            double spread = 0;
            for (int k = 0; k < line.Length; k++)
            {
                spread += weights[k] * (line[k] - mean) * (line[k] - mean);
            }

            Values[n + Reach] = mean;
            ErrorVariance[n + Reach] = spread / Math.Max(1, effectiveLines - 1);
            if (!whole)
            {
                WholeReach = Math.Min(WholeReach, Math.Abs(n) - 1);
            }
        }

        double toStepX = candidate.NormalX * scale.ColumnSpacingMm / StepMm, toStepY = candidate.NormalY * scale.RowSpacingMm / StepMm;
        AddedVarianceSteps = ((addedX * toStepX * toStepX) + (addedY * toStepY * toStepY)) / Values.Length;
    }

    // Whether all of a profile lies in the image with a pixel to spare.
    private bool IsWithin(EdgeCandidate candidate, double perX, double perY)
    {
        double nx = Math.Abs(candidate.NormalX), ny = Math.Abs(candidate.NormalY), reach = Reach * StepMm, aside = along[^1];
        double farX = (((reach * nx) + (aside * ny)) * perX) + 1, farY = (((reach * ny) + (aside * nx)) * perY) + 1;
        return candidate.X - farX > 0 && candidate.Y - farY > 0 && candidate.X + farX < pixels.Columns - 1 && candidate.Y + farY < pixels.Rows - 1;
    }
}
