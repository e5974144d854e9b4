using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>Which colour a text has.</summary>
internal enum TextTone
{
    /// <summary>On the sheet.</summary>
    Text,

    /// <summary>On the sheet, less important.</summary>
    Quiet,

    /// <summary>On the frame around the radiograph.</summary>
    Frame,
}

/// <summary>A line of text in its place.</summary>
/// <param name="Text">The text.</param>
/// <param name="Baseline">Left end of its baseline, before turning.</param>
/// <param name="SizePixels">Size of its font.</param>
/// <param name="Weight">Weight of its font.</param>
/// <param name="Tone">Its colour.</param>
/// <param name="Quarter">Quarter turns clockwise about the baseline's left end: 0, or −1 for text that reads upwards, or 1 for downwards.</param>
/// <param name="Bounds">The room it takes on the sheet, from ascent to descent.</param>
internal sealed record PlacedText(string Text, SKPoint Baseline, double SizePixels, TextWeight Weight, TextTone Tone, int Quarter, SKRect Bounds);

/// <summary>A sample of a mark in a legend.</summary>
internal sealed record PlacedKey(MarkKind Kind, SKRect Bounds);

/// <summary>A thin line from a side's label to the side.</summary>
internal sealed record PlacedLeader(SKPoint From, SKPoint To);

/// <summary>The scale bar.</summary>
internal sealed record PlacedScaleBar(SKPoint From, SKPoint To, double LengthMm);

/// <summary>Where everything of a picture goes; made before anything is drawn, so that it can be checked.</summary>
internal sealed class PictureLayout
{
    private const double LineHeight = 1.36;
    private readonly List<PlacedText> texts = [];
    private readonly List<PlacedKey> keys = [];
    private readonly List<PlacedLeader> leaders = [];
    private readonly List<SKRect> rules = [];
    private readonly TextSetting setting;

    private PictureLayout(TextSetting setting, double unit)
    {
        this.setting = setting;
        Unit = unit;
    }

    /// <summary>Pixels of the sheet per style pixel.</summary>
    public double Unit { get; }

    /// <summary>Width of the sheet, in pixels.</summary>
    public int Width { get; private set; }

    /// <summary>Height of the sheet, in pixels.</summary>
    public int Height { get; private set; }

    /// <summary>The radiograph's place.</summary>
    public SKRectI Image { get; private set; }

    /// <summary>The frame around the radiograph.</summary>
    public SKRect Frame { get; private set; }

    /// <summary>All text.</summary>
    public IReadOnlyList<PlacedText> Texts => texts;

    /// <summary>All samples of marks.</summary>
    public IReadOnlyList<PlacedKey> Keys => keys;

    /// <summary>All lines from labels to sides.</summary>
    public IReadOnlyList<PlacedLeader> Leaders => leaders;

    /// <summary>Thin lines that part the sheet.</summary>
    public IReadOnlyList<SKRect> Rules => rules;

    /// <summary>The scale bar; null where spacing is unknown.</summary>
    public PlacedScaleBar? ScaleBar { get; private set; }

