using System.Globalization;
using System.Text;
using System.Xml.Linq;
using Hotlight.Core;
using SkiaSharp;

namespace Hotlight.Drawing.Charts;

/// <summary>A chart as a file: picture with title, definition, number and period; or the figures alone.</summary>
public static class ChartPicture
{
    /// <summary>The caution on every copy.</summary>
    public const string Caution = "For education and quality improvement; not a diagnostic device. Local protocols decide.";

    /// <summary>Width of a chart in its own units.</summary>
    public const int Width = 1000;

    private const int Margin = 24;
    private const int TitleSize = 20;
    private const int TextSize = 13;
    private const int LineHeight = 19;
    private static readonly XNamespace Svg2000 = "http://www.w3.org/2000/svg";

    /// <summary>Height of a chart's plot in its own units: room for each name where names stand at the left.</summary>
    /// <param name="chart">The chart.</param>
    public static int HeightOf(Chart chart)
    {
        ArgumentNullException.ThrowIfNull(chart);
        return chart is { IsSideways: true, Up.Names: { } names } ? 110 + (30 * Math.Max(3, names.Count)) : 380;
    }

    /// <summary>The chart as an SVG file.</summary>
    /// <param name="chart">The chart.</param>
    /// <param name="surround">What it is drawn for.</param>
    public static byte[] Svg(Chart chart, ChartSurround surround)
    {
        XDocument document = DrawSvg(Width, Sheet.HeightOf(chart), canvas => Sheet.Draw(canvas, chart, surround));
        document.Root!.AddFirst(new XElement(Svg2000 + "title", chart.Title), new XElement(Svg2000 + "desc", $"{chart.Definition} {chart.CountText}. {chart.Period}. {Caution}"));
        return Encoding.UTF8.GetBytes(document.ToString(SaveOptions.DisableFormatting));
    }

    /// <summary>The chart as a PNG file, two pixels a unit.</summary>
    /// <param name="chart">The chart.</param>
    /// <param name="surround">What it is drawn for.</param>
    public static byte[] Png(Chart chart, ChartSurround surround)
    {
        ArgumentNullException.ThrowIfNull(chart);
        const int Scale = 2;
        using SKBitmap bitmap = PictureSurface.Create(Scale * Width, Scale * Sheet.HeightOf(chart));
        using (var canvas = new SKCanvas(bitmap))
        {
            canvas.Scale(Scale);
            Sheet.Draw(canvas, chart, surround);
        }

        return PictureSurface.ToPng(bitmap);
    }

    /// <summary>The plot alone as a PDF page of vectors, for a report that has its own words.</summary>
    /// <param name="chart">The chart.</param>
    /// <param name="width">Width in its own units: fewer make the letters larger on paper.</param>
    /// <param name="height">Height in its own units.</param>
    public static byte[] PlotPdf(Chart chart, int width, int height)
    {
        ArgumentNullException.ThrowIfNull(chart);
        using var stream = new MemoryStream();
        using (var document = SKDocument.CreatePdf(stream))
        {
            SKCanvas canvas = document.BeginPage(width, height);
            lock (ChartPlot.OneAtATime)
            {
                new ChartPlot(chart, ChartColors.Of(ChartSurround.Paper)).Draw(canvas, width, height);
            }

            document.EndPage();
            document.Close();
        }

        return stream.ToArray();
    }

    /// <summary>The figures as a table of comma-separated values, after lines that say what they are.</summary>
    /// <param name="chart">The chart.</param>
    public static byte[] Csv(Chart chart)
    {
        ArgumentNullException.ThrowIfNull(chart);
        var text = new StringBuilder();
        foreach (string line in new[] { chart.Title, chart.Definition, chart.CountText, chart.Period, Caution })
        {
            text.Append("# ").AppendLine(line.ReplaceLineEndings(" "));
        }

        text.AppendLine(string.Join(',', chart.Table.Columns.Select(CsvCell.Of)));
        foreach (ChartTableRow row in chart.Table.Rows)
        {
            text.AppendLine(string.Join(',', row.Cells.Select(CsvCell.Of)));
        }

        return [.. Encoding.UTF8.Preamble, .. Encoding.UTF8.GetBytes(text.ToString())];
    }

