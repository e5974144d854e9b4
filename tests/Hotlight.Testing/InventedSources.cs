using System.Globalization;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Testing;

/// <summary>Sources of exposures for tests, all invented: headers of radiographs, radiation dose structured reports, key object selections. Made with the project's own DICOM writer.</summary>
public static class InventedSources
{
    private const string Root = "2.25.77";

    /// <summary>A UID made of a number.</summary>
    public static string Uid(int number) => $"{Root}.{number.ToString(CultureInfo.InvariantCulture)}";

    /// <summary>The header of a digital x-ray image: wrist PA, right, made on 3 March 2026 at 09:12:07.5 by the invented radiographer Reed.</summary>
    public static DicomDataset Header(int image = 1, int study = 1000) => new DicomDataset()
        .SetText(0x00080005, "CS", "ISO_IR 192")
        .SetText(0x00080008, "CS", "ORIGINAL", "PRIMARY", string.Empty)
        .SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.1.1")
        .SetText(0x00080018, "UI", Uid(image))
        .SetText(0x00080020, "DA", "20260303")
        .SetText(0x00080022, "DA", "20260303")
        .SetText(0x00080030, "TM", "091000")
        .SetText(0x00080032, "TM", "091207.5")
        .SetText(0x00080060, "CS", "DX")
        .SetText(0x00080068, "CS", "FOR PRESENTATION")
        .SetText(0x00081010, "SH", "SALTMARSH-2")
        .SetText(0x00081070, "PN", "Reed^Invented")
        .SetText(0x00081090, "LO", "Invented Panel 3")
        .SetText(0x00100010, "PN", "Invented^Patient")
        .SetText(0x00100020, "LO", "SL-0042")
        .SetText(0x00100030, "DA", "20100101")
        .SetText(0x00180015, "CS", "WRIST")
        .SetNumbers(0x00180060, "DS", 55)
        .SetNumbers(0x00181153, "IS", 2500)
        .SetNumbers(0x0018115E, "DS", 0.31)
        .SetNumbers(0x00181411, "DS", 312)
        .SetNumbers(0x00181412, "DS", 250)
        .SetText(0x00185101, "CS", "PA")
        .SetText(0x0018700A, "SH", "SML-7")
        .SetText(0x0020000D, "UI", Uid(study))
        .SetText(0x00200062, "CS", "R");

    /// <summary>A header as a file, with pixel data behind that nobody should read.</summary>
    public static byte[] File(DicomDataset header, DicomEncoding encoding = DicomEncoding.ExplicitLittleEndian, int pixelBytes = 2048)
    {
        using MemoryStream stream = new();
        header.SetNumbers(0x00280010, "US", 1).Set(DicomElement.OfValue(0x7FE00010, "OW", new byte[pixelBytes]));
        DicomWriter.Write(stream, header, encoding);
        return stream.ToArray();
    }

    /// <summary>A document as a file.</summary>
    public static byte[] Document(DicomDataset document)
    {
        using MemoryStream stream = new();
        DicomWriter.Write(stream, document);
        return stream.ToArray();
    }

    /// <summary>A key object selection (PS3.3 A.35.4).</summary>
    /// <param name="title">Code value of its title, scheme DCM.</param>
    /// <param name="reason">Code value of CID 7011; null: none.</param>
    /// <param name="images">Images it points to.</param>
    public static DicomDataset KeyObjects(string title, string? reason, params int[] images)
    {
        List<DicomDataset> items = [];
        if (reason is not null)
        {
            items.Add(Coded("HAS CONCEPT MOD", "113011", "Document Title Modifier", reason, "DCM", "reason"));
        }

        items.AddRange(images.Select(image => ImageItem("CONTAINS", null, image)));
        return Frame("1.2.840.10008.5.1.4.1.1.88.59", "KO", 5000 + images[0])
            .SetText(0x0040A040, "CS", "CONTAINER")
            .SetItems(0x0040A043, Code(title, "DCM", "title"))
            .SetText(0x0040A050, "CS", "SEPARATE")
            .SetItems(0x0040A730, [.. items]);
    }

