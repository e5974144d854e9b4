using Hotlight.Core;
using Hotlight.Simulation.Attenuation;

namespace Hotlight.Simulation.Tube;

/// <summary>Photons of a beam against energy, 1 m from the focal spot in vacuum.</summary>
/// <remarks>
/// <para>Held at 0.5 keV from 10 keV to the peak voltage, with each K line on its own; <see cref="Binned"/> gives fewer energies for projecting.
/// Below 10 keV nothing is held: behind 2 mm of aluminium that leaves out less than 10⁻⁴ of the air kerma.</para>
/// <para>Model: <see cref="TargetModel"/>. See docs/methods/tube.md.</para>
/// </remarks>
internal sealed class TubeSpectrum
{
    /// <summary>Lowest energy held, in keV.</summary>
    public const double LowestKev = 10;

    private const double WidthKev = 0.5;

    // Photons for one electron into all directions, to photons per mm² and mAs at 1 m.
    private const double PerMm2PerMas = 6.241509e15 / (4 * Math.PI * 1e6);

    private readonly double[] energies;
    private readonly double[] photons;

    private TubeSpectrum(double tubeVoltageKvp, double[] energies, double[] photons)
    {
        TubeVoltageKvp = tubeVoltageKvp;
        this.energies = energies;
        this.photons = photons;
        for (int k = 0; k < energies.Length; k++)
        {
            KermaMicrograyPerMas += photons[k] * AirKerma.MicrograyMm2PerPhoton(energies[k]);
        }
    }

    /// <summary>Peak voltage, in kVp.</summary>
    public double TubeVoltageKvp { get; }

    /// <summary>Energies, in keV: the continuum's in rising order, then the K lines.</summary>
    public IReadOnlyList<double> EnergiesKev => energies;

    /// <summary>Photons at each energy, per mm² and mAs at 1 m.</summary>
    public IReadOnlyList<double> PhotonsPerMm2PerMas => photons;

    /// <summary>Air kerma at 1 m, in µGy per mAs.</summary>
    public double KermaMicrograyPerMas { get; }

    /// <summary>Mean energy of the photons, in keV.</summary>
    public double MeanEnergyKev => Sum(energy => energy) / Sum(_ => 1);

    /// <summary>Share of the photons that are tungsten K lines, 0 to 1.</summary>
    public double CharacteristicShare
        => Enumerable.Range(0, energies.Length).Where(k => IsLine(energies[k])).Sum(k => photons[k]) / Sum(_ => 1);

    /// <summary>Photons per mm² and µGy: the square of the signal-to-noise ratio of a perfect counter, SNR_in² of IEC 62220-1.</summary>
    public double PhotonsPerMm2PerMicrogray => Sum(_ => 1) / KermaMicrograyPerMas;

    /// <summary>The spectrum that leaves the target.</summary>
    /// <param name="tubeVoltageKvp">Peak voltage, in kVp.</param>
    /// <param name="ripplePercent">Ripple, 0 to 100.</param>
    /// <param name="takeOffDegrees">Angle between direction and target surface, in degrees, above 0.</param>
    /// <param name="outputShare">Factor on all photons.</param>
    /// <remarks>The voltage follows Û·cos φ over |φ| ≤ arccos(1 − ripple): exact for two, six and twelve pulses (100, 13.4 and 3.4 %). The tube current is constant.</remarks>
    internal static TubeSpectrum Emitted(double tubeVoltageKvp, double ripplePercent, double takeOffDegrees, double outputShare)
    {
        int count = (int)Math.Ceiling((tubeVoltageKvp - LowestKev) / WidthKev);
        double[] energies = new double[count + TargetModel.KLines.Count];
        double[] photons = new double[energies.Length];
        for (int k = 0; k < energies.Length; k++)
        {
            energies[k] = k < count ? LowestKev + ((k + 0.5) * WidthKev) : TargetModel.KLines[k - count].EnergyKev;
        }

        double[] voltages = VoltagesKv(tubeVoltageKvp, ripplePercent);
        foreach (double voltage in voltages)
        {
            for (int k = 0; k < energies.Length; k++)
            {
                photons[k] += PerMm2PerMas * outputShare / voltages.Length * (k < count
                    ? WidthKev * TargetModel.BremsstrahlungPerKev(energies[k], voltage, takeOffDegrees)
                    : TargetModel.LinePhotons(energies[k], TargetModel.KLines[k - count].Share, voltage, takeOffDegrees));
            }
        }

        return new TubeSpectrum(tubeVoltageKvp, energies, photons);
    }

