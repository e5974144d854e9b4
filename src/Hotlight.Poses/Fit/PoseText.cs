using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Poses;

/// <summary>Says in plain words what a fitted pose is about.</summary>
public static class PoseText
{
    /// <summary>A joint as a phrase, such as "the bend of the knee".</summary>
    /// <param name="name">The phantom's joint, such as "kneeFlexion".</param>
    public static string Joint(string name) => name switch
    {
        "ankleDorsiflexion" => Texts.Get("pose.joint.ankle-dorsiflexion"),
        "armAbduction" => Texts.Get("pose.joint.arm-abduction"),
        "armRotation" => Texts.Get("pose.joint.arm-rotation"),
        "elbowFlexion" => Texts.Get("pose.joint.elbow-flexion"),
        "inspiration" => Texts.Get("pose.joint.inspiration"),
        "kneeFlexion" => Texts.Get("pose.joint.knee-flexion"),
        _ => name,
    };

    /// <summary>A point's name in the language in use: that of the catalogue's landmark where it is one.</summary>
    /// <param name="model">The model that it belongs to.</param>
    /// <param name="point">The point.</param>
    /// <param name="projection">The catalogue's entry in that language; null: the built-in one, in English.</param>
    public static string Name(PoseModel model, PosePoint point, Projection? projection = null) => Landmark(point, projection)?.Name ?? Said(model, point, "name") ?? point.Name!;

    /// <summary>Where a point lies on the image, in the language in use.</summary>
    /// <param name="model">The model that it belongs to.</param>
    /// <param name="point">The point.</param>
    /// <param name="projection">The catalogue's entry in that language; null: the built-in one, in English.</param>
    public static string Where(PoseModel model, PosePoint point, Projection? projection = null) => Landmark(point, projection)?.Where ?? Said(model, point, "where") ?? point.Where!;

    private static Landmark? Landmark(PosePoint point, Projection? projection) => projection?.Landmarks.FirstOrDefault(landmark => landmark.Id == point.Id);

    private static string? Said(PoseModel model, PosePoint point, string what)
    {
        ArgumentNullException.ThrowIfNull(model);
        ArgumentNullException.ThrowIfNull(point);
        return Texts.Find($"pose.point.{model.ProjectionId}.{point.Id}.{what}");
    }
}
