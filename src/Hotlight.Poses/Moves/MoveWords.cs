using Hotlight.Core;

namespace Hotlight.Poses;

/// <summary>Moves and places of the body in plain words.</summary>
internal static class MoveWords
{
    /// <summary>What to do where no relation of the catalogue asks for it.</summary>
    /// <param name="axis">"turn", "tilt" or a joint.</param>
    /// <param name="grows">Whether the angle grows.</param>
    /// <param name="to">Where it should lie, in degrees.</param>
    /// <param name="isMirrored">Whether the image shows the phantom's left side, whose turns are mirrored.</param>
    public static string Plain(string axis, bool grows, double to, bool isMirrored)
    {
        string edge = isMirrored ? Texts.Get("pose.edge.left") : Texts.Get("pose.edge.right");
        return (axis, grows) switch
        {
            ("turn", true) => Texts.Get("pose.move.turn.toward", edge),
            ("turn", false) => Texts.Get("pose.move.turn.away", edge),
            ("tilt", true) => Texts.Get("pose.move.tilt.toward"),
            ("tilt", false) => Texts.Get("pose.move.tilt.away"),
            (_, true) => Texts.Get("pose.move.joint.more", PoseText.Joint(axis), Texts.Number(to, "0")),
            _ => Texts.Get("pose.move.joint.less", PoseText.Joint(axis), Texts.Number(to, "0")),
        };
    }

    /// <summary>A place of the body.</summary>
    /// <param name="what">Its name in <c>data/poses/limbs</c>.</param>
    /// <exception cref="ArgumentException">There is no such place.</exception>
    public static string Place(string what) => what switch
    {
        "ankle" => Texts.Get("pose.reach.ankle"),
        "elbow" => Texts.Get("pose.reach.elbow"),
        "heel" => Texts.Get("pose.reach.heel"),
        "hip" => Texts.Get("pose.reach.hip"),
        "inner-epicondyle" => Texts.Get("pose.reach.inner-epicondyle"),
        "knee" => Texts.Get("pose.reach.knee"),
        "left-shoulder" => Texts.Get("pose.reach.left-shoulder"),
        "outer-malleolus" => Texts.Get("pose.reach.outer-malleolus"),
        "palm" => Texts.Get("pose.reach.palm"),
        "patella" => Texts.Get("pose.reach.patella"),
        "right-shoulder" => Texts.Get("pose.reach.right-shoulder"),
        "shoulder" => Texts.Get("pose.reach.shoulder"),
        "ulnar-styloid" => Texts.Get("pose.reach.ulnar-styloid"),
        "wrist" => Texts.Get("pose.reach.wrist"),
        _ => throw new ArgumentException($"There is no word for '{what}'.", nameof(what)),
    };
}
