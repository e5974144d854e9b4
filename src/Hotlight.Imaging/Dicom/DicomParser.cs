using System.Buffers.Binary;
using System.Globalization;
using System.IO.Compression;

namespace Hotlight.Imaging.Dicom;

/// <summary>Takes a DICOM file apart (PS3.10 chapter 7, PS3.5 chapter 7). Values are slices of the file's bytes; every length is checked against what is left before it is used.</summary>
internal sealed class DicomParser
{
    private const uint Undefined = 0xFFFFFFFF;
    private const int MaximumDepth = 16;
    private const int MaximumElements = 200_000;

    private readonly ReadOnlyMemory<byte> content;
    private readonly List<string> remarks;
    private readonly CancellationToken cancellation;
    private readonly bool withDictionary;
    private bool stopsAtPixels;
    private bool reachedPixels;
    private int elementCount;

    private DicomParser(ReadOnlyMemory<byte> content, List<string> remarks, bool withDictionary, CancellationToken cancellation)
    {
        this.content = content;
        this.remarks = remarks;
        this.withDictionary = withDictionary;
        this.cancellation = cancellation;
    }

    /// <summary>Whether the bytes begin as a DICOM file does, with a preamble or without.</summary>
    public static bool LooksLikeDicom(ReadOnlySpan<byte> bytes)
        => HasPreamble(bytes) || (bytes.Length >= 8 && bytes[..4].SequenceEqual("DICM"u8)) || (bytes.Length >= 16 && GuessSyntax(bytes) is not null);

    /// <summary>Takes a file apart.</summary>
    /// <param name="content">The file's bytes; borrowed.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <param name="withDictionary">Whether an implicit data set gets the value representations of the whole dictionary, so that every nested sequence is opened; without it only those Hotlight reads from.</param>
    public static DicomFile Parse(ReadOnlyMemory<byte> content, CancellationToken cancellation, bool withDictionary = false)
        => Parse(content, cancellation, withDictionary, stopAtPixels: false, out _);

    /// <summary>Takes the attributes before the pixel data apart; the bytes may end anywhere behind them.</summary>
    /// <param name="content">The file's first bytes; borrowed.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <param name="reachedPixels">Whether pixel data was met, so that nothing before it is missing.</param>
    public static DicomFile ParseHeader(ReadOnlyMemory<byte> content, CancellationToken cancellation, out bool reachedPixels)
        => Parse(content, cancellation, withDictionary: true, stopAtPixels: true, out reachedPixels);

    private static DicomFile Parse(ReadOnlyMemory<byte> content, CancellationToken cancellation, bool withDictionary, bool stopAtPixels, out bool reachedPixels)
    {
        List<string> remarks = [];
        int start = 0;
        if (HasPreamble(content.Span))
        {
            start = 132;
        }
        else if (content.Length >= 4 && content.Span[..4].SequenceEqual("DICM"u8))
        {
            start = 4;
            remarks.Add("The file has no preamble.");
        }
        else
        {
            remarks.Add("The file has no preamble.");
        }

        DicomParser parser = new(content, remarks, withDictionary, cancellation);
        DicomDataset meta = new();
        int position = start;
        if (position + 8 <= content.Length && BinaryPrimitives.ReadUInt16LittleEndian(content.Span[position..]) == 0x0002)
        {
            bool explicitMeta = IsVr(content.Span.Slice(position + 4, 2));
            position = parser.ReadElements(meta, position, content.Length, explicitMeta, isBigEndian: false, depth: 0, stopAfterMeta: true);
        }

        if (meta.Text(Tags.MediaStorageSopClassUid) == "1.2.840.10008.1.3.10")
        {
            throw new ImageFormatException(ObjectPolicy.Directory);
        }

        ReadOnlyMemory<byte> rest = content[position..];
        string? uid = meta.Text(Tags.TransferSyntaxUid);
        TransferSyntax syntax;
        if (uid is null)
        {
            if (rest.Length < 8)
            {
                throw new ImageFormatException("it holds no data set.");
            }

            // Behind a preamble the bytes are DICOM whatever the first group is; without one they must look like it.
            syntax = GuessSyntax(rest.Span) ?? (start == 0 && meta.Elements.Count == 0
                ? throw new ImageFormatException("it names no transfer syntax and its bytes do not show one.")
                : IsVr(rest.Span.Slice(4, 2)) ? TransferSyntax.Explicit : TransferSyntax.Implicit);
            if (start != 0 || meta.Elements.Count > 0)
            {
                remarks.Add("The file names no transfer syntax; it was told from its bytes.");
            }
        }
        else
        {
            syntax = TransferSyntax.Of(uid);
        }

        if (syntax.IsDeflated)
        {
            rest = Inflate(rest, cancellation);
        }

        bool isExplicit = syntax.IsExplicit;
        bool isBigEndian = syntax.IsBigEndian;
        if (rest.Length >= 8 && !syntax.IsDeflated && GuessSyntax(rest.Span) is { } seen && (seen.IsExplicit != isExplicit || seen.IsBigEndian != isBigEndian))
        {
            // The header says one thing and the bytes another: only the bytes can be read.
            remarks.Add($"The file says its data set is {syntax.Name}, but it is written as {seen.Name}.");
            isExplicit = seen.IsExplicit;
            isBigEndian = seen.IsBigEndian;
            if (syntax.Coding == PixelCoding.Native)
            {
                syntax = seen;
            }
        }

        DicomParser body = new(rest, remarks, withDictionary, cancellation) { stopsAtPixels = stopAtPixels };
        DicomDataset dataset = new();
        body.ReadElements(dataset, 0, rest.Length, isExplicit, isBigEndian, depth: 0, stopAfterMeta: false);
        reachedPixels = body.reachedPixels;
        return new DicomFile(meta, dataset, syntax, remarks);
    }

