using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Xunit.Abstractions;

namespace Hotlight.Positioning.Tests;

/// <summary>Known poses of the phantom lab against the turn that marked landmarks give: another author's geometry is none, but the lab shares no formula with what is tested.</summary>
public sealed class PhantomPoseTests(ITestOutputHelper output)
{
    private const int Poses = 400;
    private const double MarkingErrorMm = 1;

    // Turns under which the sign is asked: below twice the uncertainty nothing is claimed.
    private const double LeastDegreesForSign = 4;

    /// <summary>Relation, what the lab turns (turn about the image's y axis, or tilt about its x axis), and the miss that a positive angle of the lab is.</summary>
    public static TheoryData<string, string, string, string, bool, string> Cases() => new()
    {
        // The viewer's right is the patient's left; it comes toward the tube, which stands behind: the front of the chest turns to the left, so the right end is nearer (reference sheet, section 2).
        { "chest", "pa", "chest-pa", "no-rotation", true, "right-end-nearer" },

        // The patella, on the viewer's left, goes to the receptor: the leg turns out, the medial condyle comes forward.
        { "knee", "lateral", "knee-lateral", "condyles-front-back", true, "medial-anterior" },

        // The foot's end comes toward the tube: the medial condyle, nearer the tube, goes toward the hip.
        { "knee", "lateral", "knee-lateral", "condyles-up-down", false, "medial-proximal" },

        // The viewer's right is the patient's left, nearer the tube: the left side is raised.
        { "lumbarSpine", "ap", "lumbar-spine-ap", "no-rotation", true, "left-side-raised" },
    };

    [Theory]
    [MemberData(nameof(Cases))]
    [Trait("evidence", "independent")]
    public void Turn_OfAKnownPose_HasItsSignItsSizeAndItsUncertainty(string part, string view, string projectionId, string relationId, bool turns, string positiveMiss)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(projectionId);
        RelationMeasure rule = projection.Relations.Single(relation => relation.Id == relationId).Measure!;
        var random = new Random(20261126);
        SceneDocument start = SceneStarts.For(part, view);
        double zero = 0;
        int signs = 0, rightSigns = 0, covered = 0, sized = 0;
        var errors = new List<double>();
        for (int pose = 0; pose <= Poses; pose++)
        {
            // The first pose is the lab's own, without error: what its landmarks give there is where the phantom's zero lies.
            double degrees = pose == 0 ? 0 : (random.NextDouble() * 30) - 15;
            SceneDocument scene = start with
            {
                Part = start.Part! with
                {
                    // A bent knee's thigh stands aslant on the image, and the lab turns about the image's axes: straight, both axes are one.
                    Joints = part is "knee" ? new Dictionary<string, double> { ["kneeFlexion"] = 0 } : start.Part.Joints,
                    TurnDegrees = turns ? degrees : 0,
                    TiltDegrees = turns ? 0 : degrees,
                    LeanDegrees = pose == 0 ? 0 : (random.NextDouble() * 20) - 10,
                    Side = part is "knee" && random.Next(2) == 0 ? "L" : "R",
                },
            };
            LabPlacement placed = Lab.Place(scene);
            double error = pose == 0 ? 0 : MarkingErrorMm;
            MarkedLandmarks marks = Marks(projection, rule, placed, () => Normal(random) * error / placed.SpacingMm);
            var geometry = new ExposureGeometry
            {
                Spacing = new PixelSpacing(placed.SpacingMm, placed.SpacingMm),
                Columns = placed.Columns,
                Rows = placed.Rows,
                SourceImageDistanceMm = placed.SourceImageDistanceMm,
                CentralRay = placed.CentralRay,
                CentralRayUncertaintyMm = 0,
            };
            RelationFinding finding = RelationMeasurer.Measure(projection, marks, geometry).Single(item => item.Relation.Id == relationId);
            Assert.True(finding.Result is not null, finding.Why);
            Turn turn = finding.Result!.Turn!;
            double signed = turn.Sign * turn.Degrees * (rule.Above == positiveMiss ? 1 : -1);
            if (pose == 0)
            {
                zero = signed;
                continue;
            }

            double off = signed - degrees;
            errors.Add(off);
            covered += Math.Abs(off) <= turn.Uncertainty ? 1 : 0;
            sized += Math.Abs(off) <= 3 ? 1 : 0;
            if (Math.Abs(degrees) >= LeastDegreesForSign)
            {
                signs++;
                rightSigns += Math.Sign(signed) == Math.Sign(degrees) ? 1 : 0;
            }
        }

