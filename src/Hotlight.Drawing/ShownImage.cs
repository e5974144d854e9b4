using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Measure.Document;

namespace Hotlight.Drawing;

/// <summary>A radiograph at the size it is drawn in: grey values, 0 black to 255 white, and the way from stored pixels to drawn ones.</summary>
/// <remarks>At the stored size the grey values are the display's own, untouched. Smaller: each drawn pixel is the mean of the stored area under it. Larger: whole factors, linear between pixel centres.</remarks>
internal sealed class ShownImage
{
    private ShownImage(Raster<byte> grey, DrawnSize size)
    {
        Grey = grey;
        Size = size;
    }

    /// <summary>Grey values, drawn rows × drawn columns.</summary>
    public Raster<byte> Grey { get; }

    /// <summary>How large it is drawn.</summary>
    public DrawnSize Size { get; }

    /// <summary>Renders a radiograph as it asks to be shown, and brings it to its drawn size.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="longSidePixels">Longest side drawn, in pixels.</param>
    /// <param name="mayBeLonger">Whether a very long, thin image may pass the longest side.</param>
    /// <param name="window">The window to show it with; null for its own.</param>
    public static ShownImage Render(Radiograph radiograph, int longSidePixels, bool mayBeLonger, VoiTransform? window)
    {
        DrawnSize size = DrawnSize.Of(radiograph.Columns, radiograph.Rows, radiograph.ReceptorSpacing, longSidePixels, longSidePixels / 2, mayBeLonger);
        Raster<byte> grey = DisplayTable.Render(radiograph, window);
        return new ShownImage(
            size.Columns == grey.Columns && size.Rows == grey.Rows ? grey : Resample(grey, size.Rows, size.Columns),
            size);
    }

    /// <summary>The window that a document's display figures were measured with, so that the picture shows what the legend says; null: the radiograph's own is used.</summary>
    public static VoiTransform? WindowMeasured(MeasurementDocument document, Radiograph radiograph)
        => document.Display.Value switch
        {
            { WindowBasis: "anatomy", WindowWidth: > 0 } display => new VoiTransform { Center = display.WindowCenter, Width = display.WindowWidth, Function = WindowFunction.LinearExact },

            // The document rounds to 0.001; the file may propose several windows, and not the first but the first that shows the anatomy was measured.
            { WindowBasis: "file" } display => radiograph.Windows.FirstOrDefault(window => window.Table is null && Math.Abs(window.Center - display.WindowCenter) < 0.001 && Math.Abs(window.Width - display.WindowWidth) < 0.001),
            _ => null,
        };

    /// <summary>Brings grey values to another size.</summary>
    /// <param name="grey">Grey values, rows × columns; borrowed.</param>
    /// <param name="rows">Rows wanted.</param>
    /// <param name="columns">Columns wanted.</param>
    internal static Raster<byte> Resample(Raster<byte> grey, int rows, int columns)
    {
        Span[] across = Spans(grey.Columns, columns);
        Span[] down = Spans(grey.Rows, rows);
        var drawn = new Raster<byte>(rows, columns);
        const int BandRows = 32;
        Parallel.For(0, (rows + BandRows - 1) / BandRows, band =>
        {
            float[] sums = new float[columns];
            float[] line = new float[columns];
            int lineRow = -1;
            for (int row = band * BandRows; row < Math.Min(rows, (band + 1) * BandRows); row++)
            {
                Array.Clear(sums);
                for (int tap = 0; tap < down[row].Weights.Length; tap++)
                {
                    int sourceRow = down[row].First + tap;
                    if (sourceRow != lineRow)
                    {
                        // Neighbouring drawn rows share at most their border row, so one kept line is enough when shrinking.
                        Across(grey.Row(sourceRow), across, line);
                        lineRow = sourceRow;
                    }

                    float weight = down[row].Weights[tap];
                    for (int column = 0; column < sums.Length; column++)
                    {
                        sums[column] += weight * line[column];
                    }
                }

                Span<byte> target = drawn.Row(row);
                for (int column = 0; column < target.Length; column++)
                {
                    target[column] = (byte)Math.Clamp(sums[column] + 0.5f, 0, 255);
                }
            }
        });
        return drawn;
    }

