using Hotlight.Imaging.Dicom;

namespace Hotlight.Records.Sources;

/// <summary>Reads an exposure from the header of a radiograph.</summary>
/// <remarks>What each member comes from: docs/bringing-in-exposures.md#headers.</remarks>
internal sealed class HeaderReader(ProjectionWords projections, ISourceNaming naming, ShiftHours hours)
{
    private const string SecondaryCaptureClass = "1.2.840.10008.5.1.4.1.1.7";

    /// <summary>Reads a header.</summary>
    /// <param name="dataset">The header.</param>
    public SourceReading Read(DicomDataset dataset)
    {
        string? modality = dataset.Text(SourceTags.Modality);
        if (modality is not ("CR" or "DX" or "RG"))
        {
            return SourceReading.Other(modality is null ? "It names no modality." : $"It is no plain radiograph; its modality is {modality}.");
        }

        string? sopClass = dataset.Text(SourceTags.SopClassUid);
        if (sopClass?.StartsWith(SecondaryCaptureClass, StringComparison.Ordinal) == true || dataset.Texts(SourceTags.ImageType) is [_, "SECONDARY", ..])
        {
            return SourceReading.Other("It was made from other images after the exposure, and is no exposure of its own.");
        }

        if (dataset.Text(SourceTags.SopInstanceUid) is not { } imageUid)
        {
            return SourceReading.Bad("It has no SOP Instance UID (0008,0018), by which an exposure is known again.");
        }

        if (SourceMoment.Of(dataset) is not { } moment)
        {
            return SourceReading.Bad("It says no date of the exposure: acquisition, content, series and study date are all missing.");
        }

        string? eventUid = dataset.Text(SourceTags.IrradiationEventUid);
        string? name = dataset.Text(SourceTags.OperatorsName) ?? dataset.Text(SourceTags.PerformingPhysicianName);
        SourcePlace place = naming.PlaceOf(new SourceDevice(dataset.Text(SourceTags.StationName), dataset.Text(SourceTags.DetectorId), dataset.Text(SourceTags.ManufacturerModelName)));
        (string? projection, string? given) = ProjectionOf(dataset);
        double? index = Positive(dataset, SourceTags.ExposureIndex), target = Positive(dataset, SourceTags.TargetExposureIndex);
        (ExposureUse use, bool isRepeat, RejectReason? reason) = FateOf(dataset);
        var entry = new ExposureEntry
        {
            Id = Guid.CreateVersion7(),
            Key = naming.UidOf(eventUid ?? imageUid),
            ExposedAt = moment.At,
            ProjectionId = projection,
            GivenProjection = given,
            Room = Cut(place.Room),
            Receptor = Cut(place.Receptor),
            Performer = name is null ? null : naming.PerformerOf(name),
            Shift = moment.HasTime ? hours.At(TimeOnly.FromDateTime(moment.At)) : Shift.Unknown,
            AgeGroup = SourceMoment.AgeOf(dataset.Text(SourceTags.PatientAge), dataset.Text(SourceTags.PatientBirthDate), moment.At),
            Use = use,
            IsRepeat = isRepeat,
            Reason = reason,
            ExposureIndex = index,
            TargetExposureIndex = target,
            DeviationIndex = DeviationOf(index, target, dataset.Number(SourceTags.DeviationIndex)),
            TubeVoltageKvp = Positive(dataset, SourceTags.Kvp),
            ExposureMas = Positive(dataset, SourceTags.ExposureInMilliAmpereSeconds)
                ?? (Positive(dataset, SourceTags.ExposureInMicroAmpereSeconds) / 1000)
                ?? Positive(dataset, SourceTags.Exposure),
            KermaAreaProductDgyCm2 = Positive(dataset, SourceTags.ImageAndFluoroscopyAreaDoseProduct),
            PatientKey = PatientOf(dataset) is { } patient ? naming.KeyOf("patient", patient) : null,
            ExaminationKey = dataset.Text(SourceTags.StudyInstanceUid) is { } study ? naming.UidOf(study) : null,
            Source = EntrySource.Header,
        };
        return new SourceReading
        {
            Exposures =
            [
                new FoundExposure
                {
                    Entry = entry,
                    EventUid = eventUid,
                    ImageUids = [imageUid],
                    Laterality = dataset.Text(SourceTags.ImageLaterality) ?? dataset.Text(SourceTags.Laterality),
                    IsForProcessing = dataset.Text(SourceTags.PresentationIntentType) switch { "FOR PROCESSING" => true, "FOR PRESENTATION" => false, _ => null },
                },
            ],
        };
    }

