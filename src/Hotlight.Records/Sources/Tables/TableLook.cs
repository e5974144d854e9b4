using System.Globalization;
using System.Text;

namespace Hotlight.Records.Sources.Tables;

/// <summary>What a look at the beginning of a table shows: how it is written, its columns, and a mapping to begin with.</summary>
public sealed record TableLook
{
    private const int LookBytes = 1 << 18;
    private const int LookRows = 500;
    private const int MostColumns = 500;

    // Every format that is proposed; of those that fit equally well the first counts, so day before month stands before month before day.
    private static readonly string[] Days = ["yyyy-MM-dd", "dd.MM.yyyy", "d.M.yyyy", "dd.MM.yy", "yyyyMMdd", "yyyy/MM/dd", "dd/MM/yyyy", "d/M/yyyy", "MM/dd/yyyy", "M/d/yyyy", "dd-MM-yyyy", "MM-dd-yyyy"];
    private static readonly string[] Times = ["HH:mm:ss", "HH:mm", "H:mm", "HH:mm:ss.FFFFFFF", "h:mm:ss tt", "h:mm tt", "HHmmss", "HHmm", "HH.mm"];
    private static readonly string[] Moments =
    [
        .. Days.Where(day => day != "yyyyMMdd").SelectMany(day => Times.Where(time => time.Contains(':', StringComparison.Ordinal)).Select(time => $"{day} {time}")),
        "yyyy-MM-ddTHH:mm:ss", "yyyy-MM-ddTHH:mm", "yyyy-MM-ddTHH:mm:ss.FFFFFFF", "yyyyMMddHHmmss", "yyyyMMdd HHmmss", "yyyyMMddHHmmss.FFFFFF",
    ];

    /// <summary>The mapping as proposed.</summary>
    public required TableMapping Proposed { get; init; }

    /// <summary>The columns, in their order.</summary>
    public required IReadOnlyList<TableColumn> Columns { get; init; }

    /// <summary>What a person should look at, one sentence each.</summary>
    public IReadOnlyList<string> Remarks { get; init; } = [];

    /// <summary>Formats of date and time that can be chosen.</summary>
    public static IReadOnlyList<string> DateFormats { get; } = [.. Moments, .. Days];

    /// <summary>Formats of a time of day that can be chosen.</summary>
    public static IReadOnlyList<string> TimeFormats => Times;

    /// <summary>Names of the codings of letters that can be chosen.</summary>
    public static IReadOnlyList<string> Encodings => TableText.Encodings;

