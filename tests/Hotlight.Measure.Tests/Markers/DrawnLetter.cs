using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Tests.Markers;

/// <summary>A side marker put into a radiograph's pixels: block strokes with square ends, of lead (blurred, noisy, with what scatter leaves) or drawn (one value).</summary>
/// <remarks>Written for the tests alone; no font and no code in common with the phantom lab, the training or the measure.</remarks>
internal sealed record DrawnLetter(string Text, PixelPoint Centre, double HeightPixels)
{
    // Between the letters of a word, in heights.
    private const double Gap = 0.2;

    public DrawnLetter(char letter, PixelPoint centre, double heightPixels)
        : this(letter.ToString(), centre, heightPixels)
    {
    }

    public double TurnDegrees { get; init; }

    public bool Mirrored { get; init; }

    /// <summary>Value of a drawn letter; null: lead.</summary>
    public ushort? DrawnValue { get; init; }

    /// <summary>Signal under the lead as a share of what would be there without it.</summary>
    public double ScatterShare { get; init; } = 0.08;

    /// <summary>Width of a stroke over the height.</summary>
    public double StrokeShare { get; init; } = 0.16;

    /// <summary>The radiograph with the letter; the given one stays as it is.</summary>
    public Radiograph On(Radiograph radiograph)
    {
        var random = new Random(11);
        var pixels = new Raster<ushort>(radiograph.Rows, radiograph.Columns);
        radiograph.Pixels.Samples.CopyTo(pixels.Samples);
        (double sin, double cos) = Math.SinCos(TurnDegrees * Math.PI / 180);
        double reach = HeightPixels * (1 + (0.42 * (Text.Length - 1)));
        for (int row = Math.Max(0, (int)(Centre.Y - reach)); row < Math.Min(pixels.Rows, Centre.Y + reach); row++)
        {
            for (int column = Math.Max(0, (int)(Centre.X - reach)); column < Math.Min(pixels.Columns, Centre.X + reach); column++)
            {
                double x = column - Centre.X, y = row - Centre.Y;
                double across = ((x * cos) + (y * sin)) * (Mirrored ? -1 : 1), along = (y * cos) - (x * sin);
                double outside = Outside(across / HeightPixels, along / HeightPixels) * HeightPixels;
                if (DrawnValue is { } value)
                {
                    pixels[row, column] = outside < 0 ? value : pixels[row, column];
                    continue;
                }

                // A blur of about 1.2 pixels sigma across the edge; noise of a twentieth of the scatter signal.
                double covered = 1 / (1 + Math.Exp(outside / 0.75));
                double noise = 1 + (0.05 * (random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5));
                double through = (1 - covered) + (covered * ScatterShare * noise);
                bool more = radiograph.RelationshipSign > 0;
                double signal = more ? pixels[row, column] : radiograph.PixelMaximum - pixels[row, column];
                double left = Math.Clamp(signal * through, 0, radiograph.PixelMaximum);
                pixels[row, column] = (ushort)Math.Round(more ? left : radiograph.PixelMaximum - left);
            }
        }

        return radiograph with { Pixels = pixels };
    }

    // Signed distance to the strokes, in heights.
    private double Outside(double x, double y)
    {
        double least = double.MaxValue, at = -(Text.Sum(Wide) + (Gap * (Text.Length - 1))) / 2;
        foreach (char letter in Text)
        {
            least = Math.Min(least, Outside(letter, x - at - (Wide(letter) / 2), y));
            at += Wide(letter) + Gap;
        }

        return least;
    }

    private double Wide(char letter) => letter == 'I' ? StrokeShare : 0.64;

    private double Outside(char letter, double x, double y)
    {
        double t = StrokeShare, half = t / 2;
        double stem = Box(x + 0.32 - half, y, half, 0.5);
        double top = Box(x, y + 0.5 - half, 0.32, half), bottom = Box(x, y - 0.5 + half, 0.32, half);
        switch (letter)
        {
            case 'I':
                return Box(x, y, half, 0.5);
            case 'T':
                return Math.Min(top, Box(x, y, half, 0.5));
            case 'F':
                return Math.Min(stem, Math.Min(top, Box(x + 0.04, y, 0.28, half)));
            case 'E':
                return Math.Min(stem, Math.Min(Math.Min(top, bottom), Box(x + 0.04, y, 0.28, half)));
            case 'H':
                return Math.Min(stem, Math.Min(Box(x - 0.32 + half, y, half, 0.5), Box(x, y, 0.32, half)));
            case 'G':
                return Math.Min(Math.Min(stem, Math.Min(top, bottom)), Math.Min(Box(x - 0.32 + half, y - 0.26, half, 0.24), Box(x - 0.18, y - 0.06, 0.14, half)));
            default:
                break;
        }

        if (letter == 'L')
        {
            return Math.Min(stem, bottom);
        }

        double middle = Box(x, y - 0.05 + half, 0.32, half), right = Box(x - 0.32 + half, y + 0.225, half, 0.275);
        return Math.Min(Math.Min(stem, top), Math.Min(Math.Min(middle, right), Leg(x, y, half)));
    }

    private static double Leg(double x, double y, double half)
    {
        // From the middle bar to the lower right corner, at 60 degrees.
        const double FromX = -0.02, FromY = 0.0, ToX = 0.27, ToY = 0.5;
        double dx = ToX - FromX, dy = ToY - FromY, length = Math.Sqrt((dx * dx) + (dy * dy));
        double along = (((x - FromX) * dx) + ((y - FromY) * dy)) / length, across = (((x - FromX) * dy) - ((y - FromY) * dx)) / length;
        return Math.Max(Box(along - (length / 2), across, length / 2, half), y - 0.5);
    }

    private static double Box(double x, double y, double halfWidth, double halfHeight)
    {
        double dx = Math.Abs(x) - halfWidth, dy = Math.Abs(y) - halfHeight;
        return Math.Sqrt(Math.Pow(Math.Max(0, dx), 2) + Math.Pow(Math.Max(0, dy), 2)) + Math.Min(0, Math.Max(dx, dy));
    }
}
