namespace Hotlight.Records.Sources.Tables;

/// <summary>A column of a table as a look shows it.</summary>
public sealed record TableColumn
{
    private const int MostWords = 40;
    private readonly string[] values;

    /// <summary>Creates the column.</summary>
    /// <param name="heading">Its heading.</param>
    /// <param name="fields">Its fields among the rows that were seen.</param>
    internal TableColumn(string heading, IEnumerable<string> fields)
    {
        Heading = heading;
        values = [.. fields.Select(field => field.Trim()).Where(field => field.Length > 0)];
        (string Word, int Count)[] words = [.. values.GroupBy(value => value, StringComparer.Ordinal).Select(group => (Word: group.Key, Count: group.Count())).OrderByDescending(word => word.Count).ThenBy(word => word.Word, StringComparer.Ordinal)];
        Distinct = words.Length;
        Words = [.. words.Take(MostWords).Select(word => word.Word)];
    }

    /// <summary>Its heading.</summary>
    public string Heading { get; }

    /// <summary>Its most frequent values among the first rows, the most frequent first, 40 at most.</summary>
    public IReadOnlyList<string> Words { get; }

    /// <summary>How many different values were seen.</summary>
    public int Distinct { get; }

    /// <summary>How many fields were not empty.</summary>
    public int Told => values.Length;

    /// <summary>The values that were seen.</summary>
    internal IReadOnlyList<string> Values => values;

    /// <summary>Whether all values are something, and there are any.</summary>
    internal bool All(Func<string, bool> test) => Told > 0 && values.All(test);

    /// <summary>Whether nine of ten values are something: a table may have its faults.</summary>
    internal bool Most(Func<string, bool> test) => values.Count(test) >= 0.9 * values.Length;
}