    /// <summary>Looks at a table.</summary>
    /// <param name="content">The table; read from its beginning, about 256 KiB of it.</param>
    /// <param name="name">What the mapping is to be called, such as the file's name.</param>
    /// <param name="given">The way of writing (letters, signs, headings) that a person has chosen; null: it is proposed too.</param>
    /// <exception cref="FormatException">It is no table; the message is one sentence.</exception>
    public static TableLook At(Stream content, string name, TableMapping? given = null)
    {
        ArgumentNullException.ThrowIfNull(content);
        ArgumentException.ThrowIfNullOrWhiteSpace(name);
        byte[] bytes = new byte[LookBytes];
        int have = content.ReadAtLeast(bytes, bytes.Length, throwOnEndOfStream: false);
        bool isWhole = have < bytes.Length;
        ReadOnlySpan<byte> head = bytes.AsSpan(0, have);
        if (have == 0)
        {
            throw new FormatException("The file is empty.");
        }

        string encoding = given?.Encoding ?? EncodingOf(head, isWhole);
        string text = Decode(head, encoding, isWhole);
        if (text.Count(letter => letter < ' ' && letter is not ('\r' or '\n' or '\t')) > text.Length / 100)
        {
            throw new FormatException("The file is no table of text. A spreadsheet can be saved as CSV, which is one.");
        }

        List<string> remarks = [];
        char quote = given?.Quote ?? '"';
        char delimiter = given?.Delimiter ?? DelimiterOf(text, quote);
        List<string[]> rows = [.. TableText.Rows(new StringReader(text), delimiter, quote).Take(LookRows + 1).Select(row => row.Fields)];
        if (rows.Count == 0)
        {
            throw new FormatException("The file holds no rows.");
        }

        int width = Math.Min(rows[0].Length, MostColumns);
        bool hasHeadings = given?.HasHeadings ?? rows[0].Take(width).All(field => !LooksLikeValue(field));
        string[] headings = HeadingsOf(rows[0], hasHeadings);
        List<string[]> body = hasHeadings ? rows[1..] : rows;
        TableColumn[] columns = [.. Enumerable.Range(0, width).Select(place => new TableColumn(headings[place], body.Where(row => place < row.Length).Select(row => row[place])))];
        if (body.Count == 0)
        {
            remarks.Add("There is no row below the headings.");
        }

        if (width == 1)
        {
            remarks.Add("There is only one column: perhaps the sign between fields is another.");
        }

        Dictionary<string, TableMember> meanings = MeaningsOf(columns);
        (string dates, string times) = FormatsOf(columns, meanings, remarks);
        string? unit = columns.Where(column => meanings.TryGetValue(column.Heading, out TableMember member) && member == TableMember.KermaAreaProduct).Select(column => TableWords.UnitIn(column.Heading)).FirstOrDefault();
        if (unit is null && meanings.ContainsValue(TableMember.KermaAreaProduct))
        {
            remarks.Add("The heading of the kerma-area product names no unit; dGy·cm² is proposed: make sure.");
        }

        var mapping = new TableMapping
        {
            Name = name.Length > TableMapping.NameMaxLength ? name[..TableMapping.NameMaxLength] : name,
            Encoding = encoding,
            Delimiter = delimiter,
            Quote = quote,
            HasHeadings = hasHeadings,
            Decimal = DecimalOf(columns),
            DateFormat = dates,
            TimeFormat = times,
            KermaAreaProductUnit = unit ?? "dGy.cm2",
            Columns = meanings,
            Values = ValuesOf(columns, meanings),
            Key = meanings.ContainsValue(TableMember.Key) ? [] : [.. KeyOf(columns, meanings)],
        };
        if (mapping.Key.Count > 0)
        {
            remarks.Add($"No column is an identifier of the exposure; {string.Join(", ", mapping.Key.Select(heading => $"“{heading}”"))} together are taken to tell exposures apart.");
        }

        return new TableLook { Proposed = mapping, Columns = columns, Remarks = remarks };
    }

    /// <summary>Headings as they are used: trimmed, each once, none empty.</summary>
    /// <param name="first">The first row.</param>
    /// <param name="hasHeadings">Whether it holds headings.</param>
    internal static string[] HeadingsOf(string[] first, bool hasHeadings)
    {
        string[] headings = new string[first.Length];
        HashSet<string> taken = new(StringComparer.Ordinal);
        for (int place = 0; place < first.Length; place++)
        {
            string number = (place + 1).ToString(CultureInfo.InvariantCulture);
            string heading = hasHeadings ? first[place].Trim('\uFEFF', ' ', '\t') : string.Empty;
            heading = heading.Length == 0 ? $"column {number}" : heading;
            headings[place] = taken.Add(heading) ? heading : $"{heading} ({number})";
            taken.Add(headings[place]);
        }

        return headings;
    }

    private static string EncodingOf(ReadOnlySpan<byte> head, bool isWhole)
    {
        if (head is [0xFF, 0xFE, ..])
        {
            return "utf-16";
        }

        // The last letter may be cut.
        ReadOnlySpan<byte> whole = isWhole ? head : head[..Math.Max(0, head.LastIndexOf((byte)'\n'))];
        return System.Text.Unicode.Utf8.IsValid(whole) ? "utf-8" : "windows-1252";
    }

