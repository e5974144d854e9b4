using Hotlight.Catalogue;

namespace Hotlight.Judgement;

/// <content>The ways of missing the lines that every projection has.</content>
internal sealed partial class ChecklistBuilder
{
    private static readonly IReadOnlyList<Miss> SkinMisses =
    [
        Way("soft-tissue-cut", "soft tissue is cut, no needed bone", "Swelling or a foreign body under the skin there may lie outside the field.", "Open the field on that side until the skin and its margin are in it.", Weight.Remark),
    ];

    private static readonly IReadOnlyList<Miss> MottleMisses =
    [
        Way("seen", "mottle is seen but hides nothing needed", "The receptor got less than it could use.", "Raise the receptor's exposure toward the target at the next exposure.", Weight.Remark),
        Way("hides-detail", "mottle hides detail that is needed", "The receptor got too little for the question.", "Raise the receptor's exposure to the target; if the index is on target already, have processing and receptor checked first.", Weight.Repeat),
    ];

    private static readonly IReadOnlyList<Miss> SaturationMisses =
    [
        Way("edge-only", "only skin or tissue that is not needed is burned out", "Nothing that the question needs is lost.", "Lower the receptor's exposure to the target at the next exposure.", Weight.Remark),
        Way("needed-part", "a part that is needed is burned out", "No window brings that part back.", "Lower the receptor's exposure to the target.", Weight.Repeat),
    ];

    private static readonly IReadOnlyList<Miss> SkinEdgeMisses =
    [
        Way("window", "a wider window brings it back", "It is shown too dark, not lost.", "Show the image with a wider window or reprocess it; no new exposure.", Weight.Note),
        Way("lost", "no window brings it back", "The outer soft tissue is clipped.", "Lower the receptor's exposure to the target, and check the processing.", Weight.Remark),
    ];

    private static readonly IReadOnlyList<Miss> TissueMisses =
    [
        Way("window", "another window shows it", "The data are there; they are only shown badly.", "Change the window or reprocess the image; no new exposure.", Weight.Note),
        Way("not-penetrated", "dense parts stay without detail at any window", "The beam did not penetrate the part.", "Raise the tube voltage toward the top of the usual range, and keep the receptor's exposure on target.", Weight.Consult, "raise", "flat"),
        Way("flat", "contrast stays low at any window", "The tube voltage was high for the part, or scatter reached the receptor.", "Lower the tube voltage toward the bottom of the usual range, tighten the field, and check the grid.", Weight.Remark, "lower", "not-penetrated"),
    ];

    private static readonly IReadOnlyList<Miss> SharpnessMisses =
    [
        Way("moved", "edges are doubled or smeared in one direction", "The part moved during the exposure.", "Support and explain, hold still, and use a shorter time with the same mAs.", Weight.Repeat),
        Way("soft", "all edges are a little soft, detail is still seen", "The part was far from the receptor, the large focus was used, or processing smooths.", "Bring the part close to the receptor, and use the small focus where the load allows it.", Weight.Remark),
    ];

    private static readonly IReadOnlyList<Miss> ArtifactMisses =
    [
        Way("object-over-anatomy", "an object lies over needed anatomy", "What is behind it cannot be judged.", "Take it off or move it away, if that is safe, and look again before exposing.", Weight.Repeat),
        Way("object-beside", "an object is in the field, beside needed anatomy", "Nothing that the question needs is hidden.", "Take it off before the next exposure.", Weight.Remark),
        Way("receptor-over-anatomy", "lines, spots or steps of the receptor or grid lie over needed anatomy", "The fault will come again on the same equipment.", "Use another receptor or grid for any further exposure, and report the fault.", Weight.Consult),
        Way("receptor-beside", "lines, spots or steps of the receptor or grid lie beside needed anatomy", "The fault will come again on the same equipment.", "Report the fault before the next patient.", Weight.Remark),
    ];

    private static readonly IReadOnlyList<Miss> EdgeMisses =
    [
        Way("not-seen", "the beam ran beyond the image", "Dose outside the image is not seen by anybody.", "Close the collimator until its edges are seen on the image.", Weight.Remark),
    ];

    private static readonly IReadOnlyList<Miss> SizeMisses =
    [
        Way("too-wide", "the field is wider than the part needs", "Tissue was exposed for nothing, and more scatter reached the image; the dose of this exposure is spent.", "Close the collimator to the part and its margin.", Weight.Remark),
    ];

    private static readonly IReadOnlyList<Miss> MarkerMisses =
    [
        Way("absent", "no marker is seen", "The side rests on the header alone.", "Mark the side as the local policy allows, say that it was added afterwards, and place a marker before the next exposure.", Weight.Remark),
        Way("drawn-or-outside", "the marker was drawn afterwards, or lies outside the field", "It does not prove the side.", "Place the marker in the field before the next exposure.", Weight.Remark),
        Way("over-anatomy", "the marker lies over anatomy", "What is behind it cannot be judged.", "Move the marker to the edge of the field, off the anatomy.", Weight.Consult),
        Way("wrong-side", "the letter is not the side that was examined", "The wrong side may be treated.", "Stop: check the side against the request and the patient, and have it corrected before the image is sent.", Weight.Consult),
    ];

    private static readonly IReadOnlyList<Miss> ShieldingMisses =
    [
        Way("over-anatomy", "a shield hides needed anatomy", "What is behind it cannot be judged, and exposure control may have been misled.", "Leave the shield out, or place it outside the field.", Weight.Consult),
        Way("not-as-policy", "shielding was not as the local policy asks", "The policy was not followed; the image itself is not changed.", "Follow the local policy at the next exposure, and record what was done.", Weight.Remark),
    ];

    private static readonly IReadOnlyList<Miss> ProcessingMisses =
    [
        Way("wrong-processing", "it was processed for another projection", "Brightness and contrast are not those the readers are used to.", "Reprocess it for this projection; no new exposure.", Weight.Remark),
        Way("wrong-way-round", "it is mirrored or turned", "Right and left may be confused.", "Turn it back before it is sent, and check the marker.", Weight.Consult),
        Way("cropped", "exposed anatomy was cropped away", "Everything that was exposed belongs to the record.", "Take the crop back before the image is sent; no new exposure.", Weight.Remark),
        Way("written-over", "writing lies over anatomy", "What is behind it cannot be judged.", "Take the writing off before the image is sent; no new exposure.", Weight.Remark),
    ];

    private static Miss OffCentre(string entryPoint)
        => Way("off-centre", "the middle of the field lies elsewhere", "Joint spaces are seen at a slant, and the field must be wider than needed.", $"Centre on {entryPoint}.", Weight.Remark);

    private static Miss Way(string id, string looks, string means, string correction, Weight weight, string? direction = null, string? opposite = null)
        => new() { Id = id, Looks = looks, Means = means, Correction = correction, Weight = weight, Direction = direction, Opposite = opposite };
}
