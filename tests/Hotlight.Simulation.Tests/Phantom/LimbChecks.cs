using System.Globalization;
using System.Numerics;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Phantom;

/// <summary>What has to hold for every part drawn bone by bone; looked for on grids of points.</summary>
internal static class LimbChecks
{
    public static PartForm Form(BodySize size, params (string Joint, double Degrees)[] joints)
        => new() { Size = size, Joints = joints.ToDictionary(each => each.Joint, each => each.Degrees) };

    /// <summary>The part at rest, at both ends of every joint, and with each view's joints.</summary>
    public static IEnumerable<PartForm> Settings(PartPhantom part, BodySize size)
    {
        yield return Form(size);
        foreach (JointRange joint in part.Joints)
        {
            yield return Form(size, (joint.Name, joint.MinimumDegrees));
            yield return Form(size, (joint.Name, joint.MaximumDegrees));
        }

        foreach (PartView view in part.Views.Where(view => view.Joints.Count > 0))
        {
            yield return new PartForm { Size = size, Joints = view.Joints };
        }
    }

    /// <summary>Every bone's surface as one distance: which bone is nearest to a point.</summary>
    public static float ToNearestBone(Body body, Vector3 point)
        => body.Bones.Min(bone => MathF.Abs(bone.Surface.Distance(bone.Pose.ToLocal(point))));

    /// <summary>Least depth of a bone's surface under the skin, in mm; negative where a bone pokes out. Only where the bone's own outer box is not cut off by the part's end.</summary>
    public static (float DepthMm, string Bone) LeastCover(Body body, float cellMm, Func<Vector3, bool> counts)
    {
        float least = float.MaxValue;
        string name = "";
        foreach (Bone bone in body.Bones)
        {
            foreach (Vector3 point in Grid(bone.Surface.Bounds, cellMm))
            {
                float outside = bone.Surface.Distance(point);
                if (MathF.Abs(outside) > 0.5f * cellMm)
                {
                    continue;
                }

                Vector3 place = bone.Pose.ToOuter(point);
                if (!counts(place))
                {
                    continue;
                }

                // The surface lies deeper than a point outside it, by that much.
                float depth = outside - body.Skin.Distance(place);
                if (depth < least)
                {
                    least = depth;
                    name = FormattableString.Invariant($"{bone.Name} at {place.X:0}, {place.Y:0}, {place.Z:0}");
                }
            }
        }

        return (least, name);
    }

    /// <summary>The deepest that any two bones lie within each other, in mm; 0 where none do.</summary>
    public static (float DepthMm, string Pair) DeepestOverlap(Body body, float cellMm)
    {
        float deepest = 0;
        string pair = "none";
        for (int first = 0; first < body.Bones.Count; first++)
        {
            Bone a = body.Bones[first];
            for (int second = first + 1; second < body.Bones.Count; second++)
            {
                Bone b = body.Bones[second];
                Box boxA = a.Pose.ToOuter(a.Surface.Bounds);
                Box boxB = b.Pose.ToOuter(b.Surface.Bounds);
                Box common = new(Vector3.Max(boxA.Minimum, boxB.Minimum), Vector3.Min(boxA.Maximum, boxB.Maximum));
                if (common.Minimum.X >= common.Maximum.X || common.Minimum.Y >= common.Maximum.Y || common.Minimum.Z >= common.Maximum.Z)
                {
                    continue;
                }

                foreach (Vector3 point in Grid(common, cellMm))
                {
                    float depth = -a.Surface.Distance(a.Pose.ToLocal(point));
                    if (depth <= deepest)
                    {
                        continue;
                    }

                    depth = MathF.Min(depth, -b.Surface.Distance(b.Pose.ToLocal(point)));
                    if (depth > deepest)
                    {
                        deepest = depth;
                        pair = a.Name + " and " + b.Name;
                    }
                }
            }
        }

        return (deepest, pair);
    }

    /// <summary>Extent of a shape along a direction, over points of a grid that satisfy a condition, by the surface's distance, in mm.</summary>
    public static (float Low, float High) Extent(Shape shape, Vector3 direction, float cellMm, Func<Vector3, bool>? where = null)
    {
        float low = float.MaxValue;
        float high = float.MinValue;
        foreach (Vector3 point in Grid(shape.Bounds, cellMm))
        {
            if (shape.Distance(point) > 0 || !(where?.Invoke(point) ?? true))
            {
                continue;
            }

            float at = Vector3.Dot(point, direction);
            low = MathF.Min(low, at);
            high = MathF.Max(high, at);
        }

        return (low, high);
    }

    public static Body Placed(PartPhantom part, string view, PartForm form, PartOffset offset, bool left = false)
        => part.Place(part.View(view), form, left, offset, (skin, pose) => new Posed(pose, skin).Bounds.Minimum.Z);

    public static string Text(float value) => value.ToString("0.00", CultureInfo.InvariantCulture);

    private static IEnumerable<Vector3> Grid(Box box, float cellMm)
    {
        for (float x = box.Minimum.X; x <= box.Maximum.X; x += cellMm)
        {
            for (float y = box.Minimum.Y; y <= box.Maximum.Y; y += cellMm)
            {
                for (float z = box.Minimum.Z; z <= box.Maximum.Z; z += cellMm)
                {
                    yield return new Vector3(x, y, z);
                }
            }
        }
    }
}
