using Hotlight.Core;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Tests.Tube;

public sealed class FocalSpotTests
{
    [Theory]
    [Trait("evidence", "published")]

    // Worked examples of the geometry sheet: F, OID and SID in mm, penumbra in mm to the printed digits.
    [InlineData(3, 500, 1500, 1.5)]
    [InlineData(2, 50, 1020, 0.1031)]
    [InlineData(0.3, 250, 1000, 0.1000)]
    [InlineData(2, 300, 1000, 0.8571)]
    [InlineData(1.2, 50, 1000, 0.0632)]
    public void Penumbra_OfTheWorkedExamples_IsTheirs(double sizeMm, double objectImageMm, double sourceImageMm, double penumbraMm)
        => Assert.Equal(penumbraMm, FocalSpot.PenumbraMm(sizeMm, sourceImageMm, objectImageMm), 5e-5);

    [Theory]
    [Trait("evidence", "analytic")]

    // sin(12° − β)/(sin 12°·cos β): 0.20791/0.20791; sin 7°/(sin 12° cos 5°) = 0.121869/(0.207912·0.996195); sin 17°/(sin 12° cos 5°) = 0.292372/(0.207912·0.996195).
    [InlineData(0, 1.0)]
    [InlineData(5, 0.588406)]
    [InlineData(-5, 1.411594)]
    [InlineData(12, 0.0)]
    [InlineData(20, 0.0)]
    public void Length_AlongTheAnodeAxis_FollowsTheProjection(double towardsAnodeDegrees, double share)
        => Assert.Equal(0.6 * share, new FocalSpot(0.6, 0.6).LengthAtMm(12, towardsAnodeDegrees), 1e-5);

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.4)]
    [InlineData(1)]
    [InlineData(1.7)]
    [InlineData(6.3)]
    [InlineData(20)]
    public void Kernel_OfABox_HasItsSumAndVariance(double widthPixels)
    {
        float[] kernel = FocalSpotBlur.Kernel(widthPixels);
        double variance = 0;
        for (int k = 0; k < kernel.Length; k++)
        {
            variance += kernel[k] * Math.Pow(k - (kernel.Length / 2), 2);
        }

        // Uniform distribution: w²/12; weights in single precision.
        Assert.Equal(1, kernel.Sum(), 1e-6);
        Assert.Equal(widthPixels, Math.Sqrt(12 * variance), 1e-5 * widthPixels);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Spread_OfAStep_IsAStraightRampOverThePenumbra()
    {
        // The edge lies at 49.5; a uniform spot of 12 pixels makes a ramp from 43.5 to 55.5: (x − 43.5)/12. Half a pixel of sampling: 0.5/12.
        Raster<float> step = new(5, 100);
        for (int row = 0; row < 5; row++)
        {
            step.Row(row)[50..].Fill(1);
        }

        Raster<float> ramp = FocalSpotBlur.Spread(step, 12, 3);
        for (int column = 40; column < 60; column++)
        {
            Assert.Equal(Math.Clamp((column - 43.5) / 12, 0, 1), ramp[2, column], 0.5 / 12);
        }

        Assert.Equal(0.5, (ramp[2, 49] + ramp[2, 50]) / 2, 1e-6);
        Assert.Equal(ramp[0, 47], ramp[4, 47], 1e-6f);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void EntranceSurface_IsIncidentTimesBackscatter()
        => Assert.Equal(1.38 * 250, AirKerma.EntranceSurfaceMicrogray(250, 1.38), 1e-9);

    [Theory]
    [Trait("evidence", "published")]

    // Inverse square of the geometry sheet: 5 at 40 in becomes 6.17 at 36 in; 8 at 48 in becomes 3.56 at 72 in; printed to 0.01.
    [InlineData(5, 40, 36, 6.17)]
    [InlineData(8, 48, 72, 3.56)]
    public void Incident_AtAnotherDistance_FollowsTheInverseSquare(double known, double atInches, double wantedInches, double expected)
    {
        double output = known * Math.Pow(atInches * 25.4 / 1000, 2);
        Assert.Equal(expected, AirKerma.IncidentMicrogray(output, 1, wantedInches * 25.4), 0.005);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void AreaProduct_OneDgyCm2_IsTenMicrograySquareMetres()
    {
        // 1 dGy·cm² = 10 µGy·m²: 10 µGy over 1 m² (10⁶ mm²).
        Assert.Equal(1, AirKerma.AreaProductDgyCm2(10, 1e6), 1e-12);
    }

    [Theory]
    [Trait("evidence", "published")]

    // Photons per mm² and µGy of the reference sheet, from [nistir-5632], printed to five digits.
    [InlineData(20, 5791)]
    [InlineData(30, 13536)]
    [InlineData(40, 22836)]
    [InlineData(50, 30461)]
    [InlineData(60, 34208)]
    [InlineData(80, 32413)]
    [InlineData(100, 26845)]
    [InlineData(150, 16671)]
    public void Kerma_OfOnePhoton_IsThatOfThePublishedTable(double energyKev, double photons)
        => Assert.Equal(photons, 1 / AirKerma.MicrograyMm2PerPhoton(energyKev), 1.0);
}
