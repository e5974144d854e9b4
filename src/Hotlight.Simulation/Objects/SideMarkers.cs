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

    /// <summary>The surfaces of a lead letter; none for a drawn one.</summary>
    public static IReadOnlyList<BeamItem> Build(SceneMarker marker)
    {
        if (marker.Kind != "lead")
        {
            return [];
        }

        Pose pose = PoseOf(marker);
        float h = (float)marker.HeightMm;
        Letter lead = new(marker.Word ?? marker.Letter, marker.HeightMm, LeadMm);

        // Half the holder's length: beside a word as much room as beside a letter.
        float w = marker.Word is null ? 0.8f * h : lead.ReachMm + (0.2f * h);
        Shape holder = new Plate(
            [(-w + (0.08f * h), -0.8f * h), (w - (0.08f * h), -0.8f * h), (w, -0.72f * h), (w, 0.72f * h), (w - (0.08f * h), 0.8f * h), (-w + (0.08f * h), 0.8f * h), (-w, 0.72f * h), (-w, -0.72f * h)],
            -HolderMm / 2,
            HolderMm / 2,
            0.6);
        TriangleMesh letter = ShapeMesher.FromShape(lead, 0.3f);
        return
        [
            new BeamItem(ShapeMesher.FromShape(holder, 0.8f), pose, "polymethyl methacrylate", 1, false),
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
}
