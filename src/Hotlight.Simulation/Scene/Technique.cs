using Hotlight.Simulation.Attenuation;

namespace Hotlight.Simulation.Scene;

/// <summary>How an exposure is made.</summary>
internal sealed record Technique
{
    public required double TubeVoltageKvp { get; init; }

    public required double ExposureMas { get; init; }

    public required double ExposureTimeMs { get; init; }

    public required double SourceImageDistanceMm { get; init; }

    public required double FocalSpotMm { get; init; }

    public required double FiltrationMmAluminium { get; init; }

    /// <summary>Whether an anti-scatter grid is used.</summary>
    public bool Grid { get; init; }

    public double TubeCurrentMa => ExposureMas / ExposureTimeMs * 1000;

    /// <summary>Air kerma at the receptor's plane with neither patient nor grid in the beam, in µGy: 45 µGy per mAs at 1 m and 70 kV, with the square of voltage and the inverse square of distance (common practice, no source).</summary>
    public double IncidentKermaMicrogray => 45 * ExposureMas * Math.Pow(TubeVoltageKvp / 70, 2) * Math.Pow(1000 / SourceImageDistanceMm, 2);

    /// <summary>The same behind the grid, where one is used: what the receptor gets without a patient.</summary>
    public double DirectKermaMicrogray => IncidentKermaMicrogray * (Grid ? 0.65 : 1);

    public BeamSpectrum Beam() => new(TubeVoltageKvp, FiltrationMmAluminium);
}
