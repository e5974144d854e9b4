using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Judgement;

/// <content>The ways of missing the lines that every projection has.</content>
internal sealed partial class ChecklistBuilder
{
    private static IReadOnlyList<Miss> SkinMisses =>
    [
        Way("soft-tissue-cut", Texts.Get("miss.skin.soft-tissue-cut.looks"), Texts.Get("miss.skin.soft-tissue-cut.means"), Texts.Get("miss.skin.soft-tissue-cut.correction"), Weight.Remark),
    ];

    private static IReadOnlyList<Miss> MottleMisses =>
    [
        Way("seen", Texts.Get("miss.mottle.seen.looks"), Texts.Get("miss.mottle.seen.means"), Texts.Get("miss.mottle.seen.correction"), Weight.Remark),
        Way("hides-detail", Texts.Get("miss.mottle.hides-detail.looks"), Texts.Get("miss.mottle.hides-detail.means"), Texts.Get("miss.mottle.hides-detail.correction"), Weight.Repeat),
    ];

    private static IReadOnlyList<Miss> SaturationMisses =>
    [
        Way("edge-only", Texts.Get("miss.saturation.edge-only.looks"), Texts.Get("miss.saturation.edge-only.means"), Texts.Get("miss.saturation.edge-only.correction"), Weight.Remark),
        Way("needed-part", Texts.Get("miss.saturation.needed-part.looks"), Texts.Get("miss.saturation.needed-part.means"), Texts.Get("miss.saturation.needed-part.correction"), Weight.Repeat),
    ];

    private static IReadOnlyList<Miss> SkinEdgeMisses =>
    [
        Way("window", Texts.Get("miss.skin-edge.window.looks"), Texts.Get("miss.skin-edge.window.means"), Texts.Get("miss.skin-edge.window.correction"), Weight.Note),
        Way("lost", Texts.Get("miss.skin-edge.lost.looks"), Texts.Get("miss.skin-edge.lost.means"), Texts.Get("miss.skin-edge.lost.correction"), Weight.Remark),
    ];

    private static IReadOnlyList<Miss> TissueMisses =>
    [
        Way("window", Texts.Get("miss.tissue.window.looks"), Texts.Get("miss.tissue.window.means"), Texts.Get("miss.tissue.window.correction"), Weight.Note),
        Way("not-penetrated", Texts.Get("miss.tissue.not-penetrated.looks"), Texts.Get("miss.tissue.not-penetrated.means"), Texts.Get("miss.tissue.not-penetrated.correction"), Weight.Consult, "raise", "flat"),
        Way("flat", Texts.Get("miss.tissue.flat.looks"), Texts.Get("miss.tissue.flat.means"), Texts.Get("miss.tissue.flat.correction"), Weight.Remark, "lower", "not-penetrated"),
    ];

    private static IReadOnlyList<Miss> SharpnessMisses =>
    [
        Way("moved", Texts.Get("miss.sharpness.moved.looks"), Texts.Get("miss.sharpness.moved.means"), Texts.Get("miss.sharpness.moved.correction"), Weight.Repeat),
        Way("soft", Texts.Get("miss.sharpness.soft.looks"), Texts.Get("miss.sharpness.soft.means"), Texts.Get("miss.sharpness.soft.correction"), Weight.Remark),
    ];

    private static IReadOnlyList<Miss> ArtifactMisses =>
    [
        Way("object-over-anatomy", Texts.Get("miss.artifact.object-over-anatomy.looks"), Texts.Get("miss.artifact.object-over-anatomy.means"), Texts.Get("miss.artifact.object-over-anatomy.correction"), Weight.Repeat),
        Way("object-beside", Texts.Get("miss.artifact.object-beside.looks"), Texts.Get("miss.artifact.object-beside.means"), Texts.Get("miss.artifact.object-beside.correction"), Weight.Remark),
        Way("receptor-over-anatomy", Texts.Get("miss.artifact.receptor-over-anatomy.looks"), Texts.Get("miss.artifact.receptor-over-anatomy.means"), Texts.Get("miss.artifact.receptor-over-anatomy.correction"), Weight.Consult),
        Way("receptor-beside", Texts.Get("miss.artifact.receptor-beside.looks"), Texts.Get("miss.artifact.receptor-beside.means"), Texts.Get("miss.artifact.receptor-beside.correction"), Weight.Remark),
    ];

