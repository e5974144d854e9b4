using System.Numerics;
using Hotlight.Imaging.Dicom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Scene;

/// <summary>What a header says of the part and the view.</summary>
/// <param name="BodyPart">Body Part Examined (0018,0015), a defined term of PS3.16 annex L.</param>
/// <param name="Region">Anatomic region, SNOMED CT, DICOM context group 4009 (from memory).</param>
/// <param name="ViewPosition">View Position (0018,5101), or null.</param>
/// <param name="View">View, SNOMED CT, context group 4010 (from memory), or null.</param>
internal sealed record Examination(string BodyPart, DxCode Region, string? ViewPosition, DxCode? View)
{
    // The part's frame in letters of PS3.3 C.7.6.1.1.1 for a right side in the anatomical position: where x, y and z lead.
    private static readonly Dictionary<string, (string BodyPart, DxCode Region, string Axes)> Parts = new(StringComparer.Ordinal)
    {
        ["wrist"] = ("WRIST", new("74670003", "Wrist joint"), "RFP"),
        ["elbow"] = ("ELBOW", new("16953009", "Elbow joint"), "AHR"),
        ["shoulder"] = ("SHOULDER", new("16982005", "Shoulder"), "RHA"),
        ["foot"] = ("ANKLE", new("70258002", "Ankle joint"), "LHA"),
        ["knee"] = ("KNEE", new("72696002", "Knee"), "LHA"),
        ["pelvis"] = ("PELVIS", new("12921003", "Pelvis"), "LHA"),
        ["chest"] = ("CHEST", new("51185008", "Chest"), "LHP"),
        ["lumbarSpine"] = ("LSPINE", new("122496007", "Lumbar spine"), "LHA"),
    };

    /// <summary>The examination of a scene's part and view; null without a part.</summary>
    public static Examination? Of(SceneDocument scene)
    {
        if (scene.Part is not { } part || !Parts.TryGetValue(part.Name, out (string BodyPart, DxCode Region, string Axes) known))
        {
            return null;
        }

        string bodyPart = known.BodyPart;
        DxCode region = known.Region;
        if (part.View.StartsWith("hand", StringComparison.Ordinal))
        {
            (bodyPart, region) = ("HAND", new DxCode("85562004", "Hand"));
        }
        else if (part.View.StartsWith("foot", StringComparison.Ordinal))
        {
            (bodyPart, region) = ("FOOT", new DxCode("56459004", "Foot"));
        }
        else if (part.View.StartsWith("hip", StringComparison.Ordinal))
        {
            (bodyPart, region) = ("HIP", new DxCode("24136001", "Hip joint"));
        }

        return part.View.Split('-')[^1] switch
        {
            "pa" => new Examination(bodyPart, region, "PA", new DxCode("272479007", "postero-anterior")),
            "ap" or "dp" or "mortise" => new Examination(bodyPart, region, "AP", new DxCode("399348003", "antero-posterior")),
            "lateral" => new Examination(bodyPart, region, "LL", new DxCode("399067008", "lateral")),
            _ => new Examination(bodyPart, region, null, null),
        };
    }

    /// <summary>Whether a part has a right and a left.</summary>
    public static bool IsPaired(ScenePart part) => part.Name is not ("chest" or "pelvis" or "lumbarSpine");

    /// <summary>Whether a part is drawn as the mirror image of the right side; what lies in the middle never is.</summary>
    public static bool IsMirrored(ScenePart part) => part.Side == "L" && IsPaired(part);

    /// <summary>Patient Orientation (0020,0020): where columns and rows lead, by the nearest anatomical direction; null without a known part.</summary>
    /// <param name="scene">The scene.</param>
    /// <param name="placement">The part's frame in the room.</param>
    public static string? PatientOrientation(SceneDocument scene, Pose placement)
    {
        if (scene.Part is not { } part || !Parts.TryGetValue(part.Name, out (string BodyPart, DxCode Region, string Axes) known))
        {
            return null;
        }

        return Nearest(Vector3.UnitX) + "\\" + Nearest(Vector3.UnitY);

        string Nearest(Vector3 room)
        {
            (float Along, char Letter)[] axes = [(Vector3.Dot(room, placement.X), known.Axes[0]), (Vector3.Dot(room, placement.Y), known.Axes[1]), (Vector3.Dot(room, placement.Z), known.Axes[2])];
            (float along, char letter) = axes.MaxBy(axis => MathF.Abs(axis.Along));
            char named = along >= 0 ? letter : Opposite(letter);

            // A left side is drawn as the mirror image of a right one.
            return (IsMirrored(part) && (named is 'L' or 'R') ? Opposite(named) : named).ToString();
        }
    }

    private static char Opposite(char letter) => letter switch
    {
        'L' => 'R',
        'R' => 'L',
        'A' => 'P',
        'P' => 'A',
        'H' => 'F',
        _ => 'H',
    };
}