    /// <summary>The deviation index as given, else worked out (IEC 62494-1: 10·log10(index / target)); null where neither can be.</summary>
    /// <param name="index">Exposure index, above 0.</param>
    /// <param name="target">Target exposure index, above 0.</param>
    /// <param name="given">Deviation index as the source has it.</param>
    internal static double? DeviationOf(double? index, double? target, double? given)
        => given is { } told && double.IsFinite(told) ? told : index > 0 && target > 0 ? 10 * Math.Log10(index.Value / target.Value) : null;

    /// <summary>What tells a patient from others, as cases do: the identifier; failing that name and birth date; failing both the examination.</summary>
    /// <param name="dataset">The header.</param>
    internal static string? PatientOf(DicomDataset dataset)
        => dataset.Text(SourceTags.PatientId) is { } id ? "id:" + id.ToUpperInvariant()
            : dataset.Text(SourceTags.PatientName) is { } name ? $"name:{name.ToUpperInvariant()}:{dataset.Text(SourceTags.PatientBirthDate)}"
            : dataset.Text(SourceTags.StudyInstanceUid) is { } study ? "study:" + study : null;

    /// <summary>A name of at most <see cref="ExposureEntry.NameMaxLength"/> characters; null for an empty one.</summary>
    /// <param name="name">The name.</param>
    internal static string? Cut(string? name)
        => string.IsNullOrWhiteSpace(name) ? null : name.Trim() is { Length: > ExposureEntry.NameMaxLength } longer ? longer[..ExposureEntry.NameMaxLength] : name.Trim();

    private static double? Positive(DicomDataset dataset, DicomTag tag) => dataset.Number(tag) is > 0 and double value ? value : null;

    private static string? CodeOf(DicomDataset dataset, DicomTag sequence) => dataset.Items(sequence) is [{ } item, ..] ? item.Text(SourceTags.CodeValue) ?? item.Text(SourceTags.LongCodeValue) : null;

    /// <summary>What became of the exposure as far as its header tells: docs/bringing-in-exposures.md#tests-and-rejects.</summary>
    private static (ExposureUse Use, bool IsRepeat, RejectReason? Reason) FateOf(DicomDataset dataset)
    {
        bool isRejected = false, isRepeat = false;
        RejectReason? reason = null;
        foreach (DicomDataset item in dataset.Items(SourceTags.AcquisitionContextSequence))
        {
            string? value = CodeOf(item, SourceTags.ConceptCodeSequence);
            switch (CodeOf(item, SourceTags.ConceptNameCodeSequence))
            {
                case ReportCodes.IsRejected:
                    isRejected = ReportCodes.IsYes(value);
                    break;
                case ReportCodes.IsRepeated:
                    isRepeat = ReportCodes.IsYes(value);
                    break;
                case ReportCodes.ReasonForRejecting when value is not null:
                    reason = ReasonWords.OfCode(value);
                    break;
            }
        }

        if (dataset.Text(SourceTags.QualityControlImage) == "YES" || dataset.Text(SourceTags.ContentQualification) == "SERVICE" || SaysTest(dataset))
        {
            return (ExposureUse.Test, false, null);
        }

        return (isRejected ? ExposureUse.Rejected : ExposureUse.Kept, isRepeat, isRejected ? reason : null);
    }

    private static bool SaysTest(DicomDataset dataset)
        => (string.Equals(dataset.Text(SourceTags.BodyPartExamined), "PHANTOM", StringComparison.OrdinalIgnoreCase))
            || new[] { dataset.Text(SourceTags.ProtocolName), dataset.Text(SourceTags.SeriesDescription), dataset.Text(SourceTags.PatientName), dataset.Text(SourceTags.PatientId) }
                .Any(text => text is not null && PlainWords.Of(text).Split(' ') is { } words && (words.Contains("phantom") || words.Contains("qc") || (words.Contains("flat") && words.Contains("field"))));

    private (string? Projection, string? Given) ProjectionOf(DicomDataset dataset)
    {
        string? part = dataset.Text(SourceTags.BodyPartExamined), view = dataset.Text(SourceTags.ViewPosition);
        string? terms = part is null ? null : view is null ? part : $"{part} {view}";
        string? first = null;
        foreach (DicomTag tag in new[] { SourceTags.AcquisitionDeviceProcessingDescription, SourceTags.ProtocolName, SourceTags.SeriesDescription, SourceTags.PerformedProcedureStepDescription })
        {
            if (dataset.Text(tag) is not { } words || naming.DescriptionOf(words) is not { } clean)
            {
                continue;
            }

            first ??= clean;
            if ((projections.OfWords(words) ?? projections.OfWords(clean)) is { } named)
            {
                return (named, Cut(clean));
            }
        }

        string? projection = projections.OfTerms(part, view)
            ?? projections.OfCodes(CodeOf(dataset, SourceTags.AnatomicRegionSequence), CodeOf(dataset, SourceTags.ViewCodeSequence));
        return (projection, Cut(terms is null ? first : naming.DescriptionOf(terms) ?? first));
    }
}
