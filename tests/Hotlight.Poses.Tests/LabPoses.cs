using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses.Tests;

/// <summary>Poses of the phantom lab and the marks they give.</summary>
internal static class LabPoses
{
    /// <summary>The sides that a part has; the middle of the body is laid as a right one.</summary>
    public static IEnumerable<string> Sides(PoseModel model) => Lab.Parts.First(part => part.Name == model.Part).IsPaired ? ["R", "L"] : ["R"];

    /// <summary>What is known of a scene's exposure.</summary>
    public static ExposureGeometry Geometry(SceneDocument scene)
    {
        LabPlacement placed = Lab.Place(scene);
        return new ExposureGeometry
        {
            Spacing = new PixelSpacing(placed.SpacingMm, placed.SpacingMm),
            Columns = placed.Columns,
            Rows = placed.Rows,
            SourceImageDistanceMm = placed.SourceImageDistanceMm,
            CentralRay = placed.CentralRay,
            CentralRayUncertaintyMm = 0,
            IsChild = scene.Part!.Size == "child",
        };
    }

    /// <summary>Marks without error, said to be known to a millimetre.</summary>
    public static MarkedLandmarks Marks(PoseModel model, SceneDocument scene, double uncertaintyMm = 1)
        => new(model.ProjectionId, model.Places(scene).ToDictionary(place => place.Key, place => LandmarkPoint.At(place.Value, uncertaintyMm / scene.Receptor.SpacingMm), StringComparer.Ordinal));

    /// <summary>A scene of a model with a pose of its own.</summary>
    public static SceneDocument Scene(PoseModel model, double turn, double tilt, double lean, string side = "R", double jointShare = 0.5)
    {
        SceneDocument start = SceneStarts.For(model.Part, model.View);
        return start with
        {
            Part = start.Part! with
            {
                Side = side,
                TurnDegrees = turn,
                TiltDegrees = tilt,
                LeanDegrees = lean,
                ShiftMm = [7, -4],
                LiftMm = 6,
                Joints = model.Joints.ToDictionary(joint => joint.Name, joint => joint.ExpectedDegrees + (jointShare * joint.SpreadDegrees), StringComparer.Ordinal),
            },
        };
    }
}
