using System.Numerics;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Phantom;

public sealed class KneePhantomTests
{
    private static readonly KneePhantom Knee = new();

    public static TheoryData<string, double> Bends()
    {
        TheoryData<string, double> data = [];
        foreach (double bend in (double[])[0, 15, 30, 60, 100])
        {
            data.Add("Adult", bend);
            data.Add("Child", bend);
        }

        return data;
    }

    [Fact]
    public void Build_GrownUpAndChild_HaveTheirBones()
    {
        Assert.Equal(["femur", "tibia", "fibula", "patella"], Knee.Build(LimbChecks.Form(BodySize.Adult)).Bones.Select(bone => bone.Name));
        Assert.Equal(
            ["femur", "femurEpiphysis", "tibia", "tibiaEpiphysis", "fibula", "fibulaEpiphysis", "patella"],
            Knee.Build(LimbChecks.Form(BodySize.Child)).Bones.Select(bone => bone.Name));
    }

    [Theory]
    [MemberData(nameof(Bends))]
    public void Landmarks_OfBones_LieOnThem(string size, double bend)
    {
        BodySize bodySize = Enum.Parse<BodySize>(size);
        Body body = Knee.Build(LimbChecks.Form(bodySize, ("kneeFlexion", bend)));

        // A child's epiphyses and patella are covered by up to 2 mm of cartilage; landmarks stay on its outside.
        float limitMm = bodySize == BodySize.Adult ? 1.5f : 2.5f;
        foreach ((string name, Vector3 point) in body.Landmarks.Where(each => each.Key != "jointCentre" && !each.Key.StartsWith("femoralShaft", StringComparison.Ordinal)))
        {
            Assert.True(LimbChecks.ToNearestBone(body, point) < limitMm, $"{name} is {LimbChecks.Text(LimbChecks.ToNearestBone(body, point))} mm from the nearest bone.");
        }
    }

    [Theory]
    [MemberData(nameof(Bends))]
    public void Landmarks_OfTheShaft_LieInItsMiddle(string size, double bend)
    {
        BodySize bodySize = Enum.Parse<BodySize>(size);
        Body body = Knee.Build(LimbChecks.Form(bodySize, ("kneeFlexion", bend)));

        // The shaft is 26 to 36 mm thick from 70 to 98 mm above the joint; a child's is 0.74 times as large.
        float scale = bodySize == BodySize.Adult ? 1 : 0.74f;
        foreach ((string name, Vector3 point) in body.Landmarks.Where(each => each.Key.StartsWith("femoralShaft", StringComparison.Ordinal)))
        {
            Bone femur = body.Bones.Single(bone => bone.Name == "femur");
            float inside = -femur.Surface.Distance(femur.Pose.ToLocal(point));
            Assert.True(inside > 9 * scale && inside < 20 * scale, $"{name} lies {LimbChecks.Text(inside)} mm under the shaft's surface.");
        }
    }

    [Theory]
    [MemberData(nameof(Bends))]
    public void Bones_ThroughTheJoint_StayWithinTheSkin(string size, double bend)
    {
        Body body = Knee.Build(LimbChecks.Form(Enum.Parse<BodySize>(size), ("kneeFlexion", bend)));

        // Thigh and leg are cut off at the ends of the part.
        (float depth, string bone) = LimbChecks.LeastCover(body, 3, point => point.Length() < 150);
        Assert.True(depth > 1.5, $"{bone} lies {LimbChecks.Text(depth)} mm under the skin.");
    }

