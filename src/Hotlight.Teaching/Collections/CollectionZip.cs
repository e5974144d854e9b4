using System.Globalization;
using System.IO.Compression;
using System.Security.Cryptography;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hotlight.Teaching.Collections;

/// <summary>A collection as one file: a zip of DICOM, JSON and the measurement documents (docs/collections.md). The same cases give the same bytes.</summary>
/// <remarks>Reading trusts nothing: a name that leads out of its folder, an entry that the contents do not name, a size or a sum that is not as said, and an entry that unpacks to more than it says are each an error, and nothing is taken.</remarks>
public static class CollectionZip
{
    /// <summary>Name of the file that says what the others are.</summary>
    public const string ContentsName = "collection.json";

    /// <summary>Name of the file for a person who opens the zip.</summary>
    public const string ReadMeName = "README.txt";

    /// <summary>Largest file of a case, in bytes.</summary>
    public const long MostFileBytes = 512L * 1024 * 1024;

    private const long MostContentsBytes = 4 * 1024 * 1024;
    private const int MostFilesOfACase = 8;
    private const int LongestText = 20_000;

    // A zip's own time of writing would make every file another one; this is the earliest that the form can hold.
    private static readonly DateTimeOffset NoTime = new(1980, 1, 1, 0, 0, 0, TimeSpan.Zero);

