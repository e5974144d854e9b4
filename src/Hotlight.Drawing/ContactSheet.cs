using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>How a contact sheet is made.</summary>
public sealed record ContactSheetOptions
{
    private readonly int tilePixels = 400;

    /// <summary>Title of the sheet, such as the folder's name; null leaves only the number of radiographs.</summary>
    public string? Title { get; init; }

    /// <summary>Longest side of a radiograph on its tile, in pixels, 160 to 1200.</summary>
    /// <exception cref="ArgumentOutOfRangeException">The value is outside [160, 1200].</exception>
    public int TilePixels
    {
        get => tilePixels;
        init => tilePixels = (int)Preconditions.Within(value, 160, 1200);
    }

    /// <summary>Whether the marks are drawn on the radiographs.</summary>
    public bool ShowsMarks { get; init; } = true;

    /// <summary>What surrounds the radiographs.</summary>
    public PictureSurround Surround { get; init; }
}

/// <summary>Many radiographs on one sheet, each numbered, with its marks and its figures in short: for looking over a folder.</summary>
/// <remarks>
/// <para>Radiographs are added one at a time and not kept: a tile is drawn at once, so memory holds one radiograph and the small drawn tiles.</para>
/// <para>Not for use by two threads at once.</para>
/// </remarks>
/// <param name="options">How the sheet is made; null: the default.</param>
public sealed class ContactSheet(ContactSheetOptions? options = null)
{
    /// <summary>Most tiles a sheet takes; then begin another.</summary>
    public const int MostTiles = 240;

    private readonly ContactSheetOptions options = options ?? new ContactSheetOptions();
    private readonly List<Tile> tiles = [];

    /// <summary>Number of tiles so far, radiographs and files that could not be read.</summary>
    public int Count => tiles.Count;

    /// <summary>Whether the sheet takes no more tiles.</summary>
    public bool IsFull => tiles.Count >= MostTiles;

    /// <summary>Adds a radiograph as the next tile.</summary>
    /// <param name="radiograph">The radiograph; borrowed during the call, not kept.</param>
    /// <param name="document">Its measurements.</param>
    /// <exception cref="InvalidOperationException">The sheet is full.</exception>
    public void Add(Radiograph radiograph, MeasurementDocument document)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(document);
        ThrowIfFull();
        ShownImage shown = ShownImage.Render(radiograph, options.TilePixels, mayBeLonger: false, ShownImage.WindowMeasured(document, radiograph));
        using SKBitmap bitmap = PictureSurface.Create(shown.Size.Columns, shown.Size.Rows);
        using (var canvas = new SKCanvas(bitmap))
        {
            PictureSurface.DrawGrey(canvas, shown.Grey, 0, 0);
            if (options.ShowsMarks)
            {
                new MarkPainter(canvas, MarkUnit).DrawOverlay(
                    OverlayMarks.From(document, radiograph.Columns, radiograph.Rows),
                    shown.Size,
                    new SKRectI(0, 0, shown.Size.Columns, shown.Size.Rows));
            }
        }

