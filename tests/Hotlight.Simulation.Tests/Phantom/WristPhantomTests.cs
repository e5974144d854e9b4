using System.Numerics;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Phantom;

public class WristPhantomTests
{
    private static readonly WristPhantom Wrist = new();

    private static readonly string[] FreeLandmarks = ["wristCentre", "handCentre"];

    public static TheoryData<string, double, double> Postures { get; } = new()
    {
        { "Adult", 0, 0 },
        { "Adult", 80, 0 },
        { "Adult", 35, 0 },
        { "Adult", 0, 16 },
        { "Child", 0, 0 },
        { "Child", 60, 0 },
    };

    [Theory]
    [MemberData(nameof(Postures))]
    public void Bones_lie_in_the_skin_and_not_in_each_other(string size, double flexionDegrees, double fanDegrees)
    {
        Body body = Build(size, ("fingerFlexion", flexionDegrees), ("fingerFan", fanDegrees));

        Assert.Empty(UpperLimbChecks.BonesOutsideSkin(body, 2));
        Assert.Empty(UpperLimbChecks.Collisions(body, 1, 0.5f));
    }

    [Theory]
    [MemberData(nameof(Postures))]
    public void Landmarks_lie_on_bones(string size, double flexionDegrees, double fanDegrees)
    {
        Body body = Build(size, ("fingerFlexion", flexionDegrees), ("fingerFan", fanDegrees));

        Assert.All(FreeLandmarks, name => Assert.True(body.Landmarks.Remove(name)));
        Assert.Empty(UpperLimbChecks.LandmarksOffBone(body, 1));
    }

    /// <summary>Mean lengths and the tolerance of 5 mm (about one standard deviation between people): Buryanov and Kotiuk, Int J Morphol 2010;28(3):755-758, from memory.</summary>
    [Theory]
    [InlineData("first metacarpal", 46.22)]
    [InlineData("second metacarpal", 68.12)]
    [InlineData("third metacarpal", 64.60)]
    [InlineData("fourth metacarpal", 58.00)]
    [InlineData("fifth metacarpal", 53.69)]
    [InlineData("first proximal phalanx", 31.57)]
    [InlineData("second proximal phalanx", 39.78)]
    [InlineData("third proximal phalanx", 44.63)]
    [InlineData("fifth proximal phalanx", 32.74)]
    [InlineData("third middle phalanx", 26.33)]
    [InlineData("fifth middle phalanx", 18.11)]
    [InlineData("third distal phalanx", 17.40)]
    public void Tubular_bones_have_published_lengths(string bone, double lengthMm)
    {
        Body body = Build("Adult");
        Bone found = body.Bones.Single(each => each.Name == bone);

        Assert.InRange(UpperLimbChecks.ExtentMm(body, bone, found.Pose.TurnToOuter(found.Axis), 0.8f), lengthMm - 5, lengthMm + 5);
    }

    [Fact]
    public void The_distal_radius_has_its_known_slopes()
    {
        Body body = Build("Adult");
        Vector3 styloid = body.Landmarks["radialStyloid"];
        Vector3 corner = body.Landmarks["radiusUlnarCorner"];
        Vector3 palmar = body.Landmarks["radiusPalmarRim"];
        Vector3 dorsal = body.Landmarks["radiusDorsalRim"];

        // Normal ranges of the trade, from memory: inclination 19 to 29 degrees, height 8 to 14 mm, palmar tilt 1 to 21 degrees.
        Assert.InRange(Math.Atan2(styloid.Y - corner.Y, styloid.X - corner.X) * 180 / Math.PI, 19, 29);
        Assert.InRange(styloid.Y - corner.Y, 8, 14);
        Assert.InRange(Math.Atan2(dorsal.Y - palmar.Y, dorsal.Z - palmar.Z) * 180 / Math.PI, 1, 21);

        // Carpal height over the length of the third metacarpal: 0.54 ± 0.03 (Youm 1978, from memory), within two standard deviations.
        float carpalHeight = body.Landmarks["thirdMetacarpalBase"].Y - body.Landmarks["radiusCentre"].Y;
        float third = Vector3.Distance(body.Landmarks["thirdMetacarpalBase"], body.Landmarks["thirdMetacarpalHead"]);
        Assert.InRange(carpalHeight / third, 0.48, 0.60);
    }

    /// <summary>In a true lateral the palmar cortex of the pisiform lies between those of the capitate and the scaphoid's distal pole; a turn of 20 degrees either way takes it out.</summary>
    [Theory]
    [InlineData(0, true)]
    [InlineData(20, false)]
    [InlineData(-20, false)]
    public void The_pisiform_tells_a_true_lateral(double turnDegrees, bool between)
    {
        PartView lateral = Wrist.View("lateral");
        Body body = Wrist.Place(lateral, new PartForm(), false, new PartOffset(TurnDegrees: turnDegrees), (_, _) => 0);
        float pisiform = body.LandmarkInRoom("pisiformPalmar").X;
        float capitate = body.LandmarkInRoom("capitatePalmar").X;
        float scaphoid = body.LandmarkInRoom("scaphoidTubercle").X;

        Assert.Equal(between, pisiform > Math.Min(capitate, scaphoid) && pisiform < Math.Max(capitate, scaphoid));
    }

    /// <summary>Two points that lie d apart along the beam part by d·sin(turn) on the image, here without magnification.</summary>
    [Fact]
    public void A_turn_moves_landmarks_by_their_depth()
    {
        PartView view = Wrist.View("pa");
        Body straight = Wrist.Place(view, new PartForm(), false, new PartOffset(), (_, _) => 0);
        Body turned = Wrist.Place(view, new PartForm(), false, new PartOffset(TurnDegrees: 10), (_, _) => 0);
        Vector3 apart = straight.LandmarkInRoom("listerTubercle") - straight.LandmarkInRoom("hamateHook");

        double expected = (apart.X * Math.Cos(Math.PI / 18)) - (apart.Z * Math.Sin(Math.PI / 18));
        Assert.Equal(expected, turned.LandmarkInRoom("listerTubercle").X - turned.LandmarkInRoom("hamateHook").X, 3);
    }

    [Fact]
    public void A_child_has_growth_plates_and_no_pisiform_or_sesamoids()
    {
        Body adult = Build("Adult");
        Body child = Build("Child");

        Assert.Contains(child.Bones, bone => bone.Name == "radius, distal epiphysis");
        Assert.Contains(child.Bones, bone => bone.Name == "first metacarpal, base");
        Assert.Contains(child.Bones, bone => bone.Name == "third metacarpal, head");
        Assert.DoesNotContain(child.Bones, bone => bone.Name == "pisiform" || bone.Name.EndsWith("sesamoid", StringComparison.Ordinal));
        Assert.Equal(3, adult.Bones.Count(bone => bone.Name.EndsWith("sesamoid", StringComparison.Ordinal)));
    }

    private static Body Build(string size, params (string Joint, double Degrees)[] joints)
        => Wrist.Build(new PartForm { Size = Enum.Parse<BodySize>(size), Joints = joints.ToDictionary(each => each.Joint, each => each.Degrees) });
}
