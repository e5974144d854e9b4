using System.IO.Compression;
using System.Text;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Judgement;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Positioning;
using Hotlight.Privacy;
using Hotlight.Privacy.Publishing;
using Hotlight.Records;
using Hotlight.Records.Sources;
using Hotlight.Records.Sources.Tables;
using Hotlight.Simulation.Scene;
using Hotlight.Teaching.Collections;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake.Receiving;

namespace Hotlight.Hostile;

/// <summary>One reader of bytes that a stranger may have made. It may refuse them by the exception it promises, with one sentence, and nothing else.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Run">Reads the bytes; throws where the reader does what it must not.</param>
/// <param name="Seeds">Sound inputs to begin from.</param>
internal sealed record HostileTarget(string Name, Action<byte[]> Run, Func<string, IEnumerable<byte[]>> Seeds)
{
    /// <summary>Most bytes that one reading may take from the heap, by allocation in all: the largest image that is accepted, several times over.</summary>
    public const long MostBytes = 2L << 30;

    private static readonly PrivacyKey Key = new(new byte[PrivacyKey.Bytes]);
    private static readonly Lazy<ProjectionWords> Words = new(() => new ProjectionWords(ProjectionCatalogue.BuiltIn));
    private static readonly Lazy<Projection> Wrist = new(() => ProjectionCatalogue.BuiltIn.Get("wrist-pa"));

    private static readonly KnownIdentity Known = KnownIdentity.None.With(IdentityKind.PatientName, "Quillfeather^Ottoline").With(IdentityKind.PatientIdentifier, "QF-88231");

    /// <summary>Every target of the rooms up to the workflows.</summary>
    public static IReadOnlyList<HostileTarget> All { get; } =
    [
        new("dicom", bytes => Image(bytes, "a.dcm"), root => Fixtures(root, "*.dcm").Where(file => !IsJpeg2000(file))),
        new("png", bytes => Image(bytes, "a.png"), root => Pictures(root, "*.png")),
        new("jpeg", bytes => Image(bytes, "a.jpg"), root => Pictures(root, "*.jpg")),
        new("tiff", bytes => Image(bytes, "a.tif"), root => Pictures(root, "*.tif")),
        new("jpeg2000", bytes => Image(bytes, "a.dcm"), root => Fixtures(root, "*j2k.dcm")),
        new("dicom-attributes", Attributes, root => Fixtures(root, "*.dcm").Append(Document())),
        new("deidentify", Deidentify, root => Fixtures(root, "u8*.dcm").Where(file => !IsJpeg2000(file)).Append(Document())),
        new("identity-search", bytes => _ = new IdentitySearch(Known).Search(bytes, "it"), root => Fixtures(root, "u8.dcm").Concat(Pictures(root, "*.png")).Append(Collection()).Append(Gzip()).Append(Pdf())),
        new("exposure-source", bytes => _ = new DicomSource(Words.Value, new PlainNaming(), ShiftHours.Usual).Read(new MemoryStream(bytes), "a.dcm"), root => Fixtures(root, "u8.dcm").Append(Document())),
        new("exposure-table", Table, _ => Tables()),
        new("collection", Zip, _ => [Collection()]),
        new("dimse", Dimse, _ => Units()),
        new("answers", bytes => Text<UnreadableAnswersException>(bytes, text => AnswersJson.Read(text, "a.json", Wrist.Value)), _ => [Encoding.UTF8.GetBytes(AnswersJson.Write(new Answers { ProjectionId = "wrist-pa" }))]),
        new("landmarks", bytes => Text<UnreadableLandmarksException>(bytes, text => LandmarksJson.Read(text, "a.json", Wrist.Value, new PixelSpacing(0.1, 0.1))), _ => [Json("{\"schema\":\"hotlight.landmarks/1\",\"projection\":\"wrist-pa\",\"landmarks\":[{\"id\":\"a\",\"x\":12.5,\"y\":3}]}")]),
        new("clinic", bytes => Text<FormatException>(bytes, text => ClinicSettingsJson.Read(text, "a.json")), _ => [Encoding.UTF8.GetBytes(ClinicSettingsJson.Write(new ClinicSettings()))]),
        new("calibration", Calibrate, _ => [Json("{\"schema\":\"hotlight.calibration/1\",\"relation\":\"linear\",\"slope\":1.5,\"intercept\":0,\"points\":[{\"kermaMicrogray\":1,\"signal\":100}]}")]),
        new("mapping", bytes => Text<FormatException>(bytes, text => TableMappingJson.Read(text, "a.json")), _ => [Encoding.UTF8.GetBytes(TableMappingJson.Write(new TableMapping()))]),
        new("scene", bytes => Text<UnreadableSceneException>(bytes, text => SceneJson.Read(text, "a.json")), root => Files(Path.Combine(root, "data", "demo"), "0*.json")),
        new("walk-through", bytes => Text<UnreadableWalkThroughException>(bytes, text => WalkThroughJson.Read(text)), _ => [Json("{\"schema\":\"hotlight.walk-through/1\",\"steps\":[{\"id\":\"a\",\"text\":\"b\",\"seconds\":3}]}")]),
    ];

