using System.Collections.Frozen;

namespace Hotlight.Records.Sources;

/// <summary>What the words and codes of sources mean for an entry: reasons of rejects, what became of an exposure. docs/bringing-in-exposures.md has the tables.</summary>
public static class ReasonWords
{
    // DICOM PS3.16 CID 7011 (scheme DCM) and CID 10034. Codes read; which of the entry's reasons each belongs to is this project's own choice.
    private static readonly FrozenDictionary<string, RejectReason> Codes = new Dictionary<string, RejectReason>(StringComparer.Ordinal)
    {
        ["111207"] = RejectReason.Artifact,
        ["111208"] = RejectReason.Artifact,
        ["111209"] = RejectReason.Positioning,
        ["111210"] = RejectReason.Motion,
        ["111211"] = RejectReason.Exposure,
        ["111212"] = RejectReason.Exposure,
        ["111213"] = RejectReason.Equipment,
        ["111214"] = RejectReason.Artifact,
        ["111215"] = RejectReason.Artifact,
        ["111216"] = RejectReason.Equipment,
        ["111217"] = RejectReason.Equipment,
        ["111218"] = RejectReason.Equipment,
        ["111219"] = RejectReason.Other,
        ["111220"] = RejectReason.Other,
        ["111221"] = RejectReason.Other,
        ["113026"] = RejectReason.Other,
        ["128553"] = RejectReason.Motion,
        ["128554"] = RejectReason.Other,
    }.ToFrozenDictionary(StringComparer.Ordinal);

    // Words of reject lists in English and German, as stems; the first that is found counts, so the special ones come first. Common practice, no source.
    private static readonly (string Stem, RejectReason Reason)[] Stems =
    [
        ("wrong patient", RejectReason.WrongPatientOrPart), ("wrong part", RejectReason.WrongPatientOrPart), ("wrong side", RejectReason.WrongPatientOrPart),
        ("wrong exam", RejectReason.WrongPatientOrPart), ("wrong body", RejectReason.WrongPatientOrPart), ("wrong view", RejectReason.WrongPatientOrPart),
        ("falscher patient", RejectReason.WrongPatientOrPart), ("falsches korperteil", RejectReason.WrongPatientOrPart), ("falsche seite", RejectReason.WrongPatientOrPart),
        ("patientenverwechs", RejectReason.WrongPatientOrPart), ("verwechslung", RejectReason.WrongPatientOrPart), ("seitenverwechs", RejectReason.WrongPatientOrPart),
        ("clip", RejectReason.ClippedAnatomy), ("cut off", RejectReason.ClippedAnatomy), ("cutoff", RejectReason.ClippedAnatomy), ("cropped", RejectReason.ClippedAnatomy),
        ("anatomy missing", RejectReason.ClippedAnatomy), ("missing anatomy", RejectReason.ClippedAnatomy), ("collimat", RejectReason.ClippedAnatomy),
        ("abgeschnitten", RejectReason.ClippedAnatomy), ("angeschnitten", RejectReason.ClippedAnatomy), ("einblend", RejectReason.ClippedAnatomy), ("eingeblendet", RejectReason.ClippedAnatomy),
        ("marker", RejectReason.Marker), ("seitenzeichen", RejectReason.Marker), ("seitenmark", RejectReason.Marker), ("beschriftung", RejectReason.Marker),
        ("motion", RejectReason.Motion), ("moved", RejectReason.Motion), ("movement", RejectReason.Motion), ("breath", RejectReason.Motion), ("blur", RejectReason.Motion),
        ("beweg", RejectReason.Motion), ("verwackel", RejectReason.Motion), ("unscharf", RejectReason.Motion), ("atmung", RejectReason.Motion), ("veratmet", RejectReason.Motion),
        ("position", RejectReason.Positioning), ("rotat", RejectReason.Positioning), ("centr", RejectReason.Positioning), ("center", RejectReason.Positioning), ("tilt", RejectReason.Positioning),
        ("lagerung", RejectReason.Positioning), ("einstell", RejectReason.Positioning), ("zentrier", RejectReason.Positioning), ("verdreht", RejectReason.Positioning), ("verkippt", RejectReason.Positioning),
        ("underexp", RejectReason.Exposure), ("overexp", RejectReason.Exposure), ("under exp", RejectReason.Exposure), ("over exp", RejectReason.Exposure), ("exposure", RejectReason.Exposure),
        ("too dark", RejectReason.Exposure), ("too light", RejectReason.Exposure), ("noise", RejectReason.Exposure), ("noisy", RejectReason.Exposure),
        ("unterbelicht", RejectReason.Exposure), ("uberbelicht", RejectReason.Exposure), ("fehlbelicht", RejectReason.Exposure), ("belichtung", RejectReason.Exposure), ("rausch", RejectReason.Exposure),
        ("artifact", RejectReason.Artifact), ("artefact", RejectReason.Artifact), ("artefakt", RejectReason.Artifact), ("foreign", RejectReason.Artifact), ("jewel", RejectReason.Artifact),
        ("fremdkorper", RejectReason.Artifact), ("schmuck", RejectReason.Artifact), ("grid", RejectReason.Artifact), ("raster", RejectReason.Artifact),
        ("equipment", RejectReason.Equipment), ("technical", RejectReason.Equipment), ("detector", RejectReason.Equipment), ("generator", RejectReason.Equipment), ("software", RejectReason.Equipment),
        ("system", RejectReason.Equipment), ("failure", RejectReason.Equipment), ("defect", RejectReason.Equipment),
        ("gerat", RejectReason.Equipment), ("technisch", RejectReason.Equipment), ("detektor", RejectReason.Equipment), ("defekt", RejectReason.Equipment), ("ausfall", RejectReason.Equipment),
        ("phantom", RejectReason.Test), ("test", RejectReason.Test), ("qc", RejectReason.Test), ("quality control", RejectReason.Test), ("konstanz", RejectReason.Test),
        ("other", RejectReason.Other), ("sonstig", RejectReason.Other), ("andere", RejectReason.Other), ("misc", RejectReason.Other),
    ];

