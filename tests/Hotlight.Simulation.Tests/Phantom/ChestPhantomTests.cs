using System.Numerics;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Phantom;

public class ChestPhantomTests
{
    private static readonly ChestPhantom Chest = new();

    public static TheoryData<string, double, double, double> Postures { get; } = new()
    {
        { "Adult", 10, 30, 0 },
        { "Adult", 0, 30, 0 },
        { "Adult", 10, 0, 0 },
        { "Adult", 5, 15, 150 },
        { "Child", 10, 30, 0 },
        { "Child", 0, 0, 0 },
        { "Child", 10, 15, 150 },
    };

    [Theory]
    [MemberData(nameof(Postures))]
    [Trait("evidence", "invariant")]
    public void Bones_and_ribs_lie_in_the_skin(string size, double inspiration, double roll, double raise)
    {
        Body body = Build(size, inspiration, roll, raise);

        Assert.Empty(UpperLimbChecks.BonesOutsideSkin(body, 2));
        foreach (TubeStation station in body.Tubes.SelectMany(tube => tube.Stations))
        {
            Assert.True(body.Skin.Distance(station.Point) < -station.HalfThickness - 1, $"{station.Point} is {body.Skin.Distance(station.Point)} mm from the skin");
        }
    }

    /// <summary>Vertebrae and shoulders stay apart: at most 1 mm in each other, the depth that cartilage gives way.</summary>
    [Theory]
    [InlineData("Adult", 30, 0)]
    [InlineData("Adult", 0, 0)]
    [InlineData("Adult", 15, 150)]
    [InlineData("Child", 15, 150)]
    [Trait("evidence", "invariant")]
    public void Bones_do_not_lie_in_each_other(string size, double roll, double raise)
        => Assert.Empty(UpperLimbChecks.Collisions(Build(size, 10, roll, raise), 1, 1));

