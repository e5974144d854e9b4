using System.Numerics;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Phantom;

public sealed class FootPhantomTests
{
    private static readonly FootPhantom Foot = new();

    // Points within the part that name a middle, not a surface.
    private static readonly string[] Middles = ["ankleCentre", "medialMalleolusCentre", "medialCuneiformCentre"];

    [Fact]
    public void Build_GrownUpAndChild_HaveTheirBones()
    {
        string[] grown = [.. Foot.Build(LimbChecks.Form(BodySize.Adult)).Bones.Select(bone => bone.Name)];

        // Tibia, fibula, 7 tarsal bones, 5 metatarsals, 14 phalanges, 2 sesamoids under the first metatarsal.
        Assert.Equal(2 + 7 + 5 + 14 + 2, grown.Length);
        string[] child = [.. Foot.Build(LimbChecks.Form(BodySize.Child)).Bones.Select(bone => bone.Name)];
        Assert.Contains("tibiaEpiphysis", child);
        Assert.Contains("fibulaEpiphysis", child);
        Assert.Contains("calcanealApophysis", child);
        Assert.Contains("firstMetatarsalEpiphysis", child);
        Assert.DoesNotContain("medialSesamoid", child);
    }

    [Theory]
    [InlineData("Adult")]
    [InlineData("Child")]
    public void Landmarks_OfBones_LieOnThem(string size)
    {
        BodySize bodySize = Enum.Parse<BodySize>(size);

        // A child's epiphyses and tarsal bones are covered by up to 1.5 mm of cartilage; landmarks stay on its outside.
        float limitMm = bodySize == BodySize.Adult ? 1.5f : 2.5f;
        foreach (PartForm form in LimbChecks.Settings(Foot, bodySize))
        {
            Body body = Foot.Build(form);
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
        foreach (PartForm form in LimbChecks.Settings(Foot, Enum.Parse<BodySize>(size)))
        {
            // The leg is cut off above; there is no skin over its end.
            (float depth, string bone) = LimbChecks.LeastCover(Foot.Build(form), 3, point => point.Length() < 190);
            Assert.True(depth > 1, $"{bone} lies {LimbChecks.Text(depth)} mm under the skin at {string.Join(", ", form.Joints)}.");
        }
    }

    [Theory]
    [InlineData("Adult")]
    [InlineData("Child")]
    public void Bones_ThroughTheJoints_StayOutOfEachOther(string size)
    {
        foreach (PartForm form in LimbChecks.Settings(Foot, Enum.Parse<BodySize>(size)))
        {
            // Cartilage is 1 to 1.5 mm thick on each side; a rigid hinge for the ankle may use that much at its ends.
            (float depth, string pair) = LimbChecks.DeepestOverlap(Foot.Build(form), 2);
            Assert.True(depth < (form.Joints.Count == 0 ? 0.3f : 1.5f), $"{pair} overlap by {LimbChecks.Text(depth)} mm at {string.Join(", ", form.Joints)}.");
        }
    }

    [Fact]
    [Trait("evidence", "published")]
    public void TibiofibularOverlap_InBothViews_IsThatOfNormalAnkles()
    {
        // Harper and Keller, Foot Ankle 1989;10:156: overlap above about 6 mm in the AP, above about 1 mm in the mortise view, 10 mm above the plafond.
        // Shah and others, Foot Ankle Int 2012;33:870: on average 8.3 mm and 3.5 mm.
        double ap = Overlap(Vector3.UnitX);
        double mortise = Overlap(FootBones.Mortise.X);
        Assert.InRange(ap, 6, 11);
        Assert.InRange(mortise, 1, 6);
        Assert.True(ap > mortise + 2);
    }

    [Fact]
    [Trait("evidence", "published")]
    public void TrochleaWidth_IsThatOfMenAndWomen()
    {
        // Width of the talar trochlea in AP radiographs 26.9 ± 2.7 mm on the right (203 adults; Arab Gulf J Sci Res 2023, AGJSR-05-2023-0207): two standard deviations.
        Shape talus = FootBones.Of(BodySize.Adult).Whole["talus"];
        Vector3 x = FootBones.Mortise.X;
        (float low, float high) = LimbChecks.Extent(talus, x, 0.7f, point => MathF.Abs(point.Y + 3.5f) < 0.5f);
        Assert.InRange(high - low, 26.9 - (2 * 2.7), 26.9 + (2 * 2.7));
    }

    [Fact]
    [Trait("evidence", "published")]
    public void BoehlerAngle_IsNormal()
    {
        // Normal from 20 to 40 degrees (Böhler 1931, from memory): between the lines from the posterior facet's top to the tuberosity's top and to the anterior process.
        Shape calcaneus = FootBones.Of(BodySize.Adult).Whole["calcaneus"];
        Vector3 facet = Highest(calcaneus, -32, -15);
        Vector3 tuberosity = Highest(calcaneus, -60, -46);
        Vector3 process = Highest(calcaneus, 15, 30);
        double back = Math.Atan2(facet.Y - tuberosity.Y, facet.Z - tuberosity.Z);
        double front = Math.Atan2(facet.Y - process.Y, process.Z - facet.Z);
        Assert.InRange((back + front) * 180 / Math.PI, 20, 40);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 0)]
    [InlineData(10, 0)]
    [InlineData(-15, 0)]
    [InlineData(0, 6)]
    public void TalarDomes_InTheLateralView_SeparateByTheSineOfTheError(double turnDegrees, double tiltDegrees)
    {
        Body body = LimbChecks.Placed(Foot, "ankle-lateral", LimbChecks.Form(BodySize.Adult), new PartOffset(turnDegrees, tiltDegrees));
        Vector3 apart = body.LandmarkInRoom("talarDomeMedialTop") - body.LandmarkInRoom("talarDomeLateralTop");

        // Two points 23 mm apart along the ankle's axis, which lies along the beam in a true lateral.
        // A point found on the surface may lie 0.5 mm off in each coordinate.
        double width = 23;
        Assert.Equal(-width * Math.Sin(turnDegrees * Math.PI / 180), apart.X, 0.8);
        Assert.Equal(-width * Math.Sin(tiltDegrees * Math.PI / 180), apart.Y, 0.8);
    }

