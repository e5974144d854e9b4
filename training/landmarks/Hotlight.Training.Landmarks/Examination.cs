namespace Hotlight.Training.Landmarks;

/// <summary>How a part is varied for the training.</summary>
/// <param name="Key">Name of the files.</param>
/// <param name="Part">Part of the lab.</param>
/// <param name="Views">Views it is laid in, each as often.</param>
/// <param name="SideMm">Side of the square receptor, in mm: more than any field shows.</param>
/// <param name="TurnDegrees">Turn and tilt go from minus to plus this.</param>
/// <param name="TiltDegrees">See <paramref name="TurnDegrees"/>.</param>
/// <param name="DistancesMm">Least and greatest distance from source to receptor, in mm.</param>
/// <param name="Joints">Least and greatest setting of the joints, in degrees.</param>
/// <param name="Poses">Files of data/poses whose points are told.</param>
internal sealed record Examination(
    string Key,
    string Part,
    string[] Views,
    double SideMm,
    double TurnDegrees,
    double TiltDegrees,
    (double Least, double Most) DistancesMm,
    Dictionary<string, (double Least, double Most)> Joints,
    string[] Poses)
{
    /// <summary>The four that the networks know.</summary>
    public static Examination[] All { get; } =
    [
        new("chest", "chest", ["pa", "pa", "ap"], 520, 15, 10, (1000, 2000), new() { ["inspiration"] = (2, 10), ["shoulderRoll"] = (0, 30), ["armRaise"] = (0, 40) }, ["chest-pa"]),
        new("elbow", "elbow", ["lateral"], 320, 25, 20, (950, 1250), new() { ["elbowFlexion"] = (55, 125), ["forearmPronation"] = (50, 130) }, ["elbow-lateral"]),
        new("ankle", "foot", ["ankle-ap", "ankle-mortise"], 320, 25, 20, (950, 1250), new() { ["ankleDorsiflexion"] = (-35, 20), ["legForward"] = (-15, 15) }, ["ankle-ap", "ankle-mortise"]),
        new("knee", "knee", ["ap"], 320, 25, 20, (950, 1250), [], ["knee-ap"]),
    ];
}