        errors.Sort();
        output.WriteLine($"{projectionId} {relationId}: zero {zero:0.00}°, median error {errors[Poses / 2]:0.00}°, 10th {errors[Poses / 10]:0.00}, 90th {errors[Poses * 9 / 10]:0.00}; sign right {100.0 * rightSigns / signs:0.0} % of {signs}; within 3° {100.0 * sized / Poses:0.0} %; covered {100.0 * covered / Poses:0.0} %");

        // Issue: sign right in 99 %, size within 3 degrees, coverage of one standard deviation (68.3 %) within 10 points.
        Assert.True(rightSigns >= 0.99 * signs, $"sign right in {rightSigns} of {signs}");
        Assert.True(Math.Abs(errors[Poses / 2]) <= 3);
        Assert.InRange(100.0 * covered / Poses, 58.3, 100);
    }

    private static MarkedLandmarks Marks(Projection projection, RelationMeasure rule, LabPlacement placed, Func<double> error)
    {
        var points = new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal);
        IEnumerable<string> ids = rule.Points.Concat(rule.Axis is { } axis ? [axis.From, axis.To, .. axis.Toward is { } toward ? new[] { toward } : []] : Array.Empty<string>()).Distinct(StringComparer.Ordinal);
        foreach (string id in ids)
        {
            PixelPoint at = Place(projection.Id, id, placed);
            points[id] = LandmarkPoint.At(new PixelPoint(X: at.X + error(), Y: at.Y + error()), MarkingErrorMm / placed.SpacingMm);
        }

        return new MarkedLandmarks(projection.Id, points);
    }

    /// <summary>Where a landmark of the catalogue lies on the lab's image.</summary>
    private static PixelPoint Place(string projection, string id, LabPlacement placed)
    {
        PixelPoint Of(string name) => placed.Landmarks.Single(landmark => landmark.Name == name).Pixel;
        PixelPoint Middle(params string[] names) => new(X: names.Average(name => Of(name).X), Y: names.Average(name => Of(name).Y));

        return (projection, id) switch
        {
            ("chest-pa", "right-clavicle-end") => Of("rightClavicleMedialEnd"),
            ("chest-pa", "left-clavicle-end") => Of("leftClavicleMedialEnd"),
            ("chest-pa", "spinous-line") => placed.Landmarks.Where(landmark => landmark.Name.StartsWith("spinousTip", StringComparison.Ordinal))
                .MinBy(landmark => Math.Abs(landmark.Pixel.Y - Middle("rightClavicleMedialEnd", "leftClavicleMedialEnd").Y))!.Pixel,

            ("knee-lateral", "lateral-condyle-back") => Of("lateralFemoralCondylePosterior"),
            ("knee-lateral", "medial-condyle-back") => Of("medialFemoralCondylePosterior"),
            ("knee-lateral", "lateral-condyle-bottom") => Of("lateralFemoralCondyleDistal"),
            ("knee-lateral", "medial-condyle-bottom") => Of("medialFemoralCondyleDistal"),

            ("knee-lateral", "shaft-near") => Of("femoralShaftNear"),
            ("knee-lateral", "shaft-far") => Of("femoralShaftFar"),
            ("knee-lateral", "patella-front") => Middle("patellaApex", "patellaBase"),

            ("lumbar-spine-ap", "left-pedicle") => Of("leftPedicleL3"),
            ("lumbar-spine-ap", "right-pedicle") => Of("rightPedicleL3"),
            ("lumbar-spine-ap", "pedicle-middle") => Middle("leftPedicleL3", "rightPedicleL3"),
            ("lumbar-spine-ap", "spinous-process") => Of("spinousTipL3"),
            _ => throw new ArgumentException($"{projection} has no landmark {id} in the lab.", nameof(id)),
        };
    }

    private static double Normal(Random random) => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