    /// <summary>The chart as markup for a page: colours follow the page's theme, points with a link can be reached by keyboard and pointer and say their figures.</summary>
    /// <param name="chart">The chart.</param>
    /// <param name="id">Identifier that no other chart of the page has: letters, digits and hyphens.</param>
    /// <exception cref="ArgumentException">The identifier has other letters.</exception>
    public static string Inline(Chart chart, string id)
    {
        ArgumentNullException.ThrowIfNull(chart);
        if (id.Length == 0 || id.Any(letter => !char.IsAsciiLetterOrDigit(letter) && letter != '-'))
        {
            throw new ArgumentException($"'{id}' cannot be an identifier.", nameof(id));
        }

        int height = HeightOf(chart);
        XElement points = new(Svg2000 + "g");
        XDocument document = DrawSvg(Width, height, canvas =>
        {
            lock (ChartPlot.OneAtATime)
            {
                var plot = new ChartPlot(chart, ChartColors.Of(ChartSurround.Dark));
                plot.Draw(canvas, Width, height);
                points.Add(Reaches(chart, plot));
            }
        });
        XElement root = document.Root!;
        var picture = new XElement(Svg2000 + "g", new XAttribute("aria-hidden", "true"), root.Elements().ToArray());
        foreach (XElement element in picture.DescendantsAndSelf())
        {
            foreach (XAttribute attribute in element.Attributes())
            {
                if (ChartColors.Variables.TryGetValue(attribute.Value, out string? variable))
                {
                    attribute.Value = variable;
                }
                else if (attribute.Name == "id")
                {
                    attribute.Value = $"{id}-{attribute.Value}";
                }
                else if (attribute.Value.StartsWith("url(#", StringComparison.Ordinal))
                {
                    attribute.Value = $"url(#{id}-{attribute.Value[5..]}";
                }
            }
        }

        var inline = new XElement(
            Svg2000 + "svg",
            new XAttribute("viewBox", string.Create(CultureInfo.InvariantCulture, $"0 0 {Width} {height}")),
            new XAttribute("class", "chart"),
            new XAttribute("role", "group"),
            new XAttribute("aria-label", $"Chart: {chart.Title}"),
            picture,
            points);
        return inline.ToString(SaveOptions.DisableFormatting);
    }

    private static IEnumerable<XElement> Reaches(Chart chart, ChartPlot plot)
    {
        foreach (ChartSeries series in chart.Series)
        {
            foreach (ChartPoint point in series.Points.Where(point => point is { Value: not null, Link: not null }))
            {
                SKPoint at = chart.IsSideways ? plot.PlaceOf(point.Value!.Value, -point.Place) : plot.PlaceOf(point.Place, point.Value!.Value);
                XElement reach;
                if (series.Shape == ChartShape.Bars)
                {
                    SKPoint start = chart.IsSideways ? plot.PlaceOf(0, -point.Place - 0.4) : plot.PlaceOf(point.Place - 0.4, 0);
                    SKPoint end = chart.IsSideways ? plot.PlaceOf(point.Value.Value, -point.Place + 0.4) : plot.PlaceOf(point.Place + 0.4, point.Value.Value);
                    reach = new XElement(
                        Svg2000 + "rect",
                        Number("x", Math.Min(start.X, end.X)),
                        Number("y", Math.Min(start.Y, end.Y) - 6),
                        Number("width", Math.Max(24, Math.Abs(end.X - start.X))),
                        Number("height", Math.Max(24, Math.Abs(end.Y - start.Y) + 6)));
                }
                else
                {
                    reach = new XElement(Svg2000 + "circle", Number("cx", at.X), Number("cy", at.Y), Number("r", 12));
                }

                reach.Add(new XAttribute("class", "chart-reach"));
                yield return new XElement(
                    Svg2000 + "a",
                    new XAttribute("href", point.Link!),
                    new XAttribute("aria-label", point.Description),
                    new XElement(Svg2000 + "title", point.Description),
                    reach);
            }
        }
    }

    private static XAttribute Number(string name, double value) => new(name, value.ToString("0.##", CultureInfo.InvariantCulture));

    /// <summary>Draws to SVG with texts that keep their width in whatever font the reader has.</summary>
    private static XDocument DrawSvg(int width, int height, Action<SKCanvas> draw)
    {
        using var stream = new MemoryStream();
        using (SKCanvas canvas = SKSvgCanvas.Create(new SKRect(0, 0, width, height), stream))
        {
            draw(canvas);
        }

        stream.Position = 0;
        XDocument document = XDocument.Load(stream);
        XElement root = document.Root!;
        root.SetAttributeValue("viewBox", string.Create(CultureInfo.InvariantCulture, $"0 0 {width} {height}"));

        // The library numbers its clips on through the life of the program; a file should not depend on what was drawn before.
        Dictionary<string, string> clips = root.Descendants().Attributes("id").Select((id, index) => (id.Value, $"clip-{index}")).ToDictionary();
        foreach (XAttribute attribute in root.Descendants().Attributes().Where(attribute => attribute.Name == "id" || attribute.Name == "clip-path"))
        {
            attribute.Value = attribute.Name == "id" ? clips[attribute.Value] : $"url(#{clips[attribute.Value[5..^1]]})";
        }

        using var setting = new TextSetting();
        foreach (XElement text in root.Descendants(Svg2000 + "text").ToArray())
        {
            Settle(text, setting);
        }

        return document;
    }

