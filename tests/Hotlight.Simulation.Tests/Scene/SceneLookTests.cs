using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Scene;

/// <summary>The quick picture against the exposure it stands for.</summary>
public sealed class SceneLookTests
{
    // The limits are about twice what docs/methods/pose-picture.md reports of the worst view: they guard the physics, not the last digit.
    [Theory]
    [InlineData("knee", "lateral")]
    [InlineData("wrist", "pa")]
    [InlineData("chest", "pa")]
    [Trait("evidence", "independent")]
    public void Look_OnTheExposuresOwnPixels_ReadsTheSameSignal(string part, string view)
    {
        SceneDocument scene = Askew(part, view, 256);
        SimulatedExposure exposure = SceneSimulator.Expose(new SceneSetup(scene, null), null, default);
        LabLook look = Lab.Look(scene, 256, noise: false);
        Assert.Equal(exposure.CleanMicrogray.Rows, look.SignalMicrogray.Rows);
        Assert.Equal(exposure.CleanMicrogray.Columns, look.SignalMicrogray.Columns);
        Compare(look, (row, column) => exposure.CleanMicrogray[row, column], biasPercent: 0.3, medianPercent: 0.6, mostPercent: 8);
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Look_AgainstAnExposureOfFineElements_ReadsTheMeanOfThoseUnderEachPixel()
    {
        // Three elements along each side of a pixel.
        SceneDocument scene = Askew("elbow", "lateral", 256);
        SceneDocument fine = scene with { Receptor = scene.Receptor with { SpacingMm = scene.Receptor.SpacingMm / 3 } };
        SimulatedExposure exposure = SceneSimulator.Expose(new SceneSetup(fine, null), null, default);
        LabLook look = Lab.Look(scene, 256, noise: false);
        Assert.Equal(3 * look.SignalMicrogray.Rows, exposure.CleanMicrogray.Rows);
        double Mean(int row, int column)
        {
            double sum = 0;
            for (int down = 0; down < 3; down++)
            {
                for (int across = 0; across < 3; across++)
                {
                    sum += exposure.CleanMicrogray[(3 * row) + down, (3 * column) + across];
                }
            }

            return sum / 9;
        }

        Compare(look, Mean, biasPercent: 0.3, medianPercent: 0.8, mostPercent: 10);
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Look_OfAPoseAndJoint_HasLandmarksWhereTheLabPlacesThem()
    {
        SceneDocument scene = Askew("knee", "lateral", 512);
        scene = scene with { Part = scene.Part! with { Joints = new Dictionary<string, double> { ["kneeFlexion"] = 41.3 } } };
        LabLook look = Lab.Look(scene, 512);
        LabPlacement placed = Lab.Place(scene);
        Assert.Equal(placed.Rows, look.Grey.Rows);
        foreach (LandmarkTruth landmark in placed.Landmarks)
        {
            LandmarkTruth seen = look.Landmarks.First(each => each.Name == landmark.Name);
            Assert.True(seen.Pixel.DistancePixelsTo(landmark.Pixel) < 0.05, $"{landmark.Name}: {seen.Pixel} and {landmark.Pixel}");
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Look_WithTwiceTheMas_ReadsTwiceTheSignal()
    {
        SceneDocument scene = Askew("wrist", "pa", 128);
        LabLook once = Lab.Look(scene, 128, noise: false);
        LabLook twice = Lab.Look(scene with { Tube = scene.Tube with { ExposureMas = 2 * scene.Tube.ExposureMas } }, 128, noise: false);
        for (int row = 40; row < 90; row++)
        {
            for (int column = 30; column < 70; column++)
            {
                Assert.Equal(2, twice.SignalMicrogray[row, column] / once.SignalMicrogray[row, column], 1e-4);
            }
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Look_UnderACollimator_ShowsItsFieldAndBlacksOutNothingElse()
    {
        SceneDocument scene = SceneStarts.For("elbow", "ap");
        LabLook look = Lab.Look(scene, 256);
        int inside = 0;
        for (int row = 0; row < look.InField.Rows; row++)
        {
            inside += look.InField.Row(row).Count(true);
        }

        // An opening of 130 × 200 mm on an untilted receptor; the border may miss half a pixel on each side.
        double area = inside * look.SpacingMm * look.SpacingMm;
        Assert.Equal(130 * 200, area, 2 * (130 + 200) * 0.5 * look.SpacingMm);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Look_Twice_IsTheSameToTheByte()
    {
        SceneDocument scene = Askew("foot", "ankle-ap", 200);
        Assert.True(Lab.Look(scene, 200).Grey.Samples.SequenceEqual(Lab.Look(scene, 200).Grey.Samples));
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Look_OfAChestThatBreathesOut_ReadsWhatAnExposureOfItDoes()
    {
        SceneDocument scene = Askew("chest", "pa", 256);
        scene = scene with { Part = scene.Part! with { Joints = new Dictionary<string, double> { ["inspiration"] = 3.7 } } };
        SimulatedExposure exposure = SceneSimulator.Expose(new SceneSetup(scene, null), null, default);
        LabLook look = Lab.Look(scene, 256, noise: false);
        Compare(look, (row, column) => exposure.CleanMicrogray[row, column], biasPercent: 0.3, medianPercent: 0.8, mostPercent: 10);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Place_OfAChestOfTheLeftSide_IsThatOfTheRight()
    {
        // What lies in the middle of the body has no side; a mirrored chest would have its heart on the right.
        SceneDocument scene = Askew("chest", "pa", 256);
        IReadOnlyList<LandmarkTruth> right = Lab.Place(scene).Landmarks;
        IReadOnlyList<LandmarkTruth> left = Lab.Place(scene with { Part = scene.Part! with { Side = "L" } }).Landmarks;
        Assert.Equal(right.Select(landmark => (landmark.Name, landmark.Pixel)), left.Select(landmark => (landmark.Name, landmark.Pixel)));
        SceneDocument knee = Askew("knee", "ap", 256);
        Assert.NotEqual(Lab.Place(knee).Landmarks.Select(landmark => landmark.Pixel), Lab.Place(knee with { Part = knee.Part! with { Side = "L" } }).Landmarks.Select(landmark => landmark.Pixel));
    }

    [Theory]
    [InlineData(63)]
    [InlineData(1025)]
    public void Look_OfASizeBeyondItsLimits_IsRefused(int side)
        => Assert.Throws<ArgumentOutOfRangeException>(() => Lab.Look(SceneStarts.For("wrist", "pa"), side));

    [Theory]
    [InlineData("knee", "kneeFlexion", 50)]
    [InlineData("wrist", "fingerFlexion", 30)]
    [InlineData("chest", "shoulderRoll", 12)]
    [Trait("evidence", "independent")]
    public void LowestZ_OfASkin_IsThatOfAFineMesh(string part, string joint, double degrees)
    {
        Body body = PartPhantoms.ByName(part).Build(new PartForm { Joints = new Dictionary<string, double> { [joint] = degrees } });
        TriangleMesh mesh = ShapeMesher.FromShape(body.Skin, part == "chest" ? 2.5f : 1.2f);
        foreach (Pose pose in (Pose[])[Pose.Turned(new Vector3(0, 0, 7), 0, 0, 0), Pose.Turned(Vector3.Zero, 90, 0, 0), Pose.Turned(Vector3.Zero, 20, 80, 5), Pose.Turned(Vector3.Zero, 170, -35, 60)])
        {
            float lowest = float.MaxValue;
            foreach (Vector3 vertex in mesh.Vertices)
            {
                lowest = MathF.Min(lowest, pose.ToOuter(vertex).Z);
            }

            // The mesh's own points lie on the skin; where a limb is cut off flat, the mesh rounds the rim by up to half its cell of 1.2 mm.
            Assert.InRange(SkinReach.LowestZ(body.Skin, pose), lowest - 0.6f, lowest + 0.1f);
        }
    }

    private static SceneDocument Askew(string part, string view, int longestSide)
    {
        SceneDocument scene = SceneStarts.For(part, view);
        return scene with
        {
            Part = scene.Part! with { TurnDegrees = 7, TiltDegrees = -4, LeanDegrees = 3 },
            Receptor = scene.Receptor with { SpacingMm = Math.Max(scene.Receptor.WidthMm, scene.Receptor.HeightMm) / longestSide },
        };
    }

    private static void Compare(LabLook look, Func<int, int, double> exposed, double biasPercent, double medianPercent, double mostPercent)
    {
        List<double> off = [];
        for (int row = 2; row < look.Grey.Rows - 2; row++)
        {
            for (int column = 2; column < look.Grey.Columns - 2; column++)
            {
                if (look.InField[row, column] && look.SkinMm[row, column] > 4)
                {
                    off.Add(100 * ((look.SignalMicrogray[row, column] / exposed(row, column)) - 1));
                }
            }
        }

        Assert.InRange(off.Count, 3000, int.MaxValue);
        Assert.InRange(off.Average(), -biasPercent, biasPercent);
        double[] sizes = [.. off.Select(Math.Abs).Order()];
        Assert.InRange(sizes[sizes.Length / 2], 0, medianPercent);
        Assert.InRange(sizes[(int)(0.99 * sizes.Length)], 0, mostPercent);
    }
}