    private static string Decode(ReadOnlySpan<byte> head, string encoding, bool isWhole)
    {
        Encoding coding = TableText.EncodingOf(encoding) ?? throw new FormatException($"The letters can be coded as {string.Join(", ", TableText.Encodings)}; '{encoding}' is not known.");
        string text = coding.GetString(head).TrimStart('\uFEFF');
        int end = isWhole ? text.Length : text.LastIndexOf('\n');
        return end > 0 ? text[..end] : text;
    }

    /// <summary>The sign that gives most columns over rows of the same width.</summary>
    private static char DelimiterOf(string text, char quote)
    {
        char best = ',';
        double bestScore = 0;
        foreach (char candidate in new[] { ';', ',', '\t', '|' })
        {
            int[] widths;
            try
            {
                widths = [.. TableText.Rows(new StringReader(text), candidate, quote).Take(100).Select(row => row.Fields.Length)];
            }
            catch (FormatException)
            {
                continue;
            }

            if (widths.Length == 0 || widths[0] < 2)
            {
                continue;
            }

            double score = widths[0] * Math.Pow(widths.Count(width => width == widths[0]) / (double)widths.Length, 4);
            if (score > bestScore)
            {
                (best, bestScore) = (candidate, score);
            }
        }

        return best;
    }

    private static bool LooksLikeValue(string field)
        => field.Trim() is { Length: > 0 } value && (double.TryParse(value.Replace(',', '.'), NumberStyles.Float, CultureInfo.InvariantCulture, out _) || Fits(value, Moments) || Fits(value, Days));

    // Whichever sign stands before decimals and thousands; "-" stands for nothing.
    private static bool IsNumberLike(string value) => value == "-" || (value.Any(char.IsAsciiDigit) && value.All(letter => char.IsAsciiDigit(letter) || letter is '.' or ',' or '-' or '+' or 'e' or 'E'));

    private static bool Fits(string value, string[] formats) => DateTime.TryParseExact(value, formats, CultureInfo.InvariantCulture, DateTimeStyles.None, out _);

    private static Dictionary<string, TableMember> MeaningsOf(TableColumn[] columns)
    {
        Dictionary<string, TableMember> meanings = new(StringComparer.Ordinal);
        HashSet<TableMember> taken = [];
        foreach (TableColumn column in columns)
        {
            foreach (TableMember member in TableWords.MeaningsOf(column.Heading))
            {
                TableMember meant = member is TableMember.Date or TableMember.Time && column.All(value => Fits(value, Moments)) ? TableMember.ExposedAt : member;
                if (!taken.Contains(meant) && Suits(column, meant))
                {
                    taken.Add(meant);
                    meanings[column.Heading] = meant;
                    break;
                }
            }
        }

        // A table whose headings say nothing may still have a column of moments or dates.
        if (!taken.Contains(TableMember.ExposedAt) && !taken.Contains(TableMember.Date))
        {
            foreach ((TableMember member, string[] formats) in new[] { (TableMember.ExposedAt, Moments), (TableMember.Date, Days) })
            {
                if (columns.FirstOrDefault(column => !meanings.ContainsKey(column.Heading) && column.All(value => value.Length >= 8 && Fits(value, formats))) is { } column)
                {
                    meanings[column.Heading] = member;
                    taken.Add(member);
                    break;
                }
            }
        }

        // One column of moments is enough.
        if (taken.Contains(TableMember.ExposedAt))
        {
            foreach (string heading in meanings.Where(pair => pair.Value is TableMember.Date or TableMember.Time).Select(pair => pair.Key).ToArray())
            {
                meanings.Remove(heading);
            }
        }

        return meanings;
    }

    /// <summary>Whether the values of a column can be what its heading says.</summary>
    private static bool Suits(TableColumn column, TableMember member) => column.Told == 0 || member switch
    {
        TableMember.ExposedAt => column.Most(value => Fits(value, Moments)),
        TableMember.Date or TableMember.BirthDate => column.Most(value => Fits(value, Days)),
        TableMember.Time => column.Most(value => Fits(value, Times)),
        TableMember.ExposureIndex or TableMember.TargetExposureIndex or TableMember.DeviationIndex or TableMember.TubeVoltageKvp or TableMember.ExposureMas or TableMember.KermaAreaProduct
            => column.Most(IsNumberLike),
        TableMember.Key => column.Distinct == column.Told,
        TableMember.Use => column.Distinct <= 20,
        _ => true,
    };

