using Hotlight.Imaging.Dicom;

namespace Hotlight.Records.Sources;

/// <summary>Reads the irradiation events of an X-ray radiation dose structured report, DICOM PS3.16 TID 10001 and TID 10003, as makers write them: only code values count, order and missing items do not matter.</summary>
/// <remarks>What each member comes from: docs/bringing-in-exposures.md#dose-reports.</remarks>
internal sealed class DoseReportReader(ProjectionWords projections, ISourceNaming naming, ShiftHours hours)
{
    /// <summary>Reads a report.</summary>
    /// <param name="dataset">The document.</param>
    public SourceReading Read(DicomDataset dataset)
    {
        ReportItem root = new(dataset);
        if (root.Concept != ReportCodes.DoseReport)
        {
            return SourceReading.Other("It is a structured report, but none of radiation dose.");
        }

        if (root.Find(ReportCodes.ProcedureReported)?.Code is { } procedure && procedure != ReportCodes.ProjectionXRay)
        {
            return SourceReading.Other("It is a dose report of another procedure than projection X-ray.");
        }

        ReportItem[] events = [.. root.Whole().Where(item => item.Concept == ReportCodes.IrradiationEvent)];
        if (events.Length == 0)
        {
            return SourceReading.Bad("It is a dose report without an irradiation event.");
        }

        string? studyUid = dataset.Text(SourceTags.StudyInstanceUid);
        string? patient = HeaderReader.PatientOf(dataset);
        (string? performer, SourcePlace place) = ObserverOf(root, dataset);
        List<FoundExposure> found = [];
        int withoutUid = 0, withoutTime = 0, fluoroscopy = 0;
        foreach (ReportItem each in events)
        {
            if (ReportCodes.IsFluoroscopy(each.Find(ReportCodes.EventType)?.Code))
            {
                fluoroscopy++;
            }
            else if (each.Find(ReportCodes.EventUid)?.Uid is not { } uid)
            {
                withoutUid++;
            }
            else if ((each.Find(ReportCodes.StartedAt)?.Moment is { } told ? SourceMoment.Parse(told) : null) is not { } moment)
            {
                withoutTime++;
            }
            else
            {
                found.Add(EventOf(each, uid, moment, dataset, place, performer, patient, studyUid));
            }
        }

        return found.Count > 0 ? new SourceReading { Exposures = found }
            : fluoroscopy == events.Length ? SourceReading.Other("All its irradiation events are fluoroscopy.")
            : SourceReading.Bad(withoutUid > 0 ? "Its irradiation events have no UID (113769), by which an exposure is known again." : "Its irradiation events do not say when they were made (111526).");
    }

