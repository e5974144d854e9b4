using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Receptor;

/// <summary>What catches the photons of a receptor.</summary>
internal enum ReceptorKind
{
    /// <summary>Needles of caesium iodide on a flat panel.</summary>
    CaesiumIodide,

    /// <summary>Amorphous selenium on a flat panel, direct conversion.</summary>
    AmorphousSelenium,

    /// <summary>Storage phosphor plate, read by a laser.</summary>
    StoragePhosphor,
}

/// <summary>An image receptor: what it absorbs, how it spreads and reads it.</summary>
/// <remarks>
/// <para>The signal is linear, in µGy of the calibration beam (<see cref="CalibrationBeam"/>): a receptor under K µGy of RQA5 reads K.
/// A photon of energy E counts as E · caught share · deposited share; see docs/methods/receptor.md.</para>
/// <para>Order of reading: quanta are counted in each element, spread by the blur, multiplied by the gain, lag of the exposure before is added, electronic noise, full well, dead elements.
/// Because counting comes before the blur, the noise is correlated as the receptor correlates it.</para>
/// </remarks>
internal sealed record ImageReceptor
{
    /// <summary>What catches the photons.</summary>
    public required ReceptorKind Kind { get; init; }

    /// <summary>Material of the layer.</summary>
    public required Material Material { get; init; }

    /// <summary>Mass of the layer, in mg/cm², above 0.</summary>
    public required double SurfaceDensityMgPerCm2 { get; init; }

    /// <summary>Mean energy of the layer's fluorescence photons, in keV.</summary>
    public required double FluorescenceKev { get; init; }

    /// <summary>Layers in front of it.</summary>
    public IReadOnlyList<FilterLayer> Cover { get; init; } = [];

    /// <summary>Swank factor of the gain: noise that the conversion adds to each caught quantum, 0 to 1, 1 for none.</summary>
    public required double SwankFactor { get; init; }

    /// <summary>The receptor's spread before the element's aperture.</summary>
    public required ReceptorBlur Blur { get; init; }

    /// <summary>Side of an element, in mm, above 0.</summary>
    public required double SpacingMm { get; init; }

    /// <summary>Standard deviation of the electronic noise of an element, in µGy of the calibration beam.</summary>
    public double ElectronicNoiseMicrogray { get; init; } = 0.006;

    /// <summary>Signal at which an element is full, in µGy of the calibration beam.</summary>
    public double FullWellMicrogray { get; init; } = 120;

    /// <summary>Flat panel with 170 mg/cm² caesium iodide (about 500 µm of needles) behind a carbon fibre cover.</summary>
    /// <param name="spacingMm">Side of an element, in mm.</param>
    /// <remarks>Swank factor 0.8 (from memory). The spread is set so that with 0.143 mm elements the presampled MTF is 0.5 at 1.26 mm⁻¹, the mean of a five-detector study. Thickness, cover and noise: common practice, no source.</remarks>
    public static ImageReceptor CaesiumIodidePanel(double spacingMm = 0.143) => new()
    {
        Kind = ReceptorKind.CaesiumIodide,
        Material = Material.CaesiumIodide,
        SurfaceDensityMgPerCm2 = 170,
        FluorescenceKev = 30,
        Cover = [new FilterLayer(Material.CarbonFibre, 2)],
        SwankFactor = 0.8,
        Blur = ReceptorBlur.Lorentzian(0.56),
        SpacingMm = spacingMm,
    };

    /// <summary>Flat panel with 500 µm amorphous selenium (214 mg/cm²).</summary>
    /// <param name="spacingMm">Side of an element, in mm.</param>
    /// <remarks>Swank factor 0.95; a Gaussian spread of 0.02 mm: the aperture decides (both from memory). Thickness, cover and noise: common practice, no source.</remarks>
    public static ImageReceptor SeleniumPanel(double spacingMm = 0.139) => new()
    {
        Kind = ReceptorKind.AmorphousSelenium,
        Material = Material.Selenium,
        SurfaceDensityMgPerCm2 = 214,
        FluorescenceKev = 11.2,
        Cover = [new FilterLayer(Material.CarbonFibre, 2)],
        SwankFactor = 0.95,
        Blur = ReceptorBlur.Gaussian(0.02),
        SpacingMm = spacingMm,
        ElectronicNoiseMicrogray = 0.015,
    };

    /// <summary>Storage phosphor plate with 100 mg/cm² BaFBr0.85I0.15 behind 1 mm of plastic.</summary>
    /// <param name="spacingMm">Side of a pixel, in mm.</param>
    /// <remarks>Swank factor 0.47, which holds the noise of reading, set so that the detective quantum efficiency is the 0.26 of a five-detector study; spread 0.7 mm² (from memory: MTF 0.5 near 1.1 mm⁻¹). Thickness, cover and noise: common practice, no source.</remarks>
    public static ImageReceptor StoragePlate(double spacingMm = 0.15) => new()
    {
        Kind = ReceptorKind.StoragePhosphor,
        Material = Material.BariumFluorohalide,
        SurfaceDensityMgPerCm2 = 100,
        FluorescenceKev = 32,
        Cover = [new FilterLayer(Material.Acrylic, 1)],
        SwankFactor = 0.47,
        Blur = ReceptorBlur.Lorentzian(0.7),
        SpacingMm = spacingMm,
        ElectronicNoiseMicrogray = 0.03,
        FullWellMicrogray = 400,
    };

