namespace Hotlight.Catalogue;

/// <summary>The known name that a mistyped one most likely meant.</summary>
public static class Nearest
{
    /// <summary>The nearest name by edits (inserted, deleted, replaced letters), or null where none is within a third of its letters, at least 3.</summary>
    /// <param name="name">What was written.</param>
    /// <param name="known">The names there are.</param>
    public static string? To(string name, IEnumerable<string> known)
        => Several(name, known, 1).FirstOrDefault();

    /// <summary>The nearest names, best first, each within a third of its letters, at least 3.</summary>
    /// <param name="name">What was written.</param>
    /// <param name="known">The names there are.</param>
    /// <param name="most">How many at most.</param>
    public static IReadOnlyList<string> Several(string name, IEnumerable<string> known, int most)
    {
        ArgumentNullException.ThrowIfNull(name);
        ArgumentNullException.ThrowIfNull(known);
        return
        [
            .. known.Select(candidate => (candidate, edits: Edits(name, candidate)))
                .Where(pair => pair.edits <= Math.Max(3, pair.candidate.Length / 3))
                .OrderBy(pair => pair.edits)
                .ThenBy(pair => pair.candidate, StringComparer.Ordinal)
                .Take(most)
                .Select(pair => pair.candidate),
        ];
    }

    // Levenshtein's distance, one row at a time.
    private static int Edits(string first, string second)
    {
        int[] previous = [.. Enumerable.Range(0, second.Length + 1)];
        for (int row = 1; row <= first.Length; row++)
        {
            int[] current = new int[second.Length + 1];
            current[0] = row;
            for (int column = 1; column <= second.Length; column++)
            {
                int cost = char.ToUpperInvariant(first[row - 1]) == char.ToUpperInvariant(second[column - 1]) ? 0 : 1;
                current[column] = Math.Min(Math.Min(current[column - 1] + 1, previous[column] + 1), previous[column - 1] + cost);
            }

            previous = current;
        }

        return previous[^1];
    }
}
