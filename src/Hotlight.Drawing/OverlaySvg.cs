using System.Globalization;
using System.Net;
using System.Text;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Drawing;

/// <summary>The marks of a document as an SVG that lies exactly over the image: its view box is the stored image, edge to edge.</summary>
/// <remarks>Lines keep their width on the screen at any zoom (non-scaling strokes). Each group says what it stands for in its <c>class</c> (the kind in kebab case) and its title.</remarks>
public static class OverlaySvg
{
    /// <summary>Writes the overlay.</summary>
    /// <param name="document">The document.</param>
    /// <param name="columns">Columns of the stored image.</param>
    /// <param name="rows">Rows of the stored image.</param>
    /// <returns>One <c>svg</c> element, with no outside reference and no script.</returns>
    public static string Write(MeasurementDocument document, int columns, int rows)
    {
        ArgumentNullException.ThrowIfNull(document);
        var svg = new StringBuilder();
        svg.Append(CultureInfo.InvariantCulture, $"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-0.5 -0.5 {columns} {rows}\" preserveAspectRatio=\"none\" fill=\"none\" role=\"img\" aria-label=\"{WebUtility.HtmlEncode("Marks on " + document.File)}\">");
        double unit = Math.Max(columns, rows) / 1600.0;
        foreach (IGrouping<MarkKind, OverlayMark> group in OverlayMarks.From(document, columns, rows).GroupBy(mark => mark.Kind))
        {
            MarkStyle style = MarkStyles.Of(group.Key);
            string path = string.Join(' ', group.Select(mark => Path(mark, unit)));
            string solid = string.Join(' ', group.Select(mark => Ornament(mark, style, unit)).Where(text => text.Length > 0));
            svg.Append(CultureInfo.InvariantCulture, $"<g class=\"{KebabCase(group.Key)}\"><title>{style.Label}</title>");
            AppendStroke(svg, path, MarkStyles.CasingColor, style.WidthPixels + (2 * MarkStyles.CasingPixels), MarkStyles.CasingOpacity, style.CasingDashPixels, MarkStyles.CasingPixels);
            AppendStroke(svg, solid, MarkStyles.CasingColor, (1.5 * style.WidthPixels) + (2 * MarkStyles.CasingPixels), MarkStyles.CasingOpacity, []);
            AppendStroke(svg, path, style.Color, style.WidthPixels, 1, style.DashPixels);
            AppendStroke(svg, solid, style.Color, style.Shape == MarkShape.Corners ? 1.5 * style.WidthPixels : 0.8 * style.WidthPixels, 1, []);
            svg.Append("</g>");
        }

        return svg.Append("</svg>").ToString();
    }

    private static void AppendStroke(StringBuilder svg, string path, string color, double width, double opacity, IReadOnlyList<double> dash, double dashOffset = 0)
    {
        if (path.Length == 0)
        {
            return;
        }

        svg.Append(CultureInfo.InvariantCulture, $"<path d=\"{path}\" stroke=\"{color}\" stroke-width=\"{width:0.##}\" vector-effect=\"non-scaling-stroke\" stroke-linejoin=\"round\"");
        if (opacity < 1)
        {
            svg.Append(CultureInfo.InvariantCulture, $" stroke-opacity=\"{opacity:0.##}\"");
        }

        if (dash.Count > 0)
        {
            svg.Append(" stroke-dasharray=\"").AppendJoin(' ', dash.Select(length => length.ToString("0.##", CultureInfo.InvariantCulture))).Append('"');
            if (dashOffset != 0)
            {
                svg.Append(CultureInfo.InvariantCulture, $" stroke-dashoffset=\"{dashOffset:0.##}\"");
            }
        }

        svg.Append("/>");
    }

    private static string Path(OverlayMark mark, double unit)
        => Path(mark.Kind == MarkKind.MottlePlace ? MarkGeometry.AtLeast(mark.Points, MarkGeometry.LeastSquarePixels * unit) : mark.Points, mark.IsClosed);

    private static string Path(IReadOnlyList<PixelPoint> points, bool isClosed)
    {
        var path = new StringBuilder();
        for (int point = 0; point < points.Count; point++)
        {
            path.Append(CultureInfo.InvariantCulture, $"{(point == 0 ? 'M' : 'L')}{points[point].X:0.##} {points[point].Y:0.##}");
        }

        return isClosed ? path.Append('Z').ToString() : path.ToString();
    }

    private static string Ornament(OverlayMark mark, MarkStyle style, double unit)
        => string.Concat(MarkGeometry.Ornament(mark, style.Shape, unit).Select(line => Path(line, isClosed: false)));

    private static string KebabCase(MarkKind kind)
        => string.Concat(kind.ToString().Select((letter, place) => char.IsUpper(letter) && place > 0 ? "-" + char.ToLowerInvariant(letter) : char.ToLowerInvariant(letter).ToString()));
}
