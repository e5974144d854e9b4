using System.Text;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Poses;
using Hotlight.Privacy.Publishing;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Teaching.Handouts;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Handouts;
using Hotlight.Workflows.Teaching.WalkThroughs;

namespace Hotlight.Workflows.Tests.Teaching;

/// <summary>A handout of a kept file that still carries its patient's identity: edits are kept and taken back, and nothing leaves with a name in it.</summary>
public sealed class HandoutWorkflowTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;
    private HandoutWorkflow handouts = null!;

    public async Task InitializeAsync()
    {
        IRecordStore records = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        var files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
        var clinic = new ClinicWorkflow(SqliteRecords.Clinic(folder["records.db"], TimeProvider.System));
        await clinic.LoadAsync();
        cases = new CaseWorkflow(records, files, shelf, TimeProvider.System, clinic: clinic);
        handouts = new HandoutWorkflow(cases, new CasePublisher(records, files, shelf, clinic), SqliteRecords.Lessons(folder["records.db"], TimeProvider.System), TimeProvider.System, clinic: clinic);
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
    public async Task Make_WithThePositionInSpace_HasItsFigureOnlyWhereTheReaderAskedForIt()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument start = SceneStarts.For(model.Part, model.View);
        SceneDocument scene = start with { Id = "turned", Part = start.Part! with { TurnDegrees = 9, TiltDegrees = -4 }, Receptor = start.Receptor with { SpacingMm = 0.5 } };
        using var file = new MemoryStream(Lab.Expose(scene).ForPresentation(), writable: false);
        CaseRecord record = (await cases.BringInInventedAsync("turned.dcm", file, "Turned knee", model.ProjectionId, CaseOrigin.Lab)).Record;
        OpenCase open = await cases.OpenAsync(record.Id);
        foreach ((string id, PixelPoint at) in model.Places(scene))
        {
            open = await cases.MarkAsync(open, id, at, null);
        }

        HandoutDraft without = await handouts.OpenAsync(record.Id, "en");
        Assert.Null(without.Handout.Simulation);
        Assert.DoesNotContain(without.Handout.Sections, section => section.Part == HandoutPart.Simulation);

        await cases.PutPoseInHandoutAsync(open, true);
        HandoutDraft draft = await handouts.OpenAsync(record.Id, "en");
        HandoutSimulation simulation = draft.Handout.Simulation!;
        Assert.True(simulation.HasRepeat);
        Assert.Contains(simulation.Angles, angle => angle.StartsWith("the turn about the image's upright axis 9° ±", StringComparison.Ordinal));

        // Three pictures of 512 rows: the radiograph, as it lay, as it should lie.
        Assert.InRange(simulation.Strip.Width, 3 * 380, 3 * 390);
        string html = Encoding.UTF8.GetString(HandoutWorkflow.Make(draft, HandoutForms.Html)[0].Content);
        Assert.Contains("The phantom is a simulation with a generic anatomy, not this patient.", html, StringComparison.Ordinal);
        Assert.Contains(Convert.ToBase64String(simulation.Strip.Png), html, StringComparison.Ordinal);
        string german = Encoding.UTF8.GetString(HandoutWorkflow.Make(await handouts.OpenAsync(record.Id, "de"), HandoutForms.Html)[0].Content);
        Assert.Contains("Simulation mit allgemeiner Anatomie, nicht dieser Patient", german, StringComparison.Ordinal);

        // A walk-through that is made now lays the phantom's outlines over the image: on the bones, as the lab's own landmarks say.
        OpenCase asked = await cases.OpenAsync(record.Id);
        WalkThrough walk = WalkThroughWorkflow.Made(asked, await cases.RadiographAsync(record));
        WalkStep[] shown = [.. walk.Steps.Where(step => step.Kind == WalkStepKind.Phantom)];
        Assert.Equal(2, shown.Length);
        Assert.All(shown, step => Assert.Contains("Simulation with a generic anatomy: not this patient", step.Heading, StringComparison.Ordinal));
        PixelPoint back = model.Places(scene)["medial-condyle-back"];
        Assert.Contains(shown[0].Marks.SelectMany(mark => mark.Points), point => point.DistancePixelsTo(back) < 3 / scene.Receptor.SpacingMm);
        Assert.Contains("a repeat is dose to the patient", shown[1].Caption, StringComparison.Ordinal);
        Assert.DoesNotContain(WalkThroughWorkflow.Made(open, await cases.RadiographAsync(record)).Steps, step => step.Kind == WalkStepKind.Phantom);
    }

    [Fact]
    public async Task Make_FileWithAName_LeavesWithoutIt()
    {
        HandoutDraft draft = await LookedOverAsync(await KeepAsync());

        IReadOnlyList<HandoutFile> files = HandoutWorkflow.Make(draft, HandoutForms.Html | HandoutForms.Pdf);

        Assert.Equal(["handout-wrist-pa-en.html", "handout-wrist-pa-en.pdf"], files.Select(file => file.Name));
        Assert.All(files, file => Assert.DoesNotContain("Limb", Encoding.Latin1.GetString(file.Content), StringComparison.Ordinal));
        Assert.StartsWith("%PDF-1.", Encoding.Latin1.GetString(files[1].Content), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Make_NameInARemarkOrInATeachersWords_IsStoppedAndSaysWhere()
    {
        OpenCase open = await KeepAsync();
        ChecklistLine line = open.Critique!.Lines[0];
        open = await cases.AnswerAsync(open, line.Id, new Answer(ChecklistState.CannotTell, Remark: "Ask Mr Limb."));
        HandoutDraft draft = await LookedOverAsync(open);

        PublicationStoppedException stopped = Assert.Throws<PublicationStoppedException>(() => HandoutWorkflow.Make(draft, HandoutForms.Html));
        Assert.Contains(stopped.Findings, finding => finding.Where == $"the remark on the line “{line.Question}”" && finding.Kind == IdentityKind.PatientName);
        Assert.Contains(stopped.Findings, finding => finding.Where.StartsWith("“What remains unknown”", StringComparison.Ordinal));
        Assert.DoesNotContain("Limb", stopped.Message, StringComparison.Ordinal);

        open = await cases.AnswerAsync(open, line.Id, new Answer(ChecklistState.CannotTell, Remark: "Ask again."));
        draft = await handouts.EditAsync(await LookedOverAsync(open), "summary", "Here Mrs Limb moved.");
        Assert.Equal("the summary", Assert.Single(HandoutWorkflow.Check(draft).Findings).Where);
        Assert.Throws<PublicationStoppedException>(() => HandoutWorkflow.Make(draft, HandoutForms.Pdf));
    }

    [Fact]
    public async Task Edit_IsKeptTakenBackAndGivenAgain()
    {
        OpenCase open = await KeepAsync();
        HandoutDraft draft = await handouts.OpenAsync(open.Record.Id, "en");
        string written = draft.Handout.Sections[0].Paragraphs[0].Text;

        draft = await handouts.EditAsync(draft, "summary", "Look  at the\nthumb first.");
        draft = await handouts.EditAsync(draft, "title", "A thumb");
        HandoutDraft again = await handouts.OpenAsync(open.Record.Id, "en");
        Assert.Equal("Look at the thumb first.", again.Handout.Sections[0].Paragraphs[0].Text);
        Assert.Equal(written, again.Handout.Sections[0].Paragraphs[0].Written);
        Assert.Equal("A thumb", again.Handout.Title.Text);

        // Each language has edits of its own.
        Assert.Null((await handouts.OpenAsync(open.Record.Id, "de")).Handout.Title.Written);

        again = await handouts.UndoAsync(again);
        Assert.Null(again.Handout.Title.Written);
        again = await handouts.RedoAsync(again);
        Assert.Equal("A thumb", again.Handout.Title.Text);

        // As written by the bench: by asking for it, or by typing the same words.
        again = await handouts.EditAsync(again, "title", null);
        again = await handouts.EditAsync(again, "summary", written);
        Assert.Empty((await handouts.OpenAsync(open.Record.Id, "en")).Edits.Texts);
        Assert.True(again.Edits.CanUndo);
        Assert.False((await handouts.OpenAsync(open.Record.Id, "en")).Edits.CanRedo);
    }

    [Fact]
    public async Task Edit_OfAnOlderState_IsRefusedAndNothingIsLost()
    {
        OpenCase open = await KeepAsync();
        HandoutDraft first = await handouts.EditAsync(await handouts.OpenAsync(open.Record.Id, "en"), "summary", "One.");
        await handouts.EditAsync(first, "summary", "Two.");

        await Assert.ThrowsAsync<LessonChangedException>(() => handouts.EditAsync(first, "summary", "Three."));
        Assert.Equal("Two.", (await handouts.OpenAsync(open.Record.Id, "en")).Handout.Sections[0].Paragraphs[0].Text);
        await Assert.ThrowsAsync<ArgumentException>(() => handouts.EditAsync(first, "nowhere", "x"));
    }

    [Fact]
    public async Task Open_WithoutAProjection_IsRefused()
    {
        InventedExposure.Write(InventedExposure.Limb(rows: 300, columns: 250), folder["small.dcm"]);
        await using FileStream file = File.OpenRead(folder["small.dcm"]);
        CaseRecord record = (await cases.BringInAsync("small.dcm", file, 100_000_000)).Record;

        await Assert.ThrowsAsync<LessonRefusedException>(() => handouts.OpenAsync(record.Id, "en"));
    }

    [Fact]
    public void Edits_OverTwoHundredSteps_KeepWhatStands()
    {
        HandoutEdits edits = HandoutEdits.None.With("first", "stays");
        for (int step = 0; step < 230; step++)
        {
            edits = edits.With("other", $"step {step}");
        }

        Assert.Equal("stays", edits.Texts["first"]);
        Assert.Equal("step 229", HandoutEdits.Read(edits.Write()).Texts["other"]);
        Assert.Same(HandoutEdits.None, HandoutEdits.Read("{\"schema\":\"another/9\"}"));
        Assert.Same(HandoutEdits.None, HandoutEdits.Read("no JSON"));
        Assert.Equal(HandoutEdits.TextMaxLength, HandoutEdits.None.With("a", new string('x', 5000)).Texts["a"].Length);
    }

    // Where nothing is installed that reads text in pictures, a person says so.
    private async Task<HandoutDraft> LookedOverAsync(OpenCase open)
        => await handouts.ReviewAsync(await handouts.OpenAsync(open.Record.Id, "en"), PixelReview.None with { LookedOver = true });

    private async Task<OpenCase> KeepAsync()
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync("limb.dcm", file, 100_000_000)).Record;
        return await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
    }
}