    private FoundExposure EventOf(ReportItem item, string uid, (DateTime At, bool HasTime) moment, DicomDataset dataset, SourcePlace place, string? performer, string? patient, string? studyUid)
    {
        List<ReportItem> whole = [.. item.Whole()];
        double? NumberOf(string concept) => whole.Where(each => each.Concept == concept).Select(each => each.Number).FirstOrDefault();
        ReportItem? region = item.Find(ReportCodes.TargetRegion);
        string? side = null;
        foreach (ReportItem each in whole)
        {
            side ??= ReportCodes.IsLaterality(each.Concept) ? ReportCodes.SideOf(each.Code) : null;
        }

        string? protocol = item.Find(ReportCodes.AcquisitionProtocol)?.Text;
        string? given = protocol is null ? null : naming.DescriptionOf(protocol);
        bool isRejected = ReportCodes.IsYes(item.Find(ReportCodes.IsRejected)?.Code);
        string? why = item.Find(ReportCodes.ReasonForRejecting)?.Code ?? item.Find(ReportCodes.ReasonForRepeating)?.Code;
        bool isTest = protocol is not null && PlainWords.Of(protocol).Split(' ') is { } words && (words.Contains("phantom") || words.Contains("qc"));
        double? index = Positive(NumberOf(ReportCodes.ExposureIndex)), target = Positive(NumberOf(ReportCodes.TargetExposureIndex));

        // Several pulses of one event may each have their own value; one of a plain exposure has one.
        double[] exposures = [.. whole.Where(each => each.Concept == ReportCodes.Exposure).Select(MasOf).OfType<double>()];
        string? person = whole.Where(each => each.Concept == ReportCodes.PersonName && each.Person is not null)
            .OrderByDescending(each => each.Find(ReportCodes.RoleInProcedure)?.Code == ReportCodes.Administering).Select(each => each.Person).FirstOrDefault();
        var entry = new ExposureEntry
        {
            Id = Guid.CreateVersion7(),
            Key = naming.UidOf(uid),
            ExposedAt = moment.At,
            ProjectionId = (protocol is null ? null : projections.OfWords(protocol)) ?? projections.OfCodes(region?.Code, whole.Where(each => each.Concept == ReportCodes.ImageView).Select(each => each.Code).FirstOrDefault()),
            GivenProjection = HeaderReader.Cut(given),
            Room = HeaderReader.Cut(place.Room),
            Receptor = HeaderReader.Cut(place.Receptor),
            Performer = person is null ? performer : naming.PerformerOf(person) ?? performer,
            Shift = moment.HasTime ? hours.At(TimeOnly.FromDateTime(moment.At)) : Shift.Unknown,
            AgeGroup = SourceMoment.AgeOf(dataset.Text(SourceTags.PatientAge), dataset.Text(SourceTags.PatientBirthDate), moment.At),
            Use = isTest ? ExposureUse.Test : isRejected ? ExposureUse.Rejected : ExposureUse.Kept,
            IsRepeat = !isTest && ReportCodes.IsYes(item.Find(ReportCodes.IsRepeated)?.Code),
            Reason = isRejected && !isTest && why is not null ? ReasonWords.OfCode(why) : null,
            ExposureIndex = index,
            TargetExposureIndex = target,
            DeviationIndex = HeaderReader.DeviationOf(index, target, NumberOf(ReportCodes.DeviationIndex)),
            TubeVoltageKvp = Positive(NumberOf(ReportCodes.Kvp)),
            ExposureMas = exposures.Length == 0 ? null : Positive(exposures.Sum()),
            KermaAreaProductDgyCm2 = whole.Where(each => each.Concept == ReportCodes.DoseAreaProduct).Select(KermaAreaProductOf).FirstOrDefault(value => value is not null),
            PatientKey = patient is null ? null : naming.KeyOf("patient", patient),
            ExaminationKey = studyUid is null ? null : naming.UidOf(studyUid),
            Source = EntrySource.DoseReport,
        };
        return new FoundExposure
        {
            Entry = entry,
            EventUid = uid,
            ImageUids = [.. whole.Where(each => each.Concept == ReportCodes.AcquiredImage).SelectMany(each => each.Images)],
            Laterality = side,
        };
    }

    /// <summary>Kerma-area product in dGy·cm²; null without a value above 0 or in a unit that is not known.</summary>
    /// <remarks>1 Gy·m² = 10⁴ Gy·cm² = 10⁵ dGy·cm².</remarks>
    private static double? KermaAreaProductOf(ReportItem item)
    {
        double? factor = item.Unit switch
        {
            "Gy.m2" => 1e5,
            "mGy.m2" => 1e2,
            "uGy.m2" => 0.1,
            "Gy.cm2" => 10,
            "dGy.cm2" => 1,
            "cGy.cm2" => 0.1,
            "mGy.cm2" => 0.01,
            "uGy.cm2" => 1e-5,
            _ => null,
        };
        return Positive(item.Number * factor);
    }

    private static double? MasOf(ReportItem item) => item.Number * item.Unit switch
    {
        "uA.s" => 1e-3,
        "mA.s" => 1.0,
        "A.s" => 1e3,
        _ => null,
    };

    private static double? Positive(double? value) => value is > 0 && double.IsFinite(value.Value) ? value : null;

    private (string? Performer, SourcePlace Place) ObserverOf(ReportItem root, DicomDataset dataset)
    {
        string? name = dataset.Text(SourceTags.OperatorsName) ?? dataset.Text(SourceTags.PerformingPhysicianName);
        string? device = dataset.Text(SourceTags.StationName) ?? root.Find(ReportCodes.DeviceName)?.Text;
        string? model = dataset.Text(SourceTags.ManufacturerModelName) ?? root.Find(ReportCodes.DeviceModel)?.Text;
        return (name is null ? null : naming.PerformerOf(name), naming.PlaceOf(new SourceDevice(device, null, model)));
    }
}
