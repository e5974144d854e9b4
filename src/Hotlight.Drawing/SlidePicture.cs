using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>What stands on a slide beside the radiograph.</summary>
/// <param name="Title">Title of the slide.</param>
/// <param name="Lines">Sentences below it, the most important first; what has no room is left out, and the slide says how many.</param>
/// <param name="IsInvented">Whether the exposure is an invented one.</param>
public sealed record SlideText(string Title, IReadOnlyList<string> Lines, bool IsInvented);

/// <summary>A radiograph with its marks and a few sentences as a slide of 1920 × 1080 pixels, for a talk in a dim room.</summary>
/// <remarks>Text stands beside the radiograph, never on it. Not: a diagnostic rendering; every slide says so.</remarks>
public static class SlidePicture
{
    /// <summary>Width of a slide, in pixels.</summary>
    public const int Width = 1920;

    /// <summary>Height of a slide, in pixels.</summary>
    public const int Height = 1080;

    private const int Rim = 40;
    private const int PictureWidth = 1160;
    private const int TextLeft = PictureWidth + (2 * Rim);
    private const int TextWidth = Width - TextLeft - Rim;
    private const float TitleSize = 44;
    private const float BodySize = 29;
    private const float CautionSize = 20;

    /// <summary>Draws a slide.</summary>
    /// <param name="radiograph">The radiograph; borrowed, not changed.</param>
    /// <param name="document">Its measurements.</param>
    /// <param name="text">What stands beside it.</param>
    /// <param name="showsMarks">Whether the marks are drawn on the radiograph.</param>
    /// <returns>The slide as a PNG file, 8 bits a channel, sRGB.</returns>
    public static byte[] Draw(Radiograph radiograph, MeasurementDocument document, SlideText text, bool showsMarks = true)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(document);
        ArgumentNullException.ThrowIfNull(text);
        var colors = SheetColors.Of(PictureSurround.Dim);
        using SKBitmap bitmap = PictureSurface.Create(Width, Height);
        using var setting = new TextSetting();
        using (var canvas = new SKCanvas(bitmap))
        {
            canvas.Clear(SheetColors.Parse(colors.Sheet));
            DrawRadiograph(canvas, radiograph, document, showsMarks);
            DrawText(canvas, setting, colors, text);
        }

        return PictureSurface.ToPng(bitmap);
    }

    /// <summary>The radiograph as large as the slide has room, in a frame of its own.</summary>
    private static void DrawRadiograph(SKCanvas canvas, Radiograph radiograph, MeasurementDocument document, bool showsMarks)
    {
        const int Tall = Height - (2 * Rim);
        var shown = ShownImage.Render(radiograph, LongSide(radiograph, PictureWidth, Tall), mayBeLonger: false, ShownImage.WindowMeasured(document, radiograph));
        using (var frame = new SKPaint { Color = SheetColors.Parse(SheetColors.Frame) })
        {
            canvas.DrawRect(new SKRect(Rim, Rim, Rim + PictureWidth, Rim + Tall), frame);
        }

        int left = Rim + Math.Max(0, (PictureWidth - shown.Size.Columns) / 2), top = Rim + Math.Max(0, (Tall - shown.Size.Rows) / 2);
        PictureSurface.DrawGrey(canvas, shown.Grey, left, top);
        if (document.Field.Value is { Outline.Count: > 2 } field)
        {
            DrawShade(canvas, field.Outline, new SKRect(left, top, left + shown.Size.Columns, top + shown.Size.Rows), radiograph);
        }

        if (showsMarks)
        {
            new MarkPainter(canvas, 1).DrawOverlay(OverlayMarks.From(document, radiograph.Columns, radiograph.Rows), shown.Size, new SKRectI(left, top, left + shown.Size.Columns, top + shown.Size.Rows));
        }
    }

    /// <summary>What was not exposed is bright without telling anything, and glares in a dim room: it is dimmed, not hidden.</summary>
    private static void DrawShade(SKCanvas canvas, IReadOnlyList<PixelPoint> outline, SKRect place, Radiograph radiograph)
    {
        SKPoint OnSlide(PixelPoint point) => new(
            (float)(place.Left + ((point.X + 0.5) / radiograph.Columns * place.Width)), (float)(place.Top + ((point.Y + 0.5) / radiograph.Rows * place.Height)));
        using var builder = new SKPathBuilder { FillType = SKPathFillType.EvenOdd };
        builder.AddRect(place);
        builder.MoveTo(OnSlide(outline[0]));
        foreach (PixelPoint corner in outline.Skip(1))
        {
            builder.LineTo(OnSlide(corner));
        }

        builder.Close();
        using SKPath path = builder.Detach();
        using var paint = new SKPaint { Color = SheetColors.Parse(MarkStyles.CasingColor).WithAlpha(204), IsAntialias = true };
        canvas.DrawPath(path, paint);
    }

    /// <summary>Longest side at which the radiograph fits into a frame; pixels that are not square have their true proportions.</summary>
    private static int LongSide(Radiograph radiograph, int width, int height)
    {
        double proportion = radiograph.ReceptorSpacing is { } spacing ? spacing.RowSpacingMm / spacing.ColumnSpacingMm : 1;
        double columns = radiograph.Columns, rows = radiograph.Rows * proportion;
        double scale = Math.Min((width - 16) / columns, (height - 16) / rows);
        return Math.Max(64, (int)(scale * Math.Max(columns, rows)));
    }

    private static void DrawText(SKCanvas canvas, TextSetting setting, SheetColors colors, SlideText text)
    {
        List<string> caution = [.. new[] { text.IsInvented ? "An invented exposure: no person was exposed." : null, Legend.Caution }.OfType<string>()
            .SelectMany(line => setting.Wrap(line, TextWeight.Regular, CautionSize, TextWidth))];
        float floor = Height - Rim - (caution.Count * CautionSize * 1.4f) - 20;
        float y = Rim + TitleSize;
        foreach (string line in setting.Wrap(text.Title, TextWeight.SemiBold, TitleSize, TextWidth).Take(4))
        {
            Put(line, y, TitleSize, TextWeight.SemiBold, colors.Text);
            y += TitleSize * 1.25f;
        }

        y += 18;
        for (int place = 0; place < text.Lines.Count; place++)
        {
            IReadOnlyList<string> wrapped = setting.Wrap(text.Lines[place], TextWeight.Regular, BodySize, TextWidth);
            bool isLast = place == text.Lines.Count - 1;
            float needed = (wrapped.Count + (isLast ? 0 : 1.4f)) * BodySize * 1.35f;
            if (y + needed > floor)
            {
                Put(string.Create(CultureInfo.InvariantCulture, $"and {text.Lines.Count - place} more"), y, BodySize, TextWeight.Regular, colors.Quiet);
                break;
            }

            foreach (string line in wrapped)
            {
                Put(line, y, BodySize, TextWeight.Regular, colors.Text);
                y += BodySize * 1.35f;
            }

            y += BodySize * 0.55f;
        }

        float at = Height - Rim - ((caution.Count - 1) * CautionSize * 1.4f);
        foreach (string line in caution)
        {
            Put(line, at, CautionSize, TextWeight.Regular, colors.Quiet);
            at += CautionSize * 1.4f;
        }

        void Put(string line, float baseline, float size, TextWeight weight, string color)
        {
            using var paint = new SKPaint { Color = SheetColors.Parse(color), IsAntialias = true };
            canvas.DrawText(line, TextLeft, baseline, SKTextAlign.Left, setting.Font(weight, size), paint);
        }
    }
}
