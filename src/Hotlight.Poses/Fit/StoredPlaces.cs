using System.Globalization;
using System.Reflection;
using System.Text.Json;

namespace Hotlight.Poses;

/// <summary>A <see cref="PlaceTable"/> as it is kept with the model's file: data/poses/places, written by <c>bench/pose places</c>, so that a first fit need not build the phantom.</summary>
internal sealed record StoredPlaces
{
    /// <summary>Decimals that are kept: tenths of a micrometre.</summary>
    public const int Digits = 4;

    private const string ResourcePrefix = "places/";
    private static readonly JsonSerializerOptions Options = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase };

    /// <summary>The model's points, as <see cref="Key(PosePoint)"/> says them.</summary>
    public required IReadOnlyList<string> Points { get; init; }

    /// <summary>The model's joints, as <see cref="Key(PoseJointSpread)"/> says them.</summary>
    public required IReadOnlyList<string> Joints { get; init; }

    /// <summary>Whether the phantom has each point.</summary>
    public required IReadOnlyList<bool> Has { get; init; }

    /// <summary>Least setting of each joint, in degrees.</summary>
    public required IReadOnlyList<double> Minimum { get; init; }

    /// <summary>Greatest setting of each joint, in degrees.</summary>
    public required IReadOnlyList<double> Maximum { get; init; }

    /// <summary>Node by node, for each point its place in mm and its direction of sliding.</summary>
    public required IReadOnlyList<double> Places { get; init; }

    /// <summary>What of a point decides where it lies.</summary>
    public static string Key(PosePoint point)
        => string.Create(CultureInfo.InvariantCulture, $"{point.Id}: {(point.Bone is null ? string.Join("+", point.Anatomy) : $"{point.Bone} {string.Join(" ", point.AtMm!)}")}{(point.Along is { } along ? $" along {string.Join(" ", along.Direction)}" : "")}");

    /// <summary>What of a joint decides the settings.</summary>
    public static string Key(PoseJointSpread joint) => string.Create(CultureInfo.InvariantCulture, $"{joint.Name}: {joint.ExpectedDegrees} ± {joint.SpreadDegrees}");

    /// <summary>Name of the file of a model.</summary>
    public static string FileName(PoseModel model, bool child) => $"{model.ProjectionId}{(child ? ".child" : "")}.json";

    /// <summary>The table that is kept of a model; null where none is, or where it is of other points or joints.</summary>
    public static StoredPlaces? Of(PoseModel model, bool child)
    {
        using Stream? stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(ResourcePrefix + FileName(model, child));
        return stream is not null && JsonSerializer.Deserialize<StoredPlaces>(stream, Options) is { } stored
            && stored.Points.SequenceEqual(model.Points.Select(Key), StringComparer.Ordinal)
            && stored.Joints.SequenceEqual(model.Joints.Select(Key), StringComparer.Ordinal)
            ? stored
            : null;
    }

    /// <summary>The file's text.</summary>
    public string ToJson() => JsonSerializer.Serialize(this, Options) + "\n";
}
