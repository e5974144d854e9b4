using System.Numerics;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Meshes;

public sealed class ShapeMesherTests
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.5f)]
    [InlineData(1f)]
    [InlineData(2f)]
    public void FromShape_Sphere_LiesOnItAndHasItsVolume(float cellMm)
    {
        Vector3 centre = new(3.3f, -2.1f, 40.7f);
        const float Radius = 12;
        TriangleMesh mesh = ShapeMesher.FromShape(new Ellipsoid(centre, new Vector3(Radius)), cellMm);
        Assert.True(Recounted(mesh).IsClosed);
        foreach (Vector3 vertex in mesh.Vertices)
        {
            // A sphere's distance is exact, and the secant step ends within rounding of it unless the cell stopped it.
            Assert.Equal(Radius, Vector3.Distance(vertex, centre), 0.002 * cellMm + 1e-4);
        }

        // Facets of side s lie inside by s²/(4R) on average over their area (s²/8R for a chord, in two directions), s up to √2 cells.
        double missing = 1 - (mesh.VolumeMm3 / (4.0 / 3 * Math.PI * Math.Pow(Radius, 3)));
        Assert.InRange(missing, 0, 3 * 2 * cellMm * cellMm / (4 * Radius * Radius));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void FromShape_FlatEllipsoid_HasItsVolume()
    {
        TriangleMesh mesh = ShapeMesher.FromShape(new Ellipsoid(new Vector3(1, 2, 3), new Vector3(30, 20, 6)), 0.5f);
        Assert.True(Recounted(mesh).IsClosed);
        Assert.Equal(1, mesh.VolumeMm3 / (4.0 / 3 * Math.PI * 30 * 20 * 6), 0.003);
    }

    [Fact]
    public void FromShape_OpenBoundary_IsClosedAtTheBox()
    {
        // A half space has no end of its own: the box gives it one, about a cell outside.
        TriangleMesh mesh = ShapeMesher.FromDistance(point => point.X, new Box(new Vector3(-10), new Vector3(10)), 1);
        Assert.True(Recounted(mesh).IsClosed);
        Assert.InRange(mesh.VolumeMm3, 10 * 20 * 20, 18 * 34.0 * 34);
    }

    [Fact]
    public void FromShape_NothingInside_IsEmpty()
    {
        Assert.True(ShapeMesher.FromDistance(_ => 1, new Box(new Vector3(-5), new Vector3(5)), 1).IsEmpty);
        Assert.True(ShapeMesher.FromShape(new Inset(new Ellipsoid(Vector3.Zero, new Vector3(3)), 4), 0.5f).IsEmpty);
        Assert.True(ShapeMesher.FromDistance(_ => -1, new Box(new Vector3(5), new Vector3(-5)), 1).IsEmpty);
    }

    [Theory]
    [InlineData(11)]
    [InlineData(12)]
    [InlineData(13)]
    public void FromDistance_RoughNoise_IsClosed(int seed)
    {
        // Noise at the scale of the cells makes every ambiguous case and steep, wrong distances; the surface has to close all the same.
        Grain grain = new((ulong)seed, 1);
        TriangleMesh mesh = ShapeMesher.FromDistance(point => grain.At(point * 0.8f) + (0.02f * point.LengthSquared()) - 2, Box.Around(Vector3.Zero, 14), 1);
        Assert.True(mesh.TriangleCount > 500);
        Assert.True(Recounted(mesh).IsClosed);
    }

    [Fact]
    public void FromDistance_DistanceThatGrowsTooFast_IsClosedAndWhole()
    {
        // Four times too steep breaks the promise to the block search; walking from block to block still finds the whole of one piece.
        Ellipsoid sphere = new(new Vector3(1.7f, 0.3f, -0.4f), new Vector3(15));
        TriangleMesh mesh = ShapeMesher.FromDistance(point => 4 * sphere.Distance(point), sphere.Bounds, 0.5f);
        Assert.True(Recounted(mesh).IsClosed);
        Assert.Equal(1, mesh.VolumeMm3 / (4.0 / 3 * Math.PI * 3375), 0.003);
    }

    [Fact]
    public void FromShape_Twice_GivesTheSameMesh()
    {
        Shape bone = new SmoothUnion(2, new TaperedCapsule(Vector3.Zero, new Vector3(0, 25, 3), 6, 4), new Ellipsoid(new Vector3(2, 28, 4), new Vector3(7, 5, 6)));
        TriangleMesh first = ShapeMesher.FromShape(bone, 0.5f);
        TriangleMesh second = ShapeMesher.FromShape(bone, 0.5f);
        Assert.True(first.Vertices.SequenceEqual(second.Vertices));
        Assert.True(first.Corners.SequenceEqual(second.Corners));
    }

    [Fact]
    public void FromShape_CellsOfNoUse_AreRefused()
    {
        Ellipsoid sphere = new(Vector3.Zero, new Vector3(100));
        Assert.Throws<ArgumentOutOfRangeException>(() => ShapeMesher.FromShape(sphere, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => ShapeMesher.FromShape(sphere, float.NaN));
        Assert.Contains("limit", Assert.Throws<ArgumentException>(() => ShapeMesher.FromShape(sphere, 0.1f)).Message);
    }

    /// <summary>The same mesh without its maker's word that it is closed.</summary>
    internal static TriangleMesh Recounted(TriangleMesh mesh) => new(mesh.Vertices.ToArray(), mesh.Corners.ToArray());
}
