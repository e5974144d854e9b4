using System.Collections.Frozen;
using System.Globalization;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Privacy;

/// <summary>What of the profile's options is retained, PS3.15 E.3.</summary>
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
}

/// <summary>The table of attributes and actions, PS3.15 Table E.1-1.</summary>
/// <remarks>Source: [dicom-ps3-15], as <c>data/privacy/profile.tsv</c> has it.</remarks>
internal static class ConfidentialityProfile
{
    private static readonly Lazy<FrozenDictionary<uint, Row>> Rows = new(Load);

    // Attributes of the table that the objects of projection radiography must have, empty or not (PS3.3 A.2, A.14, A.26: type 2).
    private static readonly FrozenSet<uint> MayBeEmpty = new uint[] { 0x00400555, 0x00080090 }.ToFrozenSet();

    /// <summary>How many attributes the table names.</summary>
    public static int Count => Rows.Value.Count;

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
        using Stream stream = typeof(ConfidentialityProfile).Assembly.GetManifestResourceStream("privacy/profile.tsv")!;
        using StreamReader reader = new(stream);
        while (reader.ReadLine() is { } line)
        {
            // Curves and overlays are removed by their groups.
            string[] parts = line.Split('\t');
            if (line.StartsWith('#') || !uint.TryParse(parts[0], NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out uint tag))
            {
                continue;
            }

            char Cell(int column) => column < parts.Length && parts[column].Length > 0 ? parts[column][0] : ' ';
            rows.Add(tag, new Row(parts[2], Uids: Cell(3), Dates: Cell(4), Patient: Cell(5), Device: Cell(6), Institution: Cell(7), Descriptors: Cell(8)));
        }

        return rows.ToFrozenDictionary();
    }

    private sealed record Row(string Basic, char Uids, char Dates, char Patient, char Device, char Institution, char Descriptors);
}