    /// <summary>Whether "DICM" follows 128 bytes of preamble.</summary>
    public static bool HasPreamble(ReadOnlySpan<byte> bytes) => bytes.Length >= 132 && bytes.Slice(128, 4).SequenceEqual("DICM"u8);

    /// <summary>Tells the uncompressed syntax from the first attribute: its group is small in one byte order and huge in the other.</summary>
    private static TransferSyntax? GuessSyntax(ReadOnlySpan<byte> bytes)
    {
        ushort little = BinaryPrimitives.ReadUInt16LittleEndian(bytes);
        ushort big = BinaryPrimitives.ReadUInt16BigEndian(bytes);
        bool isVr = IsVr(bytes.Slice(4, 2));
        if (IsFirstGroup(little))
        {
            if (isVr)
            {
                return TransferSyntax.Explicit;
            }

            // An implicit length follows; text files and other formats make it absurd.
            uint length = BinaryPrimitives.ReadUInt32LittleEndian(bytes[4..]);
            return length == Undefined || (length & 1) == 0 && length <= 4096 ? TransferSyntax.Implicit : null;
        }

        return IsFirstGroup(big) && isVr ? TransferSyntax.BigEndian : null;
    }

    private static bool IsFirstGroup(ushort group) => group is 0x0002 or 0x0004 or 0x0008 or 0x0010 or 0x0018 or 0x0028;

    private static bool IsVr(ReadOnlySpan<byte> two) => two[0] is >= (byte)'A' and <= (byte)'Z' && two[1] is >= (byte)'A' and <= (byte)'Z';

    private static ReadOnlyMemory<byte> Inflate(ReadOnlyMemory<byte> deflated, CancellationToken cancellation)
    {
        using DeflateStream inflater = new(new SliceStream([deflated]), CompressionMode.Decompress);
        List<byte[]> blocks = [];
        long total = 0;
        try
        {
            while (true)
            {
                cancellation.ThrowIfCancellationRequested();
                byte[] block = GC.AllocateUninitializedArray<byte>(1 << 20);
                int read = inflater.ReadAtLeast(block, block.Length, throwOnEndOfStream: false);
                total += read;
                if (total > ImageLimits.MaximumInflatedBytes)
                {
                    throw new ImageFormatException($"its deflated data set grows beyond {ImageLimits.MaximumInflatedBytes / (1024 * 1024)} MiB.");
                }

                blocks.Add(block);
                if (read < block.Length)
                {
                    break;
                }
            }
        }
        catch (InvalidDataException error)
        {
            throw new ImageFormatException("its deflated data set is damaged.", error);
        }

        byte[] result = GC.AllocateUninitializedArray<byte>((int)total);
        for (int i = 0; i < blocks.Count; i++)
        {
            int start = i << 20;
            blocks[i].AsSpan(0, Math.Min(1 << 20, result.Length - start)).CopyTo(result.AsSpan(start));
        }

        return result;
    }

