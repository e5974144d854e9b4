using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>The radiograph as a picture: rendered as it asks to be shown, with the marks and the figures of its measurements.</summary>
/// <remarks>
/// <para>Text stands beside the radiograph or around it, never on it. Design, colours and their check: docs/methods/picture.md.</para>
/// <para>Not: a diagnostic rendering; every picture says so.</para>
/// </remarks>
public static class RadiographPicture
{
    /// <summary>Draws a picture.</summary>
    /// <param name="radiograph">The radiograph; borrowed, not changed.</param>
    /// <param name="document">Its measurements.</param>
    /// <param name="options">How the picture is made; null: for print.</param>
    /// <returns>The picture as a PNG file, 8 bits a channel, sRGB.</returns>
    /// <exception cref="ArgumentException">The document measures an image of another size.</exception>
    public static byte[] Draw(Radiograph radiograph, MeasurementDocument document, PictureOptions? options = null)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(document);
        if (document.Image.Value is { } image && (image.Columns != radiograph.Columns || image.Rows != radiograph.Rows))
        {
            throw new ArgumentException($"The document measures an image of {image.Columns} × {image.Rows} pixels; this radiograph has {radiograph.Columns} × {radiograph.Rows}.", nameof(document));
        }

        options ??= new PictureOptions();
        ShownImage shown = ShownImage.Render(radiograph, options.LongSidePixels, mayBeLonger: true, ShownImage.WindowMeasured(document, radiograph));
        using var setting = new TextSetting();
        PictureLayout layout = PictureLayout.Of(radiograph, document, shown.Size, options, setting);
        using SKBitmap bitmap = PictureSurface.Create(layout.Width, layout.Height);
        using (var canvas = new SKCanvas(bitmap))
        {
            Paint(canvas, layout, shown, options.ShowsMarks ? OverlayMarks.From(document, radiograph.Columns, radiograph.Rows) : [], SheetColors.Of(options.Surround), setting);
        }

        return PictureSurface.ToPng(bitmap);
    }

    /// <summary>Draws a picture into a file. The file is whole or not there: it is written beside its place and then put there.</summary>
    /// <param name="path">Path of the PNG file; an older one is replaced.</param>
    /// <param name="radiograph">The radiograph; borrowed, not changed.</param>
    /// <param name="document">Its measurements.</param>
    /// <param name="options">How the picture is made; null: for print.</param>
    /// <exception cref="IOException">The file cannot be written; the message is one sentence that names it.</exception>
    /// <exception cref="ArgumentException">The document measures an image of another size.</exception>
    public static void Save(string path, Radiograph radiograph, MeasurementDocument document, PictureOptions? options = null)
        => PictureFile.Write(path, Draw(radiograph, document, options));

    private static void Paint(SKCanvas canvas, PictureLayout layout, ShownImage shown, IReadOnlyList<OverlayMark> marks, SheetColors colors, TextSetting setting)
    {
        canvas.Clear(SheetColors.Parse(colors.Sheet));
        using (var frame = new SKPaint { Color = SheetColors.Parse(SheetColors.Frame) })
        {
            canvas.DrawRect(layout.Frame, frame);
        }

        PictureSurface.DrawGrey(canvas, shown.Grey, layout.Image.Left, layout.Image.Top);
        var painter = new MarkPainter(canvas, layout.Unit);
        painter.DrawOverlay(marks, shown.Size, layout.Image);
        foreach (PlacedLeader leader in layout.Leaders)
        {
            painter.DrawLeader(leader.From, leader.To);
        }

        using (var rule = new SKPaint { Color = SheetColors.Parse(colors.Rule) })
        {
            foreach (SKRect place in layout.Rules)
            {
                canvas.DrawRect(place, rule);
            }
        }

        foreach (PlacedKey key in layout.Keys)
        {
            painter.DrawKey(key.Kind, key.Bounds);
        }

        if (layout.ScaleBar is { } bar)
        {
            PaintScaleBar(canvas, bar, layout.Unit);
        }

        foreach (PlacedText text in layout.Texts)
        {
            using var paint = new SKPaint
            {
                Color = SheetColors.Parse(text.Tone switch { TextTone.Frame => SheetColors.FrameText, TextTone.Quiet => colors.Quiet, _ => colors.Text }),
                IsAntialias = true,
            };
            canvas.Save();
            canvas.RotateDegrees(90 * text.Quarter, text.Baseline.X, text.Baseline.Y);
            canvas.DrawText(text.Text, text.Baseline, SKTextAlign.Left, setting.Font(text.Weight, text.SizePixels), paint);
            canvas.Restore();
        }
    }

    private static void PaintScaleBar(SKCanvas canvas, PlacedScaleBar bar, double unit)
    {
        using var paint = new SKPaint { Color = SheetColors.Parse(SheetColors.FrameText), StrokeWidth = (float)(2.2 * unit), Style = SKPaintStyle.Stroke, IsAntialias = true };
        canvas.DrawLine(bar.From, bar.To, paint);
        for (int part = 0; part <= 4; part++)
        {
            float x = bar.From.X + (part / 4f * (bar.To.X - bar.From.X));
            float half = (float)((part % 4 == 0 ? 9 : part == 2 ? 6 : 4) * unit);
            canvas.DrawLine(x, bar.From.Y - half, x, bar.From.Y + (part % 4 == 0 ? half : 0), paint);
        }
    }
}
