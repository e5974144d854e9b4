using System.Buffers.Binary;
using System.IO.Compression;
using Hotlight.Core;

namespace Hotlight.Imaging.Png;

/// <summary>Reads PNG files of every bit depth, colour type and interlace as grey (W3C Portable Network Graphics, third edition).</summary>
internal static class PngReader
{
    // Adam7: first column and row of each pass, and the steps, PNG third edition 8.1.
    private static readonly (int Column, int Row, int ColumnStep, int RowStep)[] Passes =
        [(0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2)];

    public static bool LooksLikePng(ReadOnlySpan<byte> bytes) => bytes.StartsWith(PngChunks.Signature);

    public static Radiograph Read(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation)
    {
        ReadOnlySpan<byte> bytes = content.Span;
        int position = PngChunks.Signature.Length;
        Header? header = null;
        byte[]? palette = null;
        List<ReadOnlyMemory<byte>> data = [];
        bool ended = false;
        while (!ended)
        {
            if (bytes.Length - position < 12)
            {
                throw new ImageFormatException("it ends in the middle of the PNG picture.");
            }

            uint length = BinaryPrimitives.ReadUInt32BigEndian(bytes[position..]);
            if (length > (uint)(bytes.Length - position - 12))
            {
                throw new ImageFormatException("it ends in the middle of the PNG picture.");
            }

            ReadOnlySpan<byte> type = bytes.Slice(position + 4, 4);
            ReadOnlyMemory<byte> value = content.Slice(position + 8, (int)length);
            bool isCritical = (type[0] & 0x20) == 0;
            if (isCritical && BinaryPrimitives.ReadUInt32BigEndian(bytes[(position + 8 + (int)length)..]) != PngChunks.Crc(bytes.Slice(position + 4, (int)length + 4)))
            {
                throw new ImageFormatException("it is a damaged PNG picture: a check value does not fit.");
            }

            if (type.SequenceEqual("IHDR"u8))
            {
                header = ReadHeader(value.Span);
            }
            else if (header is null)
            {
                throw new ImageFormatException("it is a damaged PNG picture: it has no header.");
            }
            else if (type.SequenceEqual("PLTE"u8))
            {
                palette = value.ToArray();
            }
            else if (type.SequenceEqual("IDAT"u8))
            {
                data.Add(value);
            }
            else if (type.SequenceEqual("IEND"u8))
            {
                ended = true;
            }

            position += 12 + (int)length;
        }

        return Decode(header!, palette, data, fileName, cancellation);
    }

    private static Header ReadHeader(ReadOnlySpan<byte> value)
    {
        if (value.Length < 13)
        {
            throw new ImageFormatException("it is a damaged PNG picture: its header is too short.");
        }

        uint columns = BinaryPrimitives.ReadUInt32BigEndian(value);
        uint rows = BinaryPrimitives.ReadUInt32BigEndian(value[4..]);
        ImageLimits.CheckSize(rows, columns);
        (int bits, int colour, int interlace) = (value[8], value[9], value[12]);
        bool isKnown = colour switch
        {
            0 => bits is 1 or 2 or 4 or 8 or 16,
            3 => bits is 1 or 2 or 4 or 8,
            2 or 4 or 6 => bits is 8 or 16,
            _ => false,
        };
        if (!isKnown || value[10] != 0 || value[11] != 0 || interlace > 1)
        {
            throw new ImageFormatException("it is a damaged PNG picture: its header makes no sense.");
        }

        return new Header((int)rows, (int)columns, bits, colour, interlace == 1);
    }

