namespace Hotlight.Measure.Sharpness;

/// <summary>An edge-spread function fitted across an edge.</summary>
/// <param name="X">Column of the edge's middle, in pixels.</param>
/// <param name="Y">Row of the edge's middle, in pixels.</param>
/// <param name="DirectionDegrees">Direction of its normal, along which its blur is seen, 0 to 180.</param>
/// <param name="SigmaMm">Sigma of the Gaussian, in mm, without what the sampling adds.</param>
/// <param name="RoundedSigmaMm">The same where the edge of a rounded body (<see cref="RoundedEdge"/>) leaves clearly less than a step does: sigma of the blur before it; else <paramref name="SigmaMm"/>.</param>
/// <param name="RelativeError">One standard deviation of sigma over sigma.</param>
/// <param name="Step">Height of the edge, in units of value.</param>
/// <param name="ResidualShare">Root mean square of what the fit leaves over the step's height.</param>
/// <param name="WindowMm">Reach of the window that fitted, in mm.</param>
/// <param name="ShiftMm">From the candidate's place along the normal, in mm.</param>
/// <param name="ShiftErrorMm">One standard deviation of the same.</param>
/// <param name="LowValue">Value beside the edge on its lower side, as the profile has it.</param>
/// <param name="HighValue">Value beside the edge on its higher side.</param>
/// <param name="Candidate">Where it was sought.</param>
internal readonly record struct FittedEdge(
    double X,
    double Y,
    double DirectionDegrees,
    double SigmaMm,
    double RoundedSigmaMm,
    double RelativeError,
    double Step,
    double ResidualShare,
    double WindowMm,
    double ShiftMm,
    double ShiftErrorMm,
    double LowValue,
    double HighValue,
    EdgeCandidate Candidate);
