namespace Hotlight.Records;

/// <summary>Which entries are picked: every list that is not empty narrows. Immutable. In a list of names, null stands for "not told".</summary>
public sealed record LogQuery
{
    /// <summary>The site; empty for the clinic's own. One at a time: records of two departments never mix unseen.</summary>
    public string Site { get; init; } = string.Empty;

    /// <summary>First day; null: from the beginning.</summary>
    public DateOnly? From { get; init; }

    /// <summary>The day after the last; null: to the end.</summary>
    public DateOnly? Before { get; init; }

    /// <summary>Projections of the catalogue.</summary>
    public IReadOnlyList<string?> ProjectionIds { get; init; } = [];

    /// <summary>Rooms.</summary>
    public IReadOnlyList<string?> Rooms { get; init; } = [];

    /// <summary>Receptors.</summary>
    public IReadOnlyList<string?> Receptors { get; init; } = [];

    /// <summary>Pseudonyms of who exposed.</summary>
    public IReadOnlyList<string?> Performers { get; init; } = [];

    /// <summary>Shifts.</summary>
    public IReadOnlyList<Shift> Shifts { get; init; } = [];

    /// <summary>Groups of age.</summary>
    public IReadOnlyList<AgeGroup> AgeGroups { get; init; } = [];

    /// <summary>What became of the exposures. Single entries only: counts tell the uses apart anyway.</summary>
    public IReadOnlyList<ExposureUse> Uses { get; init; } = [];

    /// <summary>Reasons of rejects; null stands for a reject without one. Single entries only.</summary>
    public IReadOnlyList<RejectReason?> Reasons { get; init; } = [];

    /// <summary>Only entries whose deviation index is at least so far from 0, in either direction. Single entries only; null: all.</summary>
    public double? DeviationBeyond { get; init; }

    /// <summary>Only entries with (true) or without (false) an exposure index. Single entries only; null: all.</summary>
    public bool? HasIndex { get; init; }

    /// <summary>Only entries of one bringing-in. Single entries only; null: all.</summary>
    public Guid? ImportId { get; init; }
}

/// <summary>What counts are told apart by.</summary>
public enum LogDimension
{
    /// <summary>The day, "2026-10-31".</summary>
    Day,

    /// <summary>The week by ISO 8601, its Monday: "2026-10-26".</summary>
    Week,

    /// <summary>The month, "2026-10".</summary>
    Month,

    /// <summary>The projection's identifier.</summary>
    Projection,

    /// <summary>The room.</summary>
    Room,

    /// <summary>The receptor.</summary>
    Receptor,

    /// <summary>Who exposed.</summary>
    Performer,

    /// <summary>The shift, as the name of <see cref="Records.Shift"/>.</summary>
    Shift,

    /// <summary>The group of age, as the name of <see cref="Records.AgeGroup"/>.</summary>
    AgeGroup,

    /// <summary>Why an exposure was rejected, as the name of <see cref="RejectReason"/>; rejects only, null for one without a reason.</summary>
    Reason,
}

/// <summary>Counts of the entries that share their keys.</summary>
public sealed record LogCount
{
    /// <summary>What they share, one for each dimension asked for, in that order; null: not told.</summary>
    public required IReadOnlyList<string?> Keys { get; init; }

    /// <summary>Patients' exposures, kept and rejected; tests are not among them.</summary>
    public long Exposures { get; init; }

    /// <summary>Rejected ones among them.</summary>
    public long Rejected { get; init; }

    /// <summary>Repeats among them.</summary>
    public long Repeats { get; init; }

    /// <summary>Test exposures, beside them.</summary>
    public long Tests { get; init; }

    /// <summary>Patients' exposures with a known kerma-area product.</summary>
    public long WithKermaAreaProduct { get; init; }

    /// <summary>Sum of the known kerma-area products of patients' exposures, in dGy·cm².</summary>
    public double KermaAreaProductDgyCm2 { get; init; }

    /// <summary>Rejected exposures with a known kerma-area product.</summary>
    public long RejectedWithKermaAreaProduct { get; init; }

    /// <summary>Sum of the known kerma-area products of rejected exposures, in dGy·cm².</summary>
    public double RejectedKermaAreaProductDgyCm2 { get; init; }
}

/// <summary>How the deviation indices of the patients' exposures that share a key are spread.</summary>
public sealed record IndexSpread
{
    /// <summary>Width of a bin of <see cref="Bins"/>, in units of the deviation index.</summary>
    public const double BinWidth = 0.1;

    /// <summary>What they share; null: not told.</summary>
    public required string? Key { get; init; }

    /// <summary>Patients' exposures.</summary>
    public long Exposures { get; init; }

    /// <summary>Those without an exposure index.</summary>
    public long Missing { get; init; }

    /// <summary>How many have a deviation index in each bin, by number of the bin: bin b holds indices in [b - 0.5, b + 0.5)·<see cref="BinWidth"/>; what lies beyond ±20 is in the last bin of its side.</summary>
    public required IReadOnlyDictionary<int, long> Bins { get; init; }

    /// <summary>Number of the bin of an index.</summary>
    /// <param name="deviationIndex">The deviation index, finite.</param>
    public static int BinOf(double deviationIndex)
        => (int)Math.Floor((Math.Clamp(deviationIndex, -20, 20) / BinWidth) + 0.5);
}

/// <summary>How the deviation indices of the exposures that share a key are spread, month by month.</summary>
/// <param name="Key">What they share; null: not told.</param>
/// <param name="Months">Their months, rising; one without an exposure of a patient is not there.</param>
public sealed record IndexMonths(string? Key, IReadOnlyList<IndexSpread> Months);

/// <summary>One target exposure index as it was used for a projection on a receptor.</summary>
/// <param name="Receptor">The receptor; null: not told.</param>
/// <param name="ProjectionId">The projection; null: not told.</param>
/// <param name="Target">The target exposure index, above 0.</param>
/// <param name="Exposures">Patients' exposures with it.</param>
/// <param name="First">Day of the first of them.</param>
/// <param name="Last">Day of the last of them.</param>
public sealed record TargetUse(string? Receptor, string? ProjectionId, double Target, long Exposures, DateOnly First, DateOnly Last);
