using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Intake;

/// <summary>Which examination of its patient each is, by the time of its first exposure.</summary>
public static class ExaminationOrder
{
    /// <summary>Numbers the examinations of each patient.</summary>
    /// <param name="cases">Cases; those without patient or examination are left out.</param>
    /// <returns>By <see cref="CaseSummary.ExaminationKey"/>: which of how many.</returns>
    public static IReadOnlyDictionary<string, ExaminationPlace> Of(IEnumerable<CaseSummary> cases)
    {
        ArgumentNullException.ThrowIfNull(cases);
        Dictionary<string, ExaminationPlace> places = new(StringComparer.Ordinal);
        foreach (IGrouping<string, CaseSummary> patient in cases.Where(each => each is { PatientKey: not null, ExaminationKey: not null }).GroupBy(each => each.PatientKey!, StringComparer.Ordinal))
        {
            string[] examinations = [.. patient.GroupBy(each => each.ExaminationKey!, StringComparer.Ordinal)
                .OrderBy(each => each.Min(one => one.AcquiredAt ?? one.Created)).ThenBy(each => each.Key, StringComparer.Ordinal).Select(each => each.Key)];
            for (int index = 0; index < examinations.Length; index++)
            {
                places[examinations[index]] = new ExaminationPlace(patient.First().PatientLabel ?? string.Empty, index + 1, examinations.Length);
            }
        }

        return places;
    }
}

/// <summary>Which examination of a patient one is.</summary>
/// <param name="PatientLabel">Pseudonym of the patient.</param>
/// <param name="Number">Which, from 1.</param>
/// <param name="Of">Of how many.</param>
public sealed record ExaminationPlace(string PatientLabel, int Number, int Of)
{
    /// <summary>In words, such as "examination 2 of 3 of P-7F3K2QXM".</summary>
    public override string ToString() => $"examination {Number} of {Of} of {PatientLabel}";
}
