using System.Numerics;
using System.Runtime.InteropServices;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Projection;

public sealed class BodyProjectionTests
{
    // From so far that rays are parallel: 10⁶ mm.
    private static readonly BeamGeometry Far = new(161, 161, 0.5, 1e6);
    private static readonly BeamGeometry Near = new(161, 161, 0.5, 1000);

    [Fact]
    [Trait("evidence", "analytic")]
    public void Project_BallsWithinBalls_AddUpTheirChords()
    {
        Body body = Balls();
        PathLengths paths = new BodyProjection(Far, 1, cache: new MeshCache(1_000_000)).Project(body);

        // Across the middle row: skin 35, muscle 30, bone 12 around x = 0 with a cortex of 2, lung 6 around x = 20.
        for (int x = -30; x <= 30; x += 3)
        {
            double skin = Chord(35, x);
            double muscle = Chord(30, x);
            double bone = Chord(12, x);
            double marrow = Chord(10, x);
            double air = Chord(6, x - 20);
            double cortical = bone - marrow + (0.25 * marrow);
            double fatty = 0.5 * 0.75 * marrow;
            int row = 80;
            int column = 80 + (2 * x);

            // Cells of 1.1 and 2.2 mm: sagitta 2·cell²/(8R) below 0.035 mm for the balls, twice a ray, over the sine of the angle at which it meets them; 0.08 for the lung of radius 6.
            Assert.Equal(skin, paths.Skin[row, column], 0.15);
            Assert.Equal(bone, paths.BoneVolume[row, column], 0.15);
            Assert.Equal(cortical, paths.Bone[row, column], 0.15);
            Assert.Equal(skin - muscle + fatty, paths.Fat[row, column], 0.3);
            Assert.Equal(muscle - bone - (0.75 * air) + fatty, paths.Soft[row, column], 0.4);
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Project_Gas_TakesAllOfTheMuscleItReplaces()
    {
        Body body = new() { Skin = Ball(0, 35), Muscle = Ball(0, 30), Gas = Ball(0, 8), FatPlanes = 0, Placement = Lifted };
        PathLengths paths = new BodyProjection(Far, 1).Project(body);
        Assert.Equal(60 - 16, paths.Soft[80, 80], 0.3);
        Assert.Equal(10, paths.Fat[80, 80], 0.3);
        Assert.Equal(70, paths.Skin[80, 80], 0.15);
    }

    [Fact]
    public void Project_MirroredPlacement_IsTheMirrorImage()
    {
        Body body = Balls();
        Body left = body with { Placement = body.Placement with { X = -body.Placement.X } };
        PathLengths right = new BodyProjection(Near, 7).Project(body);
        PathLengths mirrored = new BodyProjection(Near, 7).Project(left);
        for (int row = 0; row < 161; row += 7)
        {
            for (int column = 0; column < 161; column++)
            {
                // A pixel exactly on a rim may belong to one side only, where the length is next to nothing.
                Assert.Equal(right.Soft[row, column], mirrored.Soft[row, 160 - column], 0.05);
                Assert.Equal(right.Bone[row, column], mirrored.Bone[row, 160 - column], 0.05);
            }
        }
    }

    [Fact]
    public void Project_MaterialsWithoutAir_AddUpToTheSkin()
    {
        Body body = Balls() with { Air = null, FatPlanes = 0.12f };
        PathLengths paths = new BodyProjection(Near, 3).Project(body);
        for (int at = 0; at < paths.Skin.Samples.Length; at++)
        {
            Assert.Equal(paths.Skin.Samples[at], paths.Soft.Samples[at] + paths.Fat.Samples[at] + paths.Bone.Samples[at], 0.01);
            Assert.True(paths.Soft.Samples[at] >= 0 && paths.Fat.Samples[at] >= 0 && paths.Bone.Samples[at] >= 0);
        }
    }

    [Fact]
    public void Project_Twice_GivesTheSameBytesAndMakesNoNewMesh()
    {
        Body body = Balls();
        PathLengths first = new BodyProjection(Near, 3, cache: new MeshCache(1_000_000)).Project(body);
        MeshCache cache = new(1_000_000);
        PathLengths second = new BodyProjection(Near, 3, cache: cache).Project(body);
        PathLengths third = new BodyProjection(Near, 3, cache: cache).Project(body);
        Assert.True(MemoryMarshal.AsBytes(first.Soft.Samples).SequenceEqual(MemoryMarshal.AsBytes(second.Soft.Samples)));
        Assert.True(MemoryMarshal.AsBytes(first.Bone.Samples).SequenceEqual(MemoryMarshal.AsBytes(third.Bone.Samples)));
    }

    [Fact]
    public void Project_Window_IsThatPartOfTheWhole()
    {
        Body body = Balls();
        PathLengths whole = new BodyProjection(Near, 3).Project(body);
        PathLengths part = new BodyProjection(Near, 3, new PixelWindow(40, 50, 90, 110)).Project(body);
        for (int row = 0; row < 161; row++)
        {
            for (int column = 0; column < 161; column++)
            {
                bool inside = row is >= 40 and <= 90 && column is >= 50 and <= 110;
                Assert.Equal(inside ? whole.Skin[row, column] : 0, part.Skin[row, column], 1e-4);
                Assert.Equal(inside ? whole.Bone[row, column] : 0, part.Bone[row, column], 1e-4);
            }
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Project_RibAndVessel_HaveTheChordsOfTheirSections()
    {
        Body body = new()
        {
            Skin = Ball(0, 38),
            Muscle = Ball(0, 37),
            Air = Ball(0, 30),
            AirDensityShare = 0.25,
            FatPlanes = 0,
            Placement = Lifted,
            Tubes = [new Hotlight.Simulation.Phantom.Tube([.. Enumerable.Range(-10, 21).Select(k => new TubeStation(new Vector3(3 * k, -32, 0), 5, 3))], Vector3.UnitY, 1, 0.2f)],
            Strands = [new Strand(new Vector3(-20, 10, 0), new Vector3(20, 10, 0), 2, 2)],
        };
        PathLengths paths = new BodyProjection(Far, 3).Project(body);

        // A tube of 28 facets: 1 − cos(π/28) = 0.6 % of 6 mm. Inner section 4 × 2 mm, spongy at 0.2 with a texture of depth 0.4 that is averaged over some struts.
        Assert.Equal(6, paths.BoneVolume[80 - 64, 80], 0.05);
        Assert.InRange(paths.Bone[80 - 64, 80], 2, 2 + (4 * 0.5));

        // The vessel of 4 mm in a lung of 0.25: soft length grows by 0.75 of its octagon's chord, 3.7 to 4.2 mm.
        double without = (2 * Math.Sqrt((37 * 37) - 100)) - (0.75 * 2 * Math.Sqrt((30 * 30) - 100));
        Assert.InRange(paths.Soft[80 + 20, 80] - without, (0.75 * 3.5) - 0.1, (0.75 * 4.3) + 0.1);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void GrainField_AlongManyLines_HasMeanNoughtAndDeviationOne()
    {
        GrainField field = new(11);
        float[] values = new float[2000];
        double sum = 0;
        double squares = 0;
        for (int line = 0; line < 500; line++)
        {
            field.Along(new Vector3(37.7f * line, 11.3f * line, 3.1f * line), new Vector3(1.9f, 0.7f, 2.3f), values);
            foreach (float value in values)
            {
                sum += value;
                squares += value * value;
            }
        }

        // A million places, correlated over some ten cells each way: some hundred thousand independent ones at least half the time; 0.05 is many deviations.
        Assert.Equal(0, sum / 1e6, 0.05);
        Assert.Equal(1, squares / 1e6, 0.05);
    }

    [Fact]
    public void GrainField_Rods_RunAlongY()
    {
        // Two places 6 cells apart are more alike along y than across.
        GrainField field = new(5);
        double along = Correlation(field, new Vector3(0, 6, 0));
        Assert.InRange(along, 0.1, 1);
        Assert.InRange(Correlation(field, new Vector3(6, 0, 0)), -1, 0.6 * along);
        Assert.InRange(Correlation(field, new Vector3(0, 0, 6)), -1, 0.6 * along);
    }

    private static Pose Lifted => Pose.Identity with { Origin = new Vector3(0, 0, 50) };

    private static Body Balls() => new()
    {
        Skin = Ball(0, 35),
        Muscle = Ball(0, 30),
        Air = Ball(20, 6),
        AirDensityShare = 0.25,
        FatPlanes = 0,
        Placement = Lifted,
        Bones = [new Bone { Name = "ball", Surface = Ball(0, 12), CortexMm = Curve.Constant(2), SpongyShare = Curve.Constant(0.25), GrainDepth = 0, UnevenMm = 0 }],
    };

    private static Ellipsoid Ball(float x, float radius) => new(new Vector3(x, 0, 0), new Vector3(radius));

    private static double Chord(double radius, double offset) => 2 * Math.Sqrt(Math.Max(0, (radius * radius) - (offset * offset)));

    private static double Correlation(GrainField field, Vector3 apart)
    {
        float[] here = new float[1000];
        float[] there = new float[1000];
        double sum = 0;
        for (int line = 0; line < 200; line++)
        {
            Vector3 start = new(29.3f * line, 7.7f * line, 3.3f * line);
            field.Along(start, new Vector3(5.3f, 7.9f, 6.1f), here);
            field.Along(start + apart, new Vector3(5.3f, 7.9f, 6.1f), there);
            for (int at = 0; at < 1000; at++)
            {
                sum += here[at] * there[at];
            }
        }

        return sum / 200_000;
    }
}
