using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Measuring;

namespace Hotlight.Store.Tests;

/// <summary>What every measuring queue must do, whatever database is below.</summary>
public abstract partial class RecordStoreSuite
{
    private static readonly MeasuringTarget Now = new("2", "k2", 2);

    /// <summary>The measuring queue in the store that was opened, as a worker of its own has it.</summary>
    protected abstract IMeasuringQueue Queue();

    private static CaseRecord Measured(CaseRecord record, string by = "here") => record with { MeasurementsJson = $"{{\"by\":\"{by}\"}}", MeasuredBy = Now.MeasuredBy, MeasuredWith = Now.MeasuredWith };

    private async Task<(IRecordStore Store, CaseRecord[] Cases)> AskedAsync(int cases)
    {
        IRecordStore store = await OpenAsync();
        var added = new CaseRecord[cases];
        for (int number = 0; number < cases; number++)
        {
            added[number] = await store.AddAsync(NewCase($"case {number}") with { Created = Start.AddMinutes(number), Changed = Start.AddMinutes(number) });
        }

        Assert.Equal(cases, await Queue().AskAsync(Now));
        return (store, added);
    }

    [StoreFact]
    public async Task Queue_AskedTwice_IsOneJobAndWhatIsMeasuredIsNone()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(3);
        CaseRecord current = await store.AddAsync(Measured(NewCase("current")));

        Assert.Equal(0, await Queue().AskAsync(Now));
        Assert.Equal(0, await Queue().AskAsync(Now, [cases[0].Id, current.Id]));