    /// <summary>A radiation dose report of projection X-ray, TID 10001 with TID 10002 and 10003.</summary>
    public static DicomDataset DoseReport(params InventedEvent[] events) => Frame("1.2.840.10008.5.1.4.1.1.88.67", "SR", 9000)
        .SetText(0x00081010, "SH", "SALTMARSH-2")
        .SetText(0x00081090, "LO", "Invented Panel 3")
        .SetText(0x00100010, "PN", "Invented^Patient")
        .SetText(0x0040A040, "CS", "CONTAINER")
        .SetItems(0x0040A043, Code("113701", "DCM", "X-Ray Radiation Dose Report"))
        .SetText(0x0040A050, "CS", "SEPARATE")
        .SetItems(0x0040A372)
        .SetItems(0x0040A375, [.. Evidence(events)])
        .SetText(0x0040A491, "CS", "COMPLETE")
        .SetText(0x0040A493, "CS", "UNVERIFIED")
        .SetItems(0x0040A504, new DicomDataset().SetText(0x00080105, "CS", "DCMR").SetText(0x0040DB00, "CS", "10001"))
        .SetItems(
            0x0040A730,
            [
                Coded("HAS CONCEPT MOD", "121058", "Procedure reported", "113704", "DCM", "Projection X-Ray", Coded("HAS CONCEPT MOD", "363703001", "Has Intent", "261004008", "SCT", "Diagnostic Intent", conceptScheme: "SCT")),
                Coded("HAS OBS CONTEXT", "121005", "Observer Type", "121007", "DCM", "Device"),
                TextItem("HAS OBS CONTEXT", "121013", "Device Observer Name", "Panel in room 2"),
                Coded("HAS OBS CONTEXT", "113705", "Scope of Accumulation", "113014", "DCM", "Study", UidItem("HAS PROPERTIES", "110180", "Study Instance UID", Uid(1000))),
                .. events.Select(EventItem),
                Coded("CONTAINS", "113854", "Source of Dose Information", "113856", "DCM", "Automated Data Collection"),
            ]);

    /// <summary>Current Requested Procedure Evidence Sequence: every image the report points to.</summary>
    private static IEnumerable<DicomDataset> Evidence(InventedEvent[] events)
    {
        DicomDataset[] images = [.. events.Where(each => each.Image is not null).Select(each => new DicomDataset().SetText(0x00081150, "UI", "1.2.840.10008.5.1.4.1.1.1.1").SetText(0x00081155, "UI", Uid(each.Image!.Value)))];
        return images.Length == 0 ? [] : [new DicomDataset().SetText(0x0020000D, "UI", Uid(1000)).SetItems(0x00081115, new DicomDataset().SetText(0x0020000E, "UI", Uid(1001)).SetItems(0x00081199, images))];
    }

