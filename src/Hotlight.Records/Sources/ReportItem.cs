using Hotlight.Imaging.Dicom;

namespace Hotlight.Records.Sources;

/// <summary>A content item of a structured report (PS3.3 C.17.3), read by the value of its concept's code; what is missing or of another type is null, never an error.</summary>
/// <param name="dataset">The item.</param>
internal readonly struct ReportItem(DicomDataset dataset)
{
    /// <summary>Code value of the concept name; null in an item without one.</summary>
    public string? Concept => CodeIn(dataset, SourceTags.ConceptNameCodeSequence);

    /// <summary>The items in it.</summary>
    public IEnumerable<ReportItem> Items => dataset.Items(SourceTags.ContentSequence).Select(item => new ReportItem(item));

    /// <summary>Code value of a CODE item.</summary>
    public string? Code => CodeIn(dataset, SourceTags.ConceptCodeSequence);

    /// <summary>Text of a TEXT item.</summary>
    public string? Text => dataset.LongText(SourceTags.TextValue)?.Trim() is { Length: > 0 } text ? text : null;

    /// <summary>UID of a UIDREF item.</summary>
    public string? Uid => dataset.Text(SourceTags.Uid);

    /// <summary>Value of a DATETIME item.</summary>
    public string? Moment => dataset.Text(SourceTags.ContentDateTime);

    /// <summary>Name of a PNAME item.</summary>
    public string? Person => dataset.Text(SourceTags.PersonName);

    /// <summary>Value of a NUM item; null where it has none or it is no finite number.</summary>
    public double? Number => dataset.Items(SourceTags.MeasuredValueSequence) is [{ } value, ..] ? value.Number(SourceTags.NumericValue) : null;

    /// <summary>Code value of a NUM item's unit.</summary>
    public string? Unit => dataset.Items(SourceTags.MeasuredValueSequence) is [{ } value, ..] ? CodeIn(value, SourceTags.MeasurementUnitsCodeSequence) : null;

    /// <summary>SOP Instance UIDs that an IMAGE item refers to.</summary>
    public IEnumerable<string> Images => dataset.Items(SourceTags.ReferencedSopSequence).Select(item => item.Text(SourceTags.ReferencedSopInstanceUid)).OfType<string>();

    /// <summary>The first item in it with a concept; null where there is none.</summary>
    /// <param name="concept">Code value of the concept.</param>
    public ReportItem? Find(string concept)
    {
        foreach (ReportItem item in Items)
        {
            if (item.Concept == concept)
            {
                return item;
            }
        }

        return null;
    }

    /// <summary>This item and all below it, in the order of the report.</summary>
    public IEnumerable<ReportItem> Whole()
    {
        yield return this;
        foreach (ReportItem item in Items)
        {
            foreach (ReportItem each in item.Whole())
            {
                yield return each;
            }
        }
    }

    private static string? CodeIn(DicomDataset place, DicomTag sequence)
        => place.Items(sequence) is [{ } code, ..] ? code.Text(SourceTags.CodeValue) ?? code.Text(SourceTags.LongCodeValue) : null;
}
