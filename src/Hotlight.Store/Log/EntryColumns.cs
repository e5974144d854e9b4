using System.Data.Common;
using Hotlight.Records;

namespace Hotlight.Store.Log;

/// <summary>An entry and the columns of its row, both ways.</summary>
internal static class EntryColumns
{
    /// <summary>Outcome of a reject without a reason; one with a reason has the reason's number, everything else 0.</summary>
    public const int RejectedWithoutReason = 99;

    /// <summary>Bin of an entry without a deviation index.</summary>
    public const int NoBin = 999;

    /// <summary>Place of the site in <see cref="Names"/>.</summary>
    public const int Site = 1;

    /// <summary>Place of the key.</summary>
    public const int Key = 2;

    /// <summary>Place of the day.</summary>
    public const int Day = 4;

    private static readonly DateTime Earliest = new(1900, 1, 1);
    private static readonly DateTime Before = new(2200, 1, 1);

    /// <summary>The columns, in the order of <see cref="ValuesOf"/>; before them stands <c>seq</c>, which the database gives.</summary>
    public static IReadOnlyList<string> Names { get; } =
    [
        "id", "site", "entry_key", "exposed_at", "day", "month", "projection", "given_projection", "room", "receptor", "performer", "shift", "age_group", "exposure_use",
        "is_repeat", "reason", "outcome", "exposure_index", "target_exposure_index", "deviation_index", "bin", "tube_voltage_kvp", "exposure_mas", "kerma_area_product_dgycm2",
        "patient_key", "examination_key", "case_id", "source", "import",
    ];

    /// <summary>The columns with commas between, each behind a table's name where one is given.</summary>
    /// <param name="table">The table's name in the statement; null: none.</param>
    public static string List(string? table = null) => string.Join(", ", table is null ? Names : Names.Select(name => $"{table}.{name}"));

    /// <summary>Number of a month: 12 · year + month - 1.</summary>
    /// <param name="day">A day of it.</param>
    public static int MonthOf(DateOnly day) => (day.Year * 12) + day.Month - 1;

    /// <summary>First day of a month.</summary>
    /// <param name="month">Number of the month, see <see cref="MonthOf"/>.</param>
    public static DateOnly FirstDayOf(int month) => new(month / 12, (month % 12) + 1, 1);

    /// <summary>What became of an exposure, as one number: 0 for kept ones and tests, the reason's for rejects, <see cref="RejectedWithoutReason"/> for those without.</summary>
    /// <param name="use">What became of it.</param>
    /// <param name="reason">Why; null: nobody said.</param>
    public static int OutcomeOf(ExposureUse use, RejectReason? reason)
        => use != ExposureUse.Rejected ? 0 : reason is { } why ? (int)why : RejectedWithoutReason;

    /// <summary>Bin of a deviation index; <see cref="NoBin"/> without one.</summary>
    /// <param name="deviationIndex">The index; null: none.</param>
    public static int BinOf(double? deviationIndex) => deviationIndex is { } index ? IndexSpread.BinOf(index) : NoBin;

    /// <summary>Names of an entry that are kept as codes.</summary>
    /// <param name="entry">The entry.</param>
    public static IEnumerable<(NameKind Kind, string? Name)> NamesOf(ExposureEntry entry) =>
    [
        (NameKind.Site, entry.Site), (NameKind.Projection, entry.ProjectionId), (NameKind.GivenProjection, entry.GivenProjection), (NameKind.Room, entry.Room),
        (NameKind.Receptor, entry.Receptor), (NameKind.Performer, entry.Performer),
    ];

    /// <summary>Refuses an entry that cannot be kept.</summary>
    /// <param name="entry">The entry.</param>
    /// <exception cref="ArgumentException">A text is too long, the key is missing, a number is not finite or a time is out of [1900, 2200).</exception>
    public static void Check(ExposureEntry entry)
    {
        ArgumentNullException.ThrowIfNull(entry);
        if (string.IsNullOrWhiteSpace(entry.Key) || entry.Key.Length > ExposureEntry.KeyMaxLength)
        {
            throw new ArgumentException($"An entry's key has 1 to {ExposureEntry.KeyMaxLength} characters.", nameof(entry));
        }

        foreach (string? name in (string?[])[entry.Site, entry.ProjectionId, entry.GivenProjection, entry.Room, entry.Receptor, entry.Performer])
        {
            if (name?.Length > ExposureEntry.NameMaxLength)
            {
                throw new ArgumentException($"'{name[..20]}...' is longer than {ExposureEntry.NameMaxLength} characters.", nameof(entry));
            }
        }

        foreach (string? text in (string?[])[entry.Key, entry.Site, entry.ProjectionId, entry.GivenProjection, entry.Room, entry.Receptor, entry.Performer, entry.PatientKey, entry.ExaminationKey])
        {
            if (text?.Contains('\0', StringComparison.Ordinal) == true)
            {
                throw new ArgumentException("A text of an entry has no character 0.", nameof(entry));
            }
        }

        if (entry.ExposedAt < Earliest || entry.ExposedAt >= Before)
        {
            throw new ArgumentException($"The exposure's time {entry.ExposedAt:s} is not from 1900 to 2199.", nameof(entry));
        }

        foreach (double? number in (double?[])[entry.ExposureIndex, entry.TargetExposureIndex, entry.DeviationIndex, entry.TubeVoltageKvp, entry.ExposureMas, entry.KermaAreaProductDgyCm2])
        {
            if (number is { } value && !double.IsFinite(value))
            {
                throw new ArgumentException("A number of an entry is finite, or null where it is not told.", nameof(entry));
            }
        }

        // Far above any radiograph; sums of millions of them stay whole numbers of 64 bits.
        if (entry.KermaAreaProductDgyCm2 is < 0 or > 1_000_000)
        {
            throw new ArgumentException($"The kerma-area product {entry.KermaAreaProductDgyCm2} dGy·cm² is not from 0 to 1 000 000.", nameof(entry));
        }
    }