    /// <summary>Lays out a picture.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="document">Its measurements.</param>
    /// <param name="size">How large the radiograph is drawn.</param>
    /// <param name="options">How the picture is made.</param>
    /// <param name="setting">Measures text; borrowed.</param>
    public static PictureLayout Of(Radiograph radiograph, MeasurementDocument document, DrawnSize size, PictureOptions options, TextSetting setting)
    {
        double unit = Math.Clamp(options.LongSidePixels / 1600.0, 0.5, 3);
        var layout = new PictureLayout(setting, unit);
        double gutter = 44 * unit;
        double scaleRow = 46 * unit;
        double innerWidth = Math.Max(size.Columns, 380 * unit);
        double innerHeight = Math.Max(size.Rows, 160 * unit);
        double frameWidth = Math.Ceiling(innerWidth + (2 * gutter));
        double frameHeight = Math.Ceiling(innerHeight + (2 * gutter) + scaleRow);
        IReadOnlyList<LegendSection> sections = options.ShowsLegend ? Legend.Of(document, radiograph, options.ShowsMarks) : [];
        Arrangement arrangement = layout.Arrange(sections, frameWidth, frameHeight);

        double margin = 30 * unit;
        double contentWidth = arrangement.ContentWidth;
        double top = layout.PlaceCaption(radiograph, document, size, options, margin, contentWidth);
        double frameLeft = arrangement.IsBeside ? margin : margin + Math.Floor((contentWidth - frameWidth) / 2);
        layout.Frame = new SKRect((float)frameLeft, (float)top, (float)(frameLeft + frameWidth), (float)(top + frameHeight));
        int imageLeft = (int)Math.Round(frameLeft + gutter + ((innerWidth - size.Columns) / 2));
        int imageTop = (int)Math.Round(top + gutter + ((innerHeight - size.Rows) / 2));
        layout.Image = new SKRectI(imageLeft, imageTop, imageLeft + size.Columns, imageTop + size.Rows);
        if (options.ShowsMarks)
        {
            layout.PlaceSideLabels(radiograph, document, size, gutter);
        }

        layout.PlaceScale(radiograph.ReceptorSpacing, size, gutter, scaleRow);
        double legendLeft = arrangement.IsBeside ? margin + frameWidth + arrangement.Gap : margin + Math.Floor((contentWidth - arrangement.LegendWidth) / 2);
        double legendTop = arrangement.IsBeside ? top : top + frameHeight + arrangement.Gap;
        double bottom = Math.Max(top + frameHeight, layout.PlaceLegend(arrangement, legendLeft, legendTop));
        bottom = layout.PlaceCaution(margin, bottom + (22 * unit), contentWidth, explainsFigures: sections.Any(section => section.Lines.Any(line => line.Value is not null)));
        layout.Width = (int)Math.Ceiling(contentWidth + (2 * margin));
        layout.Height = (int)Math.Ceiling(bottom + (20 * unit));
        return layout;
    }

    private Arrangement Arrange(IReadOnlyList<LegendSection> sections, double frameWidth, double frameHeight)
    {
        double gap = 32 * Unit;
        double columnWidth = 500 * Unit;
        if (sections.Count == 0)
        {
            return new Arrangement(IsBeside: true, gap, columnWidth, [], Math.Max(frameWidth, 700 * Unit), 0);
        }

        double[] heights = [.. sections.Select(section => SectionHeight(section, columnWidth))];
        Arrangement? best = null;
        double bestCost = double.PositiveInfinity;
        for (int columns = 1; columns <= Math.Min(5, sections.Count); columns++)
        {
            IReadOnlyList<IReadOnlyList<LegendSection>> flow = Flow(sections, heights, columns, out double legendHeight);
            double legendWidth = (flow.Count * columnWidth) + ((flow.Count - 1) * gap);
            Consider(isBeside: true, frameWidth + gap + legendWidth, Math.Max(frameHeight, legendHeight));
            Consider(isBeside: false, Math.Max(frameWidth, legendWidth), frameHeight + gap + legendHeight);

            void Consider(bool isBeside, double width, double height)
            {
                double ratio = Math.Max(width / height, height / width);

                // A sheet far from the shape of paper or of a screen costs as much as one that wastes room.
                // Side by side is read more easily than one below the other: it may waste a little more.
                double cost = width * height * (1 + Math.Max(0, ratio - 1.7)) * (isBeside ? 1 : 1.15);
                if (cost < bestCost)
                {
                    bestCost = cost;
                    best = new Arrangement(isBeside, gap, columnWidth, flow, Math.Ceiling(width), legendWidth);
                }
            }
        }

        return best!;
    }

    private static List<IReadOnlyList<LegendSection>> Flow(IReadOnlyList<LegendSection> sections, double[] heights, int columns, out double height)
    {
        double low = heights.Max();
        double high = heights.Sum();
        for (int halving = 0; halving < 24; halving++)
        {
            double middle = (low + high) / 2;
            if (Fill(middle).Count <= columns)
            {
                high = middle;
            }
            else
            {
                low = middle;
            }
        }

        height = high;
        return Fill(high);

        List<IReadOnlyList<LegendSection>> Fill(double limit)
        {
            var filled = new List<IReadOnlyList<LegendSection>>();
            var column = new List<LegendSection>();
            double used = 0;
            for (int section = 0; section < sections.Count; section++)
            {
                if (column.Count > 0 && used + heights[section] > limit)
                {
                    filled.Add(column);
                    column = [];
                    used = 0;
                }

                column.Add(sections[section]);
                used += heights[section];
            }

            filled.Add(column);
            return filled;
        }
    }

