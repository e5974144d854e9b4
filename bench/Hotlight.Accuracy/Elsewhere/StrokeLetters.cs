namespace Hotlight.Accuracy.Elsewhere;

/// <summary>Letters made of strokes, in three hands, so that no font is needed: each a list of lines in a box one high, x from 0 to its width, y down.</summary>
internal static class StrokeLetters
{
    /// <summary>Lines of a letter in a hand.</summary>
    /// <param name="letter">The letter.</param>
    /// <param name="hand">0: plain, 1: with feet, 2: narrow and slanted.</param>
    public static IReadOnlyList<(double X0, double Y0, double X1, double Y1)> Lines(char letter, int hand)
    {
        List<(double, double, double, double)> lines = letter switch
        {
            'L' => [(0, 0, 0, 1), (0, 1, 0.58, 1)],
            'R' => [(0, 0, 0, 1), .. Bowl(0, 0.5, 0.56), (0.28, 0.5, 0.6, 1)],
            'E' => [(0, 0, 0, 1), (0, 0, 0.55, 0), (0, 0.5, 0.45, 0.5), (0, 1, 0.55, 1)],
            'H' => [(0, 0, 0, 1), (0.6, 0, 0.6, 1), (0, 0.5, 0.6, 0.5)],
            'T' => [(0.3, 0, 0.3, 1), (0, 0, 0.6, 0)],
            'K' => [(0, 0, 0, 1), (0.56, 0, 0, 0.55), (0.2, 0.4, 0.6, 1)],
            'M' => [(0, 1, 0, 0), (0, 0, 0.38, 0.6), (0.38, 0.6, 0.76, 0), (0.76, 0, 0.76, 1)],
            'I' => [(0.1, 0, 0.1, 1)],
            'N' => [(0, 1, 0, 0), (0, 0, 0.62, 1), (0.62, 1, 0.62, 0)],
            'F' => [(0, 0, 0, 1), (0, 0, 0.56, 0), (0, 0.46, 0.46, 0.46)],
            'D' => [(0, 0, 0, 1), .. Bowl(0, 1, 0.62)],
            'C' => [.. Arc(0.34, 0.5, 0.34, 0.5, 50, 310)],
            'G' => [.. Arc(0.34, 0.5, 0.34, 0.5, 50, 330), (0.64, 0.76, 0.64, 0.52), (0.64, 0.52, 0.4, 0.52)],
            'S' => [.. Arc(0.3, 0.26, 0.3, 0.26, 90, 330), .. Arc(0.3, 0.75, 0.3, 0.25, -90, 150)],
            'Q' => [.. Arc(0.34, 0.5, 0.34, 0.5, 0, 360), (0.42, 0.72, 0.72, 1.04)],
            'Z' => [(0, 0, 0.6, 0), (0.6, 0, 0, 1), (0, 1, 0.6, 1)],
            '7' => [(0, 0, 0.55, 0), (0.55, 0, 0.2, 1)],
            '4' => [(0.4, 1, 0.4, 0), (0.4, 0, 0, 0.68), (0, 0.68, 0.6, 0.68)],
            _ => throw new ArgumentOutOfRangeException(nameof(letter), letter, "There are no strokes for this letter."),
        };
        if (hand == 1)
        {
            // Feet at both ends of the stem.
            lines.Add((-0.12, 1, 0.12, 1));
            if (letter == 'L')
            {
                lines.Add((-0.12, 0, 0.12, 0));
                lines.Add((0.58, 1, 0.58, 0.85));
            }
        }

        return hand == 2 ? [.. lines.Select(line => (Slant(line.Item1, line.Item2), line.Item2, Slant(line.Item3, line.Item4), line.Item4))] : lines;
    }

    /// <summary>A piece of an ellipse, by angles against the clock from the right.</summary>
    private static IEnumerable<(double, double, double, double)> Arc(double x, double y, double halfWidth, double halfHeight, double fromDegrees, double toDegrees)
    {
        const int Pieces = 14;
        for (int k = 0; k < Pieces; k++)
        {
            double a = (fromDegrees + ((toDegrees - fromDegrees) * k / Pieces)) * Math.PI / 180, b = (fromDegrees + ((toDegrees - fromDegrees) * (k + 1) / Pieces)) * Math.PI / 180;
            yield return (x + (halfWidth * Math.Cos(a)), y - (halfHeight * Math.Sin(a)), x + (halfWidth * Math.Cos(b)), y - (halfHeight * Math.Sin(b)));
        }
    }

