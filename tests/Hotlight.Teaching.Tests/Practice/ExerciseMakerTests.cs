using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Teaching.Practice;

namespace Hotlight.Teaching.Tests.Practice;

public sealed class ExerciseMakerTests
{
    private const int Seeds = 6;

    // Placing a part takes time; so many of either side are enough.
    private const int Enough = 6;

    public static TheoryData<string> Views() => [.. PracticeView.All.Select(view => view.Projection)];

    [Theory]
    [MemberData(nameof(Views))]
    public void EveryKind_AnsweredByItsTruth_HasFullMarks(string projectionId)
    {
        PracticeView view = PracticeView.Find(projectionId)!;
        IReadOnlyList<ChecklistLine> checklist = CritiqueBuilder.BlankChecklist(ProjectionCatalogue.BuiltIn.Get(projectionId));
        foreach ((FaultKind kind, Difficulty difficulty, int seed) in Every())
        {
            Exercise exercise = ExerciseMaker.Make(view, kind, difficulty, seed);
            IReadOnlyList<TrueLine> truth = SceneReferee.Tell(view, exercise.Scene, SceneReferee.PlannedDeviationIndex(view, exercise.Scene), 0);
            string which = $"{projectionId}, {kind}, {difficulty}, seed {seed}";

            // Every line and every way of missing it are the checklist's own.
            Assert.All(truth, line => Assert.All(line.Misses, miss => Assert.Contains(checklist.Single(each => each.Id == line.LineId).Misses, each => each.Id == miss)));
            Assert.All(truth, line => Assert.Single(checklist, each => each.Id == line.LineId));
            if (kind == FaultKind.None)
            {
                Assert.True(truth.All(line => !line.IsFault), which + ": " + string.Join("; ", truth.Where(line => line.IsFault)));
                Assert.True(truth.Count >= 7, which);
            }
            else
            {
                Assert.True(truth.Any(line => line.IsFault && line.LineId == exercise.PlantedLine), which + " is not in its truth.");
            }

            ExerciseScore score = ExerciseScore.Of(truth, TrueVerdict.Of(truth, checklist), PracticeAnswers.OfTruth(truth, TrueVerdict.Of(truth, checklist), "sure"), checklist);
            Assert.True(score.Total == 1, which);
            Assert.All(score.Lines, line => Assert.Equal(LineOutcome.Right, line.Outcome));
        }
    }

    [Theory]
    [MemberData(nameof(Views))]
    public void EveryKind_IsAloneOfItsKindInTheTruth(string projectionId)
    {
        // A fault of one kind brings none of another with it, but for mottle and burn-out, which are the exposure's own.
        PracticeView view = PracticeView.Find(projectionId)!;
        foreach ((FaultKind kind, Difficulty difficulty, int seed) in Every().Where(each => each.Kind != FaultKind.None))
        {
            Exercise exercise = ExerciseMaker.Make(view, kind, difficulty, seed);
            FaultKind[] kinds = [.. SceneReferee.Tell(view, exercise.Scene, SceneReferee.PlannedDeviationIndex(view, exercise.Scene), 0).Where(line => line.IsFault).Select(line => FaultKinds.Of(line.LineId)).Distinct()];
            Assert.Equal([kind], kinds);
        }
    }

    [Theory]
    [MemberData(nameof(Views))]
    [Trait("evidence", "independent")]
    public void ExposureIndex_OfTheExposedScene_IsInTheBandThatWasPlanned(string projectionId)
    {
        // The exposure is simulated with few pixels; the planned index goes by mAs alone.
        PracticeView view = PracticeView.Find(projectionId)!;
        Exercise exercise = ExerciseMaker.Make(view, FaultKind.Exposure, Difficulty.Subtle, 3);
        SceneTruth truth = Lab.Preview(exercise.Scene, 64).Truth;
        double planned = SceneReferee.PlannedDeviationIndex(view, exercise.Scene)!.Value;
        Assert.Equal(DeviationBands.Fixed.BandOf(planned), DeviationBands.Fixed.BandOf(truth.DeviationIndex));
        Assert.True(truth.Marker!.InsideField);
    }

