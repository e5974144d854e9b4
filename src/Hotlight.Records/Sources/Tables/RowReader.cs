using System.Globalization;

namespace Hotlight.Records.Sources.Tables;

/// <summary>Reads one row after the other of a table whose headings are known.</summary>
internal sealed class RowReader
{
    private const int MostRemembered = 100_000;
    private readonly string[] headings;
    private readonly TableMapping mapping;
    private readonly ProjectionWords projections;
    private readonly ISourceNaming naming;
    private readonly ShiftHours hours;
    private readonly int[] places = new int[Enum.GetValues<TableMember>().Length];
    private readonly int[] keyPlaces;
    private readonly double kermaAreaProductFactor;
    private readonly Dictionary<string, (string? Id, string? Given)> projectionOf = new(StringComparer.Ordinal);
    private readonly List<SourceFault> faults = [];
    private string[] fields = [];
    private long line;

    /// <summary>Creates the reader.</summary>
    /// <param name="headings">The table's headings.</param>
    /// <param name="mapping">What its columns mean, without faults.</param>
    /// <param name="projections">Finds the catalogue's projections.</param>
    /// <param name="naming">What names become.</param>
    /// <param name="hours">The clinic's shifts.</param>
    /// <exception cref="FormatException">The mapping reads a column that is not there.</exception>
    public RowReader(string[] headings, TableMapping mapping, ProjectionWords projections, ISourceNaming naming, ShiftHours hours)
    {
        this.headings = headings;
        this.mapping = mapping;
        this.projections = projections;
        this.naming = naming;
        this.hours = hours;
        Array.Fill(places, -1);
        foreach ((string heading, TableMember member) in mapping.Columns)
        {
            places[(int)member] = PlaceOf(heading);
        }

        keyPlaces = [.. mapping.Key.Select(PlaceOf)];
        kermaAreaProductFactor = TableMapping.KermaAreaProductUnits[mapping.KermaAreaProductUnit];
    }

    /// <summary>Reads a row.</summary>
    /// <param name="at">Line it begins on.</param>
    /// <param name="row">Its fields.</param>
    public TableRow Read(long at, string[] row)
    {
        line = at;
        fields = row;
        faults.Clear();
        if (row.Length < headings.Length || row.AsSpan(headings.Length).ContainsAnyExcept(string.Empty))
        {
            return new TableRow(at, null, [new SourceFault($"line {at}", $"The row has {row.Length} fields where the table has {headings.Length} columns; a field with the sign between fields in it must stand in quotes.", at)]);
        }

        (DateTime At, bool HasTime)? moment = Moment();
        (ExposureUse use, RejectReason? reason) = Use();
        (string? projection, string? given) = Projection();
        string? key = Key();
        double? index = Positive(TableMember.ExposureIndex), target = Positive(TableMember.TargetExposureIndex);
        double? voltage = Positive(TableMember.TubeVoltageKvp), exposure = Positive(TableMember.ExposureMas), product = Positive(TableMember.KermaAreaProduct);
        double? deviation = HeaderReader.DeviationOf(index, target, Number(TableMember.DeviationIndex));
        Shift shift = ShiftOf(moment);
        bool isRepeat = Word(TableMember.IsRepeat) is { } words && (ReasonWords.TruthOfWords(words) ?? Fault(TableMember.IsRepeat, words, "says neither yes nor no: say in the mapping what it means", false));
        AgeGroup age = Age(moment?.At);
        if (faults.Count > 0 || moment is not { } when || key is null)
        {
            return new TableRow(at, null, [.. faults]);
        }

        var entry = new ExposureEntry
        {
            Id = Guid.CreateVersion7(),
            Key = key,
            ExposedAt = when.At,
            ProjectionId = projection,
            GivenProjection = given,
            Room = HeaderReader.Cut(Word(TableMember.Room)),
            Receptor = HeaderReader.Cut(Word(TableMember.Receptor)),
            Performer = Text(TableMember.Performer) is { } name ? naming.PerformerOf(name) : HeaderReader.Cut(Text(TableMember.PerformerPseudonym)),
            Shift = shift,
            AgeGroup = age,
            Use = use,
            IsRepeat = isRepeat && use != ExposureUse.Test,
            Reason = reason,
            ExposureIndex = index,
            TargetExposureIndex = target,
            DeviationIndex = deviation,
            TubeVoltageKvp = voltage,
            ExposureMas = exposure,
            KermaAreaProductDgyCm2 = product * kermaAreaProductFactor,
            PatientKey = Text(TableMember.Patient) is { } patient ? naming.KeyOf("patient", "id:" + patient.ToUpperInvariant()) : null,
            ExaminationKey = Text(TableMember.Examination) is { } examination ? IsUid(examination) ? naming.UidOf(examination) : naming.KeyOf("accession", examination) : null,
            Source = EntrySource.Table,
        };
        return new TableRow(at, entry, []);
    }