    private static double Slant(double x, double y) => (0.85 * x) + (0.18 * (1 - y));

    /// <summary>The bowl of an R: half an ellipse to the right of the stem.</summary>
    private static IEnumerable<(double, double, double, double)> Bowl(double top, double bottom, double width)
    {
        const int Pieces = 9;
        double middle = (top + bottom) / 2;
        double half = (bottom - top) / 2;
        yield return (0, top, width * 0.45, top);
        yield return (0, bottom, width * 0.45, bottom);
        for (int k = 0; k < Pieces; k++)
        {
            double from = Math.PI * ((k / (double)Pieces) - 0.5);
            double to = Math.PI * (((k + 1) / (double)Pieces) - 0.5);
            yield return ((width * 0.45) + (width * 0.55 * Math.Cos(from)), middle + (half * Math.Sin(from)), (width * 0.45) + (width * 0.55 * Math.Cos(to)), middle + (half * Math.Sin(to)));
        }
    }
}

/// <summary>A text as it lies on the picture: where it is covered, and how near its rim.</summary>
/// <param name="Text">Its letters.</param>
/// <param name="X">Middle of the first letter's box, in mm.</param>
/// <param name="Y">Middle of the first letter's box, in mm.</param>
/// <param name="HeightMm">Height of a letter, in mm.</param>
/// <param name="StrokeShare">Width of a stroke over the height.</param>
/// <param name="Hand">As in <see cref="StrokeLetters.Lines"/>.</param>
/// <param name="RotationDegrees">Clockwise.</param>
/// <param name="Mirrored">Whether it reads only from behind: mirrored first, then turned.</param>
internal sealed record StrokeText(string Text, double X, double Y, double HeightMm, double StrokeShare, int Hand, double RotationDegrees, bool Mirrored)
{
    private readonly (double X0, double Y0, double X1, double Y1)[] lines = [.. Text.SelectMany((letter, at) => StrokeLetters.Lines(letter, Hand).Select(line => (line.X0 + (0.85 * at) - 0.29, line.Y0 - 0.5, line.X1 + (0.85 * at) - 0.29, line.Y1 - 0.5)))];
    private readonly double cosine = Math.Cos(RotationDegrees * Math.PI / 180);
    private readonly double sine = Math.Sin(RotationDegrees * Math.PI / 180);

    /// <summary>The middle of the whole text, in mm; of one letter its place.</summary>
    public (double X, double Y) Middle
    {
        get
        {
            double along = 0.425 * (Text.Length - 1) * HeightMm * (Mirrored ? -1 : 1);
            return (X + (along * cosine), Y + (along * sine));
        }
    }

    /// <summary>A circle that holds it, about its place, in mm.</summary>
    public double ReachMm => HeightMm * (0.9 + (0.85 * (Text.Length - 1)));

    /// <summary>A place in the letters' own box, heights of a letter.</summary>
    public (double U, double V) Own(double x, double y)
    {
        double u = (((x - X) * cosine) + ((y - Y) * sine)) / HeightMm;
        double v = (((y - Y) * cosine) - ((x - X) * sine)) / HeightMm;
        return (Mirrored ? -u : u, v);
    }

    /// <summary>Distance from the strokes' rim, in mm; below 0 within.</summary>
    public double Distance(double x, double y)
    {
        (double u, double v) = Own(x, y);
        double least = double.MaxValue;
        foreach ((double x0, double y0, double x1, double y1) in lines)
        {
            double dx = x1 - x0;
            double dy = y1 - y0;
            double along = Math.Clamp((((u - x0) * dx) + ((v - y0) * dy)) / Math.Max(1e-9, (dx * dx) + (dy * dy)), 0, 1);
            double ax = u - x0 - (along * dx);
            double ay = v - y0 - (along * dy);
            least = Math.Min(least, (ax * ax) + (ay * ay));
        }

        return HeightMm * (Math.Sqrt(least) - (StrokeShare / 2));
    }
}
