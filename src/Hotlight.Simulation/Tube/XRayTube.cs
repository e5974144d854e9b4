using Hotlight.Core;
using Hotlight.Simulation.Attenuation;

namespace Hotlight.Simulation.Tube;

/// <summary>A tube with its generator and its filters.</summary>
/// <remarks>The beam's axis stands at right angles to the tube's axis; along the tube's axis an angle is positive towards the anode. See docs/methods/tube.md.</remarks>
internal sealed record XRayTube
{
    /// <summary>Lowest tube voltage, in kVp.</summary>
    public const double LowestKvp = 40;

    /// <summary>Highest tube voltage, in kVp.</summary>
    public const double HighestKvp = 150;

    /// <summary>Angle between the anode's face and the beam's axis, in degrees, 5 to 45.</summary>
    public double AnodeAngleDegrees { get; init; } = 12;

    /// <summary>Ripple of the voltage (maximum − minimum)/maximum, in percent, 0 to 100: 100 is one phase, 13.4 six pulses, 3.4 twelve pulses, 0 constant potential.</summary>
    public double RipplePercent { get; init; }

    /// <summary>Everything between target and patient that the whole beam crosses: window, oil, mirror, added filters, as layers.</summary>
    public IReadOnlyList<FilterLayer> Filtration { get; init; } = [new(Material.Aluminium, 2.5)];

    /// <summary>Output of this tube over that of the model, 1 for the model itself; older and dirtier tubes give less.</summary>
    public double OutputShare { get; init; } = 1;

    /// <summary>The focal spot in use.</summary>
    public FocalSpot FocalSpot { get; init; } = new(1.2, 1.2);

    /// <summary>The spectrum on the beam's axis.</summary>
    /// <param name="tubeVoltageKvp">Peak voltage, 40 to 150 kVp.</param>
    public TubeSpectrum Spectrum(double tubeVoltageKvp) => SpectrumAt(tubeVoltageKvp, 0);

    /// <summary>The spectrum in a direction along the tube's axis.</summary>
    /// <param name="tubeVoltageKvp">Peak voltage, 40 to 150 kVp.</param>
    /// <param name="towardsAnodeDegrees">Angle from the beam's axis towards the anode, in degrees; below the anode's angle. Beyond it the target hides the focal spot: <see cref="Heel"/> gives 0 there.</param>
    public TubeSpectrum SpectrumAt(double tubeVoltageKvp, double towardsAnodeDegrees)
    {
        Preconditions.Within(tubeVoltageKvp, LowestKvp, HighestKvp);
        Preconditions.Within(AnodeAngleDegrees, 5, 45);
        Preconditions.Within(RipplePercent, 0, 100);
        Preconditions.AboveZero(OutputShare);
        double takeOff = Preconditions.Within(AnodeAngleDegrees - towardsAnodeDegrees, 0.1, 90);
        return TubeSpectrum.Emitted(tubeVoltageKvp, RipplePercent, takeOff, OutputShare).Behind([.. Filtration]);
    }

    /// <summary>The same tube with as much more aluminium as gives it a half-value layer: how IEC 61267 sets RQR, and how to match a room whose half-value layer is known.</summary>
    /// <param name="tubeVoltageKvp">Voltage at which the layer was measured, 40 to 150 kVp.</param>
    /// <param name="halfValueLayerMm">First half-value layer, in mm aluminium.</param>
    /// <exception cref="ArgumentOutOfRangeException">The tube's own filtration already gives more, or 60 mm of aluminium would not give it.</exception>
    public XRayTube FilteredTo(double tubeVoltageKvp, double halfValueLayerMm)
    {
        TubeSpectrum bare = Spectrum(tubeVoltageKvp);
        double low = 0;
        double high = 60;
        Preconditions.Within(halfValueLayerMm, bare.FirstHalfValueLayerMm(), Layer(high));
        for (int k = 0; k < 40; k++)
        {
            double middle = (low + high) / 2;
            (low, high) = Layer(middle) < halfValueLayerMm ? (middle, high) : (low, middle);
        }

        return this with { Filtration = [.. Filtration, new FilterLayer(Material.Aluminium, high)] };

        double Layer(double aluminiumMm) => bare.Behind(new FilterLayer(Material.Aluminium, aluminiumMm)).FirstHalfValueLayerMm();
    }

    /// <summary>How intensity falls across the field by self-absorption in the target.</summary>
    /// <param name="tubeVoltageKvp">Peak voltage, 40 to 150 kVp.</param>
    public HeelEffect Heel(double tubeVoltageKvp) => new(this, tubeVoltageKvp);
}
