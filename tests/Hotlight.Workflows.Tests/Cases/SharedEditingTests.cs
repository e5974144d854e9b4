using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Tests.Cases;

/// <summary>Two readers on one case: both windows read it, then both write.</summary>
public sealed class SharedEditingTests : IAsyncLifetime
{
    private readonly ScratchFolder folder = new();
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;
    private OpenCase held = null!;
    private string[] lines = null!;

    public async Task InitializeAsync()
    {
        IRecordStore records = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        var files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
        cases = new CaseWorkflow(records, files, shelf, TimeProvider.System);
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream stream = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync("limb.dcm", stream, 1 << 24)).Record;
        held = await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
        lines = [.. held.Critique!.Lines.Where(line => line.State == ChecklistState.CannotTell).Select(line => line.Id).Take(2)];
    }

    public Task DisposeAsync()
    {
        shelf.Dispose();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
        return Task.CompletedTask;
    }

    [Fact]
    public async Task DifferentLines_AreBothKept()
    {
        await cases.AnswerAsync(held, lines[0], new Answer(ChecklistState.Met));

        EditOutcome outcome = await SharedEditing.ApplyAsync(cases, held, Answer(lines[1], ChecklistState.NotMet));

        Assert.Equal(EditResult.KeptBesideOthers, outcome.Result);
        OpenCase now = await cases.OpenAsync(held.Record.Id);
        Assert.Equal(ChecklistState.Met, now.Answers!.Lines[lines[0]].State);
        Assert.Equal(ChecklistState.NotMet, now.Answers.Lines[lines[1]].State);
    }

    [Fact]
    public async Task SameLine_IsNotOverwritten_UntilTheReaderSaysSo()
    {
        await cases.AnswerAsync(held, lines[0], new Answer(ChecklistState.Met));

        EditOutcome outcome = await SharedEditing.ApplyAsync(cases, held, Answer(lines[0], ChecklistState.NotMet));

        Assert.Equal(EditResult.NotKept, outcome.Result);
        Assert.Equal(ChecklistState.Met, outcome.Open.Answers!.Lines[lines[0]].State);
        Assert.Equal(ChecklistState.Met, (await cases.OpenAsync(held.Record.Id)).Answers!.Lines[lines[0]].State);

        // Having seen the other's answer, the reader gives theirs all the same.
        EditOutcome again = await SharedEditing.ApplyAsync(cases, outcome.Open, Answer(lines[0], ChecklistState.NotMet));
        Assert.Equal(EditResult.Kept, again.Result);
        Assert.Equal(ChecklistState.NotMet, (await cases.OpenAsync(held.Record.Id)).Answers!.Lines[lines[0]].State);
    }

    [Fact]
    public async Task StepBack_NeverTakesAnothersStepBackUnseen()
    {
        OpenCase mine = await cases.AnswerAsync(held, lines[0], new Answer(ChecklistState.Met));
        await cases.AnswerAsync(mine, lines[1], new Answer(ChecklistState.Met));

        EditOutcome outcome = await SharedEditing.ApplyAsync(cases, mine, CaseEdit.OfHistory(open => cases.StepAsync(open, AnswerStepDirection.Undo)));

        Assert.Equal(EditResult.NotKept, outcome.Result);
        Assert.Equal(2, (await cases.OpenAsync(held.Record.Id)).Answers!.Lines.Count);
    }

    [Fact]
    public async Task AnswerBesideANewProjection_IsNotKept()
    {
        await cases.ChooseProjectionAsync(held, "wrist-lateral");
        EditOutcome outcome = await SharedEditing.ApplyAsync(cases, held, Answer(lines[0], ChecklistState.Met));
        Assert.Equal(EditResult.NotKept, outcome.Result);
        Assert.Equal("wrist-lateral", outcome.Open.Record.ProjectionId);
    }

    [Fact]
    public async Task DeletedCase_SaysSo()
    {
        await cases.DeleteAsync(held.Record.Id);
        await Assert.ThrowsAsync<CaseGoneException>(() => SharedEditing.ApplyAsync(cases, held, Answer(lines[0], ChecklistState.Met)));
    }

    [Fact]
    public async Task TitleAndExaminationAndPlan_GoBesideEachOther()
    {
        await cases.RenameAsync(held, "Wrist of the morning");
        EditOutcome outcome = await SharedEditing.ApplyAsync(cases, held, CaseEdit.OfPlan(open => cases.PlanAsync(open, [new PlanEdit { Step = TableStep.Patient, Instruction = "Take the bracelet off." }], "plan")));
        EditOutcome second = await SharedEditing.ApplyAsync(cases, held, CaseEdit.OfExamination(open => cases.ExamineAsync(open, new ExaminationContext { RepeatsAlready = 1 })));

        Assert.Equal((EditResult.KeptBesideOthers, EditResult.KeptBesideOthers), (outcome.Result, second.Result));
        OpenCase now = await cases.OpenAsync(held.Record.Id);
        Assert.Equal("Wrist of the morning", now.Record.Title);
        Assert.Equal("Take the bracelet off.", Assert.Single(now.Critique!.Changes, change => change.LineId == Change.OwnLineId).Instruction);
        Assert.Equal(1, now.Answers!.Examination!.RepeatsAlready);
    }

    // Eight windows at once, each with a line of its own: every answer is kept.
    [Fact]
    public async Task ManyAtOnce_LoseNothing()
    {
        string[] open = [.. held.Critique!.Lines.Where(line => line.State == ChecklistState.CannotTell).Select(line => line.Id).Take(8)];
        EditOutcome[] outcomes = await Task.WhenAll(open.Select(id => Task.Run(() => SharedEditing.ApplyAsync(cases, held, Answer(id, ChecklistState.Met)))));
        Assert.All(outcomes, outcome => Assert.NotEqual(EditResult.NotKept, outcome.Result));
        OpenCase now = await cases.OpenAsync(held.Record.Id);
        Assert.All(open, id => Assert.Equal(ChecklistState.Met, now.Answers!.Lines[id].State));
    }

    private CaseEdit Answer(string lineId, ChecklistState state) => CaseEdit.OfLine(lineId, lineId, open => cases.AnswerAsync(open, lineId, new Answer(state)));
}
