using System.Text.Json.Serialization;

namespace Hotlight.Core;

/// <summary>A place in the stored image, in pixels: x to the right, y down, the centre of the first pixel at (0, 0).</summary>
/// <remarks>Not: a (row, column) pair. Use named arguments where both could be mistaken.</remarks>
/// <param name="X">Pixels to the right of the centre of the first column.</param>
/// <param name="Y">Pixels below the centre of the first row.</param>
[JsonConverter(typeof(PixelPointJsonConverter))]
public readonly record struct PixelPoint(double X, double Y)
{
    /// <summary>The distance to another point, in pixels.</summary>
    /// <param name="other">The other point.</param>
    public double DistancePixelsTo(PixelPoint other) => Math.Sqrt(((X - other.X) * (X - other.X)) + ((Y - other.Y) * (Y - other.Y)));
}
