using System.Buffers.Binary;

namespace Hotlight.Teaching.WalkThroughs;

/// <summary>Writes uncompressed pictures with their times to a stream, as Matroska (RFC 9559): what a video encoder reads, each picture at its own time.</summary>
/// <remarks>Only what that needs: one track V_UNCOMPRESSED of planes I420, a cluster for each picture, sizes known but for the segment's.</remarks>
public sealed class UncompressedFilm
{
    private readonly Stream stream;
    private readonly int pictureBytes;

    /// <summary>Begins a film.</summary>
    /// <param name="stream">Takes it; borrowed.</param>
    /// <param name="widthPixels">Width, even.</param>
    /// <param name="heightPixels">Height, even.</param>
    public UncompressedFilm(Stream stream, int widthPixels, int heightPixels)
    {
        ArgumentNullException.ThrowIfNull(stream);
        this.stream = stream;
        pictureBytes = widthPixels * heightPixels * 3 / 2;
        byte[] head = Element(0x1A45DFA3, [.. Number(0x4286, 1), .. Number(0x42F7, 1), .. Number(0x42F2, 4), .. Number(0x42F3, 8), .. Element(0x4282, "matroska"u8), .. Number(0x4287, 4), .. Number(0x4285, 2)]);
        byte[] information = Element(0x1549A966, [.. Number(0x2AD7B1, 1_000_000), .. Element(0x4D80, "Hotlight"u8), .. Element(0x5741, "Hotlight"u8)]);
        byte[] colour = Element(0x55B0, [.. Number(0x55B1, 1), .. Number(0x55B9, 1), .. Number(0x55BA, 1), .. Number(0x55BB, 1)]);
        byte[] video = Element(0xE0, [.. Number(0xB0, (ulong)widthPixels), .. Number(0xBA, (ulong)heightPixels), .. Element(0x2EB524, "I420"u8), .. colour]);
        // The usual duration is what the last picture stands for; the others stand until the next.
        byte[] track = Element(0x1654AE6B, Element(0xAE, [.. Number(0xD7, 1), .. Number(0x73C5, 1), .. Number(0x9C, 0), .. Number(0x83, 1), .. Number(0x23E383, 1_000_000_000 / WalkThroughFrames.PerSecond), .. Element(0x86, "V_UNCOMPRESSED"u8), .. video]));

        // The segment's size is not known: it ends with the stream.
        stream.Write([.. head, 0x18, 0x53, 0x80, 0x67, 0x01, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, .. information, .. track]);
    }

    /// <summary>Adds a picture.</summary>
    /// <param name="milliseconds">When it is shown; later than the picture before.</param>
    /// <param name="planes">Y, Cb and Cr, the latter two of half width and height.</param>
    public void Add(long milliseconds, ReadOnlySpan<byte> planes)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(milliseconds);
        ArgumentOutOfRangeException.ThrowIfNotEqual(planes.Length, pictureBytes);
        byte[] time = Number(0xE7, (ulong)milliseconds);
        byte[] block = [0xA3, .. Size((ulong)(4 + planes.Length)), 0x81, 0x00, 0x00, 0x80];
        stream.Write([0x1F, 0x43, 0xB6, 0x75, .. Size((ulong)(time.Length + block.Length + planes.Length)), .. time, .. block]);
        stream.Write(planes);
    }

    private static byte[] Number(uint id, ulong value)
    {
        Span<byte> bytes = stackalloc byte[8];
        BinaryPrimitives.WriteUInt64BigEndian(bytes, value);
        int first = 0;
        while (first < 7 && bytes[first] == 0)
        {
            first++;
        }

        return Element(id, bytes[first..]);
    }

    private static byte[] Element(uint id, ReadOnlySpan<byte> body) => [.. Id(id), .. Size((ulong)body.Length), .. body];

    private static byte[] Id(uint id)
    {
        Span<byte> bytes = stackalloc byte[4];
        BinaryPrimitives.WriteUInt32BigEndian(bytes, id);
        return bytes[(System.Numerics.BitOperations.LeadingZeroCount(id) / 8)..].ToArray();
    }

    // Eight bytes always: the first says so, the other seven are the size.
    private static byte[] Size(ulong size)
    {
        byte[] bytes = new byte[8];
        BinaryPrimitives.WriteUInt64BigEndian(bytes, size | 0x0100000000000000);
        return bytes;
    }
}
