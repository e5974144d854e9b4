using Hotlight.Judgement;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;

namespace Hotlight.Store.Tests;

/// <summary>What every store of readings must do, whatever database is below.</summary>
public abstract partial class RecordStoreSuite
{
    private static readonly CaseReader Tern = new(Guid.NewGuid(), "Tern", PersonRole.Learner);
    protected static readonly CaseReader Dunlin = new(Guid.NewGuid(), "Dunlin", PersonRole.Supervisor);

    /// <summary>The readings in the store that was opened.</summary>
    protected abstract IReadingStore Readings();

    protected static readonly ReadingResult Result = new()
    {
        ProjectionId = "wrist-pa",
        ProjectionName = "Wrist PA",
        Lines = [new ReadLine("marker.side", ChecklistSection.SideMarker, "Is the marker R?", ChecklistState.NotMet, DecidedBy.Reader, true, "no marker", "größer", "DI +2.1")],
        Verdict = VerdictKind.Repeat,
        VerdictSentence = "Repeat.",
        OwnVerdict = VerdictKind.AcceptWithRemark,
        OwnReason = "It is enough.",
        JudgedBy = "1",
        MeasuredBy = "2",
        MeasuredWith = "3",
        DeviationScheme = "4",
    };

    protected OwnReading NewReading(Guid caseId, CaseReader reader, int number = 1) => new()
    {
        Id = Guid.NewGuid(),
        CaseId = caseId,
        CaseTitle = "Wrist",
        ProjectionId = "wrist-pa",
        Reader = reader,
        Number = number,
        Condition = ReadingCondition.Blind,
        Begun = Clock.GetUtcNow(),
        Changed = Clock.GetUtcNow(),
    };

    private async Task<(IReadingStore Readings, CaseRecord Case)> OpenReadingsAsync()
    {
        CaseRecord record = await (await OpenAsync()).AddAsync(NewCase() with { ProjectionId = "wrist-pa", Tags = "round 3" });
        return (Readings(), record);
    }

    [StoreFact]
    public async Task Reading_AnsweredAndFinished_IsFoundAfterReopeningAsItStood()
    {
        (IReadingStore store, CaseRecord record) = await OpenReadingsAsync();
        OwnReading begun = await store.AddAsync(NewReading(record.Id, Tern));
        OwnReading one = await store.KeepAnswersAsync(begun.Id, begun.Version, Step("{\"a\":1}", "one", verdict: "repeat"));
        await store.AddReadingTimeAsync(begun.Id, 12.5);
        Clock.Advance(TimeSpan.FromMinutes(3));
        OwnReading finished = await store.FinishAsync(begun.Id, one.Version, "Wrist, renamed", Result);

        await OpenAsync();
        OwnReading found = (await Readings().FindAsync(begun.Id))!;

        Assert.Equal(finished with { ReadingSeconds = 12.5 }, found);
        Assert.Equal(("{\"a\":1}", "repeat", "Wrist, renamed", Clock.GetUtcNow(), Tern), (found.AnswersJson, found.Verdict, found.CaseTitle, found.Finished, found.Reader));
        ReadingResult read = found.Result!;
        Assert.Equal(Result.Lines, read.Lines);
        Assert.Equal(Result with { Lines = read.Lines }, read);
        Assert.Equal(VerdictKind.AcceptWithRemark, read.Stands);
        await Assert.ThrowsAsync<ReadingRefusedException>(() => store.KeepAnswersAsync(begun.Id, found.Version, Step("{}")));
        await Assert.ThrowsAsync<ReadingRefusedException>(() => store.StepAnswersAsync(begun.Id, found.Version, AnswerStepDirection.Undo));
        await Assert.ThrowsAsync<ReadingRefusedException>(() => store.FinishAsync(begun.Id, found.Version, "x", Result));
        Assert.False(await store.RemoveAsync(begun.Id));
        Assert.Equal(found, await store.FindAsync(begun.Id));
    }

    [StoreFact]
    public async Task Reading_UndoRedoMergeAndDroppedSteps_GoAsInACase()
    {
        (IReadingStore store, CaseRecord record) = await OpenReadingsAsync();
        OwnReading reading = await store.AddAsync(NewReading(record.Id, Tern));
        reading = await store.KeepAnswersAsync(reading.Id, reading.Version, Step("1", "one"));
        reading = await store.KeepAnswersAsync(reading.Id, reading.Version, Step("2", "two", "remark:x"));
        reading = await store.KeepAnswersAsync(reading.Id, reading.Version, Step("3", "three", "remark:x"));
        Assert.Equal((2, "3", "three"), (reading.AnswerStep, reading.AnswersJson, reading.UndoLabel));
        reading = await store.StepAnswersAsync(reading.Id, reading.Version, AnswerStepDirection.Undo);
        reading = await store.StepAnswersAsync(reading.Id, reading.Version, AnswerStepDirection.Undo);
        Assert.Equal((0, "{}", "one"), (reading.AnswerStep, reading.AnswersJson, reading.RedoLabel));
        reading = await store.KeepAnswersAsync(reading.Id, reading.Version, Step("4", "four"));

        Assert.Equal((1, 1, "4", null), (reading.AnswerStep, reading.LastAnswerStep, reading.AnswersJson, reading.RedoLabel));
        Assert.Equal([(1, "four", (Guid?)Tern.Id)], (await store.StepsAsync(reading.Id)).Select(each => (each.Number, each.Label, each.GivenBy)));
        await Assert.ThrowsAsync<CaseChangedException>(() => store.KeepAnswersAsync(reading.Id, reading.Version - 1, Step("5")));
        await Assert.ThrowsAsync<CaseGoneException>(() => store.KeepAnswersAsync(Guid.NewGuid(), 1, Step("5")));
        Assert.True(await store.RemoveAsync(reading.Id));
        Assert.Null(await store.FindAsync(reading.Id));
        Assert.Empty(await store.StepsAsync(reading.Id));
    }