    /// <summary>The looks of the catalogue's ways of missing a line, read off the true landmarks of the pose.</summary>
    public static TheoryData<string, string, double, string, Func<Func<string, (double X, double Y)>, bool>> Looks() => new()
    {
        { "chest-pa", "turn", 5, "right-end-nearer", at => Math.Abs(at("rightClavicleMedialEnd").X - at("spinousTipT3").X) < Math.Abs(at("leftClavicleMedialEnd").X - at("spinousTipT3").X) - 10 },
        { "chest-pa", "turn", -5, "left-end-nearer", at => Math.Abs(at("leftClavicleMedialEnd").X - at("spinousTipT3").X) < Math.Abs(at("rightClavicleMedialEnd").X - at("spinousTipT3").X) - 10 },
        { "chest-pa", "inspiration", 3, "few-ribs", at => at("rightPosteriorRib9").Y > at("rightHemidiaphragmDome").Y },
        { "knee-lateral", "turn", 11, "medial-anterior", at => at("medialFemoralCondylePosterior").X < at("lateralFemoralCondylePosterior").X - 5 },
        { "knee-lateral", "turn", -7, "medial-posterior", at => at("medialFemoralCondylePosterior").X > at("lateralFemoralCondylePosterior").X + 5 },
        { "knee-lateral", "tilt", 9, "medial-proximal", at => at("medialFemoralCondyleDistal").Y < at("lateralFemoralCondyleDistal").Y - 5 },
        { "knee-lateral", "tilt", -9, "medial-distal", at => at("medialFemoralCondyleDistal").Y > at("lateralFemoralCondyleDistal").Y + 5 },
        { "knee-ap", "turn", 12, "patella-lateral", at => Middle(at, "patellaMedial", "patellaLateral") < Middle(at, "medialFemoralEpicondyle", "lateralFemoralEpicondyle") - (0.25 * Math.Abs(at("patellaMedial").X - at("patellaLateral").X)) },
        { "knee-ap", "turn", -19, "patella-medial", at => Middle(at, "patellaMedial", "patellaLateral") > Middle(at, "medialFemoralEpicondyle", "lateralFemoralEpicondyle") + (0.25 * Math.Abs(at("patellaMedial").X - at("patellaLateral").X)) },
        { "knee-ap", "tilt", 9, "closed", at => Math.Abs(at("tibialPlateauAnterior").Y - at("tibialPlateauPosterior").Y) > 8 },
        { "lumbar-spine-ap", "turn", 7, "left-side-raised", at => Math.Abs(at("spinousTipL3").X - at("leftPedicleL3").X) < Math.Abs(at("spinousTipL3").X - at("rightPedicleL3").X) - 7 },
        { "lumbar-spine-ap", "turn", -7, "right-side-raised", at => Math.Abs(at("spinousTipL3").X - at("rightPedicleL3").X) < Math.Abs(at("spinousTipL3").X - at("leftPedicleL3").X) - 7 },
        { "elbow-lateral", "tilt", 13, "head-anterior", at => at("coronoidTip").Y - at("radialHeadLateral").Y > 3 && at("medialEpicondyle").Y > at("lateralEpicondyle").Y + 10 },
        { "elbow-lateral", "tilt", -13, "head-posterior", at => at("coronoidTip").Y - at("radialHeadLateral").Y < -3 && at("medialEpicondyle").Y < at("lateralEpicondyle").Y - 10 },
        { "elbow-lateral", "turn", 13, "head-proximal", at => at("radialHeadCentre").X < at("coronoidTip").X - 3 },
        { "elbow-lateral", "turn", -13, "head-distal", at => at("radialHeadCentre").X > at("coronoidTip").X + 3 },
        { "wrist-lateral", "turn", 13, "pisiform-dorsal", at => at("pisiformPalmar").X > at("scaphoidTubercle").X + (0.67 * (at("capitatePalmar").X - at("scaphoidTubercle").X)) },
        { "wrist-lateral", "turn", -7, "pisiform-palmar", at => at("pisiformPalmar").X < at("scaphoidTubercle").X + (0.05 * (at("capitatePalmar").X - at("scaphoidTubercle").X)) },
        { "ankle-mortise", "tilt", 12, "closed", at => Math.Max(at("tibialPlafondAnterior").Y, at("tibialPlafondPosterior").Y) > at("talarDomeMedialTop").Y + 5 },
    };

    [Theory]
    [MemberData(nameof(Looks))]
    [Trait("evidence", "independent")]
    public void PlantedPosition_OnTheTrueLandmarks_LooksAsTheCatalogueSays(string projectionId, string setting, double value, string miss, Func<Func<string, (double X, double Y)>, bool> looks)
    {
        PracticeView view = PracticeView.Find(projectionId)!;
        PracticePosition position = view.Positions.First(each => each.Setting == setting && (each.Above == miss || each.Below == miss));
        SceneDocument scene = position.Set(view.Start("R", 5), value);
        Assert.Contains(SceneReferee.Tell(view, scene, 0, 0), line => line.LineId == position.Line && line.Misses.SequenceEqual([miss]));
        LabPlacement placed = Lab.Place(scene);
        Assert.True(looks(name => (placed.Landmarks.Single(each => each.Name == name).Pixel.X * placed.SpacingMm, placed.Landmarks.Single(each => each.Name == name).Pixel.Y * placed.SpacingMm)), $"{projectionId} {setting} {value}: {miss}");
    }

