using System.Numerics;
using System.Text.Json;
using Hotlight.Simulation.Phantom;

namespace Hotlight.Training.Landmarks;

/// <summary>A point of a pose's model: the mean of landmarks of the phantom, or a place of a bone.</summary>
/// <param name="Id">As in data/poses.</param>
/// <param name="Anatomy">Landmarks; empty where a bone is named.</param>
/// <param name="Bone">The bone; null where landmarks are named.</param>
/// <param name="AtMm">Place in the bone's frame, in mm of an adult.</param>
internal sealed record PosePoint(string Id, string[] Anatomy, string? Bone, Vector3 AtMm)
{
    /// <summary>A child's bones over an adult's, about.</summary>
    private const float ChildShare = 0.72f;

    /// <summary>The points of some models, each once.</summary>
    /// <param name="folder">data/poses.</param>
    /// <param name="models">Identifiers of projections.</param>
    public static IReadOnlyList<PosePoint> Read(string folder, string[] models)
    {
        List<PosePoint> found = [];
        foreach (string model in models)
        {
            using JsonDocument document = JsonDocument.Parse(File.ReadAllText(Path.Combine(folder, model + ".json")));
            foreach (JsonElement point in document.RootElement.GetProperty("points").EnumerateArray())
            {
                string id = point.GetProperty("id").GetString()!;
                if (found.Any(each => each.Id == id))
                {
                    continue;
                }

                string[] anatomy = point.TryGetProperty("anatomy", out JsonElement names) ? [.. names.EnumerateArray().Select(name => name.GetString()!)] : [];
                string? bone = point.TryGetProperty("bone", out JsonElement named) ? named.GetString() : null;
                float[] at = point.TryGetProperty("atMm", out JsonElement place) ? [.. place.EnumerateArray().Select(each => each.GetSingle())] : [0, 0, 0];
                found.Add(new PosePoint(id, anatomy, bone, new Vector3(at[0], at[1], at[2])));
            }
        }

        return found;
    }

    /// <summary>The place in the part's frame, in mm; null where this body has no such thing.</summary>
    /// <param name="body">A part, its joints set.</param>
    /// <param name="child">Whether it is a child's.</param>
    public Vector3? In(Body body, bool child)
    {
        if (Bone is null)
        {
            return Anatomy.All(body.Landmarks.ContainsKey)
                ? Anatomy.Aggregate(Vector3.Zero, (sum, name) => sum + body.Landmarks[name]) / Anatomy.Length
                : null;
        }

        return body.Bones.FirstOrDefault(bone => bone.Name == Bone) is { } found
            ? found.Pose.ToOuter(child ? ChildShare * AtMm : AtMm)
            : null;
    }
}
