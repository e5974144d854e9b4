using System.Text.Json.Serialization;

namespace Hotlight.Poses;

/// <summary>Which points of a projection are marked for a pose, which joints are fitted, and how people differ: one file of <c>data/poses</c>.</summary>
/// <remarks>Lengths in mm, angles in degrees, directions in the part's or the bone's own frame (docs/methods/pose.md).</remarks>
public sealed record PoseModel
{
    /// <summary>Where an editor finds the schema, relative to the file; not used by the program.</summary>
    [JsonPropertyName("$schema")]
    public string? Schema { get; init; }

    /// <summary>Identifier of the projection in the catalogue, such as "knee-lateral".</summary>
    [JsonPropertyName("projection")]
    public required string ProjectionId { get; init; }

    /// <summary>Part of the phantom lab, such as "knee".</summary>
    public required string Part { get; init; }

    /// <summary>View of the part in the phantom lab, such as "lateral".</summary>
    public required string View { get; init; }

    /// <summary>Points that can be marked; the first are those of the catalogue's projection.</summary>
    public required IReadOnlyList<PosePoint> Points { get; init; }

    /// <summary>Joints that are fitted; empty where none matters.</summary>
    public required IReadOnlyList<PoseJointSpread> Joints { get; init; }

    /// <summary>How sizes differ between people.</summary>
    public required PoseSizeSpread Size { get; init; }

    /// <summary>A point by its identifier, or null.</summary>
    /// <param name="id">Identifier, such as "medial-condyle-back".</param>
    public PosePoint? Find(string id) => Points.FirstOrDefault(point => point.Id == id);
}

/// <summary>A point that can be marked, and where the phantom has it.</summary>
public sealed record PosePoint
{
    /// <summary>Identifier; that of the catalogue's landmark where the projection has one there.</summary>
    public required string Id { get; init; }

    /// <summary>Name; null where the catalogue's landmark gives it in the file, never null once loaded.</summary>
    public string? Name { get; init; }

    /// <summary>Where it lies on the image; null where the catalogue's landmark gives it in the file, never null once loaded.</summary>
    public string? Where { get; init; }

    /// <summary>Whether it lies on an edge that a mark can be moved to.</summary>
    public bool OnEdge { get; init; } = true;

    /// <summary>Landmarks of the phantom whose middle it is; empty where <see cref="Bone"/> says where it is.</summary>
    public IReadOnlyList<string> Anatomy { get; init; } = [];

    /// <summary>Bone of the phantom that it is fixed to; null where <see cref="Anatomy"/> names landmarks.</summary>
    public string? Bone { get; init; }

    /// <summary>Its place in the bone's own frame, x, y, z in mm, of an adult; null without <see cref="Bone"/>.</summary>
    public IReadOnlyList<double>? AtMm { get; init; }

    /// <summary>One standard deviation of its place in any direction between people of one size, with how the reader takes it, in mm.</summary>
    public required double SpreadMm { get; init; }

    /// <summary>A direction in which it is known less, such as along a shaft; null for none.</summary>
    public PoseSlide? Along { get; init; }

    /// <summary>Where the spread comes from: a key of the register of sources.</summary>
    public required string Basis { get; init; }
}

/// <summary>A direction in which a point may slide.</summary>
/// <param name="Direction">x, y, z in the bone's own frame, or in the part's for a point of landmarks; of any length.</param>
/// <param name="SpreadMm">One standard deviation along it, in mm.</param>
public sealed record PoseSlide(IReadOnlyList<double> Direction, double SpreadMm);

/// <summary>A joint that is fitted.</summary>
/// <param name="Name">The phantom's joint, such as "kneeFlexion".</param>
/// <param name="ExpectedDegrees">Where it is expected, in degrees.</param>
/// <param name="SpreadDegrees">One standard deviation about that, in degrees.</param>
/// <param name="Basis">A key of the register of sources.</param>
public sealed record PoseJointSpread(string Name, double ExpectedDegrees, double SpreadDegrees, string Basis);

/// <summary>How sizes differ between people.</summary>
/// <param name="SpreadPercent">One standard deviation of the size of the whole part, in percent.</param>
/// <param name="StretchPercent">One standard deviation by which one axis of the part differs beyond that, in percent.</param>
/// <param name="Basis">A key of the register of sources.</param>
public sealed record PoseSizeSpread(double SpreadPercent, double StretchPercent, string Basis);
