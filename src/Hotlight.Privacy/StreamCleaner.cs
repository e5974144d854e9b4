using System.Buffers.Binary;

namespace Hotlight.Privacy;

/// <summary>Drops from compressed streams whatever is not needed to decode the pixels: comments, previews, camera and program data. The coded pixels are copied, so nothing is lost.</summary>
internal static class StreamCleaner
{
    /// <summary>A JPEG or JPEG-LS stream with tables, frames and scans alone (ITU-T T.81 annex B, T.87 annex C).</summary>
    /// <param name="stream">The stream; borrowed.</param>
    /// <param name="dropped">Told the name of each segment that is dropped.</param>
    /// <returns>Null where the stream's structure cannot be followed.</returns>
    public static byte[]? Jpeg(ReadOnlySpan<byte> stream, Action<string> dropped)
    {
        if (stream.Length < 4 || stream[0] != 0xFF || stream[1] != 0xD8)
        {
            return null;
        }

        using MemoryStream kept = new(stream.Length);
        kept.Write(stream[..2]);
        int position = 2;
        while (position + 2 <= stream.Length)
        {
            if (stream[position] != 0xFF)
            {
                return null;
            }

            int marker = stream[position + 1];
            if (marker == 0xFF)
            {
                position++;
                continue;
            }

            if (marker == 0xD9)
            {
                kept.Write(stream.Slice(position, 2));
                if (stream[(position + 2)..].IndexOfAnyExcept((byte)0) >= 0)
                {
                    dropped("what follows the image");
                }

                return kept.ToArray();
            }

            if (position + 4 > stream.Length)
            {
                return null;
            }

            int length = BinaryPrimitives.ReadUInt16BigEndian(stream[(position + 2)..]);
            int end = position + 2 + length;
            if (length < 2 || end > stream.Length)
            {
                return null;
            }

            ReadOnlySpan<byte> segment = stream[position..end];
            ReadOnlySpan<byte> body = segment[4..];
            if (marker == 0xE0 && body.Length >= 14 && body[..5].SequenceEqual("JFIF\0"u8))
            {
                // Its preview goes: width and height of it become 0.
                kept.Write([0xFF, 0xE0, 0, 16]);
                kept.Write(body[..12]);
                kept.Write([0, 0]);
                if (body.Length > 14)
                {
                    dropped("JFIF preview");
                }
            }
            else if (marker == 0xEE && body.Length >= 12 && body[..5].SequenceEqual("Adobe"u8))
            {
                // Tells how colour is coded.
                kept.Write([0xFF, 0xEE, 0, 14]);
                kept.Write(body[..12]);
            }
            else if (marker is >= 0xE0 and <= 0xEF && !(marker == 0xE8 && body.StartsWith("mrfx"u8)))
            {
                dropped(string.Create(System.Globalization.CultureInfo.InvariantCulture, $"APP{marker - 0xE0}"));
            }
            else if (marker == 0xFE)
            {
                dropped("COM");
            }
            else
            {
                kept.Write(segment);
            }

            position = end;
            if (marker == 0xDA)
            {
                // Coded pixels: 0xFF before a byte below 0x80 is stuffing, before D0 to D7 a restart.
                int start = position;
                while (position + 1 < stream.Length && !(stream[position] == 0xFF && stream[position + 1] >= 0x80 && stream[position + 1] is not (>= 0xD0 and <= 0xD7)))
                {
                    position++;
                }

                kept.Write(stream[start..position]);
            }
        }

        return null;
    }

    /// <summary>A JPEG 2000 codestream without the comments of its main header (ITU-T T.800 annex A.9.2).</summary>
    /// <param name="stream">The stream; borrowed.</param>
    /// <param name="dropped">Told the name of each segment that is dropped.</param>
    /// <returns>Null where the stream's structure cannot be followed.</returns>
    public static byte[]? Jpeg2000(ReadOnlySpan<byte> stream, Action<string> dropped)
    {
        if (stream.Length < 4 || stream[0] != 0xFF || stream[1] != 0x4F)
        {
            return null;
        }

        using MemoryStream kept = new(stream.Length);
        kept.Write(stream[..2]);
        int position = 2;
        while (position + 4 <= stream.Length && stream[position] == 0xFF)
        {
            int marker = stream[position + 1];
            if (marker == 0x90)
            {
                kept.Write(stream[position..]);
                return kept.ToArray();
            }

            int end = position + 2 + BinaryPrimitives.ReadUInt16BigEndian(stream[(position + 2)..]);
            if (end > stream.Length || end < position + 4)
            {
                return null;
            }

            if (marker == 0x64)
            {
                dropped("COM");
            }
            else
            {
                kept.Write(stream[position..end]);
            }

            position = end;
        }

        return null;
    }

