using System.Numerics;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Meshes;

public sealed class SolidMeshesTests
{
    // An inscribed polygon of n corners has the area of its circle times sin(2π/n)/(2π/n): 1 − 6.58/n².
    [Fact]
    [Trait("evidence", "analytic")]
    public void Sphere_Volume_IsThatOfTheClosedForm()
    {
        TriangleMesh sphere = SolidMeshes.Sphere(new Vector3(5, -300, 80), 20, 256);
        Assert.True(sphere.IsClosed);

        // Facets lie inside by at most 1 − cos(π/256)² = 0.015 % along each of two directions, 0.03 % of the volume.
        Assert.InRange(sphere.VolumeMm3 / (4.0 / 3 * Math.PI * 8000), 1 - 0.0003, 1);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Cuboid_Volume_IsTheProductOfItsSides()
    {
        TriangleMesh box = SolidMeshes.Cuboid(new Box(new Vector3(1, 2, 3), new Vector3(11, 22, 33)));
        Assert.True(box.IsClosed);
        Assert.Equal(6000, box.VolumeMm3, 1e-6);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 0, 1)]
    [InlineData(1, 0, 0)]
    [InlineData(-0.3, 0.8, -0.5)]
    public void Cylinder_Volume_IsThatOfItsPolygonTimesItsLength(float x, float y, float z)
    {
        TriangleMesh cylinder = SolidMeshes.Cylinder(Vector3.Zero, 40 * Vector3.Normalize(new Vector3(x, y, z)), 7, 90);
        Assert.True(cylinder.IsClosed);
        Assert.Equal(0.5 * 90 * 49 * Math.Sin(2 * Math.PI / 90) * 40, cylinder.VolumeMm3, 0.02);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Torus_Volume_IsTwoPiSquaredTimesRingAndSection()
    {
        TriangleMesh torus = SolidMeshes.Torus(new Vector3(10, 20, 30), new Vector3(1, 1, 1), 30, 6, 360, 180);
        Assert.True(torus.IsClosed);

        // Polygons around: 1 − 6.58/360² and 1 − 6.58/180², 0.026 % together.
        Assert.InRange(torus.VolumeMm3 / (2 * Math.PI * Math.PI * 30 * 36), 1 - 0.0003, 1);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Tube_OfEllipticSectionAlongAnArc_HasTheVolumeOfPappus()
    {
        // A quarter of a circle of radius 50, section 3 × 1.5: area × length of the middle line, by the theorem of Pappus.
        SweepStation[] stations = [.. Enumerable.Range(0, 91).Select(k =>
        {
            (double sin, double cos) = Math.SinCos(k * Math.PI / 180);
            return new SweepStation(new Vector3((float)(50 * cos), (float)(50 * sin), 7), 3, 1.5f);
        })];
        TriangleMesh tube = SolidMeshes.Tube(stations, Vector3.UnitZ, 120);
        Assert.True(tube.IsClosed);

        // Polygon section: 1 − 6.58/120² = 0.05 %; chords of 1°: below 0.01 %; the end sections lean by half a degree: 0.5 · 1.5 · tan(0.5°)/78.5 is 0.01 %.
        Assert.Equal(1, tube.VolumeMm3 / (Math.PI * 4.5 * 25 * Math.PI), 0.001);
    }

    [Fact]
    public void Tube_AlongItsHeightAxis_KeepsASection()
    {
        TriangleMesh tube = SolidMeshes.Tube([new SweepStation(Vector3.Zero, 2, 1), new SweepStation(new Vector3(0, 0, 10), 2, 1)], Vector3.UnitZ, 60);
        Assert.True(tube.IsClosed);
        Assert.Equal(0.5 * 60 * 2 * Math.Sin(2 * Math.PI / 60) * 10, tube.VolumeMm3, 0.01);
    }

    [Fact]
    public void Tube_CoincidingStations_AreRefused()
        => Assert.Throws<ArgumentException>(() => SolidMeshes.Tube([new SweepStation(Vector3.One, 2, 1), new SweepStation(Vector3.One, 2, 1)], Vector3.UnitZ));
}
