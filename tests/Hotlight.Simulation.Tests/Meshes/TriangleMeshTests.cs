using System.Numerics;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Meshes;

public sealed class TriangleMeshTests
{
    private static readonly TriangleMesh Unit = SolidMeshes.Cuboid(new Box(Vector3.Zero, Vector3.One));

    [Fact]
    public void OpenEdges_OneTriangleMissing_AreItsThree()
    {
        TriangleMesh open = new(Unit.Vertices.ToArray(), Unit.Corners[..^3].ToArray());
        Assert.Equal(3, open.OpenEdges);
        Assert.False(open.IsClosed);
    }

    [Fact]
    public void OpenEdges_OneTriangleTurnedRound_AreTwoForEachOfItsSides()
    {
        int[] corners = Unit.Corners.ToArray();
        (corners[0], corners[1]) = (corners[1], corners[0]);
        Assert.Equal(6, new TriangleMesh(Unit.Vertices.ToArray(), corners).OpenEdges);
    }

    [Fact]
    public void OpenEdges_TwoBoxesThatShareAnEdge_AreNone()
    {
        Vector3[] soup = [.. Soup(Unit), .. Soup(SolidMeshes.Cuboid(new Box(new Vector3(1, 1, 0), new Vector3(2, 2, 1))))];
        TriangleMesh both = new TriangleMesh(soup, [.. Enumerable.Range(0, soup.Length)]).Welded();
        Assert.Equal(14, both.Vertices.Length);
        Assert.True(both.IsClosed);
        Assert.Equal(2, both.VolumeMm3, 1e-6);
    }

    [Fact]
    public void Transformed_MirroredPose_KeepsOutsideOutside()
    {
        TriangleMesh moved = Unit.Transformed(new Pose(new Vector3(4, 5, 6), -Vector3.UnitX, Vector3.UnitZ, -Vector3.UnitY));
        Assert.Equal(1, moved.VolumeMm3, 1e-5);
        TriangleMesh mirrored = Unit.Transformed(new Pose(new Vector3(4, 5, 6), -Vector3.UnitX, Vector3.UnitY, Vector3.UnitZ));
        Assert.Equal(1, mirrored.VolumeMm3, 1e-5);
        Assert.True(mirrored.IsClosed);
        Assert.Equal(new Box(new Vector3(3, 5, 6), new Vector3(4, 6, 7)), mirrored.Bounds);
    }

    [Fact]
    public void Welded_Soup_IsClosedAndDropsTrianglesWithoutArea()
    {
        Vector3[] soup = [.. Soup(Unit), Vector3.Zero, Vector3.Zero, Vector3.One];
        TriangleMesh raw = new(soup, [.. Enumerable.Range(0, soup.Length)]);
        Assert.False(raw.IsClosed);
        TriangleMesh welded = raw.Welded();
        Assert.Equal(8, welded.Vertices.Length);
        Assert.Equal(12, welded.TriangleCount);
        Assert.True(welded.IsClosed);
    }

    [Fact]
    public void Constructor_WrongIndexOrPoint_IsRefused()
    {
        Assert.Contains("asks for point 3 of 3", Assert.Throws<ArgumentException>(() => new TriangleMesh(new Vector3[3], [0, 1, 3])).Message);
        Assert.Contains("multiple of three", Assert.Throws<ArgumentException>(() => new TriangleMesh(new Vector3[3], [0, 1])).Message);
        Assert.Contains("finite", Assert.Throws<ArgumentException>(() => new TriangleMesh([new Vector3(float.NaN, 0, 0), default, default], [0, 1, 2])).Message);
    }

    private static Vector3[] Soup(TriangleMesh mesh)
    {
        Vector3[] points = new Vector3[mesh.Corners.Length];
        for (int at = 0; at < points.Length; at++)
        {
            points[at] = mesh.Vertices[mesh.Corners[at]];
        }

        return points;
    }
}
