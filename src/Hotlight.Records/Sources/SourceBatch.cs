namespace Hotlight.Records.Sources;

/// <summary>Lays together what the files of one bringing-in say of the same exposures, applies key object selections, and recognises repeats. Not for several threads at once.</summary>
/// <remarks>docs/bringing-in-exposures.md#one-exposure-several-files.</remarks>
public sealed class SourceBatch
{
    private readonly Dictionary<string, int> byUid = new(StringComparer.Ordinal);
    private readonly List<Part?> parts = [];
    private readonly List<ImageRemark> remarks = [];

    /// <summary>Exposures so far; the same one from several files counts once.</summary>
    public int Count => parts.Count(part => part is not null);

    /// <summary>Files that told of an exposure that was there already.</summary>
    public int Merged { get; private set; }

    /// <summary>Images that a key object selection points to and that did not come with it.</summary>
    public int MissingImages => remarks.Count(remark => remark.IsRejected && !byUid.ContainsKey("image:" + remark.ImageUid));

    /// <summary>Adds what a file says.</summary>
    /// <param name="reading">What was read.</param>
    public void Add(SourceReading reading)
    {
        ArgumentNullException.ThrowIfNull(reading);
        remarks.AddRange(reading.Remarks);
        foreach (FoundExposure found in reading.Exposures)
        {
            Add(found);
        }
    }

    /// <summary>The entries, the oldest first.</summary>
    public IReadOnlyList<ExposureEntry> Entries()
    {
        MergeIntents();
        foreach (ImageRemark remark in remarks.OrderBy(remark => remark.IsRejected))
        {
            if (!byUid.TryGetValue("image:" + remark.ImageUid, out int place) || parts[place] is not { } part || part.Entry.Use == ExposureUse.Test)
            {
                continue;
            }

            // A quality issue alone rejects nothing; it says why, where something else says that.
            RejectReason? reason = remark.Reason ?? part.Issue ?? part.Entry.Reason;
            parts[place] = remark.IsRejected
                ? part with { Entry = part.Entry with { Use = ExposureUse.Rejected, Reason = reason } }
                : part with { Issue = reason, Entry = part.Entry.Use == ExposureUse.Rejected ? part.Entry with { Reason = part.Entry.Reason ?? reason } : part.Entry };
        }

        ExposureEntry[] entries = [.. parts.OfType<Part>().OrderBy(part => part.Entry.ExposedAt).ThenBy(part => part.Entry.Key, StringComparer.Ordinal).Select(part => part.Entry)];
        Dictionary<string, string?> sides = new(StringComparer.Ordinal);
        foreach (Part part in parts.OfType<Part>())
        {
            sides[part.Entry.Key] = part.Laterality;
        }

        return RepeatRule.Apply(entries, entry => sides[entry.Key]);
    }

    private void Add(FoundExposure found)
    {
        List<string> uids = [.. found.ImageUids.Select(uid => "image:" + uid)];
        if (found.EventUid is { } eventUid)
        {
            uids.Add("event:" + eventUid);
        }

        int place = -1;
        foreach (string uid in uids)
        {
            if (!byUid.TryGetValue(uid, out int known) || known == place)
            {
                continue;
            }

            if (place < 0)
            {
                place = known;
            }
            else
            {
                // This file shows that two parts are one exposure.
                Join(place, known);
            }
        }

        if (place < 0)
        {
            place = parts.Count;
            parts.Add(new Part(found.Entry, found.Laterality, found.IsForProcessing, found.EventUid is not null, null, []));
        }
        else
        {
            Merged++;
            Part known = parts[place]!;
            parts[place] = Laid(known, new Part(found.Entry, found.Laterality, found.IsForProcessing, found.EventUid is not null, null, []));
        }

        foreach (string uid in uids)
        {
            if (byUid.TryAdd(uid, place))
            {
                parts[place]!.Uids.Add(uid);
            }
        }
    }

