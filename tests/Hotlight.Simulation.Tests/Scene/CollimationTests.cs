using Hotlight.Core;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation.Tests.Scene;

public sealed class CollimationTests
{
    private static readonly BeamGeometry Geometry = new(400, 400, 0.5, 1000);

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0)]
    [InlineData(12)]
    [InlineData(-31)]
    public void Transmission_MiddleOfEverySide_IsHalf(double tiltDegrees)
    {
        Collimation opening = new(new PixelPoint(X: 200, Y: 190), 120, 80, tiltDegrees);
        PixelPoint[] corners = opening.Corners(Geometry);
        for (int side = 0; side < 4; side++)
        {
            PixelPoint from = corners[side];
            PixelPoint to = corners[(side + 1) % 4];
            double half = opening.Transmission((from.X + to.X) / 2, (from.Y + to.Y) / 2, 0.5);

            // Half of the open intensity, plus half of the tail and leaf transmission that are added where the leaf stands.
            Assert.Equal(0.5, half, 0.5 * (opening.OffFocusShare + opening.LeafTransmission) + 1e-6);
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Corners_Area_IsWidthTimesHeight()
    {
        PixelPoint[] corners = new Collimation(new PixelPoint(X: 200, Y: 190), 120, 80, 23).Corners(Geometry);
        double twice = 0;
        for (int k = 0; k < 4; k++)
        {
            PixelPoint next = corners[(k + 1) % 4];
            twice += (corners[k].X * next.Y) - (next.X * corners[k].Y);
        }

        Assert.Equal(120 * 80, twice / 2 * 0.25, 1e-6);
        Assert.True(twice > 0, "clockwise with y down");
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void ToRectangle_SquareOnItsTip_LosesItsFourTips()
    {
        // A square of half diagonal 10 around (0, 0), cut at ±8: four triangles of height 2 and base 4 go, area 200 − 4·4.
        PixelPoint[] square = [new(0, -10), new(10, 0), new(0, 10), new(-10, 0)];
        List<PixelPoint> cut = PolygonClip.ToRectangle(square, -8, -8, 8, 8);
        double twice = 0;
        for (int k = 0; k < cut.Count; k++)
        {
            PixelPoint next = cut[(k + 1) % cut.Count];
            twice += (cut[k].X * next.Y) - (next.X * cut[k].Y);
        }

        Assert.Equal(8, cut.Count);
        Assert.Equal(200 - 16, twice / 2, 1e-9);
    }

    [Theory]
    [Trait("evidence", "published")]

    // Penumbra of the geometry sheet: F 1.0 mm, OID 10 cm, SID 110 cm gives 0.1000 mm; at the leaves the same formula with the leaf's distance.
    [InlineData(1.0, 1100, 100, 0.1000)]
    [InlineData(1.2, 1000, 50, 0.0632)]
    public void Penumbra_OfTheFocalSpot_IsFTimesOidOverSod(double focalSpotMm, double sidMm, double oidMm, double penumbraMm)
        => Assert.Equal(penumbraMm, ExposureSimulator.PenumbraMm(focalSpotMm, sidMm, oidMm), 5e-5);
}
