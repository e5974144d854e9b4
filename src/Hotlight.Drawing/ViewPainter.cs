using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>A mark in its style, in pixels of the stored image.</summary>
/// <param name="Style">How it is drawn.</param>
/// <param name="Points">Its line.</param>
/// <param name="IsClosed">Whether its last point is joined to its first.</param>
public sealed record StyledMark(MarkStyle Style, IReadOnlyList<PixelPoint> Points, bool IsClosed);

/// <summary>What one picture of a part of a radiograph shows. Places are in pixels of the stored image.</summary>
public sealed record PaintedView
{
    /// <summary>Left edge of what must be in sight.</summary>
    public required double X { get; init; }

    /// <summary>Its upper edge.</summary>
    public required double Y { get; init; }

    /// <summary>Its width, above 0.</summary>
    public required double Width { get; init; }

    /// <summary>Its height, above 0.</summary>
    public required double Height { get; init; }

    /// <summary>The window; null: the radiograph's own.</summary>
    public VoiTransform? Window { get; init; }

    /// <summary>What is drawn on it.</summary>
    public IReadOnlyList<StyledMark> Marks { get; init; } = [];

    /// <summary>Lines drawn by hand.</summary>
    public IReadOnlyList<IReadOnlyList<PixelPoint>> Strokes { get; init; } = [];

    /// <summary>Where somebody points; null: nowhere.</summary>
    public PixelPoint? Pointer { get; init; }

    /// <summary>Words above it.</summary>
    public required string Heading { get; init; }

    /// <summary>Words above it on the right.</summary>
    public string Place { get; init; } = string.Empty;

    /// <summary>Words below it.</summary>
    public string Caption { get; init; } = string.Empty;

    /// <summary>Small words at the bottom.</summary>
    public required string Footer { get; init; }

    /// <summary>Words on a plate at the right of the bottom; empty: none.</summary>
    public string Notice { get; init; } = string.Empty;
}

/// <summary>Draws a part of a radiograph with marks and words, again and again at one size: the pictures of a film. Not for use by two threads.</summary>
public sealed class ViewPainter : IDisposable
{
    // Of a picture 720 pixels high.
    private const double HeadPixels = 46;
    private const double FootPixels = 30;
    private const double CaptionPixels = 88;
    private const string Ground = "#0E0F11";
    private const string StrokeColor = "#FFB65C";
    private readonly Radiograph radiograph;
    private readonly bool hasCaption;
    private readonly IReadOnlyList<PixelPoint>? field;
    private readonly double unit;
    private readonly double aspect;
    private readonly SKBitmap bitmap;
    private readonly SKCanvas canvas;
    private readonly TextSetting text = new();
    private readonly List<SKImage> levels = [];
    private VoiTransform? levelsOf;