    [Fact]
    public void MortiseView_BringsTheTalusFacetsSquare()
    {
        // Both malleolar facets of the talus run along the beam: the joint's axis is parallel to the receptor.
        Pose view = Foot.View("ankle-mortise").Orientation;
        Assert.Equal(0, view.TurnToOuter(FootBones.Mortise.X).Z, 1e-5);
        Assert.Equal(1, view.TurnToOuter(FootBones.Mortise.X).X, 1e-5);

        // Turned inwards: the toes point to the medial side, which for a right foot is the viewer's right.
        Assert.Equal(Math.Sin(16 * Math.PI / 180), view.TurnToOuter(Vector3.UnitZ).X, 1e-5);
    }

    [Fact]
    public void LeftFoot_IsTheMirrorImage()
    {
        Body right = LimbChecks.Placed(Foot, "foot-dp", LimbChecks.Form(BodySize.Adult), new PartOffset());
        Body left = LimbChecks.Placed(Foot, "foot-dp", LimbChecks.Form(BodySize.Adult), new PartOffset(), left: true);
        Vector3 hallux = right.LandmarkInRoom("halluxTip");
        Assert.True(hallux.X < 0);
        Assert.Equal(-hallux.X, left.LandmarkInRoom("halluxTip").X, 0.01);
        Assert.Equal(hallux.Y, left.LandmarkInRoom("halluxTip").Y, 0.01);
    }

    private static double Overlap(Vector3 across)
    {
        FootBones bones = FootBones.Of(BodySize.Adult);

        // 10 mm above the plafond, which lies 2.4 mm above the origin.
        bool Slice(Vector3 point) => MathF.Abs(point.Y - 12.4f) < 0.5f;
        (float tibia, _) = LimbChecks.Extent(bones.Whole["tibia"], across, 0.8f, Slice);
        (_, float fibula) = LimbChecks.Extent(bones.Whole["fibula"], across, 0.8f, Slice);
        return fibula - tibia;
    }

    private static Vector3 Highest(Shape shape, float fromZ, float toZ)
    {
        (_, float high) = LimbChecks.Extent(shape, Vector3.UnitY, 0.5f, point => point.Z >= fromZ && point.Z <= toZ);
        (float low, float end) = LimbChecks.Extent(shape, Vector3.UnitZ, 0.5f, point => point.Z >= fromZ && point.Z <= toZ && point.Y > high - 0.6f);
        return new Vector3(0, high, 0.5f * (low + end));
    }
}
