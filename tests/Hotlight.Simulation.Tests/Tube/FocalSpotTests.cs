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
