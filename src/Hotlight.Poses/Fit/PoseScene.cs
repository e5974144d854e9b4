using Hotlight.Core;
using Hotlight.Simulation;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses;

/// <summary>A pose as a scene of the phantom lab on the grid of the image it was fitted to.</summary>
/// <remarks>The lab's bodies have one size: a person of size s is drawn in a room whose every length is divided by s, which gives the same picture.</remarks>
internal static class PoseScene
{
    // The lab's own limits (SceneChecks).
    private const double LeastSpacingMm = 0.05;
    private const double MostOpeningMm = 700;

    public static SceneDocument Of(PoseProblem problem, PoseState state, string phantomSide, SceneDocument? technique, int? longestSide)
    {
        PoseSetting setting = problem.Setting;
        PoseModel model = problem.Model;
        SceneDocument start = technique ?? SceneStarts.For(model.Part, model.View);
        IReadOnlyDictionary<string, double> joints = start.Part is { } part ? Joined(part.Joints, state.Joints) : state.Joints;
        ScenePart laid = new()
        {
            Name = model.Part,
            View = model.View,
            Side = phantomSide,
            Size = setting.IsChild ? "child" : "adult",
            Habitus = start.Part?.Habitus ?? 1,
            Person = start.Part?.Person ?? 0,
            Joints = joints,
            TurnDegrees = state.TurnDegrees,
            TiltDegrees = state.TiltDegrees,
            LeanDegrees = state.LeanDegrees,
        };

        // Where the skin would go through the receptor, the part lies on it and is drawn as much smaller as it comes nearer to the tube.
        double size = Size(problem, state), height = state.CentreHeightMm, rest = Rest(laid);
        if (height < rest * size)
        {
            double apparent = size / (state.SourceHeightMm - height);
            size = apparent * state.SourceHeightMm / (1 + (apparent * rest));
            height = rest * size;
        }

        double nearer = (state.SourceHeightMm - height) / (state.SourceHeightMm - state.CentreHeightMm);
        double centreRight = state.SourceRightMm + ((state.CentreRightMm - state.SourceRightMm) * nearer);
        double centreDown = state.SourceDownMm + ((state.CentreDownMm - state.SourceDownMm) * nearer);

        // What is smaller than the lab's least element, or asked for with fewer pixels, is read with larger ones.
        double coarser = Math.Max(1, Math.Max(
            longestSide is { } longest ? Math.Max(setting.Columns, setting.Rows) / (double)longest : 1,
            LeastSpacingMm * size / state.SpacingMm));
        double scale = state.SpacingMm / size;

        // The central ray goes where it was taken to go; how far the plumb line is from where the tube's angles put it is the fit's own.
        double rightMm = state.SourceRightMm - (setting.SourceRightMm * state.SourceHeightMm / setting.SourceHeightMm);
        double downMm = state.SourceDownMm - (setting.SourceDownMm * state.SourceHeightMm / setting.SourceHeightMm);
        double[] ray =
        [
            ((setting.CentralRay.X - ((setting.Columns - 1) / 2.0)) * scale) + (rightMm / size),
            ((setting.CentralRay.Y - ((setting.Rows - 1) / 2.0)) * scale) + (downMm / size),
        ];
        double oblique = state.SourceHeightMm / size * setting.SourceOblique;
        SceneDocument scene = start with
        {
            Part = laid with
            {
                ShiftMm = [((centreRight - rightMm) / size) + ray[0], ((centreDown - downMm) / size) + ray[1]],
                LiftMm = Math.Max(0, (height / size) - rest),
            },
            Tube = start.Tube with
            {
                SourceImageDistanceMm = oblique,
                CentreMm = ray,
                AngleDegrees = setting.TubeAngleDegrees,
            },
            Grid = start.Grid is { } grid ? grid with { FocalDistanceMm = grid.FocalDistanceMm is null ? null : oblique } : null,
            Collimator = new SceneCollimator
            {
                WidthMm = Math.Min(MostOpeningMm, setting.Columns * scale),
                HeightMm = Math.Min(MostOpeningMm, setting.Rows * scale),
                CentreMm = [-ray[0], -ray[1]],
            },
            Receptor = start.Receptor with
            {
                WidthMm = setting.Columns * scale,
                HeightMm = setting.Rows * scale,
                SpacingMm = scale * coarser,
                GapMm = 0,
            },
            Marker = null,
            Objects = [],
        };
        SceneChecks.Check(scene, scene.Id);
        return scene;
    }

    /// <summary>The size that the picture is drawn with: that of the axes that lie in the image, since the lab stretches nobody.</summary>
    public static double Size(PoseProblem problem, PoseState state)
    {
        double[] axes = problem.Axes(problem.Parameters(state));
        double sum = 0, weights = 0;
        for (int axis = 0; axis < 3; axis++)
        {
            double weight = 1 - (axes[6 + axis] * axes[6 + axis]);
            sum += weight * Math.Log(state.AxisSizes[axis]);
            weights += weight;
        }

        return Math.Exp(sum / weights);
    }

    /// <summary>Height of the view's centring point over a receptor that the skin touches, in mm of the phantom.</summary>
    private static double Rest(ScenePart part)
    {
        SceneDocument scene = new() { Schema = SceneDocument.SchemaName, Part = part, Receptor = new SceneReceptor { GapMm = 0 }, Tube = new SceneTube { SourceImageDistanceMm = 4000 } };
        SceneChecks.Check(scene, scene.Id);
        return new SceneSetup(scene, null, quick: true).Body!.LandmarkInRoom(PartPhantoms.ByName(part.Name).View(part.View).Centring).Z;
    }

    private static Dictionary<string, double> Joined(IReadOnlyDictionary<string, double> first, IReadOnlyDictionary<string, double> second)
    {
        Dictionary<string, double> joined = new(first, StringComparer.Ordinal);
        foreach ((string joint, double degrees) in second)
        {
            joined[joint] = degrees;
        }

        return joined;
    }
}