    private int PlaceOf(string heading)
    {
        int place = Array.IndexOf(headings, heading);
        return place >= 0 ? place : throw new FormatException($"The mapping reads a column “{heading}”, which the table does not have; its columns are {string.Join(", ", headings.Take(20).Select(each => $"“{each}”"))}{(headings.Length > 20 ? " and others" : string.Empty)}.");
    }

    private string? Text(TableMember member)
        => places[(int)member] is >= 0 and int place && fields[place].Trim() is { Length: > 0 } text ? text : null;

    /// <summary>A value, or what the mapping says that it means.</summary>
    private string? Word(TableMember member)
        => Text(member) is { } text ? mapping.Values.TryGetValue(member, out IReadOnlyDictionary<string, string>? words) && words.TryGetValue(text, out string? meant) ? meant : text : null;

    private T Fault<T>(TableMember member, string value, string what, T instead)
    {
        string shown = value.Length > 60 ? value[..60] + "…" : value;
        faults.Add(new SourceFault($"line {line}", $"“{shown}” {what}.", line, mapping.ColumnOf(member)));
        return instead;
    }

    private (DateTime At, bool HasTime)? Moment()
    {
        TableMember member = places[(int)TableMember.ExposedAt] >= 0 ? TableMember.ExposedAt : TableMember.Date;
        if (Text(member) is not { } text)
        {
            faults.Add(new SourceFault($"line {line}", "The row has no date; every exposure needs one.", line, mapping.ColumnOf(member)));
            return null;
        }

        if (!DateTime.TryParseExact(text, mapping.DateFormat, CultureInfo.InvariantCulture, DateTimeStyles.None, out DateTime at))
        {
            return Fault<(DateTime, bool)?>(member, text, $"is no date written as {mapping.DateFormat}; correct it, or choose another way of writing dates", null);
        }

        if (at.Year is < 1970 or > 2100)
        {
            return Fault<(DateTime, bool)?>(member, text, "lies before 1970 or after 2100", null);
        }

        if (member == TableMember.ExposedAt || Text(TableMember.Time) is not { } clock)
        {
            return (at, mapping.DateFormat.Contains('H', StringComparison.OrdinalIgnoreCase));
        }

        return DateTime.TryParseExact(clock, mapping.TimeFormat, CultureInfo.InvariantCulture, DateTimeStyles.NoCurrentDateDefault, out DateTime time)
            ? (at.Date + time.TimeOfDay, true)
            : Fault<(DateTime, bool)?>(TableMember.Time, clock, $"is no time of day written as {mapping.TimeFormat}; correct it, or choose another way of writing times", null);
    }

    private Shift ShiftOf((DateTime At, bool HasTime)? moment)
        => Word(TableMember.Shift) is { } words
            ? ReasonWords.ShiftOfWords(words) ?? Fault(TableMember.Shift, words, "is no shift that is known: say in the mapping whether it means early, late or night", Shift.Unknown)
            : moment is { HasTime: true } told ? hours.At(TimeOnly.FromDateTime(told.At)) : Shift.Unknown;

    private (ExposureUse Use, RejectReason? Reason) Use()
    {
        string? why = Word(TableMember.Reason) is { } told && !IsNothing(told) ? told : null;
        ExposureUse use = why is null ? ExposureUse.Kept : ExposureUse.Rejected;
        if (Word(TableMember.Use) is { } words)
        {
            use = ReasonWords.UseOfWords(words) ?? Fault(TableMember.Use, words, "says neither kept nor rejected nor test: say in the mapping what it means", ExposureUse.Kept);
        }

        RejectReason? reason = use == ExposureUse.Rejected && why is not null
            ? ReasonWords.OfWords(why) ?? Fault<RejectReason?>(TableMember.Reason, why, "is no reason that is known: say in the mapping which reason it means", null)
            : null;
        return (use, reason);
    }

