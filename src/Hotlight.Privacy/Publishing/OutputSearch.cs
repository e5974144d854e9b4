using System.Buffers;
using System.Buffers.Text;
using System.IO.Compression;
using System.Runtime.InteropServices;
using System.Text;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Privacy.Publishing;

/// <summary>Searches the bytes of files for identifying values, also in what is packed inside: zip, gzip, streams of PDF with their text, base64, texts of PNG, deflated DICOM.</summary>
internal sealed class OutputSearch
{
    private const int Deepest = 4;

    // Names of many patients together would make millions of pairs.
    private const int MostNamesInPairs = 200;
    private const int ShortestBase64 = 24;
    private static readonly SearchValues<char> Base64Letters = SearchValues.Create("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/=-_");
    private const long MostInflatedBytes = 512L << 20;
    private readonly (string Pattern, IdentityKind Kind)[] patterns;
    private readonly (string Folded, IdentityKind Kind)[] folded;
    private readonly SearchValues<string>? search;
    private long inflated;

    /// <summary>Makes the patterns.</summary>
    /// <param name="known">The values.</param>
    /// <param name="written">Texts that the bench wrote: their words in small letters are ordinary words.</param>
    public OutputSearch(KnownIdentity known, IEnumerable<string> written)
    {
        HashSet<string> ordinary = new(written.SelectMany(DescriptorWords.Words).Where(word => char.IsLower(word[0])).Select(FoldedText.Fold), StringComparer.Ordinal);
        List<(string Pattern, IdentityKind Kind)> found = [];
        List<(string Folded, IdentityKind Kind)> texts = [];
        HashSet<(IdentityKind, string)> counted = [];
        foreach (KnownValue value in known.Values)
        {
            bool isPlainWord = value.IsName && (value.IsTerm || ordinary.Contains(value.Folded) || value.Folded.Length <= 3);
            if (isPlainWord || (value.Text.All(char.IsAsciiDigit) && value.Text.Length < 6))
            {
                continue;
            }

            counted.Add((value.Kind, value.Text));
            texts.Add((value.Folded, value.Kind));
            foreach (string form in new[] { value.Text, value.Folded, value.Text.Normalize(NormalizationForm.FormD) })
            {
                // Bytes are searched as Latin-1 letters: a value's UTF-8 bytes become such letters too.
                found.Add((form, value.Kind));
                found.Add((Encoding.Latin1.GetString(Encoding.UTF8.GetBytes(form)), value.Kind));
            }
        }

        // Words of one name beside each other count even where each alone is an ordinary word.
        KnownValue[] names = [.. known.Values.Where(value => value.IsName && value.Folded.Length >= 2)];
        if (names.Length > MostNamesInPairs)
        {
            names = [];
        }

        foreach (KnownValue one in names)
        {
            foreach (KnownValue other in names.Where(other => other.Kind == one.Kind && other.Folded != one.Folded && one.Folded.Length + other.Folded.Length >= 5))
            {
                texts.Add(($"{one.Folded} {other.Folded}", one.Kind));
                foreach (string joint in new[] { "^", ", ", " ", "_", "-", "." })
                {
                    found.Add(($"{one.Text}{joint}{other.Text}", one.Kind));
                }
            }
        }

        Values = counted.Count;
        patterns = [.. found.Where(each => each.Pattern.Length >= 3).Distinct()];
        folded = [.. texts.Distinct()];
        search = patterns.Length == 0 ? null : SearchValues.Create([.. patterns.Select(each => each.Pattern).Distinct(StringComparer.OrdinalIgnoreCase)], StringComparison.OrdinalIgnoreCase);
    }

    /// <summary>How many values are searched for; words of names that are ordinary words, and numbers of fewer than six figures, are not alone.</summary>
    public int Values { get; }

    /// <summary>What stands in a file, each kind and place once.</summary>
    /// <param name="content">The file.</param>
    public IReadOnlyList<(IdentityKind Kind, string? Inside)> Search(ReadOnlyMemory<byte> content)
    {
        HashSet<(IdentityKind, string?)> found = [];
        inflated = 0;
        if (search is not null)
        {
            Bytes(content, null, 0, found);
        }

        return [.. found];
    }

    /// <summary>The kinds of value that stand in some bytes as they are, without opening what is packed.</summary>
    /// <param name="content">The bytes.</param>
    public IReadOnlyList<IdentityKind> Kinds(ReadOnlyMemory<byte> content)
    {
        HashSet<(IdentityKind, string?)> found = [];
        if (search is not null)
        {
            Bytes(content, null, Deepest, found);
        }

        return [.. found.Select(each => each.Item1)];
    }

