using Hotlight.Core;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>Draws marks on a canvas.</summary>
/// <param name="canvas">The canvas; borrowed.</param>
/// <param name="unit">Drawn pixels per style pixel.</param>
internal sealed class MarkPainter(SKCanvas canvas, double unit)
{
    /// <summary>Draws marks given in stored pixels over an image.</summary>
    /// <param name="marks">The marks, in drawing order.</param>
    /// <param name="size">How large the image is drawn.</param>
    /// <param name="image">Where it is drawn.</param>
    public void DrawOverlay(IReadOnlyList<OverlayMark> marks, DrawnSize size, SKRectI image)
    {
        canvas.Save();
        SKRect clip = image;
        clip.Inflate((float)(4 * unit), (float)(4 * unit));
        canvas.ClipRect(clip);
        foreach (OverlayMark mark in marks)
        {
            Draw(mark with { Points = [.. mark.Points.Select(point => OnSheet(point, size, image))] });
        }

        canvas.Restore();
    }

    /// <summary>The place on the sheet of a place in the stored image.</summary>
    public static PixelPoint OnSheet(PixelPoint stored, DrawnSize size, SKRectI image)
        => new(X: image.Left + ((stored.X + 0.5) * size.ScaleX), Y: image.Top + ((stored.Y + 0.5) * size.ScaleY));

    /// <summary>Draws one mark given in pixels of the canvas.</summary>
    public void Draw(OverlayMark mark) => Draw(mark, MarkStyles.Of(mark.Kind));

    /// <summary>Draws one mark given in pixels of the canvas, in a style.</summary>
    public void Draw(OverlayMark mark, MarkStyle style)
    {
        IReadOnlyList<PixelPoint> points = style.Shape == MarkShape.Square ? MarkGeometry.AtLeast(mark.Points, MarkGeometry.LeastSquarePixels * unit) : mark.Points;
        using SKPath line = PathOf([points], mark.IsClosed);
        using SKPath ornament = PathOf(MarkGeometry.Ornament(mark, style.Shape, unit), isClosed: false);
        double ornamentWidth = style.WidthPixels * (style.Shape == MarkShape.Corners ? 1.5 : 0.8);
        Stroke(line, MarkStyles.CasingColor, MarkStyles.CasingOpacity, style.WidthPixels + (2 * MarkStyles.CasingPixels), style.CasingDashPixels, MarkStyles.CasingPixels);
        Stroke(ornament, MarkStyles.CasingColor, MarkStyles.CasingOpacity, ornamentWidth + (2 * MarkStyles.CasingPixels), [], 0);
        Stroke(line, style.Color, 1, style.WidthPixels, style.DashPixels, 0);
        Stroke(ornament, style.Color, 1, ornamentWidth, [], 0);
    }

    /// <summary>Draws a thin light line with a casing, ending in a dot.</summary>
    public void DrawLeader(SKPoint from, SKPoint to)
    {
        foreach ((string color, double opacity, double width) in new[] { (MarkStyles.CasingColor, MarkStyles.CasingOpacity, 1.4 + (2 * MarkStyles.CasingPixels)), (SheetColors.FrameText, 1.0, 1.4) })
        {
            using var paint = new SKPaint { Color = SheetColors.Parse(color, opacity), Style = SKPaintStyle.Stroke, StrokeWidth = (float)(width * unit), IsAntialias = true };
            canvas.DrawLine(from, to, paint);
            paint.Style = SKPaintStyle.Fill;
            canvas.DrawCircle(to, (float)((2 + (width / 2)) * unit), paint);
        }
    }

    /// <summary>Draws a sample of a mark on a plate.</summary>
    /// <param name="kind">The kind of mark.</param>
    /// <param name="bounds">The plate.</param>
    public void DrawKey(MarkKind kind, SKRect bounds)
    {
        using (var plate = new SKPaint { Color = SheetColors.Parse(SheetColors.KeyPlate), IsAntialias = true })
        {
            canvas.DrawRoundRect(bounds, (float)(3 * unit), (float)(3 * unit), plate);
        }

        canvas.Save();
        canvas.ClipRect(bounds);
        double middle = bounds.MidY;
        double pad = 5 * unit;
        switch (MarkStyles.Of(kind).Shape)
        {
            case MarkShape.Square:
                for (int square = 0; square < 2; square++)
                {
                    double center = bounds.Left + (bounds.Width * (square + 1) / 3);
                    Draw(new OverlayMark(kind, Box(center - (6.5 * unit), middle - (6.5 * unit), center + (6.5 * unit), middle + (6.5 * unit)), IsClosed: true));
                }

                break;
            case MarkShape.Corners:
                // One corner of a larger box: its heavy corner piece and the beginning of its dashes.
                Draw(new OverlayMark(kind, Box(bounds.Left + (1.6 * pad), middle, bounds.Left + (200 * unit), middle + (200 * unit)), IsClosed: true));
                break;
            default:
                Draw(new OverlayMark(kind, [new PixelPoint(X: bounds.Left + pad, Y: middle), new PixelPoint(X: bounds.Right - pad, Y: middle)], IsClosed: false));
                break;
        }

        canvas.Restore();

        static IReadOnlyList<PixelPoint> Box(double left, double top, double right, double bottom) =>
            [new PixelPoint(X: left, Y: top), new PixelPoint(X: right, Y: top), new PixelPoint(X: right, Y: bottom), new PixelPoint(X: left, Y: bottom)];
    }

    private static SKPath PathOf(IReadOnlyList<IReadOnlyList<PixelPoint>> lines, bool isClosed)
    {
        using var path = new SKPathBuilder();
        foreach (IReadOnlyList<PixelPoint> line in lines)
        {
            for (int point = 0; point < line.Count; point++)
            {
                var place = new SKPoint((float)line[point].X, (float)line[point].Y);
                if (point == 0)
                {
                    path.MoveTo(place);
                }
                else
                {
                    path.LineTo(place);
                }
            }

            if (isClosed)
            {
                path.Close();
            }
        }

        return path.Detach();
    }

    private void Stroke(SKPath path, string color, double opacity, double width, IReadOnlyList<double> dash, double dashOffset)
    {
        if (path.IsEmpty)
        {
            return;
        }

        using var paint = new SKPaint
        {
            Color = SheetColors.Parse(color, opacity),
            Style = SKPaintStyle.Stroke,
            StrokeWidth = (float)(width * unit),
            StrokeJoin = SKStrokeJoin.Round,
            IsAntialias = true,
        };
        using SKPathEffect? dashes = dash.Count == 0 ? null : SKPathEffect.CreateDash([.. dash.Select(length => (float)(length * unit))], (float)(dashOffset * unit));
        paint.PathEffect = dashes;
        canvas.DrawPath(path, paint);
    }
}
