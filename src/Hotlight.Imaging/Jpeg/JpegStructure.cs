using System.Buffers.Binary;

namespace Hotlight.Imaging.Jpeg;

/// <summary>Walks through a JPEG stream before it is decoded and refuses what the decoder would take on trust (ITU-T T.81 annexes B, C, F, G and H): the decoding library writes coefficients by the numbers of a scan's header without looking whether they lie in a block, and builds code tables without looking whether they are codes.</summary>
internal static class JpegStructure
{
    private const int ProgressiveFrame = 0xC2;
    private const int LosslessFrame = 0xC3;

    /// <summary>Checks every segment of the stream up to its end.</summary>
    /// <param name="stream">The stream; borrowed.</param>
    /// <param name="header">Its header.</param>
    /// <exception cref="ImageFormatException">Something in it cannot be.</exception>
    public static void Check(ReadOnlySpan<byte> stream, JpegHeader header)
    {
        Span<byte> components = stackalloc byte[4];
        int known = 0;
        int scans = 0;
        long coded = 0;
        int position = 2;
        while (true)
        {
            int marker = Marker(stream, ref position);
            if (marker == 0xD9)
            {
                break;
            }

            if (marker is 0x01 or (>= 0xD0 and <= 0xD7))
            {
                continue;
            }

            if (position + 2 > stream.Length)
            {
                throw Early();
            }

            int length = BinaryPrimitives.ReadUInt16BigEndian(stream[position..]);
            if (length < 2 || position + length > stream.Length)
            {
                throw Early();
            }

            ReadOnlySpan<byte> segment = stream.Slice(position + 2, length - 2);
            position += length;
            switch (marker)
            {
                case 0xC4:
                    Codes(segment);
                    break;
                case 0xDB:
                    Quantization(segment);
                    break;
                case 0xDD when segment.Length != 2:
                    throw Damaged();
                case 0xDA:
                    if (known == 0)
                    {
                        throw Damaged();
                    }

                    Scan(segment, header, components[..known]);
                    scans++;

                    // Each component of a sequential picture comes in one scan.
                    if (header.FrameMarker != ProgressiveFrame && scans > header.Components)
                    {
                        throw new ImageFormatException("its JPEG stream holds more scans than components.");
                    }

                    coded += Skip(stream, ref position);
                    break;
                case 0xC0 or 0xC1 or ProgressiveFrame or LosslessFrame:
                    if (known > 0 || marker != header.FrameMarker)
                    {
                        throw new ImageFormatException("its JPEG stream holds more than one picture.");
                    }

                    known = Frame(segment, header, components);
                    break;
                case 0xDD or 0xFE or (>= 0xE0 and <= 0xEF):
                    break;
                default:
                    // Hierarchical and arithmetic processes, a height that comes later, a picture in the picture.
                    throw new ImageFormatException("its JPEG stream uses a process Hotlight does not read (hierarchical or arithmetic coding).");
            }
        }

        if (scans == 0 || 8 * coded < LeastBits(header))
        {
            // The decoder would go on with zeros, as long as the header says.
            throw new ImageFormatException("its JPEG pixel data ends early.");
        }
    }

    // Every code has a bit: one for a sample without loss, one for the first coefficient of a block, and in a sequential block one more for its end.
    private static long LeastBits(JpegHeader header)
    {
        long blocks = ((header.Rows + 7L) / 8) * ((header.Columns + 7L) / 8);
        return header.FrameMarker switch
        {
            LosslessFrame => (long)header.Rows * header.Columns,
            ProgressiveFrame => blocks,
            _ => 2 * blocks,
        };
    }

    private static int Marker(ReadOnlySpan<byte> stream, ref int position)
    {
        if (position + 2 > stream.Length)
        {
            throw Early();
        }

        if (stream[position] != 0xFF)
        {
            throw Damaged();
        }

        while (position < stream.Length && stream[position] == 0xFF)
        {
            position++;
        }

        return position < stream.Length ? stream[position++] : throw Early();
    }