    [Theory]
    [InlineData("chest-pa", "anatomy.costophrenic-right", "rightCostophrenicAngle")]
    [InlineData("chest-pa", "anatomy.costophrenic-left", "leftCostophrenicAngle")]
    [InlineData("chest-pa", "anatomy.apices", "rightLungApex")]
    [InlineData("lumbar-spine-ap", "anatomy.lower-end", "leftSacroiliacJoint")]
    [InlineData("knee-lateral", "anatomy.patella", "patellaApex")]
    [InlineData("knee-ap", "anatomy.femur", "patellaBase")]
    [InlineData("ankle-mortise", "anatomy.talus", "talusLateralProcess")]
    [Trait("evidence", "independent")]
    public void PlantedClipping_OfEverySide_LeavesTheLandmarkOutside(string projectionId, string line, string landmark)
    {
        PracticeView view = PracticeView.Find(projectionId)!;
        int found = 0;
        for (int seed = 0; seed < 60; seed++)
        {
            Exercise exercise = ExerciseMaker.Make(view, FaultKind.Clipping, (Difficulty)(seed % 3), seed);
            if (exercise.PlantedLine != line || found == Enough)
            {
                continue;
            }

            found++;
            FieldEdges field = FieldEdges.OnReceptor(exercise.Scene);
            LabPlacement placed = Lab.Place(exercise.Scene);
            LandmarkTruth of = placed.Landmarks.Single(each => each.Name == landmark);
            double x = (of.Pixel.X - (placed.Columns / 2.0)) * placed.SpacingMm;
            double y = (of.Pixel.Y - (placed.Rows / 2.0)) * placed.SpacingMm;
            Assert.False(x > field.LeftMm && x < field.RightMm && y > field.TopMm && y < field.BottomMm, $"{projectionId}, seed {seed}: {landmark} lies in the field.");
        }

        Assert.Equal(Enough, found);
    }

    [Theory]
    [MemberData(nameof(Views))]
    [Trait("evidence", "independent")]
    public void PlantedCollimation_OnTheExposedField_IsAsItsTruthSays(string projectionId)
    {
        // The lab draws the field that it exposed; its area is held against that of the projection's own, and its edges against the image's.
        PracticeView view = PracticeView.Find(projectionId)!;
        double Area(SceneDocument scene, out int edges)
        {
            LabPreview seen = Lab.Preview(scene, 64);
            IReadOnlyList<PixelPoint> outline = seen.Truth.FieldOutline;
            double twice = 0;
            for (int corner = 0; corner < outline.Count; corner++)
            {
                (PixelPoint from, PixelPoint to) = (outline[corner], outline[(corner + 1) % outline.Count]);
                twice += (from.X * to.Y) - (to.X * from.Y);
            }

            double right = seen.Grey.Columns - 1, bottom = seen.Grey.Rows - 1;
            edges = (outline.Min(point => point.X) > 0.2 ? 1 : 0) + (outline.Max(point => point.X) < right - 0.2 ? 1 : 0) + (outline.Min(point => point.Y) > 0.2 ? 1 : 0) + (outline.Max(point => point.Y) < bottom - 0.2 ? 1 : 0);
            return Math.Abs(twice) / 2 * seen.SpacingMm * seen.SpacingMm;
        }

        double needed = Area(view.Start("R", 1), out int four);
        Assert.Equal(4, four);
        foreach (Difficulty difficulty in Enum.GetValues<Difficulty>())
        {
            Exercise exercise = ExerciseMaker.Make(view, FaultKind.Collimation, difficulty, 5);
            double exposed = Area(exercise.Scene, out int edges);
            IReadOnlyList<TrueLine> truth = SceneReferee.Tell(view, exercise.Scene, 0, 0);
            Assert.Equal(exposed > needed / 0.75, truth.Any(line => line is { LineId: "collimation.size", IsFault: true }));
            Assert.Equal(edges < 2, truth.Any(line => line is { LineId: "collimation.edges", IsFault: true }));
        }
    }

    [Fact]
    public void PlantedMarker_OfModerateDifficulty_IsTheOtherLetterOrMirrored()
    {
        PracticeView view = PracticeView.Find("wrist-pa")!;
        string[] ways = [.. Enumerable.Range(0, 12).Select(seed => ExerciseMaker.Make(view, FaultKind.Marker, Difficulty.Moderate, seed)).Select(made => SceneReferee.Tell(view, made.Scene, 0, 0).Single(line => line.LineId == "marker.side").Misses.Single())];
        Assert.Equal(["mirrored", "wrong-side"], ways.Distinct().Order());
    }

    [Fact]
    public void Make_WithTheSameSeed_GivesTheSameScene()
    {
        PracticeView view = PracticeView.Find("knee-ap")!;
        foreach (FaultKind kind in FaultKinds.Planted)
        {
            Assert.Equal(SceneJson.Write(ExerciseMaker.Make(view, kind, Difficulty.Moderate, 11).Scene), SceneJson.Write(ExerciseMaker.Make(view, kind, Difficulty.Moderate, 11).Scene));
            Assert.NotEqual(SceneJson.Write(ExerciseMaker.Make(view, kind, Difficulty.Moderate, 11).Scene), SceneJson.Write(ExerciseMaker.Make(view, kind, Difficulty.Moderate, 12).Scene));
        }
    }

    private static double Middle(Func<string, (double X, double Y)> at, string one, string other) => (at(one).X + at(other).X) / 2;

    private static IEnumerable<(FaultKind Kind, Difficulty Difficulty, int Seed)> Every()
        => from kind in FaultKinds.Planted.Prepend(FaultKind.None) from difficulty in Enum.GetValues<Difficulty>() from seed in Enumerable.Range(0, Seeds) select (kind, difficulty, seed);
}
