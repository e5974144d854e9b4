namespace Hotlight.Catalogue.Tests;

/// <summary>Three published sets of image-quality criteria: each criterion has a counterpart in the catalogue. Criteria are in the project's own words; what was read and what is from memory stands in data/sources.json.</summary>
public sealed class CriteriaSetsTests
{
    /// <summary>Criterion; projection; line that asks for it ("tissue", "collimation", "breathing" or "marker" for those texts); a word of the line that carries the criterion.</summary>
    public static TheoryData<string, string, string, string> Criteria() => new()
    {
        // [eur-16260] chest PA, read as quoted in an audit form.
        { "eur-16260: full inspiration", "chest-pa", "inspiration", "ribs" },
        { "eur-16260: thorax symmetrical", "chest-pa", "no-rotation", "clavicles" },
        { "eur-16260: medial borders of the scapulae outside the lungs", "chest-pa", "scapulae-clear", "scapulae" },
        { "eur-16260: apices included", "chest-pa", "apices", "apices" },
        { "eur-16260: lateral costophrenic angle included, right", "chest-pa", "costophrenic-right", "costophrenic" },
        { "eur-16260: lateral costophrenic angle included, left", "chest-pa", "costophrenic-left", "costophrenic" },
        { "eur-16260: marks off the lungs", "chest-pa", "marker", "lung" },
        { "eur-16260: collimated", "chest-pa", "collimation", "skin" },

        // The same guideline, from memory.
        { "eur-16260: sharp vessel pattern", "chest-pa", "tissue", "vessels" },
        { "eur-16260: spine through the heart", "chest-pa", "tissue", "heart" },

        // [chest-criteria] public teaching pages on the PA chest.
        { "chest-criteria: clavicle ends equally far from the spine", "chest-pa", "no-rotation", "equally far" },
        { "chest-criteria: scapulae outside the lungs", "chest-pa", "scapulae-clear", "outside the lungs" },
        { "chest-criteria: nine to ten posterior ribs", "chest-pa", "inspiration", "9 to 10" },
        { "chest-criteria: exposed in inspiration", "chest-pa", "breathing", "breath" },

        // [lumbar-criteria] public teaching pages on the AP lumbar spine.
        { "lumbar-criteria: twelfth thoracic vertebra", "lumbar-spine-ap", "upper-end", "twelfth thoracic" },
        { "lumbar-criteria: first sacral segment, sacroiliac joints", "lumbar-spine-ap", "lower-end", "sacroiliac" },
        { "lumbar-criteria: spinous processes in the midline", "lumbar-spine-ap", "no-rotation", "spinous processes" },
        { "lumbar-criteria: psoas outlines", "lumbar-spine-ap", "tissue", "psoas" },

        // [projection-criteria] criteria that public pages agree on, read.
        { "projection-criteria: pelvis, legs turned in until the lesser trochanter hides", "pelvis-ap", "leg-turn", "lesser trochanter" },
        { "projection-criteria: hand, knuckle joints open", "hand-pa", "joints-open", "knuckle" },
        { "projection-criteria: hand, shafts equally curved", "hand-pa", "palm-flat", "curved alike" },
        { "projection-criteria: ankle mortise, space beside the lateral malleolus open", "ankle-mortise", "lateral-space", "lateral malleolus" },
        { "projection-criteria: lumbar lateral, open discs", "lumbar-spine-lateral", "discs-open", "disc spaces" },
    };

    [Theory]
    [MemberData(nameof(Criteria))]
    [Trait("evidence", "published")]
    public void Criterion_OfAPublishedSet_HasItsCounterpart(string criterion, string projectionId, string line, string word)
    {
        Assert.Contains(criterion[..criterion.IndexOf(':', StringComparison.Ordinal)], SourceRegister.BuiltIn.Sources.Keys);
        Projection projection = ProjectionCatalogue.BuiltIn.Get(projectionId);
        string text = line switch
        {
            "tissue" => projection.TissueQuestion.Text,
            "collimation" => projection.Collimation.Extent,
            "breathing" => projection.Breathing.Text,
            "marker" => projection.MarkerPlace.Text,
            _ => projection.RequiredAnatomy.FirstOrDefault(item => item.Id == line)?.Question ?? projection.Relations.Single(relation => relation.Id == line).Question,
        };
        Assert.Contains(word, text, StringComparison.OrdinalIgnoreCase);
    }
}