    // To the next marker that is no restart; a byte of 255 in the coded data has a zero behind it.
    private static int Skip(ReadOnlySpan<byte> stream, ref int position)
    {
        int start = position;
        while (position + 1 < stream.Length)
        {
            int next = stream[position..^1].IndexOf((byte)0xFF);
            if (next < 0)
            {
                break;
            }

            position += next;
            if (stream[position + 1] is 0 or (>= 0xD0 and <= 0xD7))
            {
                position += 2;
            }
            else if (stream[position + 1] == 0xFF)
            {
                position++;
            }
            else
            {
                return position - start;
            }
        }

        throw Early();
    }

    private static int Frame(ReadOnlySpan<byte> segment, JpegHeader header, Span<byte> components)
    {
        int count = segment.Length < 6 ? 0 : segment[5];
        if (count != header.Components || count > components.Length || segment.Length != 6 + (3 * count))
        {
            throw Damaged();
        }

        for (int component = 0; component < count; component++)
        {
            ReadOnlySpan<byte> each = segment.Slice(6 + (3 * component), 3);
            components[component] = each[0];
            int across = each[1] >> 4;
            int down = each[1] & 15;

            // Factors of three make ratios that are no power of two; a picture without loss has each sample.
            bool isSound = header.FrameMarker == LosslessFrame ? across == 1 && down == 1 : across is 1 or 2 or 4 && down is 1 or 2 or 4;
            if (!isSound || each[2] > 3 || components[..component].Contains(each[0]))
            {
                throw Damaged();
            }
        }

        return count;
    }

    private static void Scan(ReadOnlySpan<byte> segment, JpegHeader header, ReadOnlySpan<byte> components)
    {
        int count = segment.Length < 1 ? 0 : segment[0];
        if (count < 1 || count > components.Length || segment.Length != 4 + (2 * count))
        {
            throw Damaged();
        }

        for (int component = 0; component < count; component++)
        {
            byte name = segment[1 + (2 * component)];
            byte tables = segment[2 + (2 * component)];
            bool isTwice = false;
            for (int before = 0; before < component; before++)
            {
                isTwice |= segment[1 + (2 * before)] == name;
            }

            if (isTwice || !components.Contains(name) || (tables >> 4) > 3 || (tables & 15) > 3)
            {
                throw Damaged();
            }
        }

        int first = segment[^3];
        int last = segment[^2];
        int high = segment[^1] >> 4;
        int low = segment[^1] & 15;
        bool isPossible = header.FrameMarker switch
        {
            ProgressiveFrame => (first == 0 ? last == 0 : first <= last && last <= 63 && count == 1) && high <= 13 && low <= 13 && (high == 0 || high == low + 1),

            // The predictor, and by how much samples are shifted.
            LosslessFrame => first is >= 1 and <= 7 && low < header.Precision,
            _ => true,
        };
        if (!isPossible)
        {
            throw Damaged();
        }
    }

    private static void Codes(ReadOnlySpan<byte> segment)
    {
        while (segment.Length > 0)
        {
            if (segment.Length < 17 || (segment[0] >> 4) > 1 || (segment[0] & 15) > 3)
            {
                throw Damaged();
            }

            int count = 0;
            int room = 1 << 16;
            for (int length = 1; length <= 16; length++)
            {
                count += segment[length];
                room -= segment[length] << (16 - length);
            }

            if (count is < 1 or > 256 || room < 0 || segment.Length < 17 + count)
            {
                throw Damaged();
            }

            segment = segment[(17 + count)..];
        }
    }

    private static void Quantization(ReadOnlySpan<byte> segment)
    {
        while (segment.Length > 0)
        {
            int bytes = 1 + (64 << (segment[0] >> 4));
            if (segment[0] >> 4 > 1 || (segment[0] & 15) > 3 || segment.Length < bytes)
            {
                throw Damaged();
            }

            segment = segment[bytes..];
        }
    }

    private static ImageFormatException Damaged() => new("its JPEG stream is damaged.");

    private static ImageFormatException Early() => new("its JPEG pixel data ends early.");
}