    [Theory]
    [MemberData(nameof(Postures))]
    [Trait("evidence", "invariant")]
    public void Landmarks_lie_on_what_they_name(string size, double inspiration, double roll, double raise)
    {
        Body body = Build(size, inspiration, roll, raise);

        foreach ((string name, Vector3 point) in body.Landmarks)
        {
            if (name.StartsWith("spinousTip", StringComparison.Ordinal) || name.Contains("Scapula", StringComparison.Ordinal) || name is "jugularNotch" or "sternalAngle" or "sternumLowerEnd")
            {
                float nearest = body.Bones.Min(bone => MathF.Abs(bone.Surface.Distance(bone.Pose.ToLocal(point))));
                Assert.True(nearest < 1.5, $"{name} is {nearest} mm from any bone");
            }
            else if (name.Contains("Clavicle", StringComparison.Ordinal) || name.Contains("PosteriorRib", StringComparison.Ordinal))
            {
                // On a middle line: stations lie a few millimetres apart.
                float nearest = body.Tubes.Min(tube => tube.Stations.Zip(tube.Stations.Skip(1)).Min(pair => FromPiece(point, pair.First.Point, pair.Second.Point)));
                Assert.True(nearest < 1.5, $"{name} is {nearest} mm from any rib or clavicle");
            }
            else if (name.EndsWith("Dome", StringComparison.Ordinal) || name.EndsWith("Apex", StringComparison.Ordinal))
            {
                // Lung on one side of it and none on the other.
                float up = name.EndsWith("Dome", StringComparison.Ordinal) ? 1 : -1;
                Assert.True(body.Air!.Distance(point + new Vector3(0, 6 * up, 0)) < 0, name + " has no lung beside it");
                Assert.True(body.Air.Distance(point - new Vector3(0, 6 * up, 0)) > 0, name + " lies in the lung");
            }
        }
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Adult_is_as_thick_as_chests_are()
    {
        // 220 to 240 mm: common practice, no source.
        Body body = Build("Adult", 10, 30, 0);
        float thickest = 0;
        for (float y = -120; y <= 40; y += 20)
        {
            float front = 0;
            float back = 0;
            while (body.Skin.Distance(new Vector3(0, y, front)) < 0)
            {
                front -= 0.5f;
            }

            while (body.Skin.Distance(new Vector3(0, y, back)) < 0)
            {
                back += 0.5f;
            }

            thickest = MathF.Max(thickest, back - front);
        }

        Assert.InRange(thickest, 220, 240);
    }

    /// <summary>Typical thoracic vertebral bodies: width 22.16 to 35.52 mm and depth 12.36 to 31.26 mm (200 dry vertebrae; A morphometric study of the vertebral body in dry human typical thoracic vertebrae, Int J Anat Phys Biochem 1(1)).</summary>
    [Theory]
    [InlineData(3)]
    [InlineData(5)]
    [InlineData(7)]
    [InlineData(10)]
    [Trait("evidence", "published")]
    public void Typical_thoracic_bodies_have_published_widths_and_depths(int index)
    {
        Shape vertebra = ChestSpine.Vertebra(index, BodySize.Adult);

        // At the waist the body is a tenth narrower than at its rims.
        Assert.InRange(Extent(vertebra, Vector3.UnitX) + Extent(vertebra, -Vector3.UnitX), 22.16, 35.52);
        Assert.InRange(Extent(vertebra, Vector3.UnitZ) + Extent(vertebra, -Vector3.UnitZ), 12.36, 31.26);
    }

    /// <summary>Height in front: T2 16.93 ± 1.57 mm, T9 18.83 ± 1.54 mm (208 vertebrae; Egwu et al., J Anat Soc India 2019;68:110-118); within two standard deviations.</summary>
    [Theory]
    [InlineData(3, 16.93, 1.57)]
    [InlineData(10, 18.83, 1.54)]
    [Trait("evidence", "published")]
    public void Vertebral_bodies_have_published_heights(int index, double meanMm, double deviationMm)
    {
        Shape vertebra = ChestSpine.Vertebra(index, BodySize.Adult);
        float depth = Extent(vertebra, -Vector3.UnitZ);
        Vector3 from = new(0, 0, 1.2f - depth);
        float height = Extent(vertebra, Vector3.UnitY, from) + Extent(vertebra, -Vector3.UnitY, from);

        Assert.InRange(height, meanMm - (2 * deviationMm), meanMm + (2 * deviationMm));
    }

    [Theory]
    [InlineData("Adult")]
    [InlineData("Child")]
    [Trait("evidence", "published")]
    public void Breath_sets_how_many_back_ribs_are_above_the_diaphragm(string size)
    {
        // Deep inspiration shows 9 to 10 back ribs (common practice, no source); less when breathed out, by at least two.
        int deep = RibsAbove(Build(size, 10, 30, 0));
        int poor = RibsAbove(Build(size, 0, 30, 0));

        Assert.InRange(deep, 9, 10);
        Assert.InRange(poor, 6, deep - 2);

        static int RibsAbove(Body body) => Enumerable.Range(1, 12).Count(rib => body.Landmarks[$"rightPosteriorRib{rib}"].Y > body.Landmarks["rightHemidiaphragmDome"].Y);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Right_dome_is_half_a_rib_space_higher()
    {
        Body body = Build("Adult", 10, 30, 0);
        float space = body.Landmarks["rightPosteriorRib9"].Y - body.Landmarks["rightPosteriorRib10"].Y;
        float step = body.Landmarks["rightHemidiaphragmDome"].Y - body.Landmarks["leftHemidiaphragmDome"].Y;

        Assert.InRange(step / space, 0.3, 0.7);
    }

    [Theory]
    [InlineData("Adult")]
    [InlineData("Child")]
    [Trait("evidence", "invariant")]
    public void Rolled_shoulders_clear_the_lung_fields(string size)
    {
        // No ray along z through the medial border meets a lung when rolled; when not, the border lies over the lung.
        Assert.False(OverLung(Build(size, 10, 30, 0)));
        Assert.True(OverLung(Build(size, 10, 0, 0)));

        static bool OverLung(Body body)
        {
            Vector3 border = body.Landmarks["leftScapulaMedialBorder"];
            return Enumerable.Range(-130, 260).Any(z => body.Air!.Distance(border with { Z = z }) < 0);
        }
    }

    /// <summary>Clavicle ends lie in front of the spine: turned, they move against the spinous line by depth times the sine.</summary>
    [Theory]
    [InlineData(-10)]
    [InlineData(4)]
    [InlineData(12)]
    [Trait("evidence", "analytic")]
    public void Turned_clavicles_move_against_the_spinous_line_by_the_sine(double turnDegrees)
    {
        Body straight = Place(0);
        Body turned = Place(turnDegrees);
        double depth = Middle(straight).Z - straight.LandmarkInRoom("spinousTipT4").Z;
        double shift = Middle(turned).X - turned.LandmarkInRoom("spinousTipT4").X;

        // More than the about 100 mm from memory to a spinous base: the tip lies farther back.
        Assert.InRange(Math.Abs(depth), 100, 190);
        Assert.Equal(Math.Abs(depth * Math.Sin(turnDegrees * Math.PI / 180)), Math.Abs(shift), 0.05);

        static Body Place(double degrees) => Chest.Place(Chest.View("pa"), new PartForm(), left: false, new PartOffset(degrees), (shape, pose) => new Posed(pose, shape).Bounds.Minimum.Z);
        static Vector3 Middle(Body body) => 0.5f * (body.LandmarkInRoom("leftClavicleMedialEnd") + body.LandmarkInRoom("rightClavicleMedialEnd"));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void In_the_true_lateral_both_sides_lie_on_each_other()
    {
        Body body = Chest.Place(Chest.View("lateral"), new PartForm(), left: false, new PartOffset(), (shape, pose) => new Posed(pose, shape).Bounds.Minimum.Z);
        for (int rib = 1; rib <= 12; rib++)
        {
            Vector3 left = body.LandmarkInRoom($"leftPosteriorRib{rib}");
            Vector3 right = body.LandmarkInRoom($"rightPosteriorRib{rib}");
            Assert.Equal(left.X, right.X, 0.01);
            Assert.Equal(left.Y, right.Y, 0.01);
        }
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Vessels_are_the_same_for_a_seed_and_differ_between_people()
    {
        List<Strand> first = Chest.Build(new PartForm { Seed = 5 }).Strands;
        Assert.Equal(first, Chest.Build(new PartForm { Seed = 5 }).Strands);
        Assert.NotEqual(first, Chest.Build(new PartForm { Seed = 6 }).Strands);
    }

    private static Body Build(string size, double inspiration, double roll, double raise) => Chest.Build(new PartForm
    {
        Size = Enum.Parse<BodySize>(size),
        Joints = new Dictionary<string, double> { ["inspiration"] = inspiration, ["shoulderRoll"] = roll, ["armRaise"] = raise },
    });

    private static float Extent(Shape shape, Vector3 direction, Vector3 from = default)
    {
        float length = 0;
        while (shape.Distance(from + (length * direction)) < 0)
        {
            length += 0.05f;
        }

        return length;
    }

    private static float FromPiece(Vector3 point, Vector3 from, Vector3 to)
    {
        Vector3 along = to - from;
        float share = Math.Clamp(Vector3.Dot(point - from, along) / along.LengthSquared(), 0, 1);
        return Vector3.Distance(point, from + (share * along));
    }
}