    /// <summary>Reads attributes from <paramref name="position"/> up to <paramref name="end"/> or to an item's delimiter; returns where it stopped.</summary>
    private int ReadElements(DicomDataset dataset, int position, int end, bool isExplicit, bool isBigEndian, int depth, bool stopAfterMeta)
    {
        if (depth > MaximumDepth)
        {
            throw new ImageFormatException($"its sequences are nested more than {MaximumDepth} deep.");
        }

        ReadOnlySpan<byte> bytes = content.Span;
        bool hasPixels = false;
        while (position < end)
        {
            if (end - position < 8)
            {
                if (depth == 0 && !stopAfterMeta && (hasPixels || bytes[position..end].IndexOfAnyExcept((byte)0) < 0))
                {
                    remarks.Add("Stray bytes follow the last attribute.");
                    return end;
                }

                throw new ImageFormatException("it ends in the middle of an attribute.");
            }

            if (++elementCount > MaximumElements)
            {
                throw new ImageFormatException($"it holds more than {MaximumElements} attributes.");
            }

            if ((elementCount & 0xFF) == 0)
            {
                cancellation.ThrowIfCancellationRequested();
            }

            DicomTag tag = ReadTag(bytes[position..], isBigEndian);
            if (stopAfterMeta && tag.Group != 0x0002)
            {
                return position;
            }

            if (tag == Tags.ItemDelimitation && depth > 0)
            {
                return position + 8;
            }

            if (stopsAtPixels && depth == 0 && tag.Group == Tags.PixelData.Group)
            {
                reachedPixels = true;
                return end;
            }

            int headerStart = position;
            position += 4;
            string vr;
            uint length;
            if (tag.Group == 0xFFFE)
            {
                // Delimiters without a sequence around them carry nothing.
                length = ReadUInt32(bytes[position..], isBigEndian);
                position += 4;
                if (length is not 0 and not Undefined)
                {
                    throw new ImageFormatException($"it has a stray delimiter {tag} with a length.");
                }

                continue;
            }

            if (isExplicit && IsVr(bytes.Slice(position, 2)))
            {
                vr = string.Create(2, (bytes[position], bytes[position + 1]), static (span, two) =>
                {
                    span[0] = (char)two.Item1;
                    span[1] = (char)two.Item2;
                });
                if (HasLongLength(vr))
                {
                    if (end - position < 8)
                    {
                        throw new ImageFormatException($"it ends in the middle of {tag}.");
                    }

                    length = ReadUInt32(bytes[(position + 4)..], isBigEndian);
                    position += 8;
                }
                else
                {
                    length = isBigEndian ? BinaryPrimitives.ReadUInt16BigEndian(bytes[(position + 2)..]) : BinaryPrimitives.ReadUInt16LittleEndian(bytes[(position + 2)..]);
                    position += 4;
                }
            }
            else
            {
                vr = (withDictionary ? DicomDictionary.VrOf(tag) : null) ?? Tags.ImplicitVr(tag);
                length = ReadUInt32(bytes[position..], isBigEndian);
                position += 4;
                if (isExplicit && length != Undefined && length > end - position)
                {
                    if (hasPixels)
                    {
                        remarks.Add("What follows the pixel data is damaged and was left out.");
                        return end;
                    }

                    throw new ImageFormatException($"its attribute {tag} has no value representation and no sensible length.");
                }
            }

            hasPixels |= tag == Tags.PixelData && depth == 0;
            if (length == Undefined && (tag == Tags.PixelData || vr is "OB" or "OW"))
            {
                // Icons in sequences hold encapsulated pixels too.
                position = ReadFragments(dataset, tag, position, end, isBigEndian);
                continue;
            }

            if (length == Undefined)
            {
                // A sequence; one sent as UN is implicit little endian inside (PS3.5 6.2.2).
                bool asUnknown = vr == "UN" && isExplicit;
                position = ReadSequence(dataset, tag, position, end, undefinedLength: true, !asUnknown && isExplicit, !asUnknown && isBigEndian, depth);
                continue;
            }

            if (vr == "SQ")
            {
                if (length > end - position)
                {
                    throw new ImageFormatException($"it ends in the middle of the sequence {tag}.");
                }

                ReadSequence(dataset, tag, position, position + (int)length, undefinedLength: false, isExplicit, isBigEndian, depth);
                position += (int)length;
                continue;
            }

            bool isCut = length > end - position;
            if (isCut && tag != Tags.PixelData)
            {
                if (hasPixels)
                {
                    remarks.Add("What follows the pixel data is damaged and was left out.");
                    return end;
                }

                throw new ImageFormatException($"it ends in the middle of {tag}, which says it is {length.ToString(CultureInfo.InvariantCulture)} bytes long, {(end - position).ToString(CultureInfo.InvariantCulture)} are left.");
            }

            int taken = (int)Math.Min(length, (uint)(end - position));
            dataset.SetFirst(DicomElement.OfValue(tag, vr, content.Slice(position, taken), isBigEndian, isCut));
            position += taken;
            if (position <= headerStart)
            {
                throw new ImageFormatException($"its attribute {tag} has no sensible length.");
            }
        }

        return position;
    }