    private void Bytes(ReadOnlyMemory<byte> content, string? inside, int depth, HashSet<(IdentityKind, string?)> found)
    {
        string plain = Encoding.Latin1.GetString(content.Span);
        Letters(plain, inside, found);

        // The same as 16-bit letters, at even and odd places and both orders.
        ReadOnlySpan<byte> span = content.Span;
        if (HasWideText(span))
        {
            ushort[] turned = ArrayPool<ushort>.Shared.Rent((span.Length / 2) + 1);
            for (int start = 0; start < 2; start++)
            {
                ReadOnlySpan<ushort> words = MemoryMarshal.Cast<byte, ushort>(span[start..]);
                Letters(MemoryMarshal.Cast<ushort, char>(BitConverter.IsLittleEndian ? words : Turned(words, turned)), inside, found);
                Letters(MemoryMarshal.Cast<ushort, char>(BitConverter.IsLittleEndian ? Turned(words, turned) : words), inside, found);
            }

            ArrayPool<ushort>.Shared.Return(turned);
        }

        if (depth >= Deepest)
        {
            return;
        }

        if (span.StartsWith("PK\u0003\u0004"u8))
        {
            Zip(content, depth, found);
        }
        else if (span.StartsWith("%PDF-"u8))
        {
            Pdf(plain, content, depth, found);
        }
        else if (span.StartsWith((ReadOnlySpan<byte>)[0x1F, 0x8B]))
        {
            Inflated(content, stream => new GZipStream(stream, CompressionMode.Decompress), "a packed stream", depth, found);
        }
        else if (span.StartsWith((ReadOnlySpan<byte>)[0x89, 0x50, 0x4E, 0x47]))
        {
            Png(content, depth, found);
        }
        else if (DicomContent.LooksLikeDicom(span))
        {
            Deflated(content, depth, found);
        }

        Base64Runs(plain, depth, found);
    }

    // A byte of 0 beside a letter, over and over: text of 16-bit letters. Pixels of a file with such bytes are searched too, which costs time and nothing else.
    private static bool HasWideText(ReadOnlySpan<byte> bytes)
    {
        int seen = 0;
        for (int place = 0; place + 3 < bytes.Length; place++)
        {
            if (bytes[place] == 0 && bytes[place + 2] == 0 && bytes[place + 1] is >= 0x20 and < 0x7F && bytes[place + 3] is >= 0x20 and < 0x7F && ++seen > 2)
            {
                return true;
            }
        }

        return false;
    }

    private static ReadOnlySpan<ushort> Turned(ReadOnlySpan<ushort> words, ushort[] room)
    {
        System.Buffers.Binary.BinaryPrimitives.ReverseEndianness(words, room);
        return room.AsSpan(0, words.Length);
    }

    private void Letters(ReadOnlySpan<char> text, string? inside, HashSet<(IdentityKind, string?)> found)
    {
        int at = 0;
        while (at < text.Length)
        {
            int next = text[at..].IndexOfAny(search!);
            if (next < 0)
            {
                return;
            }

            at += next;
            foreach ((string pattern, IdentityKind kind) in patterns)
            {
                if (at + pattern.Length <= text.Length && text.Slice(at, pattern.Length).Equals(pattern, StringComparison.OrdinalIgnoreCase) && IsWhole(text, at, pattern.Length))
                {
                    found.Add((kind, inside));
                }
            }

            at++;
        }
    }

    private static bool IsWhole(ReadOnlySpan<char> text, int at, int length)
        => (at == 0 || !char.IsAsciiLetterOrDigit(text[at - 1]) || !char.IsLetterOrDigit(text[at]))
            && (at + length >= text.Length || !char.IsAsciiLetterOrDigit(text[at + length]) || !char.IsLetterOrDigit(text[at + length - 1]));

    private void Text(string text, string inside, HashSet<(IdentityKind, string?)> found)
    {
        FoldedText read = new(text);
        foreach ((string value, IdentityKind kind) in folded)
        {
            if (read.PlacesOf(value).Any())
            {
                found.Add((kind, inside));
            }
        }
    }

    private void Zip(ReadOnlyMemory<byte> content, int depth, HashSet<(IdentityKind, string?)> found)
    {
        try
        {
            using ZipArchive archive = new(new MemoryStream(content.ToArray(), writable: false), ZipArchiveMode.Read);
            foreach (ZipArchiveEntry entry in archive.Entries)
            {
                Text(entry.FullName, "the name of a packed file", found);
                using Stream stream = entry.Open();
                Bytes(ReadAll(stream), "a packed file", depth + 1, found);
            }
        }
        catch (InvalidDataException)
        {
            // No zip, or a damaged one: its bytes were searched as they are.
        }
    }

