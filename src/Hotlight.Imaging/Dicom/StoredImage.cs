using Hotlight.Core;

namespace Hotlight.Imaging.Dicom;

/// <summary>Decoded pixels of a DICOM file, before any rule about which objects Hotlight judges.</summary>
/// <param name="Pixels">Stored value minus <paramref name="StoredMinimum"/>, rows × columns.</param>
/// <param name="StoredMinimum">The stored value held as 0.</param>
/// <param name="BitsStored">Bits that carry the pixel.</param>
/// <param name="EmbeddedOverlays">Overlays that old files keep in unused high bits of the pixel words, by group.</param>
/// <param name="Encoding">Name of the encoding.</param>
/// <param name="IsLossy">Whether the decoder saw a lossy coding; null where the coding cannot tell.</param>
/// <param name="Remarks">What was odd.</param>
internal sealed record StoredImage(
    Raster<ushort> Pixels,
    int StoredMinimum,
    int BitsStored,
    IReadOnlyDictionary<int, Raster<byte>> EmbeddedOverlays,
    string Encoding,
    bool? IsLossy,
    IReadOnlyList<string> Remarks);
