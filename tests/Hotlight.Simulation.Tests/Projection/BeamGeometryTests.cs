using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Tests.Projection;

public sealed class BeamGeometryTests
{
    private static readonly PixelPoint Middle = new(X: 50, Y: 60);

    [Theory]
    [Trait("evidence", "published")]
    [InlineData(1500, 500, 1.5)]
    [InlineData(1020, 50, 1.0515)]
    [InlineData(1000, 250, 1.3333)]
    [InlineData(1000, 300, 1.4286)]
    [InlineData(1100, 100, 1.1000)]
    [InlineData(1800, 150, 1.0909)]
    public void Project_WorkedExamples_MagnifyBySidOverSod(double sidMm, double oidMm, double magnification)
    {
        // Open teaching pages, table 5 of the geometry sheet; four printed decimals on 40 mm.
        BeamGeometry geometry = new(100, 100, 0.5, sidMm);
        PixelPoint left = geometry.Project(new Vector3(-20, 0, (float)oidMm));
        PixelPoint right = geometry.Project(new Vector3(20, 0, (float)oidMm));
        Assert.Equal(40 * magnification, (right.X - left.X) * 0.5, 40 * 0.00006);
    }

    [Theory]
    [Trait("evidence", "published")]
    [InlineData(3, 1500, 500, 1.5)]
    [InlineData(2, 1020, 50, 0.1031)]
    [InlineData(0.3, 1000, 250, 0.1000)]
    [InlineData(2, 1000, 300, 0.8571)]
    [InlineData(1.2, 1000, 50, 0.0632)]
    [InlineData(0.6, 1000, 50, 0.0316)]
    [InlineData(1.0, 1100, 100, 0.1000)]
    [InlineData(1.0, 1800, 150, 0.0909)]
    public void Project_FromBothEndsOfTheFocalSpot_SpreadsAPointIntoThePenumbra(double focalSpotMm, double sidMm, double oidMm, double penumbraMm)
    {
        // P = F · OID / SOD at the receptor: where the two ends of the spot throw one and the same point.
        BeamGeometry geometry = new(100, 100, 0.5, sidMm);
        Vector3 point = new(12, -7, (float)oidMm);
        PixelPoint one = (geometry with { Source = new Vector3((float)(-focalSpotMm / 2), 0, (float)sidMm) }).Project(point);
        PixelPoint other = (geometry with { Source = new Vector3((float)(focalSpotMm / 2), 0, (float)sidMm) }).Project(point);
        Assert.Equal(penumbraMm, Math.Abs(one.X - other.X) * 0.5, 0.00006);
    }

    [Theory]
    [Trait("evidence", "published")]
    [InlineData(1000, 5, 87.5)]
    [InlineData(1800, 2, 62.9)]
    public void FromTube_HeightAndTilt_ShiftBySidTimesTangent(double heightMm, double degrees, double shiftMm)
    {
        // Section 7 of the geometry sheet: the vertical distance is held, the tube tilted.
        double along = heightMm / Math.Cos(degrees * Math.PI / 180);
        BeamGeometry geometry = BeamGeometry.FromTube(100, 100, 0.5, along, degrees, 0, Middle);
        Assert.Equal(-shiftMm, geometry.Source.Y, 0.05);
        Assert.Equal(heightMm, geometry.Source.Z, 1e-3);
        Assert.Equal(shiftMm, BeamGeometry.FromTube(100, 100, 0.5, along, 0, degrees, Middle).Source.X, 0.05);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void FromTube_CentralRay_StaysOnItsPixelAndHasTheDistanceAskedFor()
    {
        BeamGeometry geometry = BeamGeometry.FromTube(120, 100, 0.5, 1150, 15, -10, Middle);
        Assert.Equal(1150, geometry.Source.Length(), 1e-3);
        PixelPoint place = geometry.Project(0.4f * geometry.Source);
        Assert.Equal(Middle.X, place.X, 1e-4);
        Assert.Equal(Middle.Y, place.Y, 1e-4);
        Assert.Equal(1, geometry.IntensityOverCentre(0, 0), 1e-6);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Project_AndPointOfRay_AreInverse()
    {
        BeamGeometry geometry = BeamGeometry.FromTube(120, 100, 0.5, 1150, 15, -10, Middle);
        Vector3 point = geometry.PointOfRay(geometry.ReceptorX(80), geometry.ReceptorY(20), 333);
        Assert.Equal(333, point.Z);
        PixelPoint place = geometry.Project(point);
        Assert.Equal(80, place.X, 1e-3);
        Assert.Equal(20, place.Y, 1e-3);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void IntensityOverCentre_TiltedTube_FollowsInverseSquareAndCosine()
    {
        BeamGeometry geometry = BeamGeometry.FromTube(120, 100, 0.5, 1000, 0, 30, Middle);

        // The source stands over x = 500 at height 866.03: r = 866.03 and cos = 1 there, r = 1000 and cos = 0.86603 at the central ray.
        double expected = (1 / (866.0254 * 866.0254)) / (0.8660254 / 1e6);
        Assert.Equal(expected, geometry.IntensityOverCentre(500, 0), 1e-4);
        Assert.Equal(1, geometry.Obliquity(500, 0), 1e-5);
    }

    [Fact]
    public void Source_WithAnotherDistance_GoesAlong()
    {
        BeamGeometry geometry = new BeamGeometry(10, 10, 1, 1000) with { SourceImageDistanceMm = 2000 };
        Assert.Equal(new Vector3(0, 0, 2000), geometry.Source);
    }

    [Fact]
    public void FromTube_AnglesOfNoUse_AreRefused()
        => Assert.Throws<ArgumentOutOfRangeException>(() => BeamGeometry.FromTube(10, 10, 1, 1000, 90, 0, Middle));
}
