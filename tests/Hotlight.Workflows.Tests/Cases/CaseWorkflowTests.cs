using System.Text.Json;
using System.Text.Json.Nodes;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Png;
using Hotlight.Judgement;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Landmarks;
using Hotlight.Poses;
using Hotlight.Positioning;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Positions;

namespace Hotlight.Workflows.Tests.Cases;

public sealed class CaseWorkflowTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private IRecordStore records = null!;
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;
    private ClinicWorkflow clinic = null!;

    public async Task InitializeAsync()
    {
        records = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        var files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
        clinic = new ClinicWorkflow(SqliteRecords.Clinic(folder["records.db"], TimeProvider.System));
        cases = new CaseWorkflow(records, files, shelf, TimeProvider.System, clinic: clinic);
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
    public async Task BringInAsync_Radiograph_IsMeasuredAndItsIdentityIsOnlyFlagged()
    {
        CaseRecord record = await BringInAsync();

        OpenCase open = await cases.OpenAsync(record.Id);
        Assert.Equal((500, 600), (open.Measurements.Image.Value!.Columns, open.Measurements.Image.Value.Rows));
        Assert.Equal("WRIST", open.Exposure.BodyPart);
        Assert.True(record.FileCarriesPatientIdentity);
        Assert.DoesNotContain("Invented^Limb", record.ExposureRecordJson + record.MeasurementsJson, StringComparison.Ordinal);
        Assert.Null(open.Critique);
        Assert.Contains(cases.Suggest(open.Exposure), each => each.Id == "wrist-pa");
    }

    [Fact]
    public async Task BringInInventedAsync_DemoCase_IsMarkedAndCarriesNobodysIdentity()
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);

        CaseRecord record = (await cases.BringInInventedAsync("limb.dcm", file, "Wrist, invented", "wrist-pa")).Record;

        OpenCase open = await cases.OpenAsync(record.Id);
        Assert.True(record.IsInvented);
        Assert.False(record.FileCarriesPatientIdentity);
        Assert.Equal("wrist-pa", open.Critique!.ProjectionId);
        Assert.Equal(TermOf(open.Critique.Verdict.Kind), record.Verdict);
        Assert.DoesNotContain(open.Critique.Cautions, caution => caution.Contains("identity", StringComparison.Ordinal));
    }

    [Fact]
    public async Task BringInAsync_NoRadiograph_KeepsNeitherCaseNorFile()
    {
        await Assert.ThrowsAsync<UnreadableImageException>(() => cases.BringInAsync("letter.dcm", new MemoryStream("a letter"u8.ToArray()), 1000));

        Assert.Equal(0, await cases.CountAsync());
        Assert.Empty(Directory.GetFiles(folder["files"], "*", SearchOption.AllDirectories));
    }

    [Fact]
    public async Task AnswerAsync_EveryRequiredLineMet_LeavesNoLineOpenAndIsKept()
    {
        OpenCase open = await ChosenAsync();
        string[] left = [.. open.Critique!.Verdict.Open.Select(reason => reason.LineId)];
        Assert.NotEmpty(left);

        foreach (string line in left)
        {
            Assert.Contains(open.Critique!.Verdict.Open, reason => reason.LineId == line);
            open = await cases.AnswerAsync(open, line, new Answer(ChecklistState.Met));
            Assert.DoesNotContain(open.Critique!.Verdict.Open, reason => reason.LineId == line);
        }

        OpenCase again = await cases.OpenAsync(open.Record.Id);
        Assert.Empty(again.Critique!.Verdict.Open);
        Assert.NotEqual(VerdictKind.Undetermined, again.Critique.Verdict.Kind);
        Assert.Equal(open.Critique!.Verdict.Kind, again.Critique.Verdict.Kind);
        Assert.Equal(TermOf(again.Critique.Verdict.Kind), (await cases.ListAsync(0, 1))[0].Verdict);
    }

    [Fact]
    public async Task StepAsync_UndoAndRedoOfAnAnswer_GiveVerdictAndAnswersBack()
    {
        OpenCase open = await ChosenAsync();
        string line = FirstOpen(open);
        OpenCase answered = await cases.AnswerAsync(open, line, new Answer(ChecklistState.Met));

        OpenCase undone = await cases.StepAsync(answered, AnswerStepDirection.Undo);
        Assert.Empty(undone.Answers!.Lines);
        Assert.Contains(undone.Critique!.Verdict.Open, reason => reason.LineId == line);
        Assert.Equal(open.Record.Verdict, undone.Record.Verdict);

        OpenCase redone = await cases.StepAsync(undone, AnswerStepDirection.Redo);
        Assert.Equal(ChecklistState.Met, redone.Answers!.Lines[line].State);
    }

    [Fact]
    public async Task MarkAsync_ThenUndoAndRedo_KeepsThePlaceAndTellsTheRelation()
    {
        OpenCase open = await ChosenAsync();
        open = await cases.ChooseProjectionAsync(open, "knee-lateral");
        Assert.All(open.Positions, finding => Assert.NotEmpty(finding.MissingLandmarks));
        (string Id, double X, double Y)[] marks = [("lateral-condyle-back", 100, 150), ("medial-condyle-back", 180, 152), ("shaft-far", 150, 20), ("shaft-near", 150, 90), ("patella-front", 250, 140)];
        foreach ((string id, double x, double y) in marks)
        {
            open = await cases.MarkAsync(open, id, new PixelPoint(X: x, Y: y), null);
        }

        Assert.Equal("medial-anterior", open.Positions.Single(finding => finding.Relation.Id == "condyles-front-back").Result!.MissId);
        ChecklistLine line = open.Critique!.Lines.Single(each => each.Id == "position.condyles-front-back");
        Assert.Equal((ChecklistState.NotMet, DecidedBy.Measurement, "medial-anterior"), (line.State, line.DecidedBy, line.MissId));
        OpenCase again = await cases.OpenAsync(open.Record.Id);
        Assert.Equal(new PixelPoint(X: 180, Y: 152), again.Answers!.Landmarks["medial-condyle-back"].Point);

        OpenCase undone = await cases.StepAsync(again, AnswerStepDirection.Undo);
        Assert.False(undone.Answers!.Landmarks.ContainsKey("patella-front"));
        Assert.Equal("marked: patella, front edge", undone.Record.RedoLabel);
        OpenCase redone = await cases.StepAsync(undone, AnswerStepDirection.Redo);
        Assert.True(redone.Answers!.Landmarks.ContainsKey("patella-front"));

        OpenCase cleared = await cases.ClearMarksAsync(redone);
        Assert.Empty(cleared.Answers!.Landmarks);
        Assert.Equal(ChecklistState.CannotTell, cleared.Critique!.Lines.Single(each => each.Id == "position.condyles-front-back").State);
        await Assert.ThrowsAsync<ArgumentException>(() => cases.MarkAsync(cleared, "no-such", new PixelPoint(X: 1, Y: 1), null));
    }

    [Fact]
    public async Task MarkAsync_FurtherPointOfThePose_IsKeptBesideTheLandmarksAndTakenBack()
    {
        OpenCase open = await cases.ChooseProjectionAsync(await ChosenAsync(), "knee-lateral");
        string[] further = [.. PoseModels.For("knee-lateral")!.Points.Select(point => point.Id).Where(id => open.Projection!.Landmarks.All(landmark => landmark.Id != id))];
        Assert.NotEmpty(further);
        open = await cases.MarkAsync(open, "patella-front", new PixelPoint(X: 250, Y: 140), null);
        open = await cases.MarkAsync(open, further[0], new PixelPoint(X: 210, Y: 40), null);
        open = await cases.SayPoseSideAsync(open, "L");
        open = await cases.PutPoseInHandoutAsync(open, true);
        OpenCase again = await cases.OpenAsync(open.Record.Id);
        Assert.Equal(["patella-front"], again.Answers!.Landmarks.Keys);
        Assert.Equal(further[..1], again.Answers.Pose!.Points.Keys);
        Assert.Equal(("L", true), (again.Answers.Pose.Side, again.Answers.Pose.IsInHandout));
        Assert.Equal("L", PoseReading.SideOf(again));
        Assert.Equal(new[] { "patella-front", further[0] }.Order(), PoseReading.MarksOf(again, PoseReading.ModelOf(again)!).Points.Keys.Order());

        // Two marks fix no pose; that is a reason, not a guess.
        Assert.Contains("at least 5 marked points", PoseReading.Fit(again)!.Why, StringComparison.Ordinal);

        OpenCase undone = await cases.StepAsync(await cases.StepAsync(await cases.StepAsync(again, AnswerStepDirection.Undo), AnswerStepDirection.Undo), AnswerStepDirection.Undo);
        Assert.Null(undone.Answers!.Pose);
        Assert.Equal(["patella-front"], undone.Answers.Landmarks.Keys);
        OpenCase redone = await cases.StepAsync(undone, AnswerStepDirection.Redo);
        Assert.Equal(new PixelPoint(X: 210, Y: 40), redone.Answers!.Pose!.Points[further[0]].Point);

        // Taking all away takes both; the checklist's own panel takes its own alone.
        Assert.Equal(further[..1], (await cases.ClearMarksAsync(redone)).Answers!.Pose!.Points.Keys);
        OpenCase cleared = await cases.ClearPoseMarksAsync(await cases.OpenAsync(open.Record.Id));
        Assert.Null(cleared.Answers!.Pose);
        Assert.Empty(cleared.Answers.Landmarks);
        await Assert.ThrowsAsync<ArgumentException>(() => cases.SayPoseSideAsync(cleared, "both"));
    }

    [Fact]
    public async Task ChooseProjectionAsync_WithPointsOfThePose_CarriesThoseOfTheOtherModelAlone()
    {
        OpenCase open = await cases.ChooseProjectionAsync(await ChosenAsync(), "knee-lateral");
        string point = PoseModels.For("knee-lateral")!.Points.Select(each => each.Id).First(id => open.Projection!.Landmarks.All(landmark => landmark.Id != id) && PoseModels.For("wrist-pa")!.Find(id) is null);
        open = await cases.SayPoseSideAsync(await cases.MarkAsync(open, point, new PixelPoint(X: 210, Y: 40), null), "R");
        open = await cases.ChooseProjectionAsync(open, "wrist-pa");
        Assert.Empty(open.Answers!.Pose!.Points);
        Assert.Equal("R", open.Answers.Pose.Side);
        OpenCase undone = await cases.StepAsync(open, AnswerStepDirection.Undo);
        Assert.Equal(point, Assert.Single(undone.Answers!.Pose!.Points).Key);
        Assert.Null(PoseReading.Fit(await cases.ChooseProjectionAsync(undone, "hand-pa")));
    }

    [Fact]
    public async Task TakeProposalAsync_AcceptedPoints_AreKeptWithTheirUncertaintyInOneStep()
    {
        OpenCase open = await cases.ChooseProjectionAsync(await ChosenAsync(), "elbow-lateral");
        string further = PoseModels.For("elbow-lateral")!.Points.Select(each => each.Id).First(id => open.Projection!.Landmarks.All(landmark => landmark.Id != id));
        LandmarkPoint one = LandmarkPoint.At(new PixelPoint(X: 40, Y: 60), 12), other = LandmarkPoint.At(new PixelPoint(X: 80, Y: 90), 7);
        var accepted = new MarkedLandmarks("elbow-lateral", new Dictionary<string, LandmarkPoint> { ["coronoid-tip"] = one, [further] = other });
        await cases.TakeProposalAsync(open, accepted);
        OpenCase kept = await cases.OpenAsync(open.Record.Id);
        Assert.Equal(one, kept.Answers!.Landmarks["coronoid-tip"]);
        Assert.Equal(other, kept.Answers.Pose!.Points[further]);
        Assert.Equal("2 proposed points accepted", kept.Record.UndoLabel);
        OpenCase undone = await cases.StepAsync(kept, AnswerStepDirection.Undo);
        Assert.Empty(undone.Answers!.Landmarks);
        Assert.Null(undone.Answers.Pose);
        await Assert.ThrowsAsync<ArgumentException>(() => cases.TakeProposalAsync(undone, accepted with { ProjectionId = "knee-ap" }));
        await Assert.ThrowsAsync<ArgumentException>(() => cases.TakeProposalAsync(undone, accepted with { Points = new Dictionary<string, LandmarkPoint> { ["no-such"] = one } }));
    }

    [Fact]
    public async Task ExamineAsync_PurposeAbilityAndRepeats_AreKeptWeighAndAreTakenBack()
    {
        OpenCase open = await cases.ChooseProjectionAsync(await ChosenAsync(), "knee-lateral");
        open = await cases.AnswerAsync(open, "position.condyles-front-back", new Answer(ChecklistState.NotMet, "medial-posterior"));
        Assert.Equal(VerdictKind.Repeat, open.Critique!.Verdict.Kind);

        OpenCase examined = await cases.ExamineAsync(open, new ExaminationContext { PurposeId = "fracture-check", Ability = PatientAbility.Trauma, RepeatsAlready = 1 });
        Assert.NotEqual(VerdictKind.Repeat, examined.Critique!.Verdict.Kind);
        Assert.Contains(examined.Critique.Trace!.Weighed, step => step.LineId == "position.condyles-front-back");
        OpenCase again = await cases.OpenAsync(open.Record.Id);
        Assert.Equal("fracture-check", again.Answers!.Examination!.PurposeId);
        Assert.Equal(PatientAbility.Trauma, again.Answers.Examination.Ability);
        Assert.Equal(1, again.Answers.Examination.RepeatsAlready);

        OpenCase other = await cases.ChooseProjectionAsync(again, "chest-pa");
        Assert.Null(other.Answers!.Examination!.PurposeId);
        Assert.Equal(PatientAbility.Trauma, other.Answers.Examination.Ability);

        OpenCase decided = await cases.DecideAsync(other, new VerdictAnswer(VerdictKind.Accept, "The line is seen."));
        Assert.Equal("The line is seen.", decided.Critique!.ReaderVerdict!.Reason);
        Assert.Null((await cases.StepAsync(decided, AnswerStepDirection.Undo)).Critique!.ReaderVerdict);
        await Assert.ThrowsAsync<ArgumentException>(() => cases.DecideAsync(other, new VerdictAnswer(VerdictKind.Accept, " ")));
    }

    [Fact]
    public async Task ExamineAsync_AChild_TakesTheDegreesAway()
    {
        OpenCase open = await cases.ChooseProjectionAsync(await ChosenAsync(), "knee-lateral");
        foreach ((string id, double x, double y) in new[] { ("lateral-condyle-back", 100.0, 150.0), ("medial-condyle-back", 180, 152), ("shaft-far", 150, 20), ("shaft-near", 150, 90), ("patella-front", 250, 140) })
        {
            open = await cases.MarkAsync(open, id, new PixelPoint(X: x, Y: y), null);
        }

        RelationResult Result(OpenCase of) => of.Positions.Single(finding => finding.Relation.Id == "condyles-front-back").Result!;
        Assert.NotNull(Result(open).Turn);
        Assert.Null(Result(await cases.ExamineAsync(open, new ExaminationContext { Ability = PatientAbility.Child })).Turn);
    }

    [Fact]
    public async Task OpenAsync_CatalogueThatLostALine_KeepsTheRestOfTheAnswers()
    {
        OpenCase open = await cases.ChooseProjectionAsync(await ChosenAsync(), "knee-lateral");
        open = await cases.AnswerAsync(open, "anatomy.patella", new Answer(ChecklistState.Met));
        open = await cases.AnswerAsync(open, "position.bend", new Answer(ChecklistState.Met));
        open = await cases.MarkAsync(open, "tibia-far", new PixelPoint(X: 10, Y: 10), null);
        open = await cases.MarkAsync(open, "patella-front", new PixelPoint(X: 20, Y: 10), null);
        open = await cases.ExamineAsync(open, new ExaminationContext { PurposeId = "patella-height", Ability = PatientAbility.Can });

        // A clinic's own knee without the bend of the knee, and with another purpose alone.
        JsonNode own = JsonNode.Parse(await File.ReadAllTextAsync(Path.Combine(SharedData.RepositoryRoot, "data", "catalogue", "knee", "knee-lateral.json")))!;
        own["relations"]!.AsArray().RemoveAt(2);
        own["purposes"]!.AsArray().RemoveAt(2);
        JsonArray landmarks = own["landmarks"]!.AsArray();
        foreach (JsonNode tibia in landmarks.OfType<JsonNode>().Where(each => each["id"]!.GetValue<string>().StartsWith("tibia", StringComparison.Ordinal)).ToArray())
        {
            landmarks.Remove(tibia);
        }

        Directory.CreateDirectory(folder["own/knee"]);
        await File.WriteAllTextAsync(folder["own/knee/knee-lateral.json"], own.ToJsonString());
        var changed = new CaseWorkflow(records, new FolderFileStore(folder["files"]), shelf, TimeProvider.System, ProjectionCatalogue.BuiltIn.With(ProjectionCatalogue.Load(folder["own"])));
        OpenCase again = await changed.OpenAsync(open.Record.Id);
        Assert.Equal(["anatomy.patella"], again.Answers!.Lines.Keys);
        Assert.Equal(["patella-front"], again.Answers.Landmarks.Keys);
        Assert.Null(again.Answers.Examination!.PurposeId);
        Assert.Equal(PatientAbility.Can, again.Answers.Examination.Ability);
    }

    [Fact]
    public void Suggest_HeaderThatSeveralProjectionsShare_NamesThePlainestFirst()
        => Assert.Equal("knee-ap", cases.Suggest(new ExposureRecord { BodyPart = "KNEE", ViewPosition = "AP" })[0].Id);

    [Fact]
    public async Task MarkAsync_NearAnEdge_IsDrawnToItAndKnownBetterAcrossIt()
    {
        // An upright edge at column 250.3, blurred by 2 pixels.
        const double edge = 250.3;
        var pixels = new Raster<ushort>(600, 500);
        var random = new Random(5);
        for (int row = 0; row < 600; row++)
        {
            for (int column = 0; column < 500; column++)
            {
                pixels[row, column] = (ushort)(3000 + (2000 / (1 + Math.Exp(-1.702 * (column - edge) / 2))) + random.Next(-15, 16));
            }
        }

        InventedExposure.Write(InventedExposure.Limb() with { Pixels = pixels }, folder["edge.dcm"]);
        using FileStream file = File.OpenRead(folder["edge.dcm"]);
        OpenCase open = await cases.OpenAsync((await cases.BringInAsync("edge.dcm", file, 1 << 24)).Record.Id);
        open = await cases.ChooseProjectionAsync(open, "knee-lateral");
        open = await cases.MarkAsync(open, "patella-front", new PixelPoint(X: edge + 3, Y: 300), 2);
        LandmarkPoint mark = open.Answers!.Landmarks["patella-front"];
        Assert.Equal(edge, mark.Point.X, 0.5);
        Assert.True(mark.VarianceX < mark.VarianceY / 4, $"{mark.VarianceX} across, {mark.VarianceY} along");
        LandmarkPoint kept = (await cases.OpenAsync(open.Record.Id)).Answers!.Landmarks["patella-front"];
        Assert.Equal(mark.VarianceX, kept.VarianceX, 0.05 * mark.VarianceY);
        Assert.Equal(mark.VarianceY, kept.VarianceY, 0.05 * mark.VarianceY);
    }

    [Fact]
    public async Task AnswerAsync_RemarkLetterByLetter_IsOneStep()
    {
        OpenCase open = await ChosenAsync();
        string line = FirstOpen(open);
        open = await cases.AnswerAsync(open, line, new Answer(ChecklistState.Met));
        foreach (string remark in new[] { "s", "se", "see", "seen" })
        {
            open = await cases.AnswerAsync(open, line, new Answer(ChecklistState.Met, Remark: remark), isTyping: true);
        }

        Assert.Equal(2, open.Record.AnswerStep);
        open = await cases.StepAsync(open, AnswerStepDirection.Undo);
        Assert.Equal(new Answer(ChecklistState.Met), open.Answers!.Lines[line]);
    }

    [Fact]
    public async Task ChooseProjectionAsync_WithAnswersGiven_CarriesCommonLinesAndUndoBringsTheFirstBack()
    {
        OpenCase open = await ChosenAsync();
        string common = open.Critique!.Lines.First(line => CritiqueBuilder.BlankChecklist(cases.Projections.First(each => each.Id == "knee-ap")).Any(other => other.Id == line.Id) && line.DecidedBy == DecidedBy.Nobody).Id;
        string own = open.Critique.Lines.First(line => CritiqueBuilder.BlankChecklist(cases.Projections.First(each => each.Id == "knee-ap")).All(other => other.Id != line.Id)).Id;
        open = await cases.AnswerAsync(open, common, new Answer(ChecklistState.Met));
        open = await cases.AnswerAsync(open, own, new Answer(ChecklistState.Met, Remark: "seen"));

        OpenCase knee = await cases.ChooseProjectionAsync(open, "knee-ap");
        Assert.Equal("knee-ap", knee.Critique!.ProjectionId);
        Assert.Equal([common], knee.Answers!.Lines.Keys);

        OpenCase back = await cases.StepAsync(knee, AnswerStepDirection.Undo);
        Assert.Equal("wrist-pa", back.Critique!.ProjectionId);
        Assert.Equal(new[] { common, own }.Order(), back.Answers!.Lines.Keys.Order());
    }

    [Fact]
    public async Task AnswerAsync_FromAnOlderView_IsRefused()
    {
        OpenCase open = await ChosenAsync();
        string line = FirstOpen(open);
        await cases.AnswerAsync(open, line, new Answer(ChecklistState.Met));

        await Assert.ThrowsAsync<CaseChangedException>(() => cases.AnswerAsync(open, line, new Answer(ChecklistState.NotMet)));
    }

    [Fact]
    public async Task AnswerAsync_LineThatDoesNotExist_IsRefusedAndNothingIsKept()
    {
        OpenCase open = await ChosenAsync();

        await Assert.ThrowsAsync<ArgumentException>(() => cases.AnswerAsync(open, "position.tail", new Answer(ChecklistState.Met)));

        Assert.Equal(0, (await cases.GetAsync(open.Record.Id)).AnswerStep);
    }

    [Fact]
    public async Task GiveSpacingAsync_FileWithoutSpacing_IsMeasuredAgainInMm()
    {
        using var png = new MemoryStream();
        PngWriter.Write(png, InventedExposure.Limb(rows: 300, columns: 250).Pixels);
        png.Position = 0;
        CaseRecord record = (await cases.BringInAsync("limb.png", png, 1 << 24)).Record;
        OpenCase open = await cases.OpenAsync(record.Id);
        Assert.Null(open.Measurements.Image.Value!.PixelSpacingMm);

        OpenCase given = await cases.GiveSpacingAsync(open, new PixelSpacing(rowSpacingMm: 0.2, columnSpacingMm: 0.2));

        Assert.Equal(0.2, given.Measurements.Image.Value!.PixelSpacingMm);
        Assert.Equal(0.2, (await cases.OpenAsync(record.Id)).Measurements.Image.Value!.PixelSpacingMm);
    }

    [Fact]
    public async Task OpenAsync_MeasuredByAnotherVersion_IsMeasuredAgainAndKeepsItsAnswers()
    {
        OpenCase open = await ChosenAsync();
        string line = FirstOpen(open);
        open = await cases.AnswerAsync(open, line, new Answer(ChecklistState.Met));
        await records.ChangeAsync(open.Record with { MeasuredBy = "0.0.1", MeasurementsJson = "{\"schema\":\"an older form\"}" });

        OpenCase again = await cases.OpenAsync(open.Record.Id);

        Assert.Equal(CaseWorkflow.ThisVersion, again.Record.MeasuredBy);
        Assert.Equal(500, again.Measurements.Image.Value!.Columns);
        Assert.Equal(ChecklistState.Met, again.Answers!.Lines[line].State);
    }

    [Fact]
    public async Task OpenAsync_MeasuredWithOtherSettings_IsMeasuredAgainWithThoseOfNow()
    {
        Radiograph limb = InventedExposure.Limb();
        InventedExposure.Write(limb with { Exposure = limb.Exposure with { DetectorId = "SML-7", StationName = "ROOM1" } }, folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync("limb.dcm", file, 1 << 24)).Record;
        OpenCase open = await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa");
        Assert.Equal((312, string.Empty), (open.Measurements.Exposure.Value!.ExposureIndex, open.Record.MeasuredWith));
        open = await cases.AnswerAsync(open, FirstOpen(open), new Answer(ChecklistState.Met));

        // A target of the clinic's own: the deviation index follows, 10·log10(312/400) (IEC 62494-1).
        ClinicState state = await clinic.ChangeAsync(clinic.Current, new ClinicSettings { TargetExposureIndices = new Dictionary<string, double> { ["wrist-pa"] = 400 } }, "target", null);
        Assert.False(cases.IsCurrent(open.Record.MeasuredBy, open.Record.MeasuredWith));
        open = await cases.OpenAsync(record.Id);
        Assert.Equal(10 * Math.Log10(312.0 / 400), open.Measurements.Exposure.Value!.DeviationIndex!.Value, 3);
        Assert.Equal((state.ResultKey, 1), (open.Record.MeasuredWith, open.Record.AnswerStep));
        Assert.True(cases.IsCurrent(open.Record.MeasuredBy, open.Record.MeasuredWith));

        // A calibration is used for the receptor's own images and for no other's.
        var receptor = new Receptor { Id = Guid.NewGuid(), Name = "Wall stand", DetectorId = "SML-9", Calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 1000 } };
        state = await clinic.ChangeAsync(state, state.Settings with { Receptors = [receptor] }, "receptor", null);
        Assert.DoesNotContain("calibrated pixels", (await cases.OpenAsync(record.Id)).Measurements.Exposure.Value!.Explanation, StringComparison.Ordinal);
        state = await clinic.ChangeAsync(state, state.Settings with { Receptors = [receptor with { DetectorId = "sml-7" }] }, "receptor", null);
        Assert.Contains("calibrated pixels", (await cases.OpenAsync(record.Id)).Measurements.Exposure.Value!.Explanation, StringComparison.Ordinal);

        // A threshold moves the verdict's lines without a change of the figures.
        await clinic.ChangeAsync(state, ClinicSettings.None with { Thresholds = new Dictionary<string, double> { ["largestDeviationIndex"] = 1 } }, "thresholds", null);
        open = await cases.OpenAsync(record.Id);
        Assert.NotEqual(string.Empty, open.Record.MeasuredWith);
        await clinic.ChangeAsync(clinic.Current, ClinicSettings.None, "as built in", null);
        Assert.Equal(string.Empty, (await cases.OpenAsync(record.Id)).Record.MeasuredWith);
    }

    [Fact]
    public async Task AnswerAsync_ReaderKnown_IsKeptWithTheStep()
    {
        OpenCase open = await ChosenAsync();
        var anna = Guid.NewGuid();
        open = await cases.AnswerAsync(open with { ReaderId = anna }, FirstOpen(open), new Answer(ChecklistState.Met));
        open = await cases.StepAsync(open, AnswerStepDirection.Undo);
        open = await cases.ExamineAsync(open with { ReaderId = null }, new ExaminationContext { RepeatsAlready = 1 });

        Assert.Equal([(1, (Guid?)null)], (await records.StepsAsync(open.Record.Id)).Select(each => (each.Number, each.GivenBy)));
        open = await cases.DecideAsync(open with { ReaderId = anna }, new VerdictAnswer(VerdictKind.Repeat, "rotated"));
        Assert.Equal(anna, open.ReaderId);
        Assert.Equal(anna, (await records.StepsAsync(open.Record.Id))[^1].GivenBy);
    }

    private static string FirstOpen(OpenCase open)
    {
        // What must be in the field is for a reader to say, whatever is measured.
        Assert.NotEmpty(open.Critique!.Verdict.Open);
        return open.Critique.Verdict.Open[0].LineId;
    }

    private static string TermOf(VerdictKind kind) => JsonNamingPolicy.KebabCaseLower.ConvertName(kind.ToString());

    private async Task<CaseRecord> BringInAsync()
    {
        InventedExposure.Write(InventedExposure.Limb(), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        return (await cases.BringInAsync("limb.dcm", file, 1 << 24)).Record;
    }

    private async Task<OpenCase> ChosenAsync()
        => await cases.ChooseProjectionAsync(await cases.OpenAsync((await BringInAsync()).Id), "wrist-pa");
}
