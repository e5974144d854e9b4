using Hotlight.Catalogue;
using Hotlight.Simulation.Phantom;

namespace Hotlight.Poses;

/// <summary>Checks what a pose model says beyond its form.</summary>
internal static class PoseModelCheck
{
    /// <summary>Everything that is wrong with a model.</summary>
    public static IEnumerable<CatalogueError> Errors(PoseModel model, string file)
    {
        CatalogueError Fault(string member, string reason) => new(file, member, reason);

        if (ProjectionCatalogue.BuiltIn.Find(model.ProjectionId) is not { } projection)
        {
            yield return Fault("$.projection", $"the catalogue has no projection '{model.ProjectionId}'.");
            yield break;
        }

        PartPhantom? phantom = PartPhantoms.All.FirstOrDefault(part => part.Name == model.Part);
        if (phantom is null || phantom.Views.All(view => view.Name != model.View))
        {
            yield return Fault("$.view", $"the lab has no part '{model.Part}' with a view '{model.View}'.");
            yield break;
        }

        foreach (CatalogueError error in Points(model, projection, phantom, Fault).Concat(Joints(model, phantom, Fault)))
        {
            yield return error;
        }

        if (!(model.Size.SpreadPercent > 0 && model.Size.SpreadPercent <= 50 && model.Size.StretchPercent > 0 && model.Size.StretchPercent <= 50))
        {
            yield return Fault("$.size", "both spreads lie above 0 and go to 50 percent.");
        }

        foreach ((string basis, string member) in model.Points.Select((point, index) => (point.Basis, $"$.points[{index}].basis"))
            .Concat(model.Joints.Select((joint, index) => (joint.Basis, $"$.joints[{index}].basis")))
            .Append((model.Size.Basis, "$.size.basis")))
        {
            if (!SourceRegister.BuiltIn.Sources.ContainsKey(basis))
            {
                yield return Fault(member, $"'{basis}' is not a key of data/sources.json.");
            }
        }
    }

    private static IEnumerable<CatalogueError> Points(PoseModel model, Projection projection, PartPhantom phantom, Func<string, string, CatalogueError> fault)
    {
        Body body = phantom.Build(new PartForm { Joints = phantom.View(model.View).Joints });
        HashSet<string> ids = new(StringComparer.Ordinal);
        for (int index = 0; index < model.Points.Count; index++)
        {
            PosePoint point = model.Points[index];
            string member = $"$.points[{index}]";
            if (!ids.Add(point.Id))
            {
                yield return fault(member + ".id", $"'{point.Id}' stands twice.");
            }

            if (projection.Landmarks.All(landmark => landmark.Id != point.Id) && (string.IsNullOrWhiteSpace(point.Name) || string.IsNullOrWhiteSpace(point.Where)))
            {
                yield return fault(member + ".name", $"'{point.Id}' is no landmark of the catalogue's {projection.Id}, so it needs a name and where it lies.");
            }

            if ((point.Anatomy.Count > 0) == (point.Bone is not null) || (point.Bone is null) != (point.AtMm is null))
            {
                yield return fault(member, "a point has either anatomy, or a bone with a place of three numbers.");
            }
            else if (point.AtMm is { } at && (at.Count != 3 || at.Any(value => !(Math.Abs(value) <= 500))))
            {
                yield return fault(member + ".atMm", "a place is three numbers, in mm, within 500.");
            }
            else if (point.Bone is { } bone && body.Bones.All(known => known.Name != bone))
            {
                yield return fault(member + ".bone", $"the {model.Part} has no bone '{bone}'.");
            }
            else if (point.Anatomy.FirstOrDefault(name => !body.Landmarks.ContainsKey(name)) is { } unknown)
            {
                yield return fault(member + ".anatomy", $"the {model.Part} has no landmark '{unknown}'.");
            }

            if (!(point.SpreadMm > 0 && point.SpreadMm <= 50))
            {
                yield return fault(member + ".spreadMm", "a spread lies above 0 and goes to 50 mm.");
            }

            if (point.Along is { } along && (along.Direction.Count != 3 || !(along.Direction.Sum(value => value * value) > 1e-6) || !(along.SpreadMm > 0 && along.SpreadMm <= 100)))
            {
                yield return fault(member + ".along", "a slide has a direction of three numbers and a spread above 0, at most 100 mm.");
            }
        }

        if (model.Points.Count < PoseFitter.LeastPoints)
        {
            yield return fault("$.points", $"a pose needs {PoseFitter.LeastPoints} points or more.");
        }
    }

    private static IEnumerable<CatalogueError> Joints(PoseModel model, PartPhantom phantom, Func<string, string, CatalogueError> fault)
    {
        for (int index = 0; index < model.Joints.Count; index++)
        {
            PoseJointSpread joint = model.Joints[index];
            JointRange? range = phantom.Joints.FirstOrDefault(known => known.Name == joint.Name);
            if (range is null || model.Joints.Take(index).Any(other => other.Name == joint.Name))
            {
                yield return fault($"$.joints[{index}].name", $"'{joint.Name}' is no joint of the {model.Part}, or stands twice.");
            }
            else if (!(joint.ExpectedDegrees >= range.MinimumDegrees && joint.ExpectedDegrees <= range.MaximumDegrees && joint.SpreadDegrees > 0 && joint.SpreadDegrees <= 60))
            {
                yield return fault($"$.joints[{index}]", FormattableString.Invariant($"it is expected within {range.MinimumDegrees} and {range.MaximumDegrees} degrees, with a spread above 0, at most 60."));
            }
        }
    }
}