    /// <summary>The reason that a code stands for: CID 7011 and CID 10034 of DICOM PS3.16.</summary>
    /// <param name="codeValue">Code Value (0008,0100).</param>
    /// <returns><see cref="RejectReason.Other"/> for a code that is not in the table.</returns>
    public static RejectReason OfCode(string codeValue)
    {
        ArgumentNullException.ThrowIfNull(codeValue);
        return Codes.GetValueOrDefault(codeValue, RejectReason.Other);
    }

    /// <summary>The reason that words stand for; null where none is recognised.</summary>
    /// <param name="words">The words, in English or German, or the name of a reason here.</param>
    public static RejectReason? OfWords(string words)
    {
        ArgumentNullException.ThrowIfNull(words);
        string plain = PlainWords.Of(words);
        foreach (RejectReason reason in Enum.GetValues<RejectReason>())
        {
            if (PlainWords.Of(NameOf(reason)) == plain || PlainWords.Of(reason.ToString()) == plain.Replace(" ", string.Empty, StringComparison.Ordinal))
            {
                return reason;
            }
        }

        foreach ((string stem, RejectReason reason) in Stems)
        {
            int at = plain.IndexOf(stem, StringComparison.Ordinal);
            if (at == 0 || (at > 0 && plain[at - 1] == ' '))
            {
                return reason;
            }
        }

        return null;
    }

    /// <summary>What became of an exposure by words such as "accepted", "rejected", "verworfen"; null where they are not recognised.</summary>
    /// <param name="words">The words.</param>
    public static ExposureUse? UseOfWords(string words)
    {
        ArgumentNullException.ThrowIfNull(words);
        return PlainWords.Of(words) switch
        {
            "kept" or "keep" or "accepted" or "accept" or "ok" or "good" or "used" or "no" or "n" or "0" or "false" or "nein" or "behalten" or "akzeptiert" or "angenommen" or "gut" or "verwendet" => ExposureUse.Kept,
            "rejected" or "reject" or "repeat" or "repeated" or "deleted" or "discarded" or "yes" or "y" or "1" or "true" or "ja" or "j" or "x" or "verworfen" or "abgelehnt" or "ausschuss" or "fehlaufnahme" or "geloscht" => ExposureUse.Rejected,
            "test" or "qc" or "qa" or "phantom" or "quality control" or "konstanzprufung" or "service" => ExposureUse.Test,
            _ => null,
        };
    }

    /// <summary>Whether words say yes (true) or no (false); null where they are not recognised.</summary>
    /// <param name="words">The words.</param>
    public static bool? TruthOfWords(string words)
    {
        ArgumentNullException.ThrowIfNull(words);
        return PlainWords.Of(words) switch
        {
            "yes" or "y" or "1" or "true" or "ja" or "j" or "x" or "repeat" or "repeated" or "wiederholung" or "wiederholt" => true,
            "no" or "n" or "0" or "false" or "nein" or "first" or "erstaufnahme" => false,
            _ => null,
        };
    }

    /// <summary>The shift that words name; null where they are not recognised.</summary>
    /// <param name="words">The words.</param>
    public static Shift? ShiftOfWords(string words)
    {
        ArgumentNullException.ThrowIfNull(words);
        string plain = PlainWords.Of(words);
        return plain switch
        {
            "early" or "day" or "morning" or "am" or "e" or "f" or "fruh" or "fruhdienst" or "fruhschicht" or "tagdienst" => Shift.Early,
            "late" or "evening" or "pm" or "l" or "s" or "spat" or "spatdienst" or "spatschicht" => Shift.Late,
            "night" or "n" or "nacht" or "nachtdienst" or "nachtschicht" => Shift.Night,
            "unknown" or "unbekannt" => Shift.Unknown,
            _ => null,
        };
    }

    /// <summary>A reason in the reader's words.</summary>
    /// <param name="reason">The reason.</param>
    public static string NameOf(RejectReason reason) => reason switch
    {
        RejectReason.ClippedAnatomy => "clipped anatomy",
        RejectReason.WrongPatientOrPart => "wrong patient or part",
        _ => reason.ToString().ToLowerInvariant(),
    };
}
