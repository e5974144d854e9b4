using System.Buffers.Binary;
using System.Globalization;
using System.Numerics;
using System.Text;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;
using Hotlight.Testing;

namespace Hotlight.Simulation.Tests.Meshes;

public sealed class MeshReaderTests
{
    private static readonly TriangleMesh Wedge = SolidMeshes.Torus(new Vector3(3, -4, 5), new Vector3(1, 2, 3), 9, 2.5f, 9, 5);

    public static TheoryData<string> Kinds => ["stl-text", "stl-binary", "obj", "obj-negative", "ply-text", "ply-little", "ply-big"];

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Read_EveryFormat_GivesTheMeshThatWasWritten(string kind)
    {
        MeshFile file = MeshReader.Read(Written(Wedge, kind), Name(kind), MeshUnit.Millimetre);
        Assert.Equal(90, file.TrianglesInFile);
        Assert.Equal(90, file.Mesh.TriangleCount);
        Assert.Equal(45, file.Mesh.Vertices.Length);
        Assert.True(file.Mesh.IsClosed);
        Assert.False(file.WasInsideOut);
        Assert.Equal(Wedge.VolumeMm3, file.Mesh.VolumeMm3, 1e-3);
        Assert.Equal(kind[..3].ToUpperInvariant(), file.Format[..3]);
    }

