using Hotlight.Statistics.Agreement;

namespace Hotlight.Statistics.Tests.Agreement;

/// <summary>Makes tables for tests.</summary>
internal static class Tables
{
    public static CategoryScale Scale(int categories) => new([.. Enumerable.Range(1, categories).Select(category => $"{category}")]);

    /// <summary>"12 3|4 5" is a table of two rows.</summary>
    public static long[,] Of(string text)
    {
        long[][] rows = [.. text.Split('|').Select(row => row.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(long.Parse).ToArray())];
        long[,] table = new long[rows.Length, rows[0].Length];
        for (int row = 0; row < rows.Length; row++)
        {
            for (int column = 0; column < rows[0].Length; column++)
            {
                table[row, column] = rows[row][column];
            }
        }

        return table;
    }

    /// <summary>Two readers' table unrolled into readings.</summary>
    public static ReadingTable Unrolled(long[,] table)
    {
        List<CaseReadings> cases = [];
        for (int row = 0; row < table.GetLength(0); row++)
        {
            for (int column = 0; column < table.GetLength(1); column++)
            {
                for (long count = 0; count < table[row, column]; count++)
                {
                    cases.Add(new CaseReadings($"{cases.Count}", [row, column]));
                }
            }
        }

        return new ReadingTable(Scale(table.GetLength(0)), ["a", "b"], cases);
    }

    /// <summary>One row of answers a reader, 1 for the first category, * for none.</summary>
    public static ReadingTable Readers(int categories, params string[] rows)
    {
        string[][] split = [.. rows.Select(row => row.Split(' ', StringSplitOptions.RemoveEmptyEntries))];
        CaseReadings[] cases = [.. Enumerable.Range(0, split[0].Length).Select(index => new CaseReadings($"{index + 1}", [.. split.Select(row => row[index] == "*" ? (int?)null : int.Parse(row[index], System.Globalization.CultureInfo.InvariantCulture) - 1)]))];
        return new ReadingTable(Scale(categories), [.. rows.Select((_, index) => $"{(char)('A' + index)}")], cases);
    }
}
