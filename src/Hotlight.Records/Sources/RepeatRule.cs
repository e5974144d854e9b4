namespace Hotlight.Records.Sources;

/// <summary>Recognises repeats that no source tells of: within an examination, an exposure of the same projection and side after a rejected one.</summary>
/// <remarks>Each reject is followed by one repeat at most: after a kept exposure another one is no repeat. docs/bringing-in-exposures.md#repeats.</remarks>
public static class RepeatRule
{
    /// <summary>Entries with the repeats among them recognised.</summary>
    /// <param name="entries">Entries, the oldest first.</param>
    /// <param name="sideOf">Side of an exposure; null: not told, which counts as a side of its own.</param>
    public static IReadOnlyList<ExposureEntry> Apply(IReadOnlyList<ExposureEntry> entries, Func<ExposureEntry, string?> sideOf)
    {
        ArgumentNullException.ThrowIfNull(entries);
        ArgumentNullException.ThrowIfNull(sideOf);
        Dictionary<(string Examination, string Projection, string? Side), bool> lastWasRejected = [];
        var result = new ExposureEntry[entries.Count];
        for (int place = 0; place < entries.Count; place++)
        {
            ExposureEntry entry = entries[place];
            result[place] = entry;
            if (entry.Use == ExposureUse.Test || entry.ExaminationKey is not { } examination || (entry.ProjectionId ?? entry.GivenProjection) is not { } projection)
            {
                continue;
            }

            (string, string, string?) series = (examination, projection, sideOf(entry));
            if (lastWasRejected.GetValueOrDefault(series) && !entry.IsRepeat)
            {
                result[place] = entry with { IsRepeat = true };
            }

            lastWasRejected[series] = entry.Use == ExposureUse.Rejected;
        }

        return result;
    }
}
