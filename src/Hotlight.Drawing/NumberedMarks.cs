using System.Globalization;
using System.Text;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Drawing;

/// <summary>Marks that belong to one number in a list beside the radiograph.</summary>
/// <param name="Number">The number, 1 or more.</param>
/// <param name="Marks">The marks, in pixels of the stored image.</param>
public sealed record NumberedMark(int Number, IReadOnlyList<OverlayMark> Marks);

/// <summary>Where a number stands.</summary>
/// <param name="Number">The number.</param>
/// <param name="At">Middle of its disc, in pixels of the stored image.</param>
public sealed record PlacedNumber(int Number, PixelPoint At);

/// <summary>One line as it is drawn, in pixels of the stored image: first all casings, then all colours.</summary>
/// <param name="Points">Its points.</param>
/// <param name="IsClosed">Whether the last is joined to the first.</param>
/// <param name="Color">Colour as #RRGGBB.</param>
/// <param name="Opacity">0 to 1.</param>
/// <param name="WidthPixels">Width, in stored pixels.</param>
/// <param name="DashPixels">Lengths drawn and left out in turn, in stored pixels; empty: unbroken.</param>
public sealed record MarkStroke(IReadOnlyList<PixelPoint> Points, bool IsClosed, string Color, double Opacity, double WidthPixels, IReadOnlyList<double> DashPixels);

/// <summary>The grey picture of a radiograph, for marks to be laid over.</summary>
/// <param name="Grey">0 black to 255 white, drawn rows × drawn columns.</param>
/// <param name="ScaleX">Drawn columns per stored column.</param>
/// <param name="ScaleY">Drawn rows per stored row.</param>
public sealed record GreyPicture(Raster<byte> Grey, double ScaleX, double ScaleY);

/// <summary>Numbered marks over a radiograph, as lines: for pages and print, sharp at any size.</summary>
/// <remarks>Styles are those of <see cref="MarkStyles"/>. A number stands in a light disc with a dark rim beside its mark, where it is furthest from the others.</remarks>
public static class NumberedMarks
{
    /// <summary>Radius of a number's disc, as a share of the longer side of the image.</summary>
    public const double DiscShare = 0.017;

    // Points tried along a mark for its number.
    private const int MostPlaces = 48;

