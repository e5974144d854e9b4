namespace Hotlight.Statistics.Agreement;

/// <summary>One case as its readers answered it.</summary>
/// <param name="Case">The case's name.</param>
/// <param name="Categories">Index of each reader's category, in the order of the table's readers; null: not read or not answered.</param>
public sealed record CaseReadings(string Case, IReadOnlyList<int?> Categories);

/// <summary>Readings of one question: cases × readers, with gaps where a reader did not answer.</summary>
public sealed record ReadingTable
{
    /// <summary>Makes a table.</summary>
    /// <param name="scale">The answers to choose from.</param>
    /// <param name="readers">Names or pseudonyms of the readers.</param>
    /// <param name="cases">The cases.</param>
    /// <exception cref="ArgumentException">A case has not one entry a reader, or an index lies outside the scale.</exception>
    public ReadingTable(CategoryScale scale, IReadOnlyList<string> readers, IReadOnlyList<CaseReadings> cases)
    {
        ArgumentNullException.ThrowIfNull(scale);
        ArgumentNullException.ThrowIfNull(readers);
        ArgumentNullException.ThrowIfNull(cases);
        foreach (CaseReadings reading in cases)
        {
            if (reading.Categories.Count != readers.Count || reading.Categories.Any(category => category < 0 || category >= scale.Count))
            {
                throw new ArgumentException($"Case {reading.Case} needs one entry for each of {readers.Count} readers, each in [0, {scale.Count - 1}] or empty.", nameof(cases));
            }
        }

        Scale = scale;
        Readers = readers;
        Cases = cases;
    }

    /// <summary>The answers to choose from.</summary>
    public CategoryScale Scale { get; }

    /// <summary>Readers, in the order of each case's entries.</summary>
    public IReadOnlyList<string> Readers { get; }

    /// <summary>The cases.</summary>
    public IReadOnlyList<CaseReadings> Cases { get; }

    /// <summary>Answers of two readers on the cases that both read: rows the first reader's category, columns the second's.</summary>
    /// <param name="first">Index of the first reader.</param>
    /// <param name="second">Index of the second reader.</param>
    public long[,] Pair(int first, int second)
    {
        long[,] table = new long[Scale.Count, Scale.Count];
        foreach (CaseReadings reading in Cases)
        {
            if (reading.Categories[first] is { } one && reading.Categories[second] is { } two)
            {
                table[one, two]++;
            }
        }

        return table;
    }

    /// <summary>How many readers chose each category: cases × categories.</summary>
    public long[,] Counts()
    {
        long[,] counts = new long[Cases.Count, Scale.Count];
        for (int index = 0; index < Cases.Count; index++)
        {
            foreach (int category in Cases[index].Categories.OfType<int>())
            {
                counts[index, category]++;
            }
        }

        return counts;
    }
}
