using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses.Tests;

/// <summary>Poses refined by the picture, on exposures whose pose is known.</summary>
public sealed class PoseRefinerTests
{
    [Theory]
    [InlineData("knee-lateral", 11, false)]
    [InlineData("knee-lateral", 12, true)]
    [InlineData("elbow-lateral", 13, false)]
    [InlineData("knee-ap", 14, false)]
    [Trait("evidence", "independent")]
    public void Refine_OfSomebodyElse_KeepsItsBoundsAndItsStandardErrors(string projection, int seed, bool isChild)
    {
        PoseModel model = PoseModels.For(projection)!;
        OtherAnatomy other = OtherAnatomy.Draw(model, seed, isChild, pixels: 700);
        Figure<PoseFit> fitted = PoseFitter.Fit(model, other.Marks, LabPoses.Geometry(other.Scene), other.Scene.Part!.Side);
        Assert.True(fitted.IsMeasured, fitted.Why);
        PoseRefinement refined = PoseRefiner.Refine(fitted.Value, PoseImage.Of(other.Radiograph, 700));
        Assert.InRange(refined.Edges, PoseRefiner.LeastEdges, refined.Looked);
        Assert.InRange(refined.MarksAfterMm, 0, refined.MarksBeforeMm + PoseRefiner.MostMarksGrowthMm);
        foreach (RefinedAngle angle in refined.Angles)
        {
            Assert.InRange(Math.Abs(Math.IEEERemainder(angle.After.Degrees - angle.Before.Degrees, 360)), 0, (PoseRefiner.MostDeviations * angle.Before.UncertaintyDegrees) + 1e-9);
            Assert.InRange(angle.After.UncertaintyDegrees, 0, angle.Before.UncertaintyDegrees + 1e-9);

            // One in 15,000 lies farther off by chance alone; there are some twenty.
            Assert.InRange(Math.Abs(Math.IEEERemainder(angle.After.Degrees - other.Truth(angle.Name), 360)), 0, 4 * angle.After.UncertaintyDegrees);
        }

        Assert.Equal(refined.Helped, refined.Steps > 0);
        if (refined.Helped)
        {
            Assert.True(refined.HeldBackAfterMm < refined.HeldBackBeforeMm);
        }

        // What is told is the pose that is drawn: angles that stayed with their own standard errors, untold ones untold.
        PoseFit told = refined.Fit;
        Assert.Equal(refined.State, told.State);
        Assert.Equal(refined.Helped, !ReferenceEquals(told, fitted.Value));
        foreach ((string name, Figure<PoseAngle> before, Figure<PoseAngle> after) in new[] { ("turn", fitted.Value.Turn, told.Turn), ("tilt", fitted.Value.Tilt, told.Tilt), ("lean", fitted.Value.Lean, told.Lean) })
        {
            RefinedAngle angle = refined.Angles.Single(each => each.Name == name);
            Assert.Equal(before.IsMeasured, after.IsMeasured);
            if (after.IsMeasured)
            {
                Assert.Equal(Math.IEEERemainder(angle.After.Degrees, 360), Math.IEEERemainder(after.Value.Degrees, 360), 1e-9);
                Assert.InRange(after.Value.UncertaintyDegrees, PoseRefiner.LeastErrorShare * before.Value!.UncertaintyDegrees * 0.999, before.Value.UncertaintyDegrees * 1.001);
                Assert.Equal(angle.IsMoved, Math.Abs(after.Value.Degrees - before.Value.Degrees) > 1e-9);
            }
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Refine_WhereTheContoursLieOnTheEdgesAlready_StopsAndSaysSo()
    {
        // The phantom itself with exact marks: nothing is left to gain.
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument scene = PosePictureTests.Coarse(LabPoses.Scene(model, 6, -4, 5));
        List<double> told = [];
        PoseFit fit = PosePictureTests.Fitted(model, scene);
        PoseRefinement refined = PoseRefiner.Refine(fit, PoseImage.Of(SceneFile.Radiograph(Lab.Expose(scene).Simulated, linear: false), 800), null, new Told<double>(told.Add));
        Assert.False(refined.Helped);
        Assert.InRange(refined.HeldBackBeforeMm, 0, 0.3);
        Assert.Contains("already", refined.Said, StringComparison.Ordinal);
        Assert.Same(fit, refined.Fit);
        Assert.NotEmpty(told);
        Assert.All(told, share => Assert.InRange(share, 0, 1));
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Refine_OfThePhantomItselfWithRoughMarksAndEveryAngleFree_BringsItNearer()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        List<double> before = [], after = [];
        for (int seed = 1; seed <= 3; seed++)
        {
            SceneDocument scene = PosePictureTests.Coarse(LabPoses.Scene(model, (5 * seed) - 8, 6 - (3 * seed), 4));
            Random random = new(seed);
            double Off() => (random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5) * 2 * 1.5 / scene.Receptor.SpacingMm;
            Positioning.MarkedLandmarks exact = LabPoses.Marks(model, scene);
            Positioning.MarkedLandmarks rough = new(model.ProjectionId, exact.Points.ToDictionary(
                mark => mark.Key,
                mark => Measure.Landmarks.LandmarkPoint.At(new PixelPoint(X: mark.Value.Point.X + Off(), Y: mark.Value.Point.Y + Off()), 1.5 / scene.Receptor.SpacingMm),
                StringComparer.Ordinal));
            PoseFit fit = PoseFitter.Fit(model, rough, LabPoses.Geometry(scene), scene.Part!.Side).Value!;

            // A gain below nothing frees every angle: the picture itself tells them where the anatomy is the phantom's own.
            PoseRefinement refined = PoseRefiner.Refine(fit, PoseImage.Of(SceneFile.Radiograph(Lab.Expose(scene).Simulated, linear: false), 800), null, angleGain: -1, null, default);
            foreach ((string name, double truth) in new[] { ("turn", scene.Part.TurnDegrees), ("tilt", scene.Part.TiltDegrees), ("lean", scene.Part.LeanDegrees) })
            {
                RefinedAngle angle = refined.Angles.First(each => each.Name == name);
                before.Add(Math.Abs(angle.Before.Degrees - truth));
                after.Add(Math.Abs(angle.After.Degrees - truth));
            }
        }

        Assert.True(after.Average() < 0.8 * before.Average(), $"mean error {before.Average():0.00}° before, {after.Average():0.00}° after");
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Refine_OnAnImageWithoutEdges_LeavesTheMarksPose()
    {
        PoseModel model = PoseModels.For("knee-ap")!;
        SceneDocument scene = PosePictureTests.Coarse(LabPoses.Scene(model, 3, 2, 1));
        PoseFit fit = PosePictureTests.Fitted(model, scene);
        PoseRefinement refined = PoseRefiner.Refine(fit, PoseImage.Of(Flat(fit), 400));
        Assert.False(refined.Helped);
        Assert.Equal(0, refined.Edges);
        Assert.Equal(fit.State.TurnDegrees, refined.State.TurnDegrees);
        Assert.All(refined.Angles, angle => Assert.Equal(angle.Before, angle.After));
        Assert.Contains("stands", refined.Said, StringComparison.Ordinal);
    }

    [Fact]
    public void Refine_WithAnImageOfAnotherSize_IsRefused()
    {
        PoseModel model = PoseModels.For("knee-ap")!;
        PoseFit fit = PosePictureTests.Fitted(model, PosePictureTests.Coarse(LabPoses.Scene(model, 3, 2, 1)));
        ArgumentException error = Assert.Throws<ArgumentException>(() => PoseRefiner.Refine(fit, PoseImage.Of(Flat(fit, more: 8), 400)));
        Assert.Contains("rows", error.Message, StringComparison.Ordinal);
    }

    private static Radiograph Flat(PoseFit fit, int more = 0) => new()
    {
        FileName = "flat",
        Source = ImageSource.Dicom,
        Pixels = new Raster<ushort>(fit.Problem.Setting.Rows + more, fit.Problem.Setting.Columns),
        BitsStored = 12,
        HighIsShownDark = false,
        PresentationIntent = PresentationIntent.ForPresentation,
        Windows = [new VoiTransform { Center = 2048, Width = 4096, Function = WindowFunction.LinearExact }],
        LossyCompressed = false,
        Encoding = "none",
    };
}
