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
}