    private double SectionHeight(LegendSection section, double width)
    {
        var measured = new PictureLayout(setting, Unit);
        return measured.PlaceSection(section, 0, 0, width);
    }

    private double PlaceLegend(Arrangement arrangement, double left, double top)
    {
        double bottom = top;
        for (int column = 0; column < arrangement.Columns.Count; column++)
        {
            double y = top;
            double x = left + (column * (arrangement.ColumnWidth + arrangement.Gap));
            foreach (LegendSection section in arrangement.Columns[column])
            {
                y = PlaceSection(section, x, y, arrangement.ColumnWidth);
            }

            bottom = Math.Max(bottom, y);
        }

        return bottom;
    }

    /// <summary>Places a section and returns the y below it, with its gap.</summary>
    private double PlaceSection(LegendSection section, double left, double top, double width)
    {
        double body = 23 * Unit;
        double note = 21.5 * Unit;
        double y = PlaceLine(section.Title, left, top, 25 * Unit, TextWeight.SemiBold, TextTone.Text);
        rules.Add(new SKRect((float)left, (float)(y + (1 * Unit)), (float)(left + width), (float)(y + (2.5 * Unit))));
        y += 8 * Unit;
        foreach (LegendLine line in section.Lines)
        {
            if (line.Value is not { } value)
            {
                foreach (string text in setting.Wrap(line.Label, TextWeight.Regular, note, width))
                {
                    y = PlaceLine(text, left, y, note, TextWeight.Regular, TextTone.Quiet);
                }

                y += 6 * Unit;
                continue;
            }

            double indent = 0;
            if (line.Key is { } key)
            {
                double keyHeight = 26 * Unit;
                keys.Add(new PlacedKey(key, SKRect.Create((float)left, (float)(y + (((body * LineHeight) - keyHeight) / 2)), (float)(66 * Unit), (float)keyHeight)));
                indent = 78 * Unit;
            }

            double labelWidth = setting.Width(line.Label, TextWeight.Regular, body);
            double valueWidth = setting.Width(EmbeddedFonts.Printable(value), TextWeight.SemiBold, body);
            double next = PlaceLine(line.Label, left + indent, y, body, TextWeight.Regular, TextTone.Text);
            if (indent + labelWidth + (14 * Unit) + valueWidth <= width)
            {
                PlaceLine(EmbeddedFonts.Printable(value), left + width - valueWidth, y, body, TextWeight.SemiBold, TextTone.Text);
            }
            else
            {
                foreach (string text in setting.Wrap(value, TextWeight.SemiBold, body, width - (24 * Unit)))
                {
                    next = PlaceLine(text, left + width - setting.Width(text, TextWeight.SemiBold, body), next, body, TextWeight.SemiBold, TextTone.Text);
                }
            }

            y = next + (line.Key is null ? 0 : 2 * Unit);
        }

        return y + (18 * Unit);
    }

