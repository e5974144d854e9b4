using Hotlight.Core;

namespace Hotlight.Measure.Artifacts;

/// <summary>For each row, the columns that lie in the exposed field with a margin.</summary>
internal sealed class FieldSpan
{
    private readonly int[] first;
    private readonly int[] end;

    private FieldSpan(int rows, int columns)
    {
        Columns = columns;
        first = new int[rows];
        end = new int[rows];
    }

    public int Rows => first.Length;

    public int Columns { get; }

    /// <summary>The columns of a row from First up to, not including, End; none where End ≤ First.</summary>
    public (int First, int End) Row(int row) => (first[row], end[row]);

    public bool Holds(int row, int column) => row >= 0 && row < first.Length && column >= first[row] && column < end[row];

    /// <summary>The span of a convex outline.</summary>
    /// <param name="rows">Rows of the image.</param>
    /// <param name="columns">Columns of the image.</param>
    /// <param name="outline">The field's outline, in pixels.</param>
    /// <param name="marginPixels">Taken off on all sides: the penumbra.</param>
    public static FieldSpan Of(int rows, int columns, IReadOnlyList<PixelPoint> outline, double marginPixels)
    {
        var span = new FieldSpan(rows, columns);
        double middleX = outline.Average(corner => corner.X), middleY = outline.Average(corner => corner.Y);
        for (int row = 0; row < rows; row++)
        {
            double from = 0, to = columns - 1;
            for (int corner = 0; corner < outline.Count; corner++)
            {
                PixelPoint a = outline[corner], b = outline[(corner + 1) % outline.Count];
                double nx = b.Y - a.Y, ny = a.X - b.X, length = Math.Sqrt((nx * nx) + (ny * ny));
                if (length < 1e-9)
                {
                    continue;
                }

                // n·p ≥ n·a + margin inside; turn n so that the middle is inside.
                double side = (nx * (middleX - a.X)) + (ny * (middleY - a.Y)) < 0 ? -1 : 1;
                nx *= side / length;
                ny *= side / length;
                bool atFrame = IsAtFrame(a, b, rows, columns);
                double rho = (nx * a.X) + (ny * a.Y) + (atFrame ? 0 : marginPixels), rest = rho - (ny * row);
                if (Math.Abs(nx) < 1e-9)
                {
                    if (rest > 0)
                    {
                        to = -1;
                    }
                }
                else if (nx > 0)
                {
                    from = Math.Max(from, rest / nx);
                }
                else
                {
                    to = Math.Min(to, rest / nx);
                }
            }

            // A side a billionth off the level puts both ends far beyond the frame: kept to it, so that no sum or difference of them overflows.
            span.first[row] = (int)Math.Clamp(Math.Ceiling(from - 1e-6), 0, columns);
            span.end[row] = (int)Math.Clamp(Math.Floor(to + 1e-6) + 1, 0, columns);
        }

        return span;
    }

    private static bool IsAtFrame(PixelPoint a, PixelPoint b, int rows, int columns)
    {
        const double Near = 1.5;
        return (a.X < Near && b.X < Near) || (a.Y < Near && b.Y < Near)
            || (a.X > columns - 1 - Near && b.X > columns - 1 - Near) || (a.Y > rows - 1 - Near && b.Y > rows - 1 - Near);
    }
}