    private static char DecimalOf(TableColumn[] columns)
    {
        int commas = 0, points = 0;
        foreach (string value in columns.SelectMany(column => column.Values))
        {
            if (!value.All(letter => char.IsAsciiDigit(letter) || letter is '.' or ',' or '-' or '+'))
            {
                continue;
            }

            int comma = value.LastIndexOf(','), point = value.LastIndexOf('.');
            commas += comma > point && value.Count(letter => letter == ',') == 1 ? 1 : 0;
            points += point > comma && value.Count(letter => letter == '.') == 1 ? 1 : 0;
        }

        return commas > points ? ',' : '.';
    }

    private static (string Date, string Time) FormatsOf(TableColumn[] columns, Dictionary<string, TableMember> meanings, List<string> remarks)
    {
        static int CountOf(TableColumn column, string format) => column.Values.Count(value => DateTime.TryParseExact(value, format, CultureInfo.InvariantCulture, DateTimeStyles.None, out _));
        TableColumn? ColumnWith(TableMember member) => columns.FirstOrDefault(column => meanings.TryGetValue(column.Heading, out TableMember meant) && meant == member);
        string date = "yyyy-MM-dd HH:mm:ss", time = "HH:mm";
        if ((ColumnWith(TableMember.ExposedAt) ?? ColumnWith(TableMember.Date)) is { Told: > 0 } column)
        {
            date = (meanings[column.Heading] == TableMember.ExposedAt ? Moments : Days).MaxBy(format => CountOf(column, format))!;
            string swapped = date.Replace("dd/MM", "MM/dd", StringComparison.Ordinal).Replace("d/M/", "M/d/", StringComparison.Ordinal).Replace("dd-MM", "MM-dd", StringComparison.Ordinal);
            if (swapped != date && CountOf(column, swapped) == CountOf(column, date))
            {
                remarks.Add($"The dates of “{column.Heading}” may have the day or the month first; the day is proposed: look at the first rows.");
            }
        }

        if (ColumnWith(TableMember.Time) is { Told: > 0 } clock)
        {
            time = Times.MaxBy(format => CountOf(clock, format))!;
        }

        return (date, time);
    }

    /// <summary>Words whose built-in meaning is turned round by their heading: under "accepted" a yes is no reject.</summary>
    private static Dictionary<TableMember, IReadOnlyDictionary<string, string>> ValuesOf(TableColumn[] columns, Dictionary<string, TableMember> meanings)
    {
        Dictionary<TableMember, IReadOnlyDictionary<string, string>> values = [];
        foreach (TableColumn column in columns)
        {
            if (!meanings.TryGetValue(column.Heading, out TableMember member) || member != TableMember.Use || PlainWords.Of(column.Heading) is not ("accepted" or "akzeptiert" or "angenommen"))
            {
                continue;
            }

            Dictionary<string, string> words = new(StringComparer.Ordinal);
            foreach (string word in column.Words)
            {
                if (ReasonWords.TruthOfWords(word) is { } isTrue)
                {
                    words[word] = isTrue ? "kept" : "rejected";
                }
            }

            if (words.Count > 0)
            {
                values[TableMember.Use] = words;
            }
        }

        return values;
    }

    private static IEnumerable<string> KeyOf(TableColumn[] columns, Dictionary<string, TableMember> meanings)
        => columns.Where(column => meanings.TryGetValue(column.Heading, out TableMember member)
            && member is TableMember.ExposedAt or TableMember.Date or TableMember.Time or TableMember.Room or TableMember.Patient or TableMember.Examination or TableMember.Projection or TableMember.BodyPart or TableMember.View or TableMember.Side)
            .Select(column => column.Heading);
}
