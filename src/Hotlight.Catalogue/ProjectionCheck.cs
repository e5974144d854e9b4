using System.Text.RegularExpressions;

namespace Hotlight.Catalogue;

/// <summary>What a schema cannot say of a projection: keys that exist, identifiers that are unique, opposites that name each other.</summary>
internal static partial class ProjectionCheck
{
    /// <summary>Checks a projection.</summary>
    /// <param name="projection">The projection.</param>
    /// <param name="file">The file's name with its region's folder.</param>
    /// <param name="sources">The register of sources; null: the keys are not looked up, for they were when the projection was read.</param>
    /// <returns>Everything that is wrong; empty where nothing is.</returns>
    public static IReadOnlyList<CatalogueError> Errors(Projection projection, string file, SourceRegister? sources)
    {
        var errors = new List<CatalogueError>();
        void Demand(bool holds, string member, string reason)
        {
            if (!holds)
            {
                errors.Add(new CatalogueError(file, member, reason));
            }
        }

        void Key(string key, string member)
            => Demand(sources is null || sources.Sources.ContainsKey(key), member, $"the source '{key}' is not in the register of sources.");

        void Text(SourcedText text, string member)
        {
            Demand(!string.IsNullOrWhiteSpace(text.Text), member + ".text", "the text is empty.");
            Key(text.Basis, member + ".basis");
        }

        void Positive(SourcedNumber number, string member)
        {
            Demand(double.IsFinite(number.Value) && number.Value > 0, member + ".value", "the figure must be above 0.");
            Key(number.Basis, member + ".basis");
        }

        Demand(KebabCase().IsMatch(projection.Id), "$.id", $"'{projection.Id}' is not lower-case words joined by hyphens.");
        Demand(file == $"{projection.Region}/{projection.Id}.json", "$.id", $"the file of '{projection.Id}' in region '{projection.Region}' is named {projection.Region}/{projection.Id}.json.");
        Demand(!string.IsNullOrWhiteSpace(projection.Name), "$.name", "the name is empty.");
        Key(projection.Codes.Basis, "$.codes.basis");
        Demand(projection.Codes.BodyParts.Count > 0, "$.codes.bodyParts", "at least one term is needed.");
        Demand(projection.Codes.ViewPositions.Count > 0, "$.codes.viewPositions", "at least one term is needed.");
        Demand(projection.RequiredAnatomy.Count > 0, "$.requiredAnatomy", "at least one item is needed.");
        Demand(projection.Relations.Count > 0, "$.relations", "at least one relation is needed.");
        if (projection.BodyExit is { } exit)
        {
            Demand(exit.Sides is >= 1 and <= 3, "$.bodyExit.sides", "the number of sides is 1 to 3; write null where the body may leave by all four.");
            Demand(exit.Arrangement != ExitArrangement.Opposite || exit.Sides == 2, "$.bodyExit.arrangement", "only two sides can be opposite.");
            Key(exit.Basis, "$.bodyExit.basis");
        }

        Text(projection.PatientPosition, "$.patientPosition");
        Text(projection.PartPosition, "$.partPosition");
        Text(projection.Receptor, "$.receptor");
        Text(projection.Breathing, "$.breathing");
        Text(projection.MarkerPlace, "$.markerPlace");
        Text(projection.Shielding, "$.shielding");
        Text(projection.TissueQuestion, "$.tissueQuestion");
        Key(projection.CentralRay.Basis, "$.centralRay.basis");
        Demand(projection.CentralRay.AngleFromDegrees <= projection.CentralRay.AngleToDegrees, "$.centralRay.angleFromDegrees", "the range is written from low to high.");
        Positive(projection.SourceImageDistanceMm, "$.sourceImageDistanceMm");
        Key(projection.TubeVoltageKvp.Basis, "$.tubeVoltageKvp.basis");
        Demand(projection.TubeVoltageKvp.From > 0 && projection.TubeVoltageKvp.From <= projection.TubeVoltageKvp.To, "$.tubeVoltageKvp.from", "the range is written from low to high, above 0.");
        Key(projection.Grid.Basis, "$.grid.basis");
        Key(projection.Collimation.Basis, "$.collimation.basis");
        Positive(projection.Collimation.SkinMarginMm, "$.collimation.skinMarginMm");
        if (projection.Collimation.ReachMm is { } reach)
        {
            Positive(reach, "$.collimation.reachMm");
        }

        if (projection.TargetExposureIndex is { } target)
        {
            Positive(target, "$.targetExposureIndex");
        }

        for (int index = 0; index < projection.RequiredAnatomy.Count; index++)
        {
            RequiredAnatomy item = projection.RequiredAnatomy[index];
            string member = $"$.requiredAnatomy[{index}]";
            Demand(KebabCase().IsMatch(item.Id), member + ".id", $"'{item.Id}' is not lower-case words joined by hyphens.");
            Demand(projection.RequiredAnatomy.Count(other => other.Id == item.Id) == 1, member + ".id", $"'{item.Id}' stands twice.");
            Key(item.Basis, member + ".basis");
            Misses(item.Misses, member);
        }

        for (int index = 0; index < projection.Relations.Count; index++)
        {
            PositionRelation relation = projection.Relations[index];
            string member = $"$.relations[{index}]";
            Demand(KebabCase().IsMatch(relation.Id), member + ".id", $"'{relation.Id}' is not lower-case words joined by hyphens.");
            Demand(projection.Relations.Count(other => other.Id == relation.Id) == 1, member + ".id", $"'{relation.Id}' stands twice.");
            Key(relation.Basis, member + ".basis");
            Text(relation.Tolerance, member + ".tolerance");
            Misses(relation.Misses, member);
            if (relation.Measure is { } measure)
            {
                Measure(measure, relation, member + ".measure");
            }
        }

        for (int index = 0; index < projection.Landmarks.Count; index++)
        {
            Landmark landmark = projection.Landmarks[index];
            string member = $"$.landmarks[{index}]";
            Demand(KebabCase().IsMatch(landmark.Id), member + ".id", $"'{landmark.Id}' is not lower-case words joined by hyphens.");
            Demand(projection.Landmarks.Count(other => other.Id == landmark.Id) == 1, member + ".id", $"'{landmark.Id}' stands twice.");
            Demand(
                projection.Relations.Any(relation => relation.Measure is { } measure && (measure.Points.Contains(landmark.Id) || measure.Axis is { } axis && (axis.From == landmark.Id || axis.To == landmark.Id || axis.Toward == landmark.Id))),
                member + ".id",
                $"no relation is measured by '{landmark.Id}'.");
        }

        Key(projection.ObjectReceptorDistanceMm.Basis, "$.objectReceptorDistanceMm.basis");
        Demand(projection.ObjectReceptorDistanceMm.From >= 0 && projection.ObjectReceptorDistanceMm.From <= projection.ObjectReceptorDistanceMm.To, "$.objectReceptorDistanceMm.from", "the range is written from low to high, 0 or more.");
        Demand(projection.ObjectReceptorDistanceMm.To < projection.SourceImageDistanceMm.Value, "$.objectReceptorDistanceMm.to", "the part lies between source and receptor.");
        Demand(projection.Adaptations.Count > 0, "$.adaptations", "at least one adaptation is needed.");
        for (int index = 0; index < projection.Adaptations.Count; index++)
        {
            Demand(!string.IsNullOrWhiteSpace(projection.Adaptations[index].Text), $"$.adaptations[{index}].text", "the text is empty.");
            Key(projection.Adaptations[index].Basis, $"$.adaptations[{index}].basis");
        }

        Demand(projection.Purposes.Count > 0, "$.purposes", "at least one purpose is needed.");
        string[] lines = [.. projection.RequiredAnatomy.Select(item => item.Id), .. projection.Relations.Select(relation => relation.Id)];
        for (int index = 0; index < projection.Purposes.Count; index++)
        {
            ExaminationPurpose purpose = projection.Purposes[index];
            string member = $"$.purposes[{index}]";
            Demand(KebabCase().IsMatch(purpose.Id), member + ".id", $"'{purpose.Id}' is not lower-case words joined by hyphens.");
            Demand(projection.Purposes.Count(other => other.Id == purpose.Id) == 1, member + ".id", $"'{purpose.Id}' stands twice.");
            Demand(purpose.Needs.Count > 0, member + ".needs", "a purpose needs at least one line.");
            Key(purpose.Basis, member + ".basis");
            for (int need = 0; need < purpose.Needs.Count; need++)
            {
                Demand(lines.Contains(purpose.Needs[need]), $"{member}.needs[{need}]", $"'{purpose.Needs[need]}' is neither required anatomy nor a relation of this projection.");
            }
        }

        return errors;

        void Measure(RelationMeasure measure, PositionRelation relation, string member)
        {
            void Known(string id, string place)
                => Demand(projection.Landmarks.Any(landmark => landmark.Id == id), place, $"'{id}' is not a landmark of this projection.");

            int count = RelationMeasure.PointCount(measure.Kind);
            Demand(measure.Points.Count == count, member + ".points", $"{count} landmarks are expected.");
            for (int index = 0; index < measure.Points.Count; index++)
            {
                Known(measure.Points[index], $"{member}.points[{index}]");
            }

            for (int index = 0; index + 1 < measure.Points.Count; index += 2)
            {
                Demand(measure.Points[index] != measure.Points[index + 1], $"{member}.points[{index + 1}]", "a distance or a line needs two different landmarks.");
            }

            Demand((measure.Axis is not null) == (measure.Kind == RelationKind.Offset), member + ".axis", "an offset has an axis, and nothing else has.");
            if (measure.Axis is { } axis)
            {
                Known(axis.From, member + ".axis.from");
                Known(axis.To, member + ".axis.to");
                Demand(axis.From != axis.To, member + ".axis.to", "an axis needs two different landmarks.");
                Demand((axis.Toward is not null) == (axis.Direction == AxisDirection.Across), member + ".axis.toward", "an axis read across has a landmark on its positive side, one read along has none.");
                if (axis.Toward is { } toward)
                {
                    Known(toward, member + ".axis.toward");
                }
            }

            AcceptedRange accept = measure.Accept;
            Key(accept.Basis, member + ".accept.basis");
            Demand(accept.From is not null || accept.To is not null, member + ".accept", "a range has at least one end.");
            Demand(accept.From is not { } low || accept.To is not { } high || low < high, member + ".accept.from", "the range is written from low to high.");
            Demand((accept.From is not null) == (measure.Below is not null), member + ".below", "the miss below the range is named where the range has a lower end, and only there.");
            Demand((accept.To is not null) == (measure.Above is not null), member + ".above", "the miss above the range is named where the range has an upper end, and only there.");
            Demand(measure.Below is null || relation.Misses.Any(miss => miss.Id == measure.Below), member + ".below", $"'{measure.Below}' is not a miss of this relation.");
            Demand(measure.Above is null || relation.Misses.Any(miss => miss.Id == measure.Above), member + ".above", $"'{measure.Above}' is not a miss of this relation.");
            if (measure.Turn is { } turn)
            {
                Demand(measure.Kind is RelationKind.Offset or RelationKind.Difference, member + ".turn", "only an offset or a difference becomes an angle of turning.");
                Demand(turn.SeparationMm.Value > 0 && turn.SeparationMm.Uncertainty > 0, member + ".turn.separationMm", "separation and its spread are above 0.");
                Key(turn.SeparationMm.Basis, member + ".turn.separationMm.basis");
            }
        }

        void Misses(IReadOnlyList<Miss> misses, string member)
        {
            Demand(misses.Count > 0, member + ".misses", "at least one way of missing it is needed.");
            for (int index = 0; index < misses.Count; index++)
            {
                Miss miss = misses[index];
                string place = $"{member}.misses[{index}]";
                Demand(KebabCase().IsMatch(miss.Id), place + ".id", $"'{miss.Id}' is not lower-case words joined by hyphens.");
                Demand(misses.Count(other => other.Id == miss.Id) == 1, place + ".id", $"'{miss.Id}' stands twice.");
                Demand(miss.Direction is null || miss.Correction.Contains(miss.Direction, StringComparison.OrdinalIgnoreCase), place + ".direction", $"'{miss.Direction}' does not stand in the correction.");
                Demand(miss.Opposite is null || misses.Any(other => other.Id == miss.Opposite && other.Opposite == miss.Id), place + ".opposite", $"'{miss.Opposite}' is not a miss of this line that names '{miss.Id}' as its opposite.");
                Demand(miss.Opposite is null || miss.Direction is not null, place + ".direction", "a miss with an opposite has a direction.");
                Demand(miss.Mirror is null || misses.Any(other => other.Id == miss.Mirror && other.Mirror == miss.Id), place + ".mirror", $"'{miss.Mirror}' is not a miss of this line that names '{miss.Id}' as its mirror.");
            }
        }
    }

    [GeneratedRegex("^[a-z0-9]+(-[a-z0-9]+)*$")]
    private static partial Regex KebabCase();
}
