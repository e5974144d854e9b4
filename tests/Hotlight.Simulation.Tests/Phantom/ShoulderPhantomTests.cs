using System.Numerics;
using Hotlight.Simulation.Phantom;

namespace Hotlight.Simulation.Tests.Phantom;

public class ShoulderPhantomTests
{
    private static readonly ShoulderPhantom Shoulder = new();

    public static TheoryData<string, double, double> Postures { get; } = new()
    {
        { "Adult", 0, 10 },
        { "Adult", 90, 0 },
        { "Adult", -20, 45 },
        { "Adult", 0, 85 },
        { "Child", 0, 10 },
        { "Child", 85, 10 },
    };

    [Theory]
    [MemberData(nameof(Postures))]
    public void Bones_lie_in_the_skin_and_not_in_each_other(string size, double rotationDegrees, double abductionDegrees)
    {
        Body body = Build(size, rotationDegrees, abductionDegrees);

        Assert.Empty(UpperLimbChecks.BonesOutsideSkin(body, 3));
        Assert.Empty(UpperLimbChecks.Collisions(body, 1.5f, 0.5f));
    }

    [Theory]
    [MemberData(nameof(Postures))]
    public void Landmarks_lie_on_bones(string size, double rotationDegrees, double abductionDegrees)
    {
        Body body = Build(size, rotationDegrees, abductionDegrees);

        Assert.True(body.Landmarks.Remove("glenohumeralCentre"));
        Assert.Empty(UpperLimbChecks.LandmarksOffBone(body, 1));
    }

    [Fact]
    public void Bones_have_published_sizes()
    {
        Body body = Build("Adult", 0, 0);
        Dictionary<string, Vector3> marks = body.Landmarks;

        // Iannotti et al., J Bone Joint Surg Am 1992;74:491-500, within two standard deviations: radius of the head 24 ± 2.1 mm, glenoid 39 ± 3.5 by 29 ± 3.2 mm.
        Assert.InRange(marks["humeralHeadTop"].Length(), 19.8, 28.2);
        Assert.InRange(Vector3.Distance(marks["glenoidSuperiorRim"], marks["glenoidInferiorRim"]), 32, 46);
        Assert.InRange(Vector3.Distance(marks["glenoidAnteriorRim"], marks["glenoidPosteriorRim"]), 22.6, 35.4);

        // Radiologic Analysis in Normal Glenohumeral Joint (60 shoulders), men, within two standard deviations: head above the greater tubercle 6.5 ± 1.4 mm, acromion above the head 9.5 ± 3.1 mm.
        Bone scapula = body.Bones.Single(bone => bone.Name == "scapula");
        float headTop = marks["humeralHeadTop"].Y;
        float acromion = UpperLimbChecks.Inside(scapula, 1.5f, new Vector3(-6, 20, -10), new Vector3(6, 60, 10)).Min(point => point.Y);
        Assert.InRange(headTop - marks["greaterTubercleTop"].Y, 3.7, 9.3);
        Assert.InRange(acromion - headTop, 3.3, 15.7);
    }

    /// <summary>The head turns and lifts about its own centre, so that the joint space stays.</summary>
    [Theory]
    [InlineData(0, 0)]
    [InlineData(85, 10)]
    [InlineData(0, 85)]
    public void The_head_stays_in_its_socket(double rotationDegrees, double abductionDegrees)
    {
        Body body = Build("Adult", rotationDegrees, abductionDegrees);
        Bone humerus = body.Bones.Single(bone => bone.Name == "humerus");

        float gap = humerus.Surface.Distance(humerus.Pose.ToLocal(body.Landmarks["glenoidCentre"]));

        Assert.Equal(ShoulderBones.JointSpaceMm, gap, 0.6);
    }

    /// <summary>With the arm turned outwards the greater tubercle is the outermost point of the head on the AP image; turned inwards by 85 degrees it moves to the middle by its distance from the axis, and the lesser comes to the medial side.</summary>
    [Fact]
    public void Rotation_of_the_arm_moves_the_tubercles()
    {
        Body outwards = Place("ap", 0);
        Body inwards = Place("ap-internal", 0);
        Vector3 axis = outwards.Placement.ToOuter(Vector3.Zero);
        float greaterOut = outwards.LandmarkInRoom("greaterTubercle").X - axis.X;
        float greaterIn = inwards.LandmarkInRoom("greaterTubercle").X - inwards.Placement.ToOuter(Vector3.Zero).X;
        float lesserIn = inwards.LandmarkInRoom("lesserTubercle").X - inwards.Placement.ToOuter(Vector3.Zero).X;

        // Lateral is to the viewer's left.
        Assert.InRange(greaterOut, -33, -26);
        Assert.InRange(greaterIn, -8, 8);
        Assert.InRange(lesserIn, 15, 30);
    }

    /// <summary>In the scapular Y the borders of the blade lie over each other within 8 mm; a turn parts them by their distance along the beam times its sine.</summary>
    [Fact]
    public void The_borders_of_the_blade_meet_in_the_y_view()
    {
        Vector3 straight = Apart(Place("scapular-y", 0));
        Vector3 turned = Apart(Place("scapular-y", 12));
        double turn = 12 * Math.PI / 180;

        Assert.InRange(Math.Abs(straight.X), 0, 8);
        Assert.Equal((straight.X * Math.Cos(turn)) - (straight.Z * Math.Sin(turn)), turned.X, 3);

        static Vector3 Apart(Body body) => body.LandmarkInRoom("lateralBorder") - body.LandmarkInRoom("medialBorder");
    }

    [Fact]
    public void A_child_has_an_open_growth_plate_at_the_head()
    {
        Assert.Contains(Build("Child", 0, 0).Bones, bone => bone.Name == "humerus, proximal epiphysis");
        Assert.DoesNotContain(Build("Adult", 0, 0).Bones, bone => bone.Name == "humerus, proximal epiphysis");
    }

    private static Body Place(string view, double turnDegrees)
        => Shoulder.Place(Shoulder.View(view), new PartForm(), false, new PartOffset(TurnDegrees: turnDegrees), (_, _) => 0);

    private static Body Build(string size, double rotationDegrees, double abductionDegrees) => Shoulder.Build(new PartForm
    {
        Size = Enum.Parse<BodySize>(size),
        Joints = new Dictionary<string, double> { ["armRotation"] = rotationDegrees, ["armAbduction"] = abductionDegrees },
    });
}
