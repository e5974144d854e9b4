using Hotlight.Records;

namespace Hotlight.Store.Log;

/// <summary>What an entry becomes when the same exposure is told of again.</summary>
internal static class EntryJoining
{
    /// <summary>A kept entry with what only the new one tells. What was told stays. That an exposure was kept, and that it was no repeat, is what is presumed where nobody tells: a reject, a test and a repeat are told.</summary>
    /// <param name="kept">The entry as it is kept.</param>
    /// <param name="told">The same exposure from another source.</param>
    public static ExposureEntry Completed(ExposureEntry kept, ExposureEntry told)
    {
        ExposureUse use = kept.Use == ExposureUse.Kept ? told.Use : kept.Use;
        ExposureEntry joined = kept with
        {
            ProjectionId = kept.ProjectionId ?? Told(told.ProjectionId),
            GivenProjection = kept.GivenProjection ?? Told(told.GivenProjection),
            Room = kept.Room ?? Told(told.Room),
            Receptor = kept.Receptor ?? Told(told.Receptor),
            Performer = kept.Performer ?? Told(told.Performer),
            Shift = kept.Shift == Shift.Unknown ? told.Shift : kept.Shift,
            AgeGroup = kept.AgeGroup == AgeGroup.Unknown ? told.AgeGroup : kept.AgeGroup,
            Use = use,
            IsRepeat = kept.IsRepeat || told.IsRepeat,
            Reason = kept.Reason ?? told.Reason,
            ExposureIndex = kept.ExposureIndex ?? told.ExposureIndex,
            TargetExposureIndex = kept.TargetExposureIndex ?? told.TargetExposureIndex,
            DeviationIndex = kept.DeviationIndex ?? told.DeviationIndex,
            TubeVoltageKvp = kept.TubeVoltageKvp ?? told.TubeVoltageKvp,
            ExposureMas = kept.ExposureMas ?? told.ExposureMas,
            KermaAreaProductDgyCm2 = kept.KermaAreaProductDgyCm2 ?? told.KermaAreaProductDgyCm2,
            PatientKey = kept.PatientKey ?? told.PatientKey,
            ExaminationKey = kept.ExaminationKey ?? told.ExaminationKey,
            CaseId = kept.CaseId ?? told.CaseId,
        };

        // Index from one source and target from the other: the deviation is worked out now that both are there.
        bool isNew = kept.ExposureIndex is null || kept.TargetExposureIndex is null;
        return isNew && joined is { DeviationIndex: null, ExposureIndex: > 0 and { } index, TargetExposureIndex: > 0 and { } target }
            ? joined with { DeviationIndex = 10 * Math.Log10(index / target) }
            : joined;
    }

    /// <summary>A kept entry renewed by its case on the bench: the case's word counts, and what it does not tell stays. Identifier, site, key, source and bringing-in stay.</summary>
    /// <param name="kept">The entry as it is kept.</param>
    /// <param name="told">The entry that the case makes now.</param>
    public static ExposureEntry Renewed(ExposureEntry kept, ExposureEntry told) => Completed(told, kept) with
    {
        Id = kept.Id,
        Site = kept.Site,
        Key = kept.Key,
        Source = kept.Source,
        ImportId = kept.ImportId,
        Use = told.Use,
        IsRepeat = told.IsRepeat,
        Reason = told.Use != ExposureUse.Rejected ? null : told.Reason ?? (kept.Use == ExposureUse.Rejected ? kept.Reason : null),
    };

    private static string? Told(string? name) => string.IsNullOrWhiteSpace(name) ? null : name;
}
