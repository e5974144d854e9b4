using System.Runtime.InteropServices;
using Hotlight.Core;
using SkiaSharp;

namespace Hotlight.Drawing;

/// <summary>The bitmap a picture is drawn on, and its way to a file.</summary>
internal static class PictureSurface
{
    /// <summary>An opaque bitmap; the caller disposes it.</summary>
    public static SKBitmap Create(int width, int height)
    {
        var bitmap = new SKBitmap();
        if (!bitmap.TryAllocPixels(new SKImageInfo(width, height, SKColorType.Rgba8888, SKAlphaType.Opaque)))
        {
            bitmap.Dispose();
            throw new InvalidOperationException($"There is not enough memory for a picture of {width} × {height} pixels.");
        }

        return bitmap;
    }

    /// <summary>Draws grey values pixel for pixel.</summary>
    public static void DrawGrey(SKCanvas canvas, Raster<byte> grey, int left, int top)
    {
        ReadOnlySpan<byte> samples = grey.Samples;
        using SKImage image = SKImage.FromPixelCopy(new SKImageInfo(grey.Columns, grey.Rows, SKColorType.Gray8, SKAlphaType.Opaque), samples, grey.Columns);
        canvas.DrawImage(image, left, top, new SKSamplingOptions(SKFilterMode.Nearest));
    }

    /// <summary>The bitmap as a PNG file.</summary>
    public static byte[] ToPng(SKBitmap bitmap)
    {
        using SKPixmap pixels = bitmap.PeekPixels();
        using SKData data = pixels.Encode(new SKPngEncoderOptions(SKPngEncoderFilterFlags.Sub | SKPngEncoderFilterFlags.Up, 6))
            ?? throw new InvalidOperationException("The picture could not be encoded.");
        byte[] content = new byte[data.Size];
        Marshal.Copy(data.Data, content, 0, content.Length);
        return content;
    }
}
