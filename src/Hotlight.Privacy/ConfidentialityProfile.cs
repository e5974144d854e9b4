using System.Collections.Frozen;
using System.Globalization;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Privacy;

/// <summary>Which of the profile's options are chosen, PS3.15 E.3.</summary>
[Flags]
public enum Retained
{
    /// <summary>The basic profile alone.</summary>
    Nothing = 0,

    /// <summary>UIDs stay (113110).</summary>
    Uids = 1,

    /// <summary>Dates and times stay (113106).</summary>
    FullDates = 2,

    /// <summary>Dates move by a number of days of the patient's own; times of day stay (113107).</summary>
    ModifiedDates = 4,

    /// <summary>Age, sex, size, weight and the like stay (113108).</summary>
    PatientCharacteristics = 8,

    /// <summary>What tells the device from others stays (113109).</summary>
    DeviceIdentity = 16,

    /// <summary>The institution stays (113112).</summary>
    InstitutionIdentity = 32,

    /// <summary>Descriptions keep the words of a list of technical terms (113105).</summary>
    CleanedDescriptors = 64,

    /// <summary>Private attributes that the standard's own list calls safe stay (113111); binary ones go all the same.</summary>
    SafePrivate = 128,

    /// <summary>The content of structured reports, acquisition contexts and annotations of signals stays, item by item as the standard's list says (113104).</summary>
    CleanedContent = 256,

    /// <summary>Drawn annotations of presentation states stay, their texts cleaned (113103); overlays and curves go all the same.</summary>
    CleanedGraphics = 512,

    /// <summary>What teaching needs: dates in their order, the age, technical words.</summary>
    ForTeaching = ModifiedDates | PatientCharacteristics | CleanedDescriptors,
}

/// <summary>What is done with an attribute.</summary>
public enum PrivacyAction
{
    /// <summary>It stays.</summary>
    Keep,

    /// <summary>It goes.</summary>
    Remove,

    /// <summary>It stays without a value.</summary>
    Empty,

    /// <summary>Its value is replaced by a pseudonym or by a value that says nothing.</summary>
    Replace,

    /// <summary>Its UID is replaced by another, the same in every file.</summary>
    ReplaceUid,

    /// <summary>Its date moves by the patient's number of days.</summary>
    ShiftDate,

    /// <summary>Its words are kept where they are technical terms.</summary>
    CleanWords,

    /// <summary>The items of a sequence are treated, each attribute by its own row.</summary>
    Open,

    /// <summary>The content items of a sequence are treated, each by its concept.</summary>
    CleanContent,

    /// <summary>Text in the pixels is blacked out.</summary>
    BlackOut,
}

/// <summary>The tables of the profile: attributes and actions (PS3.15 Table E.1-1), safe private attributes (E.3.10-1), concepts of content items (E.3.4-1).</summary>
/// <remarks>Source: [dicom-ps3-15], as <c>data/privacy/profile.tsv</c>, <c>safe-private.tsv</c> and <c>content.tsv</c> have it.</remarks>
internal static class ConfidentialityProfile
{
    /// <summary>Edition of the standard that the table of attributes is of.</summary>
    public const string Edition = "2026c";

    private static readonly Lazy<FrozenDictionary<uint, Row>> Rows = new(Load);
    private static readonly Lazy<FrozenDictionary<string, string>> Private = new(LoadPrivate);
    private static readonly Lazy<FrozenDictionary<string, Row>> Concepts = new(LoadConcepts);

    // Attributes of the table that the objects of projection radiography must have, empty or not (PS3.3 A.2, A.14, A.26: type 2).
    private static readonly FrozenSet<uint> MayBeEmpty = new uint[] { 0x00400555, 0x00080090 }.ToFrozenSet();

    /// <summary>How many attributes the table names.</summary>
    public static int Count => Rows.Value.Count;

    /// <summary>How many private attributes the list of safe ones names.</summary>
    public static int SafePrivateCount => Private.Value.Count;

