using Hotlight.Judgement;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Practice;
using Hotlight.Workflows.Teaching.Rounds;

namespace Hotlight.Workflows.Tests.Teaching.Practice;

/// <summary>Practice on cases of the clinic tells nothing of a case that is read blind or held back by a round.</summary>
public sealed class PracticeOfCasesTests : IAsyncLifetime, IDisposable
{
    private static readonly CaseReader Gull = new(Guid.NewGuid(), "Gull", PersonRole.Supervisor);
    private static readonly CaseReader Knot = new(Guid.NewGuid(), "Knot", PersonRole.Learner);
    private readonly ScratchFolder folder = new();
    private readonly PracticeShelf exposures = new();
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;
    private ReadingWorkflow readings = null!;
    private RoundWorkflow rounds = null!;
    private PracticeWorkflow practice = null!;

    public async Task InitializeAsync()
    {
        IRecordStore kept = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        IReadingStore store = SqliteRecords.Readings(folder["records.db"], TimeProvider.System);
        ILessonStore lessons = SqliteRecords.Lessons(folder["records.db"], TimeProvider.System);
        var files = new FolderFileStore(folder["files"]);
        var clinic = new ClinicWorkflow(SqliteRecords.Clinic(folder["records.db"], TimeProvider.System));
        shelf = new RadiographShelf(files);
        cases = new CaseWorkflow(new ReadingRecords(kept, store), files, shelf, TimeProvider.System);
        readings = new ReadingWorkflow(store, cases, TimeProvider.System, hold: new RoundHolds(lessons, TimeProvider.System));
        rounds = new RoundWorkflow(lessons, store, readings, cases, new CasePublisher(kept, files, shelf), TimeProvider.System);
        var progress = new ProgressWorkflow(store, readings, cases, clinic, TimeProvider.System, lessons: lessons);
        practice = new PracticeWorkflow(lessons, cases, progress, exposures, clinic, TimeProvider.System);
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
            exposures.Dispose();
            folder.Dispose();
        }
    }

    [Fact]
    public async Task Cases_CalledForBlindReading_AreNeitherOfferedNorBegunWith()
    {
        Guid open = await ReadCaseAsync(1), blind = await ReadCaseAsync(2);
        Assert.Equal([open, blind], (await practice.CasesAsync(Knot.Id)).Select(each => each.Id).Order().ToArray().OrderBy(id => id == open ? 0 : 1));

        await readings.CallAsync(blind, Gull.Id);
        Assert.Equal([open], (await practice.CasesAsync(Knot.Id)).Select(each => each.Id));
        KeptPractice begun = await practice.BeginAsync(Order(open, blind), Knot);
        Assert.Equal([open], begun.Session.Order.CaseIds);
        Assert.Equal(PracticeWorkflow.KeptBack, (await Assert.ThrowsAsync<LessonRefusedException>(() => practice.BeginAsync(Order(blind), Knot))).Message);

        // Whoever has finished a reading of one's own may be told.
        await ReadAsync(blind, Knot, ChecklistState.Met);
        Assert.Equal(2, (await practice.CasesAsync(Knot.Id)).Count);
    }

    [Fact]
    public async Task Session_WhoseCaseIsHeldBackByARoundMeanwhile_GoesOnWithoutIt()
    {
        Guid first = await ReadCaseAsync(1), second = await ReadCaseAsync(2), third = await ReadCaseAsync(3);
        KeptPractice session = await practice.AdvanceAsync(await practice.BeginAsync(Order(first, second, third), Knot));
        Assert.Equal(2, session.Session.Exercises.Count);
        Assert.All(session.Session.Exercises, each => Assert.NotEmpty(each.Truth));

        await rounds.PublishAsync(
            new RoundDraft { Title = "Limbs", CaseIds = [first, third], Places = 2, ReadUntil = DateTimeOffset.UtcNow.AddDays(2), OpenUntil = DateTimeOffset.UtcNow.AddDays(4), LookedOver = [first, third] }, null);
        Assert.Equal(PracticeWorkflow.KeptBack, (await Assert.ThrowsAsync<LessonRefusedException>(() => practice.FinishAsync(session, 1))).Message);
        Assert.True(await practice.IsKeptBackAsync(session.Session.Exercises[0], Knot.Id));

        session = await practice.AdvanceAsync(session);
        PracticeExercise left = Assert.Single(session.Session.Exercises);
        Assert.Equal((second, 1, 1), (left.CaseId!.Value, left.Number, session.Session.Order.Count));
        session = await practice.FinishAsync(session, 1);
        Assert.NotNull(session.Lesson.Ended);
        Assert.DoesNotContain(await practice.CasesAsync(Knot.Id), each => each.Id != second);
    }

    private static PracticeOrder Order(params Guid[] ids) => new() { Source = PracticeSource.Cases, CaseIds = ids, Count = ids.Length };

    private async Task<Guid> ReadCaseAsync(int seed)
    {
        InventedExposure.Write(InventedExposure.Limb(300, 250, seed), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        Guid id = (await cases.BringInInventedAsync("limb.dcm", file, $"Limb {seed}", "wrist-pa")).Record.Id;
        await ReadAsync(id, Gull, ChecklistState.NotMet);
        return id;
    }

    private async Task ReadAsync(Guid caseId, CaseReader reader, ChecklistState state)
    {
        OwnReading reading = await readings.BeginAsync(caseId, reader);
        OpenCase open = await cases.OpenAsync(reading.Id);
        foreach (string line in open.Critique!.Verdict.Open.Select(reason => reason.LineId).ToArray())
        {
            open = await cases.AnswerAsync(open, line, new Answer(state));
        }

        await readings.FinishAsync(reading.Id, reader.Id);
    }
}
