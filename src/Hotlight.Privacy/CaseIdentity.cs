using System.Globalization;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Privacy;

/// <summary>Which patient and which examination a file belongs to, without naming either. Null: the file does not say.</summary>
public sealed record CaseIdentity
{
    /// <summary>Nothing is known, as of a picture.</summary>
    public static CaseIdentity None { get; } = new();

    /// <summary>Stands for the patient within this store, 32 hexadecimal digits.</summary>
    public string? PatientKey { get; init; }

    /// <summary>What the patient is called here, such as "P-7F3K2QXM".</summary>
    public string? PatientLabel { get; init; }

    /// <summary>Study Instance UID (0020,000D) as the kept file has it.</summary>
    public string? StudyUid { get; init; }

    /// <summary>Series Instance UID (0020,000E) as the kept file has it.</summary>
    public string? SeriesUid { get; init; }

    /// <summary>SOP Instance UID (0008,0018) as the kept file has it.</summary>
    public string? InstanceUid { get; init; }

    /// <summary>When the exposure was made, as the kept file has it.</summary>
    public DateTime? AcquiredAt { get; init; }

    /// <summary>Stands for the accession number within this store, 32 hexadecimal digits.</summary>
    public string? AccessionKey { get; init; }

    /// <summary>The identity of a file, from its data set before anything is taken out.</summary>
    /// <param name="dataset">The data set.</param>
    /// <param name="key">The store's key; null: patients and orders are not told apart.</param>
    public static CaseIdentity Of(DicomDataset dataset, PrivacyKey? key)
    {
        ArgumentNullException.ThrowIfNull(dataset);
        string? patient = PatientOf(dataset);
        return new CaseIdentity
        {
            PatientKey = patient is null ? null : key?.Stand("patient", patient),
            PatientLabel = patient is null ? null : key?.Pseudonym(patient),
            StudyUid = dataset.Text(0x0020000D),
            SeriesUid = dataset.Text(0x0020000E),
            InstanceUid = dataset.Text(0x00080018),
            AcquiredAt = AcquiredOf(dataset),
            AccessionKey = dataset.Text(0x00080050) is { } accession ? key?.Stand("accession", accession) : null,
        };
    }

    /// <summary>What tells a patient from others: the identifier; failing that name and birth date; failing both the examination; null where the file says none of these.</summary>
    internal static string? PatientOf(DicomDataset dataset)
    {
        if (dataset.Text(0x00100020) is { } id)
        {
            return "id:" + id.ToUpperInvariant();
        }

        return dataset.Text(0x00100010) is { } name
            ? $"name:{name.ToUpperInvariant()}:{dataset.Text(0x00100030)}"
            : dataset.Text(0x0020000D) is { } study ? "study:" + study : null;
    }

    private static DateTime? AcquiredOf(DicomDataset dataset)
    {
        string? moment = dataset.Text(0x0008002A);
        foreach ((DicomTag date, DicomTag time) in new (DicomTag, DicomTag)[] { (0x00080022, 0x00080032), (0x00080023, 0x00080033), (0x00080021, 0x00080031), (0x00080020, 0x00080030) })
        {
            if (moment is { Length: >= 8 })
            {
                break;
            }

            moment = dataset.Text(date) is { Length: 8 } day ? day + dataset.Text(time) : null;
        }

        if (moment is null || !DateTime.TryParseExact(moment.AsSpan(0, Math.Min(8, moment.Length)), "yyyyMMdd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateTime result))
        {
            return null;
        }

        int Part(int start, int most) => moment.Length >= start + 2 && int.TryParse(moment.AsSpan(start, 2), NumberStyles.None, CultureInfo.InvariantCulture, out int value) && value < most ? value : 0;
        return result.AddHours(Part(8, 24)).AddMinutes(Part(10, 60)).AddSeconds(Part(12, 60));
    }
}
