using Hotlight.Judgement;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Tests.Readings;

public sealed class ReadingWorkflowTests : IAsyncLifetime, IDisposable
{
    private const string Secret = "a remark that nobody may see";
    private readonly ScratchFolder folder = new();
    private readonly CaseReader tern = new(Guid.NewGuid(), "Tern", PersonRole.Learner);
    private readonly CaseReader dunlin = new(Guid.NewGuid(), "Dunlin", PersonRole.Supervisor);
    private IRecordStore records = null!;
    private IReadingStore store = null!;
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;
    private ReadingWorkflow readings = null!;

    public async Task InitializeAsync()
    {
        IRecordStore kept = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        store = SqliteRecords.Readings(folder["records.db"], TimeProvider.System);
        records = new ReadingRecords(kept, store);
        var files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
        cases = new CaseWorkflow(records, files, shelf, TimeProvider.System);
        readings = new ReadingWorkflow(store, cases, TimeProvider.System);
    }

    public Task DisposeAsync()
    {
        Dispose();
        return Task.CompletedTask;
    }

    public void Dispose()
    {
        shelf.Dispose();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    [Fact]
    public async Task OwnReading_FromBlindToFinished_HoldsNothingOfOthersAnswersUntilThen()
    {
        OpenCase shared = await AnswerAllAsync(await ChosenAsync(), ChecklistState.Met, Secret);
        Guid caseId = shared.Record.Id;
        await readings.CallAsync(caseId, dunlin.Id);
        OwnReading first = await readings.BeginAsync(caseId, dunlin);
        await AnswerAllAsync(await cases.OpenAsync(first.Id), ChecklistState.NotMet, Secret);
        OwnReading finished = await readings.FinishAsync(first.Id, dunlin.Id);

        // Blind to who has not read, and to whoever did not say who looks.
        foreach (Guid? looking in new Guid?[] { tern.Id, null })
        {
            Assert.Contains(caseId, await readings.BlindToAsync(looking));
            ReadingsOfCase seen = await readings.OfCaseAsync(caseId, looking);
            Assert.True(seen.IsBlind);
            Assert.Empty(seen.Finished);
            Assert.Empty(seen.Remarks);
            Assert.Equal([new ReadingStateOf(dunlin, 1, true)], seen.States);
        }

        OwnReading own = await readings.BeginAsync(caseId, tern);
        OpenCase open = await cases.OpenAsync(own.Id);
        Assert.Equal(shared.Record.MeasurementsJson, open.Record.MeasurementsJson);
        Assert.Equal(shared.Projection!.Id, open.Projection!.Id);
        Assert.Empty(open.Answers!.Lines);
        Assert.Null(open.Answers.Verdict);
        Assert.DoesNotContain(Secret, CritiqueJson.Write(open.Critique!) + open.Record, StringComparison.Ordinal);
        Assert.DoesNotContain(open.Critique!.Lines, line => line.DecidedBy == DecidedBy.Reader);
        Assert.Equal(VerdictKind.Undetermined, open.Critique.Verdict.Kind);
        await Assert.ThrowsAsync<ReadingRefusedException>(() => readings.RemarkAsync(caseId, null, tern, "early"));

        open = await AnswerAllAsync(open, ChecklistState.Met, "mine");
        Assert.Contains(caseId, await readings.BlindToAsync(tern.Id));
        OwnReading mine = await readings.FinishAsync(own.Id, tern.Id);

        Assert.Equal(ReadingCondition.Blind, mine.Condition);
        ReadingsOfCase after = await readings.OfCaseAsync(caseId, tern.Id);
        Assert.False(after.IsBlind);
        Assert.Equal([finished.Id, mine.Id], after.Finished.Select(each => each.Id));
        Assert.DoesNotContain(caseId, await readings.BlindToAsync(tern.Id));
        ReadingResult result = mine.Result!;
        Assert.Equal(open.Critique!.Lines.Select(line => (line.Id, line.State, line.DecidedBy)), result.Lines.Select(line => (line.Id, line.State, line.DecidedBy)));
        Assert.Equal((open.Critique.Verdict.Kind, CaseWorkflow.ThisVersion, open.Record.MeasuredWith), (result.Verdict, result.JudgedBy, result.MeasuredWith));

        // The shared answers are as they were, the finished reading stays as it is.
        Assert.Equal(shared.Record, await records.FindAsync(caseId));
        await Assert.ThrowsAsync<ReadingRefusedException>(async () => await cases.AnswerAsync(await cases.OpenAsync(own.Id), open.Critique.Lines[0].Id, null));
        await readings.RemarkAsync(caseId, open.Critique.Lines[0].Id, tern, "Look at the ulnar styloid.");
        Assert.Equal("Look at the ulnar styloid.", Assert.Single((await readings.OfCaseAsync(caseId, dunlin.Id)).Remarks).Text);
    }

    [Fact]
    public async Task BeginAsync_AfterFinishing_IsAnotherReadingThatSaysSo()
    {
        Guid caseId = (await ChosenAsync()).Record.Id;
        OwnReading first = await readings.BeginAsync(caseId, tern);
        Assert.Equal(ReadingCondition.Open, first.Condition);
        Assert.Equal(first.Id, (await readings.BeginAsync(caseId, tern)).Id);
        await Assert.ThrowsAsync<ReadingRefusedException>(() => readings.FinishAsync(first.Id, tern.Id));
        await AnswerAllAsync(await cases.OpenAsync(first.Id), ChecklistState.Met, null);
        await Assert.ThrowsAsync<ReadingRefusedException>(() => readings.FinishAsync(first.Id, dunlin.Id));
        await readings.FinishAsync(first.Id, tern.Id);

        OwnReading again = await readings.BeginAsync(caseId, tern);

        Assert.NotEqual(first.Id, again.Id);
        Assert.Equal((2, ReadingCondition.Again, "{}"), (again.Number, again.Condition, again.AnswersJson));
        Assert.False((await readings.OfCaseAsync(caseId, tern.Id)).IsBlind);
        await readings.GiveUpAsync(again.Id, tern.Id);
        Assert.Null(await readings.FindAsync(again.Id));
        await Assert.ThrowsAsync<ReadingRefusedException>(() => readings.GiveUpAsync(first.Id, tern.Id));
    }

    [Fact]
    public async Task FirstReadingUnderWay_CaseThatWasNotCalled_IsBlindToItsReaderAlone()
    {
        Guid caseId = (await ChosenAsync()).Record.Id;
        OwnReading own = await readings.BeginAsync(caseId, tern);

        Assert.True((await readings.OfCaseAsync(caseId, tern.Id)).IsBlind);
        Assert.False((await readings.OfCaseAsync(caseId, dunlin.Id)).IsBlind);
        Assert.False((await readings.OfCaseAsync(caseId, null)).IsBlind);
        Assert.True(await readings.MayBeBlindAsync(caseId));
        await readings.GiveUpAsync(own.Id, tern.Id);
        Assert.False(await readings.MayBeBlindAsync(caseId));
    }

    [Fact]
    public async Task BeginAsync_CaseWithoutProjectionOrGone_IsRefused()
    {
        CaseRecord record = await BringInAsync();
        await Assert.ThrowsAsync<ReadingRefusedException>(() => readings.BeginAsync(record.Id, tern));
        await Assert.ThrowsAsync<ReadingRefusedException>(() => readings.CallAsync(record.Id, null));
        await Assert.ThrowsAsync<CaseGoneException>(() => readings.BeginAsync(Guid.NewGuid(), tern));
    }

    private async Task<CaseRecord> BringInAsync()
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        return (await cases.BringInAsync("limb.dcm", file, long.MaxValue)).Record;
    }

    private async Task<OpenCase> ChosenAsync() => await cases.ChooseProjectionAsync(await cases.OpenAsync((await BringInAsync()).Id), "wrist-pa");

    private async Task<OpenCase> AnswerAllAsync(OpenCase open, ChecklistState state, string? remark)
    {
        foreach (string line in open.Critique!.Verdict.Open.Select(reason => reason.LineId).ToArray())
        {
            open = await cases.AnswerAsync(open, line, new Answer(state, null, remark));
        }

        return open;
    }
}
