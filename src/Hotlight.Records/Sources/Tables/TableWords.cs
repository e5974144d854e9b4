namespace Hotlight.Records.Sources.Tables;

/// <summary>Words of headings in English and German, and what members are called.</summary>
public static class TableWords
{
    // In plain words, the more special first; a heading is one of them, or begins or ends with one. Common practice, no source.
    private static readonly (TableMember Member, string[] Headings)[] Known =
    [
        (TableMember.TargetExposureIndex, ["target exposure index", "target ei", "target index", "tei", "eit", "ei target", "zielindex", "ziel ei", "zielbelichtungsindex", "soll ei"]),
        (TableMember.DeviationIndex, ["deviation index", "di", "abweichungsindex", "deviation"]),
        (TableMember.ExposureIndex, ["exposure index", "ei", "belichtungsindex", "dosisindex"]),
        (TableMember.Reason, ["reason", "reject reason", "rejection reason", "repeat reason", "reason for rejection", "reason for reject", "grund", "ablehnungsgrund", "verwerfungsgrund", "fehlergrund", "ursache"]),
        (TableMember.IsRepeat, ["repeat", "is repeat", "repeated", "wiederholung", "wiederholt"]),
        (TableMember.Use, ["status", "rejected", "reject", "accepted", "use", "outcome", "result", "verworfen", "abgelehnt", "akzeptiert", "angenommen", "ergebnis"]),
        (TableMember.Key, ["sop instance uid", "instance uid", "image uid", "irradiation event uid", "event uid", "uid", "image id", "exposure id", "key", "bild id", "bildnummer", "aufnahme id", "id"]),
        (TableMember.BirthDate, ["birth date", "date of birth", "birthdate", "dob", "geburtsdatum", "geb datum"]),
        (TableMember.ExposedAt, ["date time", "datetime", "timestamp", "exposed at", "acquisition date time", "acquired", "acquired at", "exposure date time", "zeitpunkt", "aufnahmezeitpunkt", "datum uhrzeit", "datum zeit", "zeitstempel"]),
        (TableMember.Date, ["date", "datum", "day", "study date", "exam date", "exposure date", "acquisition date", "aufnahmedatum", "untersuchungsdatum"]),
        (TableMember.Time, ["time", "uhrzeit", "zeit", "study time", "exam time", "acquisition time", "aufnahmezeit"]),
        (TableMember.Examination, ["accession", "accession number", "study uid", "study instance uid", "exam id", "examination id", "order number", "auftragsnummer", "untersuchungsnummer", "auftrag", "fallnummer"]),
        (TableMember.Patient, ["patient", "patient id", "patientid", "patienten id", "patientennummer", "pid", "mrn"]),
        (TableMember.View, ["view", "view position", "ansicht", "strahlengang", "einstellung", "ebene"]),
        (TableMember.BodyPart, ["body part", "bodypart", "body part examined", "korperteil", "korperregion", "region", "organ", "anatomy", "anatomie"]),
        (TableMember.Projection, ["projection", "projektion", "protocol", "protocol name", "program", "organprogramm", "exam", "examination", "exam type", "procedure", "untersuchung", "aufnahme", "aufnahmeart", "bezeichnung"]),
        (TableMember.Side, ["side", "laterality", "seite", "lateralitat"]),
        (TableMember.Receptor, ["receptor", "detector", "detector id", "detektor", "panel", "plate", "cassette", "kassette", "empfanger"]),
        (TableMember.Room, ["room", "raum", "zimmer", "station", "station name", "workstation", "arbeitsplatz", "device", "gerat", "unit"]),
        (TableMember.PerformerPseudonym, ["pseudonym", "operator pseudonym"]),
        (TableMember.Performer, ["operator", "operator name", "operators name", "performed by", "performer", "technologist", "radiographer", "user", "staff", "tech", "mtra", "mtr", "mta", "bediener", "benutzer", "durchgefuhrt von", "personal"]),
        (TableMember.Shift, ["shift", "schicht", "dienst"]),
        (TableMember.Age, ["age", "patient age", "age years", "alter", "patientenalter"]),
        (TableMember.TubeVoltageKvp, ["kv", "kvp", "tube voltage", "voltage", "rohrenspannung", "spannung"]),
        (TableMember.ExposureMas, ["mas", "exposure mas", "tube current time", "strom zeit produkt", "mas produkt"]),
        (TableMember.KermaAreaProduct, ["kap", "dap", "kerma area product", "dose area product", "area dose product", "dosisflachenprodukt", "flachendosisprodukt", "dfp", "fdp"]),
    ];

    /// <summary>What a heading can mean, most likely first.</summary>
    /// <param name="heading">The heading.</param>
    public static IEnumerable<TableMember> MeaningsOf(string heading)
    {
        ArgumentNullException.ThrowIfNull(heading);
        string whole = PlainWords.Of(heading);
        string withoutUnit = PlainWords.Of(heading.Split('[', '(')[0]);
        foreach ((TableMember member, string[] headings) in Known)
        {
            if (headings.Contains(whole, StringComparer.Ordinal) || headings.Contains(withoutUnit, StringComparer.Ordinal))
            {
                yield return member;
            }
        }

        foreach ((TableMember member, string[] headings) in Known)
        {
            if (headings.Any(word => word.Length > 2 && (whole.StartsWith(word + " ", StringComparison.Ordinal) || whole.EndsWith(" " + word, StringComparison.Ordinal))))
            {
                yield return member;
            }
        }
    }

    /// <summary>The unit of a kerma-area product in a heading such as "DAP [mGy·cm²]"; null where none is there.</summary>
    /// <param name="heading">The heading.</param>
    public static string? UnitIn(string heading)
    {
        ArgumentNullException.ThrowIfNull(heading);
        string letters = new([.. heading.Replace('²', '2').Replace('μ', 'u').Replace('µ', 'u').Where(char.IsLetterOrDigit)]);
        return TableMapping.KermaAreaProductUnits.Keys.OrderByDescending(unit => unit.Length)
            .FirstOrDefault(unit => letters.EndsWith(unit.Replace(".", string.Empty, StringComparison.Ordinal), StringComparison.OrdinalIgnoreCase));
    }

    /// <summary>What a member is called in sentences.</summary>
    /// <param name="member">The member.</param>
    public static string NameOf(TableMember member) => member switch
    {
        TableMember.Key => "the identifier of the exposure",
        TableMember.ExposedAt => "date and time",
        TableMember.Date => "the date",
        TableMember.Time => "the time of day",
        TableMember.Projection => "the projection",
        TableMember.BodyPart => "the body part",
        TableMember.View => "the view",
        TableMember.Side => "the side",
        TableMember.Room => "the room",
        TableMember.Receptor => "the receptor",
        TableMember.Performer => "who exposed (a name)",
        TableMember.PerformerPseudonym => "who exposed (a pseudonym)",
        TableMember.Shift => "the shift",
        TableMember.Age => "the patient's age",
        TableMember.BirthDate => "the patient's birth date",
        TableMember.Use => "kept or rejected",
        TableMember.IsRepeat => "repeat or not",
        TableMember.Reason => "the reason of a reject",
        TableMember.ExposureIndex => "the exposure index",
        TableMember.TargetExposureIndex => "the target exposure index",
        TableMember.DeviationIndex => "the deviation index",
        TableMember.TubeVoltageKvp => "the tube voltage in kV",
        TableMember.ExposureMas => "the exposure in mAs",
        TableMember.KermaAreaProduct => "the kerma-area product",
        TableMember.Patient => "the patient",
        _ => "the examination",
    };
}
