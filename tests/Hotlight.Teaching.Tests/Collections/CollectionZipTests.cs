using System.IO.Compression;
using System.Text;
using System.Text.Json;
using Hotlight.Teaching.Collections;

namespace Hotlight.Teaching.Tests.Collections;

/// <summary>A collection's file comes back as it was written, and a file that is not as it says is refused in a sentence.</summary>
public sealed class CollectionZipTests
{
    private static readonly byte[] Dicom = Encoding.ASCII.GetBytes(string.Concat(Enumerable.Repeat("DICM and pixels ", 500)));
    private static readonly byte[] Document = "{\"schema\":\"hotlight.measurements/1\"}"u8.ToArray();

    private static readonly SharedCollection Contents = new()
    {
        Title = "Handgelenke, 3. Woche",
        Words = "Größer \"und\" <kleiner>\r\nzweite Zeile",
        MadeBy = "Hotlight test",
        Cases =
        [
            new SharedCase { Folder = "01", Title = "Wrist PA", Projection = "wrist-pa", Tags = ["ünï", "手首"], Words = "Look at the ulna.", IsInvented = true, Files = [CollectionZip.Describe(SharedFileNames.Dicom, Dicom), CollectionZip.Describe(SharedFileNames.Measurements, Document)] },
            new SharedCase { Folder = "02", Title = "Picture", Files = [CollectionZip.Describe(SharedFileNames.Picture, Document)] },
        ],
    };

    private static byte[] Written()
    {
        using var stream = new MemoryStream();
        CollectionZip.Write(stream, Contents, (_, name) => name == SharedFileNames.Dicom ? Dicom : Document);
        return stream.ToArray();
    }

    private static ZipArchive Opened(byte[] bytes) => new(new MemoryStream(bytes, writable: false), ZipArchiveMode.Read);

    /// <summary>The written file with one of its entries put differently.</summary>
    private static byte[] Changed(Action<ZipArchive> change)
    {
        using var stream = new MemoryStream();
        stream.Write(Written());
        using (var zip = new ZipArchive(stream, ZipArchiveMode.Update, leaveOpen: true))
        {
            change(zip);
        }

        return stream.ToArray();
    }

    private static void Put(ZipArchive zip, string name, byte[] content)
    {
        zip.GetEntry(name)?.Delete();
        using Stream entry = zip.CreateEntry(name).Open();
        entry.Write(content);
    }

    [Fact]
    public void ReadContents_OfWhatWasWritten_IsTheSame()
    {
        using ZipArchive zip = Opened(Written());

        SharedCollection read = CollectionZip.ReadContents(zip);

        Assert.Equal(JsonSerializer.Serialize(Contents), JsonSerializer.Serialize(read));
        Assert.Equal(Dicom, CollectionZip.ReadFile(zip, read.Cases[0], read.Cases[0].Files[0]));
        Assert.Equal(Document, CollectionZip.ReadFile(zip, read.Cases[1], read.Cases[1].Files[0]));
    }

    [Fact]
    public void Write_TheSameTwice_IsTheSameBytes() => Assert.Equal(Written(), Written());

    [Fact]
    public void Write_FileThatIsNotTheDescribedOne_Throws()
        => Assert.Throws<ArgumentException>(() => CollectionZip.Write(Stream.Null, Contents, (_, _) => "other"u8.ToArray()));

    [Theory]
    [InlineData("../outside.dcm")]
    [InlineData("01/../../outside.dcm")]
    [InlineData("/etc/outside")]
    [InlineData("03/radiograph.dcm")]
    [InlineData("01/extra.exe")]
    public void ReadContents_EntryThatIsNotNamed_IsRefused(string name)
    {
        using ZipArchive zip = Opened(Changed(each => Put(each, name, [1, 2, 3])));

        Assert.Contains("do not name", Assert.Throws<UnreadableCollectionException>(() => CollectionZip.ReadContents(zip)).Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("\"folder\": \"01\"", "\"folder\": \"..\"")]
    [InlineData("\"folder\": \"02\"", "\"folder\": \"01\"")]
    [InlineData("\"name\": \"radiograph.dcm\"", "\"name\": \"../radiograph.dcm\"")]
    [InlineData("\"name\": \"radiograph.png\"", "\"name\": \"measurements.json\"")]
    [InlineData("hotlight.collection/1", "hotlight.collection/2")]
    [InlineData("\"title\": \"Wrist PA\"", "\"title\": \"\"")]
    [InlineData("\"title\": \"Wrist PA\"", "\"unknown\": \"Wrist PA\"")]
    [InlineData("\"schema\"", "\"title\"")]
    [InlineData("{", "")]
    public void ReadContents_ThatCannotBe_IsRefusedInASentence(string from, string to)
    {
        using ZipArchive zip = Opened(Changed(each =>
        {
            using var reader = new StreamReader(each.GetEntry(CollectionZip.ContentsName)!.Open());
            string text = reader.ReadToEnd();
            reader.Dispose();
            int at = text.IndexOf(from, StringComparison.Ordinal);
            Assert.True(at >= 0, from);
            Put(each, CollectionZip.ContentsName, Encoding.UTF8.GetBytes(text.Remove(at, from.Length).Insert(at, to)));
        }));

        Assert.EndsWith(".", Assert.Throws<UnreadableCollectionException>(() => CollectionZip.ReadContents(zip)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void ReadFile_ChangedMissingOrGrown_IsRefused()
    {
        byte[] other = [.. Dicom];
        other[100] ^= 1;
        using ZipArchive changed = Opened(Changed(zip => Put(zip, "01/radiograph.dcm", other)));
        using ZipArchive grown = Opened(Changed(zip => Put(zip, "01/radiograph.dcm", new byte[50_000_000])));
        using ZipArchive missing = Opened(Changed(zip => zip.GetEntry("01/radiograph.dcm")!.Delete()));
        SharedCase of = Contents.Cases[0];

        Assert.Contains("damaged or was changed", Assert.Throws<UnreadableCollectionException>(() => CollectionZip.ReadFile(changed, of, of.Files[0])).Message, StringComparison.Ordinal);
        Assert.Contains("larger", Assert.Throws<UnreadableCollectionException>(() => CollectionZip.ReadFile(grown, of, of.Files[0])).Message, StringComparison.Ordinal);
        Assert.Contains("lacks", Assert.Throws<UnreadableCollectionException>(() => CollectionZip.ReadFile(missing, of, of.Files[0])).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void ReadContents_OfAnotherZip_SaysThatItIsNoCollection()
    {
        using var stream = new MemoryStream();
        using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true))
        {
            zip.CreateEntry("letter.txt");
        }

        using ZipArchive opened = Opened(stream.ToArray());
        Assert.Contains("no collection", Assert.Throws<UnreadableCollectionException>(() => CollectionZip.ReadContents(opened)).Message, StringComparison.Ordinal);
    }
}