    private static void Across(ReadOnlySpan<byte> source, Span[] spans, float[] line)
    {
        for (int column = 0; column < line.Length; column++)
        {
            float sum = 0;
            float[] weights = spans[column].Weights;
            int first = spans[column].First;
            for (int tap = 0; tap < weights.Length; tap++)
            {
                sum += weights[tap] * source[first + tap];
            }

            line[column] = sum;
        }
    }

    private static Span[] Spans(int from, int to)
    {
        var spans = new Span[to];
        double ratio = (double)from / to;
        for (int place = 0; place < to; place++)
        {
            spans[place] = ratio >= 1 ? Area(place * ratio, (place + 1) * ratio, from) : Linear(((place + 0.5) * ratio) - 0.5, from);
        }

        return spans;
    }

    private static Span Area(double start, double end, int count)
    {
        int first = Math.Min((int)start, count - 1);
        int last = Math.Clamp((int)Math.Ceiling(end - 1e-9) - 1, first, count - 1);
        float[] weights = new float[last - first + 1];
        for (int tap = 0; tap < weights.Length; tap++)
        {
            weights[tap] = (float)((Math.Min(end, first + tap + 1) - Math.Max(start, first + tap)) / (end - start));
        }

        return new Span(first, weights);
    }

    private static Span Linear(double center, int count)
    {
        double held = Math.Clamp(center, 0, count - 1);
        int first = Math.Min((int)held, Math.Max(0, count - 2));
        float share = (float)(held - first);
        return count == 1 ? new Span(0, [1]) : new Span(first, [1 - share, share]);
    }

    private readonly record struct Span(int First, float[] Weights);
}

/// <summary>How large a radiograph is drawn. Pixels that are not square are drawn with their true proportions.</summary>
/// <param name="Columns">Columns drawn.</param>
/// <param name="Rows">Rows drawn.</param>
/// <param name="ScaleX">Drawn columns per stored column.</param>
/// <param name="ScaleY">Drawn rows per stored row.</param>
internal sealed record DrawnSize(int Columns, int Rows, double ScaleX, double ScaleY)
{
    /// <summary>A very long, thin image may be drawn up to this much longer, so that its short side can be seen.</summary>
    private const double ElongatedFactor = 1.5;

    /// <summary>The short side of a very long, thin image is kept at this share of the long side wanted where that is possible.</summary>
    private const double LeastShortShare = 0.15;

    /// <summary>The size for an image.</summary>
    /// <param name="columns">Columns stored.</param>
    /// <param name="rows">Rows stored.</param>
    /// <param name="spacing">Spacing of pixels; null: square.</param>
    /// <param name="longSidePixels">Longest side drawn, in pixels.</param>
    /// <param name="leastSidePixels">A smaller image is enlarged by the least whole factor that reaches this long side.</param>
    /// <param name="mayBeLonger">Whether a very long, thin image may pass the longest side, so that its short side can be seen.</param>
    public static DrawnSize Of(int columns, int rows, PixelSpacing? spacing, int longSidePixels, int leastSidePixels, bool mayBeLonger = true)
    {
        double stretchY = spacing is { } known ? known.RowSpacingMm / known.ColumnSpacingMm : 1;
        double stretchX = 1;
        if (stretchY < 1)
        {
            // The finer direction keeps its pixels; the coarser one is drawn longer.
            stretchX = 1 / stretchY;
            stretchY = 1;
        }

        double width = columns * stretchX;
        double height = rows * stretchY;
        double longSide = Math.Max(width, height);
        double shortSide = Math.Min(width, height);
        double scale = Math.Min(1, longSidePixels / longSide);
        if (longSide < leastSidePixels)
        {
            scale = Math.Min(Math.Ceiling(leastSidePixels / longSide), Math.Max(1, Math.Floor(longSidePixels / longSide)));
        }

        if (mayBeLonger && shortSide * scale < LeastShortShare * longSidePixels)
        {
            double wanted = Math.Min(LeastShortShare * longSidePixels / shortSide, ElongatedFactor * longSidePixels / longSide);
            scale = wanted >= 1 ? Math.Max(scale, Math.Floor(wanted)) : Math.Max(scale, wanted);
        }

        int drawnColumns = Math.Max(1, (int)Math.Round(width * scale));
        int drawnRows = Math.Max(1, (int)Math.Round(height * scale));
        return new DrawnSize(drawnColumns, drawnRows, (double)drawnColumns / columns, (double)drawnRows / rows);
    }
}
