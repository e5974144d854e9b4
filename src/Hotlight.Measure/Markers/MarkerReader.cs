using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Markers;

/// <summary>Reads the letter at a place: which, which way round, how it is turned, where exactly.</summary>
/// <remarks>Every place is looked at once; what may be a letter is looked at again around its better centre, turned by quarters and mirrored, so that the answer turns with the image.</remarks>
internal static class MarkerReader
{
    private const int Side = MarkerNetworks.Patch;

    // The patch reaches 1.1 heights to each side, and 3 × 3 samples are averaged for one of its own; both as in training.
    private const double Span = 2.2;

    private const int Fine = 3;

    // A standard deviation that counts as flat, as a share of the image's range; as in training.
    private const double Flat = 0.004;

    // What a first look gives less than this is left.
    private const double WorthASecondLook = 0.15;

    // An image holds a marker or two: eight second looks bound the time.
    private const int MostSecondLooks = 8;

    /// <summary>Reads places.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="candidates">The places.</param>
    /// <returns>What may be letters, each with its confidence.</returns>
    internal static List<ReadMarker> Read(Radiograph radiograph, IReadOnlyList<MarkerCandidate> candidates)
    {
        var found = new List<ReadMarker>();
        if (candidates.Count == 0)
        {
            return found;
        }

        bool root = FinderImage.TakesRoot(radiograph);
        double range = RangeOf(radiograph.Pixels, root);
        var patches = new float[candidates.Count * Side * Side];
        Parallel.For(0, candidates.Count, k => Fill(radiograph.Pixels, candidates[k], root, range, patches.AsSpan(k * Side * Side, Side * Side)));
        float[] answers = MarkerNetworks.Shared.Read(patches, candidates.Count);
        var second = new List<(MarkerCandidate Place, double Chance)>();
        for (int k = 0; k < candidates.Count; k++)
        {
            ReadOnlySpan<float> answer = answers.AsSpan(k * MarkerNetworks.ReaderValues, MarkerNetworks.ReaderValues);
            double chance = 1 - Probabilities(answer)[0];
            if (chance >= WorthASecondLook)
            {
                second.Add((Better(candidates[k], answer), chance));
            }
        }

        second.Sort((a, b) => b.Chance.CompareTo(a.Chance));
        for (int k = 0; k < Math.Min(MostSecondLooks, second.Count); k++)
        {
            found.Add(Again(radiograph.Pixels, second[k].Place, root, range));
        }

        return found;
    }

    private static MarkerCandidate Better(MarkerCandidate place, ReadOnlySpan<float> answer) => new(
        place.X + (answer[7] * place.Height),
        place.Y + (answer[8] * place.Height),
        place.Height * Math.Exp(Math.Clamp(answer[9], -0.7f, 0.7f)),
        place.Score);

    private static ReadMarker Again(ReadOnlyRaster<ushort> pixels, MarkerCandidate place, bool root, double range)
    {
        const int Ways = 8;
        var patches = new float[Ways * Side * Side];
        Fill(pixels, place, root, range, patches.AsSpan(0, Side * Side));
        for (int way = 1; way < Ways; way++)
        {
            Turn(patches.AsSpan(0, Side * Side), way, patches.AsSpan(way * Side * Side, Side * Side));
        }

        float[] answers = MarkerNetworks.Shared.Read(patches, Ways);
        var sums = new double[5];
        for (int way = 0; way < Ways; way++)
        {
            double[] chances = Probabilities(Answer(answers, way));
            for (int k = 0; k < 5; k++)
            {
                sums[Seen(k, way)] += chances[k] / Ways;
            }
        }

        int best = 1;
        for (int k = 2; k < 5; k++)
        {
            best = sums[k] > sums[best] ? k : best;
        }

        // Each way counts by its chance of the letter that was settled on: an L taken for its mirror image would be turned by a quarter.
        Span<double> angles = stackalloc double[Ways];
        Span<double> weights = stackalloc double[Ways];
        double total = 0, upX = 0, upY = 0, x = 0, y = 0, logHeight = 0, visible = 0;
        for (int way = 0; way < Ways; way++)
        {
            ReadOnlySpan<float> answer = Answer(answers, way);
            double[] chances = Probabilities(answer);
            for (int k = 1; k < 5; k++)
            {
                weights[way] += Seen(k, way) == best ? chances[k] : 0;
            }

            double weight = weights[way] += 1e-6;
            total += weight;

            // The letter's down direction, turned back with the patch.
            double length = Math.Max(1e-6, Math.Sqrt((answer[5] * answer[5]) + (answer[6] * answer[6])));
            (double downX, double downY) = TurnBack(-answer[6] / length, answer[5] / length, way);
            upX += weight * downX;
            upY += weight * downY;
            angles[way] = Math.Atan2(-downX, downY);
            (double dx, double dy) = TurnBack(answer[7], answer[8], way);
            x += weight * dx;
            y += weight * dy;
            logHeight += weight * answer[9];
            visible += weight * Math.Clamp(answer[10], 0, 1);
        }

        double turn = Math.Atan2(-upX, upY);
        double spread = 0;
        for (int way = 0; way < Ways; way++)
        {
            double off = Math.IEEERemainder(angles[way] - turn, 2 * Math.PI);
            spread += weights[way] * off * off / total;
        }

        return new ReadMarker
        {
            Letter = best % 2 == 1 ? "L" : "R",
            Mirrored = best > 2,
            Confidence = sums[best],
            RotationDegrees = turn * 180 / Math.PI,
            RotationSpreadDegrees = Math.Sqrt(spread) * 180 / Math.PI,
            X = place.X + (x / total * place.Height),
            Y = place.Y + (y / total * place.Height),
            Height = place.Height * Math.Exp(Math.Clamp(logHeight / total, -0.5, 0.5)),
            Visible = visible / total,
        };
    }