        Assert.Equal(new MeasuringProgress(3, 0, 0, 4), await Queue().ProgressAsync());
        Assert.Equal(["case 2", "case 1", "case 0"], (await Queue().ListAsync(10)).Select(each => each.Title));
    }

    [StoreFact]
    public async Task Queue_AskedWithNewerSettings_IsOneJobWithThoseAndTheEarlierTakingIsLost()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(1);
        MeasuringJob earlier = (await Queue().TakeAsync(Now, "a"))!;
        MeasuringTarget newer = Now with { MeasuredWith = "k3", SettingsNumber = 3 };

        Assert.Equal(1, await Queue().AskAsync(newer));

        // Who has not heard of the newer settings changes nothing and takes nothing.
        Assert.Equal(0, await Queue().AskAsync(Now));
        Assert.Null(await Queue().TakeAsync(Now, "a"));
        Assert.Null(await Queue().KeepAsync(earlier, Measured(cases[0])));
        Assert.Equal(cases[0], await store.FindAsync(cases[0].Id));
        MeasuringJob job = (await Queue().TakeAsync(newer, "b"))!;
        Assert.Equal("k3", (await Queue().KeepAsync(job, Measured(cases[0]) with { MeasuredWith = "k3" }))!.MeasuredWith);

        // Settings that are changed back before anybody measured leave nothing to do.
        await Queue().AskAsync(newer with { MeasuredWith = "k4", SettingsNumber = 4 });
        Assert.Equal(1, (await Queue().ProgressAsync()).Left);
        Assert.Equal(0, await Queue().AskAsync(newer with { SettingsNumber = 5 }));
        Assert.Equal(MeasuringProgress.None, await Queue().ProgressAsync());
        Assert.Null(await Queue().TakeAsync(newer with { SettingsNumber = 5 }, "b"));
    }

    [StoreFact]
    public async Task Queue_Taken_NeverMeasuredFirstThenAsTheWorklistAndNoDeletedOnes()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(3);
        CaseRecord fresh = await store.AddAsync(NewCase("fresh") with { MeasuredBy = string.Empty, IsInvented = true, ReceivedBy = CaseOrigin.Demo });
        Assert.Equal(1, await Queue().AskAsync(Now, [fresh.Id]));
        await store.DeleteAsync(cases[1].Id);

        Guid[] taken = [(await Queue().TakeAsync(Now, "a"))!.CaseId, (await Queue().TakeAsync(Now, "b"))!.CaseId, (await Queue().TakeAsync(Now, "c"))!.CaseId];

        Assert.Equal([fresh.Id, cases[2].Id, cases[0].Id], taken);
        Assert.Null(await Queue().TakeAsync(Now, "d"));
        Assert.Equal(new MeasuringProgress(0, 3, 0, 3), await Queue().ProgressAsync());
        await store.RestoreAsync(cases[1].Id);
        Assert.Equal(cases[1].Id, (await Queue().TakeAsync(Now, "d"))!.CaseId);
    }

    [StoreFact]
    public async Task Queue_Kept_IsTheCaseOneVersionOnAndItsPlaceInTheWorklistStays()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(2);
        CaseRecord answered = await store.KeepAnswersAsync(cases[1].Id, 1, Step("{\"a\":1}", verdict: "repeat"));
        Clock.Advance(TimeSpan.FromSeconds(30));
        MeasuringJob same = (await Queue().TakeAsync(Now, "a"))!;
        MeasuringJob other = (await Queue().TakeAsync(Now, "a"))!;
        Assert.Equal([cases[1].Id, cases[0].Id], [same.CaseId, other.CaseId]);

        CaseRecord kept = (await Queue().KeepAsync(same, Measured(answered)))!;
        CaseRecord judged = (await Queue().KeepAsync(other, Measured(cases[0]) with { Verdict = "accept" }))!;

        Assert.Equal(Measured(answered) with { Version = 3 }, kept);
        Assert.Equal(kept, await store.FindAsync(kept.Id));
        Assert.Equal(Measured(cases[0]) with { Verdict = "accept", Version = 2, Changed = Clock.GetUtcNow() }, judged);
        Assert.Equal([judged.Id, kept.Id], (await store.ListAsync(0, 9)).Select(each => each.Id));
        Assert.Equal(MeasuringProgress.None, await Queue().ProgressAsync());
        Assert.Null(await Queue().KeepAsync(same, Measured(kept)));
    }

    [StoreFact]
    public async Task Queue_LeaseRunOut_AnotherDoesItOnceAndTheLateFinishIsRefused()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(1);
        MeasuringJob late = (await Queue().TakeAsync(Now, "late"))!;
        Clock.Advance(MeasuringJob.LeaseTime / 2);
        Assert.True(await Queue().ExtendAsync(late));
        Clock.Advance(MeasuringJob.LeaseTime - TimeSpan.FromTicks(1));
        Assert.Null(await Queue().TakeAsync(Now, "other"));
        Clock.Advance(TimeSpan.FromTicks(1));

        MeasuringJob other = (await Queue().TakeAsync(Now, "other"))!;

        Assert.Equal((late.CaseId, 2), (other.CaseId, other.Attempt));
        Assert.False(await Queue().ExtendAsync(late));
        Assert.Null(await Queue().KeepAsync(late, Measured(cases[0], "late")));
        Assert.False(await Queue().FailAsync(late, "It was late."));
        Assert.False(await Queue().ReleaseAsync(late));
        Assert.False(await Queue().DropAsync(late));
        Assert.Equal("other", Assert.Single(await Queue().ListAsync(9)).Worker);
        Assert.Equal(2, (await Queue().KeepAsync(other, Measured(cases[0], "other")))!.Version);
        Assert.Null(await Queue().KeepAsync(late, Measured(cases[0], "late")));
        Assert.Equal("{\"by\":\"other\"}", (await store.FindAsync(cases[0].Id))!.MeasurementsJson);
    }

    [StoreFact]
    public async Task Queue_ClockPutBackAndForthByADay_HoldsNothingUpAndEachIsDoneOnce()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(3);
        MeasuringJob dead = (await Queue().TakeAsync(Now, "dead"))!;
        MeasuringJob failed = (await Queue().TakeAsync(Now, "failed"))!;
        Assert.True(await Queue().FailAsync(failed, "It did not work."));

        // Put back, all that falls due then would fall due a day later.
        Clock.Advance(TimeSpan.FromDays(-1));
        var taken = new List<MeasuringJob>();
        while (await Queue().TakeAsync(Now, "other") is { } job)
        {
            taken.Add(job);
        }

        Assert.Equal(cases.Select(each => each.Id).Order(), taken.Select(each => each.CaseId).Order());
        Assert.Null(await Queue().KeepAsync(dead, Measured(cases.Single(each => each.Id == dead.CaseId), "dead")));

        // Put forth while it is measured, a lease is over at once: whoever takes it then is the only one who keeps.
        Clock.Advance(TimeSpan.FromDays(2));
        MeasuringJob last = (await Queue().TakeAsync(Now, "last"))!;
        Assert.Null(await Queue().KeepAsync(taken.Single(each => each.CaseId == last.CaseId), Measured(cases.Single(each => each.Id == last.CaseId), "other")));
        Assert.NotNull(await Queue().KeepAsync(last, Measured(cases.Single(each => each.Id == last.CaseId), "last")));
        Assert.Equal("{\"by\":\"last\"}", (await store.FindAsync(last.CaseId))!.MeasurementsJson);
        foreach (MeasuringJob job in taken.Where(each => each.CaseId != last.CaseId))
        {
            Assert.NotNull(await Queue().KeepAsync(job, Measured(cases.Single(each => each.Id == job.CaseId), "other")));
        }

        Assert.Equal(MeasuringProgress.None, await Queue().ProgressAsync());
    }

    [StoreFact]
    public async Task Answers_ClockPutBackAndForthByADay_AreTakenBackInTheOrderTheyWereGiven()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord record = await store.AddAsync(NewCase());
        foreach ((string json, int days) in new[] { ("{\"a\":1}", -1), ("{\"a\":2}", 2), ("{\"a\":3}", -1) })
        {
            Clock.Advance(TimeSpan.FromDays(days));
            record = await store.KeepAnswersAsync(record.Id, record.Version, new AnswerStep { AnswersJson = json, Label = json });
        }

        string[] back = new string[3];
        for (int step = 0; step < 3; step++)
        {
            record = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Undo);
            back[step] = record.AnswersJson;
        }

        Assert.Equal(["{\"a\":2}", "{\"a\":1}", "{}"], back);
        record = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Redo);
        Assert.Equal("{\"a\":1}", record.AnswersJson);
    }

    [StoreFact]
    public async Task Queue_CaseThatMovedOnWhileItWasMeasured_RefusesTheOlderVersionAndTheLeaseHolds()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(1);
        MeasuringJob job = (await Queue().TakeAsync(Now, "a"))!;
        CaseRecord answered = await store.KeepAnswersAsync(cases[0].Id, 1, Step("{\"a\":1}"));

        await Assert.ThrowsAsync<CaseChangedException>(() => Queue().KeepAsync(job, Measured(cases[0])));

        CaseRecord kept = (await Queue().KeepAsync(job, Measured(answered)))!;
        Assert.Equal(("{\"a\":1}", 3), (kept.AnswersJson, kept.Version));
    }

    [StoreFact]
    public async Task Queue_CaseThatIsDeletedOrOpenedMeanwhile_IsLeftAloneAndCountsNoMore()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(2);
        MeasuringJob job = (await Queue().TakeAsync(Now, "a"))!;
        await store.DeleteAsync(job.CaseId);
        await store.ChangeAsync(Measured(cases[0]));

        await Assert.ThrowsAsync<CaseGoneException>(() => Queue().KeepAsync(job, Measured(cases[1])));
        Assert.Equal(MeasuringProgress.None, await Queue().ProgressAsync());
        Assert.Empty(await Queue().ListAsync(9));

        // Its row is still there, and goes when a worker sees that nothing is to be done.
        MeasuringJob left = (await Queue().TakeAsync(Now, "b"))!;
        Assert.Equal(cases[0].Id, left.CaseId);
        Assert.True(await Queue().DropAsync(left));
        Assert.True(await Queue().ReleaseAsync(job));
        Assert.Null(await Queue().TakeAsync(Now, "b"));
        await store.RestoreAsync(job.CaseId);
        Assert.Equal(1, (await Queue().TakeAsync(Now, "b"))!.Attempt);
    }

    [StoreFact]
    public async Task Queue_AttemptsThatFail_PauseLongerEachTimeUntilTheCaseIsGivenUpWithItsReason()
    {
        (_, CaseRecord[] cases) = await AskedAsync(1);
        var pauses = new List<TimeSpan>();
        for (int attempt = 1; attempt <= MeasuringJob.MostAttempts; attempt++)
        {
            MeasuringJob job = (await Queue().TakeAsync(Now, "a"))!;
            Assert.Equal(attempt, job.Attempt);
            Assert.True(await Queue().FailAsync(job, $"The file is missing, look {attempt}."));
            if (attempt < MeasuringJob.MostAttempts)
            {
                QueuedCase waiting = Assert.Single(await Queue().ListAsync(9));
                pauses.Add(waiting.Due - Clock.GetUtcNow());
                Clock.Advance(pauses[^1] - TimeSpan.FromTicks(1));
                Assert.Null(await Queue().TakeAsync(Now, "a"));
                Clock.Advance(TimeSpan.FromTicks(1));
            }
        }

        Assert.Equal([15, 60, 240, 960], pauses.Select(each => each.TotalSeconds));
        Clock.Advance(TimeSpan.FromDays(1));
        Assert.Null(await Queue().TakeAsync(Now, "a"));
        Assert.Equal(new MeasuringProgress(0, 0, 1, 1), await Queue().ProgressAsync());
        Assert.Equal("The file is missing, look 5.", (await Queue().ReasonsAsync([cases[0].Id]))[cases[0].Id]);
        Assert.Equal(0, await Queue().AskAsync(Now));

        Assert.Equal(1, await Queue().AskAgainAsync());
        Assert.Empty(await Queue().ReasonsAsync([cases[0].Id]));
        MeasuringJob again = (await Queue().TakeAsync(Now, "a"))!;
        Assert.Equal(1, again.Attempt);
        Assert.True(await Queue().FailAsync(again, new string('x', 900), isFinal: true));
        Assert.Equal((QueuedState.GivenUp, 300), (Assert.Single(await Queue().ListAsync(9)).State, (await Queue().ReasonsAsync([cases[0].Id]))[cases[0].Id].Length));
    }

    [StoreFact]
    public async Task Queue_WorkersThatDieEachTime_AreNotGivenTheCaseForEver()
    {
        (_, CaseRecord[] cases) = await AskedAsync(1);
        for (int attempt = 1; attempt <= MeasuringJob.MostAttempts; attempt++)
        {
            Assert.Equal(attempt, (await Queue().TakeAsync(Now, "a"))!.Attempt);
            Clock.Advance(MeasuringJob.LeaseTime);
        }

        Assert.Null(await Queue().TakeAsync(Now, "a"));
        Assert.Contains("5 attempts", (await Queue().ReasonsAsync([cases[0].Id]))[cases[0].Id], StringComparison.Ordinal);
    }

    [StoreFact]
    public async Task Queue_EightWorkersOverTwoHundredCases_EachIsDoneOnce()
    {
        (IRecordStore store, CaseRecord[] cases) = await AskedAsync(200);
        Dictionary<Guid, CaseRecord> byId = cases.ToDictionary(each => each.Id);

        int[] done = await Task.WhenAll(Enumerable.Range(0, 8).Select(worker => Task.Run(async () =>
        {
            IMeasuringQueue queue = Queue();
            int count = 0;
            while (await queue.TakeAsync(Now, $"worker {worker}") is { } job)
            {
                Assert.NotNull(await queue.KeepAsync(job, Measured(byId[job.CaseId], $"{worker}")));
                count++;
            }

            return count;
        })));

        Assert.Equal(200, done.Sum());
        Assert.Equal(MeasuringProgress.None, await Queue().ProgressAsync());
        foreach (CaseRecord each in cases)
        {
            CaseRecord kept = (await store.FindAsync(each.Id))!;
            Assert.Equal((2, Now.MeasuredBy, Now.MeasuredWith), (kept.Version, kept.MeasuredBy, kept.MeasuredWith));
        }
    }
}
