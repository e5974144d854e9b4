using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Simulation.Phantom;

namespace Hotlight.Poses.Tests;

/// <summary>Closed forms of two points, and the table of the phantom's places.</summary>
public sealed class PoseGeometryTests
{
    private const double SpacingMm = 0.2;
    private static readonly PoseModel Knee = PoseModels.For("knee-ap")!;

    public static TheoryData<string> Projections => new(PoseModels.All.Select(model => model.ProjectionId));

    [Theory]
    [InlineData(40, 12, 0)]
    [InlineData(40, -7, 0)]
    [InlineData(25, 0, 15)]
    [InlineData(60, 0, -20)]
    [Trait("evidence", "analytic")]
    public void Places_TwoPointsAlongTheBeam_ShiftByTheirDistanceTimesTheSine(double apartMm, double turn, double tilt)
    {
        // One over the other at the same place, seen from so far away that rays are as good as parallel: the far one moves against the near one by d·sin θ.
        PoseProblem problem = Problem(apartMm, sourceMm: 1e9);
        IReadOnlyDictionary<string, PixelPoint> places = problem.Places(Pose(problem, turn, tilt));
        Assert.Equal(-apartMm * Math.Sin(turn * Math.PI / 180), (places["near"].X - places["far"].X) * SpacingMm, 0.002);

        // Tilt brings the lower end towards the tube: what is nearer goes up.
        Assert.Equal(-apartMm * Math.Sin(tilt * Math.PI / 180), (places["near"].Y - places["far"].Y) * SpacingMm, 0.002);
    }

    [Theory]
    [InlineData(1000, 60, 20)]
    [InlineData(1800, 200, 50)]
    [Trait("evidence", "analytic")]
    public void Places_AtAHeight_AreLargerByTheDistances(double sourceMm, double heightMm, double apartMm)
    {
        PoseProblem problem = Problem(apartMm, sourceMm);
        double[] pose = Pose(problem, 0, 0);
        pose[PoseProblem.X] = 30;
        pose[PoseProblem.Z] = heightMm;
        IReadOnlyDictionary<string, PixelPoint> places = problem.Places(pose);

        // x = 30 mm off the plumb line: on the receptor x·H/(H − z). The points lie half their distance over and under the centring point.
        Assert.Equal(30 * sourceMm / (sourceMm - heightMm - (apartMm / 2)), (places["near"].X - problem.Setting.CentralRay.X) * SpacingMm, 0.002);
        Assert.Equal(30 * sourceMm / (sourceMm - heightMm + (apartMm / 2)), (places["far"].X - problem.Setting.CentralRay.X) * SpacingMm, 0.002);
    }

    [Theory]
    [InlineData("knee-lateral")]
    [InlineData("elbow-lateral")]
    [InlineData("ankle-lateral")]
    [InlineData("shoulder-ap-external")]
    [Trait("evidence", "invariant")]
    public void PlaceTable_BetweenItsSettings_IsThePhantom(string projection)
    {
        PoseModel model = PoseModels.For(projection)!;
        PlaceTable table = PlaceTable.Of(model, child: false);
        PartPhantom phantom = PartPhantoms.ByName(model.Part);
        PartView view = phantom.View(model.View);
        double[] places = new double[table.Stride];
        for (int step = 0; step <= 4; step++)
        {
            double[] joints = [.. model.Joints.Select((_, joint) => table.Minimum[joint] + ((table.Maximum[joint] - table.Minimum[joint]) * ((0.11 + (0.19 * step) + (0.07 * joint)) % 1)))];
            table.Read(joints, places);
            Body body = phantom.Build(new PartForm { Joints = view.Joints.Concat(model.Joints.Select((joint, index) => KeyValuePair.Create(joint.Name, joints[index]))).GroupBy(pair => pair.Key).ToDictionary(group => group.Key, group => group.Last().Value) });
            for (int point = 0; point < model.Points.Count; point++)
            {
                System.Numerics.Vector3 place = PlaceTable.PlaceOf(model.Points[point], body, 1) - body.Landmarks[view.Centring];
                double off = Math.Sqrt(Math.Pow(place.X - places[6 * point], 2) + Math.Pow(place.Y - places[(6 * point) + 1], 2) + Math.Pow(place.Z - places[(6 * point) + 2], 2));
                // Bones turn about an axis; the patella glides, which a polynomial follows less well.
                Assert.True(off < 0.2, $"{model.Points[point].Id} at {string.Join(", ", joints)}: {off} mm");
            }
        }
    }

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "invariant")]
    public void PlaceTable_ThatIsKept_IsTheBuiltOne(string projection)
    {
        // What is kept has four decimals. After a change of a model or of the phantom: bench/pose places data/poses/places.
        PoseModel model = PoseModels.For(projection)!;
        foreach (bool child in new[] { false, true })
        {
            StoredPlaces kept = StoredPlaces.Of(model, child)!;
            Assert.NotNull(kept);
            PlaceTable built = PlaceTable.Build(model, child), used = PlaceTable.Of(model, child);
            Assert.Equal(built.Has, kept.Has);
            Assert.Equal(built.Minimum, kept.Minimum);
            Assert.Equal(built.Maximum, kept.Maximum);
            double[] places = [.. built.Nodes.SelectMany(node => node)], read = [.. used.Nodes.SelectMany(node => node)];
            Assert.Equal(places.Length, kept.Places.Count);
            Assert.Equal(kept.Places, read);
            Assert.Equal(built.Settings.SelectMany(each => each), used.Settings.SelectMany(each => each));
            Assert.Equal(built.Orientation, used.Orientation);
            Assert.All(places.Zip(kept.Places), pair => Assert.Equal(pair.First, pair.Second, 1e-4));
        }
    }

    private static PoseProblem Problem(double apartMm, double sourceMm)
    {
        // The knee's centring point is the origin of its frame and of the tibia's, z to the front, which the view turns to the tube.
        PoseModel model = Knee with
        {
            Points =
            [
                new PosePoint { Id = "near", Bone = "tibia", AtMm = [0, 0, apartMm / 2], SpreadMm = 1, Basis = "hotlight-rule" },
                new PosePoint { Id = "far", Bone = "tibia", AtMm = [0, 0, -apartMm / 2], SpreadMm = 1, Basis = "hotlight-rule" },
            ],
            Joints = [],
        };
        var geometry = new ExposureGeometry { Spacing = new PixelSpacing(SpacingMm, SpacingMm), Columns = 1000, Rows = 1200, SourceImageDistanceMm = sourceMm };
        PoseSetting setting = PoseSetting.Of(model, ProjectionCatalogue.BuiltIn.Get(Knee.ProjectionId), geometry, new PoseOptions());
        return new PoseProblem(setting, new Dictionary<string, LandmarkPoint> { ["near"] = LandmarkPoint.At(new PixelPoint(X: 500, Y: 600), 5), ["far"] = LandmarkPoint.At(new PixelPoint(X: 500, Y: 600), 5) }, mirrored: false);
    }

    private static double[] Pose(PoseProblem problem, double turn, double tilt)
    {
        double[] pose = [.. problem.Expected];
        pose[PoseProblem.Turn] = turn * Math.PI / 180;
        pose[PoseProblem.Tilt] = tilt * Math.PI / 180;
        return pose;
    }
}
