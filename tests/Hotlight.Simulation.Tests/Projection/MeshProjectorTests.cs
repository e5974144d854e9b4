using System.Numerics;
using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;
using Hotlight.Simulation.Tests.Meshes;

namespace Hotlight.Simulation.Tests.Projection;

public sealed class MeshProjectorTests
{
    private static readonly BeamGeometry Straight = new(241, 261, 0.5, 1000);

    // Tilted in both planes, aimed off the middle.
    private static readonly BeamGeometry Tilted = BeamGeometry.FromTube(241, 261, 0.5, 1800, 12, -20, new PixelPoint(X: 110, Y: 131));

    public static TheoryData<bool> Beams => [false, true];

    [Theory]
    [MemberData(nameof(Beams))]
    [Trait("evidence", "analytic")]
    public void Chords_Sphere_AreTwiceRootOfRadiusSquaredMinusDistanceSquared(bool tilted)
    {
        Vector3d centre = new(4, -6, 45);
        const double Radius = 25;

        // 1200 facets around: the sagitta is R(1 − cos(π/1200)) = 0.00009 mm. Rays that pass nearer than 2 % of the radius to the rim are left out:
        // there a sagitta s takes s·R/half-chord, still below 0.1 %.
        Compare(SolidMeshes.Sphere(new Vector3(4, -6, 45), (float)Radius, 1200), tilted ? Tilted : Straight, (source, direction) =>
        {
            Vector3d offset = source - centre;
            double along = Vector3d.Dot(offset, direction);
            double inside = (along * along) - Vector3d.Dot(offset, offset) + (Radius * Radius);
            return inside > 0 ? 2 * Math.Sqrt(inside) : 0;
        }, rimMm: 0.5);
    }

    [Theory]
    [MemberData(nameof(Beams))]
    [Trait("evidence", "analytic")]
    public void Chords_Box_AreThoseBetweenItsSlabs(bool tilted)
    {
        Vector3d low = new(-20, -15, 10);
        Vector3d high = new(24, 13, 50);
        Compare(SolidMeshes.Cuboid(new Box(new Vector3(-20, -15, 10), new Vector3(24, 13, 50))), tilted ? Tilted : Straight, (source, direction) =>
        {
            double enter = double.MinValue;
            double leave = double.MaxValue;
            Slab(source.X, direction.X, low.X, high.X);
            Slab(source.Y, direction.Y, low.Y, high.Y);
            Slab(source.Z, direction.Z, low.Z, high.Z);
            return Math.Max(0, leave - enter);

            void Slab(double from, double step, double minimum, double maximum)
            {
                if (step == 0)
                {
                    (enter, leave) = from >= minimum && from <= maximum ? (enter, leave) : (1, 0);
                    return;
                }

                double first = (minimum - from) / step;
                double second = (maximum - from) / step;
                enter = Math.Max(enter, Math.Min(first, second));
                leave = Math.Min(leave, Math.Max(first, second));
            }
        }, rimMm: 0.2);
    }

    [Theory]
    [MemberData(nameof(Beams))]
    [Trait("evidence", "analytic")]
    public void Chords_Cylinder_AreThoseOfTheQuadraticBetweenItsEnds(bool tilted)
    {
        // Along y, from −22 to 22, at height 40, radius 14.
        Compare(SolidMeshes.Cylinder(new Vector3(3, -22, 40), new Vector3(3, 22, 40), 14, 2000), tilted ? Tilted : Straight, (source, direction) =>
        {
            double ox = source.X - 3;
            double oz = source.Z - 40;
            double a = (direction.X * direction.X) + (direction.Z * direction.Z);
            double b = (ox * direction.X) + (oz * direction.Z);
            double c = (ox * ox) + (oz * oz) - (14 * 14);
            double inside = (b * b) - (a * c);
            if (inside <= 0)
            {
                return 0;
            }

            double enter = (-b - Math.Sqrt(inside)) / a;
            double leave = (-b + Math.Sqrt(inside)) / a;
            if (direction.Y != 0)
            {
                double first = (-22 - source.Y) / direction.Y;
                double second = (22 - source.Y) / direction.Y;
                enter = Math.Max(enter, Math.Min(first, second));
                leave = Math.Min(leave, Math.Max(first, second));
            }

            return Math.Max(0, leave - enter);
        }, rimMm: 0.3);
    }