        tiles.Add(new Tile(radiograph.FileName, LinesOf(document, radiograph), PictureSurface.ToPng(bitmap), null));
    }

    /// <summary>Adds a tile for a file that could not be read, so that none is silently missing.</summary>
    /// <param name="fileName">Name of the file.</param>
    /// <param name="reason">Why, one sentence.</param>
    /// <exception cref="InvalidOperationException">The sheet is full.</exception>
    public void AddUnreadable(string fileName, string reason)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(fileName);
        ArgumentException.ThrowIfNullOrWhiteSpace(reason);
        ThrowIfFull();
        tiles.Add(new Tile(fileName, [], null, reason));
    }

    /// <summary>Draws the sheet.</summary>
    /// <returns>The sheet as a PNG file, 8 bits a channel, sRGB.</returns>
    /// <exception cref="InvalidOperationException">Nothing was added.</exception>
    public byte[] Draw()
    {
        if (tiles.Count == 0)
        {
            throw new InvalidOperationException("A contact sheet needs at least one radiograph.");
        }

        using var setting = new TextSetting();
        var plan = new SheetPlan(this, setting);
        using SKBitmap bitmap = PictureSurface.Create(plan.Width, plan.Height);
        using (var canvas = new SKCanvas(bitmap))
        {
            plan.Paint(canvas);
        }

        return PictureSurface.ToPng(bitmap);
    }

    /// <summary>Draws the sheet into a file. The file is whole or not there.</summary>
    /// <param name="path">Path of the PNG file; an older one is replaced.</param>
    /// <exception cref="IOException">The file cannot be written; the message is one sentence that names it.</exception>
    /// <exception cref="InvalidOperationException">Nothing was added.</exception>
    public void Save(string path) => PictureFile.Write(path, Draw());

    private double MarkUnit => options.TilePixels / 1600.0 * 2.2;

    private static List<string> LinesOf(MeasurementDocument document, Radiograph radiograph)
    {
        var lines = new List<string>();
        if (document.Field.Value is { } field)
        {
            (FieldSide Side, string Edge)[] sides = [.. OverlayMarks.PiecesOf(field, radiograph.Columns, radiograph.Rows)
                .GroupBy(piece => piece.Side)
                .OrderBy(group => group.Key)
                .Select(group => (group.Key, Legend.Words(group.MaxBy(piece => piece.From.DistancePixelsTo(piece.To))!.Edge).Split(' ')[0]))];
            lines.Add(sides.Select(side => side.Edge).Distinct().Count() == 1
                ? "edges: all " + sides[0].Edge
                : "edges: " + string.Join("  ", sides.Select(side => "↑→↓←"[(int)side.Side] + side.Edge)));
        }
        else
        {
            lines.Add("field: cannot tell");
        }

        if (Legend.Brief(document) is { Count: > 0 } figures)
        {
            lines.Add(string.Join(", ", figures));
        }

        return lines;
    }

    private void ThrowIfFull()
    {
        if (IsFull)
        {
            throw new InvalidOperationException($"A contact sheet takes {MostTiles} tiles; begin another sheet.");
        }
    }

    private sealed record Tile(string FileName, IReadOnlyList<string> Lines, byte[]? Picture, string? Reason);

    /// <summary>Where the tiles go, and how they are painted.</summary>
    private sealed class SheetPlan
    {
        private const double NameSize = 19;
        private const double LineSize = 17;
        private const double Margin = 26;
        private const double Gap = 18;
        private const int MostLines = 3;
        private readonly ContactSheet sheet;
        private readonly TextSetting setting;
        private readonly SheetColors colors;
        private readonly int columns;
        private readonly double tileHeight;
        private readonly IReadOnlyList<string> caution;
        private readonly IReadOnlyList<(MarkStyle Style, double X, double Y)> keys;
        private readonly double headerHeight;
        private readonly double keysTop;
        private readonly double cautionTop;

        public SheetPlan(ContactSheet sheet, TextSetting setting)
        {
            this.sheet = sheet;
            this.setting = setting;
            colors = SheetColors.Of(sheet.options.Surround);
            double tile = sheet.options.TilePixels;
            tileHeight = tile + 10 + (NameSize * 1.36) + (MostLines * LineSize * 1.36) + 16;

            // Near the shape of a page on its side, and never so narrow that the caution becomes a column.
            columns = Math.Clamp((int)Math.Ceiling(Math.Sqrt(sheet.tiles.Count * 1.4 * tileHeight / tile)), 1, 12);
            columns = Math.Min(columns, sheet.tiles.Count);
            double inner = Math.Max((columns * tile) + ((columns - 1) * Gap), 560);
            int rows = (sheet.tiles.Count + columns - 1) / columns;
            headerHeight = Margin + (28 * 1.4) + 12;
            keysTop = headerHeight + (rows * (tileHeight + Gap));
            keys = sheet.options.ShowsMarks ? PlaceKeys(inner, keysTop, out cautionTop) : PlaceNoKeys(keysTop, out cautionTop);
            caution = setting.Wrap(Legend.Caution, TextWeight.SemiBold, NameSize, inner);
            Width = (int)Math.Ceiling(inner + (2 * Margin));
            Height = (int)Math.Ceiling(cautionTop + (caution.Count * NameSize * 1.36) + Margin);
        }

        public int Width { get; }

        public int Height { get; }

        public void Paint(SKCanvas canvas)
        {
            canvas.Clear(SheetColors.Parse(colors.Sheet));
            int unreadable = sheet.tiles.Count(tile => tile.Picture is null);
            string count = string.Create(CultureInfo.InvariantCulture, $"{sheet.tiles.Count - unreadable} radiograph{(sheet.tiles.Count - unreadable == 1 ? string.Empty : "s")}")
                + (unreadable == 0 ? string.Empty : string.Create(CultureInfo.InvariantCulture, $", {unreadable} unreadable"));
            string title = sheet.options.Title is { Length: > 0 } given ? $"{given} — {count}" : count;
            Text(canvas, setting.Shorten(title, TextWeight.SemiBold, 28, Width - (2 * Margin)), Margin, Margin + 28, 28, TextWeight.SemiBold, colors.Text);
            for (int tile = 0; tile < sheet.tiles.Count; tile++)
            {
                PaintTile(canvas, tile, Margin + (tile % columns * (sheet.options.TilePixels + Gap)), headerHeight + (tile / columns * (tileHeight + Gap)));
            }

            var painter = new MarkPainter(canvas, 0.9);
            foreach ((MarkStyle style, double x, double y) in keys)
            {
                painter.DrawKey(style.Kind, SKRect.Create((float)x, (float)y, 60, 24));
                Text(canvas, style.Label, x + 70, y + 18, LineSize, TextWeight.Regular, colors.Text);
            }

            for (int line = 0; line < caution.Count; line++)
            {
                Text(canvas, caution[line], Margin, cautionTop + NameSize + (line * NameSize * 1.36), NameSize, TextWeight.SemiBold, colors.Text);
            }
        }

        private void PaintTile(SKCanvas canvas, int number, double left, double top)
        {
            Tile tile = sheet.tiles[number];
            float side = sheet.options.TilePixels;
            using (var plate = new SKPaint { Color = SheetColors.Parse(SheetColors.Frame) })
            {
                canvas.DrawRect(SKRect.Create((float)left, (float)top, side, side), plate);
            }

            if (tile.Picture is { } content)
            {
                using SKImage picture = SKImage.FromEncodedData(content);
                canvas.DrawImage(picture, (float)Math.Round(left + ((side - picture.Width) / 2)), (float)Math.Round(top + ((side - picture.Height) / 2)), new SKSamplingOptions(SKFilterMode.Nearest));
            }
            else
            {
                double line = top + 40;
                foreach (string text in setting.Wrap("Not readable: " + tile.Reason, TextWeight.Regular, LineSize, side - 40).Take((int)((side - 60) / (LineSize * 1.36))))
                {
                    Text(canvas, text, left + 20, line, LineSize, TextWeight.Regular, SheetColors.FrameText);
                    line += LineSize * 1.36;
                }
            }

            double y = top + side + 10;
            string label = (number + 1).ToString(CultureInfo.InvariantCulture);
            double labelWidth = setting.Width(label, TextWeight.SemiBold, NameSize);
            using (var badge = new SKPaint { Color = SheetColors.Parse(colors.Text), IsAntialias = true })
            {
                canvas.DrawRoundRect(SKRect.Create((float)left, (float)(y - 1), (float)(labelWidth + 12), (float)(NameSize * 1.3)), 4, 4, badge);
            }

            Text(canvas, label, left + 6, y + NameSize - 1, NameSize, TextWeight.SemiBold, colors.Sheet);
            double nameLeft = left + labelWidth + 22;
            Text(canvas, setting.Shorten(tile.FileName, TextWeight.SemiBold, NameSize, left + side - nameLeft), nameLeft, y + NameSize - 1, NameSize, TextWeight.SemiBold, colors.Text);
            y += NameSize * 1.42;
            foreach (string text in tile.Lines.SelectMany(line => setting.Wrap(line, TextWeight.Regular, LineSize, side)).Take(MostLines))
            {
                Text(canvas, text, left, y + LineSize, LineSize, TextWeight.Regular, colors.Quiet);
                y += LineSize * 1.36;
            }
        }

        private static List<(MarkStyle Style, double X, double Y)> PlaceNoKeys(double top, out double bottom)
        {
            bottom = top;
            return [];
        }

        private List<(MarkStyle Style, double X, double Y)> PlaceKeys(double width, double top, out double bottom)
        {
            var placed = new List<(MarkStyle Style, double X, double Y)>();
            double x = Margin;
            double y = top + 4;
            foreach (MarkStyle style in MarkStyles.All)
            {
                double needed = 70 + setting.Width(style.Label, TextWeight.Regular, LineSize);
                if (x > Margin && x + needed > Margin + width)
                {
                    x = Margin;
                    y += 32;
                }

                placed.Add((style, x, y));
                x += needed + 34;
            }

            bottom = y + 44;
            return placed;
        }

        private void Text(SKCanvas canvas, string text, double x, double y, double size, TextWeight weight, string color)
        {
            using var paint = new SKPaint { Color = SheetColors.Parse(color), IsAntialias = true };
            canvas.DrawText(text, (float)x, (float)y, SKTextAlign.Left, setting.Font(weight, size), paint);
        }
    }
}
