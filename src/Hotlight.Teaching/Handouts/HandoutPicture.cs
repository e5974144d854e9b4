using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Imaging;
using Hotlight.Imaging.Png;
using Hotlight.Measure.Document;
using Hotlight.Privacy.Publishing;

namespace Hotlight.Teaching.Handouts;

/// <summary>The radiograph of a handout as a file, without marks, and the part of the stored image it shows.</summary>
/// <param name="Png">A PNG file, 8 bits of grey.</param>
/// <param name="Width">Columns of the picture.</param>
/// <param name="Height">Rows of the picture.</param>
/// <param name="View">The part of the stored image.</param>
public sealed record HandoutPicture(byte[] Png, int Width, int Height, PixelBox View)
{
    /// <summary>Longest side on a page of the screen, in pixels.</summary>
    public const int ForScreenPixels = 1600;

    /// <summary>Longest side on paper, in pixels: 440 points of A4 at 300 dots an inch.</summary>
    public const int ForPrintPixels = 1840;

    /// <summary>The picture of a radiograph, shown with the window its figures were measured with.</summary>
    /// <param name="radiograph">The radiograph, places blacked out already; borrowed.</param>
    /// <param name="document">Its measurements.</param>
    /// <param name="view">The part that is shown.</param>
    /// <param name="longSidePixels">Longest side, in pixels; what is smaller stays as it is or is enlarged by a whole factor.</param>
    public static HandoutPicture Of(Radiograph radiograph, MeasurementDocument document, PixelBox view, int longSidePixels)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        Raster<ushort> pixels = new(view.Height, view.Width);
        for (int row = 0; row < view.Height; row++)
        {
            radiograph.Pixels.Row(view.Top + row).Slice(view.Left, view.Width).CopyTo(pixels.Row(row));
        }

        GreyPicture picture = NumberedMarks.Grey(radiograph with { Pixels = pixels }, document, longSidePixels);
        using MemoryStream file = new();
        PngWriter.Write(file, picture.Grey.AsReadOnly());
        return new HandoutPicture(file.ToArray(), picture.Grey.Columns, picture.Grey.Rows, view);
    }

    /// <summary>What lies over the picture as an SVG element: what was not exposed dimmed, the marks, their numbers.</summary>
    /// <param name="handout">The handout.</param>
    public static string Over(Handout handout)
    {
        ArgumentNullException.ThrowIfNull(handout);
        return NumberedMarks.Svg(Placed(handout.Marks, handout.View), handout.View.Width, handout.View.Height, Placed(handout.Field, handout.View));
    }

    /// <summary>Marks as they lie in the part that is shown.</summary>
    /// <param name="marks">Marks in pixels of the stored image.</param>
    public IReadOnlyList<NumberedMark> Placed(IReadOnlyList<NumberedMark> marks) => Placed(marks, View);

    private static NumberedMark[] Placed(IReadOnlyList<NumberedMark> marks, PixelBox view)
        => [.. marks.Select(mark => mark with { Marks = [.. mark.Marks.Select(each => each with { Points = Placed(each.Points, view) })] })];

    private static PixelPoint[] Placed(IReadOnlyList<PixelPoint> points, PixelBox view) => [.. points.Select(point => new PixelPoint(X: point.X - view.Left, Y: point.Y - view.Top))];
}
