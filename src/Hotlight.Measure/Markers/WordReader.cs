using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Markers;

/// <summary>Reads the word at a place, where it is one of those that the clinic uses.</summary>
/// <remarks>A strip along each place is looked at in the four ways that a line of letters can lie; the ways that may spell a listed word are looked at again along a bettered line.</remarks>
internal static class WordReader
{
    private const int High = WordNetworks.High;

    private const int Wide = WordNetworks.Wide;

    private const int Columns = WordNetworks.Columns;

    private const int Samples = High * Wide;

    // 3 × 3 samples are averaged for one of the strip's, and the standard deviation that counts as flat, as a share of the range; as in training.
    private const int Fine = 3;

    private const double Flat = 0.004;

    // A listed word whose probability at first sight is below e^-14 is not looked at again: a word seen askew by a tenth of its height keeps e^-6 and more.
    private const double WorthASecondLook = -14;

    // Two of the four ways can look alike (words of letters such as H, I and N): so many are looked at again, twice.
    private const int SecondLooks = 3;

    private const int Looks = 2;

    private static readonly (int Right, int Down)[] Ways = [(1, 1), (-1, -1), (-1, 1), (1, -1)];

    private readonly record struct Line(double X, double Y, double Height, double Direction, int Right, int Down);

    // Middle and length in the line's heights; share: of the probability of no text and of the listed words.
    private readonly record struct Spelling(Line Line, string Word, double Log, double Middle, double Length, double Share);

    /// <summary>Reads places.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="candidates">The places.</param>
    /// <param name="words">The clinic's words.</param>
    /// <returns>The words that may be there, each with its probability.</returns>
    internal static List<ReadMarker> Read(Radiograph radiograph, IReadOnlyList<WordCandidate> candidates, MarkerWords words)
    {
        var found = new List<ReadMarker>();
        if (candidates.Count == 0)
        {
            return found;
        }

        bool root = FinderImage.TakesRoot(radiograph);
        double range = MarkerReader.RangeOf(radiograph.Pixels, root);
        foreach (WordCandidate candidate in candidates)
        {
            Line[] lines = [.. Ways.Select(way => new Line(candidate.X, candidate.Y, candidate.Height, candidate.Direction, way.Right, way.Down))];
            List<Spelling> seen = Look(radiograph.Pixels, lines, words, root, range);
            Spelling? best = null;
            for (int look = 0; look < Looks; look++)
            {
                seen.RemoveAll(spelling => spelling.Log < WorthASecondLook);
                seen.Sort((a, b) => b.Log.CompareTo(a.Log));
                if (seen.Count == 0)
                {
                    break;
                }

                seen = Look(radiograph.Pixels, [.. seen.Take(SecondLooks).Select(spelling => spelling.Line)], words, root, range);
                foreach (Spelling spelling in seen)
                {
                    best = best is null || IsBetter(spelling, best.Value) ? spelling : best;
                }
            }

            if (best is { } read && read.Log >= Math.Log(Least(read.Word)))
            {
                found.Add(Describe(read, words));
            }
        }

        return found;
    }

    // What a word's probability among all texts must reach. Where none was, on 74 tuning exposures, words of two letters came to 0.0025 at most and longer
    // ones to less than 0.0001, while true ones in strange letters fell to 0.003.
    private static double Least(string word) => word.Length switch { 2 => 0.03, 3 => 0.003, _ => 0.001 };

    // A word that begins with another, as RECHTS with RE, explains more of the letters there: it wins where it may be there at all.
    private static bool IsBetter(Spelling one, Spelling other)
    {
        bool longer = one.Word != other.Word && one.Word.Contains(other.Word, StringComparison.Ordinal) && one.Log >= Math.Log(Least(one.Word));
        bool shorter = one.Word != other.Word && other.Word.Contains(one.Word, StringComparison.Ordinal) && other.Log >= Math.Log(Least(other.Word));
        return longer || (!shorter && one.Log > other.Log);
    }

    private static ReadMarker Describe(Spelling read, MarkerWords words)
    {
        Line line = read.Line;
        double turn = line.Direction + (line.Down < 0 ? Math.PI : 0);
        double along = line.Right * read.Middle * line.Height;
        return new ReadMarker
        {
            Letter = words.Left.Contains(read.Word) ? "L" : "R",
            Word = read.Word,
            Mirrored = line.Right * line.Down < 0,
            Confidence = read.Share,
            RotationDegrees = Math.IEEERemainder(turn * 180 / Math.PI, 360),
            RotationSpreadDegrees = null,
            X = line.X + (along * Math.Cos(line.Direction)),
            Y = line.Y + (along * Math.Sin(line.Direction)),
            Height = line.Height,
            HalfWidth = Math.Max(0.35, read.Length / 2) * line.Height,
            Visible = 1,
        };
    }

    // The lines of the answers are bettered ones.
    private static List<Spelling> Look(ReadOnlyRaster<ushort> pixels, Line[] lines, MarkerWords words, bool root, double range)
    {
        var strips = new float[lines.Length * Samples];
        for (int k = 0; k < lines.Length; k++)
        {
            Fill(pixels, lines[k], root, range, strips.AsSpan(k * Samples, Samples));
        }

        float[] answers = WordNetworks.Shared.Read(strips, lines.Length);
        var seen = new List<Spelling>();
        for (int k = 0; k < lines.Length; k++)
        {
            ReadOnlySpan<float> answer = answers.AsSpan(k * WordNetworks.Values * Columns, WordNetworks.Values * Columns);
            double[] log = SpelledWord.LogProbabilities(answer, Columns);
            Line line = Better(lines[k], answer);
            double none = Math.Exp(SpelledWord.LogProbability(log, Columns, string.Empty)), all = none;
            int first = seen.Count;
            foreach (string word in words.Left.Concat(words.Right))
            {
                double chance = SpelledWord.LogProbability(log, Columns, word);
                all += Math.Exp(chance);
                seen.Add(new Spelling(line, word, chance, 0, 0, 0));
            }

            for (int i = first; i < seen.Count; i++)
            {
                if (seen[i].Log > WorthASecondLook)
                {
                    (double middle, double length) = Extent(log, answer, seen[i].Word);
                    double scale = lines[k].Height / line.Height;
                    seen[i] = seen[i] with { Middle = middle * scale, Length = length * scale, Share = Math.Exp(seen[i].Log) / all };
                }
            }
        }

        return seen;
    }

