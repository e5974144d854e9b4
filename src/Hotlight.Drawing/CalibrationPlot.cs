using System.Globalization;
using Hotlight.Core;
using Hotlight.Measure.Exposure;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>A picture of a calibration: the flat exposures with the fitted relation above, what the fit leaves below.</summary>
public static class CalibrationPlot
{
    private const int Width = 900;
    private const int Height = 760;
    private const float Left = 96;
    private const float Right = 868;
    private const float UpperTop = 96;
    private const float UpperBottom = 440;
    private const float LowerTop = 500;
    private const float LowerBottom = 660;
    private const double TextSize = 17;
    private const double SmallSize = 14;
    private const string PointColor = "#B4470F";
    private const string CurveColor = "#1F5FA8";

    /// <summary>Writes the picture whole or not at all: SVG where the name ends in .svg, otherwise PNG.</summary>
    /// <param name="path">Path of the target.</param>
    /// <param name="fit">The calibration.</param>
    /// <exception cref="IOException">It cannot be written; the message is one sentence.</exception>
    public static void Save(string path, CalibrationFit fit)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(path);
        ArgumentNullException.ThrowIfNull(fit);
        PictureFile.Write(path, string.Equals(Path.GetExtension(path), ".svg", StringComparison.OrdinalIgnoreCase) ? Svg(fit) : Png(fit));
    }

    /// <summary>The picture as a PNG file.</summary>
    /// <param name="fit">The calibration.</param>
    public static byte[] Png(CalibrationFit fit)
    {
        ArgumentNullException.ThrowIfNull(fit);
        using SKBitmap bitmap = PictureSurface.Create(Width, Height);
        using (var canvas = new SKCanvas(bitmap))
        {
            Draw(canvas, fit);
        }

        return PictureSurface.ToPng(bitmap);
    }

    /// <summary>The picture as an SVG file.</summary>
    /// <param name="fit">The calibration.</param>
    public static byte[] Svg(CalibrationFit fit)
    {
        ArgumentNullException.ThrowIfNull(fit);
        using var stream = new MemoryStream();
        using (SKCanvas canvas = SKSvgCanvas.Create(new SKRect(0, 0, Width, Height), stream))
        {
            Draw(canvas, fit);
        }

        return stream.ToArray();
    }

    private static void Draw(SKCanvas canvas, CalibrationFit fit)
    {
        SheetColors colors = SheetColors.Of(PictureSurround.Paper);
        using var text = new TextSetting();
        using var pen = new Pen(canvas, text, colors);
        canvas.Clear(SheetColors.Parse(colors.Sheet));
        double lowest = fit.Points[0].KermaMicrogray / 1.3;
        double highest = fit.Points[^1].KermaMicrogray * 1.3;
        double[] values = [.. fit.Points.Select(point => point.ModalityValue), ValueAt(fit.Calibration, lowest), ValueAt(fit.Calibration, highest)];
        Axis upper = Axis.Around(values.Min(), values.Max());
        double most = Math.Max(5, 1.2 * fit.ResidualsPercent.Max(Math.Abs));
        Axis lower = Axis.Around(-most, most);
        float X(double kerma) => Left + ((Right - Left) * (float)(Math.Log(kerma / lowest) / Math.Log(highest / lowest)));
        float Upper(double value) => UpperBottom - ((UpperBottom - UpperTop) * (float)((value - upper.From) / (upper.To - upper.From)));
        float Lower(double percent) => LowerBottom - ((LowerBottom - LowerTop) * (float)((percent - lower.From) / (lower.To - lower.From)));

        pen.Text("Calibration of the receptor by flat exposures", Left, 42, TextWeight.SemiBold, 22);
        pen.Text(Relation(fit), Left, 70, TextWeight.Regular, TextSize);
        foreach (double tick in KermaTicks(lowest, highest))
        {
            pen.Line(X(tick), UpperTop, X(tick), UpperBottom, colors.Rule, 1);
            pen.Line(X(tick), LowerTop, X(tick), LowerBottom, colors.Rule, 1);
            pen.Centred(tick.ToString("0.###", CultureInfo.InvariantCulture), X(tick), LowerBottom + 22, SmallSize);
        }

        foreach (double tick in upper.Ticks)
        {
            pen.Line(Left, Upper(tick), Right, Upper(tick), colors.Rule, 1);
            pen.RightOf(tick.ToString("0.###", CultureInfo.InvariantCulture), Left - 10, Upper(tick) + 5, SmallSize);
        }

        foreach (double tick in lower.Ticks)
        {
            pen.Line(Left, Lower(tick), Right, Lower(tick), tick == 0 ? colors.Quiet : colors.Rule, tick == 0 ? 1.5f : 1);
            pen.RightOf(tick.ToString("+0.#;−0.#;0", CultureInfo.InvariantCulture), Left - 10, Lower(tick) + 5, SmallSize);
        }

        pen.Text("Pixel value (modality value)", Left, UpperTop - 6, TextWeight.Regular, SmallSize);
        pen.Text("Kerma by the calibration less the measured kerma, %", Left, LowerTop - 10, TextWeight.Regular, SmallSize);
        pen.Centred("Air kerma at the receptor, µGy", (Left + Right) / 2, LowerBottom + 48, TextSize);

        using (var curve = new SKPathBuilder())
        {
            const int Steps = 120;
            for (int step = 0; step <= Steps; step++)
            {
                double kerma = lowest * Math.Pow(highest / lowest, (double)step / Steps);
                var at = new SKPoint(X(kerma), Math.Clamp(Upper(ValueAt(fit.Calibration, kerma)), UpperTop, UpperBottom));
                if (step == 0)
                {
                    curve.MoveTo(at);
                }
                else
                {
                    curve.LineTo(at);
                }
            }

            using SKPath path = curve.Detach();
            pen.Path(path, CurveColor, 2.5f);
        }

        for (int point = 0; point < fit.Points.Count; point++)
        {
            pen.Dot(X(fit.Points[point].KermaMicrogray), Upper(fit.Points[point].ModalityValue), PointColor);
            pen.Line(X(fit.Points[point].KermaMicrogray), Lower(0), X(fit.Points[point].KermaMicrogray), Lower(fit.ResidualsPercent[point]), PointColor, 1.5f);
            pen.Dot(X(fit.Points[point].KermaMicrogray), Lower(fit.ResidualsPercent[point]), PointColor);
        }

        pen.Text("For education and quality improvement; not a diagnostic device. Made for one receptor and one way of reading it.", Left, Height - 18, TextWeight.Regular, SmallSize);
    }

    private static string Relation(CalibrationFit fit)
    {
        Calibration calibration = fit.Calibration;
        string sign = calibration.Gain < 0 ? "−" : "+";
        string unit = calibration.Relationship switch
        {
            Imaging.PixelRelationship.Linear => "K",
            Imaging.PixelRelationship.Logarithmic => "log10 K",
            _ => "√K",
        };
        return string.Create(
            CultureInfo.InvariantCulture,
            $"value = {calibration.Offset:0.###;−0.###;0} {sign} {Math.Abs(calibration.Gain):0.####} · {unit}; {fit.Points.Count} exposures, residuals {fit.ResidualDeviationPercent:0.0} % (one standard deviation)");
    }

    private static double ValueAt(Calibration calibration, double kerma) => calibration.Offset + (calibration.Gain * calibration.Relationship switch
    {
        Imaging.PixelRelationship.Linear => kerma,
        Imaging.PixelRelationship.Logarithmic => Math.Log10(kerma),
        _ => Math.Sqrt(kerma),
    });

    private static IEnumerable<double> KermaTicks(double lowest, double highest)
    {
        for (int decade = (int)Math.Floor(Math.Log10(lowest)); decade <= Math.Log10(highest); decade++)
        {
            foreach (double digit in (double[])[1, 2, 5])
            {
                double tick = digit * Math.Pow(10, decade);
                if (tick >= lowest && tick <= highest)
                {
                    yield return tick;
                }
            }
        }
    }

    /// <summary>An axis with round ticks.</summary>
    private sealed record Axis(double From, double To, IReadOnlyList<double> Ticks)
    {
        public static Axis Around(double lowest, double highest)
        {
            double range = Math.Max(highest - lowest, 1e-9);
            double rough = range / 5;
            double decade = Math.Pow(10, Math.Floor(Math.Log10(rough)));
            double step = decade * (rough / decade) switch
            {
                < 1.5 => 1,
                < 3.5 => 2,
                < 7.5 => 5,
                _ => 10,
            };
            double from = Math.Floor(lowest / step) * step;
            double to = Math.Ceiling(highest / step) * step;
            return new Axis(from, to, [.. Enumerable.Range(0, (int)Math.Round((to - from) / step) + 1).Select(tick => Math.Round((from + (tick * step)) / step) * step)]);
        }
    }

    /// <summary>Draws lines, dots and text on the sheet.</summary>
    private sealed class Pen(SKCanvas canvas, TextSetting text, SheetColors colors) : IDisposable
    {
        private readonly SKPaint paint = new() { IsAntialias = true };

        public void Line(float x1, float y1, float x2, float y2, string color, float width)
        {
            Set(color, SKPaintStyle.Stroke, width);
            canvas.DrawLine(x1, y1, x2, y2, paint);
        }

        public void Path(SKPath path, string color, float width)
        {
            Set(color, SKPaintStyle.Stroke, width);
            canvas.DrawPath(path, paint);
        }

        public void Dot(float x, float y, string color)
        {
            Set(color, SKPaintStyle.Fill, 0);
            canvas.DrawCircle(x, y, 5, paint);
        }

        public void Text(string words, float x, float y, TextWeight weight, double size)
        {
            Set(colors.Text, SKPaintStyle.Fill, 0);
            canvas.DrawText(EmbeddedFonts.Printable(words), x, y, SKTextAlign.Left, text.Font(weight, size), paint);
        }

        public void Centred(string words, float x, float y, double size) => Text(words, x - (float)(text.Width(words, TextWeight.Regular, size) / 2), y, TextWeight.Regular, size);

        public void RightOf(string words, float x, float y, double size) => Text(words, x - (float)text.Width(words, TextWeight.Regular, size), y, TextWeight.Regular, size);

        public void Dispose() => paint.Dispose();

        private void Set(string color, SKPaintStyle style, float width)
        {
            paint.Color = SheetColors.Parse(color);
            paint.Style = style;
            paint.StrokeWidth = width;
        }
    }
}
