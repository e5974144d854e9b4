using Hotlight.Core;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Store.Tests;

/// <summary>What every record store must do, whatever database is below; a class per provider inherits it.</summary>
public abstract partial class RecordStoreSuite
{
    protected static readonly DateTimeOffset Start = new(2026, 3, 1, 8, 0, 0, TimeSpan.Zero);

    protected SteppedClock Clock { get; } = new(Start);

    /// <summary>Opens the store of this test; called twice it opens the same records again, as after a restart.</summary>
    protected abstract Task<IRecordStore> OpenAsync();

    /// <summary>The settings in the store that was opened.</summary>
    protected abstract IClinicStore Clinic();

    protected CaseRecord NewCase(string title = "Wrist PA, second try", string hash = "a") => new()
    {
        Id = Guid.NewGuid(),
        Title = title,
        FileName = "wrist.dcm",
        ContentHash = new string(hash[0], 64),
        ContentBytes = 123,
        ExposureRecordJson = "{\"tubeVoltageKvp\":55}",
        MeasurementsJson = "{}",
        MeasuredBy = "0.1.0",
        Created = Clock.GetUtcNow(),
        Changed = Clock.GetUtcNow(),
    };

    protected static AnswerStep Step(string answers, string label = "Side marker: met", string? key = null, string? verdict = null)
        => new() { AnswersJson = answers, Label = label, MergeKey = key, Verdict = verdict };

    [StoreFact]
    public async Task AddAsync_CaseWithEveryMember_IsFoundAfterReopening()
    {
        CaseRecord given = NewCase() with
        {
            ProjectionId = "wrist-pa",
            GivenSpacing = new PixelSpacing(rowSpacingMm: 0.15, columnSpacingMm: 0.2),
            Verdict = "repeat",
            IsInvented = true,
            FileCarriesPatientIdentity = true,
            ReceivedBy = CaseOrigin.Network,
            PatientKey = "p1",
            PatientLabel = "Reader P-7F3K2",
            ExaminationKey = "2.25.1",
            SeriesUid = "2.25.2",
            SopInstanceUid = "2.25.3",
            AccessionKey = "a1",
            AcquiredAt = Start.AddDays(-3),
            Modality = "DX",
            Laterality = "L",
            IsDeidentified = true,
            DeidentificationReportJson = "{\"changed\":12}",
            MeasuredWith = "0f",
            AssigneeId = Guid.NewGuid(),
            State = CaseState.Done,
            Priority = CasePriority.High,
            Tags = "teaching, rotated",
            ReadingSeconds = 61.5,
        };
        await (await OpenAsync()).AddAsync(given);

        CaseRecord? found = await (await OpenAsync()).FindAsync(given.Id);

        Assert.Equal(given, found);
    }

    [StoreFact]
    public async Task FindAsync_UnknownCase_GivesNull() => Assert.Null(await (await OpenAsync()).FindAsync(Guid.NewGuid()));

    [StoreFact]
    public async Task ListAsync_OwnAndInvented_OwnByLastChangeThenInventedAsAddedAndPaged()
    {
        IRecordStore store = await OpenAsync();
        Dictionary<string, CaseRecord> added = [];
        foreach (string title in new[] { "invented 1", "first", "invented 2", "second", "third" })
        {
            added[title] = await store.AddAsync(NewCase(title) with { IsInvented = title.StartsWith("invented", StringComparison.Ordinal) });
            Clock.Advance(TimeSpan.FromSeconds(1));
        }

        foreach (string title in new[] { "invented 2", "first" })
        {
            await store.ChangeAsync(added[title] with { Verdict = "accept" });
            Clock.Advance(TimeSpan.FromSeconds(1));
        }

        Assert.Equal(["first", "third", "second"], (await store.ListAsync(0, 3)).Select(each => each.Title));
        Assert.Equal(["invented 1", "invented 2"], (await store.ListAsync(3, 3)).Select(each => each.Title));
        Assert.Equal(5, await store.CountAsync());
    }