    /// <summary>The values of an entry's row, in the order of <see cref="Names"/>.</summary>
    /// <param name="entry">The entry, checked.</param>
    /// <param name="codes">Codes of its names.</param>
    /// <param name="import">Number of its bringing-in; null: none.</param>
    public static object?[] ValuesOf(ExposureEntry entry, NameCodes codes, int? import)
    {
        var day = DateOnly.FromDateTime(entry.ExposedAt);
        return
        [
            entry.Id, codes.CodeOf(NameKind.Site, entry.Site), entry.Key, entry.ExposedAt.Ticks, day.DayNumber, MonthOf(day), codes.CodeOf(NameKind.Projection, entry.ProjectionId),
            codes.CodeOf(NameKind.GivenProjection, entry.GivenProjection), codes.CodeOf(NameKind.Room, entry.Room), codes.CodeOf(NameKind.Receptor, entry.Receptor),
            codes.CodeOf(NameKind.Performer, entry.Performer), (int)entry.Shift, (int)entry.AgeGroup, (int)entry.Use, entry.IsRepeat ? 1 : 0, (int)(entry.Reason ?? 0),
            OutcomeOf(entry.Use, entry.Reason), entry.ExposureIndex, entry.TargetExposureIndex, entry.DeviationIndex, BinOf(entry.DeviationIndex), entry.TubeVoltageKvp,
            entry.ExposureMas, entry.KermaAreaProductDgyCm2, entry.PatientKey, entry.ExaminationKey, entry.CaseId, (int)entry.Source, import,
        ];
    }

    /// <summary>Reads an entry from a row.</summary>
    /// <param name="row">The row.</param>
    /// <param name="from">Place of the first of <see cref="Names"/> in it.</param>
    /// <param name="codes">Names of the codes.</param>
    /// <param name="importId">The bringing-in.</param>
    public static ExposureEntry Read(DbDataReader row, int from, NameCodes codes, Guid? importId)
    {
        int place = from;
        string? Name() => codes.NameOf(row.GetInt32(place++));
        double? Number() => row.IsDBNull(place++) ? null : row.GetDouble(place - 1);
        string? Text() => row.IsDBNull(place++) ? null : row.GetString(place - 1);
        Guid id = row.GetGuid(place++);
        string site = Name()!;
        string key = row.GetString(place++);
        var exposedAt = new DateTime(row.GetInt64(place++), DateTimeKind.Unspecified);
        place += 2;
        string? projection = Name();
        string? given = Name();
        string? room = Name();
        string? receptor = Name();
        string? performer = Name();
        var shift = (Shift)row.GetInt32(place++);
        var age = (AgeGroup)row.GetInt32(place++);
        var use = (ExposureUse)row.GetInt32(place++);
        bool isRepeat = row.GetInt32(place++) != 0;
        int reason = row.GetInt32(place++);
        place++;
        double? index = Number();
        double? target = Number();
        double? deviation = Number();
        place++;
        return new ExposureEntry
        {
            Id = id,
            Site = site,
            Key = key,
            ExposedAt = exposedAt,
            ProjectionId = projection,
            GivenProjection = given,
            Room = room,
            Receptor = receptor,
            Performer = performer,
            Shift = shift,
            AgeGroup = age,
            Use = use,
            IsRepeat = isRepeat,
            Reason = reason == 0 ? null : (RejectReason)reason,
            ExposureIndex = index,
            TargetExposureIndex = target,
            DeviationIndex = deviation,
            TubeVoltageKvp = Number(),
            ExposureMas = Number(),
            KermaAreaProductDgyCm2 = Number(),
            PatientKey = Text(),
            ExaminationKey = Text(),
            CaseId = row.IsDBNull(place++) ? null : row.GetGuid(place - 1),
            Source = (EntrySource)row.GetInt32(place),
            ImportId = importId,
        };
    }
}
