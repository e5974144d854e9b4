using Hotlight.Judgement;

namespace Hotlight.Teaching.Practice;

/// <summary>Kinds of fault that an exercise is about. The numbers are kept: none changes its meaning.</summary>
public enum FaultKind
{
    /// <summary>No fault is planted.</summary>
    None = 0,

    /// <summary>The part lay otherwise than the projection demands.</summary>
    Position = 1,

    /// <summary>The receptor got too much or too little.</summary>
    Exposure = 2,

    /// <summary>The part moved.</summary>
    Motion = 3,

    /// <summary>Needed anatomy is outside the field.</summary>
    Clipping = 4,

    /// <summary>The side marker is missing, wrong, drawn or over anatomy.</summary>
    Marker = 5,

    /// <summary>Something is in the image that is not of the patient.</summary>
    Artifact = 6,

    /// <summary>Another part of the checklist; only in cases of the clinic.</summary>
    Other = 7,

    /// <summary>The field is far wider than the part needs, or its edges are not seen.</summary>
    Collimation = 8,
}

/// <summary>How plain a planted fault is.</summary>
public enum Difficulty
{
    /// <summary>Plain to see.</summary>
    Plain = 0,

    /// <summary>In between.</summary>
    Moderate = 1,

    /// <summary>Just beyond the tolerance.</summary>
    Subtle = 2,
}

/// <summary>Kinds of fault and parts of the checklist.</summary>
public static class FaultKinds
{
    /// <summary>The kinds that the lab plants.</summary>
    public static IReadOnlyList<FaultKind> Planted { get; } = [FaultKind.Position, FaultKind.Clipping, FaultKind.Exposure, FaultKind.Motion, FaultKind.Artifact, FaultKind.Marker, FaultKind.Collimation];

    /// <summary>The kind that a line's fault is of.</summary>
    /// <param name="section">The part of the checklist.</param>
    public static FaultKind Of(ChecklistSection section) => section switch
    {
        ChecklistSection.RequiredAnatomy => FaultKind.Clipping,
        ChecklistSection.Positioning => FaultKind.Position,
        ChecklistSection.Exposure => FaultKind.Exposure,
        ChecklistSection.Sharpness => FaultKind.Motion,
        ChecklistSection.Artifacts => FaultKind.Artifact,
        ChecklistSection.SideMarker => FaultKind.Marker,
        ChecklistSection.Collimation => FaultKind.Collimation,
        _ => FaultKind.Other,
    };

    /// <summary>The kind that a line's fault is of.</summary>
    /// <param name="lineId">Identifier of the line.</param>
    public static FaultKind Of(string lineId)
    {
        ArgumentNullException.ThrowIfNull(lineId);
        return lineId[..Math.Max(0, lineId.IndexOf('.', StringComparison.Ordinal))] switch
        {
            "anatomy" => FaultKind.Clipping,
            "position" => FaultKind.Position,
            "exposure" => FaultKind.Exposure,
            "sharpness" => FaultKind.Motion,
            "artifacts" => FaultKind.Artifact,
            "marker" => FaultKind.Marker,
            "collimation" => FaultKind.Collimation,
            _ => FaultKind.Other,
        };
    }

    /// <summary>A kind in words, as the name of a fault.</summary>
    /// <param name="kind">The kind.</param>
    public static string Words(FaultKind kind) => kind switch
    {
        FaultKind.None => "images without a fault",
        FaultKind.Position => "position",
        FaultKind.Exposure => "exposure",
        FaultKind.Motion => "movement",
        FaultKind.Clipping => "anatomy outside the field",
        FaultKind.Marker => "side marker",
        FaultKind.Collimation => "collimation",
        FaultKind.Artifact => "artifacts",
        _ => "other lines",
    };
}