    /// <summary>Share of the photons of one energy that the layer catches, 0 to 1, behind its cover.</summary>
    public double CaughtShareAt(double energyKev)
        => CoverTransmission(energyKev) * (1 - Math.Exp(-Material.MassAttenuationAt(energyKev) * SurfaceDensityMgPerCm2 / 1000));

    /// <summary>Share of a caught photon's energy that stays in the layer, 0 to 1.</summary>
    /// <remarks>μ_en/μ stays at once; the rest leaves the spot as fluorescence or scatter and is caught again with the mean chance of an isotropic photon of <see cref="FluorescenceKev"/> born where the primary ones stop.</remarks>
    public double DepositedShareAt(double energyKev)
    {
        double attenuation = Material.MassAttenuationAt(energyKev);
        double local = Material.MassEnergyAbsorptionAt(energyKev) / attenuation;
        return local + ((1 - local) * CaughtAgain(attenuation));
    }

    /// <summary>Energy that a photon leaves in the layer, in keV.</summary>
    public double AbsorbedKevAt(double energyKev) => energyKev * CaughtShareAt(energyKev) * DepositedShareAt(energyKev);

    /// <summary>How the receptor answers to a beam.</summary>
    public ReceptorResponse ResponseTo(BeamEnergies beam) => new(this, beam);

    /// <summary>Reads an exposure, a new block, in µGy of the calibration beam.</summary>
    /// <param name="meanMicrogray">Signal without noise before the receptor's spread, rows × columns, 0 or more; not changed.</param>
    /// <param name="quantaPerMicrogray">Quanta of an element that carry its noise, for one µGy of signal: <see cref="ReceptorResponse.QuantaPerMicrogray"/> of the beam that arrives.</param>
    /// <param name="seed">The same seed gives the same bytes, on any number of threads.</param>
    /// <param name="faults">What is wrong with this receptor; null for nothing.</param>
    /// <param name="before">What the exposure before left, as read; null for none. Same size.</param>
    public Raster<float> Read(Raster<float> meanMicrogray, double quantaPerMicrogray, ulong seed, ReceptorFaults? faults = null, Raster<float>? before = null)
    {
        Preconditions.AboveZero(quantaPerMicrogray);
        Raster<float> read = Blur.Spread(QuantumCount.Counted(meanMicrogray, quantaPerMicrogray, seed), SpacingMm);
        return ReceptorReadOut.Finish(this, read, seed, faults ?? ReceptorFaults.None, before);
    }

    /// <summary>Reads an exposure whose beam is harder in some places than in others, a new block.</summary>
    /// <param name="meanMicrogray">Signal without noise before the receptor's spread, rows × columns, 0 or more; not changed.</param>
    /// <param name="quantaPerMicrogray">Quanta of each element for one µGy of its signal, same size, above 0; behind 200 mm of water they are a fifth fewer than in the open beam of 80 kV.</param>
    /// <param name="seed">The same seed gives the same bytes, on any number of threads.</param>
    /// <param name="faults">What is wrong with this receptor; null for nothing.</param>
    /// <param name="before">What the exposure before left, as read; null for none. Same size.</param>
    public Raster<float> Read(Raster<float> meanMicrogray, Raster<float> quantaPerMicrogray, ulong seed, ReceptorFaults? faults = null, Raster<float>? before = null)
    {
        Raster<float> read = Blur.Spread(QuantumCount.Counted(meanMicrogray, quantaPerMicrogray, seed), SpacingMm);
        return ReceptorReadOut.Finish(this, read, seed, faults ?? ReceptorFaults.None, before);
    }

    /// <summary>The same signal without quantum and electronic noise and without faults: spread and full well only.</summary>
    /// <param name="meanMicrogray">Signal without noise before the receptor's spread, in µGy of the calibration beam.</param>
    public Raster<float> ReadWithoutNoise(Raster<float> meanMicrogray)
    {
        Raster<float> read = Blur.Spread(meanMicrogray, SpacingMm);
        float full = (float)FullWellMicrogray;
        Parallel.For(0, read.Rows, row =>
        {
            Span<float> line = read.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                line[column] = MathF.Min(line[column], full);
            }
        });
        return read;
    }

    private double CoverTransmission(double energyKev)
    {
        double through = 1;
        foreach (FilterLayer layer in Cover)
        {
            through *= layer.TransmissionAt(energyKev);
        }

        return through;
    }

    // Mean over the depth where primary photons stop of 1 − ½(E2(near) + E2(far)), in steps of the layer.
    private double CaughtAgain(double primaryAttenuation)
    {
        const int Steps = 20;
        double mass = SurfaceDensityMgPerCm2 / 1000;
        double attenuation = Material.MassAttenuationAt(FluorescenceKev);
        double sum = 0;
        double weights = 0;
        for (int step = 0; step < Steps; step++)
        {
            double depth = mass * (step + 0.5) / Steps;
            double weight = Math.Exp(-primaryAttenuation * depth);
            weights += weight;
            sum += weight * (1 - (0.5 * (SecondExponentialIntegral(attenuation * depth) + SecondExponentialIntegral(attenuation * (mass - depth)))));
        }

        return sum / weights;
    }

    // E2(x) = ∫ exp(−x/c) dc over c from 0 to 1: the middle rule with 40 steps is within 1e-3.
    private static double SecondExponentialIntegral(double x)
    {
        double sum = 0;
        for (int step = 0; step < 40; step++)
        {
            sum += Math.Exp(-x / ((step + 0.5) / 40));
        }

        return sum / 40;
    }
}