    private double PlaceCaption(Radiograph radiograph, MeasurementDocument document, DrawnSize size, PictureOptions options, double left, double width)
    {
        double y = 22 * Unit;
        string name = options.Projection is { Length: > 0 } projection ? $"{radiograph.FileName} — {projection}" : radiograph.FileName;
        foreach (string line in setting.Wrap(name, TextWeight.SemiBold, 32 * Unit, width))
        {
            y = PlaceLine(line, left, y, 32 * Unit, TextWeight.SemiBold, TextTone.Text);
        }

        var facts = new List<string> { FormattableString.Invariant($"{radiograph.Columns} × {radiograph.Rows} pixels, {radiograph.BitsStored} bits") };
        if (radiograph.ReceptorSpacing is { } spacing)
        {
            facts.Add(spacing.ColumnSpacingMm == spacing.RowSpacingMm
                ? FormattableString.Invariant($"{spacing.ColumnSpacingMm:0.###} mm per pixel")
                : FormattableString.Invariant($"{spacing.ColumnSpacingMm:0.###} mm across, {spacing.RowSpacingMm:0.###} mm down per pixel"));
        }

        if (document.Image.Value is { } image)
        {
            facts.Add(image.BoneIs == BoneShade.Bright ? "bone is shown bright" : "bone is shown dark");
            facts.Add(image.PresentationIntent switch
            {
                PresentationIntent.ForPresentation => "for presentation",
                PresentationIntent.ForProcessing => "for processing",
                _ => "presentation intent not stated",
            });
        }

        facts.Add(size.ScaleX == 1 && size.ScaleY == 1 ? "drawn pixel for pixel" : FormattableString.Invariant($"drawn at {100 * Math.Min(size.ScaleX, size.ScaleY):0} %"));
        foreach (string line in setting.Wrap(string.Join("  ·  ", facts), TextWeight.Regular, 22 * Unit, width))
        {
            y = PlaceLine(line, left, y, 22 * Unit, TextWeight.Regular, TextTone.Quiet);
        }

        return Math.Round(y + (12 * Unit));
    }

    private double PlaceCaution(double left, double top, double width, bool explainsFigures)
    {
        double y = top;
        foreach (string line in setting.Wrap(Legend.Caution, TextWeight.SemiBold, 22 * Unit, width))
        {
            y = PlaceLine(line, left, y, 22 * Unit, TextWeight.SemiBold, TextTone.Text);
        }

        if (explainsFigures)
        {
            foreach (string line in setting.Wrap("Figures after ± are one standard deviation. Millimetres are at the image receptor.", TextWeight.Regular, 21.5 * Unit, width))
            {
                y = PlaceLine(line, left, y, 21.5 * Unit, TextWeight.Regular, TextTone.Quiet);
            }
        }

        return y;
    }

    private void PlaceSideLabels(Radiograph radiograph, MeasurementDocument document, DrawnSize size, double gutter)
    {
        if (document.Field.Value is not { } field)
        {
            return;
        }

        double font = 21.5 * Unit;
        foreach (IGrouping<FieldSide, FieldOutlinePiece> group in OverlayMarks.PiecesOf(field, radiograph.Columns, radiograph.Rows).GroupBy(piece => piece.Side))
        {
            FieldOutlinePiece piece = group.MaxBy(piece => piece.From.DistancePixelsTo(piece.To))!;
            PixelPoint middle = MarkPainter.OnSheet(new PixelPoint(X: (piece.From.X + piece.To.X) / 2, Y: (piece.From.Y + piece.To.Y) / 2), size, Image);
            FieldSideMeasurement? measured = field.Sides.FirstOrDefault(side => side.Side == piece.Side);
            string words = Legend.Words(piece.Edge);
            string[] choices = measured is not null && piece.Edge != FieldEdge.Receptor
                ? [$"{words}, tilt {FigureText.Write(measured.TiltDegrees, measured.TiltDegreesUncertainty, "°", 1, mostDecimals: 1)}", words, words.Split(' ')[0]]
                : [words, words.Split(' ')[0]];
            bool isUpright = piece.Side is FieldSide.Top or FieldSide.Bottom;
            double room = isUpright ? Frame.Width - (2 * gutter) : Math.Max(Image.Height, 160 * Unit);
            string text = choices.FirstOrDefault(choice => setting.Width(choice, TextWeight.Regular, font) <= room) ?? choices[^1];
            double length = setting.Width(text, TextWeight.Regular, font);
            double roomStart = isUpright ? Frame.Left + gutter : Image.MidY - (room / 2);
            double center = Math.Clamp(isUpright ? middle.X : middle.Y, roomStart + (length / 2), Math.Max(roomStart + (length / 2), roomStart + room - (length / 2)));
            double anchor = isUpright ? Math.Clamp(middle.X, Image.Left, Image.Right) : Math.Clamp(middle.Y, Image.Top, Image.Bottom);
            (PlacedText placed, SKPoint start) = piece.Side switch
            {
                FieldSide.Top => (Turned(text, center - (length / 2), Image.Top - (13 * Unit), font, 0), new SKPoint((float)anchor, Image.Top)),
                FieldSide.Bottom => (Turned(text, center - (length / 2), Image.Bottom + (30 * Unit), font, 0), new SKPoint((float)anchor, Image.Bottom)),
                FieldSide.Left => (Turned(text, Image.Left - (13 * Unit), center + (length / 2), font, -1), new SKPoint(Image.Left, (float)anchor)),
                _ => (Turned(text, Image.Right + (13 * Unit), center - (length / 2), font, 1), new SKPoint(Image.Right, (float)anchor)),
            };
            texts.Add(placed);
            var end = new SKPoint((float)middle.X, (float)middle.Y);
            if (piece.Edge != FieldEdge.Receptor && SKPoint.Distance(start, end) > 8 * Unit)
            {
                leaders.Add(new PlacedLeader(start, end));
            }
        }
    }

