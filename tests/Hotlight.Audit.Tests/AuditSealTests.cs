using System.Text.Json;
using Hotlight.Testing;

namespace Hotlight.Audit.Tests;

public sealed class AuditSealTests
{
    private static readonly byte[] Key = [.. Enumerable.Range(1, 32).Select(number => (byte)number)];

    private static readonly (AuditEvent Event, AuditActor By, DateTimeOffset At)[] Told =
    [
        (new AuditEvent(AuditAct.Changed, AuditSubject.Case, "case-1", "Größe"), new AuditActor("Turnstone", Guid.Parse("6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11"), "supervisor", "127.0.0.1"), new DateTimeOffset(2026, 11, 27, 9, 15, 30, 123, TimeSpan.FromHours(1)).AddTicks(4567)),
        (new AuditEvent(AuditAct.Looked, AuditSubject.Page, "/clinic"), AuditActor.Bench, new DateTimeOffset(2026, 11, 27, 8, 15, 31, TimeSpan.Zero)),
        (new AuditEvent(AuditAct.Erased, AuditSubject.Case, "case-1", "a long story") { IsFailure = true }, new AuditActor("command line, dunlin", Address: "::1"), new DateTimeOffset(2026, 11, 27, 8, 16, 0, 999, TimeSpan.Zero)),
    ];

    // Python's hmac and hashlib: tests/reference/audit-seal/seal.py.
    [Fact]
    public void Continue_ThreeEntries_AreSealedAsAnotherImplementationOfHmacSealsThem()
    {
        using JsonDocument reference = JsonDocument.Parse(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "audit-seal", "seals.json")));
        string[] expected = [.. reference.RootElement.GetProperty("seals").EnumerateArray().Select(each => each.GetString()!)];

        Assert.Equal(expected, AuditSeal.Continue(Key, null, Told).Select(entry => entry.Seal));
    }

    // HMAC-SHA-256 of RFC 4231, test case 2, so that the hash itself is the one that is meant.
    [Fact]
    public void HashBelow_IsThatOfRfc4231()
        => Assert.Equal(
            "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
            Convert.ToHexStringLower(System.Security.Cryptography.HMACSHA256.HashData("Jefe"u8, "what do ya want for nothing?"u8)));

    [Fact]
    public async Task Check_EveryFieldChangedInTurn_IsFoundAtItsPlace()
    {
        IReadOnlyList<AuditEntry> chain = AuditSeal.Continue(Key, null, Told);
        (string What, Func<AuditEntry, AuditEntry> Change)[] changes =
        [
            ("time", entry => entry with { At = entry.At.AddMilliseconds(1) }),
            ("name", entry => entry with { By = entry.By with { Name = "Dunlin" } }),
            ("person", entry => entry with { By = entry.By with { Id = Guid.Empty } }),
            ("role", entry => entry with { By = entry.By with { Role = "learner" } }),
            ("address", entry => entry with { By = entry.By with { Address = "10.0.0.1" } }),
            ("act", entry => entry with { Act = AuditAct.Restored }),
            ("subject", entry => entry with { Subject = AuditSubject.Lesson }),
            ("which", entry => entry with { SubjectId = "case-2" }),
            ("detail", entry => entry with { Detail = "nothing" }),
            ("failure", entry => entry with { IsFailure = !entry.IsFailure }),
            ("seal", entry => entry with { Seal = AuditSeal.None }),
            ("previous", entry => entry with { Previous = new string('1', 64) }),
        ];
        foreach ((string what, Func<AuditEntry, AuditEntry> change) in changes)
        {
            for (int place = 0; place < chain.Count; place++)
            {
                AuditEntry[] changed = [.. chain];
                changed[place] = change(changed[place]);

                AuditCheck found = await AuditCheck.OfAsync(Key, changed.ToAsyncEnumerable(), null);

                Assert.True(found.Faults.Any(fault => fault.Contains($"ntry {place + 1} ", StringComparison.Ordinal)), $"{what} of entry {place + 1}: {string.Join(" ", found.Faults)}");
            }
        }
    }

    [Fact]
    public async Task Check_EntriesMovedRemovedOrSealedWithAnotherKey_AreFound()
    {
        IReadOnlyList<AuditEntry> chain = AuditSeal.Continue(Key, null, Told);
        byte[] other = [.. Key.Select(value => (byte)(value + 1))];

        Assert.Empty((await AuditCheck.OfAsync(Key, chain.ToAsyncEnumerable(), (3, chain[2].Seal))).Faults);
        Assert.Contains("1 entry is missing between 1 and 3", await FaultsAsync([chain[0], chain[2]]), StringComparison.Ordinal);
        Assert.Contains("begins at 2", await FaultsAsync([chain[1], chain[2]]), StringComparison.Ordinal);
        Assert.Contains("stands after", await FaultsAsync([chain[1], chain[0], chain[2]]), StringComparison.Ordinal);
        Assert.Equal(3, (await AuditCheck.OfAsync(other, chain.ToAsyncEnumerable(), null)).Faults.Count);

        // The end cut off is seen only by whoever knows of it.
        Assert.Empty(await FaultsAsync([chain[0], chain[1]]));
        Assert.Contains("the data folder knows of 3", await FaultsAsync([chain[0], chain[1]], (3, chain[2].Seal)), StringComparison.Ordinal);

        // A chain that somebody with the key wrote anew is whole, and not the one that is known.
        IReadOnlyList<AuditEntry> anew = AuditSeal.Continue(Key, null, [Told[1], Told[0], Told[2]]);
        Assert.Empty(await FaultsAsync([.. anew]));
        Assert.Contains("written anew", await FaultsAsync([.. anew], (2, chain[1].Seal)), StringComparison.Ordinal);

        async Task<string> FaultsAsync(AuditEntry[] entries, (long, string)? head = null) => string.Join(" ", (await AuditCheck.OfAsync(Key, entries.ToAsyncEnumerable(), head)).Faults);
    }

    [Fact]
    public void Event_LongTextsAndControlCharacters_AreCutAndTakenOut()
    {
        var told = new AuditEvent(AuditAct.Looked, AuditSubject.Page, "/a\r\nb\u0085", new string('x', 199) + "\U0001F9B4");

        Assert.Equal("/a  b ", told.SubjectId);
        Assert.Equal(new string('x', 199), told.Detail);
    }
}
