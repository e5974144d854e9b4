using System.Collections.Concurrent;
using System.Numerics;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Objects;

/// <summary>The lead letter, or word, on its clip: 1.2 mm of lead in an acrylic holder of 2.2 mm (common sizes, no source).</summary>
internal static class SideMarkers
{
    private const float LeadMm = 1.2f;

    private const float HolderMm = 2.2f;

    /// <summary>Letters whose surfaces are kept.</summary>
    private const int MostMade = 64;

    private static readonly ConcurrentDictionary<(string Word, bool IsLetter, double HeightMm), Lazy<(TriangleMesh Holder, TriangleMesh Letter)>> Made = new();

    /// <summary>The surfaces of a lead letter; none for a drawn one.</summary>
    public static IReadOnlyList<BeamItem> Build(SceneMarker marker)
    {
        if (marker.Kind != "lead")
        {
            return [];
        }

        Pose pose = PoseOf(marker);
        string word = marker.Word ?? marker.Letter;
        if (Made.Count > MostMade)
        {
            Made.Clear();
        }

        (TriangleMesh holder, TriangleMesh letter) = Made.GetOrAdd((word, marker.Word is null, marker.HeightMm), key => new Lazy<(TriangleMesh, TriangleMesh)>(() => Make(key.Word, key.IsLetter, key.HeightMm))).Value;
        return
        [
            new BeamItem(holder, pose, "polymethyl methacrylate", 1, false),
            new BeamItem(letter, pose, "polymethyl methacrylate", -1, false),
            new BeamItem(letter, pose, "lead", 1, false),
        ];
    }

    /// <summary>Where the letter lies: its own x to the right and y down as it reads; a mirrored one lies face down.</summary>
    public static Pose PoseOf(SceneMarker marker)
    {
        (float sin, float cos) = MathF.SinCos((float)(marker.TurnDegrees * Math.PI / 180));
        Vector3 x = new(cos, sin, 0);
        return new Pose(
            new Vector3((float)marker.CentreMm[0], (float)marker.CentreMm[1], (float)marker.AboveReceptorMm + (HolderMm / 2)),
            marker.Mirrored ? -x : x,
            new Vector3(-sin, cos, 0),
            marker.Mirrored ? -Vector3.UnitZ : Vector3.UnitZ);
    }

    private static (TriangleMesh Holder, TriangleMesh Letter) Make(string word, bool isLetter, double heightMm)
    {
        float h = (float)heightMm;
        Letter lead = new(word, heightMm, LeadMm);

        // Half the holder's length: beside a word as much room as beside a letter.
        float w = isLetter ? 0.8f * h : lead.ReachMm + (0.2f * h);
        Shape holder = new Plate(
            [(-w + (0.08f * h), -0.8f * h), (w - (0.08f * h), -0.8f * h), (w, -0.72f * h), (w, 0.72f * h), (w - (0.08f * h), 0.8f * h), (-w + (0.08f * h), 0.8f * h), (-w, 0.72f * h), (-w, -0.72f * h)],
            -HolderMm / 2,
            HolderMm / 2,
            0.6);
        return (ShapeMesher.FromShape(holder, 0.8f), ShapeMesher.FromShape(lead, 0.3f));
    }
}
