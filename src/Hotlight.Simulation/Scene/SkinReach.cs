using System.Collections.Concurrent;
using System.Numerics;
using System.Runtime.CompilerServices;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Scene;

/// <summary>The lowest point of a skin: the lowest points of a coarse mesh, each followed down the skin itself.</summary>
internal static class SkinReach
{
    private const int Starts = 6;
    private const int Steps = 40;
    private const ulong Variant = 0x5E1F_0000_0000_0000;

    /// <summary>Directions in which the last skins were followed, with how low they reach: a scene asks several times.</summary>
    private static readonly ConditionalWeakTable<Shape, ConcurrentDictionary<Vector3, float>> Known = [];

    /// <summary>Lowest point of a skin in a pose, in mm; 0 for an empty one.</summary>
    public static float LowestZ(Shape skin, Pose pose)
    {
        Vector3 up = new(pose.X.Z, pose.Y.Z, pose.Z.Z);
        ConcurrentDictionary<Vector3, float> known = Known.GetOrCreateValue(skin);
        if (known.Count > 512)
        {
            known.Clear();
        }

        float lowest = known.GetOrAdd(up, direction => Lowest(skin, direction));
        return float.IsNaN(lowest) ? 0 : pose.Origin.Z + lowest;
    }

    /// <summary>How low a skin reaches along a direction, in its own frame; NaN for an empty one.</summary>
    private static float Lowest(Shape skin, Vector3 up)
    {
        Vector3 size = skin.Bounds.Maximum - skin.Bounds.Minimum;
        float cell = Math.Clamp(MathF.Min(size.X, MathF.Min(size.Y, size.Z)) / 8, 6, 14);
        TriangleMesh mesh = MeshCache.Common.Get(skin, Variant | BitConverter.SingleToUInt32Bits(cell), () => ShapeMesher.FromShape(skin, cell));
        if (mesh.IsEmpty)
        {
            return float.NaN;
        }

        float lowest = float.MaxValue;
        List<Vector3> taken = [];
        for (int start = 0; start < Starts; start++)
        {
            Vector3 best = default;
            float least = float.MaxValue;
            foreach (Vector3 vertex in mesh.Vertices)
            {
                float height = Vector3.Dot(vertex, up);
                if (height < least && !Near(taken, vertex, 3 * cell))
                {
                    least = height;
                    best = vertex;
                }
            }

            // Where the facets' sagitta can't make up for the way, no start is needed.
            if (least > lowest + cell)
            {
                break;
            }

            taken.Add(best);
            lowest = MathF.Min(lowest, Followed(skin, best, up, cell));
        }

        return lowest;
    }

    private static bool Near(List<Vector3> taken, Vector3 vertex, float within)
    {
        foreach (Vector3 other in taken)
        {
            if (Vector3.DistanceSquared(other, vertex) < within * within)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Slides down the skin; each step is put back onto it.</summary>
    private static float Followed(Shape skin, Vector3 start, Vector3 up, float cellMm)
    {
        Vector3 place = start;
        float least = Vector3.Dot(start, up);
        float reach = 0.5f * cellMm;
        for (int step = 0; step < Steps && reach > 0.02f; step++)
        {
            Vector3 gradient = Gradient(skin, place);
            float steep = gradient.LengthSquared();
            if (!(steep > 1e-6f))
            {
                break;
            }

            Vector3 normal = gradient / MathF.Sqrt(steep);
            Vector3 down = -(up - (Vector3.Dot(up, normal) * normal));
            float length = down.Length();
            if (length < 1e-3f)
            {
                break;
            }

            // Along the rim of a part that is cut off flat, straight down leads over the edge: slanted ways are tried too.
            down /= length;
            Vector3 side = Vector3.Cross(normal, down);
            Vector3 best = place;
            foreach (Vector3 way in (ReadOnlySpan<Vector3>)[down, down + side, down - side, side, -side])
            {
                Vector3 moved = OnSkin(skin, place + (reach * way), cellMm);
                float height = Vector3.Dot(moved, up);
                if (height < least && MathF.Abs(skin.Distance(moved)) < 0.05f)
                {
                    best = moved;
                    least = height;
                }
            }

            reach *= best == place ? 0.4f : 1;
            place = best;
        }

        return least;
    }

    private static Vector3 OnSkin(Shape skin, Vector3 place, float cellMm)
    {
        for (int back = 0; back < 2; back++)
        {
            Vector3 slope = Gradient(skin, place);
            float square = slope.LengthSquared();
            if (square > 1e-6f)
            {
                place -= Vector3.Clamp(skin.Distance(place) / square * slope, new Vector3(-cellMm), new Vector3(cellMm));
            }
        }

        return place;
    }

    private static Vector3 Gradient(Shape skin, Vector3 place)
    {
        const float Step = 0.25f;
        return new Vector3(
            skin.Distance(place + (Step * Vector3.UnitX)) - skin.Distance(place - (Step * Vector3.UnitX)),
            skin.Distance(place + (Step * Vector3.UnitY)) - skin.Distance(place - (Step * Vector3.UnitY)),
            skin.Distance(place + (Step * Vector3.UnitZ)) - skin.Distance(place - (Step * Vector3.UnitZ))) / (2 * Step);
    }
}