    private int ReadSequence(DicomDataset dataset, DicomTag tag, int position, int end, bool undefinedLength, bool isExplicit, bool isBigEndian, int depth)
    {
        List<DicomDataset> items = [];
        ReadOnlySpan<byte> bytes = content.Span;
        while (position < end)
        {
            if (end - position < 8)
            {
                throw new ImageFormatException($"it ends in the middle of the sequence {tag}.");
            }

            DicomTag mark = ReadTag(bytes[position..], isBigEndian);
            uint length = ReadUInt32(bytes[(position + 4)..], isBigEndian);
            if (mark == Tags.SequenceDelimitation)
            {
                position += 8;
                undefinedLength = false;
                break;
            }

            if (mark != Tags.Item)
            {
                throw new ImageFormatException($"its sequence {tag} holds {mark} where an item should begin.");
            }

            position += 8;
            if (length != Undefined && length > end - position)
            {
                throw new ImageFormatException($"it ends in the middle of the sequence {tag}.");
            }

            if (++elementCount > MaximumElements)
            {
                throw new ImageFormatException($"it holds more than {MaximumElements} attributes.");
            }

            DicomDataset item = new();
            if (dataset.Find(Tags.SpecificCharacterSet) is { } characterSet)
            {
                item.SetFirst(characterSet);
            }

            int itemEnd = length == Undefined ? end : position + (int)length;
            int stopped = ReadElements(item, position, itemEnd, isExplicit, isBigEndian, depth + 1, stopAfterMeta: false);
            position = length == Undefined ? stopped : itemEnd;
            items.Add(item);
        }

        if (undefinedLength)
        {
            throw new ImageFormatException($"it ends in the middle of the sequence {tag}.");
        }

        dataset.SetFirst(DicomElement.OfItems(tag, items));
        return position;
    }

    private int ReadFragments(DicomDataset dataset, DicomTag tag, int position, int end, bool isBigEndian)
    {
        List<ReadOnlyMemory<byte>> fragments = [];
        ReadOnlySpan<byte> bytes = content.Span;
        bool isCut = true;
        while (end - position >= 8)
        {
            DicomTag mark = ReadTag(bytes[position..], isBigEndian);
            uint length = ReadUInt32(bytes[(position + 4)..], isBigEndian);
            if (mark == Tags.SequenceDelimitation)
            {
                position += 8;
                isCut = false;
                break;
            }

            if (mark != Tags.Item || length == Undefined)
            {
                throw new ImageFormatException($"its compressed pixel data holds {mark} where a fragment should begin.");
            }

            if (++elementCount > MaximumElements)
            {
                throw new ImageFormatException($"its compressed pixel data is in more than {MaximumElements} fragments.");
            }

            position += 8;
            int taken = (int)Math.Min(length, (uint)(end - position));
            fragments.Add(content.Slice(position, taken));
            position += taken;
            if (taken < length)
            {
                dataset.SetFirst(DicomElement.OfFragments(tag, fragments, isCut: true));
                return end;
            }
        }

        // A missing end mark after whole fragments loses nothing; the decoder finds out whether the picture is whole.
        if (isCut)
        {
            remarks.Add("The compressed pixel data has no end mark.");
        }

        dataset.SetFirst(DicomElement.OfFragments(tag, fragments));
        return isCut ? end : position;
    }

    private static bool HasLongLength(string vr) => vr is "OB" or "OW" or "OF" or "OD" or "OL" or "OV" or "SQ" or "UC" or "UR" or "UT" or "UN" or "SV" or "UV";

    private static DicomTag ReadTag(ReadOnlySpan<byte> bytes, bool isBigEndian)
        => isBigEndian
            ? new DicomTag(BinaryPrimitives.ReadUInt16BigEndian(bytes), BinaryPrimitives.ReadUInt16BigEndian(bytes[2..]))
            : new DicomTag(BinaryPrimitives.ReadUInt16LittleEndian(bytes), BinaryPrimitives.ReadUInt16LittleEndian(bytes[2..]));

    private static uint ReadUInt32(ReadOnlySpan<byte> bytes, bool isBigEndian)
        => isBigEndian ? BinaryPrimitives.ReadUInt32BigEndian(bytes) : BinaryPrimitives.ReadUInt32LittleEndian(bytes);
}
