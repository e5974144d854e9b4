using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.People;

/// <summary>Which role may do what. The same table stands in docs/people.md, and a test holds the two together.</summary>
public static class RoleTable
{
    /// <summary>Whether a role may do something. What is not named here, nobody may.</summary>
    /// <param name="role">The role.</param>
    /// <param name="operation">What is to be done.</param>
    public static bool May(PersonRole role, Operation operation) => operation switch
    {
        Operation.SeeCases or Operation.ReadForOneself or Operation.Practise or Operation.KeepOwnAccount => role is PersonRole.Learner or PersonRole.Reader or PersonRole.Supervisor or PersonRole.Administrator,
        Operation.Judge or Operation.KeepCases or Operation.SeeRepeats => role is PersonRole.Reader or PersonRole.Supervisor or PersonRole.Administrator,
        Operation.SeeReadingsOfOthers or Operation.CallBlind or Operation.Teach or Operation.HoldRounds or Operation.KeepExposures => role is PersonRole.Supervisor or PersonRole.Administrator,

        // A name under a learner's record is a supervisor's own, not a matter of keeping the bench.
        Operation.SignOff => role is PersonRole.Supervisor,
        Operation.KeepSettings or Operation.SeeTrail or Operation.KeepPeople => role is PersonRole.Administrator,
        _ => false,
    };

    /// <summary>A role in a word.</summary>
    /// <param name="role">The role.</param>
    public static string Word(PersonRole role) => role switch
    {
        PersonRole.Learner => "learner",
        PersonRole.Reader => "reader",
        PersonRole.Supervisor => "supervisor",
        _ => "administrator",
    };

    /// <summary>An operation in words, as it follows "may not".</summary>
    /// <param name="operation">The operation.</param>
    public static string Words(Operation operation) => operation switch
    {
        Operation.SeeCases => "look at cases",
        Operation.ReadForOneself => "read cases for oneself",
        Operation.Practise => "practise",
        Operation.KeepOwnAccount => "change the own account",
        Operation.Judge => "answer a case for the clinic",
        Operation.KeepCases => "bring in, file or delete cases",
        Operation.SeeRepeats => "look at the repeat analysis",
        Operation.SeeReadingsOfOthers => "look at what others read",
        Operation.CallBlind => "have a case read blind",
        Operation.Teach => "make handouts, walk-throughs and collections",
        Operation.HoldRounds => "hold rounds",
        Operation.KeepExposures => "change the records of exposures",
        Operation.SignOff => "sign off a learner",
        Operation.KeepSettings => "change the clinic's settings",
        _ => "keep the people of the department",
    };
}
