using Hotlight.Core;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>One picture of a strip.</summary>
/// <param name="Grey">0 black to 255 white, rows × columns.</param>
/// <param name="Heading">What it is, a few words.</param>
/// <param name="IsSimulated">Whether it shows a phantom: it then bears the strip's label.</param>
public sealed record StripPanel(Raster<byte> Grey, string Heading, bool IsSimulated);

/// <summary>A radiograph and pictures of a phantom side by side, each simulated one with a label on the picture itself, so that it cannot be taken for the patient's wherever the picture goes.</summary>
/// <param name="Png">The strip as a PNG file, 8 bits a channel, sRGB.</param>
/// <param name="Width">Columns of the strip.</param>
/// <param name="Height">Rows of the strip.</param>
public sealed record SimulationStrip(byte[] Png, int Width, int Height)
{
    private const int Gap = 8;
    private const int Rim = 7;
    private const double Size = 19;
    private const double LineShare = 1.3;

    /// <summary>Draws a strip.</summary>
    /// <param name="panels">Its pictures, from left to right, one or more.</param>
    /// <param name="label">The label of simulated ones.</param>
    public static SimulationStrip Draw(IReadOnlyList<StripPanel> panels, string label)
    {
        ArgumentNullException.ThrowIfNull(panels);
        ArgumentException.ThrowIfNullOrWhiteSpace(label);
        ArgumentOutOfRangeException.ThrowIfZero(panels.Count);
        var colors = SheetColors.Of(PictureSurround.Dim);
        using var setting = new TextSetting();
        IReadOnlyList<string>[] headings = [.. panels.Select(panel => setting.Wrap(panel.Heading, TextWeight.SemiBold, Size, panel.Grey.Columns - (2 * Rim)))];
        IReadOnlyList<string>[] labels = [.. panels.Select(panel => panel.IsSimulated ? setting.Wrap(label, TextWeight.SemiBold, Size, panel.Grey.Columns - (2 * Rim)) : [])];
        int line = (int)Math.Ceiling(Size * LineShare);
        int head = (headings.Max(lines => lines.Count) * line) + (2 * Rim), foot = (labels.Max(lines => lines.Count) * line) + (2 * Rim);
        int tall = panels.Max(panel => panel.Grey.Rows);
        int width = panels.Sum(panel => panel.Grey.Columns) + (Gap * (panels.Count - 1)), height = head + tall + foot;
        using SKBitmap bitmap = PictureSurface.Create(width, height);
        using (var canvas = new SKCanvas(bitmap))
        using (var ink = new SKPaint { Color = SheetColors.Parse(colors.Text), IsAntialias = true })
        using (var warning = new SKPaint { Color = SheetColors.Parse(LabelColor), IsAntialias = true })
        {
            canvas.Clear(SheetColors.Parse(colors.Sheet));
            int left = 0;
            for (int place = 0; place < panels.Count; place++)
            {
                StripPanel panel = panels[place];
                PictureSurface.DrawGrey(canvas, panel.Grey, left, head);
                Write(canvas, setting, headings[place], left, panel.Grey.Columns, Rim, line, ink);
                Write(canvas, setting, labels[place], left, panel.Grey.Columns, head + panel.Grey.Rows + Rim, line, warning);
                left += panel.Grey.Columns + Gap;
            }
        }

        return new SimulationStrip(PictureSurface.ToPng(bitmap), width, height);
    }

    private const string LabelColor = "#FFB65C";

    private static void Write(SKCanvas canvas, TextSetting setting, IReadOnlyList<string> lines, int left, int wide, int top, int line, SKPaint paint)
    {
        SKFont font = setting.Font(TextWeight.SemiBold, Size);
        for (int place = 0; place < lines.Count; place++)
        {
            float x = left + ((wide - (float)setting.Width(lines[place], TextWeight.SemiBold, Size)) / 2);
            canvas.DrawText(lines[place], x, top + (place * line) + (float)(Size * 0.95), SKTextAlign.Left, font, paint);
        }
    }
}