    // Middle and length of a word along the strip, in heights: its first to its last letter, and what else of the columns beside them lies in a word.
    private static (double Middle, double Length) Extent(ReadOnlySpan<double> log, ReadOnlySpan<float> answer, string word)
    {
        (int first, int last) = SpelledWord.Place(log, Columns, word);
        ReadOnlySpan<float> inside = answer.Slice(27 * Columns, Columns);

        // Half a letter's width is at most 0.55 heights (a W), about four columns.
        const int Most = 4;
        for (int k = 0; k < Most && first > 0 && inside[first - 1] > 0; k++)
        {
            first--;
        }

        for (int k = 0; k < Most && last < Columns - 1 && inside[last + 1] > 0; k++)
        {
            last++;
        }

        return ((Along(first) + Along(last)) / 2, (last - first + 1) * (double)Wide / Columns / WordNetworks.Letter);
    }

    // A straight line through the middles of the columns that lie in a word; its middle stays where it was along the line.
    private static Line Better(Line line, ReadOnlySpan<float> answer)
    {
        ReadOnlySpan<float> inside = answer.Slice(27 * Columns, Columns), offsets = answer.Slice(28 * Columns, Columns), heights = answer.Slice(29 * Columns, Columns);
        double weight = 0, along = 0, offset = 0, height = 0;
        int count = 0;
        for (int column = 0; column < Columns; column++)
        {
            if (inside[column] <= 0)
            {
                continue;
            }

            double w = 1 / (1 + Math.Exp(-inside[column]));
            weight += w;
            along += w * Along(column);
            offset += w * offsets[column];
            height += w * heights[column];
            count++;
        }

        // Five columns are about 0.6 heights, less than any word of two letters.
        if (count < 5 || !double.IsFinite(along + offset + height + weight))
        {
            return line;
        }

        along /= weight;
        offset /= weight;
        double spread = 0, lean = 0;
        for (int column = 0; column < Columns; column++)
        {
            if (inside[column] > 0)
            {
                double w = 1 / (1 + Math.Exp(-inside[column])), off = Along(column) - along;
                spread += w * off * off;
                lean += w * off * (offsets[column] - offset);
            }
        }

        double tilt = Math.Clamp(lean / Math.Max(1e-6, spread), -0.5, 0.5);
        offset -= tilt * along;
        (double sin, double cos) = Math.SinCos(line.Direction);
        return new Line(
            line.X - (line.Height * line.Down * offset * sin),
            line.Y + (line.Height * line.Down * offset * cos),
            line.Height * Math.Exp(Math.Clamp(height / weight, -0.5, 0.5)),
            line.Direction + (line.Right * line.Down * Math.Atan(tilt)),
            line.Right,
            line.Down);
    }

    // Place of a column's middle along the strip, in heights from the strip's middle.
    private static double Along(int column) => (((column + 0.5) * Wide / Columns) - (Wide / 2.0)) / WordNetworks.Letter;

    // 3 × 3 bilinear samples averaged; what lies beyond the image repeats its edge.
    private static void Fill(ReadOnlyRaster<ushort> pixels, Line line, bool root, double range, Span<float> strip)
    {
        double step = line.Height / WordNetworks.Letter / Fine;
        (double sin, double cos) = Math.SinCos(line.Direction);
        double acrossX = line.Right * cos * step, acrossY = line.Right * sin * step, downX = -line.Down * sin * step, downY = line.Down * cos * step;
        strip.Clear();
        ReadOnlySpan<ushort> samples = pixels.Samples;
        for (int row = 0; row < High * Fine; row++)
        {
            double v = row - (((High * Fine) - 1) / 2.0);
            Span<float> into = strip.Slice(row / Fine * Wide, Wide);
            for (int column = 0; column < Wide * Fine; column++)
            {
                double u = column - (((Wide * Fine) - 1) / 2.0);
                double x = Math.Clamp(line.X + (u * acrossX) + (v * downX), 0, pixels.Columns - 1), y = Math.Clamp(line.Y + (u * acrossY) + (v * downY), 0, pixels.Rows - 1);
                int x0 = (int)x, y0 = (int)y, x1 = Math.Min(x0 + 1, pixels.Columns - 1), y1 = Math.Min(y0 + 1, pixels.Rows - 1);
                float fx = (float)(x - x0), fy = (float)(y - y0);
                int above = y0 * pixels.Columns, below = y1 * pixels.Columns;
                float upper = samples[above + x0] + (fx * (samples[above + x1] - samples[above + x0])), lower = samples[below + x0] + (fx * (samples[below + x1] - samples[below + x0]));
                float value = upper + (fy * (lower - upper));
                into[column / Fine] += root ? MathF.Sqrt(value) : value;
            }
        }

        MarkerReader.Normalise(strip, Fine * Fine * range, Flat);
    }
}
