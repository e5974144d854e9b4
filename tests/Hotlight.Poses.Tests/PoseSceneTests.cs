using Hotlight.Core;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses.Tests;

/// <summary>The fit's own projection against the lab's, which shares no formula with it.</summary>
public sealed class PoseSceneTests
{
    public static TheoryData<string> Projections => new(PoseModels.All.Select(model => model.ProjectionId));

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "independent")]
    public void Places_OfAPoseOfTheLab_AreTheLabs(string projection)
    {
        PoseModel model = PoseModels.For(projection)!;
        foreach (string side in LabPoses.Sides(model))
        {
            SceneDocument scene = LabPoses.Scene(model, 11, -9, 17, side);
            scene = scene with { Tube = scene.Tube with { AngleDegrees = [5, -4], CentreMm = [6, -9] } };
            PoseFit fit = Fitted(model, scene);
            PoseState state = fit.State with
            {
                TurnDegrees = scene.Part!.TurnDegrees,
                TiltDegrees = scene.Part.TiltDegrees,
                LeanDegrees = scene.Part.LeanDegrees,
                Joints = scene.Part.Joints,
                CentreRightMm = scene.Part.ShiftMm[0] - scene.Tube.CentreMm[0],
                CentreDownMm = scene.Part.ShiftMm[1] - scene.Tube.CentreMm[1],
                CentreHeightMm = new SceneSetup(scene, null).Body!.LandmarkInRoom(Simulation.Phantom.PartPhantoms.ByName(model.Part).View(model.View).Centring).Z,
                AxisSizes = [1, 1, 1],
                SourceRightMm = fit.Problem.Setting.SourceRightMm,
                SourceDownMm = fit.Problem.Setting.SourceDownMm,
                SourceHeightMm = fit.Problem.Setting.SourceHeightMm,
            };
            IReadOnlyDictionary<string, PixelPoint> own = fit.Places(state), lab = model.Places(scene);

            // The table of joints is good to 0.1 mm.
            Assert.All(own, place => Assert.True(place.Value.DistancePixelsTo(lab[place.Key]) * scene.Receptor.SpacingMm < 0.1, $"{place.Key}: {place.Value} and {lab[place.Key]}"));
        }
    }

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "independent")]
    public void Scene_OfAFit_PutsThePointsWhereTheFitHasThem(string projection)
    {
        PoseModel model = PoseModels.For(projection)!;
        foreach (string side in LabPoses.Sides(model))
        {
            SceneDocument truth = LabPoses.Scene(model, -8, 6, -12, side);
            PoseFit fit = Fitted(model, truth);

            // A person of one size along all axes is drawn exactly; the lab stretches nobody.
            double size = Math.Exp(fit.State.AxisSizes.Average(Math.Log));
            PoseState even = fit.State with { AxisSizes = [size, size, size] };
            SceneDocument scene = fit.SceneAt(even);
            IReadOnlyDictionary<string, PixelPoint> own = fit.Places(even), lab = model.Places(scene);

            // Where the skin touches the receptor the part is drawn nearer and smaller: depth within the part is then seen a little differently.
            Assert.All(own, place => Assert.True(place.Value.DistancePixelsTo(lab[place.Key]) * truth.Receptor.SpacingMm < 1, $"{place.Key}: {place.Value} and {lab[place.Key]}"));
            Assert.Equal(own.Count, lab.Count);
        }
    }

    [Fact]
    public void Scene_WithFewerPixels_CoversTheSameImage()
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        PoseFit fit = Fitted(model, LabPoses.Scene(model, 5, 5, 5));
        SceneDocument scene = fit.Scene(longestSide: 512);
        Assert.Equal(512, Math.Round(scene.Receptor.HeightMm / scene.Receptor.SpacingMm));
        double coarser = fit.Problem.Setting.Rows / 512.0;
        IReadOnlyDictionary<string, PixelPoint> full = model.Places(fit.Scene()), few = model.Places(scene);
        Assert.All(full, place =>
        {
            Assert.Equal(((place.Value.X + 0.5) / coarser) - 0.5, few[place.Key].X, 0.3);
            Assert.Equal(((place.Value.Y + 0.5) / coarser) - 0.5, few[place.Key].Y, 0.3);
        });
    }

    private static PoseFit Fitted(PoseModel model, SceneDocument scene)
    {
        Figure<PoseFit> fit = PoseFitter.Fit(model, LabPoses.Marks(model, scene), LabPoses.Geometry(scene), scene.Part!.Side, new PoseOptions { TubeTowardTopDegrees = scene.Tube.AngleDegrees[0], TubeTowardRightDegrees = scene.Tube.AngleDegrees[1] });
        Assert.True(fit.IsMeasured, fit.Why);
        return fit.Value;
    }
}