    [StoreFact]
    public async Task ChangeAsync_FromCurrentVersion_KeepsAndRaisesVersion()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord first = await store.AddAsync(NewCase());
        Clock.Advance(TimeSpan.FromMinutes(5));

        CaseRecord changed = await store.ChangeAsync(first with { ProjectionId = "wrist-lateral", MeasurementsJson = "{\"a\":1}" });

        Assert.Equal(2, changed.Version);
        Assert.Equal(Start.AddMinutes(5), changed.Changed);
        Assert.Equal(Start, changed.Created);
        Assert.Equal(changed, await store.FindAsync(first.Id));
    }

    [StoreFact]
    public async Task ChangeAsync_FromOlderVersion_IsRefusedAndChangesNothing()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord first = await store.AddAsync(NewCase());
        CaseRecord second = await store.ChangeAsync(first with { Title = "by one reader" });

        await Assert.ThrowsAsync<CaseChangedException>(() => store.ChangeAsync(first with { Title = "by another reader" }));

        Assert.Equal(second, await store.FindAsync(first.Id));
    }

    [StoreFact]
    public async Task KeepAnswersAsync_FromOlderVersion_IsRefusedAndChangesNothing()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord first = await store.AddAsync(NewCase());
        CaseRecord second = await store.KeepAnswersAsync(first.Id, first.Version, Step("{\"one\":1}"));

        await Assert.ThrowsAsync<CaseChangedException>(() => store.KeepAnswersAsync(first.Id, first.Version, Step("{\"two\":2}")));

        Assert.Equal(second, await store.FindAsync(first.Id));
    }

    [StoreFact]
    public async Task KeepAnswersAsync_TwoReadersAtOnce_ExactlyOneIsKept()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord first = await store.AddAsync(NewCase());

        bool[] kept = await Task.WhenAll(Enumerable.Range(0, 8).Select(reader => Task.Run(async () =>
        {
            try
            {
                await store.KeepAnswersAsync(first.Id, first.Version, Step($"{{\"reader\":{reader}}}"));
                return true;
            }
            catch (CaseChangedException)
            {
                return false;
            }
        })));

        Assert.Equal(1, kept.Count(each => each));
        Assert.Equal(2, (await store.FindAsync(first.Id))!.Version);
    }

    [StoreFact]
    public async Task StepAnswersAsync_UndoAndRedo_WalkTheHistoryAndSurviveReopening()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord record = await store.AddAsync(NewCase());
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":1}", "one", verdict: "undetermined"));
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":2}", "two", verdict: "repeat"));

        store = await OpenAsync();
        CaseRecord undone = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Undo);
        Assert.Equal(("{\"a\":1}", "undetermined", "one", "two"), (undone.AnswersJson, undone.Verdict, undone.UndoLabel, undone.RedoLabel));
        Assert.True(undone.CanRedo);

        CaseRecord empty = await store.StepAnswersAsync(record.Id, undone.Version, AnswerStepDirection.Undo);
        Assert.Equal(("{}", null, null, "one"), (empty.AnswersJson, empty.Verdict, empty.UndoLabel, empty.RedoLabel));
        CaseRecord still = await store.StepAnswersAsync(record.Id, empty.Version, AnswerStepDirection.Undo);
        Assert.Equal(empty, still);

        store = await OpenAsync();
        CaseRecord again = await store.StepAnswersAsync(record.Id, still.Version, AnswerStepDirection.Redo);
        again = await store.StepAnswersAsync(record.Id, again.Version, AnswerStepDirection.Redo);
        Assert.Equal(("{\"a\":2}", "repeat", "two", null), (again.AnswersJson, again.Verdict, again.UndoLabel, again.RedoLabel));
        Assert.False(again.CanRedo);
    }

    [StoreFact]
    public async Task KeepAnswersAsync_AfterUndo_DropsWhatWasTakenBack()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord record = await store.AddAsync(NewCase());
        foreach (int answer in new[] { 1, 2, 3 })
        {
            record = await store.KeepAnswersAsync(record.Id, record.Version, Step($"{{\"a\":{answer}}}", $"{answer}"));
        }

        record = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Undo);
        record = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Undo);
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":9}", "nine"));

        Assert.False(record.CanRedo);
        Assert.Equal((2, 2, "nine"), (record.AnswerStep, record.LastAnswerStep, record.UndoLabel));
        record = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Undo);
        Assert.Equal("{\"a\":1}", record.AnswersJson);
        record = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Redo);
        Assert.Equal("{\"a\":9}", record.AnswersJson);
    }

    [StoreFact]
    public async Task KeepAnswersAsync_SameMergeKey_BecomesOneStep()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord record = await store.AddAsync(NewCase());
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":1}", "met"));
        foreach (string text in new[] { "r", "ro", "rotated" })
        {
            record = await store.KeepAnswersAsync(record.Id, record.Version, Step($"{{\"remark\":\"{text}\"}}", "remark", "remark:marker"));
        }

        Assert.Equal(2, record.AnswerStep);
        Assert.Equal("{\"remark\":\"rotated\"}", record.AnswersJson);
        record = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Undo);
        Assert.Equal("{\"a\":1}", record.AnswersJson);
    }

    [StoreFact]
    public async Task DeleteAsync_ThenRestore_PutsTheCaseBackWithItsAnswers()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord record = await store.AddAsync(NewCase());
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":1}"));

        Assert.True(await store.DeleteAsync(record.Id));
        Assert.False(await store.DeleteAsync(record.Id));
        Assert.Null(await store.FindAsync(record.Id));
        Assert.Empty(await store.ListAsync(0, 10));
        await Assert.ThrowsAsync<CaseGoneException>(() => store.KeepAnswersAsync(record.Id, record.Version, Step("{}")));
        await Assert.ThrowsAsync<CaseGoneException>(() => store.ChangeAsync(record));

        Assert.True(await store.RestoreAsync(record.Id));
        Assert.False(await store.RestoreAsync(record.Id));
        Assert.Equal("{\"a\":1}", (await store.FindAsync(record.Id))!.AnswersJson);
    }

    [StoreFact]
    public async Task RemoveDeletedAsync_FileHeldByAnotherCase_IsNotNamed()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord shared = await store.AddAsync(NewCase(hash: "b"));
        await store.AddAsync(NewCase(hash: "b"));
        CaseRecord alone = await store.AddAsync(NewCase(hash: "c"));
        await store.DeleteAsync(shared.Id);
        await store.DeleteAsync(alone.Id);

        Assert.Empty(await store.RemoveDeletedAsync(Clock.GetUtcNow()));
        Assert.True(await store.RestoreAsync(alone.Id));
        await store.DeleteAsync(alone.Id);
        Clock.Advance(TimeSpan.FromDays(1));

        Assert.Equal([new string('c', 64)], await store.RemoveDeletedAsync(Clock.GetUtcNow()));
        Assert.False(await store.RestoreAsync(alone.Id));
        Assert.Single(await store.FindByContentAsync(new string('b', 64)));
    }

    [StoreFact]
    public async Task KeepFactAsync_Twice_KeepsTheLast()
    {
        IRecordStore store = await OpenAsync();
        Assert.Null(await store.FindFactAsync("demo"));

        await store.KeepFactAsync("demo", "1");
        await store.KeepFactAsync("demo", "2");

        Assert.Equal("2", await (await OpenAsync()).FindFactAsync("demo"));
    }

    [StoreFact]
    public async Task AddAsync_EmptyTitle_IsRefused()
    {
        IRecordStore store = await OpenAsync();
        await Assert.ThrowsAnyAsync<ArgumentException>(() => store.AddAsync(NewCase() with { Title = " " }));
        Assert.Equal(0, await store.CountAsync());
    }
}

/// <summary>A clock that stands until it is moved.</summary>
public sealed class SteppedClock(DateTimeOffset start) : TimeProvider
{
    private DateTimeOffset now = start;

    public void Advance(TimeSpan by) => now += by;

    public override DateTimeOffset GetUtcNow() => now;
}
