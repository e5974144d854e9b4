using Hotlight.Imaging.Dicom;

namespace Hotlight.Records.Sources;

/// <summary>Reads key object selections (PS3.3 A.35.4) that say which images were rejected and why.</summary>
internal static class KeyObjectReader
{
    /// <summary>Reads a key object selection.</summary>
    /// <param name="dataset">The document.</param>
    public static SourceReading Read(DicomDataset dataset)
    {
        ReportItem root = new(dataset);
        bool isReject = root.Concept is ReportCodes.RejectedForQuality or ReportCodes.RejectedForSafety;
        if (!isReject && root.Concept != ReportCodes.QualityIssue)
        {
            return SourceReading.Other("It is a key object selection that says nothing of rejects.");
        }

        RejectReason? reason = root.Items.Where(item => item.Concept == ReportCodes.DocumentTitleModifier && item.Code is not null).Select(item => (RejectReason?)ReasonWords.OfCode(item.Code!)).FirstOrDefault();
        ImageRemark[] remarks = [.. root.Whole().SelectMany(item => item.Images).Distinct(StringComparer.Ordinal).Select(image => new ImageRemark(image, isReject, reason))];
        return remarks.Length == 0 ? SourceReading.Bad("It is a key object selection without images.") : new SourceReading { Remarks = remarks };
    }
}
