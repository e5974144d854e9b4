using Hotlight.Core;

namespace Hotlight.Imaging;

/// <summary>The kind of file a radiograph came from.</summary>
public enum ImageSource
{
    /// <summary>DICOM, PS3.10.</summary>
    Dicom,

    /// <summary>Portable network graphics, grey.</summary>
    Png,

    /// <summary>TIFF, grey.</summary>
    Tiff,

    /// <summary>JPEG, grey or grey stored as colour.</summary>
    Jpeg,
}

/// <summary>Presentation intent (0008,0068).</summary>
public enum PresentationIntent
{
    /// <summary>The file does not say.</summary>
    Unknown,

    /// <summary>FOR PROCESSING: close to what the receptor measured.</summary>
    ForProcessing,

    /// <summary>FOR PRESENTATION: rendered for a reader.</summary>
    ForPresentation,
}

/// <summary>Pixel intensity relationship (0028,1040), or one given by a calibration.</summary>
public enum PixelRelationship
{
    /// <summary>The file does not say, or says DISP: the pixels follow a display curve.</summary>
    Unknown,

    /// <summary>LIN: proportional to x-ray intensity.</summary>
    Linear,

    /// <summary>LOG: logarithmic in x-ray intensity.</summary>
    Logarithmic,

    /// <summary>Square root of x-ray intensity (SQRT is not a term of (0028,1040); a calibration may give it).</summary>
    SquareRoot,
}

/// <summary>Stored values that are padding, from and to, both inclusive (0028,0120 and 0028,0121).</summary>
/// <param name="FromStoredValue">Lower end.</param>
/// <param name="ToStoredValue">Upper end.</param>
public readonly record struct PixelPadding(int FromStoredValue, int ToStoredValue)
{
    /// <summary>Whether a stored value is padding.</summary>
    /// <param name="storedValue">The stored value.</param>
    public bool Contains(int storedValue) => storedValue >= FromStoredValue && storedValue <= ToStoredValue;
}

/// <summary>Stored value to modality value: PS3.3 C.11.1, either slope and intercept or a lookup table.</summary>
public sealed record ModalityTransform
{
    /// <summary>The transform that changes nothing.</summary>
    public static ModalityTransform Identity { get; } = new();

    /// <summary>Rescale slope (0028,1053).</summary>
    public double Slope { get; init; } = 1;

    /// <summary>Rescale intercept (0028,1052).</summary>
    public double Intercept { get; init; }

    /// <summary>Lookup table (0028,3000), or null for slope and intercept.</summary>
    public LookupTable? Table { get; init; }

    /// <summary>The modality value of a stored value.</summary>
    /// <param name="storedValue">The stored value.</param>
    public double Apply(int storedValue) => Table is null ? (Slope * storedValue) + Intercept : Table[storedValue];
}

/// <summary>A DICOM lookup table, PS3.3 C.11.1.1: values below the first mapped one take the first entry, above the last one the last entry.</summary>
/// <param name="FirstMapped">Input value of the first entry.</param>
/// <param name="BitsPerEntry">Bits of an entry, 1 to 16.</param>
/// <param name="Entries">The entries; owned.</param>
public sealed record LookupTable(int FirstMapped, int BitsPerEntry, ushort[] Entries)
{
    /// <summary>The entry for an input value, clamped to the table's ends.</summary>
    /// <param name="value">Input value.</param>
    public ushort this[int value] => Entries[Math.Clamp(value - FirstMapped, 0, Entries.Length - 1)];
}

/// <summary>The window's function, VOI LUT Function (0028,1056).</summary>
public enum WindowFunction
{
    /// <summary>PS3.3 C.11.2.1.2.1.</summary>
    Linear,

    /// <summary>PS3.3 C.11.2.1.3.2.</summary>
    LinearExact,

    /// <summary>PS3.3 C.11.2.1.3.1.</summary>
    Sigmoid,
}

/// <summary>Where a window comes from.</summary>
public enum WindowBasis
{
    /// <summary>The file proposes it.</summary>
    File,

    /// <summary>It was made from the image's own pixel values, because the file proposes none that can be used.</summary>
    Image,

    /// <summary>A reader chose it.</summary>
    Reader,
}

/// <summary>One way the file proposes to show its modality values: a window, or a table (PS3.3 C.11.2).</summary>
public sealed record VoiTransform
{
    /// <summary>Window center (0028,1050), in modality values.</summary>
    public double Center { get; init; }

    /// <summary>Window width (0028,1051), in modality values.</summary>
    public double Width { get; init; }

    /// <summary>The window's function.</summary>
    public WindowFunction Function { get; init; }

    /// <summary>VOI lookup table (0028,3010); null for a window.</summary>
    public LookupTable? Table { get; init; }

    /// <summary>Where it comes from.</summary>
    public WindowBasis Basis { get; init; } = WindowBasis.File;

    /// <summary>The file's own explanation, or null.</summary>
    public string? Explanation { get; init; }
}

/// <summary>An overlay plane (60xx,3000), PS3.3 C.9.2: drawn over the image, never part of its pixels.</summary>
/// <param name="Group">Group number, 0x6000 to 0x601E.</param>
/// <param name="OriginRow">Row of the image under the overlay's first row, 0 at the top; may be negative.</param>
/// <param name="OriginColumn">Column of the image under the overlay's first column, 0 at the left; may be negative.</param>
/// <param name="Bits">1 where drawn, 0 elsewhere, overlay rows × columns.</param>
public sealed record OverlayPlane(int Group, int OriginRow, int OriginColumn, ReadOnlyRaster<byte> Bits);