    private void Join(int place, int other)
    {
        if (parts[other] is not { } gone || parts[place] is not { } stays)
        {
            return;
        }

        parts[place] = Laid(stays, gone);
        parts[other] = null;
        foreach (string uid in gone.Uids)
        {
            byUid[uid] = place;
        }

        stays.Uids.AddRange(gone.Uids);
    }

    /// <summary>Two parts as one: the event's UID is the key where one of them knows it.</summary>
    private static Part Laid(Part stays, Part gone)
    {
        ExposureEntry entry = Fill(stays.Entry, gone.Entry);
        return stays with
        {
            Entry = gone.KnowsEvent && !stays.KnowsEvent ? entry with { Key = gone.Entry.Key } : entry,
            KnowsEvent = stays.KnowsEvent || gone.KnowsEvent,
            Laterality = stays.Laterality ?? gone.Laterality,
            Issue = stays.Issue ?? gone.Issue,
        };
    }

    /// <summary>An image for processing and one for presentation of one examination, of the same moment, place and technique, are one exposure, whether or not they name its event.</summary>
    private void MergeIntents()
    {
        Dictionary<(string? Examination, DateTime At, string? Side, double? Kvp, double? Mas, string? Receptor), int> seen = [];
        for (int place = 0; place < parts.Count; place++)
        {
            if (parts[place] is not { IsForProcessing: not null, Entry: { ExaminationKey: not null, Shift: not Shift.Unknown } } part)
            {
                continue;
            }

            (string?, DateTime, string?, double?, double?, string?) same = (part.Entry.ExaminationKey, part.Entry.ExposedAt, part.Laterality, part.Entry.TubeVoltageKvp, part.Entry.ExposureMas, part.Entry.Receptor);
            if (!seen.TryGetValue(same, out int known))
            {
                seen[same] = place;
            }
            else if (parts[known] is { } earlier && earlier.IsForProcessing != part.IsForProcessing)
            {
                // The image for presentation is the one that is filed and that key object selections point to.
                (int stays, int goes) = part.IsForProcessing == false ? (place, known) : (known, place);
                Join(stays, goes);
                seen[same] = stays;
                Merged++;
            }
        }
    }

    /// <summary>What was not told is filled, what was told stays; a reject and a test are told by whoever tells them.</summary>
    private static ExposureEntry Fill(ExposureEntry known, ExposureEntry more) => known with
    {
        ProjectionId = known.ProjectionId ?? more.ProjectionId,
        GivenProjection = known.GivenProjection ?? more.GivenProjection,
        Room = known.Room ?? more.Room,
        Receptor = known.Receptor ?? more.Receptor,
        Performer = known.Performer ?? more.Performer,
        Shift = known.Shift == Shift.Unknown ? more.Shift : known.Shift,
        AgeGroup = known.AgeGroup == AgeGroup.Unknown ? more.AgeGroup : known.AgeGroup,
        Use = (ExposureUse)Math.Max((int)known.Use, (int)more.Use),
        IsRepeat = known.IsRepeat || more.IsRepeat,
        Reason = known.Reason ?? more.Reason,
        ExposureIndex = known.ExposureIndex ?? more.ExposureIndex,
        TargetExposureIndex = known.TargetExposureIndex ?? more.TargetExposureIndex,
        DeviationIndex = known.DeviationIndex ?? more.DeviationIndex,
        TubeVoltageKvp = known.TubeVoltageKvp ?? more.TubeVoltageKvp,
        ExposureMas = known.ExposureMas ?? more.ExposureMas,
        KermaAreaProductDgyCm2 = known.KermaAreaProductDgyCm2 ?? more.KermaAreaProductDgyCm2,
        PatientKey = known.PatientKey ?? more.PatientKey,
        ExaminationKey = known.ExaminationKey ?? more.ExaminationKey,
    };

    private sealed record Part(ExposureEntry Entry, string? Laterality, bool? IsForProcessing, bool KnowsEvent, RejectReason? Issue, List<string> Uids);
}
