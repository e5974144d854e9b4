using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Hotlight.Imaging.Dicom;
using Hotlight.Testing;

namespace Hotlight.Imaging.Tests.Dicom;

/// <summary>The DICOM JSON model, PS3.18 annex F: what another author's library (pydicom) reads from what is written here. Script and version: tests/reference/dicom-json.</summary>
public sealed class DicomJsonTests
{
    private static string Folder => Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "dicom-json");

    private static DicomDataset Example() => new DicomDataset()
        .SetText(0x00080005, "CS", "ISO_IR 192")
        .SetText(0x00080008, "CS", "ORIGINAL", "PRIMARY", "")
        .SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.1.1")
        .SetText(0x00080020, "DA", "20260105")
        .SetText(0x00080030, "TM", "101500.25")
        .Set(DicomElement.OfValue(0x00080050, "SH", ReadOnlyMemory<byte>.Empty))
        .SetText(0x00081030, "LO", "Handgelenk, zwei Ebenen: größer")
        .SetText(0x00100010, "PN", "Yamada^Tarou=山田^太郎=やまだ^たろう")
        .SetText(0x00104000, "LT", "one \\ two")
        .SetText(0x00180060, "DS", "55.5")
        .SetText(0x00181164, "DS", "0.2", "0.25")
        .SetText(0x00200013, "IS", "7")
        .SetNumbers(0x00280010, "US", 90)
        .SetNumbers(0x00281041, "SS", -1)
        .SetNumbers(0x00189332, "FD", 2.5)
        .Set(DicomElement.OfValue(0x00280009, "AT", new byte[] { 0x18, 0x00, 0x63, 0x10 }))
        .Set(DicomElement.OfValue(0x00283006, "OW", new byte[] { 1, 2, 3, 4 }))
        .SetItems(0x00082218, new DicomDataset().SetText(0x00080100, "SH", "T-15460").SetText(0x00080104, "LO", "Wrist joint"))
        .SetItems(0x00400555);

    [Fact]
    public void Write_Example_IsAsItWasReadByAnotherAuthorsLibrary()
    {
        string path = Path.Combine(Folder, "written.json");
        string written = Written(Example());
        if (Environment.GetEnvironmentVariable("HOTLIGHT_WRITE_REFERENCE") is { Length: > 0 })
        {
            File.WriteAllText(path, written);
        }

        Assert.Equal(File.ReadAllText(path), written);
    }

    [Fact]
    [Trait("evidence", "independent")]
    public void Understood_ByAnotherAuthorsLibrary_AreTheValuesOfTheDataSet()
    {
        JsonObject read = JsonNode.Parse(File.ReadAllText(Path.Combine(Folder, "understood.json")))!["read"]!.AsObject();

        // pydicom prints a tag with a space.
        JsonNode? Of(string tag) => read[tag.Replace(",", ", ", StringComparison.Ordinal)]![1];
        string Value(string tag) => Of(tag)!.ToJsonString();
        Assert.Equal("\"20260105\"", Value("(0008,0020)"));
        Assert.Equal("Yamada^Tarou=山田^太郎=やまだ^たろう", Of("(0010,0010)")!.GetValue<string>());
        Assert.Equal("Handgelenk, zwei Ebenen: größer", Of("(0008,1030)")!.GetValue<string>());
        Assert.Equal("one \\ two", Of("(0010,4000)")!.GetValue<string>());
        Assert.Equal("[\"0.2\",\"0.25\"]", Value("(0018,1164)"));
        Assert.Equal("\"7\"", Value("(0020,0013)"));
        Assert.Equal("\"-1\"", Value("(0028,1041)"));
        Assert.Equal("\"2.5\"", Value("(0018,9332)"));
        Assert.Equal("\"(0018, 1063)\"", Value("(0028,0009)"));
        Assert.Equal("\"01020304\"", Value("(0028,3006)"));
        Assert.Equal("T-15460", Of("(0008,2218)")![0]!["(0008, 0100)"]!.GetValue<string>());
        Assert.Null(Of("(0008,0050)"));
        Assert.Equal(Example().Elements.Count, read.Count);
    }

    [Fact]
    public void Write_PixelData_IsAReference()
    {
        DicomDataset dataset = new DicomDataset().Set(DicomElement.OfValue(0x7FE00010, "OW", new byte[8]));
        Assert.Equal("{}", Written(dataset));
        Assert.Equal("""{"7FE00010":{"vr":"OW","BulkDataURI":"http://127.0.0.1/frames/1"}}""", Written(dataset, "http://127.0.0.1/frames/1"));
    }

    private static string Written(DicomDataset dataset, string? pixels = null)
    {
        using MemoryStream stream = new();
        using (Utf8JsonWriter writer = new(stream, new JsonWriterOptions { Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping }))
        {
            DicomJson.Write(writer, dataset, pixels);
        }

        return Encoding.UTF8.GetString(stream.ToArray());
    }
}