    private static bool IsNothing(string words) => PlainWords.Of(words) is "" or "none" or "no" or "keine" or "kein" or "keiner" or "na" or "n a" or "null";

    private (string? Projection, string? Given) Projection()
    {
        string? whole = Text(TableMember.Projection), part = Text(TableMember.BodyPart), view = Text(TableMember.View);
        string? given = whole ?? (part is null ? null : view is null ? part : $"{part} {view}");
        if (given is null)
        {
            return (null, null);
        }

        // A table has few names and many rows.
        if (!projectionOf.TryGetValue(given, out (string? Id, string? Given) known))
        {
            string? meant = mapping.Values.TryGetValue(TableMember.Projection, out IReadOnlyDictionary<string, string>? words) ? words.GetValueOrDefault(given) : null;
            known = (projections.OfWords(meant ?? given) ?? (whole is null ? projections.OfTerms(part, view) : null), HeaderReader.Cut(given));
            if (projectionOf.Count < MostRemembered)
            {
                projectionOf[given] = known;
            }
        }

        return known;
    }

    private string? Key()
    {
        if (places[(int)TableMember.Key] < 0)
        {
            return naming.KeyOf("row", string.Join('\u001f', keyPlaces.Select(place => fields[place].Trim())));
        }

        if (Text(TableMember.Key) is { } key)
        {
            return IsUid(key) ? naming.UidOf(key) : naming.KeyOf("row", key);
        }

        faults.Add(new SourceFault($"line {line}", "The row has no identifier of the exposure, by which it is known again.", line, mapping.ColumnOf(TableMember.Key)));
        return null;
    }

    private static bool IsUid(string text) => text.Length <= 64 && text.AsSpan().Count('.') >= 3 && text.All(letter => char.IsAsciiDigit(letter) || letter == '.');

    private double? Positive(TableMember member) => Number(member) switch
    {
        null or 0 => null,
        < 0 => Fault<double?>(member, Text(member)!, "is below 0", null),
        double value => value,
    };

    private double? Number(TableMember member)
    {
        if (Text(member) is not { } text || IsNothing(text))
        {
            return null;
        }

        char group = mapping.Decimal == ',' ? '.' : ',';
        string plain = text.Contains(group, StringComparison.Ordinal) && IsGrouped(text, group) ? text.Replace(group.ToString(), string.Empty, StringComparison.Ordinal) : text;
        return !plain.Contains(group, StringComparison.Ordinal)
            && double.TryParse(plain.Replace(',', '.'), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value)
            ? value
            : Fault<double?>(member, text, $"is no number with a decimal {(mapping.Decimal == ',' ? "comma" : "point")}; correct it, or choose the other sign", null);
    }

    /// <summary>Whether a sign stands before every three digits of the whole part, as thousands are written.</summary>
    private bool IsGrouped(string text, char group)
    {
        string[] halves = text.TrimStart('-', '+').Split(mapping.Decimal);
        string[] parts = halves[0].Split(group);
        return halves.Length <= 2 && parts[0].Length is > 0 and <= 3 && parts.All(part => part.All(char.IsAsciiDigit)) && parts.Skip(1).All(part => part.Length == 3) && (halves.Length == 1 || halves[1].All(char.IsAsciiDigit));
    }

    private AgeGroup Age(DateTime? exposedAt)
    {
        if (Text(TableMember.Age) is { } age)
        {
            if (SourceMoment.AgeOf(age, null, exposedAt ?? default) is not AgeGroup.Unknown and AgeGroup told)
            {
                return told;
            }

            return double.TryParse(age.Replace(',', '.'), NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out double years) && years <= 130
                ? years < 18 ? AgeGroup.Child : AgeGroup.Adult
                : Fault(TableMember.Age, age, "is no age in years", AgeGroup.Unknown);
        }

        if (Text(TableMember.BirthDate) is not { } born || exposedAt is not { } at)
        {
            return AgeGroup.Unknown;
        }

        string format = mapping.DateFormat.Split(' ', 'T')[0];
        return DateTime.TryParseExact(born, [format, "yyyyMMdd", "yyyy-MM-dd", "dd.MM.yyyy"], CultureInfo.InvariantCulture, DateTimeStyles.None, out DateTime day)
            ? SourceMoment.AgeOf(null, day.ToString("yyyyMMdd", CultureInfo.InvariantCulture), at)
            : Fault(TableMember.BirthDate, born, $"is no date written as {format}", AgeGroup.Unknown);
    }
}
