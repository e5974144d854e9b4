using Hotlight.Core;

namespace Hotlight.Imaging;

/// <summary>One exposure as it was read from a file: its pixels, how it asks to be shown, and what the file says of how it was made. Immutable.</summary>
/// <remarks>Null members are not known from the file; nothing here is guessed.</remarks>
public sealed record Radiograph
{
    /// <summary>Name of the file without its folder.</summary>
    public required string FileName { get; init; }

    /// <summary>The kind of file.</summary>
    public required ImageSource Source { get; init; }

    /// <summary>Pixels, rows × columns: stored value minus <see cref="StoredMinimum"/>, so 0 to 2^<see cref="BitsStored"/> − 1.</summary>
    public required ReadOnlyRaster<ushort> Pixels { get; init; }

    /// <summary>The stored value that <see cref="Pixels"/> holds as 0: 0 for unsigned pixels, −2^(bits stored − 1) for signed ones.</summary>
    public int StoredMinimum { get; init; }

    /// <summary>Bits that carry the pixel, 1 to 16.</summary>
    public required int BitsStored { get; init; }

    /// <summary>Spacing of pixels at the image receptor, in mm; null where the file does not say.</summary>
    public PixelSpacing? ReceptorSpacing { get; init; }

    /// <summary>Where <see cref="ReceptorSpacing"/> was read, as a phrase for the reader, such as "Imager Pixel Spacing (0018,1164)"; null when unknown.</summary>
    public string? SpacingBasis { get; init; }

    /// <summary>How photometric interpretation and Presentation LUT Shape ask the values to be shown: true when the highest value after windowing is shown black.</summary>
    public bool HighIsShownDark { get; init; }

    /// <summary>Presentation intent (0008,0068).</summary>
    public PresentationIntent PresentationIntent { get; init; } = PresentationIntent.Unknown;

    /// <summary>Relation of the pixel to x-ray intensity (0028,1040).</summary>
    public PixelRelationship Relationship { get; init; } = PixelRelationship.Unknown;

    /// <summary>+1 when a higher pixel value means more x-ray intensity, −1 when less (0028,1041); null where the file does not say.</summary>
    public int? RelationshipSign { get; init; }

    /// <summary>Stored value to modality value, by slope and intercept or by table.</summary>
    public ModalityTransform Modality { get; init; } = ModalityTransform.Identity;

    /// <summary>Windows and tables the file proposes for showing, in its order; empty where it proposes none.</summary>
    public IReadOnlyList<VoiTransform> Windows { get; init; } = [];

    /// <summary>Stored values from and to (inclusive) that are padding, not image (0028,0120 and 0028,0121); null where the file has none.</summary>
    public PixelPadding? Padding { get; init; }

    /// <summary>Overlay planes, kept apart from the pixels.</summary>
    public IReadOnlyList<OverlayPlane> Overlays { get; init; } = [];

    /// <summary>The region a display shutter leaves visible, as a polygon; null where the file has no shutter.</summary>
    public IReadOnlyList<PixelPoint>? Shutter { get; init; }

    /// <summary>The collimator's opening as the header gives it, as a polygon; null where it does not.</summary>
    public IReadOnlyList<PixelPoint>? HeaderCollimator { get; init; }

    /// <summary>Whether the pixels were ever compressed with loss; null where the file does not say.</summary>
    public bool? LossyCompressed { get; init; }

    /// <summary>Name of the encoding, such as "JPEG-LS lossless"; for the reader.</summary>
    public required string Encoding { get; init; }

    /// <summary>What the header says of how the exposure was made.</summary>
    public ExposureRecord Exposure { get; init; } = new();

    /// <summary>What was odd in the file but did not stop the reading, one sentence each.</summary>
    public IReadOnlyList<string> Remarks { get; init; } = [];

    /// <summary>Number of rows.</summary>
    public int Rows => Pixels.Rows;

    /// <summary>Number of columns.</summary>
    public int Columns => Pixels.Columns;

    /// <summary>The largest value <see cref="Pixels"/> can hold, 2^<see cref="BitsStored"/> − 1.</summary>
    public int PixelMaximum => (1 << BitsStored) - 1;
}