    /// <summary>Creates the painter.</summary>
    /// <param name="radiograph">The radiograph; borrowed until the painter is disposed.</param>
    /// <param name="widthPixels">Width of the pictures, even, 320 or more.</param>
    /// <param name="heightPixels">Height of the pictures, even, 180 or more.</param>
    /// <param name="hasCaption">Whether there is room for a caption below the image.</param>
    /// <param name="field">Outline of the exposed field, in pixels of the stored image: what lies outside is shaded; null: nothing is.</param>
    public ViewPainter(Radiograph radiograph, int widthPixels, int heightPixels, bool hasCaption, IReadOnlyList<PixelPoint>? field = null)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentOutOfRangeException.ThrowIfLessThan(widthPixels, 320);
        ArgumentOutOfRangeException.ThrowIfLessThan(heightPixels, 180);
        ArgumentOutOfRangeException.ThrowIfNotEqual(widthPixels % 2, 0);
        ArgumentOutOfRangeException.ThrowIfNotEqual(heightPixels % 2, 0);
        this.radiograph = radiograph;
        this.hasCaption = hasCaption;
        this.field = field;
        unit = heightPixels / 720.0;
        aspect = radiograph.ReceptorSpacing is { } spacing ? spacing.RowSpacingMm / spacing.ColumnSpacingMm : 1;
        bitmap = PictureSurface.Create(widthPixels, heightPixels);
        canvas = new SKCanvas(bitmap);
    }

    /// <summary>Width of the pictures.</summary>
    public int WidthPixels => bitmap.Width;

    /// <summary>Height of the pictures.</summary>
    public int HeightPixels => bitmap.Height;

    /// <summary>Draws a picture; it stands until the next is drawn.</summary>
    /// <param name="view">What it shows.</param>
    public void Paint(PaintedView view)
    {
        ArgumentNullException.ThrowIfNull(view);
        canvas.Clear(SKColor.Parse(Ground));
        var stage = new SKRect(0, (float)(HeadPixels * unit), bitmap.Width, (float)(bitmap.Height - ((FootPixels + (hasCaption ? CaptionPixels : 0)) * unit)));
        double scale = Math.Min(stage.Width / view.Width, stage.Height / (view.Height * aspect));
        SKPoint OnStage(PixelPoint place) => new(
            (float)(stage.MidX + ((place.X - view.X - (view.Width / 2)) * scale)),
            (float)(stage.MidY + ((place.Y - view.Y - (view.Height / 2)) * scale * aspect)));
        canvas.Save();
        canvas.ClipRect(stage);
        DrawImage(view.Window, scale, OnStage);
        DrawShade(OnStage);
        DrawMarks(view, OnStage);
        canvas.Restore();
        DrawWords(view);
        canvas.Flush();
    }

    /// <summary>The picture as a PNG file.</summary>
    public byte[] ToPng() => PictureSurface.ToPng(bitmap);

    /// <summary>The picture in the planes Y, Cb and Cr, the latter two of half width and height: 8 bits, ITU-R BT.709, 16 to 235.</summary>
    /// <param name="planes">Takes width × height × 3/2 bytes.</param>
    public void ToPlanes(Memory<byte> planes)
    {
        int width = bitmap.Width;
        int height = bitmap.Height;
        ArgumentOutOfRangeException.ThrowIfNotEqual(planes.Length, width * height * 3 / 2);
        nint pixels = bitmap.GetPixels();
        int rowBytes = bitmap.RowBytes;
        Parallel.For(0, height / 2, pair =>
        {
            Span<byte> to = planes.Span;
            for (int column = 0; column < width; column += 2)
            {
                int sumR = 0, sumG = 0, sumB = 0;
                for (int place = 0; place < 4; place++)
                {
                    int row = (2 * pair) + (place >> 1);
                    int at = column + (place & 1);
                    (byte r, byte g, byte b) = Pixel(row, at);
                    to[(row * width) + at] = (byte)(((11966 * r) + (40254 * g) + (4064 * b) + (16 << 16) + 32768) >> 16);
                    sumR += r;
                    sumG += g;
                    sumB += b;
                }

                int half = (pair * (width / 2)) + (column / 2);
                to[(width * height) + half] = (byte)(((-6596 * sumR) + (-22189 * sumG) + (28784 * sumB) + (128 << 18) + (1 << 17)) >> 18);
                to[(width * height * 5 / 4) + half] = (byte)(((28784 * sumR) + (-26145 * sumG) + (-2639 * sumB) + (128 << 18) + (1 << 17)) >> 18);
            }
        });

        (byte R, byte G, byte B) Pixel(int row, int column)
        {
            int word = System.Runtime.InteropServices.Marshal.ReadInt32(pixels, (row * rowBytes) + (4 * column));
            return ((byte)word, (byte)(word >> 8), (byte)(word >> 16));
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        levels.ForEach(level => level.Dispose());
        text.Dispose();
        canvas.Dispose();
        bitmap.Dispose();
    }

    // What was not exposed is bright without telling anything, and glares in a dim room.
    private void DrawShade(Func<PixelPoint, SKPoint> onStage)
    {
        if (field is null)
        {
            return;
        }

        using var builder = new SKPathBuilder { FillType = SKPathFillType.EvenOdd };
        SKPoint first = onStage(new PixelPoint(-0.5, -0.5)), last = onStage(new PixelPoint(radiograph.Columns - 0.5, radiograph.Rows - 0.5));
        builder.AddRect(new SKRect(first.X, first.Y, last.X, last.Y));
        builder.MoveTo(onStage(field[0]));
        foreach (PixelPoint corner in field.Skip(1))
        {
            builder.LineTo(onStage(corner));
        }

        builder.Close();
        using SKPath path = builder.Detach();
        using var paint = new SKPaint { Color = SKColor.Parse(Ground).WithAlpha(199), IsAntialias = true };
        canvas.DrawPath(path, paint);
    }

    private void DrawImage(VoiTransform? window, double scale, Func<PixelPoint, SKPoint> onStage)
    {
        if (levels.Count == 0 || window != levelsOf)
        {
            levels.ForEach(level => level.Dispose());
            levels.Clear();
            levelsOf = window;
            Raster<byte> grey = DisplayTable.Render(radiograph, window);
            levels.Add(Image(grey));
            while (Math.Max(grey.Rows, grey.Columns) > 512)
            {
                grey = ShownImage.Resample(grey, (grey.Rows + 1) / 2, (grey.Columns + 1) / 2);
                levels.Add(Image(grey));
            }
        }

        // The level whose pixels are drawn at least half and at most their own size, or the finest.
        int level = Math.Clamp((int)Math.Floor(Math.Log2(1 / Math.Max(scale, 1e-6))), 0, levels.Count - 1);
        SKPoint from = onStage(new PixelPoint(X: -0.5, Y: -0.5));
        SKPoint to = onStage(new PixelPoint(X: radiograph.Columns - 0.5, Y: radiograph.Rows - 0.5));
        canvas.DrawImage(levels[level], new SKRect(from.X, from.Y, to.X, to.Y), scale > 1.5 ? new SKSamplingOptions(SKCubicResampler.Mitchell) : new SKSamplingOptions(SKFilterMode.Linear));

        static SKImage Image(Raster<byte> grey)
            => SKImage.FromPixelCopy(new SKImageInfo(grey.Columns, grey.Rows, SKColorType.Gray8, SKAlphaType.Opaque), (ReadOnlySpan<byte>)grey.Samples, grey.Columns);
    }

    private void DrawMarks(PaintedView view, Func<PixelPoint, SKPoint> onStage)
    {
        var painter = new MarkPainter(canvas, 0.85 * unit);
        foreach (StyledMark mark in view.Marks)
        {
            painter.Draw(new OverlayMark(mark.Style.Kind, [.. mark.Points.Select(Moved)], mark.IsClosed), mark.Style);
        }

        foreach (IReadOnlyList<PixelPoint> stroke in view.Strokes.Where(stroke => stroke.Count > 0))
        {
            using var builder = new SKPathBuilder();
            builder.MoveTo(onStage(stroke[0]));
            foreach (PixelPoint place in stroke.Skip(1))
            {
                builder.LineTo(onStage(place));
            }

            using SKPath path = builder.Detach();
            foreach ((string color, double width) in new[] { (MarkStyles.CasingColor, 7.0), (StrokeColor, 4.0) })
            {
                using var pen = new SKPaint { Color = SKColor.Parse(color), Style = SKPaintStyle.Stroke, StrokeWidth = (float)(width * unit), StrokeCap = SKStrokeCap.Round, StrokeJoin = SKStrokeJoin.Round, IsAntialias = true };
                canvas.DrawPath(path, pen);
            }
        }

        if (view.Pointer is { } pointer)
        {
            SKPoint at = onStage(pointer);
            foreach ((string color, double width) in new[] { (MarkStyles.CasingColor, 6.0), (StrokeColor, 3.0) })
            {
                using var pen = new SKPaint { Color = SKColor.Parse(color), Style = SKPaintStyle.Stroke, StrokeWidth = (float)(width * unit), IsAntialias = true };
                canvas.DrawCircle(at, (float)(15 * unit), pen);
            }
        }

        PixelPoint Moved(PixelPoint place)
        {
            SKPoint at = onStage(place);
            return new PixelPoint(X: at.X, Y: at.Y);
        }
    }

    private void DrawWords(PaintedView view)
    {
        SheetColors colors = SheetColors.Of(PictureSurround.Dim);
        double pad = 16 * unit;
        double placeSize = 16 * unit;
        double placeWidth = text.Width(EmbeddedFonts.Printable(view.Place), TextWeight.Regular, placeSize);
        Write(text.Shorten(view.Heading, TextWeight.SemiBold, 20 * unit, bitmap.Width - placeWidth - (4 * pad)), TextWeight.SemiBold, 20 * unit, colors.Text, pad, 31 * unit);
        Write(EmbeddedFonts.Printable(view.Place), TextWeight.Regular, placeSize, colors.Quiet, bitmap.Width - pad - placeWidth, 30 * unit);
        double foot = bitmap.Height - (10 * unit);
        double noticeSize = 14 * unit;
        double noticeWidth = view.Notice.Length == 0 ? 0 : text.Width(EmbeddedFonts.Printable(view.Notice), TextWeight.SemiBold, noticeSize);
        double footSize = 13.5 * unit;
        double room = bitmap.Width - (2 * pad) - (noticeWidth > 0 ? noticeWidth + (2 * pad) : 0);
        double wide = text.Width(EmbeddedFonts.Printable(view.Footer), TextWeight.Regular, footSize);
        footSize = wide > room ? Math.Max(7 * unit, footSize * room / wide) : footSize;
        Write(text.Shorten(view.Footer, TextWeight.Regular, footSize, room), TextWeight.Regular, footSize, colors.Quiet, pad, foot);
        if (noticeWidth > 0)
        {
            Write(EmbeddedFonts.Printable(view.Notice), TextWeight.SemiBold, noticeSize, StrokeColor, bitmap.Width - pad - noticeWidth, foot);
        }

        if (!hasCaption || view.Caption.Length == 0)
        {
            return;
        }

        double size = 23 * unit;
        IReadOnlyList<string> lines = text.Wrap(view.Caption, TextWeight.Regular, size, bitmap.Width - (6 * pad));
        while (lines.Count > 2 && size > 13 * unit)
        {
            size -= unit;
            lines = text.Wrap(view.Caption, TextWeight.Regular, size, bitmap.Width - (6 * pad));
        }

        double middle = bitmap.Height - ((FootPixels + (CaptionPixels / 2)) * unit);
        double leading = 1.3 * size;
        for (int line = 0; line < lines.Count; line++)
        {
            double width = text.Width(lines[line], TextWeight.Regular, size);
            Write(lines[line], TextWeight.Regular, size, colors.Text, (bitmap.Width - width) / 2, middle + ((line - ((lines.Count - 1) / 2.0)) * leading) + (0.35 * size));
        }
    }

    private void Write(string words, TextWeight weight, double size, string color, double x, double baseline)
    {
        using var ink = new SKPaint { Color = SKColor.Parse(color), IsAntialias = true };
        canvas.DrawText(words, (float)x, (float)baseline, SKTextAlign.Left, text.Font(weight, size), ink);
    }
}
