namespace Hotlight.Measure.Markers;

/// <summary>How probable it is that a strip's columns spell a word.</summary>
/// <remarks>Source: Graves, Fernández, Gomez and Schmidhuber, Connectionist temporal classification, Proc. 23rd Int. Conf. on Machine Learning (2006), 369–376, equations 5 to 8: the sum over all ways of laying the word's letters along the columns with blanks between.</remarks>
internal static class SpelledWord
{
    private const int Signs = 27;

    /// <summary>Logarithms of the columns' probabilities, blank first, then A to Z; column-major: 27 values a column.</summary>
    /// <param name="answer">The reader's answer for one strip, 27 planes of columns first.</param>
    /// <param name="columns">Columns of the answer.</param>
    internal static double[] LogProbabilities(ReadOnlySpan<float> answer, int columns)
    {
        var log = new double[columns * Signs];
        for (int column = 0; column < columns; column++)
        {
            double most = double.MinValue, sum = 0;
            for (int sign = 0; sign < Signs; sign++)
            {
                most = Math.Max(most, answer[(sign * columns) + column]);
            }

            for (int sign = 0; sign < Signs; sign++)
            {
                sum += Math.Exp(answer[(sign * columns) + column] - most);
            }

            double norm = most + Math.Log(sum);
            for (int sign = 0; sign < Signs; sign++)
            {
                log[(column * Signs) + sign] = answer[(sign * columns) + column] - norm;
            }
        }

        return log;
    }

    /// <summary>Logarithm of the probability that the columns spell a word and nothing else, 0 or less; −∞ where they are too few.</summary>
    /// <param name="log">As from <see cref="LogProbabilities"/>.</param>
    /// <param name="columns">Columns.</param>
    /// <param name="word">Letters A to Z; empty for no text.</param>
    internal static double LogProbability(ReadOnlySpan<double> log, int columns, string word)
    {
        // States: a blank, the first letter, a blank, ..., the last letter, a blank.
        int states = (2 * word.Length) + 1;
        Span<double> now = stackalloc double[states], next = stackalloc double[states];
        now.Fill(double.NegativeInfinity);
        now[0] = log[0];
        if (states > 1)
        {
            now[1] = log[Sign(word, 1)];
        }

        for (int column = 1; column < columns; column++)
        {
            ReadOnlySpan<double> here = log.Slice(column * Signs, Signs);
            for (int state = 0; state < states; state++)
            {
                double sum = now[state];
                if (state > 0)
                {
                    sum = Sum(sum, now[state - 1]);
                }

                // From letter to letter without a blank, where they differ.
                if (state > 1 && state % 2 == 1 && word[state / 2] != word[(state / 2) - 1])
                {
                    sum = Sum(sum, now[state - 2]);
                }

                next[state] = sum + here[Sign(word, state)];
            }

            next.CopyTo(now);
        }

        return states > 1 ? Sum(now[states - 1], now[states - 2]) : now[0];
    }

    /// <summary>The columns of a word's first and last letter in the most probable way of laying it.</summary>
    /// <param name="log">As from <see cref="LogProbabilities"/>.</param>
    /// <param name="columns">Columns; at least as many as the word has letters, and blanks between equal ones.</param>
    /// <param name="word">Letters A to Z, at least one.</param>
    internal static (int First, int Last) Place(ReadOnlySpan<double> log, int columns, string word)
    {
        int states = (2 * word.Length) + 1;
        var best = new double[columns, states];
        var from = new int[columns, states];
        for (int column = 0; column < columns; column++)
        {
            for (int state = 0; state < states; state++)
            {
                double most = column == 0 ? (state < 2 ? 0 : double.NegativeInfinity) : double.NegativeInfinity;
                from[column, state] = state;
                for (int back = 0; column > 0 && back <= Math.Min(2, state); back++)
                {
                    bool allowed = back < 2 || (state % 2 == 1 && state > 1 && word[state / 2] != word[(state / 2) - 1]);
                    if (allowed && best[column - 1, state - back] > most)
                    {
                        most = best[column - 1, state - back];
                        from[column, state] = state - back;
                    }
                }

                best[column, state] = most + log[(column * Signs) + Sign(word, state)];
            }
        }

        int at = best[columns - 1, states - 1] > best[columns - 1, states - 2] ? states - 1 : states - 2, first = columns - 1, last = 0;
        for (int column = columns - 1; column >= 0; column--)
        {
            if (at == states - 2)
            {
                last = Math.Max(last, column);
            }

            if (at == 1)
            {
                first = Math.Min(first, column);
            }

            at = from[column, at];
        }

        return (first, last);
    }

    private static int Sign(string word, int state) => state % 2 == 0 ? 0 : word[state / 2] - 'A' + 1;

    private static double Sum(double a, double b)
    {
        double high = Math.Max(a, b);
        return double.IsNegativeInfinity(high) ? high : high + Math.Log(Math.Exp(a - high) + Math.Exp(b - high));
    }
}