    /// <summary>The voltage at equal steps of time, in kV: the middles of equal steps of phase; one value where the ripple is below 0.01 %.</summary>
    internal static double[] VoltagesKv(double tubeVoltageKvp, double ripplePercent)
    {
        int steps = ripplePercent < 0.01 ? 1 : ripplePercent < 20 ? 6 : 16;
        double reach = Math.Acos(1 - (ripplePercent / 100));
        return [.. Enumerable.Range(0, steps).Select(step => tubeVoltageKvp * (steps == 1 ? 1 : Math.Cos(reach * (step + 0.5) / steps)))];
    }

    /// <summary>The spectrum behind further layers; this one stays as it is.</summary>
    public TubeSpectrum Behind(params FilterLayer[] layers)
    {
        double[] passed = [.. photons];
        foreach (FilterLayer layer in layers)
        {
            Preconditions.Within(layer.ThicknessMm, 0, 1e6);
            for (int k = 0; k < passed.Length; k++)
            {
                passed[k] *= layer.TransmissionAt(energies[k]);
            }
        }

        return new TubeSpectrum(TubeVoltageKvp, energies, passed);
    }

    /// <summary>Share of the air kerma that a layer lets through, narrow beam, 0 to 1.</summary>
    public double KermaTransmission(FilterLayer layer)
        => Sum(energy => AirKerma.MicrograyMm2PerPhoton(energy) * layer.TransmissionAt(energy)) / KermaMicrograyPerMas;

    /// <summary>Thickness that halves the air kerma, in mm: the first half-value layer.</summary>
    /// <param name="material">Material of the layer; aluminium unless said.</param>
    public double FirstHalfValueLayerMm(Material? material = null) => ThicknessMm(material ?? Material.Aluminium, 0.5);

    /// <summary>Further thickness that halves it again, in mm: the second half-value layer.</summary>
    /// <param name="material">Material of the layer; aluminium unless said.</param>
    public double SecondHalfValueLayerMm(Material? material = null)
        => ThicknessMm(material ?? Material.Aluminium, 0.25) - FirstHalfValueLayerMm(material);

    /// <summary>Fewer energies for projecting: bins of equal width from 10 keV to the peak voltage, each at the mean energy of its photons.</summary>
    /// <param name="bins">Number of bins, 2 to 200; bins without photons are left out.</param>
    public BeamEnergies Binned(int bins = 25)
    {
        Preconditions.Within(bins, 2, 200);
        double[] counts = new double[bins];
        double[] sums = new double[bins];
        double width = (TubeVoltageKvp - LowestKev) / bins;
        for (int k = 0; k < energies.Length; k++)
        {
            int bin = Math.Clamp((int)((energies[k] - LowestKev) / width), 0, bins - 1);
            counts[bin] += photons[k];
            sums[bin] += photons[k] * energies[k];
        }

        int[] used = [.. Enumerable.Range(0, bins).Where(bin => counts[bin] > 0)];
        return new BeamEnergies([.. used.Select(bin => sums[bin] / counts[bin])], [.. used.Select(bin => counts[bin])]);
    }

    private static bool IsLine(double energyKev) => TargetModel.KLines.Any(line => line.EnergyKev == energyKev);

    private double Sum(Func<double, double> weight)
    {
        double sum = 0;
        for (int k = 0; k < energies.Length; k++)
        {
            sum += photons[k] * weight(energies[k]);
        }

        return sum;
    }

    private double ThicknessMm(Material material, double share)
    {
        double[] attenuation = [.. energies.Select(material.LinearAttenuationPerMm)];
        double[] kerma = [.. energies.Select((energy, k) => photons[k] * AirKerma.MicrograyMm2PerPhoton(energy) / KermaMicrograyPerMas)];
        double low = 0;
        double high = 1;
        while (Through(high) > share)
        {
            high *= 2;
        }

        for (int k = 0; k < 50; k++)
        {
            double middle = 0.5 * (low + high);
            (low, high) = Through(middle) > share ? (middle, high) : (low, middle);
        }

        return 0.5 * (low + high);

        double Through(double thicknessMm)
        {
            double sum = 0;
            for (int k = 0; k < kerma.Length; k++)
            {
                sum += kerma[k] * Math.Exp(-attenuation[k] * thicknessMm);
            }

            return sum;
        }
    }
}
