namespace Hotlight.Simulation.Tube;

/// <summary>Air kerma in the field over that on the beam's axis, by the target's self-absorption alone (no inverse square, no filter crossed aslant).</summary>
/// <remarks>Built from the same depth model as the spectrum: towards the anode the photons leave at a flatter angle and cross more tungsten.</remarks>
internal sealed class HeelEffect
{
    private const double StepDegrees = 0.5;
    private const double MostDegrees = 25;

    private readonly double[] relative;

    /// <summary>Tabulates the curve from 25° on the cathode's side to 25° on the anode's.</summary>
    public HeelEffect(XRayTube tube, double tubeVoltageKvp)
    {
        double axis = tube.Spectrum(tubeVoltageKvp).KermaMicrograyPerMas;
        relative = new double[(int)(2 * MostDegrees / StepDegrees) + 1];
        Parallel.For(0, relative.Length, k =>
        {
            double angle = (k * StepDegrees) - MostDegrees;
            relative[k] = tube.AnodeAngleDegrees - angle < 0.1 ? 0 : tube.SpectrumAt(tubeVoltageKvp, angle).KermaMicrograyPerMas / axis;
        });
    }

    /// <summary>Relative kerma at an angle towards the anode (positive) or the cathode (negative), in degrees; 0 where the anode hides the spot; held beyond 25°.</summary>
    public double RelativeKermaAt(double towardsAnodeDegrees)
    {
        double place = Math.Clamp((towardsAnodeDegrees + MostDegrees) / StepDegrees, 0, relative.Length - 1);
        int k = Math.Min((int)place, relative.Length - 2);
        return relative[k] + ((relative[k + 1] - relative[k]) * (place - k));
    }
}
