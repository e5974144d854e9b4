using System.Numerics;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;

namespace Hotlight.Poses.Tests;

/// <summary>Radiographs of people who are not the phantom, marked by a reader: size, proportions and shape differ, the pose is known.</summary>
/// <remarks>Placed and projected by the lab's own code, which shares no formula with the fit.</remarks>
internal sealed class OtherPeople(PoseModel model, int seed)
{
    /// <summary>Standard deviation of a mark in each direction, in mm at the receptor.</summary>
    public const double MarkingMm = 1;

    // Bodies are built anew for every setting of a joint, which takes the lab a second for a chest: so many settings are used.
    private const int JointSettings = 8;

    private readonly Random random = new(seed);
    private readonly PartPhantom phantom = PartPhantoms.ByName(model.Part);
    private readonly Projection projection = ProjectionCatalogue.BuiltIn.Get(model.ProjectionId);

    /// <summary>Size of the person over the phantom: anything between these.</summary>
    public (double From, double To) Sizes { get; init; } = (0.85, 1.15);

    /// <summary>How far one axis may be longer or shorter than that, as a share.</summary>
    public double Stretch { get; init; } = 0.06;

    /// <summary>Root mean square of the smooth difference of shape in each direction, in mm; of a point that the model says to differ by more than 1.6 mm as much more.</summary>
    /// <remarks>Surfaces of the same bone of two people, laid over each other with one size, lie 1.5 to 1.9 mm apart (talus, calcaneus, fibula, patella; docs/methods/pose.md).</remarks>
    public double ShapeMm { get; init; } = 1.5;

    /// <summary>Whether they are children of about eight years.</summary>
    public bool IsChild { get; init; }

    /// <summary>Whether the header tells the distance and the field tells the central ray, to 10 mm; else the chart's distance is 7 % off at most, and the ray's place is not told.</summary>
    public bool IsDistanceKnown { get; init; } = true;

    /// <summary>Whether the file tells the pixel spacing.</summary>
    public bool IsSpacingKnown { get; init; } = true;

    /// <summary>The next person's radiograph.</summary>
    public MarkedRadiograph Next()
    {
        double turn = Even(-20, 20), tilt = Even(-20, 20), lean = Even(-15, 15);
        bool left = model.Part is not "chest" && random.Next(2) == 0;
        PartView view = phantom.View(model.View);
        Dictionary<string, double> joints = model.Joints.ToDictionary(joint => joint.Name, joint =>
        {
            JointRange range = phantom.Joints.First(known => known.Name == joint.Name);
            double share = -1 + (2 * random.Next(JointSettings) / (double)(JointSettings - 1));
            return Math.Clamp(joint.ExpectedDegrees + (1.5 * joint.SpreadDegrees * share), range.MinimumDegrees, range.MaximumDegrees);
        }, StringComparer.Ordinal);
        SourcedRange height = projection.ObjectReceptorDistanceMm;
        double distance = projection.SourceImageDistanceMm.Value * Even(0.93, 1.07), spacing = 0.15;
        Body body = phantom.Place(
            view,
            new PartForm { Size = IsChild ? BodySize.Child : BodySize.Adult, Joints = joints },
            left,
            new PartOffset(turn, tilt, lean, Even(-25, 25), Even(-25, 25), Even(height.From, height.To)),
            (_, _) => 0);

        // The part stands over the place of its centring point: at a height within the catalogue's range.
        Vector3 centre = body.Landmarks[view.Centring];
        float over = body.Placement.ToOuter(centre).Z - body.Placement.Origin.Z;
        body = body with { Placement = body.Placement with { Origin = body.Placement.Origin - new Vector3(0, 0, over) } };
        var ray = new PixelPoint(X: 700 + Even(-60, 60), Y: 800 + Even(-60, 60));
        BeamGeometry geometry = BeamGeometry.FromTube(1600, 1400, spacing, distance, 0, 0, ray);
        PosePoint[] known = [.. model.Points.Where(point => PlaceTable.IsIn(point, body))];
        Vector3[] shape = Shaped(known, body, centre);
        var points = new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal);
        for (int index = 0; index < known.Length; index++)
        {
            PixelPoint place = geometry.Project(body.Placement.ToOuter(shape[index]));
            points[known[index].Id] = LandmarkPoint.At(new PixelPoint(X: place.X + (MarkingMm * Normal() / spacing), Y: place.Y + (MarkingMm * Normal() / spacing)), MarkingMm / spacing);
        }