    [Theory]
    [MemberData(nameof(Beams))]
    [Trait("evidence", "analytic")]
    public void Chords_Torus_AreThoseOfItsQuartic(bool tilted)
    {
        // Axis along z at height 35, ring 22, section 7. The quartic's inside is found by bisection between close samples of
        // (√(x² + y²) − 22)² + z² − 49, to 10⁻⁹ mm: an independent, slow solution.
        Compare(SolidMeshes.Torus(new Vector3(2, 3, 35), Vector3.UnitZ, 22, 7, 2400, 800), tilted ? Tilted : Straight, (source, direction) =>
        {
            double start = (45 - source.Z) / direction.Z;
            double end = (25 - source.Z) / direction.Z;
            const int Samples = 400;
            double sum = 0;
            double before = Value(start);
            double entered = double.NaN;
            for (int k = 1; k <= Samples; k++)
            {
                double t = start + ((end - start) * k / Samples);
                double value = Value(t);
                if (before < 0 != value < 0)
                {
                    double root = Root(start + ((end - start) * (k - 1) / Samples), t);
                    sum += value < 0 ? -root : root;
                    entered = root;
                }

                before = value;
            }

            return double.IsNaN(entered) ? 0 : sum;

            double Value(double t)
            {
                Vector3d p = source + (t * direction) - new Vector3d(2, 3, 35);
                double across = Math.Sqrt((p.X * p.X) + (p.Y * p.Y)) - 22;
                return (across * across) + (p.Z * p.Z) - 49;
            }

            double Root(double low, double high)
            {
                bool inside = Value(low) < 0;
                for (int step = 0; step < 60; step++)
                {
                    double middle = 0.5 * (low + high);
                    (low, high) = Value(middle) < 0 == inside ? (middle, high) : (low, middle);
                }

                return 0.5 * (low + high);
            }
        }, rimMm: 0.5, everyNth: 3);
    }