    private static void Settle(XElement text, TextSetting setting)
    {
        string words = text.Value.Trim();
        double First(string name) => double.Parse(((string?)text.Attribute(name) ?? "0").Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries)[0], CultureInfo.InvariantCulture);
        double size = double.Parse((string?)text.Attribute("font-size") ?? "12", CultureInfo.InvariantCulture);
        bool bold = (string?)text.Attribute("font-weight") is not (null or "normal" or "400");
        double wide = setting.Width(words, bold ? TextWeight.SemiBold : TextWeight.Regular, size);
        text.SetAttributeValue("x", (First("x") + (wide / 2)).ToString("0.##", CultureInfo.InvariantCulture));
        text.SetAttributeValue("y", First("y").ToString("0.##", CultureInfo.InvariantCulture));
        text.SetAttributeValue("text-anchor", "middle");
        text.SetAttributeValue("font-family", "Inter, system-ui, \"DejaVu Sans\", Arial, sans-serif");
        if (words.Length > 2)
        {
            text.SetAttributeValue("textLength", wide.ToString("0.##", CultureInfo.InvariantCulture));
            text.SetAttributeValue("lengthAdjust", "spacingAndGlyphs");
        }

        text.Value = words;
    }

    /// <summary>A chart with its words above and below.</summary>
    private static class Sheet
    {
        public static int HeightOf(Chart chart)
        {
            using var setting = new TextSetting();
            return Top(setting, chart) + ChartPicture.HeightOf(chart) + Bottom(setting, chart) + Margin;
        }

        public static void Draw(SKCanvas canvas, Chart chart, ChartSurround surround)
        {
            ChartColors colors = ChartColors.Of(surround);
            using var setting = new TextSetting();
            using var paint = new SKPaint { IsAntialias = true };
            int plotHeight = ChartPicture.HeightOf(chart);
            int top = Top(setting, chart);
            paint.Color = ChartColors.Skia(colors.Ground);
            canvas.DrawRect(0, 0, Width, top + plotHeight + Bottom(setting, chart) + Margin, paint);
            float y = Margin + TitleSize;
            paint.Color = ChartColors.Skia(colors.Ink);
            foreach (string line in setting.Wrap(chart.Title, TextWeight.SemiBold, TitleSize, Width - (2 * Margin)))
            {
                canvas.DrawText(line, Margin, y, SKTextAlign.Left, setting.Font(TextWeight.SemiBold, TitleSize), paint);
                y += TitleSize + 6;
            }

            foreach (string line in setting.Wrap($"{chart.Period}. {chart.CountText}.", TextWeight.Regular, TextSize, Width - (2 * Margin)))
            {
                canvas.DrawText(line, Margin, y, SKTextAlign.Left, setting.Font(TextWeight.Regular, TextSize), paint);
                y += LineHeight;
            }

            canvas.Save();
            canvas.Translate(0, top);
            lock (ChartPlot.OneAtATime)
            {
                new ChartPlot(chart, colors).Draw(canvas, Width, plotHeight);
            }

            canvas.Restore();
            y = top + plotHeight + LineHeight;
            paint.Color = ChartColors.Skia(colors.Soft);
            foreach (string line in setting.Wrap($"{chart.Definition} {Caution}", TextWeight.Regular, TextSize, Width - (2 * Margin)))
            {
                canvas.DrawText(line, Margin, y, SKTextAlign.Left, setting.Font(TextWeight.Regular, TextSize), paint);
                y += LineHeight;
            }
        }

        private static int Top(TextSetting setting, Chart chart)
            => Margin + ((TitleSize + 6) * setting.Wrap(chart.Title, TextWeight.SemiBold, TitleSize, Width - (2 * Margin)).Count)
                + (LineHeight * setting.Wrap($"{chart.Period}. {chart.CountText}.", TextWeight.Regular, TextSize, Width - (2 * Margin)).Count) + 8;

        private static int Bottom(TextSetting setting, Chart chart)
            => LineHeight * (1 + setting.Wrap($"{chart.Definition} {Caution}", TextWeight.Regular, TextSize, Width - (2 * Margin)).Count);
    }
}
