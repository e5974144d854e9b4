using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;

namespace Hotlight.Poses.Proposal;

/// <summary>A radiograph as the network sees it: as it is shown, bone bright, made small by area means into the middle of a square, mean 0 and standard deviation 1 over the picture, 0 beside it.</summary>
internal sealed class ProposalPicture
{
    private readonly double left;
    private readonly double top;
    private readonly double columnsASample;
    private readonly double rowsASample;

    private ProposalPicture(float[] samples, double left, double top, double columnsASample, double rowsASample)
    {
        Samples = samples;
        this.left = left;
        this.top = top;
        this.columnsASample = columnsASample;
        this.rowsASample = rowsASample;
    }

    /// <summary>The square, row-major.</summary>
    public float[] Samples { get; }

    /// <summary>Pixels in one sample, the mean of both directions.</summary>
    public double PixelsASample => Math.Sqrt(columnsASample * rowsASample);

    /// <summary>Makes a radiograph small; null where it shows one value only.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    public static ProposalPicture? Of(Radiograph radiograph)
    {
        const int Side = ProposalNetwork.Side;
        Raster<byte> grey = DisplayTable.Render(radiograph);

        // Oblong pixels are seen as they are, where their shape is known.
        double high = radiograph.ReceptorSpacing?.RowSpacingMm ?? 1;
        double wide = radiograph.ReceptorSpacing?.ColumnSpacingMm ?? 1;
        double scale = Side / Math.Max(grey.Rows * high, grey.Columns * wide);
        int rows = Math.Clamp((int)Math.Round(grey.Rows * high * scale), 1, Side);
        int columns = Math.Clamp((int)Math.Round(grey.Columns * wide * scale), 1, Side);
        int top = (Side - rows) / 2;
        int left = (Side - columns) / 2;
        double rowStep = (double)grey.Rows / rows;
        double columnStep = (double)grey.Columns / columns;

        // Across first, then down: area means are the product of both.
        float[,] across = new float[grey.Rows, columns];
        Parallel.For(0, grey.Rows, row =>
        {
            ReadOnlySpan<byte> from = grey.Row(row);
            for (int column = 0; column < columns; column++)
            {
                across[row, column] = (float)Mean(from, column * columnStep, (column + 1) * columnStep);
            }
        });
        float[] samples = new float[Side * Side];
        double sum = 0;
        double squares = 0;
        for (int row = 0; row < rows; row++)
        {
            double from = row * rowStep;
            double until = Math.Min(grey.Rows, (row + 1) * rowStep);
            for (int column = 0; column < columns; column++)
            {
                double total = 0;
                for (int at = (int)from; at < until; at++)
                {
                    total += across[at, column] * (Math.Min(at + 1, until) - Math.Max(at, from));
                }

                double mean = total / (until - from);
                samples[((top + row) * Side) + left + column] = (float)mean;
                sum += mean;
                squares += mean * mean;
            }
        }

        double count = (double)rows * columns;
        double middle = sum / count;
        double spread = Math.Sqrt(Math.Max(0, (squares / count) - (middle * middle)));
        if (spread < 0.5)
        {
            return null;
        }

        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                ref float sample = ref samples[((top + row) * Side) + left + column];
                sample = (float)((sample - middle) / spread);
            }
        }

        return new ProposalPicture(samples, left, top, columnStep, rowStep);
    }

    /// <summary>The place on the radiograph, in pixels.</summary>
    /// <param name="x">Column of the square, the centre of the first sample at 0.</param>
    /// <param name="y">Row of the square.</param>
    public PixelPoint ToRadiograph(double x, double y)
        => new(X: ((x + 0.5 - left) * columnsASample) - 0.5, Y: ((y + 0.5 - top) * rowsASample) - 0.5);

    private static double Mean(ReadOnlySpan<byte> values, double from, double until)
    {
        until = Math.Min(until, values.Length);
        double sum = 0;
        for (int at = (int)from; at < until; at++)
        {
            sum += values[at] * (Math.Min(at + 1, until) - Math.Max(at, from));
        }

        return sum / (until - from);
    }
}