    private void Pdf(string plain, ReadOnlyMemory<byte> content, int depth, HashSet<(IdentityKind, string?)> found)
    {
        List<byte[]> streams = [];
        for (int at = plain.IndexOf("stream", StringComparison.Ordinal); at >= 0; at = plain.IndexOf("stream", at + 6, StringComparison.Ordinal))
        {
            if (at >= 3 && plain.AsSpan(at - 3, 3).SequenceEqual("end"))
            {
                continue;
            }

            int start = at + 6;
            start += start < plain.Length && plain[start] == '\r' ? 1 : 0;
            start += start < plain.Length && plain[start] == '\n' ? 1 : 0;
            int end = plain.IndexOf("endstream", start, StringComparison.Ordinal);
            if (end < 0)
            {
                break;
            }

            // Pixels and fonts are no text, and their bytes as they stand were searched.
            string dictionary = plain[Math.Max(0, at - 600)..at];
            dictionary = dictionary[Math.Max(0, dictionary.LastIndexOf(" obj", StringComparison.Ordinal))..];
            if (dictionary.Contains("FlateDecode", StringComparison.Ordinal) && TryInflate(content[start..end]) is { } stream)
            {
                streams.Add(stream);
                if (!dictionary.Contains("/Image", StringComparison.Ordinal))
                {
                    Bytes(stream, "a stream", depth + 1, found);
                }
            }
            else
            {
                streams.Add(content[start..end].ToArray());
            }

            at = end;
        }

        foreach (string text in PdfText.Of([.. streams.Where(stream => stream.Length < 8 << 20)]))
        {
            Text(text, "the text of its pages", found);
        }
    }

    private void Png(ReadOnlyMemory<byte> content, int depth, HashSet<(IdentityKind, string?)> found)
    {
        int at = 8;
        while (at + 12 <= content.Length)
        {
            uint length = System.Buffers.Binary.BinaryPrimitives.ReadUInt32BigEndian(content.Span[at..]);
            if (length > content.Length - at - 12)
            {
                return;
            }

            ReadOnlyMemory<byte> body = content.Slice(at + 8, (int)length);
            string kind = Encoding.ASCII.GetString(content.Span.Slice(at + 4, 4));
            if (kind is "zTXt" or "iTXt" or "iCCP")
            {
                // The packed part begins where a zlib stream does.
                for (int start = 0; start + 2 < body.Length; start++)
                {
                    if (body.Span[start] == 0x78 && TryInflate(body[start..]) is { } text)
                    {
                        Bytes(text, "a text of a picture", depth + 1, found);
                        break;
                    }
                }
            }

            at += 12 + (int)length;
        }
    }

    private void Deflated(ReadOnlyMemory<byte> content, int depth, HashSet<(IdentityKind, string?)> found)
    {
        try
        {
            DicomContent file = DicomContent.Read(content, "x");
            if (file.TransferSyntaxUid == "1.2.840.10008.1.2.1.99")
            {
                Bytes(file.Write(file.Dataset), "a packed file", depth + 1, found);
            }
        }
        catch (Core.UnreadableImageException)
        {
            // Its bytes were searched as they are.
        }
    }

    private void Base64Runs(string text, int depth, HashSet<(IdentityKind, string?)> found)
    {
        ReadOnlySpan<char> rest = text;
        for (int start = rest.IndexOfAny(Base64Letters); start >= 0; start = rest.IndexOfAny(Base64Letters))
        {
            rest = rest[start..];
            int length = rest.IndexOfAnyExcept(Base64Letters);
            length = length < 0 ? rest.Length : length;
            if (length >= ShortestBase64)
            {
                Decode(rest[..length].TrimEnd('=').ToString().Replace('-', '+').Replace('_', '/'), depth, found);
            }

            rest = rest[length..];
        }
    }

    private void Decode(string run, int depth, HashSet<(IdentityKind, string?)> found)
    {
        // A data URI is joined to its text by a comma, so the run begins where it does; a run of other letters decodes to noise.
        int cut = run.Length - (run.Length % 4 == 1 ? 1 : 0);
        byte[] bytes = new byte[(cut / 4 * 3) + 3];
        string padded = run[..cut] + new string('=', (4 - (cut % 4)) % 4);
        if (Convert.TryFromBase64String(padded, bytes, out int length) && length > 0)
        {
            Bytes(bytes.AsMemory(0, length), "coded data", depth + 1, found);
        }
    }

    private void Inflated(ReadOnlyMemory<byte> content, Func<Stream, Stream> open, string inside, int depth, HashSet<(IdentityKind, string?)> found)
    {
        try
        {
            using Stream stream = open(new MemoryStream(content.ToArray(), writable: false));
            Bytes(ReadAll(stream), inside, depth + 1, found);
        }
        catch (InvalidDataException)
        {
            // Not packed after all: its bytes were searched as they are.
        }
    }

    private byte[]? TryInflate(ReadOnlyMemory<byte> content)
    {
        try
        {
            using ZLibStream stream = new(new MemoryStream(content.ToArray(), writable: false), CompressionMode.Decompress);
            return ReadAll(stream);
        }
        catch (InvalidDataException)
        {
            return null;
        }
    }

    private byte[] ReadAll(Stream stream)
    {
        using MemoryStream all = new();
        byte[] block = new byte[1 << 16];
        for (int read = stream.Read(block); read > 0; read = stream.Read(block))
        {
            inflated += read;
            if (inflated > MostInflatedBytes)
            {
                throw new PublicationStoppedException([new PublicationFinding(IdentityKind.FilePart, "a packed file", "A packed file is too large to be searched.")]);
            }

            all.Write(block, 0, read);
        }

        return all.ToArray();
    }
}
