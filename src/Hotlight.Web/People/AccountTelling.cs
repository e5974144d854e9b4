using Hotlight.Audit;
using Hotlight.Web.Audit;
using Hotlight.Workflows.People;

namespace Hotlight.Web.People;

/// <summary>Tells the audit trail what happens to accounts, in the name of whoever signs in: the request does not know the person yet.</summary>
internal static class AccountTelling
{
    /// <summary>Tells of an act.</summary>
    /// <param name="context">The request.</param>
    /// <param name="act">What was done.</param>
    /// <param name="account">Whose account it is; null: none that is known. What was typed as a name is not told: it may be a password.</param>
    /// <param name="detail">What more there is to say.</param>
    /// <param name="isFailure">Whether it did not succeed.</param>
    public static Task TellAsync(HttpContext context, AuditAct act, Account? account, string detail, bool isFailure = false)
    {
        ArgumentNullException.ThrowIfNull(context);
        string address = AuditIdentity.AddressOf(context) ?? string.Empty;
        return context.RequestServices.GetRequiredService<IAuditTrail>().TellAsync(new AuditEvent(act, AuditSubject.Account, account?.Id.ToString() ?? string.Empty, detail)
        {
            IsFailure = isFailure,
            By = account is null ? new AuditActor("nobody who is known", Address: address) : new AuditActor(account.Name, account.Id, RoleTable.Word(account.Role), address),
        });
    }
}