    /// <summary>A PNG file with header, palette, transparency and pixels alone (PNG, third edition, 11).</summary>
    /// <param name="file">The file; borrowed.</param>
    /// <param name="dropped">Told the name of each chunk that is dropped.</param>
    /// <returns>Null where the file's structure cannot be followed.</returns>
    public static byte[]? Png(ReadOnlySpan<byte> file, Action<string> dropped)
    {
        using MemoryStream kept = new(file.Length);
        kept.Write(file[..8]);
        int position = 8;
        while (position + 12 <= file.Length)
        {
            uint length = BinaryPrimitives.ReadUInt32BigEndian(file[position..]);
            if (length > file.Length - position - 12)
            {
                return null;
            }

            ReadOnlySpan<byte> chunk = file.Slice(position, 12 + (int)length);
            string type = System.Text.Encoding.Latin1.GetString(chunk.Slice(4, 4));
            if (type is "IHDR" or "PLTE" or "tRNS" or "IDAT" or "IEND")
            {
                kept.Write(chunk);
            }
            else
            {
                dropped(type.All(char.IsAsciiLetter) ? type : "unknown");
            }

            position += chunk.Length;
            if (type == "IEND")
            {
                if (position < file.Length)
                {
                    dropped("what follows the image");
                }

                return kept.ToArray();
            }
        }

        return null;
    }

    /// <summary>A TIFF file with the pixels of a picture and nothing else (TIFF 6.0, section 4; depths that fill no byte are packed, high bits first).</summary>
    /// <param name="rows">Number of rows.</param>
    /// <param name="columns">Number of columns.</param>
    /// <param name="bits">Bits of a pixel, 1 to 16.</param>
    /// <param name="whiteIsZero">Whether 0 is shown white.</param>
    /// <param name="pixels">The pixels, rows × columns; borrowed.</param>
    public static byte[] Tiff(int rows, int columns, int bits, bool whiteIsZero, ReadOnlySpan<ushort> pixels)
    {
        const int Entries = 9;
        const int FirstPixel = 8 + 2 + (12 * Entries) + 4;
        int lineBytes = (int)((((long)columns * bits) + 7) / 8);
        byte[] file = new byte[FirstPixel + ((long)lineBytes * rows)];
        "II*\0"u8.CopyTo(file);
        BinaryPrimitives.WriteUInt32LittleEndian(file.AsSpan(4), 8);
        BinaryPrimitives.WriteUInt16LittleEndian(file.AsSpan(8), Entries);
        int place = 10;
        void Entry(ushort tag, ushort type, uint value)
        {
            BinaryPrimitives.WriteUInt16LittleEndian(file.AsSpan(place), tag);
            BinaryPrimitives.WriteUInt16LittleEndian(file.AsSpan(place + 2), type);
            BinaryPrimitives.WriteUInt32LittleEndian(file.AsSpan(place + 4), 1);
            BinaryPrimitives.WriteUInt32LittleEndian(file.AsSpan(place + 8), value);
            place += 12;
        }

        const ushort Short = 3;
        const ushort Long = 4;
        Entry(256, Long, (uint)columns);
        Entry(257, Long, (uint)rows);
        Entry(258, Short, (uint)bits);
        Entry(259, Short, 1);
        Entry(262, Short, whiteIsZero ? 0u : 1u);
        Entry(273, Long, FirstPixel);
        Entry(277, Short, 1);
        Entry(278, Long, (uint)rows);
        Entry(279, Long, (uint)((long)lineBytes * rows));
        for (int row = 0; row < rows; row++)
        {
            ReadOnlySpan<ushort> line = pixels.Slice(row * columns, columns);
            Span<byte> target = file.AsSpan(FirstPixel + (row * lineBytes), lineBytes);
            if (bits == 16)
            {
                for (int column = 0; column < columns; column++)
                {
                    BinaryPrimitives.WriteUInt16LittleEndian(target[(2 * column)..], line[column]);
                }

                continue;
            }

            int cache = 0;
            int valid = 0;
            int next = 0;
            foreach (ushort value in line)
            {
                cache = (cache << bits) | value;
                valid += bits;
                while (valid >= 8)
                {
                    valid -= 8;
                    target[next++] = (byte)(cache >> valid);
                    cache &= (1 << valid) - 1;
                }
            }

            if (valid > 0)
            {
                target[next] = (byte)(cache << (8 - valid));
            }
        }

        return file;
    }
}
