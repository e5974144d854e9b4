using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation.Tests.Scene;

public sealed class LeavesTests
{
    private static readonly BeamGeometry Straight = BeamGeometry.FromTube(400, 400, 0.5, 1000, 0, 0, new PixelPoint(X: 199.5, Y: 199.5));

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 0)]
    [InlineData(12, 0)]
    [InlineData(-31, 0)]
    [InlineData(5, 15)]
    public void Transmission_MiddleOfEverySide_IsHalf(double turnDegrees, double tubeDegrees)
    {
        BeamGeometry geometry = BeamGeometry.FromTube(400, 400, 0.5, 1000, tubeDegrees, 0, new PixelPoint(X: 199.5, Y: 199.5));
        Leaves leaves = new(geometry, new SceneCollimator { WidthMm = 120, HeightMm = 80, TurnDegrees = turnDegrees, CentreMm = [4, -6] }, (0.6, 0.6));
        PixelPoint[] corners = leaves.Corners(geometry);
        for (int side = 0; side < 4; side++)
        {
            PixelPoint from = corners[side];
            PixelPoint to = corners[(side + 1) % 4];
            double half = leaves.Transmission(geometry.ReceptorX((from.X + to.X) / 2), geometry.ReceptorY((from.Y + to.Y) / 2));

            // Half of the open intensity, plus half of the tail and leaf transmission that are added where the leaf stands; single precision of places.
            Assert.Equal(0.5, half, (0.5 * (Leaves.OffFocusShare + Leaves.LeafTransmission)) + 1e-4);
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Corners_TubeStraight_AreTheOpeningItself()
    {
        Leaves leaves = new(Straight, new SceneCollimator { WidthMm = 120, HeightMm = 80, TurnDegrees = 23 }, (0.6, 0.6));

        // Pixels of 0.5 mm: a quarter of a square millimetre each. Places in single precision.
        Assert.Equal(120 * 80, PolygonClip.Area(leaves.Corners(Straight)) * 0.25, 0.05);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Corners_TubeTilted_AreWhereTheRaysMeetTheReceptor()
    {
        // In the plane of the tilt by t: a ray at angle a from the central ray meets the receptor at SID·sin(a)/cos(t + a) from it (sine rule), a = atan(h/SID).
        const double Tilt = 15;
        BeamGeometry geometry = BeamGeometry.FromTube(800, 800, 0.5, 1000, -Tilt, 0, new PixelPoint(X: 399.5, Y: 399.5));
        Leaves leaves = new(geometry, new SceneCollimator { WidthMm = 100, HeightMm = 100 }, (0.6, 0.6));
        PixelPoint[] corners = leaves.Corners(geometry);
        double t = Tilt * Math.PI / 180;
        double a = Math.Atan(50.0 / 1000);

        // Sent towards the top: the top edge lies farther from the central ray than the bottom edge.
        Assert.Equal(-1000 * Math.Sin(a) / Math.Cos(t + a), (corners[0].Y - 399.5) * 0.5, 0.01);
        Assert.Equal(1000 * Math.Sin(a) / Math.Cos(t - a), (corners[2].Y - 399.5) * 0.5, 0.01);
    }

    [Theory]
    [Trait("evidence", "analytic")]

    // P = F·(SID − d)/d at the receptor: 0.6·750/250 = 1.8 mm; 1.0·(1800 − 250)/250 = 6.2 mm.
    [InlineData(0.6, 1000, 1.8)]
    [InlineData(1.0, 1800, 6.2)]
    public void Penumbra_OfTheLeaves_IsFTimesLeverage(double focalSpotMm, double distanceMm, double penumbraMm)
    {
        BeamGeometry geometry = BeamGeometry.FromTube(400, 400, 0.5, distanceMm, 0, 0, new PixelPoint(X: 199.5, Y: 199.5));
        Leaves leaves = new(geometry, new SceneCollimator { WidthMm = 100, HeightMm = 100 }, (focalSpotMm, focalSpotMm));
        Assert.Equal(penumbraMm, leaves.PenumbraMm.Width, 1e-9);

        // From a quarter to three quarters of the intensity lies half the penumbra.
        float quarter = leaves.Transmission((float)(50 + (penumbraMm / 4)), 0);
        float threeQuarters = leaves.Transmission((float)(50 - (penumbraMm / 4)), 0);
        Assert.Equal(0.25, quarter, 0.006);
        Assert.Equal(0.75, threeQuarters, 0.006);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Corners_TubeTiltedBeyondTheHorizon_AreRefusedInOneSentence()
    {
        BeamGeometry geometry = BeamGeometry.FromTube(400, 400, 0.5, 1000, 60, 0, new PixelPoint(X: 199.5, Y: 199.5));
        Leaves leaves = new(geometry, new SceneCollimator { WidthMm = 100, HeightMm = 1400 }, (0.6, 0.6));
        ArgumentException error = Assert.Throws<ArgumentException>(() => leaves.Corners(geometry));
        Assert.Contains("never meets the receptor", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void ToRectangle_SquareOnItsTip_LosesItsFourTips()
    {
        // A square of half diagonal 10 around (0, 0), cut at ±8: four triangles of height 2 and base 4 go, area 200 − 4·4.
        PixelPoint[] square = [new(0, -10), new(10, 0), new(0, 10), new(-10, 0)];
        List<PixelPoint> cut = PolygonClip.ToRectangle(square, -8, -8, 8, 8);
        Assert.Equal(8, cut.Count);
        Assert.Equal(200 - 16, PolygonClip.Area(cut), 1e-9);
    }
}
