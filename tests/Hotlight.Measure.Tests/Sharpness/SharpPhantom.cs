using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Sharpness;
using Hotlight.Measure.Tests.Document;
using Hotlight.Measure.Tests.Mottle;

namespace Hotlight.Measure.Tests.Sharpness;

/// <summary>Discs of known blur on a slope: contours in every direction, drawn in closed form. It shares no formula with the measure.</summary>
internal sealed record SharpPhantom
{
    public const double SpacingMm = 0.15;

    public int Side { get; init; } = 720;

    /// <summary>Round Gaussian blur, in mm.</summary>
    public double SigmaMm { get; init; } = 0.2;

    /// <summary>Way of a steady motion, in mm.</summary>
    public double MotionMm { get; init; }

    /// <summary>Whether the part jumps from one end of the way to the other instead of moving steadily.</summary>
    public bool Jumps { get; init; }

    public double MotionDegrees { get; init; }

    /// <summary>Deviation of noise, as a share of the local signal.</summary>
    public double NoiseShare { get; init; } = 0.004;

    /// <summary>Transmission of a disc.</summary>
    public double Transmission { get; init; } = 0.8;

    /// <summary>Factor on the whole exposure.</summary>
    public double Dose { get; init; } = 1;

    /// <summary>Share and sigma in mm of an unsharp mask; 0 for none.</summary>
    public (double Share, double SigmaMm) Enhancement { get; init; }

    /// <summary>Straight stripes down the columns instead of discs.</summary>
    public bool Stripes { get; init; }

    public int Seed { get; init; } = 7;

    public Radiograph Draw()
    {
        var random = new NoiseField(Seed);
        int places = MotionMm <= 0 ? 1 : Jumps ? 2 : (int)Math.Ceiling(MotionMm / 0.05);
        (double sine, double cosine) = Math.SinCos(MotionDegrees * Math.PI / 180);
        var shares = new double[Side, Side];
        for (int row = 0; row < Side; row++)
        {
            for (int column = 0; column < Side; column++)
            {
                double sum = 0;
                for (int k = 0; k < places; k++)
                {
                    // The middle of each part of the way; for a jump its two ends.
                    double way = MotionMm <= 0 ? 0 : (Jumps ? k - 0.5 : ((k + 0.5) / places) - 0.5) * MotionMm;
                    sum += Inside((column * SpacingMm) - (way * cosine), (row * SpacingMm) - (way * sine));
                }

                shares[row, column] = sum / places;
            }
        }

        double[,] enhanced = Enhancement.Share > 0 ? Enhanced(shares) : shares;
        return HandDrawn.Radiograph(Side, Side, 16, (row, column) =>
        {
            // A slope over a factor of four, as of a part that grows thicker.
            double background = 8000 * Dose * Math.Pow(4, (double)column / Side);
            double signal = background * Math.Pow(Transmission, enhanced[row, column]);
            return signal * (1 + (NoiseShare * random.Gaussian()));
        }) with { ReceptorSpacing = new PixelSpacing(SpacingMm, SpacingMm) };
    }

    public Figure<SharpnessMeasurement> Measure()
    {
        Radiograph radiograph = Draw();
        return SharpnessMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions());
    }

    /// <summary>Share of the disc's thickness at a place: 1 inside, 0 outside, the Gaussian's edge-spread function between. Exact for a straight edge; for a disc of radius R the half height moves by σ²/2R, 0.002 mm here.</summary>
    private double Inside(double x, double y)
    {
        const double Pitch = 18, Radius = 6;
        double offsetX = x - (Math.Floor(x / Pitch) * Pitch) - (Pitch / 2);
        double offsetY = y - (Math.Floor(y / Pitch) * Pitch) - (Pitch / 2);
        double depth = Radius - (Stripes ? Math.Abs(offsetX) : Math.Sqrt((offsetX * offsetX) + (offsetY * offsetY)));
        return NormalShare(depth / SigmaMm);
    }

    /// <summary>The normal distribution function by Abramowitz and Stegun 7.1.26 (from memory), |error| below 1.5e-7.</summary>
    public static double NormalShare(double z)
    {
        double x = Math.Abs(z) / Math.Sqrt(2), t = 1 / (1 + (0.3275911 * x));
        double tail = t * (0.254829592 + (t * (-0.284496736 + (t * (1.421413741 + (t * (-1.453152027 + (t * 1.061405429)))))))) * Math.Exp(-x * x);
        return z >= 0 ? 1 - (tail / 2) : tail / 2;
    }

    private double[,] Enhanced(double[,] shares)
    {
        double sigma = Enhancement.SigmaMm / SpacingMm;
        int reach = (int)Math.Ceiling(4 * sigma);
        double[] kernel = [.. Enumerable.Range(-reach, (2 * reach) + 1).Select(n => Math.Exp(-0.5 * n * n / (sigma * sigma)))];
        double total = kernel.Sum();
        var across = new double[Side, Side];
        var result = new double[Side, Side];
        for (int row = 0; row < Side; row++)
        {
            for (int column = 0; column < Side; column++)
            {
                for (int k = -reach; k <= reach; k++)
                {
                    across[row, column] += kernel[k + reach] / total * shares[row, Math.Clamp(column + k, 0, Side - 1)];
                }
            }
        }

        for (int row = 0; row < Side; row++)
        {
            for (int column = 0; column < Side; column++)
            {
                double smooth = 0;
                for (int k = -reach; k <= reach; k++)
                {
                    smooth += kernel[k + reach] / total * across[Math.Clamp(row + k, 0, Side - 1), column];
                }

                result[row, column] = shares[row, column] + (Enhancement.Share * (shares[row, column] - smooth));
            }
        }

        return result;
    }

    /// <summary>The same image after a change of place of its pixels.</summary>
    public static Figure<SharpnessMeasurement> MeasureMoved(Radiograph radiograph, Func<int, int, (int Row, int Column)> from)
    {
        var pixels = new Raster<ushort>(radiograph.Rows, radiograph.Columns);
        for (int row = 0; row < radiograph.Rows; row++)
        {
            for (int column = 0; column < radiograph.Columns; column++)
            {
                (int fromRow, int fromColumn) = from(row, column);
                pixels[row, column] = radiograph.Pixels[fromRow, fromColumn];
            }
        }

        Radiograph moved = radiograph with { Pixels = pixels };
        return SharpnessMeasure.Measure(moved, HandDrawn.AllSoftTissue(moved), new MeasureOptions());
    }
}
