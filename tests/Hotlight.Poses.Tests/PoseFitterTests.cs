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
}