    /// <summary>Runs the target and demands that it allocates no more than it may.</summary>
    /// <param name="bytes">What a stranger made.</param>
    public void Check(byte[] bytes)
    {
        long before = GC.GetAllocatedBytesForCurrentThread();
        Run(bytes);
        long taken = GC.GetAllocatedBytesForCurrentThread() - before;
        if (taken > MostBytes)
        {
            throw new InvalidOperationException($"{Name} took {taken >> 20} MiB for {bytes.Length} bytes.");
        }
    }

    private static void Image(byte[] bytes, string name)
    {
        try
        {
            _ = RadiographReader.Read(bytes, name);
        }
        catch (UnreadableImageException error)
        {
            OneSentence(error.Reason);
        }
    }

    private static void Attributes(byte[] bytes)
    {
        DicomContent content;
        try
        {
            content = DicomContent.Read(bytes, "a.dcm");
        }
        catch (UnreadableImageException error)
        {
            OneSentence(error.Reason);
            return;
        }

        foreach (DicomElement element in content.Dataset.Elements)
        {
            _ = content.Dataset.Texts(element.Tag);
            _ = content.Dataset.Numbers(element.Tag);
            _ = content.Dataset.LongText(element.Tag);
        }
    }

    private static void Deidentify(byte[] bytes)
    {
        try
        {
            var deidentifier = new Deidentifier(Key, Retained.ForTeaching | Retained.SafePrivate | Retained.CleanedContent | Retained.CleanedGraphics);
            _ = deidentifier.CleanObject(bytes, "a.dcm") ?? deidentifier.Clean(bytes, "a.dcm");
        }
        catch (UnreadableImageException error)
        {
            OneSentence(error.Reason);
        }
    }

    private static void Table(byte[] bytes)
    {
        try
        {
            TableLook look = TableLook.At(new MemoryStream(bytes), "a.csv");
            foreach (TableRow row in new TableReader(Words.Value, new PlainNaming(), ShiftHours.Usual).Read(new MemoryStream(bytes), look.Proposed))
            {
                _ = row;
            }
        }
        catch (FormatException error)
        {
            OneSentence(error.Message);
        }
    }

    private static void Zip(byte[] bytes)
    {
        ZipArchive zip;
        try
        {
            zip = new ZipArchive(new MemoryStream(bytes), ZipArchiveMode.Read, leaveOpen: false, Encoding.UTF8);
        }
        catch (InvalidDataException)
        {
            return;
        }

        using (zip)
        {
            try
            {
                SharedCollection shared = CollectionZip.ReadContents(zip);
                foreach (SharedCase each in shared.Cases)
                {
                    foreach (SharedFile file in each.Files)
                    {
                        _ = CollectionZip.ReadFile(zip, each, file);
                    }
                }
            }
            catch (UnreadableCollectionException error)
            {
                OneSentence(error.Message);
            }
        }
    }

