using System.Globalization;

namespace Hotlight.Imaging;

/// <summary>The sizes Hotlight accepts; checked before anything is allocated. See docs/methods/reading.md#limits.</summary>
internal static class ImageLimits
{
    /// <summary>Largest number of rows or columns. The largest receptor in use (35 x 43 cm) at 0.05 mm has 8600.</summary>
    public const int MaximumSide = 30_000;

    /// <summary>Largest number of pixels of one image: more than twice a stitched spine or leg; with it no reading takes 1 GB.</summary>
    public const long MaximumPixels = 64_000_000;

    /// <summary>Largest number of pixels of one picture stored as colour, which is held three times.</summary>
    public const long MaximumColourPixels = 36_000_000;

    /// <summary>Largest file, in bytes.</summary>
    public const long MaximumFileBytes = 192L * 1024 * 1024;

    /// <summary>Largest size a deflated data set may grow to, in bytes.</summary>
    public const long MaximumInflatedBytes = 160L * 1024 * 1024;

    /// <summary>Checks a size read from a header.</summary>
    public static void CheckSize(long rows, long columns)
    {
        if (rows < 1 || columns < 1)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"it says it has {rows} rows and {columns} columns; an image needs at least one of each."));
        }

        if (rows > MaximumSide || columns > MaximumSide || rows * columns > MaximumPixels)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"it says it has {rows} rows and {columns} columns; Hotlight reads at most {MaximumSide} of each and {MaximumPixels / 1_000_000} million pixels."));
        }
    }
}
