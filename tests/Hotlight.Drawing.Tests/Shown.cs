using SkiaSharp;

namespace Hotlight.Drawing.Tests;

/// <summary>A picture read back from its PNG file.</summary>
internal sealed class Shown : IDisposable
{
    private readonly SKBitmap bitmap;

    public Shown(byte[] png) => bitmap = SKBitmap.Decode(png) ?? throw new InvalidDataException("The bytes are no PNG.");

    public int Width => bitmap.Width;

    public int Height => bitmap.Height;

    public SKColor At(double x, double y) => bitmap.GetPixel((int)Math.Floor(x), (int)Math.Floor(y));

    public void Dispose() => bitmap.Dispose();
}