    /// <summary>The radiograph as it is shown, with the window its figures were measured with.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="document">Its measurements.</param>
    /// <param name="longSidePixels">Longest side drawn, in pixels.</param>
    public static GreyPicture Grey(Radiograph radiograph, MeasurementDocument document, int longSidePixels)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(document);
        ShownImage shown = ShownImage.Render(radiograph, longSidePixels, mayBeLonger: false, ShownImage.WindowMeasured(document, radiograph));
        return new GreyPicture(shown.Grey, shown.Size.ScaleX, shown.Size.ScaleY);
    }

    /// <summary>Where the numbers stand: on their marks, inside the image, as far from each other as can be.</summary>
    /// <param name="marks">The marks.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    public static IReadOnlyList<PlacedNumber> Place(IReadOnlyList<NumberedMark> marks, int columns, int rows)
    {
        ArgumentNullException.ThrowIfNull(marks);
        double radius = DiscShare * Math.Max(columns, rows);
        List<PlacedNumber> placed = [];

        // Small marks have least choice, so they choose first.
        foreach (NumberedMark mark in marks.Where(mark => mark.Marks.Any(each => each.Points.Count > 0)).OrderBy(mark => Extent(mark)))
        {
            PixelPoint best = default;
            double bestRoom = double.NegativeInfinity;
            foreach (PixelPoint point in Candidates(mark, radius))
            {
                var inside = new PixelPoint(X: Math.Clamp(point.X, 1.3 * radius, columns - (1.3 * radius)), Y: Math.Clamp(point.Y, 1.3 * radius, rows - (1.3 * radius)));
                double room = placed.Count == 0 ? 6 * radius : placed.Min(other => other.At.DistancePixelsTo(inside));

                // Beyond six radii more room is worth nothing; then the place nearest to the upper left is taken, as lists are read.
                double worth = Math.Min(room, 6 * radius) - (0.001 * ((2 * inside.Y) + inside.X)) - (2 * inside.DistancePixelsTo(point));
                if (worth > bestRoom)
                {
                    bestRoom = worth;
                    best = inside;
                }
            }

            placed.Add(new PlacedNumber(mark.Number, best));
        }

        return [.. placed.OrderBy(number => number.Number)];
    }

    /// <summary>The lines of the marks.</summary>
    /// <param name="marks">The marks.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    public static IReadOnlyList<MarkStroke> Strokes(IReadOnlyList<NumberedMark> marks, int columns, int rows)
    {
        ArgumentNullException.ThrowIfNull(marks);
        double unit = Math.Max(columns, rows) / 1600.0;
        List<MarkStroke> casings = [];
        List<MarkStroke> colors = [];
        foreach (OverlayMark mark in marks.SelectMany(mark => mark.Marks).Where(mark => mark.Points.Count > 1))
        {
            MarkStyle style = MarkStyles.Of(mark.Kind);
            IReadOnlyList<PixelPoint> points = mark.Kind == MarkKind.MottlePlace ? MarkGeometry.AtLeast(mark.Points, MarkGeometry.LeastSquarePixels * unit) : mark.Points;
            casings.Add(new MarkStroke(points, mark.IsClosed, MarkStyles.CasingColor, MarkStyles.CasingOpacity, (style.WidthPixels + (2 * MarkStyles.CasingPixels)) * unit, []));
            colors.Add(new MarkStroke(points, mark.IsClosed, style.Color, 1, style.WidthPixels * unit, [.. style.DashPixels.Select(length => length * unit)]));
            foreach (IReadOnlyList<PixelPoint> line in MarkGeometry.Ornament(mark, style.Shape, unit))
            {
                double width = style.WidthPixels * (style.Shape == MarkShape.Corners ? 1.5 : 0.8);
                casings.Add(new MarkStroke(line, false, MarkStyles.CasingColor, MarkStyles.CasingOpacity, (width + (2 * MarkStyles.CasingPixels)) * unit, []));
                colors.Add(new MarkStroke(line, false, style.Color, 1, width * unit, []));
            }
        }

        // An unbroken casing under a dashed line would join its dashes: it is left out.
        return [.. casings.Where(casing => !colors.Exists(color => ReferenceEquals(color.Points, casing.Points) && color.DashPixels.Count > 0)), .. colors];
    }

    /// <summary>The marks with their numbers as an SVG element that lies over the image: its view box is the stored image, edge to edge. No script, no outside reference.</summary>
    /// <param name="marks">The marks.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    /// <param name="field">Outline of the exposed field, in pixels of the stored image: what lies outside is dimmed by a path of the class <c>shade</c>; null: nothing is.</param>
    /// <remarks>It is hidden from a screen reader: the image below it carries the description.</remarks>
    public static string Svg(IReadOnlyList<NumberedMark> marks, int columns, int rows, IReadOnlyList<PixelPoint>? field = null)
    {
        ArgumentNullException.ThrowIfNull(marks);
        var svg = new StringBuilder();
        svg.Append(CultureInfo.InvariantCulture, $"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-0.5 -0.5 {columns} {rows}\" preserveAspectRatio=\"none\" fill=\"none\" aria-hidden=\"true\">");
        if (field is { Count: > 2 })
        {
            // What was not exposed glares without telling anything: dimmed, not hidden.
            svg.Append(CultureInfo.InvariantCulture, $"<path class=\"shade\" fill=\"{MarkStyles.CasingColor}\" fill-opacity=\"0.8\" fill-rule=\"evenodd\" d=\"M-0.5 -0.5H{columns - 0.5}V{rows - 0.5}H-0.5Z");
            for (int point = 0; point < field.Count; point++)
            {
                svg.Append(CultureInfo.InvariantCulture, $"{(point == 0 ? 'M' : 'L')}{field[point].X:0.#} {field[point].Y:0.#}");
            }

            svg.Append("Z\"/>");
        }

        foreach (MarkStroke stroke in Strokes(marks, columns, rows))
        {
            var path = new StringBuilder();
            for (int point = 0; point < stroke.Points.Count; point++)
            {
                path.Append(CultureInfo.InvariantCulture, $"{(point == 0 ? 'M' : 'L')}{stroke.Points[point].X:0.#} {stroke.Points[point].Y:0.#}");
            }

            svg.Append(CultureInfo.InvariantCulture, $"<path d=\"{path}{(stroke.IsClosed ? "Z" : string.Empty)}\" stroke=\"{stroke.Color}\" stroke-width=\"{stroke.WidthPixels:0.##}\" stroke-linejoin=\"round\"");
            if (stroke.Opacity < 1)
            {
                svg.Append(CultureInfo.InvariantCulture, $" stroke-opacity=\"{stroke.Opacity:0.##}\"");
            }

            if (stroke.DashPixels.Count > 0)
            {
                svg.Append(" stroke-dasharray=\"").AppendJoin(' ', stroke.DashPixels.Select(length => length.ToString("0.##", CultureInfo.InvariantCulture))).Append('"');
            }

            svg.Append("/>");
        }

        double radius = DiscShare * Math.Max(columns, rows);
        foreach (PlacedNumber number in Place(marks, columns, rows))
        {
            svg.Append(CultureInfo.InvariantCulture, $"<circle cx=\"{number.At.X:0.#}\" cy=\"{number.At.Y:0.#}\" r=\"{radius:0.#}\" fill=\"#FFFFFF\" stroke=\"{MarkStyles.CasingColor}\" stroke-width=\"{radius / 6:0.##}\"/>");
            svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{number.At.X:0.#}\" y=\"{number.At.Y + (0.42 * radius):0.#}\" font-size=\"{1.25 * radius:0.#}\" font-family=\"sans-serif\" font-weight=\"700\" text-anchor=\"middle\" fill=\"{MarkStyles.CasingColor}\">{number.Number}</text>");
        }

        return svg.Append("</svg>").ToString();
    }

    private static double Extent(NumberedMark mark)
    {
        PixelPoint[] points = [.. mark.Marks.SelectMany(each => each.Points)];
        return points.Max(point => point.X) - points.Min(point => point.X) + points.Max(point => point.Y) - points.Min(point => point.Y);
    }

    // Points along the marks; beside a mark that is hardly larger than the disc, so that the disc does not hide it.
    private static IEnumerable<PixelPoint> Candidates(NumberedMark mark, double radius)
    {
        foreach (OverlayMark each in mark.Marks.Where(each => each.Points.Count > 0))
        {
            double left = each.Points.Min(point => point.X);
            double right = each.Points.Max(point => point.X);
            double top = each.Points.Min(point => point.Y);
            double bottom = each.Points.Max(point => point.Y);
            if (right - left < 5 * radius && bottom - top < 5 * radius)
            {
                double middleX = (left + right) / 2;
                double middleY = (top + bottom) / 2;
                yield return new PixelPoint(X: left - (1.4 * radius), Y: middleY);
                yield return new PixelPoint(X: right + (1.4 * radius), Y: middleY);
                yield return new PixelPoint(X: middleX, Y: top - (1.4 * radius));
                yield return new PixelPoint(X: middleX, Y: bottom + (1.4 * radius));
                continue;
            }

            // Along the line, at its corners and between them.
            int count = each.Points.Count;
            int pieces = each.IsClosed ? count : count - 1;
            double step = Math.Max(1, pieces / (double)MostPlaces);
            for (double at = 0; at < pieces; at += step)
            {
                PixelPoint from = each.Points[(int)at];
                PixelPoint to = each.Points[((int)at + 1) % count];
                int parts = pieces <= 8 ? 8 : 1;
                for (int part = 0; part < parts; part++)
                {
                    double share = (part + 0.5) / parts;
                    yield return new PixelPoint(X: from.X + (share * (to.X - from.X)), Y: from.Y + (share * (to.Y - from.Y)));
                }
            }
        }
    }
}
