namespace Hotlight.Workflows.People;

/// <summary>What can be done at the bench of a department. Every endpoint, page and change of the store is one of these.</summary>
public enum Operation
{
    /// <summary>Look at the list of cases, at images and measurements, and at the help.</summary>
    SeeCases,

    /// <summary>Read a case for oneself, remark on it, and see one's own progress.</summary>
    ReadForOneself,

    /// <summary>Practise, and expose the phantom of the lab.</summary>
    Practise,

    /// <summary>Change one's own password, second factor, passkeys and sessions.</summary>
    KeepOwnAccount,

    /// <summary>Answer the checklist of a case for the clinic, mark, decide, and choose its projection.</summary>
    Judge,

    /// <summary>Bring images in, name, file, delete and put back cases.</summary>
    KeepCases,

    /// <summary>Look at the repeat analysis of the department.</summary>
    SeeRepeats,

    /// <summary>See how far readers agree, and the progress of others.</summary>
    SeeReadingsOfOthers,

    /// <summary>Have a case read blind.</summary>
    CallBlind,

    /// <summary>Make handouts, walk-throughs and collections.</summary>
    Teach,

    /// <summary>Publish rounds and lead them.</summary>
    HoldRounds,

    /// <summary>Bring exposures into the records, correct them and take them back.</summary>
    KeepExposures,

    /// <summary>Sign a learner's requirement off, and take a sign-off back.</summary>
    SignOff,

    /// <summary>Change the settings of the clinic.</summary>
    KeepSettings,

    /// <summary>Look at the audit trail and check it.</summary>
    SeeTrail,

    /// <summary>Invite people, change their role, lock them out, end their sessions.</summary>
    KeepPeople,
}
