using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Poses;
using Hotlight.Positioning;
using Hotlight.Simulation;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Positions;

/// <summary>What a case's marks say of how the part lay in space.</summary>
public static class PoseReading
{
    /// <summary>The model that a case's pose is fitted with; null where no projection is chosen, or where its pose cannot be fitted.</summary>
    /// <param name="open">The case.</param>
    public static PoseModel? ModelOf(OpenCase open)
    {
        ArgumentNullException.ThrowIfNull(open);
        return open.Projection is { } projection ? PoseModels.For(projection.Id) : null;
    }

    /// <summary>All marks of a case that a model can use: the checklist's landmarks and the further points.</summary>
    /// <param name="open">The case, with a projection chosen.</param>
    /// <param name="model">The model.</param>
    public static MarkedLandmarks MarksOf(OpenCase open, PoseModel model)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(model);
        var points = new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal);
        foreach (PosePoint point in model.Points)
        {
            if (open.Answers?.Landmarks.TryGetValue(point.Id, out LandmarkPoint at) == true || open.Answers?.Pose?.Points.TryGetValue(point.Id, out at) == true)
            {
                points[point.Id] = at;
            }
        }

        return new MarkedLandmarks(model.ProjectionId, points);
    }

    /// <summary>Whether the body has the model's part on both sides.</summary>
    /// <param name="model">The model.</param>
    public static bool IsPaired(PoseModel model)
    {
        ArgumentNullException.ThrowIfNull(model);
        return Lab.Parts.First(part => part.Name == model.Part).IsPaired;
    }

    /// <summary>The side that is taken: as the reader says, then as the file says; null where neither does.</summary>
    /// <param name="open">The case.</param>
    public static string? SideOf(OpenCase open)
    {
        ArgumentNullException.ThrowIfNull(open);
        return open.Answers?.Pose?.Side ?? FileSideOf(open);
    }

    /// <summary>The side that the file says, "R" or "L"; null where it says neither.</summary>
    /// <param name="open">The case.</param>
    public static string? FileSideOf(OpenCase open)
    {
        ArgumentNullException.ThrowIfNull(open);
        return (open.Exposure.Laterality ?? open.Record.Laterality) is "R" or "L" ? open.Exposure.Laterality ?? open.Record.Laterality : null;
    }

    /// <summary>Turn, tilt and joints that the view determines, each a phrase with one standard error, in the language in use.</summary>
    /// <param name="fit">The pose.</param>
    public static IReadOnlyList<string> AnglesOf(PoseFit fit)
    {
        ArgumentNullException.ThrowIfNull(fit);
        return
        [
            .. new[] { (Texts.Get("pose.axis.turn"), fit.Turn), (Texts.Get("pose.axis.tilt"), fit.Tilt) }
                .Concat(fit.Joints.Select(joint => (PoseText.Joint(joint.Name), joint.Angle)))
                .Where(angle => angle.Item2.IsMeasured)
                .Select(angle => Texts.Get("handout.simulation.angle", angle.Item1, Texts.Number(angle.Item2.Value!.Degrees, "0"), Texts.Number(Math.Max(1, angle.Item2.Value.UncertaintyDegrees), "0"))),
        ];
    }

    /// <summary>Fits the pose of a case.</summary>
    /// <param name="open">The case.</param>
    /// <returns>The pose, or why there is none, one sentence; null where the case has no model to fit.</returns>
    public static Figure<PoseFit>? Fit(OpenCase open)
    {
        ArgumentNullException.ThrowIfNull(open);
        return ModelOf(open) is { } model && open.Answers is { } answers
            ? PoseFitter.Fit(model, MarksOf(open, model), PositionWorkflow.GeometryOf(open.Exposure, open.Measurements, answers.Examination), SideOf(open), null, open.Projection)
            : null;
    }
}
