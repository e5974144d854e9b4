using SkiaSharp;

namespace Hotlight.Drawing.Tests;

/// <summary>A picture read back from its PNG file.</summary>
internal sealed class Shown
{
    private readonly SKColor[] pixels;

    public Shown(byte[] png)
    {
        using SKBitmap bitmap = SKBitmap.Decode(png) ?? throw new InvalidDataException("The bytes are no PNG.");
        (Width, Height) = (bitmap.Width, bitmap.Height);
        pixels = bitmap.Pixels;
    }

    public int Width { get; }

    public int Height { get; }

    public SKColor At(double x, double y)
    {
        (int column, int row) = ((int)Math.Floor(x), (int)Math.Floor(y));
        return column >= 0 && column < Width && row >= 0 && row < Height ? pixels[(row * Width) + column] : SKColor.Empty;
    }
}