    private static DicomDataset EventItem(InventedEvent each)
    {
        List<DicomDataset> items =
        [
            Coded("CONTAINS", "113764", "Acquisition Plane", "113622", "DCM", "Single Plane"),
            UidItem("CONTAINS", "113769", "Irradiation Event UID", Uid(each.Number)),
            Item("CONTAINS", "DATETIME", "111526", "DateTime Started").SetText(0x0040A120, "DT", each.StartedAt),
            Coded("CONTAINS", "113721", "Irradiation Event Type", each.IsFluoroscopy ? "44491008" : "113611", each.IsFluoroscopy ? "SCT" : "DCM", each.IsFluoroscopy ? "Fluoroscopy" : "Stationary Acquisition"),
        ];
        if (each.Protocol is not null)
        {
            items.Add(TextItem("CONTAINS", "125203", "Acquisition Protocol", each.Protocol));
        }

        if (each.RegionCode is not null)
        {
            items.Add(Coded("CONTAINS", "123014", "Target Region", each.RegionCode, "SCT", "region", Coded("HAS CONCEPT MOD", "272741003", "Laterality", each.SideCode, "SCT", "side", conceptScheme: "SCT")));
        }

        if (each.ViewCode is not null)
        {
            items.Add(Coded("CONTAINS", "111031", "Image View", each.ViewCode, "SCT", "view"));
        }

        if (each.KermaAreaProduct is { } product)
        {
            items.Add(NumberItem("122130", "Dose Area Product", product, each.KermaAreaProductUnit));
        }

        items.Add(NumberItem("113845", "Exposure Index", each.ExposureIndex, "1"));
        items.Add(NumberItem("113846", "Target Exposure Index", each.TargetExposureIndex, "1"));
        items.Add(NumberItem("113733", "KVP", each.TubeVoltageKvp, "kV"));
        items.Add(NumberItem("113736", "Exposure", each.ExposureMicroAmpereSeconds, "uA.s"));
        if (each.IsRepeated is { } repeated)
        {
            items.Add(Coded("CONTAINS", "128551", "Is Repeated Acquisition", repeated ? "373066001" : "373067005", "SCT", repeated ? "Yes" : "No"));
        }

        if (each.RejectReason is not null)
        {
            items.Add(Coded("CONTAINS", "130503", "Is Rejected Acquisition", "373066001", "SCT", "Yes"));
            items.Add(Coded("CONTAINS", "130504", "Reason for Rejecting Acquisition", each.RejectReason, "DCM", "reason"));
        }

        if (each.Image is { } image)
        {
            items.Add(ImageItem("CONTAINS", ("113795", "Acquired Image"), image));
        }

        if (each.Person is not null)
        {
            items.Add(Item("CONTAINS", "PNAME", "113870", "Person Name").SetText(0x0040A123, "PN", each.Person)
                .SetItems(0x0040A730, Coded("HAS PROPERTIES", "113875", "Person Role in Procedure", "113851", "DCM", "Irradiation Administering")));
        }

        return Item("CONTAINS", "CONTAINER", "113706", "Irradiation Event X-Ray Data").SetText(0x0040A050, "CS", "SEPARATE").SetItems(0x0040A730, [.. items]);
    }

    private static DicomDataset Frame(string sopClass, string modality, int instance) => new DicomDataset()
        .SetText(0x00080005, "CS", "ISO_IR 192")
        .SetText(0x00080016, "UI", sopClass)
        .SetText(0x00080018, "UI", Uid(instance))
        .SetText(0x00080020, "DA", "20260303")
        .SetText(0x00080023, "DA", "20260303")
        .SetText(0x00080030, "TM", "091000")
        .SetText(0x00080033, "TM", "093000")
        .SetText(0x00080050, "SH")
        .SetText(0x00080060, "CS", modality)
        .SetText(0x00080070, "LO", "Saltmarsh Lane (invented)")
        .SetText(0x00080090, "PN")
        .SetItems(0x00081111)
        .SetText(0x00100010, "PN", "Invented^Patient")
        .SetText(0x00100020, "LO", "SL-0042")
        .SetText(0x00100030, "DA", "20100101")
        .SetText(0x00100040, "CS", "O")
        .SetText(0x00181000, "LO", "INVENTED-1")
        .SetText(0x00181020, "LO", "1")
        .SetText(0x0020000D, "UI", Uid(1000))
        .SetText(0x0020000E, "UI", Uid(instance + 1))
        .SetText(0x00200010, "SH", "1")
        .SetText(0x00200011, "IS", "1")
        .SetText(0x00200013, "IS", "1");

    private static DicomDataset Code(string value, string scheme, string meaning)
        => new DicomDataset().SetText(0x00080100, "SH", value).SetText(0x00080102, "SH", scheme).SetText(0x00080104, "LO", meaning);