        return new MarkedRadiograph(
            new MarkedLandmarks(model.ProjectionId, points),
            new ExposureGeometry
            {
                Spacing = IsSpacingKnown ? new PixelSpacing(spacing, spacing) : null,
                Columns = 1400,
                Rows = 1600,
                SourceImageDistanceMm = IsDistanceKnown ? distance : null,
                CentralRay = IsDistanceKnown ? new PixelPoint(X: ray.X + (10 * Normal() / spacing), Y: ray.Y + (10 * Normal() / spacing)) : null,
                IsChild = IsChild,
            },
            left ? "L" : "R",
            turn,
            tilt,
            lean,
            joints);
    }

    /// <summary>The model's points of a person of another size, of other proportions and of another shape, in the part's frame.</summary>
    private Vector3[] Shaped(PosePoint[] points, Body body, Vector3 centre)
    {
        float child = PlaceTable.SizeShare(model.Part, IsChild);
        double size = Even(Sizes.From, Sizes.To);
        Vector3 stretch = new((float)(size * (1 + Even(-Stretch, Stretch))), (float)(size * (1 + Even(-Stretch, Stretch))), (float)(size * (1 + Even(-Stretch, Stretch))));
        Vector3[] places = [.. points.Select(point => PlaceTable.PlaceOf(point, body, child))];
        Vector3[] off = Smooth(places, points);
        return [.. places.Select((place, index) =>
        {
            Vector3 slid = place;
            if (points[index].Along is { } along)
            {
                // The reader takes any place along a shaft or an edge: half of what the model allows for, one standard deviation.
                Vector3 direction = Vector3.Normalize(new((float)along.Direction[0], (float)along.Direction[1], (float)along.Direction[2]));
                direction = points[index].Bone is { } bone ? body.Bones.First(known => known.Name == bone).Pose.TurnToOuter(direction) : direction;
                slid += (float)(0.5 * along.SpreadMm * Normal()) * direction;
            }

            return centre + (stretch * (slid + off[index] - centre));
        })];
    }

    /// <summary>Smooth displacements: eight waves of 60 to 200 mm in random directions, and a little for each point alone. What of it is a mere turn stays in: nobody's bones lie just as another's.</summary>
    private Vector3[] Smooth(Vector3[] places, PosePoint[] points)
    {
        const int Waves = 8;
        Vector3[] off = new Vector3[places.Length];
        for (int wave = 0; wave < Waves; wave++)
        {
            Vector3 along = Vector3.Normalize(new((float)Normal(), (float)Normal(), (float)Normal()));
            Vector3 push = new((float)Normal(), (float)Normal(), (float)Normal());
            double length = Even(60, 200), phase = Even(0, 2 * Math.PI);
            for (int index = 0; index < places.Length; index++)
            {
                off[index] += push * (float)Math.Sin((2 * Math.PI * Vector3.Dot(along, places[index]) / length) + phase);
            }
        }

        for (int index = 0; index < places.Length; index++)
        {
            off[index] += 0.5f * new Vector3((float)Normal(), (float)Normal(), (float)Normal());
        }

        double own = Math.Sqrt(off.Sum(each => (double)each.LengthSquared()) / off.Length / 3);
        return [.. off.Select((each, index) => each * (float)(ShapeMm / own * Math.Max(1, points[index].SpreadMm / 1.6)))];
    }

    private double Even(double from, double to) => from + ((to - from) * random.NextDouble());

    private double Normal() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}

/// <summary>A marked radiograph whose pose is known.</summary>
internal sealed record MarkedRadiograph(MarkedLandmarks Marks, ExposureGeometry Geometry, string Side, double TurnDegrees, double TiltDegrees, double LeanDegrees, IReadOnlyDictionary<string, double> Joints);