    [Theory]
    [InlineData("Millimetre", 1)]
    [InlineData("Centimetre", 10)]
    [InlineData("Metre", 1000)]
    public void Read_Unit_IsTheCallers(string unit, double factor)
    {
        MeshFile file = MeshReader.Read(Written(Wedge, "stl-binary"), "a.stl", Enum.Parse<MeshUnit>(unit));
        Assert.Equal(Wedge.Bounds.Maximum.X * factor, file.Mesh.Bounds.Maximum.X, 1e-4 * factor);
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Read_InsideOut_IsTurnedRoundAndSaid(string kind)
    {
        MeshFile file = MeshReader.Read(Written(Wedge.Flipped(), kind), Name(kind), MeshUnit.Millimetre);
        Assert.True(file.WasInsideOut);
        Assert.Equal(Wedge.VolumeMm3, file.Mesh.VolumeMm3, 1e-3);
    }

    [Fact]
    public void Read_ObjWithPolygonsNormalsAndContinuedLines_IsFanned()
    {
        const string Cube = """
            # a cube
            mtllib none.mtl
            o cube
            v 0 0 0
            v 1 0 0 0.5
            v 1 +1 0
            v 0 1 0
            v 0 0 1e0
            v 1 0 1
            v 1 1 1
            v 0 1 1
            vn 0 0 1
            vt 0 0
            f 4//1 3//1 2//1 1//1
            f 5/1/1 6/1/1 7/1/1 8/1/1
            f 1/1 2/1 6/1 5/1
            f 2 3 7 \
              6
            f -6 -5 -1 -2
            s off
            f 4 1 5 8
            """;
        MeshFile file = MeshReader.Read(Encoding.UTF8.GetBytes(Cube), "cube.OBJ", MeshUnit.Centimetre);
        Assert.Equal(12, file.TrianglesInFile);
        Assert.True(file.Mesh.IsClosed);
        Assert.Equal(1000, file.Mesh.VolumeMm3, 1e-3);
    }

    [Theory]
    [InlineData("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nendloop\nendfacet\nendsolid", "a.stl", "line 6 has 'endloop'")]
    [InlineData("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 x\n", "a.stl", "line 5 has 'x' where a number belongs")]
    [InlineData("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0\n", "a.stl", "line 5 ends where a number belongs")]
    [InlineData("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 nan\n", "a.stl", "point 1")]
    [InlineData("solid a\n", "a.stl", "without 'endsolid'")]
    [InlineData("solid a\nendsolid a\n", "a.stl", "no triangle")]
    [InlineData("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n", "a.obj", "line 4 asks for point 4 of 3")]
    [InlineData("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 -4\n", "a.obj", "line 4 asks for point -4 of 3")]
    [InlineData("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2\n", "a.obj", "face of 2 corners")]
    [InlineData("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 0\n", "a.obj", "'0', which is no index")]
    [InlineData("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 2\n", "a.obj", "none of its triangles has an area")]
    [InlineData("v 0 0 1e300\n", "a.obj", "within 100 m")]
    [InlineData("", "a.obj", "no triangle")]
    [InlineData("", "a.stl", "none of STL, OBJ and PLY")]
    [InlineData("ply\nformat ascii 1.0\n", "a.ply", "header has no end")]
    [InlineData("ply\nformat middle_endian 1.0\nend_header\n", "a.ply", "line 2 of its header")]
    [InlineData("ply\nelement vertex 1\nproperty float x\nend_header\n1\n", "a.ply", "names no format")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nend_header\n1\n", "a.ply", "lack x, y or z")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 99999999999\nproperty float x\nproperty float y\nproperty float z\nend_header\n1 2 3\n", "a.ply", "promises 99999999999")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 2\nproperty float x\nproperty float y\nproperty float z\nend_header\n1 2 3\n", "a.ply", "ends before")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n1 2 3\n3 0 0 1\n", "a.ply", "face 1 asks for point 1 of 1")]
    [InlineData("ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list int int vertex_indices\nend_header\n1 2 3\n-3 0 0 1\n", "a.ply", "list of -3 numbers")]
    public void Read_Damage_IsOneClearSentence(string text, string name, string expected)
    {
        UnreadableMeshException problem = Assert.Throws<UnreadableMeshException>(() => MeshReader.Read(Encoding.UTF8.GetBytes(text), name, MeshUnit.Millimetre));
        Assert.Contains(expected, problem.Message);
        Assert.StartsWith(name + ": ", problem.Message);
        Assert.EndsWith(".", problem.Message);
        Assert.DoesNotContain('\n', problem.Message);
    }

    [Fact]
    public void Read_BinaryStlCutShort_SaysHowLongItShouldBe()
    {
        byte[] whole = Written(Wedge, "stl-binary");
        UnreadableMeshException problem = Assert.Throws<UnreadableMeshException>(() => MeshReader.Read(whole.AsSpan(0, whole.Length - 1), "a.stl", MeshUnit.Millimetre));
        Assert.Contains("a binary STL of 90 triangles has 4584 bytes; this one has 4583", problem.Message);
    }

    [Fact]
    public void ReadClosed_HoleInIt_SaysHowManyEdgesAreOpen()
    {
        using ScratchFolder folder = new();
        string path = folder["open.stl"];
        File.WriteAllBytes(path, Written(new TriangleMesh(Wedge.Vertices.ToArray(), Wedge.Corners[3..].ToArray()), "stl-binary"));
        UnreadableMeshException problem = Assert.Throws<UnreadableMeshException>(() => MeshReader.ReadClosed(path, MeshUnit.Millimetre));
        Assert.Contains("not closed: 3 edges of 89 triangles", problem.Message);
        Assert.Equal(3, MeshReader.Read(path, MeshUnit.Millimetre).Mesh.OpenEdges);
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Read_CutAnywhere_IsReadWholeOrRefused(string kind)
    {
        byte[] whole = Written(Wedge, kind);
        for (int length = 0; length < whole.Length; length += 7)
        {
            TryRead(whole.AsSpan(0, length).ToArray(), kind, mustFailIfShorterThan: whole.Length - 40, length);
        }
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Read_DamagedAnywhere_NeverFailsOtherwise(string kind)
    {
        byte[] whole = Written(Wedge, kind);
        SplitMix random = new(99);
        for (int run = 0; run < 1500; run++)
        {
            byte[] damaged = (byte[])whole.Clone();
            int changes = 1 + (int)(random.Next() % 6);
            for (int change = 0; change < changes; change++)
            {
                // Half of the damage falls on the first 300 bytes, where counts and formats stand.
                int place = (int)(random.Next() % (ulong)((random.Next() & 1) == 0 ? Math.Min(300, damaged.Length) : damaged.Length));
                damaged[place] = (random.Next() % 4) switch
                {
                    0 => 0xFF,
                    1 => (byte)"0123456789-+.eE \n/"[(int)(random.Next() % 18)],
                    2 => (byte)(damaged[place] ^ (1 << (int)(random.Next() % 8))),
                    _ => (byte)random.Next(),
                };
            }

            TryRead(damaged, kind, mustFailIfShorterThan: 0, damaged.Length);
        }
    }

    [SharedDataFact("bones")]
    public void Read_OpenBones_TellsClosedFromOpen()
    {
        // Which are closed is a fact of the files that the reader has to find again; the count itself is nobody's figure.
        int read = 0;
        foreach (string path in SharedData.Files("bones"))
        {
            MeshUnit unit = UnitOf(path);
            MeshFile file = MeshReader.Read(path, unit);
            read++;
            if (file.Mesh.IsClosed)
            {
                Assert.True(MeshReader.ReadClosed(path, unit).Mesh.VolumeMm3 > 0);
            }
            else
            {
                Assert.Contains("not closed", Assert.Throws<UnreadableMeshException>(() => MeshReader.ReadClosed(path, unit)).Message);
            }
        }

        Assert.True(read > 0);
    }

    [SharedDataFact("bones")]
    public void Project_AClosedBone_HasTheLengthsOfEveryTriangleTriedOneByOne()
    {
        string path = SharedData.Files("bones").First(file => MeshReader.Read(file, UnitOf(file)).Mesh is { IsClosed: true, TriangleCount: < 8000 });
        TriangleMesh mesh = MeshReader.Read(path, UnitOf(path)).Mesh;
        float size = (mesh.Bounds.Maximum - mesh.Bounds.Minimum).Length();
        Pose pose = Pose.Turned(Vector3.Zero, 20, 35, 50);
        pose = pose with { Origin = new Vector3(0, 0, size) - pose.ToOuter(0.5f * (mesh.Bounds.Minimum + mesh.Bounds.Maximum)) };
        BeamGeometry geometry = BeamGeometry.FromTube(64, 64, size / 40, 12 * size, 5, -8, new PixelPoint(X: 31.3, Y: 30.8));
        Raster<float> lengths = new(64, 64);
        new MeshProjector(geometry).Add(mesh, pose, 1, lengths);
        int crossed = 0;
        for (int row = 0; row < 64; row += 3)
        {
            for (int column = 0; column < 64; column += 3)
            {
                double expected = BruteForce.LengthMm(mesh, pose, geometry, row, column, out double margin);
                if (margin < 1e-4)
                {
                    // The ray passes a silhouette edge by less than rounding.
                    continue;
                }

                crossed += expected > 0 ? 1 : 0;

                // Single precision of the sums: 10⁻⁷ of the mesh's depth for each crossing.
                Assert.Equal(expected, lengths[row, column], 1e-5 * size);
            }
        }

        Assert.True(crossed > 25, $"only {crossed} rays cross the bone");
    }

    /// <summary>One of the folder's sources counts in metres, others in millimetres; of one the unit is not known, which does not matter here.</summary>
    private static MeshUnit UnitOf(string path)
        => Path.GetFileName(path).StartsWith("myo", StringComparison.Ordinal) ? MeshUnit.Metre : MeshUnit.Millimetre;

    private static string Name(string kind) => "mesh." + kind[..3];

    private static void TryRead(byte[] bytes, string kind, int mustFailIfShorterThan, int length)
    {
        try
        {
            MeshFile file = MeshReader.Read(bytes, Name(kind), MeshUnit.Millimetre);
            Assert.True(file.Mesh.TriangleCount <= 200_000);
            Assert.True(kind.StartsWith("obj", StringComparison.Ordinal) || length >= mustFailIfShorterThan, $"{length} bytes were read as a whole mesh");
        }
        catch (UnreadableMeshException problem)
        {
            Assert.DoesNotContain('\n', problem.Message);
        }
    }

    private static byte[] Written(TriangleMesh mesh, string kind)
    {
        using MemoryStream stream = new();
        StringBuilder text = new();
        switch (kind)
        {
            case "stl-text":
                text.Append("solid wedge\n");
                for (int at = 0; at < mesh.Corners.Length; at += 3)
                {
                    text.Append("  facet normal 0 0 0\n    outer loop\n");
                    for (int corner = 0; corner < 3; corner++)
                    {
                        text.Append("      vertex ").Append(Three(mesh.Vertices[mesh.Corners[at + corner]])).Append('\n');
                    }

                    text.Append("    endloop\n  endfacet\n");
                }

                text.Append("endsolid wedge\n");
                return Encoding.ASCII.GetBytes(text.ToString());
            case "stl-binary":
                stream.Write(new byte[80]);
                Write(stream, mesh.TriangleCount, big: false);
                for (int at = 0; at < mesh.Corners.Length; at += 3)
                {
                    stream.Write(new byte[12]);
                    for (int corner = 0; corner < 3; corner++)
                    {
                        Write(stream, mesh.Vertices[mesh.Corners[at + corner]], big: false);
                    }

                    stream.Write(new byte[2]);
                }

                return stream.ToArray();
            case "obj" or "obj-negative":
                foreach (Vector3 vertex in mesh.Vertices)
                {
                    text.Append("v ").Append(Three(vertex)).Append('\n');
                }

                for (int at = 0; at < mesh.Corners.Length; at += 3)
                {
                    text.Append('f');
                    for (int corner = 0; corner < 3; corner++)
                    {
                        text.Append(' ').Append(kind == "obj" ? mesh.Corners[at + corner] + 1 : mesh.Corners[at + corner] - mesh.Vertices.Length);
                    }

                    text.Append('\n');
                }

                return Encoding.ASCII.GetBytes(text.ToString());
            default:
                string format = kind switch { "ply-text" => "ascii", "ply-little" => "binary_little_endian", _ => "binary_big_endian" };
                stream.Write(Encoding.ASCII.GetBytes(
                    $"ply\nformat {format} 1.0\ncomment a wedge\nelement vertex {mesh.Vertices.Length}\nproperty float x\nproperty float y\nproperty float z\nproperty uchar red\nelement face {mesh.TriangleCount}\nproperty list uchar int vertex_indices\nproperty ushort part\nend_header\n"));
                if (kind == "ply-text")
                {
                    foreach (Vector3 vertex in mesh.Vertices)
                    {
                        text.Append(Three(vertex)).Append(" 200\n");
                    }

                    for (int at = 0; at < mesh.Corners.Length; at += 3)
                    {
                        text.Append(CultureInfo.InvariantCulture, $"3 {mesh.Corners[at]} {mesh.Corners[at + 1]} {mesh.Corners[at + 2]} 7\n");
                    }

                    stream.Write(Encoding.ASCII.GetBytes(text.ToString()));
                    return stream.ToArray();
                }

                bool big = kind == "ply-big";
                foreach (Vector3 vertex in mesh.Vertices)
                {
                    Write(stream, vertex, big);
                    stream.WriteByte(200);
                }

                for (int at = 0; at < mesh.Corners.Length; at += 3)
                {
                    stream.WriteByte(3);
                    for (int corner = 0; corner < 3; corner++)
                    {
                        Write(stream, mesh.Corners[at + corner], big);
                    }

                    stream.Write([0, 7]);
                }

                return stream.ToArray();
        }
    }

    private static string Three(Vector3 v) => string.Create(CultureInfo.InvariantCulture, $"{v.X:R} {v.Y:R} {v.Z:R}");

    private static void Write(Stream stream, Vector3 v, bool big)
    {
        Write(stream, BitConverter.SingleToInt32Bits(v.X), big);
        Write(stream, BitConverter.SingleToInt32Bits(v.Y), big);
        Write(stream, BitConverter.SingleToInt32Bits(v.Z), big);
    }

    private static void Write(Stream stream, int value, bool big)
    {
        byte[] four = new byte[4];
        if (big)
        {
            BinaryPrimitives.WriteInt32BigEndian(four, value);
        }
        else
        {
            BinaryPrimitives.WriteInt32LittleEndian(four, value);
        }

        stream.Write(four);
    }
}