    [StoreFact]
    public async Task Reading_BegunInTwoWindowsAtOnce_IsOne()
    {
        (IReadingStore store, CaseRecord record) = await OpenReadingsAsync();

        OwnReading[] begun = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => store.AddAsync(NewReading(record.Id, Tern))));

        Assert.Single(begun.Select(each => each.Id).Distinct());
        Assert.Single(await store.ListAsync(new ReadingQuery()));
    }

    [StoreFact]
    public async Task ReadingRecords_ReadingOpenedAsACase_HasTheCasesImageAndNothingOfItsAnswers()
    {
        (IReadingStore store, CaseRecord record) = await OpenReadingsAsync();
        IRecordStore cases = await OpenAsync();
        record = await cases.KeepAnswersAsync(record.Id, record.Version, new AnswerStep { AnswersJson = "{\"secret\":1}", Label = "secret answer", Verdict = "repeat", GivenBy = Dunlin.Id });
        OwnReading reading = await store.AddAsync(NewReading(record.Id, Tern));
        var told = new List<(Guid, int)>();
        var news = new CaseNews();
        news.Happened += (id, _, version) => told.Add((id, version));
        var laid = new ReadingRecords(cases, store, news);

        CaseRecord open = (await laid.FindAsync(reading.Id))!;

        Assert.Equal((reading.Id, record.ContentHash, record.MeasurementsJson, "wrist-pa", record.Title), (open.Id, open.ContentHash, open.MeasurementsJson, open.ProjectionId, open.Title));
        Assert.Equal(("{}", (string?)null, 0, 0, (string?)null, CaseState.New), (open.AnswersJson, open.Verdict, open.AnswerStep, open.LastAnswerStep, open.UndoLabel, open.State));
        Assert.DoesNotContain("secret", open.ToString(), StringComparison.Ordinal);

        CaseRecord answered = await laid.KeepAnswersAsync(reading.Id, open.Version, Step("{\"own\":1}", "own", verdict: "accept"));
        Assert.Equal(("{\"own\":1}", "accept", "own"), (answered.AnswersJson, answered.Verdict, answered.UndoLabel));
        Assert.Equal("{}", (await laid.StepAnswersAsync(reading.Id, answered.Version, AnswerStepDirection.Undo)).AnswersJson);
        Assert.Equal("own", Assert.Single(await laid.StepsAsync(reading.Id)).Label);
        Assert.Equal([reading.Id, reading.Id], told.Select(each => each.Item1));
        await laid.AddReadingTimeAsync(reading.Id, 5);
        Assert.Equal(5, (await store.FindAsync(reading.Id))!.ReadingSeconds);

        // The case itself is as it was, and the reading stands on no list.
        Assert.Equal(record, await laid.FindAsync(record.Id));
        Assert.Equal([record.Id], (await laid.ListAsync(0, 10)).Select(each => each.Id));
        CaseRecord now = (await laid.FindAsync(reading.Id))!;
        await Assert.ThrowsAsync<ReadingRefusedException>(() => laid.ChangeAsync(now with { ProjectionId = "hand-pa" }));
        await Assert.ThrowsAsync<CaseChangedException>(() => laid.ChangeAsync(now with { MeasuredBy = "other" }));
        Assert.Equal("accept", (await laid.ChangeAsync(now with { Verdict = "accept" })).Verdict);
        await cases.DeleteAsync(record.Id);
        Assert.Null(await laid.FindAsync(reading.Id));
    }

    [StoreFact]
    public async Task ListAsync_Readings_ByCaseReaderStateAndTime()
    {
        (IReadingStore store, CaseRecord record) = await OpenReadingsAsync();
        CaseRecord other = await (await OpenAsync()).AddAsync(NewCase("Other", "b"));
        OwnReading first = await store.AddAsync(NewReading(record.Id, Tern));
        Clock.Advance(TimeSpan.FromDays(1));
        OwnReading second = await store.AddAsync(NewReading(other.Id, Tern));
        OwnReading third = await store.AddAsync(NewReading(record.Id, Dunlin));
        await store.FinishAsync(first.Id, first.Version, "Wrist", Result, Start.AddDays(3));

        async Task<Guid[]> Ids(ReadingQuery query) => [.. (await store.ListAsync(query)).Select(each => each.Id)];

        Guid[] all = [first.Id, .. new[] { second.Id, third.Id }.Order()];
        Assert.Equal(all, await Ids(new ReadingQuery()));
        Assert.Equal(new[] { first.Id, third.Id }, await Ids(new ReadingQuery { CaseIds = [record.Id] }));
        Assert.Equal(new[] { first.Id, second.Id }, await Ids(new ReadingQuery { ReaderIds = [Tern.Id] }));
        Assert.Equal(new[] { first.Id }, await Ids(new ReadingQuery { IsFinished = true }));
        Assert.Equal(new[] { second.Id }, await Ids(new ReadingQuery { IsFinished = false, ReaderIds = [Tern.Id] }));
        Assert.Equal(new[] { first.Id }, await Ids(new ReadingQuery { From = Start.AddDays(3), Before = Start.AddDays(4) }));
        Assert.Empty(await Ids(new ReadingQuery { From = Start.AddDays(4) }));
        Assert.Empty(await Ids(new ReadingQuery { CaseIds = [] }));
        ReadCase known = Assert.Single(await store.CasesAsync([record.Id, Guid.NewGuid()]));
        Assert.Equal((record.Id, record.Title, "wrist-pa", "round 3"), (known.Id, known.Title, known.ProjectionId, known.Tags));

        // A case that goes for good leaves what its readers finished.
        IRecordStore cases = await OpenAsync();
        await cases.DeleteAsync(record.Id);
        await cases.RemoveDeletedAsync(Clock.GetUtcNow().AddDays(1));
        Assert.NotNull((await store.FindAsync(first.Id))!.Result);
        Assert.Empty(await store.CasesAsync([record.Id]));
    }

    [StoreFact]
    public async Task Calls_MadeTwiceAndEnded_AreKeptOnce()
    {
        (IReadingStore store, CaseRecord record) = await OpenReadingsAsync();
        var call = new BlindCall(record.Id, Clock.GetUtcNow(), Dunlin.Id);
        await Task.WhenAll(store.CallAsync(call), store.CallAsync(call));
        await OpenAsync();
        Assert.Equal([call], await Readings().CallsAsync());
        Assert.True(await store.EndCallAsync(record.Id));
        Assert.False(await store.EndCallAsync(record.Id));
        Assert.Empty(await store.CallsAsync());
    }

    [StoreFact]
    public async Task Remarks_OnlyTheirAuthorChangesThemAndNobodyOverwritesSilently()
    {
        (IReadingStore store, CaseRecord record) = await OpenReadingsAsync();
        var remark = new CaseRemark { Id = Guid.NewGuid(), CaseId = record.Id, LineId = "marker.side", Author = Tern, Text = "Is it R? größer", Written = Clock.GetUtcNow() };
        await store.AddRemarkAsync(remark);
        await OpenAsync();
        Assert.Equal([remark], await Readings().RemarksAsync(record.Id));

        await Assert.ThrowsAsync<ReadingRefusedException>(() => store.EditRemarkAsync(remark.Id, Dunlin.Id, 1, "no"));
        CaseRemark edited = await store.EditRemarkAsync(remark.Id, Tern.Id, 1, "It is R.");
        Assert.Equal(("It is R.", 2, Clock.GetUtcNow()), (edited.Text, edited.Version, edited.Edited));
        await Assert.ThrowsAsync<ReadingRefusedException>(() => store.EditRemarkAsync(remark.Id, Tern.Id, 1, "late"));
        await Assert.ThrowsAsync<ReadingRefusedException>(() => store.EditRemarkAsync(Guid.NewGuid(), Tern.Id, 1, "none"));
        Assert.True((await store.EditRemarkAsync(remark.Id, Tern.Id, 2, "")).IsTakenAway);
    }

    [StoreFact]
    public async Task SignOffs_TakenBack_KeepBoth()
    {
        (IReadingStore store, CaseRecord _) = await OpenReadingsAsync();
        var signed = new SignOff { Id = Guid.NewGuid(), Learner = Tern, Supervisor = Dunlin, RequirementId = Guid.NewGuid(), Requirement = "20 wrists", Stood = "22 of 20", Signed = Clock.GetUtcNow() };
        await store.AddSignOffAsync(signed);
        await OpenAsync();
        Assert.Equal([signed], await Readings().SignOffsAsync(Tern.Id));
        Assert.Empty(await store.SignOffsAsync(Dunlin.Id));
        Clock.Advance(TimeSpan.FromDays(2));

        SignOff back = await store.WithdrawAsync(signed.Id, "Dunlin", "signed for another learner");

        Assert.Equal([signed with { Withdrawn = Clock.GetUtcNow(), WithdrawnBy = "Dunlin", WithdrawnReason = "signed for another learner" }], await store.SignOffsAsync(null));
        Assert.False(back.Stands);
        await Assert.ThrowsAsync<ReadingRefusedException>(() => store.WithdrawAsync(signed.Id, "Dunlin", "again"));
        Assert.Equal(back, Assert.Single(await store.SignOffsAsync(Tern.Id)));
    }
}
