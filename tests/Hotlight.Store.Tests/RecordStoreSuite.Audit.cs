using Hotlight.Audit;
using Hotlight.Workflows.Cases;

namespace Hotlight.Store.Tests;

/// <summary>What every store of the audit trail must do, whatever database is below.</summary>
public abstract partial class RecordStoreSuite
{
    private static readonly byte[] TrailKey = [.. Enumerable.Range(1, 32).Select(number => (byte)number)];
    private static readonly AuditActor Turnstone = new("Turnstone", Guid.Parse("6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11"), "supervisor", "127.0.0.1");

    /// <summary>The audit trail in the store that was opened.</summary>
    protected abstract IAuditStore Trail();

    /// <summary>Runs a statement past the program, as somebody with the database in hand would.</summary>
    protected abstract Task<int> TamperAsync(string sql);

    private async Task<AuditEntry> TellAsync(string subject, AuditAct act = AuditAct.Changed)
    {
        Clock.Advance(TimeSpan.FromSeconds(1));
        return await Trail().AppendAsync(TrailKey, [(new AuditEvent(act, AuditSubject.Case, subject, "Größe"), Turnstone, Clock.GetUtcNow())]);
    }

    private async Task<List<AuditEntry>> EntriesAsync(AuditQuery? query = null) => await Trail().ReadAsync(query ?? new AuditQuery()).ToListAsync();

    private Task<AuditCheck> CheckTrailAsync() => AuditCheck.OfAsync(TrailKey, Trail().ReadAsync(new AuditQuery()), null);

    [StoreFact]
    public async Task Trail_AppendedAndReopened_HoldsEveryEntryAndTheChainFits()
    {
        await OpenAsync();
        AuditEntry first = await TellAsync("a");
        AuditEntry second = await TellAsync("b", AuditAct.Deleted);

        await OpenAsync();

        Assert.Equal([first, second], await EntriesAsync());
        Assert.Equal((1L, AuditSeal.None, Turnstone, "Größe"), (first.Number, first.Previous, first.By, first.Detail));
        Assert.Equal(first.Seal, second.Previous);
        AuditCheck found = await CheckTrailAsync();
        Assert.Empty(found.Faults);
        Assert.Equal((2L, 1L, 2L, second.Seal), (found.Entries, found.First, found.Last, found.LastSeal));
    }

    [StoreFact]
    public async Task Trail_EightWritersAtOnce_IsOneChainWithoutGaps()
    {
        await OpenAsync();
        const int Each = 12;

        await Task.WhenAll(Enumerable.Range(0, 8).Select(writer => Task.Run(async () =>
        {
            for (int number = 0; number < Each; number++)
            {
                await Trail().AppendAsync(TrailKey, [(new AuditEvent(AuditAct.Looked, AuditSubject.Case, $"{writer}-{number}"), Turnstone, Clock.GetUtcNow())]);
            }
        })));

        List<AuditEntry> entries = await EntriesAsync();
        Assert.Equal(Enumerable.Range(1, 8 * Each).Select(number => (long)number), entries.Select(entry => entry.Number));
        Assert.Equal(8 * Each, entries.Select(entry => entry.SubjectId).Distinct().Count());
        Assert.Empty((await CheckTrailAsync()).Faults);
    }

    [StoreTheory]
    [InlineData("UPDATE \"AuditEntries\" SET \"Detail\" = 'nothing happened' WHERE \"Number\" = 2")]
    [InlineData("DELETE FROM \"AuditEntries\" WHERE \"Number\" = 3")]
    [InlineData("DELETE FROM \"AuditEntries\" WHERE \"Number\" = 1")]
    public async Task Trail_ChangedOrRemovedInTheDatabase_IsRefusedByTheDatabase(string sql)
    {
        await OpenAsync();
        await TellAsync("a");
        await TellAsync("b");
        AuditEntry last = await TellAsync("c");

        await Assert.ThrowsAnyAsync<System.Data.Common.DbException>(() => TamperAsync(sql));

        Assert.Equal(3, (await EntriesAsync()).Count);
        Assert.Equal(last.Seal, (await CheckTrailAsync()).LastSeal);
    }

