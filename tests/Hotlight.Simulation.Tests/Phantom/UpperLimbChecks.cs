using System.Numerics;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Phantom;

/// <summary>Facts that hold for every part of the body, measured on points of its bones.</summary>
internal static class UpperLimbChecks
{
    /// <summary>Points of a bone's inside on a cubic lattice, in the part's frame.</summary>
    public static IEnumerable<Vector3> Inside(Bone bone, float stepMm, Vector3 minimum, Vector3 maximum)
    {
        Box box = bone.Surface.Bounds;
        for (float x = box.Minimum.X; x <= box.Maximum.X; x += stepMm)
        {
            for (float y = box.Minimum.Y; y <= box.Maximum.Y; y += stepMm)
            {
                for (float z = box.Minimum.Z; z <= box.Maximum.Z; z += stepMm)
                {
                    Vector3 local = new(x, y, z);
                    Vector3 outer = bone.Pose.ToOuter(local);
                    if (Vector3.Clamp(outer, minimum, maximum) == outer && bone.Surface.Distance(local) < 0)
                    {
                        yield return outer;
                    }
                }
            }
        }
    }

    /// <summary>The bones that have a point outside the skin, each with the point that is farthest out.</summary>
    public static List<string> BonesOutsideSkin(Body body, float stepMm)
    {
        List<string> found = [];
        foreach (Bone bone in body.Bones)
        {
            Vector3 farthest = Inside(bone, stepMm, new Vector3(-1000), new Vector3(1000)).MaxBy(body.Skin.Distance);
            float outside = body.Skin.Distance(farthest);
            if (outside > 0)
            {
                found.Add(FormattableString.Invariant($"{bone.Name}: {outside:0.0} mm at {farthest}"));
            }
        }

        return found;
    }

    /// <summary>The deepest that two bones lie in each other, in mm, by name.</summary>
    public static List<(string Pair, float DepthMm)> Collisions(Body body, float stepMm, float allowedMm)
    {
        List<(string, float)> found = [];
        for (int first = 0; first < body.Bones.Count; first++)
        {
            Bone a = body.Bones[first];
            Box boxA = a.Pose.ToOuter(a.Surface.Bounds);
            for (int second = first + 1; second < body.Bones.Count; second++)
            {
                Bone b = body.Bones[second];
                Box boxB = b.Pose.ToOuter(b.Surface.Bounds);
                Vector3 low = Vector3.Max(boxA.Minimum, boxB.Minimum);
                Vector3 high = Vector3.Min(boxA.Maximum, boxB.Maximum);
                if (low.X >= high.X || low.Y >= high.Y || low.Z >= high.Z)
                {
                    continue;
                }

                float deepest = 0;
                foreach (Vector3 point in Inside(a, stepMm, low, high))
                {
                    float depth = MathF.Min(-a.Surface.Distance(a.Pose.ToLocal(point)), -b.Surface.Distance(b.Pose.ToLocal(point)));
                    deepest = MathF.Max(deepest, depth);
                }

                if (deepest > allowedMm)
                {
                    found.Add(($"{a.Name} in {b.Name}", deepest));
                }
            }
        }

        return found;
    }

    /// <summary>The landmarks that lie farther from every bone's surface than allowed.</summary>
    public static List<(string Landmark, float Mm)> LandmarksOffBone(Body body, float allowedMm)
        => [.. body.Landmarks
            .Select(mark => (mark.Key, body.Bones.Min(bone => MathF.Abs(bone.Surface.Distance(bone.Pose.ToLocal(mark.Value))))))
            .Where(mark => mark.Item2 > allowedMm)];

    /// <summary>Extent of a bone along a direction of the part's frame, in mm.</summary>
    public static float ExtentMm(Body body, string bone, Vector3 direction, float stepMm)
    {
        Bone found = body.Bones.Single(each => each.Name == bone);
        Vector3 along = Vector3.Normalize(direction);
        List<float> places = [.. Inside(found, stepMm, new Vector3(-1000), new Vector3(1000)).Select(point => Vector3.Dot(point, along))];
        return places.Max() - places.Min();
    }
}