    private void PlaceScale(PixelSpacing? spacing, DrawnSize size, double gutter, double scaleRow)
    {
        double font = 21.5 * Unit;
        double baseline = Frame.Bottom - (16 * Unit);
        double left = Frame.Left + gutter;
        double room = Frame.Width - (2 * gutter);
        if (spacing is not { } known)
        {
            foreach (string choice in new[] { "No scale: the file gives no pixel spacing", "No scale in this file" })
            {
                if (setting.Width(choice, TextWeight.Regular, font) <= room)
                {
                    texts.Add(Turned(choice, left, baseline, font, 0));
                    break;
                }
            }

            return;
        }

        double pixelsPerMm = size.ScaleX / known.ColumnSpacingMm;
        double wantedMm = Math.Min(0.4 * room, Math.Max(120 * Unit, 0.25 * room)) / pixelsPerMm;
        double lengthMm = RoundLength(wantedMm);
        double y = baseline - (7 * Unit);
        ScaleBar = new PlacedScaleBar(new SKPoint((float)left, (float)y), new SKPoint((float)(left + (lengthMm * pixelsPerMm)), (float)y), lengthMm);
        string label = FormattableString.Invariant($"{lengthMm:0.######} mm at the receptor");
        double labelLeft = left + (lengthMm * pixelsPerMm) + (14 * Unit);
        if (labelLeft + setting.Width(label, TextWeight.Regular, font) > Frame.Right - (8 * Unit))
        {
            label = FormattableString.Invariant($"{lengthMm:0.######} mm");
        }

        texts.Add(Turned(label, labelLeft, baseline, font, 0));
    }

    /// <summary>The longest of 1, 2 or 5 times a power of ten that is not longer than wanted.</summary>
    internal static double RoundLength(double wantedMm)
    {
        double power = Math.Pow(10, Math.Floor(Math.Log10(wantedMm)));
        double leading = wantedMm / power;
        return power * (leading >= 5 ? 5 : leading >= 2 ? 2 : 1);
    }

    private double PlaceLine(string text, double left, double top, double font, TextWeight weight, TextTone tone)
    {
        double width = setting.Width(text, weight, font);
        double baseline = top + (font * 1.03);
        texts.Add(new PlacedText(
            text,
            new SKPoint((float)left, (float)baseline),
            font,
            weight,
            tone,
            0,
            new SKRect((float)left, (float)(baseline - (0.97 * font)), (float)(left + width), (float)(baseline + (0.25 * font)))));
        return top + (font * LineHeight);
    }

    private PlacedText Turned(string text, double x, double y, double font, int quarter)
    {
        double width = setting.Width(text, TextWeight.Regular, font);
        double up = 0.97 * font;
        double down = 0.25 * font;
        SKRect bounds = quarter switch
        {
            0 => new SKRect((float)x, (float)(y - up), (float)(x + width), (float)(y + down)),
            -1 => new SKRect((float)(x - up), (float)(y - width), (float)(x + down), (float)y),
            _ => new SKRect((float)(x - down), (float)y, (float)(x + up), (float)(y + width)),
        };
        return new PlacedText(text, new SKPoint((float)x, (float)y), font, TextWeight.Regular, TextTone.Frame, quarter, bounds);
    }

    private sealed record Arrangement(bool IsBeside, double Gap, double ColumnWidth, IReadOnlyList<IReadOnlyList<LegendSection>> Columns, double ContentWidth, double LegendWidth);
}
