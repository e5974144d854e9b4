namespace Hotlight.Audit;

/// <summary>What was done. The numbers are kept in the store and never change their meaning.</summary>
public enum AuditAct
{
    /// <summary>The bench was started.</summary>
    Started = 1,

    /// <summary>The bench was stopped.</summary>
    Stopped = 2,

    /// <summary>Somebody signed in.</summary>
    SignedIn = 3,

    /// <summary>Somebody signed out, or the session ended.</summary>
    SignedOut = 4,

    /// <summary>An account, a role or a second factor was changed.</summary>
    AccountChanged = 5,

    /// <summary>Something was asked for that the role does not allow.</summary>
    Refused = 6,

    /// <summary>Something was looked at.</summary>
    Looked = 7,

    /// <summary>Something was brought in.</summary>
    BroughtIn = 8,

    /// <summary>Something was made.</summary>
    Made = 9,

    /// <summary>Something was changed.</summary>
    Changed = 10,

    /// <summary>Something was put away; it can be brought back.</summary>
    Deleted = 11,

    /// <summary>Something that was put away was brought back.</summary>
    Restored = 12,

    /// <summary>Something was removed for good.</summary>
    Erased = 13,

    /// <summary>Something left the bench as a file or over the network.</summary>
    Exported = 14,

    /// <summary>The audit trail was looked at, checked or exported.</summary>
    TrailUsed = 15,

    /// <summary>The oldest events were removed, as the clinic's policy says.</summary>
    Retained = 16,
}

/// <summary>What an event is about. The numbers are kept in the store and never change their meaning.</summary>
public enum AuditSubject
{
    /// <summary>The bench itself.</summary>
    Bench = 1,

    /// <summary>A case: its image, measurement and critique.</summary>
    Case = 2,

    /// <summary>A reader's own reading, a remark, a call or a sign-off.</summary>
    Reading = 3,

    /// <summary>A handout, walk-through, round, practice or collection.</summary>
    Lesson = 4,

    /// <summary>Entries of the exposure records.</summary>
    Exposures = 5,

    /// <summary>The clinic's settings and people.</summary>
    Clinic = 6,

    /// <summary>An account of the department.</summary>
    Account = 7,

    /// <summary>A page.</summary>
    Page = 8,

    /// <summary>The audit trail.</summary>
    Trail = 9,

    /// <summary>The record store as a whole: backup, restore, export.</summary>
    Store = 10,
}
