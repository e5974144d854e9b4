using System.Buffers.Binary;
using System.IO.Compression;
using Hotlight.Core;

namespace Hotlight.Imaging.Png;

/// <summary>Writes grey PNG files of 8 or 16 bits (W3C Portable Network Graphics, third edition).</summary>
public static class PngWriter
{
    /// <summary>Writes an 8-bit grey picture.</summary>
    /// <param name="stream">Where to; stays open.</param>
    /// <param name="picture">0 (black) to 255 (white), rows × columns; borrowed.</param>
    /// <param name="level">How hard to compress.</param>
    public static void Write(Stream stream, ReadOnlyRaster<byte> picture, CompressionLevel level = CompressionLevel.Fastest)
    {
        ArgumentNullException.ThrowIfNull(stream);
        WriteRows(stream, picture.Rows, picture.Columns, 8, level, (row, line) => picture.Row(row).CopyTo(line));
    }

    /// <summary>Writes a 16-bit grey picture.</summary>
    /// <param name="stream">Where to; stays open.</param>
    /// <param name="picture">0 (black) to 65535 (white), rows × columns; borrowed.</param>
    /// <param name="level">How hard to compress.</param>
    public static void Write(Stream stream, ReadOnlyRaster<ushort> picture, CompressionLevel level = CompressionLevel.Fastest)
    {
        ArgumentNullException.ThrowIfNull(stream);
        WriteRows(stream, picture.Rows, picture.Columns, 16, level, (row, line) =>
        {
            ReadOnlySpan<ushort> from = picture.Row(row);
            for (int column = 0; column < from.Length; column++)
            {
                BinaryPrimitives.WriteUInt16BigEndian(line.Slice(column * 2, 2), from[column]);
            }
        });
    }

    private delegate void LineFiller(int row, Span<byte> line);

    private static void WriteRows(Stream stream, int rows, int columns, int bits, CompressionLevel level, LineFiller fill)
    {
        if (rows < 1 || columns < 1)
        {
            throw new ArgumentException($"The picture has {rows} rows and {columns} columns; it needs at least one of each.");
        }

        stream.Write(PngChunks.Signature);
        byte[] header = new byte[13];
        BinaryPrimitives.WriteInt32BigEndian(header, columns);
        BinaryPrimitives.WriteInt32BigEndian(header.AsSpan(4), rows);
        header[8] = (byte)bits;
        WriteChunk(stream, "IHDR"u8, header);

        using MemoryStream compressed = new();
        using (ZLibStream deflater = new(compressed, level, leaveOpen: true))
        {
            int step = bits / 8;
            byte[] line = new byte[columns * step];
            byte[] filtered = new byte[line.Length + 1];
            filtered[0] = 1;
            for (int row = 0; row < rows; row++)
            {
                fill(row, line);
                line.AsSpan(0, step).CopyTo(filtered.AsSpan(1));
                for (int i = step; i < line.Length; i++)
                {
                    filtered[i + 1] = (byte)(line[i] - line[i - step]);
                }

                deflater.Write(filtered);
            }
        }

        const int chunkBytes = 1 << 20;
        ReadOnlySpan<byte> all = compressed.GetBuffer().AsSpan(0, (int)compressed.Length);
        for (int start = 0; start < all.Length; start += chunkBytes)
        {
            WriteChunk(stream, "IDAT"u8, all.Slice(start, Math.Min(chunkBytes, all.Length - start)));
        }

        WriteChunk(stream, "IEND"u8, []);
    }

    private static void WriteChunk(Stream stream, ReadOnlySpan<byte> type, ReadOnlySpan<byte> data)
    {
        byte[] chunk = new byte[12 + data.Length];
        BinaryPrimitives.WriteInt32BigEndian(chunk, data.Length);
        type.CopyTo(chunk.AsSpan(4));
        data.CopyTo(chunk.AsSpan(8));
        BinaryPrimitives.WriteUInt32BigEndian(chunk.AsSpan(8 + data.Length), PngChunks.Crc(chunk.AsSpan(4, 4 + data.Length)));
        stream.Write(chunk);
    }
}
