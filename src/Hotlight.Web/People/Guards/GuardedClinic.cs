using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;

namespace Hotlight.Web.People.Guards;

/// <summary>The settings of a department: changed by an administrator, and never so that a person with an account is missing or has another role than the account.</summary>
internal sealed class GuardedClinic(IClinicStore inner, IAccountStore accounts) : IClinicStore
{
    /// <inheritdoc/>
    public Task<ClinicVersion?> NewestAsync(CancellationToken cancellation = default) => inner.NewestAsync(cancellation);

    /// <inheritdoc/>
    public Task<ClinicVersion?> FindAsync(int number, CancellationToken cancellation = default) => inner.FindAsync(number, cancellation);

    /// <inheritdoc/>
    public Task<IReadOnlyList<ClinicChange>> HistoryAsync(int take, CancellationToken cancellation = default) => inner.HistoryAsync(take, cancellation);

    /// <inheritdoc/>
    public async Task<ClinicVersion> KeepAsync(int startedFrom, string settingsJson, IReadOnlyList<Person> people, string label, Guid? changedBy, CancellationToken cancellation = default)
    {
        await CheckAsync(people, cancellation);
        return await inner.KeepAsync(startedFrom, settingsJson, people, label, changedBy, cancellation);
    }

    private async Task CheckAsync(IReadOnlyList<Person> people, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(people);
        Acting.Demand(Operation.KeepSettings);
        foreach (Account account in await accounts.ListAsync(cancellation))
        {
            if (people.FirstOrDefault(each => each.Id == account.PersonId) is not { } person)
            {
                throw new FormatException($"the person of the account “{account.Name}” would be missing; lock the account out under People instead.");
            }

            if (person.Role != account.Role)
            {
                throw new FormatException($"“{person.Pseudonym}” has an account as {RoleTable.Word(account.Role)}; the role is changed under People.");
            }
        }
    }
}