    [Theory]
    [MemberData(nameof(Bends))]
    public void Bones_ThroughTheJoint_StayOutOfEachOther(string size, double bend)
    {
        Body body = Knee.Build(LimbChecks.Form(Enum.Parse<BodySize>(size), ("kneeFlexion", bend)));
        (float depth, string pair) = LimbChecks.DeepestOverlap(body, 2);
        Assert.True(depth < 0.3, $"{pair} overlap by {LimbChecks.Text(depth)} mm.");
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Femur_HasPublishedWidthAndDepth()
    {
        // Anat Res Int 2012:679658 (360 femora): bicondylar width 78.5 ± 3.0 mm in women, 88.6 ± 4.2 in men; lateral depth 55.4 ± 2.1 and 61.1 ± 3.3;
        // notch 18.7 ± 1.0 and 22.0 ± 1.8 wide. From two deviations below the women's mean to two above the men's.
        Shape femur = KneeBones.Of(BodySize.Adult).Whole["femur"];
        (float left, float right) = LimbChecks.Extent(femur, Vector3.UnitX, 0.8f, point => point.Y is > 0 and < 50);
        Assert.InRange(right - left, 72.5, 97);
        (float back, float front) = LimbChecks.Extent(femur, Vector3.UnitZ, 0.8f, point => point.Y is > 0 and < 50 && point.X < 0);
        Assert.InRange(front - back, 51.2, 67.7);
        (float inner, float outer) = (0, 0);
        for (float x = 0; femur.Distance(new Vector3(x, 10, -24)) > 0; x += 0.05f)
        {
            outer = x;
        }

        for (float x = 0; femur.Distance(new Vector3(x, 10, -24)) > 0; x -= 0.05f)
        {
            inner = x;
        }

        Assert.InRange(outer - inner, 16.7, 25.6);
    }

    [Theory]
    [InlineData(30)]
    [InlineData(60)]
    [InlineData(90)]
    [Trait("evidence", "published")]
    public void PatellarTendon_IsAsLongAsThePatella(double bend)
    {
        // Insall and Salvati, Radiology 1971;101:101 (from memory): tendon over patella 1.02 ± 0.13, measured in flexion.
        Body body = Knee.Build(LimbChecks.Form(BodySize.Adult, ("kneeFlexion", bend)));
        float tendon = Vector3.Distance(body.Landmarks["patellaApex"], body.Landmarks["tibialTuberosity"]);
        float patella = Vector3.Distance(body.Landmarks["patellaApex"], body.Landmarks["patellaBase"]);
        Assert.InRange(tendon / patella, 1.02 - (2 * 0.13), 1.02 + (2 * 0.13));
    }

    [Theory]
    [InlineData(24, -3)]
    [InlineData(-22, -3)]
    public void JointSpace_OfTheStretchedKnee_IsAboutFiveMillimetres(float x, float z)
    {
        KneeBones bones = KneeBones.Of(BodySize.Adult);
        float gap = 0;
        for (float y = -10; y < 10; y += 0.05f)
        {
            Vector3 point = new(x, y, z);
            gap += bones.Whole["femur"].Distance(point) > 0 && bones.Whole["tibia"].Distance(point) > 0 ? 0.05f : 0;
        }

        Assert.InRange(gap, 4, 6);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(5.74)]
    [InlineData(-10)]
    [InlineData(15)]
    public void PosteriorCondyles_InTheLateralView_MoveApartByTheSineOfTheTurn(double turnDegrees)
    {
        Vector3 straight = Apart(new PartOffset());
        Vector3 turned = Apart(new PartOffset(turnDegrees));
        double turn = turnDegrees * Math.PI / 180;

        // Depth along the beam goes over into breadth on the image: x' = x·cos − z·sin. About 50 mm of depth make 5 mm at 5.74 degrees.
        Assert.Equal((straight.X * Math.Cos(turn)) - (straight.Z * Math.Sin(turn)), turned.X, 0.01);
        Assert.InRange(straight.Z, 42, 56);
        Assert.InRange(Math.Abs(straight.X), 0, 1.5);
        Assert.InRange(Math.Abs(straight.Y), 0, 6);
    }

    [Theory]
    [InlineData(0, 0.2, 0.5)]
    public void FibularHead_InTheFrontalView_IsPartlyCovered(double turnDegrees, double least, double most)
    {
        // The share of the head's width that lies behind the tibia: partly, about half at most (common practice, no source); more when the leg is turned outwards.
        Assert.InRange(Covered(turnDegrees), least, most);

        // A positive turn lifts the medial side towards the tube: the leg is turned outwards.
        Assert.True(Covered(turnDegrees + 12) > Covered(turnDegrees - 12) + 0.2);
    }

    private static double Covered(double turnDegrees)
    {
        Body body = LimbChecks.Placed(Knee, "ap", LimbChecks.Form(BodySize.Adult), new PartOffset(turnDegrees));
        double inner = body.LandmarkInRoom("fibularHeadMedialBorder").X;
        double outer = body.LandmarkInRoom("fibularHeadLateralBorder").X;
        double tibia = body.LandmarkInRoom("lateralTibialMetaphysis").X;
        return (inner - tibia) / (inner - outer);
    }

    private static Vector3 Apart(PartOffset offset)
    {
        Body body = LimbChecks.Placed(Knee, "lateral", LimbChecks.Form(BodySize.Adult), offset);
        return body.LandmarkInRoom("medialFemoralCondylePosterior") - body.LandmarkInRoom("lateralFemoralCondylePosterior");
    }
}
