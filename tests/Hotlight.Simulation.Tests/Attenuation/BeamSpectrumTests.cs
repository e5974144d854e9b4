using Hotlight.Simulation.Attenuation;

namespace Hotlight.Simulation.Tests.Attenuation;

public sealed class BeamSpectrumTests
{
    [Theory]
    [Trait("evidence", "published")]

    // NISTIR 5632 worked transmissions, printed to 4 digits: 10 cm water is not a material here; bone and aluminium are.
    [InlineData("bone", 60, 10, 0.5464)]
    [InlineData("aluminium", 60, 21, 0.2071)]
    [InlineData("lead", 80, 0.25, 0.5034)]
    public void LinearAttenuation_Slab_TransmitsAsTabulated(string material, double energyKev, double thicknessMm, double transmission)
    {
        Material slab = material switch { "bone" => Material.CorticalBone, "aluminium" => Material.Aluminium, _ => Material.Lead };
        Assert.Equal(transmission, Math.Exp(-slab.LinearAttenuationPerMm(energyKev) * thicknessMm), 5e-5);
    }

    [Theory]
    [Trait("evidence", "published")]

    // Photons per mm² and µGy, derived from NISTIR 5632 (table of the reference sheet, printed to 5 digits).
    [InlineData(20, 5791)]
    [InlineData(30, 13536)]
    [InlineData(50, 30461)]
    [InlineData(60, 34208)]
    [InlineData(100, 26845)]
    public void Kerma_OfOnePhoton_IsThatOfThePublishedTable(double energyKev, double photonsPerMm2PerMicrogray)
        => Assert.Equal(photonsPerMm2PerMicrogray, 1 / BeamSpectrum.KermaMicrograyMm2(energyKev), 1 + (2e-4 * photonsPerMm2PerMicrogray));

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(55, 3)]
    [InlineData(110, 4)]
    public void Photons_SummedOverTheBeam_MakeOneMicrogray(double kvp, double filtrationMm)
    {
        BeamSpectrum beam = new(kvp, filtrationMm);
        double kerma = beam.EnergiesKev.Zip(beam.PhotonsPerMm2PerMicrogray, (energy, photons) => photons * BeamSpectrum.KermaMicrograyMm2(energy)).Sum();
        Assert.Equal(1, kerma, 1e-12);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Beam_HigherVoltage_IsHarder()
    {
        double At(double kvp)
        {
            BeamSpectrum beam = new(kvp, 3);
            return beam.EnergiesKev.Zip(beam.PhotonsPerMm2PerMicrogray, (e, n) => n * BeamSpectrum.KermaMicrograyMm2(e) * Math.Exp(-Material.SoftTissue.LinearAttenuationPerMm(e) * 100)).Sum();
        }

        Assert.True(At(55) < At(70));
        Assert.True(At(70) < At(110));
    }
}