    private static IReadOnlyList<Miss> EdgeMisses =>
    [
        Way("not-seen", Texts.Get("miss.edge.not-seen.looks"), Texts.Get("miss.edge.not-seen.means"), Texts.Get("miss.edge.not-seen.correction"), Weight.Remark),
    ];

    private static IReadOnlyList<Miss> SizeMisses =>
    [
        Way("too-wide", Texts.Get("miss.size.too-wide.looks"), Texts.Get("miss.size.too-wide.means"), Texts.Get("miss.size.too-wide.correction"), Weight.Remark),
    ];

    private static IReadOnlyList<Miss> MarkerMisses =>
    [
        Way("absent", Texts.Get("miss.marker.absent.looks"), Texts.Get("miss.marker.absent.means"), Texts.Get("miss.marker.absent.correction"), Weight.Remark),
        Way("drawn-or-outside", Texts.Get("miss.marker.drawn-or-outside.looks"), Texts.Get("miss.marker.drawn-or-outside.means"), Texts.Get("miss.marker.drawn-or-outside.correction"), Weight.Remark),
        Way("over-anatomy", Texts.Get("miss.marker.over-anatomy.looks"), Texts.Get("miss.marker.over-anatomy.means"), Texts.Get("miss.marker.over-anatomy.correction"), Weight.Consult),
        Way("mirrored", Texts.Get("miss.marker.mirrored.looks"), Texts.Get("miss.marker.mirrored.means"), Texts.Get("miss.marker.mirrored.correction"), Weight.Remark),
        Way("wrong-side", Texts.Get("miss.marker.wrong-side.looks"), Texts.Get("miss.marker.wrong-side.means"), Texts.Get("miss.marker.wrong-side.correction"), Weight.Consult),
    ];

    private static IReadOnlyList<Miss> ShieldingMisses =>
    [
        Way("over-anatomy", Texts.Get("miss.shielding.over-anatomy.looks"), Texts.Get("miss.shielding.over-anatomy.means"), Texts.Get("miss.shielding.over-anatomy.correction"), Weight.Consult),
        Way("not-as-policy", Texts.Get("miss.shielding.not-as-policy.looks"), Texts.Get("miss.shielding.not-as-policy.means"), Texts.Get("miss.shielding.not-as-policy.correction"), Weight.Remark),
    ];

    private static IReadOnlyList<Miss> ProcessingMisses =>
    [
        Way("wrong-processing", Texts.Get("miss.processing.wrong-processing.looks"), Texts.Get("miss.processing.wrong-processing.means"), Texts.Get("miss.processing.wrong-processing.correction"), Weight.Remark),
        Way("wrong-way-round", Texts.Get("miss.processing.wrong-way-round.looks"), Texts.Get("miss.processing.wrong-way-round.means"), Texts.Get("miss.processing.wrong-way-round.correction"), Weight.Consult),
        Way("cropped", Texts.Get("miss.processing.cropped.looks"), Texts.Get("miss.processing.cropped.means"), Texts.Get("miss.processing.cropped.correction"), Weight.Remark),
        Way("written-over", Texts.Get("miss.processing.written-over.looks"), Texts.Get("miss.processing.written-over.means"), Texts.Get("miss.processing.written-over.correction"), Weight.Remark),
    ];

    private static Miss OffCentre(string entryPoint)
        => Way("off-centre", Texts.Get("miss.centre.off-centre.looks"), Texts.Get("miss.centre.off-centre.means"), Texts.Get("miss.centre.off-centre.correction", entryPoint), Weight.Remark);

    private static Miss Way(string id, string looks, string means, string correction, Weight weight, string? direction = null, string? opposite = null)
        => new() { Id = id, Looks = looks, Means = means, Correction = correction, Weight = weight, Direction = direction, Opposite = opposite };
}