    [Theory]
    [MemberData(nameof(Beams))]
    [Trait("evidence", "analytic")]
    public void Chords_OverTheWholeImage_AddUpToTheVolume(bool tilted)
    {
        // At height z the bundle of rays through one pixel has the pixel's area times s², s = 1 − z/height of the source. So a chord that spans dz
        // around a middle height stands for pixel² · ∫ s² dz = pixel² · dz · (s² at the middle + dz²/(12·height²)).
        BeamGeometry geometry = tilted ? Tilted : Straight;
        TriangleMesh sphere = SolidMeshes.Sphere(new Vector3(4, -6, 45), 25, 600);
        ChordMap map = new MeshProjector(geometry).Chords(sphere, Pose.Identity, withHeights: true)!;
        double volume = 0;
        double height = geometry.Source.Z;
        for (int row = 0; row < map.LengthsMm.Rows; row++)
        {
            for (int column = 0; column < map.LengthsMm.Columns; column++)
            {
                double obliquity = geometry.Obliquity(geometry.ReceptorX(map.Left + column), geometry.ReceptorY(map.Top + row));

                double dz = map.LengthsMm[row, column] / obliquity;
                double s = 1 - (map.HeightsMm![row, column] / height);
                volume += dz * ((s * s) + (dz * dz / (12 * height * height))) * geometry.SpacingMm * geometry.SpacingMm;
            }
        }

        // 8000 rays and more with smooth chords that end in a square root at the rim: the lattice sum is good to about (1/100)^1.5 = 0.1 %.
        Assert.Equal(1, volume / sphere.VolumeMm3, 0.001);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Chords_Heights_AreThoseOfTheMiddleOfTheChord()
    {
        TriangleMesh box = SolidMeshes.Cuboid(new Box(new Vector3(-30, -30, 100), new Vector3(30, 30, 130)));
        ChordMap map = new MeshProjector(Straight).Chords(box, Pose.Identity, withHeights: true)!;

        // Rays that enter at the top and leave at the bottom: the middle is at 115 mm; 10⁻⁷ of 1000 mm over the chord's share.
        Assert.Equal(115, map.HeightsMm![(int)Straight.CentralRay.Y - map.Top, (int)Straight.CentralRay.X - map.Left], 0.01);
        Assert.Equal(115, map.HeightsMm[(int)Straight.CentralRay.Y - map.Top + 20, (int)Straight.CentralRay.X - map.Left - 25], 0.01);
    }

    [Theory]
    [MemberData(nameof(Beams))]
    public void Chords_MeshOfAShape_AgreeWithItsImplicitTwin(bool tilted)
    {
        Shape bone = new SmoothUnion(3, new TaperedCapsule(new(-4, -20, 30), new(2, 18, 38), 8, 6), new Ellipsoid(new(5, 24, 40), new(12, 9, 10)));
        const float Cell = 0.4f;
        TriangleMesh mesh = ShapeMesher.FromShape(bone, Cell);

        // Facets lie within the sagitta of a diagonal, 2·cell²/(8·R) with R the least radius of 3 mm at the seam: 0.013 mm for each crossing.
        // A crossing whose ray meets the surface at 20° or more errs by three times that, and there are two.
        Compare(mesh, tilted ? Tilted : Straight, (source, direction) =>
        {
            double start = (60 - source.Z) / direction.Z;
            double end = (10 - source.Z) / direction.Z;
            const double Step = 0.05;
            double sum = 0;
            double before = Value(start);
            for (double t = start + Step; t < end; t += Step)
            {
                double value = Value(t);
                if (before < 0 || value < 0)
                {
                    sum += Step * (before < 0 && value < 0 ? 1 : Math.Min(before, value) / -(Math.Abs(before) + Math.Abs(value)));
                }

                before = value;
            }

            return sum;

            double Value(double t)
            {
                Vector3d p = source + (t * direction);
                return bone.Distance(new Vector3((float)p.X, (float)p.Y, (float)p.Z));
            }
        }, rimMm: 1, everyNth: 2, absoluteMm: 0.08);
    }

    [Fact]
    public void Add_ManyPosesOfARoughClosedMesh_LeavesNoLengthBesideIt()
    {
        // A pixel that one triangle took and its neighbour did not would show the distance to the reference, tens of mm, outside the silhouette or as a negative length.
        Grain grain = new(5, 1);
        TriangleMesh rough = ShapeMesher.FromDistance(point => grain.At(point * 0.8f) + (0.02f * point.LengthSquared()) - 2, Box.Around(Vector3.Zero, 14), 1);
        for (int turn = 0; turn < 24; turn++)
        {
            Raster<float> lengths = new(Straight.Rows, Straight.Columns);
            Pose pose = Pose.Turned(new Vector3(3, 2, 200), 17 * turn, 31 * turn, 45 * turn);
            new MeshProjector(Straight).Add(rough, turn % 2 == 0 ? pose : pose with { X = -pose.X }, 1, lengths);
            foreach (float length in lengths.Samples)
            {
                Assert.InRange(length, -1e-3f, 50);
            }
        }
    }

    [Fact]
    public void Add_VerticesExactlyOnPixelCentres_CountsEveryRayOnce()
    {
        // Source so far that x = column: a box whose sides, corners and diagonals all pass through pixel centres.
        BeamGeometry geometry = new(21, 21, 1, 1 << 20);
        Raster<float> lengths = new(21, 21);
        MeshProjector projector = new(geometry);
        for (int k = 0; k < 4; k++)
        {
            // Four boxes side by side tile a square of 8 × 8: every pixel in it gets one box's depth, no more and no less.
            int x = -4 + (4 * (k % 2));
            int y = -4 + (4 * (k / 2));
            projector.Add(SolidMeshes.Cuboid(new Box(new Vector3(x, y, 0), new Vector3(x + 4, y + 4, 8))), Pose.Identity, 1, lengths);
        }

        for (int row = 0; row < 21; row++)
        {
            for (int column = 0; column < 21; column++)
            {
                // Magnification by 8 in a million pushes the far sides out by 0.00003 pixel, over the last centre.
                int expected = row is >= 6 and <= 14 && column is >= 6 and <= 14 ? 8 : 0;
                bool rim = row is 6 or 14 || column is 6 or 14;
                Assert.True(rim ? lengths[row, column] is >= -1e-3f and < 8.1f : Math.Abs(lengths[row, column] - expected) < 0.01, $"{row}, {column}: {lengths[row, column]}");
            }
        }
    }

    [Fact]
    public void Add_NestedSurfaces_MovesLengthFromOuterToInner()
    {
        Raster<float> outer = new(Straight.Rows, Straight.Columns);
        Raster<float> inner = new(Straight.Rows, Straight.Columns);
        MeshProjector projector = new(Straight);
        projector.Add(SolidMeshes.Cuboid(new Box(new Vector3(-30, -30, 10), new Vector3(30, 30, 50))), Pose.Identity, 1, outer);
        projector.Add(SolidMeshes.Cuboid(new Box(new Vector3(-10, -10, 20), new Vector3(10, 10, 35))), Pose.Identity, new WeightedPlane(inner, 1), new WeightedPlane(outer, -1));
        int row = (int)Straight.CentralRay.Y;
        int column = (int)Straight.CentralRay.X;
        Assert.Equal(25, outer[row, column], 1e-3);
        Assert.Equal(15, inner[row, column], 1e-3);
    }

    [Fact]
    public void Add_BelowTheReceptor_IsCutOffThere()
    {
        Raster<float> lengths = new(Straight.Rows, Straight.Columns);
        new MeshProjector(Straight).Add(SolidMeshes.Cuboid(new Box(new Vector3(-10, -10, -25), new Vector3(10, 10, 15))), Pose.Identity, 1, lengths);
        Assert.Equal(15, lengths[(int)Straight.CentralRay.Y, (int)Straight.CentralRay.X], 1e-3);
    }

    [Fact]
    public void Add_AtTheSource_IsRefused()
    {
        Raster<float> lengths = new(Straight.Rows, Straight.Columns);
        ArgumentException problem = Assert.Throws<ArgumentException>(
            () => new MeshProjector(Straight).Add(SolidMeshes.Sphere(new Vector3(0, 0, 995), 10), Pose.Identity, 1, lengths));
        Assert.Contains("source is at 1000 mm", problem.Message);
        Assert.All(lengths.Samples.ToArray(), length => Assert.Equal(0, length));
    }

    [Fact]
    public void Add_OpenMesh_IsRefused()
    {
        TriangleMesh box = SolidMeshes.Cuboid(new Box(new Vector3(-10, -10, 5), new Vector3(10, 10, 15)));
        TriangleMesh open = new(box.Vertices.ToArray(), box.Corners[3..].ToArray());
        ArgumentException problem = Assert.Throws<ArgumentException>(() => new MeshProjector(Straight).Add(open, Pose.Identity, 1, new Raster<float>(Straight.Rows, Straight.Columns)));
        Assert.Contains("3 open edges", problem.Message);
    }

    [Fact]
    public void Add_FarBesideTheImage_AddsNothing()
    {
        Raster<float> lengths = new(Straight.Rows, Straight.Columns);
        new MeshProjector(Straight).Add(SolidMeshes.Sphere(new Vector3(900, 0, 500), 100), Pose.Identity, 1, lengths);
        Assert.All(lengths.Samples.ToArray(), length => Assert.Equal(0, length));
    }

    [Fact]
    public void Add_Twice_GivesTheSameBytes()
    {
        TriangleMesh mesh = SolidMeshes.Torus(new Vector3(2, 3, 35), Vector3.UnitX, 22, 7);
        Raster<float> first = new(Straight.Rows, Straight.Columns);
        Raster<float> second = new(Straight.Rows, Straight.Columns);
        new MeshProjector(Tilted).Add(mesh, Pose.Identity, 1, first);
        new MeshProjector(Tilted).Add(mesh, Pose.Identity, 1, second);
        Assert.True(MemoryMarshal.AsBytes(first.Samples).SequenceEqual(MemoryMarshal.AsBytes(second.Samples)));
    }

    private static void Compare(TriangleMesh mesh, BeamGeometry geometry, Func<Vector3d, Vector3d, double> chord, double rimMm, int everyNth = 1, double absoluteMm = 0.004)
    {
        Raster<float> lengths = new(geometry.Rows, geometry.Columns);
        new MeshProjector(geometry).Add(mesh, Pose.Identity, 1, lengths);
        Vector3d source = new(geometry.Source.X, geometry.Source.Y, geometry.Source.Z);
        int compared = 0;
        for (int row = 0; row < geometry.Rows; row += everyNth)
        {
            for (int column = 0; column < geometry.Columns; column += everyNth)
            {
                double expected = Chord(row, column);
                if (expected == 0)
                {
                    // Beside the body; a facet never sticks out.
                    Assert.Equal(0, lengths[row, column], absoluteMm);
                    continue;
                }

                // Near a rim or an edge the chord changes without bound; pixels whose neighbours at the rim's distance leave the body are not compared.
                double offset = rimMm / geometry.SpacingMm;
                if (Chord(row - offset, column) == 0 || Chord(row + offset, column) == 0 || Chord(row, column - offset) == 0 || Chord(row, column + offset) == 0)
                {
                    continue;
                }

                compared++;
                Assert.True(Math.Abs(lengths[row, column] - expected) <= absoluteMm + (0.001 * expected), $"({row}, {column}): {lengths[row, column]} instead of {expected}");
            }
        }

        Assert.True(compared > 2500 / (everyNth * everyNth), $"only {compared} rays compared");

        double Chord(double row, double column)
        {
            Vector3d pixel = new((column - geometry.CentralRay.X) * geometry.SpacingMm, (row - geometry.CentralRay.Y) * geometry.SpacingMm, 0);
            Vector3d way = pixel - source;
            return chord(source, 1 / Math.Sqrt(Vector3d.Dot(way, way)) * way);
        }
    }

    /// <summary>A vector in double precision, so that the closed forms are not limited by single.</summary>
    private readonly record struct Vector3d(double X, double Y, double Z)
    {
        public static Vector3d operator +(Vector3d a, Vector3d b) => new(a.X + b.X, a.Y + b.Y, a.Z + b.Z);

        public static Vector3d operator -(Vector3d a, Vector3d b) => new(a.X - b.X, a.Y - b.Y, a.Z - b.Z);

        public static Vector3d operator *(double k, Vector3d a) => new(k * a.X, k * a.Y, k * a.Z);

        public static double Dot(Vector3d a, Vector3d b) => (a.X * b.X) + (a.Y * b.Y) + (a.Z * b.Z);
    }
}
