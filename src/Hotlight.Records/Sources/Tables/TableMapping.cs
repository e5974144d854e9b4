namespace Hotlight.Records.Sources.Tables;

/// <summary>What a column of a table can mean.</summary>
public enum TableMember
{
    /// <summary>What makes a row the same when the table comes again, such as an image's UID.</summary>
    Key,

    /// <summary>Date and time in one column.</summary>
    ExposedAt,

    /// <summary>The date alone.</summary>
    Date,

    /// <summary>The time of day alone.</summary>
    Time,

    /// <summary>The projection in one column.</summary>
    Projection,

    /// <summary>The part of the body, beside <see cref="View"/>.</summary>
    BodyPart,

    /// <summary>The view, beside <see cref="BodyPart"/>.</summary>
    View,

    /// <summary>The side; it tells rows apart and is not kept.</summary>
    Side,

    /// <summary>The room.</summary>
    Room,

    /// <summary>The receptor.</summary>
    Receptor,

    /// <summary>Who exposed, by name; a pseudonym is kept.</summary>
    Performer,

    /// <summary>Who exposed, by a pseudonym already; kept as it is.</summary>
    PerformerPseudonym,

    /// <summary>The shift.</summary>
    Shift,

    /// <summary>The patient's age in years; whether a child or an adult is kept.</summary>
    Age,

    /// <summary>The patient's birth date; whether a child or an adult is kept.</summary>
    BirthDate,

    /// <summary>What became of the exposure.</summary>
    Use,

    /// <summary>Whether it is a repeat.</summary>
    IsRepeat,

    /// <summary>Why it was rejected.</summary>
    Reason,

    /// <summary>Exposure index.</summary>
    ExposureIndex,

    /// <summary>Target exposure index.</summary>
    TargetExposureIndex,

    /// <summary>Deviation index.</summary>
    DeviationIndex,

    /// <summary>Tube voltage, in kV.</summary>
    TubeVoltageKvp,

    /// <summary>Tube current times time, in mAs.</summary>
    ExposureMas,

    /// <summary>Kerma-area product, in the mapping's unit.</summary>
    KermaAreaProduct,

    /// <summary>What tells patients apart; a keyed hash is kept.</summary>
    Patient,

    /// <summary>What tells examinations apart; a keyed hash is kept.</summary>
    Examination,
}

/// <summary>How a table is written and what its columns mean; kept under a name and used again. Immutable.</summary>
public sealed record TableMapping
{
    /// <summary>Longest name, in characters.</summary>
    public const int NameMaxLength = 80;

    /// <summary>Units of a kerma-area product that are known, with the factor to dGy·cm².</summary>
    public static IReadOnlyDictionary<string, double> KermaAreaProductUnits { get; } = new Dictionary<string, double>(StringComparer.Ordinal)
    {
        ["dGy.cm2"] = 1,
        ["cGy.cm2"] = 0.1,
        ["mGy.cm2"] = 0.01,
        ["uGy.cm2"] = 1e-5,
        ["Gy.cm2"] = 10,
        ["uGy.m2"] = 0.1,
        ["mGy.m2"] = 100,
        ["Gy.m2"] = 1e5,
    };

    /// <summary>What the mapping is called.</summary>
    public string Name { get; init; } = "table";

    /// <summary>How letters are coded: "utf-8", "utf-16" or "windows-1252".</summary>
    public string Encoding { get; init; } = "utf-8";

    /// <summary>The sign between fields.</summary>
    public char Delimiter { get; init; } = ',';

    /// <summary>The sign around a field that holds delimiters.</summary>
    public char Quote { get; init; } = '"';

    /// <summary>Whether the first row holds headings; else columns are called "column 1" and so on.</summary>
    public bool HasHeadings { get; init; } = true;

    /// <summary>The sign before decimals, a point or a comma.</summary>
    public char Decimal { get; init; } = '.';

    /// <summary>How dates (with or without time) are written, such as "dd.MM.yyyy HH:mm".</summary>
    public string DateFormat { get; init; } = "yyyy-MM-dd HH:mm:ss";

    /// <summary>How a time of day of its own is written.</summary>
    public string TimeFormat { get; init; } = "HH:mm";

    /// <summary>Unit of the kerma-area product, one of <see cref="KermaAreaProductUnits"/>.</summary>
    public string KermaAreaProductUnit { get; init; } = "dGy.cm2";

    /// <summary>What columns mean, by heading; a column that is not here is not read.</summary>
    public IReadOnlyDictionary<string, TableMember> Columns { get; init; } = new Dictionary<string, TableMember>();

    /// <summary>What words of a column mean, by member: identifiers of projections, names of reasons, uses and shifts, names of rooms. Words that are not here mean what is built in.</summary>
    public IReadOnlyDictionary<TableMember, IReadOnlyDictionary<string, string>> Values { get; init; } = new Dictionary<TableMember, IReadOnlyDictionary<string, string>>();

    /// <summary>Headings whose values together make a row the same when the table comes again; needed where no column is <see cref="TableMember.Key"/>.</summary>
    public IReadOnlyList<string> Key { get; init; } = [];

    /// <summary>Heading of the column that means something; null: none does.</summary>
    /// <param name="member">What it means.</param>
    public string? ColumnOf(TableMember member)
    {
        foreach ((string heading, TableMember each) in Columns)
        {
            if (each == member)
            {
                return heading;
            }
        }

        return null;
    }

    /// <summary>What is wrong with the mapping, one sentence each; empty: nothing.</summary>
    public IReadOnlyList<string> Faults()
    {
        List<string> faults = [];
        if (string.IsNullOrWhiteSpace(Name) || Name.Length > NameMaxLength)
        {
            faults.Add($"A mapping needs a name of 1 to {NameMaxLength} characters.");
        }

        if (TableText.EncodingOf(Encoding) is null)
        {
            faults.Add($"The letters can be coded as {string.Join(", ", TableText.Encodings)}; '{Encoding}' is not known.");
        }

        if (Delimiter == Quote || char.IsLetterOrDigit(Delimiter) || Delimiter is '\r' or '\n')
        {
            faults.Add("The sign between fields must be a sign of its own: no letter, no digit and not the quote.");
        }

        if (Decimal is not ('.' or ','))
        {
            faults.Add("The sign before decimals is a point or a comma.");
        }

        if (!KermaAreaProductUnits.ContainsKey(KermaAreaProductUnit))
        {
            faults.Add($"The unit of the kerma-area product is one of {string.Join(", ", KermaAreaProductUnits.Keys)}; '{KermaAreaProductUnit}' is not known.");
        }

        foreach (IGrouping<TableMember, string> twice in Columns.GroupBy(column => column.Value, column => column.Key).Where(group => group.Count() > 1))
        {
            faults.Add($"“{string.Join("” and “", twice)}” are both given as {TableWords.NameOf(twice.Key)}; choose one.");
        }

        if (ColumnOf(TableMember.ExposedAt) is null && ColumnOf(TableMember.Date) is null)
        {
            faults.Add("No column is the date: say which column tells when the exposure was made.");
        }

        if (ColumnOf(TableMember.Key) is null && Key.Count == 0)
        {
            faults.Add("Nothing tells rows apart: choose a column with an identifier of the exposure, or the columns that together are different for each exposure.");
        }

        return faults;
    }
}
