using System.Numerics;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Phantom;

public sealed class PelvisPhantomTests
{
    private static readonly PelvisPhantom Pelvis = new();

    // Points within the part that name a middle, not a surface.
    private static readonly string[] Middles = ["pelvisCentre", "hipsCentre", "symphysisCentre", "leftFemoralHeadCentre", "rightFemoralHeadCentre", "leftFemoralNeck", "rightFemoralNeck"];

    [Fact]
    public void Build_GrownUpAndChild_HaveTheirBones()
    {
        string[] grown = [.. Pelvis.Build(LimbChecks.Form(BodySize.Adult)).Bones.Select(bone => bone.Name)];
        Assert.Equal(2 + 2 + 1 + 4 + 2, grown.Length);
        string[] child = [.. Pelvis.Build(LimbChecks.Form(BodySize.Child)).Bones.Select(bone => bone.Name)];
        Assert.Contains("leftFemurEpiphysis", child);
        Assert.Contains("rightGreaterTrochanter", child);
    }

    [Theory]
    [InlineData("Adult")]
    [InlineData("Child")]
    public void Landmarks_OfBones_LieOnThem(string size)
    {
        BodySize bodySize = Enum.Parse<BodySize>(size);
        float limitMm = bodySize == BodySize.Adult ? 1.5f : 2.5f;
        foreach (PartForm form in LimbChecks.Settings(Pelvis, bodySize))
        {
            Body body = Pelvis.Build(form);
            foreach ((string name, Vector3 point) in body.Landmarks.Where(each => !Middles.Contains(each.Key)))
            {
                Assert.True(LimbChecks.ToNearestBone(body, point) < limitMm, $"{name} is {LimbChecks.Text(LimbChecks.ToNearestBone(body, point))} mm from the nearest bone.");
            }
        }
    }

    [Theory]
    [InlineData("Adult")]
    [InlineData("Child")]
    public void Bones_ThroughTheJoints_StayWithinTheSkin(string size)
    {
        foreach (PartForm form in LimbChecks.Settings(Pelvis, Enum.Parse<BodySize>(size)))
        {
            // The trunk is cut off above and the thighs below.
            (float depth, string bone) = LimbChecks.LeastCover(Pelvis.Build(form), 6, point => point.Length() < 190);
            Assert.True(depth > 5, $"{bone} lies {LimbChecks.Text(depth)} mm under the skin at {string.Join(", ", form.Joints)}.");
        }
    }

    [Theory]
    [InlineData("Adult")]
    [InlineData("Child")]
    public void Bones_ThroughTheJoints_StayOutOfEachOther(string size)
    {
        foreach (PartForm form in LimbChecks.Settings(Pelvis, Enum.Parse<BodySize>(size)))
        {
            (float depth, string pair) = LimbChecks.DeepestOverlap(Pelvis.Build(form), 4);
            Assert.True(depth < 0.5f, $"{pair} overlap by {LimbChecks.Text(depth)} mm at {string.Join(", ", form.Joints)}.");
        }
    }

    [Fact]
    [Trait("evidence", "published")]
    public void NeckShaftAngle_IsThatOfMenAndWomen()
    {
        // 129.2 degrees on average in 375 femora (Clin Orthop 2009;467:876); 127 are drawn. The axis of the shaft as measured on the surface, 90 and 190 mm below the head.
        Shape femur = PelvisBones.Of(BodySize.Adult).Whole["femur"];
        Vector3 upper = MiddleAt(femur, -100);
        Vector3 lower = MiddleAt(femur, -190);
        Vector3 shaft = Vector3.Normalize(lower - upper);
        Vector3 neck = Vector3.Normalize(PelvisBones.HeadFromNeck);
        double angle = Math.Acos(Vector3.Dot(shaft, neck)) * 180 / Math.PI;
        Assert.InRange(angle, 125, 131);
    }

