namespace Hotlight.Privacy;

/// <summary>What was done with one attribute of a file.</summary>
/// <param name="Tag">Its tag as the standard prints it; of a picture the name of the part, such as "tEXt".</param>
/// <param name="Keyword">Its keyword; null where the standard does not know it.</param>
/// <param name="Action">What was done.</param>
/// <param name="Count">How often, over all nested items.</param>
public sealed record PrivacyChange(string Tag, string? Keyword, PrivacyAction Action, int Count);

/// <summary>What was changed in a file; it never holds a value.</summary>
/// <param name="Changes">The changes, by tag.</param>
/// <param name="Warnings">What a person must still look at, one sentence each.</param>
public sealed record PrivacyReport(IReadOnlyList<PrivacyChange> Changes, IReadOnlyList<string> Warnings)
{
    /// <summary>Edition of the standard whose table was followed; null where the file is no DICOM file or an older version wrote the report.</summary>
    public string? Edition { get; init; }

    /// <summary>Codes of the profile and of the options that were followed, PS3.16 CID 7050; null as before.</summary>
    public IReadOnlyList<string>? Options { get; init; }

    /// <summary>The search for the original's values in what is written; null where an older version wrote the report.</summary>
    public PrivacyCheck? Check { get; init; }

    /// <summary>What was found in the pixels and done about it; null: the pixels were not looked over.</summary>
    public PixelTextReport? Pixels { get; init; }
}

/// <summary>The outcome of the search for the original's values in the bytes of what is written: nothing was found, or there would be no file.</summary>
/// <param name="Values">How many values of the original were searched for, in all their spellings.</param>
/// <param name="AlsoKept">How many more were not, because an attribute that the profile keeps holds the same words.</param>
/// <param name="Bytes">How many bytes were searched.</param>
public sealed record PrivacyCheck(int Values, int AlsoKept, long Bytes);

/// <summary>Text in the pixels.</summary>
/// <param name="Places">Where it was found, each as column, row, width and height in pixels.</param>
/// <param name="IsBlackedOut">Whether the pixels there were replaced.</param>
/// <param name="ReadBy">Program that read the pixels beside the search for strokes; null where none is installed.</param>
public sealed record PixelTextReport(IReadOnlyList<PixelTextPlace> Places, bool IsBlackedOut, string? ReadBy);

/// <summary>One place of text in the pixels.</summary>
/// <param name="Left">First column.</param>
/// <param name="Top">First row.</param>
/// <param name="Width">Columns.</param>
/// <param name="Height">Rows.</param>
/// <param name="NamesThePatient">Whether what was read there is an identifying value of the header.</param>
public sealed record PixelTextPlace(int Left, int Top, int Width, int Height, bool NamesThePatient);

/// <summary>A file without its patient's identity.</summary>
/// <param name="Content">Its bytes.</param>
/// <param name="Identity">Which patient and examination it belongs to, under their pseudonyms.</param>
/// <param name="Report">What was changed.</param>
public sealed record DeidentifiedFile(byte[] Content, CaseIdentity Identity, PrivacyReport Report);
