using System.Text.Json.Serialization;

namespace Hotlight.Workflows.Clinic;

/// <summary>Somebody of the clinic who reads or teaches, by a pseudonym. Not an account: in a department one belongs to the person (<see cref="People.Account"/>).</summary>
public sealed record Person
{
    /// <summary>Longest pseudonym, in characters.</summary>
    public const int PseudonymMaxLength = 40;

    /// <summary>Identifies the person for good; never <see cref="Guid.Empty"/>.</summary>
    public required Guid Id { get; init; }

    /// <summary>What the person is called here, 1 to <see cref="PseudonymMaxLength"/> characters.</summary>
    public required string Pseudonym { get; init; }

    /// <summary>What the person does here.</summary>
    public PersonRole Role { get; init; } = PersonRole.Reader;

    /// <summary>Whether the person can be chosen; one who left stays in what was kept before.</summary>
    public bool IsActive { get; init; } = true;

    /// <summary>Whether the person is shown figures of single people in the repeat analysis. Without accounts a rule of the house, not a lock.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingDefault)]
    public bool MaySeePeople { get; init; }
}

/// <summary>What a person does at the clinic. In a department the account has the same role, and <see cref="People.RoleTable"/> says what it grants; without accounts it grants nothing.</summary>
public enum PersonRole
{
    /// <summary>Learns to judge radiographs.</summary>
    Learner = 0,

    /// <summary>Judges radiographs.</summary>
    Reader = 1,

    /// <summary>Teaches, and looks at what others judged.</summary>
    Supervisor = 2,

    /// <summary>Keeps people and settings.</summary>
    Administrator = 3,
}
