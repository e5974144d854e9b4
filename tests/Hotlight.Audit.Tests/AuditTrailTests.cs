using Hotlight.Testing;

namespace Hotlight.Audit.Tests;

public sealed class AuditTrailTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public AuditTrailTests() => Directory.CreateDirectory(folder["data"]);

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task TellAsync_ManyAtOnce_AreKeptBeforeItReturnsInFewTransactions()
    {
        var store = new HeldEntries();
        await using AuditTrail trail = New(store);

        await Task.WhenAll(Enumerable.Range(0, 200).Select(async number =>
        {
            await trail.TellAsync(new AuditEvent(AuditAct.Looked, AuditSubject.Case, $"{number}"));
            Assert.Contains(store.Entries, entry => entry.SubjectId == $"{number}");
        }));

        Assert.Equal(200, store.Entries.Count);
        Assert.InRange(store.Appends, 1, 199);
        Assert.Empty((await trail.CheckAsync()).Faults);
    }

    [Fact]
    public async Task TellAsync_StoreThatRefuses_TellsEveryTellerAndGoesOnAfterwards()
    {
        var store = new HeldEntries { Refuses = true };
        await using AuditTrail trail = New(store);

        await Assert.ThrowsAsync<AuditRefusedException>(() => trail.TellAsync(new AuditEvent(AuditAct.Looked, AuditSubject.Case, "lost")));
        store.Refuses = false;
        await trail.TellAsync(new AuditEvent(AuditAct.Looked, AuditSubject.Case, "kept"));

        Assert.Equal(["kept"], store.Entries.Select(entry => entry.SubjectId));
    }

    [Fact]
    public async Task TellAsync_WhoActs_IsWhoWasNamedInTheFlowOfCalls()
    {
        var store = new HeldEntries();
        await using AuditTrail trail = New(store);

        await Task.WhenAll(Enumerable.Range(0, 20).Select(number => Task.Run(async () =>
        {
            AuditActor.Take(new AuditActor($"reader {number}"));
            await Task.Yield();
            await trail.TellAsync(new AuditEvent(AuditAct.Looked, AuditSubject.Case, $"{number}"));
        })));
        await trail.TellAsync(new AuditEvent(AuditAct.Looked, AuditSubject.Case, "20"));

        Assert.All(store.Entries, entry => Assert.Equal(entry.SubjectId == "20" ? AuditActor.Bench.Name : $"reader {entry.SubjectId}", entry.By.Name));
    }

    [Fact]
    public async Task CompareHeadAsync_NewestEntriesGone_IsSaidAndNoted()
    {
        var store = new HeldEntries();
        await using (AuditTrail trail = New(store))
        {
            await trail.TellAsync(new AuditEvent(AuditAct.Changed, AuditSubject.Case, "1"));
            await trail.TellAsync(new AuditEvent(AuditAct.Deleted, AuditSubject.Case, "2"));
            Assert.Null(await trail.CompareHeadAsync());
        }

        AuditEntry cut = store.Entries[^1];
        store.Entries.Remove(cut);
        await using AuditTrail later = New(store);
        Assert.Contains("knows of 2", Assert.Single((await later.CheckAsync()).Faults), StringComparison.Ordinal);

        string? said = await later.CompareHeadAsync();

        Assert.Contains($"the trail ended at 1, the data folder knew of 2, whose seal was {cut.Seal}", said, StringComparison.Ordinal);
        Assert.Equal((AuditAct.TrailUsed, true), (store.Entries[^1].Act, store.Entries[^1].IsFailure));
        Assert.Null(await later.CompareHeadAsync());
    }

    [Fact]
    public async Task Trail_KeyOfAnotherFolder_FitsNoSeal()
    {
        var store = new HeldEntries();
        await using (AuditTrail trail = New(store))
        {
            await trail.TellAsync(new AuditEvent(AuditAct.Changed, AuditSubject.Case, "1"));
        }

        File.Delete(Path.Combine(folder["data"], AuditTrail.KeyFileName));
        await using AuditTrail other = New(store);
        Assert.Contains("its seal does not fit", Assert.Single((await other.CheckAsync()).Faults), StringComparison.Ordinal);
    }

    [Fact]
    public void Trail_KeyThatIsCut_IsRefusedInASentence()
    {
        File.WriteAllText(Path.Combine(folder["data"], AuditTrail.KeyFileName), "short");

        AuditRefusedException refused = Assert.Throws<AuditRefusedException>(() => New(new HeldEntries()));

        Assert.Contains("holds 5 bytes where a key has 32", refused.Message, StringComparison.Ordinal);
    }

    private AuditTrail New(IAuditStore store) => new(store, folder["data"], TimeProvider.System);

    /// <summary>Entries in memory, by the same chain as the databases'.</summary>
    private sealed class HeldEntries : IAuditStore
    {
        public List<AuditEntry> Entries { get; } = [];

        public int Appends { get; private set; }

        public bool Refuses { get; set; }

        public Task<AuditEntry> AppendAsync(ReadOnlyMemory<byte> key, IReadOnlyList<(AuditEvent Event, AuditActor By, DateTimeOffset At)> told, CancellationToken cancellation = default)
        {
            if (Refuses)
            {
                throw new IOException("No space left on device");
            }

            lock (Entries)
            {
                Appends++;
                Entries.AddRange(AuditSeal.Continue(key.Span, Entries.Count == 0 ? null : (Entries[^1].Number, Entries[^1].Seal), told));
                return Task.FromResult(Entries[^1]);
            }
        }

        public IAsyncEnumerable<AuditEntry> ReadAsync(AuditQuery query, CancellationToken cancellation = default)
            => Entries.Where(entry => query.Number is null || entry.Number == query.Number).TakeLast(query.Newest ?? int.MaxValue).ToArray().ToAsyncEnumerable();

        public Task<(long Removed, AuditEntry? Entry)> RetainAsync(ReadOnlyMemory<byte> key, DateTimeOffset before, DateTimeOffset now, CancellationToken cancellation = default)
            => throw new NotSupportedException();
    }
}