    private static DicomDataset Item(string relation, string type, string concept, string meaning, string conceptScheme = "DCM")
        => new DicomDataset().SetText(0x0040A010, "CS", relation).SetText(0x0040A040, "CS", type).SetItems(0x0040A043, Code(concept, conceptScheme, meaning));

    private static DicomDataset Coded(string relation, string concept, string meaning, string value, string scheme, string valueMeaning, DicomDataset? below = null, string conceptScheme = "DCM")
    {
        DicomDataset item = Item(relation, "CODE", concept, meaning, conceptScheme).SetItems(0x0040A168, Code(value, scheme, valueMeaning));
        return below is null ? item : item.SetItems(0x0040A730, below);
    }

    private static DicomDataset TextItem(string relation, string concept, string meaning, string text) => Item(relation, "TEXT", concept, meaning).SetText(0x0040A160, "UT", text);

    private static DicomDataset UidItem(string relation, string concept, string meaning, string uid) => Item(relation, "UIDREF", concept, meaning).SetText(0x0040A124, "UI", uid);

    private static DicomDataset NumberItem(string concept, string meaning, double value, string unit)
        => Item("CONTAINS", "NUM", concept, meaning).SetItems(0x0040A300, new DicomDataset().SetNumbers(0x0040A30A, "DS", value).SetItems(0x004008EA, Code(unit, "UCUM", unit == "1" ? "no units" : unit)));

    private static DicomDataset ImageItem(string relation, (string Code, string Meaning)? concept, int image)
    {
        DicomDataset item = new DicomDataset().SetText(0x0040A010, "CS", relation).SetText(0x0040A040, "CS", "IMAGE")
            .SetItems(0x00081199, new DicomDataset().SetText(0x00081150, "UI", "1.2.840.10008.5.1.4.1.1.1.1").SetText(0x00081155, "UI", Uid(image)));
        return concept is { } named ? item.SetItems(0x0040A043, Code(named.Code, "DCM", named.Meaning)) : item;
    }
}

/// <summary>An invented irradiation event of a dose report.</summary>
/// <param name="Number">Makes its UID.</param>
public sealed record InventedEvent(int Number)
{
    /// <summary>When it started, DT.</summary>
    public string StartedAt { get; init; } = "20260303091207.500";

    /// <summary>Acquisition protocol.</summary>
    public string? Protocol { get; init; }

    /// <summary>SNOMED CT code of the target region.</summary>
    public string? RegionCode { get; init; } = "74670003";

    /// <summary>SNOMED CT code of the side.</summary>
    public string SideCode { get; init; } = "24028007";

    /// <summary>SNOMED CT code of the view.</summary>
    public string? ViewCode { get; init; } = "272479007";

    /// <summary>Kerma-area product, in its unit.</summary>
    public double? KermaAreaProduct { get; init; } = 3.1e-6;

    /// <summary>UCUM unit of the kerma-area product.</summary>
    public string KermaAreaProductUnit { get; init; } = "Gy.m2";

    /// <summary>Exposure index.</summary>
    public double ExposureIndex { get; init; } = 312;

    /// <summary>Target exposure index.</summary>
    public double TargetExposureIndex { get; init; } = 250;

    /// <summary>Tube voltage, in kV peak.</summary>
    public double TubeVoltageKvp { get; init; } = 55;

    /// <summary>Exposure, in µA·s.</summary>
    public double ExposureMicroAmpereSeconds { get; init; } = 2500;

    /// <summary>Is Repeated Acquisition; null: not told.</summary>
    public bool? IsRepeated { get; init; }

    /// <summary>Code of the reason of a reject; null: not rejected.</summary>
    public string? RejectReason { get; init; }

    /// <summary>Acquired image; null: none.</summary>
    public int? Image { get; init; }

    /// <summary>Who administered; null: not told.</summary>
    public string? Person { get; init; }

    /// <summary>Whether it is fluoroscopy.</summary>
    public bool IsFluoroscopy { get; init; }
}