    private static void Dimse(byte[] bytes)
    {
        try
        {
            using MemoryStream stream = new(bytes);
            while (Pdu.ReadAsync(stream, CancellationToken.None).GetAwaiter().GetResult() is { } unit)
            {
                switch (unit.Kind)
                {
                    case PduKind.AssociateRequest:
                        _ = AssociateRequest.Parse(unit.Body);
                        break;
                    case PduKind.Data when unit.Body.Length > 6:
                        CommandSet command = CommandSet.Parse(unit.Body.AsSpan(6));
                        _ = (command.CommandField, command.SopClassUid, command.SopInstanceUid, command.HasDataSet);
                        break;
                }
            }
        }
        catch (Exception error) when (error is ProtocolException or EndOfStreamException)
        {
            // The association is aborted.
        }
    }

    private static void Calibrate(byte[] bytes)
    {
        try
        {
            _ = CalibrationFile.Parse(bytes, "a.json");
        }
        catch (FormatException error)
        {
            OneSentence(error.Message);
        }
    }

    private static void Text<TError>(byte[] bytes, Func<string, object> read)
        where TError : Exception
    {
        try
        {
            _ = read(Encoding.UTF8.GetString(bytes));
        }
        catch (TError error)
        {
            if (error.Message.Length == 0)
            {
                throw new InvalidOperationException("It was refused without a word.", error);
            }
        }
    }

    private static void OneSentence(string sentence)
    {
        if (sentence.Length == 0 || sentence.Contains('\n', StringComparison.Ordinal) || !sentence.EndsWith('.'))
        {
            throw new InvalidOperationException($"'{sentence}' is not one sentence.");
        }
    }

    private static IEnumerable<byte[]> Files(string folder, string pattern) => Directory.EnumerateFiles(folder, pattern).Order(StringComparer.Ordinal).Select(File.ReadAllBytes);

    private static IEnumerable<byte[]> Fixtures(string root, string pattern) => Files(Path.Combine(root, "tests", "reference", "decoded-pixels", "fixtures"), pattern);

    private static IEnumerable<byte[]> Pictures(string root, string pattern) => Files(Path.Combine(root, "tests", "reference", "pictures"), pattern);

    private static bool IsJpeg2000(byte[] file) => file.AsSpan().IndexOf("1.2.840.10008.1.2.4.9"u8) >= 0;

    private static byte[] Json(string text) => Encoding.UTF8.GetBytes(text);

    private static byte[] Document()
    {
        DicomDataset item = new DicomDataset().SetText(0x0040A010, "CS", "CONTAINS").SetText(0x0040A040, "CS", "TEXT")
            .SetItems(0x0040A043, new DicomDataset().SetText(0x00080100, "SH", "121071").SetText(0x00080102, "SH", "DCM").SetText(0x00080104, "LO", "Finding"))
            .SetText(0x0040A160, "UT", "wrist PA left");
        DicomDataset irradiation = new DicomDataset().SetText(0x0040A010, "CS", "CONTAINS").SetText(0x0040A040, "CS", "CONTAINER")
            .SetItems(0x0040A043, new DicomDataset().SetText(0x00080100, "SH", "113706").SetText(0x00080102, "SH", "DCM").SetText(0x00080104, "LO", "Irradiation Event X-Ray Data"))
            .SetItems(0x0040A730, item);
        using MemoryStream stream = new();
        DicomWriter.Write(stream, new DicomDataset().SetText(0x00080005, "CS", "ISO_IR 100").SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.88.67").SetText(0x00080018, "UI", "2.25.1")
            .SetText(0x00080020, "DA", "20260303").SetText(0x00080060, "CS", "SR").SetText(0x00100010, "PN", "Quillfeather^Ottoline").SetText(0x00100020, "LO", "QF-88231")
            .SetText(0x0040A040, "CS", "CONTAINER").SetItems(0x0040A730, item, irradiation));
        return stream.ToArray();
    }

