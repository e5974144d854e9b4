using Hotlight.Audit;

namespace Hotlight.Workflows.Audit;

/// <summary>Acts that are noted before they are done.</summary>
internal static class AuditTelling
{
    /// <summary>Notes an act, does it, and notes where it failed.</summary>
    /// <param name="trail">The trail.</param>
    /// <param name="told">The act.</param>
    /// <param name="act">Does it.</param>
    /// <exception cref="AuditRefusedException">It could not be noted and was not done.</exception>
    public static async Task<T> AroundAsync<T>(this IAuditTrail trail, AuditEvent told, Func<Task<T>> act)
    {
        await trail.TellAsync(told);
        try
        {
            return await act();
        }
        catch (Exception error)
        {
            await trail.TellAsync(new AuditEvent(told.Act, told.Subject, told.SubjectId, Reason(told.Detail, error)) { IsFailure = true });
            throw;
        }
    }

    /// <summary>Notes an act, does it, and notes where it failed.</summary>
    /// <param name="trail">The trail.</param>
    /// <param name="told">The act.</param>
    /// <param name="act">Does it.</param>
    public static Task AroundAsync(this IAuditTrail trail, AuditEvent told, Func<Task> act)
        => trail.AroundAsync(told, async () =>
        {
            await act();
            return true;
        });

    /// <summary>Notes the same act for many, does it at once, and notes for each where it failed.</summary>
    /// <param name="trail">The trail.</param>
    /// <param name="what">The act.</param>
    /// <param name="subject">What they are.</param>
    /// <param name="ids">Which.</param>
    /// <param name="detail">What more there is to say.</param>
    /// <param name="act">Does it.</param>
    public static async Task<T> AroundAllAsync<T>(this IAuditTrail trail, AuditAct what, AuditSubject subject, IEnumerable<Guid> ids, string detail, Func<Task<T>> act)
    {
        Guid[] all = [.. ids];
        await Task.WhenAll(all.Select(id => trail.TellAsync(new AuditEvent(what, subject, id.ToString(), detail))));
        try
        {
            return await act();
        }
        catch (Exception error)
        {
            await Task.WhenAll(all.Select(id => trail.TellAsync(new AuditEvent(what, subject, id.ToString(), Reason(detail, error)) { IsFailure = true })));
            throw;
        }
    }

    // The kind of the error and not its sentence, which may hold what somebody typed.
    private static string Reason(string detail, Exception error) => detail.Length == 0 ? error.GetType().Name : $"{detail}: {error.GetType().Name}";
}
