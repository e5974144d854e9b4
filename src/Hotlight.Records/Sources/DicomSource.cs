using Hotlight.Core;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Records.Sources;

/// <summary>Reads exposures from DICOM files of every kind that tells of them: headers of radiographs, radiation dose structured reports, key object selections.</summary>
public sealed class DicomSource
{
    private const string DoseReportClass = "1.2.840.10008.5.1.4.1.1.88.67";
    private const string KeyObjectClass = "1.2.840.10008.5.1.4.1.1.88.59";
    private const string ReportClasses = "1.2.840.10008.5.1.4.1.1.88.";
    private readonly HeaderReader headers;
    private readonly DoseReportReader reports;

    /// <summary>Creates the reader.</summary>
    /// <param name="projections">Finds the catalogue's projections.</param>
    /// <param name="naming">What names become.</param>
    /// <param name="hours">The clinic's shifts.</param>
    public DicomSource(ProjectionWords projections, ISourceNaming naming, ShiftHours hours)
    {
        ArgumentNullException.ThrowIfNull(projections);
        ArgumentNullException.ThrowIfNull(naming);
        ArgumentNullException.ThrowIfNull(hours);
        headers = new HeaderReader(projections, naming, hours);
        reports = new DoseReportReader(projections, naming, hours);
    }

    /// <summary>Reads one file; a bad one is said, never thrown. Pixels are not read.</summary>
    /// <param name="content">The file, at its beginning.</param>
    /// <param name="fileName">Its name, for messages.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public SourceReading Read(Stream content, string fileName, CancellationToken cancellation = default)
    {
        try
        {
            return Read(DicomHeader.Read(content, fileName, cancellation));
        }
        catch (UnreadableImageException error)
        {
            return error.IsOtherKind ? SourceReading.Other(Sentence(error.Reason)) : SourceReading.Bad(Sentence(error.Reason));
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return SourceReading.Bad($"It cannot be read: {error.Message}");
        }
    }

    /// <summary>Reads the attributes of one file.</summary>
    /// <param name="dataset">The attributes.</param>
    public SourceReading Read(DicomDataset dataset)
    {
        ArgumentNullException.ThrowIfNull(dataset);
        string? sopClass = dataset.Text(SourceTags.SopClassUid);
        string? modality = dataset.Text(SourceTags.Modality);
        return sopClass == KeyObjectClass || modality == "KO" ? KeyObjectReader.Read(dataset)
            : sopClass == DoseReportClass ? reports.Read(dataset)
            : sopClass?.StartsWith(ReportClasses, StringComparison.Ordinal) == true || modality == "SR" ? reports.Read(dataset)
            : headers.Read(dataset);
    }

    private static string Sentence(string reason) => reason.Length == 0 ? reason : char.ToUpperInvariant(reason[0]) + reason[1..];
}
