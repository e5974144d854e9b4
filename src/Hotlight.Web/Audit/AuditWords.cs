using Hotlight.Audit;

namespace Hotlight.Web.Audit;

/// <summary>Words for what stands in the audit trail.</summary>
internal static class AuditWords
{
    /// <summary>An act in words.</summary>
    /// <param name="act">The act.</param>
    public static string Of(AuditAct act) => act switch
    {
        AuditAct.Started => "started",
        AuditAct.Stopped => "stopped",
        AuditAct.SignedIn => "signed in",
        AuditAct.SignedOut => "signed out",
        AuditAct.AccountChanged => "changed an account",
        AuditAct.Refused => "was refused",
        AuditAct.Looked => "looked at",
        AuditAct.BroughtIn => "brought in",
        AuditAct.Made => "made",
        AuditAct.Changed => "changed",
        AuditAct.Deleted => "deleted",
        AuditAct.Restored => "put back",
        AuditAct.Erased => "erased for good",
        AuditAct.Exported => "gave out",
        AuditAct.TrailUsed => "used the trail",
        AuditAct.Retained => "cut the trail by policy",
        _ => throw new ArgumentOutOfRangeException(nameof(act), act, "There is no such act."),
    };

    /// <summary>What it is about, in words.</summary>
    /// <param name="subject">The subject.</param>
    public static string Of(AuditSubject subject) => subject switch
    {
        AuditSubject.Bench => "the bench",
        AuditSubject.Case => "case",
        AuditSubject.Reading => "reading",
        AuditSubject.Lesson => "lesson",
        AuditSubject.Exposures => "exposures",
        AuditSubject.Clinic => "settings",
        AuditSubject.Account => "account",
        AuditSubject.Page => "page",
        AuditSubject.Trail => "the trail",
        AuditSubject.Store => "the records",
        _ => throw new ArgumentOutOfRangeException(nameof(subject), subject, "There is no such subject."),
    };
}
