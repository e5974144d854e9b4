using Hotlight.Audit;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.People;

/// <summary>Who does what is being done: how the audit trail names it, and what it may.</summary>
public sealed record Actor : AuditActor
{
    private Actor(ActorKind kind, string name)
        : base(name) => Kind = kind;

    /// <summary>The bench itself: measuring, the inbox, tidying.</summary>
    public static Actor Program { get; } = new(ActorKind.Program, Bench.Name);

    /// <summary>Nobody who is known.</summary>
    public static Actor Nobody { get; } = new(ActorKind.Nobody, "nobody who is known");

    /// <summary>What kind of actor it is.</summary>
    public ActorKind Kind { get; }

    /// <summary>The person of the clinic, or the guest's place in the round; <see cref="Guid.Empty"/> for the bench and for nobody.</summary>
    public Guid PersonId { get; private init; }

    /// <summary>The person's role, by which is decided; of meaning for <see cref="ActorKind.Person"/> alone. <see cref="AuditActor.Role"/> is only its word in the trail.</summary>
    public PersonRole PersonRole { get; private init; }

    /// <summary>The round of a guest; null: no guest.</summary>
    public Guid? RoundId { get; private init; }

    /// <summary>Somebody who is signed in.</summary>
    /// <param name="personId">The person of the clinic.</param>
    /// <param name="role">The role of the account.</param>
    public static Actor Person(Guid personId, PersonRole role) => new(ActorKind.Person, "an account") { PersonId = personId, PersonRole = role, Role = RoleTable.Word(role) };

    /// <summary>A guest of a round.</summary>
    /// <param name="readerId">The guest's place in the round.</param>
    /// <param name="roundId">The round.</param>
    public static Actor Guest(Guid readerId, Guid roundId) => new(ActorKind.Guest, "guest of a round") { PersonId = readerId, Id = readerId, RoundId = roundId, Role = "guest" };

    /// <summary>The same actor, with the same rights, under another name in the audit trail.</summary>
    /// <param name="name">Name, identifier, role in a word and address.</param>
    public Actor NamedAs(AuditActor name)
    {
        ArgumentNullException.ThrowIfNull(name);
        return this with { Name = name.Name, Id = name.Id, Role = name.Role, Address = name.Address };
    }

    /// <summary>Whether the actor may do something.</summary>
    /// <param name="operation">What.</param>
    public bool May(Operation operation) => Kind switch
    {
        ActorKind.Program => true,
        ActorKind.Person => RoleTable.May(PersonRole, operation),
        ActorKind.Guest => operation is Operation.ReadForOneself,
        _ => false,
    };
}

/// <summary>Kinds of actors.</summary>
public enum ActorKind
{
    /// <summary>Nobody who is known.</summary>
    Nobody,

    /// <summary>The bench itself.</summary>
    Program,

    /// <summary>Somebody who is signed in.</summary>
    Person,

    /// <summary>A guest of a round.</summary>
    Guest,
}

/// <summary>Who acts in what runs now: set where a request, a live connection or a task of the bench begins, and carried along by all that follows from it.</summary>
public static class Acting
{
    /// <summary>Who acts; nobody where it was not said.</summary>
    public static Actor Now => AuditActor.Current as Actor ?? Actor.Nobody;

    /// <summary>Says who acts from here on, for what is allowed and for the audit trail.</summary>
    /// <param name="actor">Who.</param>
    public static void As(Actor actor)
    {
        ArgumentNullException.ThrowIfNull(actor);
        AuditActor.Take(actor);
    }

    /// <summary>Passes where whoever acts may do something.</summary>
    /// <param name="operation">What.</param>
    /// <exception cref="NotAllowedException">The actor may not.</exception>
    public static void Demand(Operation operation)
    {
        if (!Now.May(operation))
        {
            throw new NotAllowedException(operation, Now);
        }
    }
}

/// <summary>Whoever acts may not do it; nothing was changed. The message is one sentence for the reader.</summary>
public sealed class NotAllowedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="operation">What was tried.</param>
    /// <param name="actor">By whom.</param>
    public NotAllowedException(Operation operation, Actor actor)
        : base(Sentence(operation, actor)) => Operation = operation;

    /// <summary>What was tried.</summary>
    public Operation Operation { get; }

    private static string Sentence(Operation operation, Actor actor)
    {
        ArgumentNullException.ThrowIfNull(actor);
        return actor.Kind switch
        {
            ActorKind.Person => $"Your role here, {RoleTable.Word(actor.PersonRole)}, may not {RoleTable.Words(operation)}; an administrator of the department can change that.",
            ActorKind.Guest => $"A guest of a round may not {RoleTable.Words(operation)}.",
            _ => "Sign in first; nothing was changed.",
        };
    }
}
