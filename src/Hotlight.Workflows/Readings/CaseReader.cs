using System.Security.Cryptography;
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

    /// <summary>What a group agreed on, as a reference that learners are held against; no person.</summary>
    /// <param name="roundId">The round in which they agreed.</param>
    /// <param name="name">What it is called, 1 to <see cref="Person.PseudonymMaxLength"/> characters.</param>
    public static CaseReader Consensus(Guid roundId, string name)
    {
        Span<byte> bytes = stackalloc byte[ConsensusMark.Length + 10];
        ConsensusMark.CopyTo(bytes);
        SHA256.HashData(roundId.ToByteArray()).AsSpan(0, 10).CopyTo(bytes[ConsensusMark.Length..]);
        return new CaseReader(new Guid(bytes, bigEndian: true), name, PersonRole.Supervisor);
    }

    /// <summary>Whether it is no person but what a group agreed on: it is a reference, and no reader whose agreement counts.</summary>
    public bool IsConsensus => Id.ToByteArray(bigEndian: true).AsSpan().StartsWith(ConsensusMark);

    // 48 bits that no identifier made by chance begins with.
    private static ReadOnlySpan<byte> ConsensusMark => [0x4e, 0x0f, 0x1a, 0x57, 0x00, 0x33];
}
