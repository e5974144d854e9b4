using System.Buffers.Binary;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;
using Hotlight.Simulation.Tests.Meshes;
using Hotlight.Testing;

namespace Hotlight.Simulation.Tests.Projection;

/// <summary>The projector beside Embree, another author's ray tracer: tests/reference/embree-chords.</summary>
public sealed class EmbreeChordsTests
{
    [Fact]
    [Trait("evidence", "independent")]
    public void Add_LumpyMesh_HasTheLengthsThatEmbreeFinds()
    {
        string folder = Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "embree-chords");
        TriangleMesh mesh = MeshReader.ReadClosed(Path.Combine(folder, "lump.stl"), MeshUnit.Millimetre).Mesh;
        byte[] chords = File.ReadAllBytes(Path.Combine(folder, "chords.f32"));
        BeamGeometry geometry = new(48, 48, 1.5, 1000) { CentralRay = new PixelPoint(X: 22.4, Y: 24.7), Source = new(80, -120, 1000) };
        Raster<float> lengths = new(48, 48);
        new MeshProjector(geometry).Add(mesh, Pose.Identity, 1, lengths);
        int crossed = 0;
        for (int row = 0; row < 48; row++)
        {
            for (int column = 0; column < 48; column++)
            {
                double byTriangles = BruteForce.LengthMm(mesh, Pose.Identity, geometry, row, column, out double margin);
                if (margin < 1e-4)
                {
                    // Within rounding of an edge each may see another side.
                    continue;
                }

                crossed += byTriangles > 0 ? 1 : 0;

                // Embree counts in single precision from the source: 1000 mm to 2⁻²⁴ is 0.00006 mm for each of some ten operations, for two to six crossings: 0.004 mm.
                // A ray that meets its triangles at a slant of 1 in 10 sees ten times that.
                float embree = BinaryPrimitives.ReadSingleLittleEndian(chords.AsSpan(4 * ((row * 48) + column)));
                Assert.Equal(embree, lengths[row, column], 0.04);

                // Our sums are kept relative to the mesh's middle: its depth of 50 mm to 2⁻²⁴ is 0.000003 mm, some ten operations and six crossings, at a slant of 1 in 10: 0.002 mm.
                Assert.Equal(byTriangles, lengths[row, column], 0.002);
            }
        }

        Assert.True(crossed > 500, $"only {crossed} rays cross the mesh");
    }
}
