using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Processing;

/// <summary>Strokes drawn into the pixels: runs of exactly one extreme value that begin and end from one pixel to the next.</summary>
/// <remarks>Whatever is exposed comes through blur and noise: its value changes along a run, and its edge takes several pixels.</remarks>
internal static class DrawnStrokes
{
    // A stroke is no longer than this share of the image's width; longer runs are masks, frames and saturation.
    private const double LongestShare = 0.06;

    // The jump at either end, as a share of the image's range, and as a share of the whole change to eight pixels away.
    private const double LeastJump = 0.2;
    private const double LeastShareOfChange = 0.75;

    /// <summary>Number of such runs in every second row, and their middle; of the value with more.</summary>
    /// <param name="radiograph">The radiograph.</param>
    public static (int Runs, PixelPoint Middle) Count(Radiograph radiograph)
    {
        (int Runs, PixelPoint Middle) high = Runs(radiograph, (ushort)radiograph.PixelMaximum), low = Runs(radiograph, 0);
        return high.Runs >= low.Runs ? high : low;
    }

    private static (int Runs, PixelPoint Middle) Runs(Radiograph radiograph, ushort value)
    {
        int longest = Math.Max(8, (int)(LongestShare * radiograph.Columns)), runs = 0;
        double least = LeastJump * radiograph.PixelMaximum, x = 0, y = 0;
        for (int row = 0; row < radiograph.Rows; row += 2)
        {
            ReadOnlySpan<ushort> line = radiograph.Pixels.Row(row);
            int at = 0;
            while (at < line.Length)
            {
                int next = line[at..].IndexOf(value);
                if (next < 0)
                {
                    break;
                }

                int first = at + next, length = line[first..].IndexOfAnyExcept(value);
                if (length < 0)
                {
                    break;
                }

                at = first + length;
                if (length >= 3 && length <= longest && first >= 8 && at + 8 <= line.Length)
                {
                    int left = Math.Abs(value - line[first - 1]), right = Math.Abs(value - line[at]);
                    int farLeft = Math.Abs(value - line[first - 8]), farRight = Math.Abs(value - line[at + 7]);
                    if (Math.Min(left, right) > least && left > LeastShareOfChange * farLeft && right > LeastShareOfChange * farRight)
                    {
                        runs++;
                        x += first + ((length - 1) / 2.0);
                        y += row;
                    }
                }
            }
        }

        return runs == 0 ? (0, default) : (runs, new PixelPoint(X: x / runs, Y: y / runs));
    }
}