    private static ReadOnlySpan<float> Answer(float[] answers, int way) => answers.AsSpan(way * MarkerNetworks.ReaderValues, MarkerNetworks.ReaderValues);

    // Class 1 and 2 are L and R, 3 and 4 the same from behind: what a mirrored patch shows is the other way round.
    private static int Seen(int kind, int way) => kind == 0 || way < 4 ? kind : ((kind + 1) % 4) + 1;

    /// <summary>Way 0 to 3: turned clockwise by that many quarters; 4 to 7: mirrored left to right, then turned.</summary>
    private static void Turn(ReadOnlySpan<float> from, int way, Span<float> to)
    {
        for (int row = 0; row < Side; row++)
        {
            for (int column = 0; column < Side; column++)
            {
                // The source of (row, column): turned back, then mirrored back.
                (int r, int c) = (way % 4) switch
                {
                    0 => (row, column),
                    1 => (Side - 1 - column, row),
                    2 => (Side - 1 - row, Side - 1 - column),
                    _ => (column, Side - 1 - row),
                };
                to[(row * Side) + column] = from[(r * Side) + (way >= 4 ? Side - 1 - c : c)];
            }
        }
    }

    private static (double X, double Y) TurnBack(double x, double y, int way)
    {
        (double backX, double backY) = (way % 4) switch
        {
            0 => (x, y),
            1 => (y, -x),
            2 => (-x, -y),
            _ => (-y, x),
        };
        return (way >= 4 ? -backX : backX, backY);
    }

    private static double[] Probabilities(ReadOnlySpan<float> answer)
    {
        float most = answer[0];
        for (int k = 1; k < 5; k++)
        {
            most = Math.Max(most, answer[k]);
        }

        var chances = new double[5];
        double sum = 0;
        for (int k = 0; k < 5; k++)
        {
            chances[k] = Math.Exp(answer[k] - most);
            sum += chances[k];
        }

        for (int k = 0; k < 5; k++)
        {
            chances[k] /= sum;
        }

        return chances;
    }

    // 3 × 3 bilinear samples averaged; what lies beyond the image repeats its edge.
    private static void Fill(ReadOnlyRaster<ushort> pixels, MarkerCandidate place, bool root, double range, Span<float> patch)
    {
        const int Samples = Side * Fine;
        double pitch = Span * place.Height / Samples;
        patch.Clear();
        for (int row = 0; row < Samples; row++)
        {
            double y = Math.Clamp(place.Y + ((row - ((Samples - 1) / 2.0)) * pitch), 0, pixels.Rows - 1);
            int y0 = Math.Min((int)y, Math.Max(0, pixels.Rows - 2));
            float fy = (float)(y - y0);
            ReadOnlySpan<ushort> upper = pixels.Row(y0), lower = pixels.Row(Math.Min(y0 + 1, pixels.Rows - 1));
            Span<float> line = patch.Slice(row / Fine * Side, Side);
            for (int column = 0; column < Samples; column++)
            {
                double x = Math.Clamp(place.X + ((column - ((Samples - 1) / 2.0)) * pitch), 0, pixels.Columns - 1);
                int x0 = Math.Min((int)x, Math.Max(0, pixels.Columns - 2));
                int x1 = Math.Min(x0 + 1, pixels.Columns - 1);
                float fx = (float)(x - x0);
                float above = upper[x0] + (fx * (upper[x1] - upper[x0])), below = lower[x0] + (fx * (lower[x1] - lower[x0]));
                float value = above + (fy * (below - above));
                line[column / Fine] += root ? MathF.Sqrt(value) : value;
            }
        }

        Normalise(patch, Fine * Fine * range, Flat);
    }

    /// <summary>Minus the mean, over the standard deviation, at most 5 either way.</summary>
    /// <param name="patch">Values; changed.</param>
    /// <param name="range">What they are divided by first.</param>
    /// <param name="flat">Added to the standard deviation, so that a flat patch stays flat.</param>
    internal static void Normalise(Span<float> patch, double range, double flat)
    {
        double sum = 0, squares = 0;
        for (int i = 0; i < patch.Length; i++)
        {
            patch[i] = (float)(patch[i] / range);
            sum += patch[i];
            squares += (double)patch[i] * patch[i];
        }

        double mean = sum / patch.Length;
        double deviation = Math.Sqrt(Math.Max(0, (squares / patch.Length) - (mean * mean)));
        for (int i = 0; i < patch.Length; i++)
        {
            patch[i] = (float)Math.Clamp((patch[i] - mean) / (deviation + flat), -5, 5);
        }
    }

    /// <summary>The range of a thin sample of the pixels, from the 0.1st to the 99.9th percentile, 1 or more.</summary>
    /// <param name="pixels">The image; borrowed.</param>
    /// <param name="root">Whether the range is of the values' roots.</param>
    internal static double RangeOf(ReadOnlyRaster<ushort> pixels, bool root)
    {
        int step = Math.Max(1, (int)Math.Sqrt((double)pixels.Rows * pixels.Columns / 20000));
        var values = new List<ushort>();
        for (int row = step / 2; row < pixels.Rows; row += step)
        {
            ReadOnlySpan<ushort> line = pixels.Row(row);
            for (int column = step / 2; column < line.Length; column += step)
            {
                values.Add(line[column]);
            }
        }

        if (values.Count == 0)
        {
            return 1;
        }

        values.Sort();
        double low = values[values.Count / 1000], high = values[values.Count - 1 - (values.Count / 1000)];
        return Math.Max(1, root ? Math.Sqrt(high) - Math.Sqrt(low) : high - low);
    }
}
