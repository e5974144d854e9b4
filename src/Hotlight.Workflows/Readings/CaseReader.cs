using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Readings;

/// <summary>Somebody who reads cases, as a reading keeps it: with the pseudonym and the role the person had then.</summary>
/// <param name="Id">Identifies the person; that of the clinic's list where the person stands there.</param>
/// <param name="Pseudonym">What the person was called, 1 to <see cref="Person.PseudonymMaxLength"/> characters.</param>
/// <param name="Role">What the person did.</param>
/// <param name="IsInvented">Whether nobody of that name exists: made for the demo.</param>
public sealed record CaseReader(Guid Id, string Pseudonym, PersonRole Role, bool IsInvented = false)
{
    /// <summary>A person of the clinic as a reader.</summary>
    /// <param name="person">The person.</param>
    public static CaseReader Of(Person person)
    {
        ArgumentNullException.ThrowIfNull(person);
        return new CaseReader(person.Id, person.Pseudonym, person.Role);
    }
}