    private static Radiograph Decode(Header header, byte[]? palette, List<ReadOnlyMemory<byte>> data, string fileName, CancellationToken cancellation)
    {
        if (header.ColourType == 3 && (palette is null || palette.Length < 3))
        {
            throw new ImageFormatException("it is a damaged PNG picture: its palette is missing.");
        }

        int samples = header.ColourType switch { 2 => 3, 4 => 2, 6 => 4, _ => 1 };
        bool isColour = header.ColourType is 2 or 3 or 6;
        int bits = header.ColourType == 3 ? 8 : header.Bits;
        Raster<ushort> pixels = new(header.Rows, header.Columns);
        GreyFromColour? colour = isColour ? new GreyFromColour(bits, isJpeg: false) : null;
        ushort[] line = new ushort[header.Columns * samples];
        ushort[] grey = new ushort[header.Columns];
        using ZLibStream inflater = new(new SliceStream(data), CompressionMode.Decompress);
        try
        {
            foreach ((int firstColumn, int firstRow, int columnStep, int rowStep) in header.IsInterlaced ? Passes : [(0, 0, 1, 1)])
            {
                int columns = (header.Columns - firstColumn + columnStep - 1) / columnStep;
                int rows = (header.Rows - firstRow + rowStep - 1) / rowStep;
                if (columns <= 0 || rows <= 0)
                {
                    continue;
                }

                int lineBytes = (int)((((long)columns * samples * header.Bits) + 7) / 8);
                int step = Math.Max(1, samples * header.Bits / 8);
                byte[] current = new byte[lineBytes];
                byte[] above = new byte[lineBytes];
                for (int row = 0; row < rows; row++)
                {
                    if ((row & 63) == 0)
                    {
                        cancellation.ThrowIfCancellationRequested();
                    }

                    int filter = inflater.ReadByte();
                    if (filter < 0)
                    {
                        throw new ImageFormatException("it is a damaged PNG picture: its pixel data ends early.");
                    }

                    inflater.ReadExactly(current);
                    Unfilter(filter, current, above, step);
                    Unpack(current, line.AsSpan(0, columns * samples), header.Bits);
                    if (colour is null)
                    {
                        for (int column = 0; column < columns; column++)
                        {
                            grey[column] = line[column * samples];
                        }
                    }
                    else if (header.ColourType == 3)
                    {
                        colour.ConvertPalette(line.AsSpan(0, columns), palette!, grey);
                    }
                    else
                    {
                        colour.Convert(line.AsSpan(0, columns * samples), samples, grey);
                    }

                    Span<ushort> target = pixels.Row(firstRow + (row * rowStep));
                    if (columnStep == 1)
                    {
                        grey.AsSpan(0, columns).CopyTo(target[firstColumn..]);
                    }
                    else
                    {
                        for (int column = 0; column < columns; column++)
                        {
                            target[firstColumn + (column * columnStep)] = grey[column];
                        }
                    }

                    (current, above) = (above, current);
                }
            }
        }
        catch (EndOfStreamException error)
        {
            throw new ImageFormatException("it is a damaged PNG picture: its pixel data ends early.", error);
        }
        catch (InvalidDataException error)
        {
            throw new ImageFormatException("it is a damaged PNG picture: its pixel data cannot be inflated.", error);
        }

        List<string> remarks = [];
        colour?.Finish(remarks);
        if (header.ColourType is 4 or 6)
        {
            remarks.Add("The picture's transparency was left out.");
        }

        return PictureRadiograph.Create(fileName, ImageSource.Png, pixels, bits, highIsShownDark: false, isLossy: null, $"PNG, {bits}-bit{(isColour ? " colour read as grey" : " grey")}", remarks);
    }

    private static void Unpack(ReadOnlySpan<byte> bytes, Span<ushort> line, int bits)
    {
        switch (bits)
        {
            case 16:
                for (int i = 0; i < line.Length; i++)
                {
                    line[i] = (ushort)((bytes[2 * i] << 8) | bytes[(2 * i) + 1]);
                }

                break;
            case 8:
                for (int i = 0; i < line.Length; i++)
                {
                    line[i] = bytes[i];
                }

                break;
            default:
                int mask = (1 << bits) - 1;
                for (int i = 0; i < line.Length; i++)
                {
                    int bit = i * bits;
                    line[i] = (ushort)((bytes[bit >> 3] >> (8 - bits - (bit & 7))) & mask);
                }

                break;
        }
    }

    private static void Unfilter(int filter, Span<byte> current, ReadOnlySpan<byte> above, int step)
    {
        switch (filter)
        {
            case 0:
                break;
            case 1:
                for (int i = step; i < current.Length; i++)
                {
                    current[i] += current[i - step];
                }

                break;
            case 2:
                for (int i = 0; i < current.Length; i++)
                {
                    current[i] += above[i];
                }

                break;
            case 3:
                for (int i = 0; i < current.Length; i++)
                {
                    int left = i >= step ? current[i - step] : 0;
                    current[i] += (byte)((left + above[i]) >> 1);
                }

                break;
            case 4:
                for (int i = 0; i < current.Length; i++)
                {
                    int a = i >= step ? current[i - step] : 0;
                    int b = above[i];
                    int c = i >= step ? above[i - step] : 0;
                    int pa = Math.Abs(b - c);
                    int pb = Math.Abs(a - c);
                    int pc = Math.Abs(a + b - c - c);
                    current[i] += (byte)(pa <= pb && pa <= pc ? a : pb <= pc ? b : c);
                }

                break;
            default:
                throw new ImageFormatException("it is a damaged PNG picture: a row has an unknown filter.");
        }
    }

    private sealed record Header(int Rows, int Columns, int Bits, int ColourType, bool IsInterlaced);
}