    [Fact]
    public void JointSpace_OfTheHip_IsEven()
    {
        // Space width of normal hips 4.5 mm on average (Indian J Orthop 2008;42:260); here from the head straight up, and up and outwards and inwards by 20 degrees.
        PelvisBones bones = PelvisBones.Of(BodySize.Adult);
        foreach (double degrees in (double[])[-20, 0, 15])
        {
            Vector3 direction = new((float)Math.Sin(degrees * Math.PI / 180), (float)Math.Cos(degrees * Math.PI / 180), 0);
            float gap = 0;
            for (float radius = 20; radius < 32; radius += 0.05f)
            {
                Vector3 point = PelvisBones.Hip0 + (radius * direction);
                gap += (point - PelvisBones.Hip0).Length() > PelvisBones.HeadRadiusMm && bones.Whole["hipBone"].Distance(point) > 0 ? 0.05f : 0;
            }

            Assert.InRange(gap, 3, 5.5);
        }
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(-20)]
    [InlineData(0)]
    [InlineData(15)]
    [InlineData(30)]
    public void FemoralNeck_InTheApView_IsForeshortenedByTheCosine(double inwardsDegrees)
    {
        // The neck lies flat at 15 degrees inwards; its length across the shaft goes with the cosine of what is missing.
        Body body = LimbChecks.Placed(Pelvis, "ap", LimbChecks.Form(BodySize.Adult, ("hipRotation", inwardsDegrees)), new PartOffset());
        Vector3 neck = body.LandmarkInRoom("leftFemoralNeck") - body.LandmarkInRoom("leftFemoralHeadCentre");
        Assert.Equal(20 * Math.Cos((15 - inwardsDegrees) * Math.PI / 180), neck.X, 0.01);
        Assert.Equal(19, neck.Y, 0.01);
    }

    [Fact]
    public void LesserTrochanter_ShowsMore_TheMoreTheThighTurnsOutwards()
    {
        double inwards = Prominence(15);
        double straight = Prominence(0);
        double outwards = Prominence(-30);
        Assert.True(inwards < straight && straight < outwards, $"{inwards}, {straight}, {outwards}");
        Assert.True(inwards < 4);
        Assert.True(outwards > inwards + 5);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(8)]
    [InlineData(-8)]
    public void TurnedPelvis_MovesTheSymphysisAgainstTheSacrumByTheSine(double turnDegrees)
    {
        Body body = LimbChecks.Placed(Pelvis, "ap", LimbChecks.Form(BodySize.Adult), new PartOffset(turnDegrees));
        Vector3 apart = body.LandmarkInRoom("symphysisCentre") - body.LandmarkInRoom("sacralCrest");
        float depth = body.Landmarks["symphysisCentre"].Z - body.Landmarks["sacralCrest"].Z;
        Assert.Equal(-depth * Math.Sin(turnDegrees * Math.PI / 180), apart.X, 0.3);

        // The side that lies lower shows the wider wing and the narrower foramen: with the viewer's right raised, that is the viewer's left, the patient's right.
        double rightWing = Width(body, "rightIliacWingLateral", "rightIliacWingMedial");
        double leftWing = Width(body, "leftIliacWingLateral", "leftIliacWingMedial");
        double rightForamen = Width(body, "rightObturatorForamenMedial", "rightObturatorForamenLateral");
        double leftForamen = Width(body, "leftObturatorForamenMedial", "leftObturatorForamenLateral");
        Assert.Equal(turnDegrees > 0, rightWing > leftWing);
        Assert.Equal(turnDegrees > 0, rightForamen < leftForamen);
    }

    private static double Width(Body body, string one, string other) => Math.Abs(body.LandmarkInRoom(one).X - body.LandmarkInRoom(other).X);

    /// <summary>How far the lesser trochanter stands out medially beyond the shaft's border below the neck, in the AP view, in mm.</summary>
    private static double Prominence(double inwardsDegrees)
    {
        Body body = LimbChecks.Placed(Pelvis, "ap", LimbChecks.Form(BodySize.Adult, ("hipRotation", inwardsDegrees)), new PartOffset());
        return body.LandmarkInRoom("leftFemoralShaftMedial").X - body.LandmarkInRoom("leftLesserTrochanter").X;
    }

    private static Vector3 MiddleAt(Shape femur, float y)
    {
        (float left, float right) = LimbChecks.Extent(femur, Vector3.UnitX, 0.8f, point => MathF.Abs(point.Y - y) < 0.5f);
        return new Vector3(0.5f * (left + right), y, 0);
    }
}
