using System.Text.RegularExpressions;

namespace Hotlight.Catalogue;

/// <summary>What a schema cannot say of a projection: keys that exist, identifiers that are unique, opposites that name each other.</summary>
internal static partial class ProjectionCheck
{
    /// <summary>Checks a projection.</summary>
    /// <param name="projection">The projection.</param>
    /// <param name="file">The file's name with its region's folder.</param>
    /// <param name="sources">The register of sources.</param>
    /// <exception cref="UnreadableCatalogueException">Something is wrong; the message names file and member.</exception>
    public static void Check(Projection projection, string file, SourceRegister sources)
    {
        void Demand(bool holds, string member, string reason)
        {
            if (!holds)
            {
                throw new UnreadableCatalogueException(file, member, reason);
            }
        }

        void Key(string key, string member)
            => Demand(sources.Sources.ContainsKey(key), member, $"the source '{key}' is not in the register of sources.");

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
