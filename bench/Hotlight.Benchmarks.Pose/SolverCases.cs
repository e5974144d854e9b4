using System.Text.Json;
using Hotlight.Measure.Landmarks;
using Hotlight.Poses;
using Hotlight.Poses.Tests;
using Hotlight.Positioning;

namespace Hotlight.Benchmarks.Pose;

/// <summary>Marked radiographs with everything that a fit of them knows, for another author's solver: tests/reference/poses/cases.json.</summary>
internal static class SolverCases
{
    private static readonly string[] Projections = ["wrist-lateral", "knee-lateral", "knee-ap", "chest-pa", "elbow-lateral", "ankle-lateral"];

    public static void Write(string file)
    {
        var cases = new List<object>();
        foreach (string id in Projections)
        {
            PoseModel model = PoseModels.For(id)!;
            var people = new OtherPeople(model, 4711);
            for (int index = 0; index < 3; index++)
            {
                cases.Add(Case(model, people.Next()));
            }
        }

        File.WriteAllText(file, JsonSerializer.Serialize(new { schema = "hotlight.pose-cases/1", cases }, new JsonSerializerOptions { WriteIndented = false }) + "\n");
    }

    private static object Case(PoseModel model, MarkedRadiograph radiograph)
    {
        PlaceTable table = PlaceTable.Of(model, false);
        double[] places = new double[table.Stride];
        table.Read([.. model.Joints.Select(joint => joint.ExpectedDegrees)], places);
        SmoothShape shape = SmoothShape.Of([.. model.Points.Select(point => point.SpreadMm)], places, [.. Enumerable.Range(0, model.Points.Count)]);
        return new
        {
            projection = model.ProjectionId,
            side = radiograph.Side,
            spacingMm = radiograph.Geometry.Spacing!.Value.ColumnSpacingMm,
            columns = radiograph.Geometry.Columns,
            rows = radiograph.Geometry.Rows,
            sourceImageDistanceMm = radiograph.Geometry.SourceImageDistanceMm,
            centralRay = new[] { radiograph.Geometry.CentralRay!.Value.X, radiograph.Geometry.CentralRay.Value.Y },
            marks = model.Points.Select(point => At(radiograph.Marks, point.Id)),
            orientation = table.Orientation,
            settings = table.Settings,
            places = table.Nodes.Select(node => node.Select(value => Math.Round(value, 5))),
            spreads = model.Points.Select(point => new[] { point.SpreadMm, point.Along?.SpreadMm ?? 0 }),
            shape = model.Points.Select((_, point) => Enumerable.Range(0, shape.Count).Select(way => Math.Round(shape.Share(point, way), 6))),
            joints = model.Joints.Select(joint => new[] { joint.ExpectedDegrees, joint.SpreadDegrees }),
            size = new[] { model.Size.SpreadPercent / 100, model.Size.StretchPercent / 100 },
        };
    }

    private static object At(MarkedLandmarks marks, string id)
    {
        LandmarkPoint point = marks.Points[id];
        return new { id, x = Math.Round(point.Point.X, 3), y = Math.Round(point.Point.Y, 3), uncertaintyPixels = Math.Sqrt(point.VarianceX) };
    }
}
