using System.Collections.Frozen;
using System.Globalization;

namespace Hotlight.Imaging.Dicom;

/// <summary>The attributes of DICOM PS3.6, retired ones too: value representation and keyword by tag.</summary>
/// <remarks>Source: [dicom-ps3-6], as <c>data/dicom/dictionary.tsv</c> has it.</remarks>
public static class DicomDictionary
{
    private static readonly Lazy<Content> Whole = new(Load);

    /// <summary>Value representation of an attribute, two letters; null where the standard does not know it. Where it depends on other attributes the first of those allowed is given.</summary>
    /// <param name="tag">Its tag.</param>
    public static string? VrOf(DicomTag tag) => Find(tag)?.Vr;

    /// <summary>Keyword of an attribute, such as "PatientName"; null where the standard does not know it.</summary>
    /// <param name="tag">Its tag.</param>
    public static string? KeywordOf(DicomTag tag) => Find(tag)?.Keyword;

    /// <summary>Tag of a keyword or of eight hexadecimal digits; null where it is neither.</summary>
    /// <param name="name">Keyword as the standard spells it, or digits such as "00100020".</param>
    public static DicomTag? TagOf(string name)
    {
        ArgumentNullException.ThrowIfNull(name);
        if (Whole.Value.ByKeyword.TryGetValue(name, out DicomTag tag))
        {
            return tag;
        }

        return name.Length == 8 && uint.TryParse(name, NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out uint number) ? number : null;
    }

    private static Entry? Find(DicomTag tag)
    {
        // Curves and overlays repeat from 5000 to 501E and from 6000 to 601E (PS3.5 7.6).
        uint number = tag.Group is (>= 0x5000 and <= 0x501E) or (>= 0x6000 and <= 0x601E) && (tag.Group & 1) == 0 ? (uint)(((tag.Group & 0xFF00) << 16) | tag.Element) : tag.Number;
        return Whole.Value.ByTag.GetValueOrDefault(number);
    }

    private static Content Load()
    {
        Dictionary<uint, Entry> byTag = [];
        Dictionary<string, DicomTag> byKeyword = new(StringComparer.Ordinal);
        using Stream stream = typeof(DicomDictionary).Assembly.GetManifestResourceStream("dicom/dictionary.tsv")!;
        using StreamReader reader = new(stream);
        while (reader.ReadLine() is { } line)
        {
            if (line.StartsWith('#'))
            {
                continue;
            }

            string[] parts = line.Split('\t');
            uint number = uint.Parse(parts[0].Replace("XX", "00", StringComparison.Ordinal), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture);
            byTag[number] = new Entry(string.Intern(parts[1]), parts[2]);
            byKeyword.TryAdd(parts[2], number);
        }

        return new Content(byTag.ToFrozenDictionary(), byKeyword.ToFrozenDictionary(StringComparer.Ordinal));
    }

    private sealed record Entry(string Vr, string Keyword);

    private sealed record Content(FrozenDictionary<uint, Entry> ByTag, FrozenDictionary<string, DicomTag> ByKeyword);
}
