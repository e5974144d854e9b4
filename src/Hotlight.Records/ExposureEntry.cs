namespace Hotlight.Records;

/// <summary>One exposure as a department's records have it. Immutable. No member holds a patient's name, identifier or birth date.</summary>
public sealed record ExposureEntry
{
    /// <summary>Longest <see cref="Key"/>, in characters.</summary>
    public const int KeyMaxLength = 128;

    /// <summary>Longest name of a site, room, receptor, performer or projection, in characters.</summary>
    public const int NameMaxLength = 100;

    /// <summary>Identifies the entry in the records.</summary>
    public required Guid Id { get; init; }

    /// <summary>The department the exposure belongs to; empty for the clinic's own. Invented records have a site of their own, so that they never mix with real ones.</summary>
    public string Site { get; init; } = string.Empty;

    /// <summary>What makes the same exposure the same when it is brought in twice: a SOP Instance UID, an Irradiation Event UID, or what a table's mapping names; unique within the site.</summary>
    public required string Key { get; init; }

    /// <summary>When it was made, by the clock in the room; without a zone.</summary>
    public required DateTime ExposedAt { get; init; }

    /// <summary>Projection of the catalogue; null where the source's words fit none.</summary>
    public string? ProjectionId { get; init; }

    /// <summary>What the source called the projection, such as "WRIST PA"; null where it said nothing.</summary>
    public string? GivenProjection { get; init; }

    /// <summary>The room; null: not told.</summary>
    public string? Room { get; init; }

    /// <summary>The receptor; null: not told.</summary>
    public string? Receptor { get; init; }

    /// <summary>Pseudonym of who made the exposure; null: not told. Never a real name: a source's name becomes a pseudonym before it gets here.</summary>
    public string? Performer { get; init; }

    /// <summary>The shift, by the clinic's hours when the entry was brought in.</summary>
    public Shift Shift { get; init; }

    /// <summary>Whether the patient was a child.</summary>
    public AgeGroup AgeGroup { get; init; }

    /// <summary>What became of the exposure.</summary>
    public ExposureUse Use { get; init; }

    /// <summary>Whether it was made again in place of an earlier exposure of the same examination. A reject and a repeat are not the same set (AAPM TG-305).</summary>
    public bool IsRepeat { get; init; }

    /// <summary>Why it was rejected; null where it was not, or nobody said.</summary>
    public RejectReason? Reason { get; init; }

    /// <summary>Exposure index, IEC 62494-1; null: missing.</summary>
    public double? ExposureIndex { get; init; }

    /// <summary>Target exposure index, IEC 62494-1.</summary>
    public double? TargetExposureIndex { get; init; }

    /// <summary>Deviation index, IEC 62494-1, 10·log10(index / target): as given, else worked out where both are there.</summary>
    public double? DeviationIndex { get; init; }

    /// <summary>Tube voltage, in kV peak.</summary>
    public double? TubeVoltageKvp { get; init; }

    /// <summary>Tube current times time, in mAs.</summary>
    public double? ExposureMas { get; init; }

    /// <summary>Kerma-area product, in dGy·cm².</summary>
    public double? KermaAreaProductDgyCm2 { get; init; }

    /// <summary>Tells one patient's exposures from another's: a keyed hash, never an identifier.</summary>
    public string? PatientKey { get; init; }

    /// <summary>Tells one examination's exposures from another's: a keyed hash or a UID made new.</summary>
    public string? ExaminationKey { get; init; }

    /// <summary>The bench's case of this exposure; null: none.</summary>
    public Guid? CaseId { get; init; }

    /// <summary>How it became known.</summary>
    public EntrySource Source { get; init; }

    /// <summary>Which bringing-in it came with; null: the bench itself.</summary>
    public Guid? ImportId { get; init; }
}

/// <summary>What became of an exposure.</summary>
public enum ExposureUse
{
    /// <summary>Kept for reading.</summary>
    Kept = 0,

    /// <summary>A patient's exposure that is not presented for interpretation (AAPM TG-305).</summary>
    Rejected = 1,

    /// <summary>No patient: quality control, a test, a phantom. Never counted in a rate (AAPM TG-305).</summary>
    Test = 2,
}

/// <summary>Why an exposure was rejected. The numbers are kept in records: never change one.</summary>
public enum RejectReason
{
    /// <summary>The part did not lie as the projection demands.</summary>
    Positioning = 1,

    /// <summary>Too little or too much exposure.</summary>
    Exposure = 2,

    /// <summary>The part moved.</summary>
    Motion = 3,

    /// <summary>Required anatomy is cut off.</summary>
    ClippedAnatomy = 4,

    /// <summary>Something lies over the anatomy, or the receptor or grid left a trace.</summary>
    Artifact = 5,

    /// <summary>The side marker is missing, wrong or over anatomy.</summary>
    Marker = 6,

    /// <summary>Another patient or another part than asked for.</summary>
    WrongPatientOrPart = 7,

    /// <summary>Generator, receptor, software or workstation failed.</summary>
    Equipment = 8,

    /// <summary>A test exposure that was filed as a patient's.</summary>
    Test = 9,

    /// <summary>Something else.</summary>
    Other = 10,
}

/// <summary>A shift of the day, by hours that the clinic sets.</summary>
public enum Shift
{
    /// <summary>The time of day is not known.</summary>
    Unknown = 0,

    /// <summary>The early shift.</summary>
    Early = 1,

    /// <summary>The late shift.</summary>
    Late = 2,

    /// <summary>The night shift.</summary>
    Night = 3,
}

/// <summary>Whether a patient is a child: the reference rates differ.</summary>
public enum AgeGroup
{
    /// <summary>Not told.</summary>
    Unknown = 0,

    /// <summary>Under 18 years.</summary>
    Child = 1,

    /// <summary>18 years and more.</summary>
    Adult = 2,
}

/// <summary>How an exposure became known.</summary>
public enum EntrySource
{
    /// <summary>A case of the bench.</summary>
    Bench = 0,

    /// <summary>The header of an image.</summary>
    Header = 1,

    /// <summary>An X-ray radiation dose structured report.</summary>
    DoseReport = 2,

    /// <summary>A row of a table.</summary>
    Table = 3,
}
