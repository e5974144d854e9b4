namespace Hotlight.Measure.Markers;

/// <summary>Finds places that may hold a letter: the local maxima of the finder's answer.</summary>
internal static class MarkerFinder
{
    // Most letters that are there score above 0.3; what is below 0.08 the reader never took for one in the trials.
    private const double LeastScore = 0.08;

    // An image holds a marker or two; twenty places leave room for what resembles one and bound the time.
    private const int Most = 20;

    /// <summary>The places, highest score first.</summary>
    /// <param name="image">The image as the finders look at it.</param>
    internal static List<MarkerCandidate> Find(FinderImage image)
    {
        const int Stride = MarkerNetworks.FinderStride;
        float[] answer = MarkerNetworks.Shared.Find(image.Cells, image.Rows, image.Columns);
        int rows = (image.Rows + Stride - 1) / Stride, columns = (image.Columns + Stride - 1) / Stride, plane = rows * columns;
        var found = new List<MarkerCandidate>();
        float least = (float)Math.Log(LeastScore / (1 - LeastScore));
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                int i = (row * columns) + column;
                if (!(answer[i] >= least) || !IsHighest(answer, rows, columns, row, column))
                {
                    continue;
                }

                double x = (column + answer[plane + i]) * Stride, y = (row + answer[(2 * plane) + i]) * Stride;

                // 24 cells are the height whose logarithm is 0; beyond 1.6 the finder was never trained.
                double height = 24 * Math.Exp(Math.Clamp(answer[(3 * plane) + i], -1.6f, 1.6f));
                // What is no number is no place.
                if (!double.IsFinite(x + y + height))
                {
                    continue;
                }

                found.Add(new MarkerCandidate(ToPixel(x, image.Step), ToPixel(y, image.Step), height * image.Step, 1 / (1 + Math.Exp(-answer[i]))));
            }
        }

        found.Sort((a, b) => b.Score.CompareTo(a.Score));
        return found.Count > Most ? found[..Most] : found;
    }

    /// <summary>The pixel coordinate of a cell's.</summary>
    /// <param name="cell">Coordinate in cells.</param>
    /// <param name="step">Pixels along a cell.</param>
    internal static double ToPixel(double cell, int step) => (cell * step) + ((step - 1) / 2.0);

    /// <summary>Whether no neighbour of a place has a higher answer.</summary>
    /// <param name="answer">The answer, its first plane.</param>
    /// <param name="rows">Rows of places.</param>
    /// <param name="columns">Columns of places.</param>
    /// <param name="row">The place.</param>
    /// <param name="column">The place.</param>
    internal static bool IsHighest(float[] answer, int rows, int columns, int row, int column)
    {
        float here = answer[(row * columns) + column];
        for (int r = Math.Max(0, row - 1); r <= Math.Min(rows - 1, row + 1); r++)
        {
            for (int c = Math.Max(0, column - 1); c <= Math.Min(columns - 1, column + 1); c++)
            {
                if (answer[(r * columns) + c] > here)
                {
                    return false;
                }
            }
        }

        return true;
    }
}
