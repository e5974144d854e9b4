using System.Numerics;
using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;

namespace Hotlight.Poses.Tests;

/// <summary>Radiographs of a real person's bones in known poses: landmarks found on open meshes by rule (tests/reference/poses/bones.py), placed and projected by the lab, marked with an error of 1 mm.</summary>
/// <param name="bones">The file bones.json.</param>
/// <param name="model">A projection that the file has.</param>
/// <param name="zero">What is taken for no turn, tilt and lean: "overlay" or "axes", as the file says of leg and talus.</param>
/// <param name="seed">The same seed gives the same poses and marks.</param>
internal sealed class RealBones(JsonElement bones, PoseModel model, string zero, int seed)
{
    // The person lay with a hanging foot; these points go with joints that the lab does not have.
    private static readonly string[] BeyondTalus = ["heel-low", "heel-back", "navicular", "fifth-base"];

    private readonly Random random = new(seed);

    /// <summary>Whether points of the foot beyond the talus are marked.</summary>
    public bool WithFoot { get; init; } = true;

    /// <summary>Projections that the file has.</summary>
    public static IEnumerable<string> Projections(JsonElement bones) => bones.GetProperty("projections").EnumerateObject().Select(projection => projection.Name);

    /// <summary>The next radiograph.</summary>
    public MarkedRadiograph Next()
    {
        double turn = Even(-20, 20), tilt = Even(-20, 20), lean = Even(-15, 15), spacing = 0.15;
        Projection projection = ProjectionCatalogue.BuiltIn.Get(model.ProjectionId);
        PartPhantom phantom = PartPhantoms.ByName(model.Part);
        PartView view = phantom.View(model.View);
        SourcedRange height = projection.ObjectReceptorDistanceMm;
        Body body = phantom.Place(view, new PartForm { Joints = view.Joints }, false, new PartOffset(turn, tilt, lean, Even(-25, 25), Even(-25, 25), Even(height.From, height.To)), (_, _) => 0);
        double distance = projection.SourceImageDistanceMm.Value * Even(0.93, 1.07);
        PixelPoint ray = new(X: 700 + Even(-60, 60), Y: 800 + Even(-60, 60));
        BeamGeometry geometry = BeamGeometry.FromTube(1600, 1400, spacing, distance, 0, 0, ray);

        // The person's points lie about the phantom's centring point as far as their middles agree; the fit knows nothing of that.
        double[][] turned = [.. bones.GetProperty("projections").GetProperty("ankle-ap").GetProperty(zero).EnumerateArray().Select(row => row.EnumerateArray().Select(value => value.GetDouble()).ToArray())];
        Vector3[] own = [.. model.Points.Select(point => Turned(turned, bones.GetProperty("landmarks").GetProperty(point.Id).GetProperty("frameMm")))];
        Vector3 centre = body.Landmarks[view.Centring], shift = Middle([.. model.Points.Select(point => PlaceTable.PlaceOf(point, body, 1))]) - Middle(own);
        float over = body.Placement.ToOuter(centre).Z - body.Placement.Origin.Z;
        body = body with { Placement = body.Placement with { Origin = body.Placement.Origin - new Vector3(0, 0, over) } };
        var points = new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal);
        for (int index = 0; index < own.Length; index++)
        {
            if (!WithFoot && BeyondTalus.Contains(model.Points[index].Id))
            {
                continue;
            }

            PixelPoint place = geometry.Project(body.Placement.ToOuter(own[index] + shift));
            double error = OtherPeople.MarkingMm / spacing;
            points[model.Points[index].Id] = LandmarkPoint.At(new PixelPoint(X: place.X + (error * Normal()), Y: place.Y + (error * Normal())), error);
        }

        return new MarkedRadiograph(
            new MarkedLandmarks(model.ProjectionId, points),
            new ExposureGeometry
            {
                Spacing = new PixelSpacing(spacing, spacing),
                Columns = 1400,
                Rows = 1600,
                SourceImageDistanceMm = distance,
                CentralRay = new PixelPoint(X: ray.X + (10 * Normal() / spacing), Y: ray.Y + (10 * Normal() / spacing)),
            },
            "R",
            turn,
            tilt,
            lean,
            model.Joints.ToDictionary(joint => joint.Name, _ => bones.GetProperty("projections").GetProperty(model.ProjectionId).GetProperty("overlayBendDegrees").GetDouble(), StringComparer.Ordinal));
    }

    private static Vector3 Middle(Vector3[] points) => points.Aggregate(Vector3.Zero, (sum, point) => sum + point) / points.Length;

    private static Vector3 Turned(double[][] rows, JsonElement place)
    {
        double[] at = [.. place.EnumerateArray().Select(value => value.GetDouble())];
        return new((float)rows[0].Zip(at, (a, b) => a * b).Sum(), (float)rows[1].Zip(at, (a, b) => a * b).Sum(), (float)rows[2].Zip(at, (a, b) => a * b).Sum());
    }

    private double Even(double from, double to) => from + ((to - from) * random.NextDouble());

    private double Normal() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