    private static readonly JsonSerializerOptions Json = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        WriteIndented = true,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        AllowDuplicateProperties = false,
    };

    /// <summary>Sum and size of a file, as the contents say them.</summary>
    /// <param name="name">Its name in the case's folder.</param>
    /// <param name="content">Its bytes.</param>
    public static SharedFile Describe(string name, byte[] content)
    {
        ArgumentNullException.ThrowIfNull(content);
        return new SharedFile(name, content.LongLength, Convert.ToHexStringLower(SHA256.HashData(content)));
    }

    /// <summary>Writes a collection.</summary>
    /// <param name="target">Where to; left open.</param>
    /// <param name="collection">The contents.</param>
    /// <param name="fileOf">Bytes of a file: its case and its name. Asked for once for each file, in order.</param>
    public static void Write(Stream target, SharedCollection collection, Func<SharedCase, string, byte[]> fileOf)
    {
        ArgumentNullException.ThrowIfNull(target);
        ArgumentNullException.ThrowIfNull(collection);
        ArgumentNullException.ThrowIfNull(fileOf);
        using var zip = new ZipArchive(target, ZipArchiveMode.Create, leaveOpen: true, Encoding.UTF8);
        Put(zip, ContentsName, JsonSerializer.SerializeToUtf8Bytes(collection, Json));
        Put(zip, ReadMeName, Encoding.UTF8.GetBytes(ReadMe(collection)));
        foreach (SharedCase each in collection.Cases)
        {
            foreach (SharedFile file in each.Files)
            {
                byte[] content = fileOf(each, file.Name);
                if (Describe(file.Name, content) != file)
                {
                    throw new ArgumentException($"The file {each.Folder}/{file.Name} is not the one that the contents describe.", nameof(fileOf));
                }

                Put(zip, $"{each.Folder}/{file.Name}", content);
            }
        }
    }

    /// <summary>Reads the contents of a collection and checks that the zip holds what they name and nothing else; the files themselves are read by <see cref="ReadFile"/>.</summary>
    /// <param name="zip">The zip, opened for reading.</param>
    /// <exception cref="UnreadableCollectionException">It is none, or of another version, or damaged.</exception>
    public static SharedCollection ReadContents(ZipArchive zip)
    {
        ArgumentNullException.ThrowIfNull(zip);
        try
        {
            return Contents(zip);
        }
        catch (InvalidDataException error)
        {
            // The table of entries is read when it is first asked for.
            throw new UnreadableCollectionException("The zip of the collection is damaged; nothing was taken.", error);
        }
    }

    private static SharedCollection Contents(ZipArchive zip)
    {
        ZipArchiveEntry contents = zip.GetEntry(ContentsName) ?? throw new UnreadableCollectionException($"This is no collection: the zip holds no {ContentsName}.");
        SharedCollection collection;
        try
        {
            collection = JsonSerializer.Deserialize<SharedCollection>(Bytes(contents, MostContentsBytes), Json) ?? throw new UnreadableCollectionException($"The {ContentsName} of the collection is empty.");
        }
        catch (JsonException error)
        {
            throw new UnreadableCollectionException($"The {ContentsName} of the collection cannot be read: it is damaged or of another version.", error);
        }

        if (collection.Schema != SharedCollection.SchemaName)
        {
            throw new UnreadableCollectionException($"The collection is of the form '{Shown(collection.Schema)}'; this version opens {SharedCollection.SchemaName}.");
        }

        Check(collection);
        HashSet<string> named = [ContentsName, ReadMeName, .. collection.Cases.SelectMany(each => each.Files.Select(file => $"{each.Folder}/{file.Name}"))];
        foreach (ZipArchiveEntry entry in zip.Entries)
        {
            if (!named.Contains(entry.FullName))
            {
                throw new UnreadableCollectionException($"The collection holds '{Shown(entry.FullName)}', which its contents do not name; nothing was taken.");
            }
        }

        return zip.Entries.Select(entry => entry.FullName).Distinct(StringComparer.Ordinal).Count() == zip.Entries.Count
            ? collection
            : throw new UnreadableCollectionException("The collection holds a file twice; nothing was taken.");
    }

    /// <summary>Reads one file of a case and checks its size and sum.</summary>
    /// <param name="zip">The zip, opened for reading.</param>
    /// <param name="of">The case.</param>
    /// <param name="file">The file.</param>
    /// <exception cref="UnreadableCollectionException">It is missing, or not what the contents say.</exception>
    public static byte[] ReadFile(ZipArchive zip, SharedCase of, SharedFile file)
    {
        ArgumentNullException.ThrowIfNull(zip);
        ArgumentNullException.ThrowIfNull(of);
        ArgumentNullException.ThrowIfNull(file);
        ZipArchiveEntry entry = zip.GetEntry($"{of.Folder}/{file.Name}") ?? throw new UnreadableCollectionException($"The collection lacks {of.Folder}/{file.Name}.");
        byte[] content = Bytes(entry, Math.Min(file.Bytes, MostFileBytes));
        return Describe(file.Name, content) == file ? content : throw new UnreadableCollectionException($"The file {of.Folder}/{file.Name} of the collection is not as its contents say: it is damaged or was changed.");
    }

    private static void Check(SharedCollection collection)
    {
        if (collection.Cases.Count > SharedCollection.MostCases)
        {
            throw new UnreadableCollectionException($"The collection has {collection.Cases.Count} cases; {SharedCollection.MostCases} are the most.");
        }

        if (string.IsNullOrWhiteSpace(collection.Title) || collection.Title.Length > 200 || collection.Words.Length > LongestText)
        {
            throw new UnreadableCollectionException("The collection's title or words are missing or too long.");
        }

        string[] known = [SharedFileNames.Dicom, SharedFileNames.Picture, SharedFileNames.Measurements, SharedFileNames.Answers, SharedFileNames.Slide];
        foreach (SharedCase each in collection.Cases)
        {
            bool isFolder = each.Folder.Length is > 0 and <= 3 && each.Folder.All(char.IsAsciiDigit);
            if (!isFolder || collection.Cases.Count(other => other.Folder == each.Folder) > 1)
            {
                throw new UnreadableCollectionException("A case of the collection lies in a folder that is none of its own; nothing was taken.");
            }

            if (string.IsNullOrWhiteSpace(each.Title) || each.Title.Length > 200 || each.Words.Length > LongestText || each.Tags.Sum(tag => tag.Length + 2) > 202)
            {
                throw new UnreadableCollectionException($"Title, words or tags of the case in the folder {each.Folder} are missing or too long.");
            }

            if (each.Files.Count > MostFilesOfACase || each.Files.Any(file => !known.Contains(file.Name, StringComparer.Ordinal) || file.Bytes is < 1 or > MostFileBytes)
                || each.Files.Count(file => file.Name is SharedFileNames.Dicom or SharedFileNames.Picture) != 1)
            {
                throw new UnreadableCollectionException($"The case in the folder {each.Folder} does not hold one radiograph and the files that belong to it; nothing was taken.");
            }
        }
    }

    private static byte[] Bytes(ZipArchiveEntry entry, long most)
    {
        try
        {
            // The size in the zip's directory is only a claim: what comes out is counted.
            using Stream source = entry.Length > most ? throw TooLarge(entry) : entry.Open();
            using var target = new MemoryStream();
            byte[] block = new byte[81920];
            int read;
            while ((read = source.Read(block)) > 0)
            {
                if (target.Length + read > most)
                {
                    throw TooLarge(entry);
                }

                target.Write(block, 0, read);
            }

            return target.ToArray();
        }
        catch (Exception error) when (error is InvalidDataException or IOException)
        {
            throw new UnreadableCollectionException($"The file '{Shown(entry.FullName)}' of the collection cannot be unpacked: the zip is damaged.", error);
        }
    }

    private static UnreadableCollectionException TooLarge(ZipArchiveEntry entry) => new($"The file '{Shown(entry.FullName)}' of the collection is larger than it says or than is taken; nothing was taken.");

    /// <summary>A name of a foreign file, short and without control characters.</summary>
    private static string Shown(string name) => string.Concat(name.Take(60).Select(letter => char.IsControl(letter) ? '?' : letter));

    private static void Put(ZipArchive zip, string name, byte[] content)
    {
        // Pictures are packed already.
        ZipArchiveEntry entry = zip.CreateEntry(name, name.EndsWith(".png", StringComparison.Ordinal) ? CompressionLevel.NoCompression : CompressionLevel.Optimal);
        entry.LastWriteTime = NoTime;
        using Stream stream = entry.Open();
        stream.Write(content);
    }

    private static string ReadMe(SharedCollection collection)
    {
        var text = new StringBuilder();
        text.Append(collection.Title).Append("\n\n");
        if (collection.Words.Length > 0)
        {
            text.Append(collection.Words.ReplaceLineEndings("\n")).Append("\n\n");
        }

        foreach (SharedCase each in collection.Cases)
        {
            text.Append(each.Folder).Append("  ").Append(each.Title).Append(each.IsInvented ? " (invented: no person was exposed)" : string.Empty).Append('\n');
        }

        text.Append(CultureInfo.InvariantCulture, $"\n{collection.Caution}\n\nEach folder holds a radiograph without its patient's identity (DICOM, or PNG where it came as a picture), what was measured on it (measurements.json) and, where the teacher chose so, the answers and a slide. Hotlight opens this file as a whole on its page Collections; every other program opens its parts.\n");
        return text.ToString();
    }
}