    /// <summary>How many concepts of content items the table names, by value type; codes of older files count anew.</summary>
    public static int ConceptCount => Concepts.Value.Count;

    /// <summary>Value representation of a private attribute that the standard calls safe; null where it is not in its list. Where the list names none, or two, it is "UN".</summary>
    /// <param name="creator">Private creator of its block.</param>
    /// <param name="tag">Its tag; the block's number in it does not count.</param>
    public static string? SafePrivateVr(string creator, DicomTag tag)
        => Private.Value.GetValueOrDefault(string.Create(CultureInfo.InvariantCulture, $"{creator}\t{tag.Group:X4}\t{tag.Element & 0xFF:X2}"));

    /// <summary>What the table of concepts says of a content item; null where it is not in the table.</summary>
    /// <param name="scheme">Coding scheme designator of its concept name.</param>
    /// <param name="code">Code value of its concept name.</param>
    /// <param name="valueType">Its value type, such as TEXT.</param>
    /// <param name="retained">The options.</param>
    /// <returns>Keep, CleanWords, ShiftDate, Remove or Replace.</returns>
    public static PrivacyAction? FindConcept(string scheme, string code, string valueType, Retained retained)
    {
        if (!Concepts.Value.TryGetValue($"{scheme}\t{code}\t{valueType}", out Row? row))
        {
            return null;
        }

        bool keeps = (row.Uids == 'K' && retained.HasFlag(Retained.Uids)) || (row.Dates != ' ' && retained.HasFlag(Retained.FullDates))
            || (row.Patient == 'K' && retained.HasFlag(Retained.PatientCharacteristics)) || (row.Device == 'K' && retained.HasFlag(Retained.DeviceIdentity))
            || (row.Institution == 'K' && retained.HasFlag(Retained.InstitutionIdentity));
        return keeps ? PrivacyAction.Keep
            : row.Dates != ' ' && retained.HasFlag(Retained.ModifiedDates) ? PrivacyAction.ShiftDate
            : row.Descriptors == 'C' && retained.HasFlag(Retained.CleanedDescriptors) ? PrivacyAction.CleanWords
            : row.Basic == "D" ? PrivacyAction.Replace
            : PrivacyAction.Remove;
    }

    /// <summary>What the table says of an attribute; null where it is not in the table.</summary>
    public static PrivacyAction? Find(DicomTag tag, string vr, Retained retained)
    {
        if (!Rows.Value.TryGetValue(tag.Number, out Row? row))
        {
            return null;
        }

        bool isSequence = vr == "SQ";
        if (retained.HasFlag(Retained.Uids) && row.Uids == 'K')
        {
            return isSequence ? PrivacyAction.Open : PrivacyAction.Keep;
        }

        if (row.Dates != ' ' && retained.HasFlag(Retained.FullDates))
        {
            return PrivacyAction.Keep;
        }

        if (row.Dates == 'C' && retained.HasFlag(Retained.ModifiedDates) && vr is "DA" or "DT" or "TM")
        {
            return vr == "TM" ? PrivacyAction.Keep : PrivacyAction.ShiftDate;
        }

        if (retained.HasFlag(Retained.PatientCharacteristics) && row.Patient != ' ')
        {
            return row.Patient == 'K' ? PrivacyAction.Keep : PrivacyAction.CleanWords;
        }

        if (isSequence && retained.HasFlag(Retained.CleanedContent) && row.Structured == 'C')
        {
            return PrivacyAction.CleanContent;
        }

        if (isSequence && retained.HasFlag(Retained.CleanedGraphics) && row.Graphics == 'C')
        {
            return PrivacyAction.Open;
        }

        if (retained.HasFlag(Retained.DeviceIdentity) && row.Device == 'C' && vr == "AE")
        {
            // Cleaned: a name that stands for it, the same in every file.
            return PrivacyAction.Replace;
        }

        if ((retained.HasFlag(Retained.DeviceIdentity) && row.Device == 'K') || (retained.HasFlag(Retained.InstitutionIdentity) && row.Institution == 'K'))
        {
            return isSequence ? PrivacyAction.Open : PrivacyAction.Keep;
        }

        if (retained.HasFlag(Retained.CleanedDescriptors) && row.Descriptors == 'C')
        {
            return isSequence ? PrivacyAction.Open : PrivacyAction.CleanWords;
        }

        return row.Basic switch
        {
            "X" => PrivacyAction.Remove,
            "Z" or "Z/D" => PrivacyAction.Empty,
            "U" => PrivacyAction.ReplaceUid,
            "X/Z/U*" => PrivacyAction.Open,
            "D" => isSequence ? PrivacyAction.Empty : PrivacyAction.Replace,
            _ => MayBeEmpty.Contains(tag.Number) ? PrivacyAction.Empty : PrivacyAction.Remove,
        };
    }

