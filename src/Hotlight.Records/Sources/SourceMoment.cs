using System.Globalization;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Records.Sources;

/// <summary>Moments as DICOM writes them: DA, TM and DT of PS3.5 table 6.2-1. Offsets from universal time are passed over: an entry has the clock in the room.</summary>
internal static class SourceMoment
{
    private static readonly (DicomTag Date, DicomTag Time)[] Places =
    [
        (SourceTags.AcquisitionDate, SourceTags.AcquisitionTime), (SourceTags.ContentDate, SourceTags.ContentTime),
        (SourceTags.SeriesDate, SourceTags.SeriesTime), (SourceTags.StudyDate, SourceTags.StudyTime),
    ];

    /// <summary>When the exposure of a header was made and whether a time of day was told; null where no date is.</summary>
    /// <param name="dataset">The header.</param>
    public static (DateTime At, bool HasTime)? Of(DicomDataset dataset)
    {
        if (dataset.Text(SourceTags.AcquisitionDateTime) is { } moment && Parse(moment) is { } told)
        {
            return told;
        }

        foreach ((DicomTag date, DicomTag time) in Places)
        {
            if (dataset.Text(date) is { Length: >= 8 } day && Parse(day.Replace(".", string.Empty, StringComparison.Ordinal) + dataset.Text(time)?.Replace(":", string.Empty, StringComparison.Ordinal)) is { } found)
            {
                return found;
            }
        }

        return null;
    }

    /// <summary>A DT value, or a DA value with a TM value behind; null where it is none.</summary>
    /// <param name="text">The digits.</param>
    public static (DateTime At, bool HasTime)? Parse(string text)
    {
        if (text.Length < 8 || !DateTime.TryParseExact(text.AsSpan(0, 8), "yyyyMMdd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateTime day))
        {
            return null;
        }

        int Two(int start, int most) => text.Length >= start + 2 && int.TryParse(text.AsSpan(start, 2), NumberStyles.None, CultureInfo.InvariantCulture, out int value) && value < most ? value : -1;
        int hour = Two(8, 24);
        if (hour < 0)
        {
            return (day, false);
        }

        DateTime at = day.AddHours(hour).AddMinutes(Math.Max(0, Two(10, 60))).AddSeconds(Math.Max(0, Two(12, 60)));
        if (text.Length > 15 && text[14] == '.')
        {
            int end = 15;
            while (end < text.Length && end < 21 && char.IsAsciiDigit(text[end]))
            {
                end++;
            }

            if (end > 15)
            {
                at = at.AddMicroseconds(int.Parse(text.AsSpan(15, end - 15), NumberStyles.None, CultureInfo.InvariantCulture) * Math.Pow(10, 21 - end));
            }
        }

        return (at, true);
    }

    /// <summary>Whether a patient was a child at an exposure.</summary>
    /// <param name="age">Patient's Age (0010,1010); null: not told.</param>
    /// <param name="birthDate">Patient's Birth Date (0010,0030); null: not told.</param>
    /// <param name="exposedAt">When the exposure was made.</param>
    public static AgeGroup AgeOf(string? age, string? birthDate, DateTime exposedAt)
    {
        const int Majority = 18;
        if (age is { Length: 4 } && int.TryParse(age.AsSpan(0, 3), NumberStyles.None, CultureInfo.InvariantCulture, out int count))
        {
            switch (age[3])
            {
                case 'Y':
                    return count < Majority ? AgeGroup.Child : AgeGroup.Adult;
                case 'M':
                    return count < Majority * 12 ? AgeGroup.Child : AgeGroup.Adult;
                case 'W' or 'D':
                    return AgeGroup.Child;
            }
        }

        return birthDate is not null && DateTime.TryParseExact(birthDate, "yyyyMMdd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateTime born) && born <= exposedAt
            ? born.AddYears(Majority) > exposedAt ? AgeGroup.Child : AgeGroup.Adult
            : AgeGroup.Unknown;
    }
}
