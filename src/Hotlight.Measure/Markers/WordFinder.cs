namespace Hotlight.Measure.Markers;

/// <summary>A place that may hold a word.</summary>
/// <param name="X">Centre, pixels.</param>
/// <param name="Y">Centre, pixels.</param>
/// <param name="Height">Height of its letters, pixels.</param>
/// <param name="Direction">Direction of its line, radians clockwise from the right; by half turns not told.</param>
/// <param name="Score">What the finder thinks of it, 0 to 1.</param>
internal readonly record struct WordCandidate(double X, double Y, double Height, double Direction, double Score);

/// <summary>Finds places that may hold a word: the local maxima of the word finder's answer.</summary>
internal static class WordFinder
{
    // As for letters: what is there mostly scores above 0.3.
    private const double LeastScore = 0.08;

    // An image holds a word or two; each place is read four ways, so that eight bound the time.
    private const int Most = 8;

    /// <summary>The places, highest score first.</summary>
    /// <param name="image">The image as the finders look at it.</param>
    internal static List<WordCandidate> Find(FinderImage image)
    {
        const int Stride = MarkerNetworks.FinderStride;
        float[] answer = WordNetworks.Shared.Find(image.Cells, image.Rows, image.Columns);
        int rows = (image.Rows + Stride - 1) / Stride, columns = (image.Columns + Stride - 1) / Stride, plane = rows * columns;
        var found = new List<WordCandidate>();
        float least = (float)Math.Log(LeastScore / (1 - LeastScore));
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                int i = (row * columns) + column;
                if (!(answer[i] >= least) || !MarkerFinder.IsHighest(answer, rows, columns, row, column))
                {
                    continue;
                }

                double x = (column + answer[plane + i]) * Stride, y = (row + answer[(2 * plane) + i]) * Stride;

                // 24 cells are the height whose logarithm is 0; beyond 1.6 the finder was never trained.
                double height = 24 * Math.Exp(Math.Clamp(answer[(3 * plane) + i], -1.6f, 1.6f));
                double direction = Math.Atan2(answer[(5 * plane) + i], answer[(4 * plane) + i]) / 2;
                if (!double.IsFinite(x + y + height + direction))
                {
                    continue;
                }

                found.Add(new WordCandidate(MarkerFinder.ToPixel(x, image.Step), MarkerFinder.ToPixel(y, image.Step), height * image.Step, direction, 1 / (1 + Math.Exp(-answer[i]))));
            }
        }

        found.Sort((a, b) => b.Score.CompareTo(a.Score));
        return found.Count > Most ? found[..Most] : found;
    }
}