    private static byte[] Collection()
    {
        byte[] document = Json("{\"schema\":\"x\"}");
        byte[] radiograph = Document();
        var contents = new SharedCollection
        {
            Title = "Wrists",
            MadeBy = "Hotlight test",
            Cases = [new SharedCase { Folder = "01", Title = "Wrist PA", Projection = "wrist-pa", Files = [CollectionZip.Describe(SharedFileNames.Dicom, radiograph), CollectionZip.Describe(SharedFileNames.Measurements, document)] }],
        };
        using MemoryStream stream = new();
        CollectionZip.Write(stream, contents, (_, name) => name == SharedFileNames.Dicom ? radiograph : document);
        return stream.ToArray();
    }

    private static byte[] Gzip()
    {
        using MemoryStream stream = new();
        using (GZipStream zip = new(stream, CompressionLevel.Optimal, leaveOpen: true))
        {
            zip.Write("a letter to nobody, with TWFueSBsZXR0ZXJzIG9mIGJhc2U2NCBoZXJl in it"u8);
        }

        return stream.ToArray();
    }

    private static byte[] Pdf() => Json("%PDF-1.7\n1 0 obj <</Length 30>>\nstream\nBT /F1 12 Tf (a page) Tj ET\nendstream\nendobj\n%%EOF");

    private static IEnumerable<byte[]> Tables() =>
    [
        Json("date,time,projection,room,kVp,mAs,EI,DI,rejected,reason\n2026-03-03,09:12,wrist pa,2,55,2.5,312,-0.3,no,\n2026-03-03,09:20,wrist lateral,2,55,2.5,300,-0.5,yes,positioning\n"),
        Json("Datum;Uhrzeit;Untersuchung;Raum;kV;mAs\n03.03.2026;09:12;\"Handgelenk; p.a.\";2;55,0;2,5\n"),
        Encoding.Unicode.GetPreamble().Concat(Encoding.Unicode.GetBytes("date\ttime\tprojection\n2026-03-03\t09:12\twrist pa\n")).ToArray(),
    ];

    private static IEnumerable<byte[]> Units()
    {
        static byte[] Item(byte kind, byte[] body) => [kind, 0, (byte)(body.Length >> 8), (byte)body.Length, .. body];
        byte[] context = Item(0x20, [1, 0, 0, 0, .. Item(0x30, "1.2.840.10008.5.1.4.1.1.1"u8.ToArray()), .. Item(0x40, "1.2.840.10008.1.2.1"u8.ToArray())]);
        byte[] body = [0, 1, 0, 0, .. Encoding.ASCII.GetBytes("HOTLIGHT".PadRight(16)), .. Encoding.ASCII.GetBytes("SENDER".PadRight(16)), .. new byte[32],
            .. Item(0x10, "1.2.840.10008.3.1.1.1"u8.ToArray()), .. context, .. Item(0x50, Item(0x51, [0, 0, 0x40, 0]))];
        yield return [1, 0, 0, 0, 0, (byte)body.Length, .. body];
        byte[] command = [0, 0, 0, 0, 4, 0, 0, 0, 30, 0, 0, 0, 0, 0, 0, 1, 2, 0, 0, 0, 1, 0, 0, 0, 0x10, 1, 2, 0, 0, 0, 7, 0, 0, 0, 0, 8, 2, 0, 0, 0, 1, 1];
        yield return [4, 0, 0, 0, 0, (byte)(command.Length + 6), 0, 0, 0, (byte)(command.Length + 2), 1, 3, .. command];
    }

    private sealed class PlainNaming : ISourceNaming
    {
        public string? PerformerOf(string name) => name;

        public string KeyOf(string kind, string value) => value;

        public string UidOf(string uid) => uid;

        public SourcePlace PlaceOf(SourceDevice device) => new(device.StationName, device.DetectorId);

        public string? DescriptionOf(string text) => text;
    }
}