    [StoreFact]
    public async Task Trail_Asked_GivesWhatIsAskedForInOrder()
    {
        await OpenAsync();
        AuditEntry a = await TellAsync("a");
        AuditEntry b = await TellAsync("b", AuditAct.Exported);
        AuditEntry again = await TellAsync("a", AuditAct.Deleted);

        Assert.Equal([a, again], await EntriesAsync(new AuditQuery { Subject = AuditSubject.Case, SubjectId = "a" }));
        Assert.Equal([b, again], await EntriesAsync(new AuditQuery { Newest = 2 }));
        Assert.Equal([b], await EntriesAsync(new AuditQuery { Acts = [AuditAct.Exported] }));
        Assert.Equal([b], await EntriesAsync(new AuditQuery { From = b.At, Before = again.At }));
        Assert.Equal([b], await EntriesAsync(new AuditQuery { Number = 2 }));
        Assert.Equal([b], await EntriesAsync(new AuditQuery { Below = 3, Newest = 1 }));
        Assert.Empty(await EntriesAsync(new AuditQuery { By = "Dunlin" }));
        Assert.Equal(3, (await EntriesAsync(new AuditQuery { By = "Turnstone" })).Count);
    }

    [StoreFact]
    public async Task Trail_OldOnesRemovedByPolicy_SaysSoAndIsStillWhole()
    {
        await OpenAsync();
        await TellAsync("a");
        AuditEntry second = await TellAsync("b");
        Clock.Advance(TimeSpan.FromDays(400));
        await TellAsync("c");

        (long removed, AuditEntry? entry) = await Trail().RetainAsync(TrailKey, Clock.GetUtcNow().AddDays(-365), Clock.GetUtcNow());

        Assert.Equal(2, removed);
        Assert.Equal((AuditAct.Retained, 4L, AuditCheck.RetentionDetail(2, second.Seal)), (entry!.Act, entry.Number, entry.Detail));
        Assert.Equal([3L, 4L], (await EntriesAsync()).Select(each => each.Number));
        Assert.Empty((await CheckTrailAsync()).Faults);

        // Nothing more is old, so nothing more is said; and a second time of policy is followed too.
        Assert.Equal((0L, null), await Trail().RetainAsync(TrailKey, Clock.GetUtcNow().AddDays(-365), Clock.GetUtcNow()));
        Clock.Advance(TimeSpan.FromDays(400));
        await TellAsync("d");
        Assert.Equal(2, (await Trail().RetainAsync(TrailKey, Clock.GetUtcNow().AddDays(-365), Clock.GetUtcNow())).Removed);
        Assert.Equal([5L, 6L], (await EntriesAsync()).Select(each => each.Number));
        Assert.Empty((await CheckTrailAsync()).Faults);
    }

    [StoreFact]
    public async Task Trail_ClockPutBackAndForthByADay_StaysInItsOrderAndLosesOnlyItsBeginning()
    {
        await OpenAsync();
        await TellAsync("a");
        Clock.Advance(TimeSpan.FromDays(-1));
        await TellAsync("b");
        Clock.Advance(TimeSpan.FromDays(2));
        await TellAsync("c");

        Assert.Equal([1L, 2L, 3L], (await EntriesAsync()).Select(each => each.Number));
        Assert.Empty((await CheckTrailAsync()).Faults);

        // "b" is older than the policy and stays, because "a" before it is not.
        Assert.Equal(0L, (await Trail().RetainAsync(TrailKey, Clock.GetUtcNow().AddDays(-1.5), Clock.GetUtcNow())).Removed);
        Assert.Equal([1L, 2L, 3L], (await EntriesAsync()).Select(each => each.Number));
    }

    [StoreFact]
    public async Task Trail_OfOldEntriesOnly_KeepsTheNewest()
    {
        await OpenAsync();
        await TellAsync("a");
        AuditEntry last = await TellAsync("b");
        Clock.Advance(TimeSpan.FromDays(4000));

        Assert.Equal(1, (await Trail().RetainAsync(TrailKey, Clock.GetUtcNow().AddDays(-30), Clock.GetUtcNow())).Removed);

        Assert.Equal(last, (await EntriesAsync())[0]);
        Assert.Empty((await CheckTrailAsync()).Faults);
    }

    [StoreTheory]
    [InlineData("'; DROP TABLE \"Cases\"; --")]
    [InlineData("%' OR '1'='1")]
    [InlineData("\\' UNION SELECT 1 --")]
    [InlineData("_%[a-z]")]
    public async Task Searches_WordsThatAreSql_FindThatTextAndNothingElse(string words)
    {
        IRecordStore store = await OpenAsync();
        CaseRecord plain = await store.AddAsync(NewCase());
        CaseRecord odd = await store.AddAsync(NewCase() with { Id = Guid.NewGuid(), Title = words });

        IReadOnlyList<CaseSummary> found = await store.ListAsync(new WorklistQuery { Words = [new SearchWord(words, [])] }, 0, 10);

        Assert.Equal([odd.Id], found.Select(each => each.Id));
        Assert.NotNull(await store.FindAsync(plain.Id));
    }
}