    private static FrozenDictionary<uint, Row> Load()
    {
        Dictionary<uint, Row> rows = [];
        foreach (string[] parts in Lines("privacy/profile.tsv"))
        {
            // Curves and overlays are removed by their groups.
            if (uint.TryParse(parts[0], NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out uint tag))
            {
                rows.Add(tag, new Row(parts[2])
                {
                    Uids = Cell(parts, 3),
                    Dates = Cell(parts, 4),
                    Patient = Cell(parts, 5),
                    Device = Cell(parts, 6),
                    Institution = Cell(parts, 7),
                    Descriptors = Cell(parts, 8),
                    Graphics = Cell(parts, 9),
                    Structured = Cell(parts, 10),
                });
            }
        }

        return rows.ToFrozenDictionary();
    }

    private static FrozenDictionary<string, string> LoadPrivate()
        => Lines("privacy/safe-private.tsv").ToFrozenDictionary(
            parts => string.Join('\t', parts[..3]), parts => parts.Length > 3 && parts[3].Length == 2 ? parts[3] : "UN", StringComparer.Ordinal);

    private static FrozenDictionary<string, Row> LoadConcepts()
    {
        Dictionary<string, Row> rows = new(StringComparer.Ordinal);
        foreach (string[] parts in Lines("privacy/content.tsv"))
        {
            Row row = new(parts[3])
            {
                Uids = Cell(parts, 4),
                Dates = Cell(parts, 5),
                Patient = Cell(parts, 6),
                Device = Cell(parts, 7),
                Institution = Cell(parts, 8),
                Descriptors = Cell(parts, 9),
            };
            rows.Add($"{parts[0]}\t{parts[1]}\t{parts[2]}", row);
            if (parts.Length > 10)
            {
                // Older files name SNOMED by one of three designators (PS3.16 8).
                foreach (string older in new[] { "SRT", "SNM3", "99SDM" })
                {
                    rows.Add($"{older}\t{parts[10]}\t{parts[2]}", row);
                }
            }
        }

        return rows.ToFrozenDictionary(StringComparer.Ordinal);
    }

    private static IEnumerable<string[]> Lines(string name)
    {
        using Stream stream = typeof(ConfidentialityProfile).Assembly.GetManifestResourceStream(name)!;
        using StreamReader reader = new(stream);
        while (reader.ReadLine() is { } line)
        {
            if (!line.StartsWith('#'))
            {
                yield return line.Split('\t');
            }
        }
    }

    private static char Cell(string[] parts, int column) => column < parts.Length && parts[column].Length > 0 ? parts[column][0] : ' ';

    private sealed record Row(string Basic)
    {
        public char Uids { get; init; } = ' ';

        public char Dates { get; init; } = ' ';

        public char Patient { get; init; } = ' ';

        public char Device { get; init; } = ' ';

        public char Institution { get; init; } = ' ';

        public char Descriptors { get; init; } = ' ';

        public char Graphics { get; init; } = ' ';

        public char Structured { get; init; } = ' ';
    }
}
