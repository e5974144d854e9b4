using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Simulation.Scene;
using Xunit.Abstractions;

namespace Hotlight.Poses.Tests;

public sealed class PoseFitterTests(ITestOutputHelper output)
{
    public static TheoryData<string> Projections => new(PoseModels.All.Select(model => model.ProjectionId));

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "independent")]
    public void Fit_MarksOfThePhantomItselfWithoutError_GiveItsPose(string projection)
    {
        PoseModel model = PoseModels.For(projection)!;
        foreach (string side in LabPoses.Sides(model))
        {
            SceneDocument scene = LabPoses.Scene(model, 9, -6, 14, side);
            Figure<PoseFit> figure = PoseFitter.Fit(model, LabPoses.Marks(model, scene), LabPoses.Geometry(scene), side);
            Assert.True(figure.IsMeasured, figure.Why);
            PoseFit fit = figure.Value;
            output.WriteLine($"{projection} {side}: {fit.State.TurnDegrees:0.0} {fit.State.TiltDegrees:0.0} {fit.State.LeanDegrees:0.0} | {fit.Turn} | {fit.Tilt} | {fit.Lean} | {string.Join("; ", fit.Joints)} | size {fit.SizePercent:0.0} ± {fit.SizeUncertaintyPercent:0.0} height {fit.Height} {fit.Alternative?.Share}");
            Near(fit.Turn, 9);
            Near(fit.Tilt, -6);
            Near(fit.Lean, 14);
            Assert.False(fit.IsMirrored);
        }

        // What is expected beforehand draws the fit a little towards itself: at most by what it says it is off.
        static void Near(Figure<PoseAngle> angle, double truth)
        {
            if (angle.IsMeasured)
            {
                Assert.InRange(angle.Value.Degrees, truth - angle.Value.UncertaintyDegrees, truth + angle.Value.UncertaintyDegrees);
            }
        }
    }

    [Fact]
    public void Fit_TooFewPoints_SaysWhichToMark()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument scene = LabPoses.Scene(model, 0, 0, 0);
        MarkedLandmarks all = LabPoses.Marks(model, scene);
        var few = new MarkedLandmarks(all.ProjectionId, all.Points.Where(point => point.Key.EndsWith("-back", StringComparison.Ordinal)).ToDictionary(StringComparer.Ordinal));
        Figure<PoseFit> figure = PoseFitter.Fit(model, few, LabPoses.Geometry(scene), "R");
        Assert.False(figure.IsMeasured);
        Assert.Contains("at least 5 marked points, and 2 are marked", figure.Why, StringComparison.Ordinal);
        Assert.Contains("lateral femoral condyle, lowest point", figure.Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Fit_MarksOfTheOtherSide_AreTakenForAMirrorImageAndSaid()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument scene = LabPoses.Scene(model, 6, -4, 3, "L");
        PoseFit fit = PoseFitter.Fit(model, LabPoses.Marks(model, scene), LabPoses.Geometry(scene), "R").Value!;
        Assert.True(fit.IsMirrored);
        Assert.Equal("R", fit.Side);
        Assert.Equal("L", fit.Scene(longestSide: 128).Part!.Side);
        Assert.Contains(fit.Notes, note => note.Contains("mirror image of a right side", StringComparison.Ordinal));
        Assert.Equal(6, fit.Turn.Value!.Degrees, 0.5);
    }

    [Theory]
    [InlineData("R")]
    [InlineData("L")]
    public void Fit_WithoutASide_TakesTheOneThatFits(string side)
    {
        PoseModel model = PoseModels.For("elbow-lateral")!;
        SceneDocument scene = LabPoses.Scene(model, 6, -4, 3, side);
        Figure<PoseFit> fit = PoseFitter.Fit(model, LabPoses.Marks(model, scene), LabPoses.Geometry(scene), null);
        Assert.Equal(side, fit.Value!.Side);
    }

    [Fact]
    public void Fit_OneMarkAtAWrongPlace_CountsItLessAndNamesIt()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument scene = LabPoses.Scene(model, 8, -5, 4);
        MarkedLandmarks right = LabPoses.Marks(model, scene);
        var wrong = right.Points.ToDictionary(StringComparer.Ordinal);
        PixelPoint at = wrong["patella-front"].Point;
        wrong["patella-front"] = LandmarkPoint.At(new PixelPoint(X: at.X + (40 / scene.Receptor.SpacingMm), Y: at.Y), 1 / scene.Receptor.SpacingMm);
        PoseFit fit = PoseFitter.Fit(model, right with { Points = wrong }, LabPoses.Geometry(scene), "R").Value!;
        PoseResidual residual = fit.Residuals.Single(each => each.Id == "patella-front");
        output.WriteLine($"{fit.Turn} {fit.Tilt} weight {residual.Weight}");
        Assert.True(residual.Weight < 0.15);
        Assert.Contains(fit.Notes, note => note.Contains("patella, front edge", StringComparison.Ordinal));
        Assert.Equal(8, fit.Turn.Value!.Degrees, fit.Turn.Value.UncertaintyDegrees);
        Assert.Equal(-5, fit.Tilt.Value!.Degrees, fit.Tilt.Value.UncertaintyDegrees);
    }

    [Fact]
    public void Fit_WithoutPixelSpacing_TellsAnglesAndSaysThatLengthsAreGuessed()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument scene = LabPoses.Scene(model, 8, -5, 4);
        MarkedLandmarks marks = LabPoses.Marks(model, scene);
        PoseFit fit = PoseFitter.Fit(model, marks, LabPoses.Geometry(scene) with { Spacing = null }, "R").Value!;
        Assert.Equal(8, fit.Turn.Value!.Degrees, fit.Turn.Value.UncertaintyDegrees);
        Assert.Equal(-5, fit.Tilt.Value!.Degrees, fit.Tilt.Value.UncertaintyDegrees);
        Assert.Contains(fit.Notes, note => note.Contains("no pixel spacing", StringComparison.Ordinal));

        // The phantom has the usual size, so the guess is near here; 8 percent is what people differ by.
        Assert.InRange(fit.State.SpacingMm / scene.Receptor.SpacingMm, 0.9, 1.1);
    }

    [Fact]
    public void Fit_PointsAtOneDepth_NamesTheTurnsThatTheyDoNotFix()
    {
        PoseModel model = PoseModels.For("knee-ap")!;
        SceneDocument scene = LabPoses.Scene(model, 8, -5, 4);
        string[] flat = ["inner-epicondyle", "outer-epicondyle", "inner-plateau-edge", "outer-plateau-edge", "femoral-shaft", "tibial-shaft", "tibia-outer"];
        MarkedLandmarks all = LabPoses.Marks(model, scene);
        var marks = all with { Points = all.Points.Where(point => flat.Contains(point.Key)).ToDictionary(StringComparer.Ordinal) };
        PoseFit fit = PoseFitter.Fit(model, marks, LabPoses.Geometry(scene), "R").Value!;
        Assert.False(fit.Turn.IsMeasured);
        Assert.False(fit.Tilt.IsMeasured);
        Assert.True(fit.Lean.IsMeasured);
        output.WriteLine($"{fit.Turn}\n{fit.Tilt}");
        Assert.Contains("the turn about the image's upright axis", fit.Turn.Why, StringComparison.Ordinal);
        Assert.Contains("the tilt about the image's level axis", fit.Tilt.Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Fit_OblongPixels_AreRefused()
    {
        PoseModel model = PoseModels.For("knee-ap")!;
        SceneDocument scene = LabPoses.Scene(model, 8, -5, 4);
        Figure<PoseFit> fit = PoseFitter.Fit(model, LabPoses.Marks(model, scene), LabPoses.Geometry(scene) with { Spacing = new PixelSpacing(0.15, 0.2) }, "R");
        Assert.Contains("oblong", fit.Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Fit_AMarkOnAnEdge_IsFreeAlongIt()
    {
        // The same mark moved by 6 mm along an edge that it is known to lie on, and across it: only the second turns the part.
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument scene = LabPoses.Scene(model, 0, 0, 0);
        MarkedLandmarks marks = LabPoses.Marks(model, scene);
        double mm = 1 / scene.Receptor.SpacingMm;
        double Turn(double right, double down)
        {
            var moved = marks.Points.ToDictionary(StringComparer.Ordinal);
            PixelPoint at = moved["medial-condyle-back"].Point;
            moved["medial-condyle-back"] = LandmarkPoint.At(new PixelPoint(X: at.X + (right * mm), Y: at.Y + (down * mm)), 0, alongPixels: 0.3 * mm, acrossPixels: 12 * mm);
            return PoseFitter.Fit(model, marks with { Points = moved }, LabPoses.Geometry(scene), "R").Value!.State.TurnDegrees;
        }

        double still = Turn(0, 0);
        Assert.True(Math.Abs(Turn(0, 6) - still) < 0.3);
        Assert.True(Math.Abs(Turn(6, 0) - still) > 1);
    }

    [Fact]
    public void Fit_OfTheWrongProjectionOrSide_Throws()
    {
        PoseModel model = PoseModels.For("knee-ap")!;
        SceneDocument scene = LabPoses.Scene(model, 0, 0, 0);
        Assert.Throws<ArgumentException>(() => PoseFitter.Fit(model, MarkedLandmarks.None("knee-lateral"), LabPoses.Geometry(scene), "R"));
        Assert.Throws<ArgumentException>(() => PoseFitter.Fit(model, LabPoses.Marks(model, scene), LabPoses.Geometry(scene), "left"));
    }
}
