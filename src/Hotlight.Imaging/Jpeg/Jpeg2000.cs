using System.Buffers.Binary;
using System.Globalization;

namespace Hotlight.Imaging.Jpeg;

/// <summary>What a JPEG 2000 stream was decoded into.</summary>
/// <param name="Words">Samples, rows × columns, as 16-bit patterns.</param>
/// <param name="Precision">Bits of a sample.</param>
/// <param name="IsReversible">Whether the wavelet is the reversible one; then the stream is lossless unless it was cut on purpose.</param>
internal sealed record Jpeg2000Outcome(ushort[] Words, int Precision, bool IsReversible);

/// <summary>Decodes JPEG 2000 (ITU-T T.800) in a process of its own; its header is checked here first.</summary>
internal static class Jpeg2000
{
    /// <summary>Largest image: the decoder takes about 20 bytes a pixel, and the whole stays below 1 GB.</summary>
    private const long MaximumPixels = 36_000_000;

    /// <summary>Whether a stream is a bare code stream or a JP2 file.</summary>
    public static bool LooksLikeJpeg2000(ReadOnlySpan<byte> stream)
        => stream.StartsWith((ReadOnlySpan<byte>)[0xFF, 0x4F, 0xFF, 0x51]) || (stream.Length >= 12 && stream.Slice(4, 4).SequenceEqual("jP  "u8));

    public static Jpeg2000Outcome Decode(ReadOnlyMemory<byte> stream, int rows, int columns, CancellationToken cancellation)
    {
        ReadOnlySpan<byte> code = CodeStream(stream.Span);
        (int precision, bool isReversible) = CheckHeader(code, rows, columns);
        ushort[] words = DecodedOnce.Of(stream, rows, columns, bytes => Jpeg2000Worker.Shared.Decode(bytes.Span, rows, columns, cancellation));
        return new Jpeg2000Outcome(words, precision, isReversible);
    }

    private static ReadOnlySpan<byte> CodeStream(ReadOnlySpan<byte> stream)
    {
        if (stream[0] == 0xFF)
        {
            return stream;
        }

        int position = 0;
        while (position + 8 <= stream.Length)
        {
            uint length = BinaryPrimitives.ReadUInt32BigEndian(stream[position..]);
            if (stream.Slice(position + 4, 4).SequenceEqual("jp2c"u8))
            {
                return stream[(position + 8)..];
            }

            if (length < 8 || length > stream.Length - position)
            {
                break;
            }

            position += (int)length;
        }

        throw new ImageFormatException("its JPEG 2000 pixel data holds no code stream.");
    }

    /// <summary>Size and coding style, T.800 A.5.1 and A.6.1.</summary>
    private static (int Precision, bool IsReversible) CheckHeader(ReadOnlySpan<byte> code, int rows, int columns)
    {
        const string damaged = "its JPEG 2000 pixel data has a damaged header.";
        if (code.Length < 44 || code[0] != 0xFF || code[1] != 0x4F || code[2] != 0xFF || code[3] != 0x51)
        {
            throw new ImageFormatException(damaged);
        }

        ReadOnlySpan<byte> size = code[6..];
        long width = (long)BinaryPrimitives.ReadUInt32BigEndian(size[2..]) - BinaryPrimitives.ReadUInt32BigEndian(size[10..]);
        long height = (long)BinaryPrimitives.ReadUInt32BigEndian(size[6..]) - BinaryPrimitives.ReadUInt32BigEndian(size[14..]);
        if (width != columns || height != rows)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its JPEG 2000 stream has {height} rows and {width} columns, the file says {rows} and {columns}."));
        }

        if (width * height > MaximumPixels)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its JPEG 2000 stream has {width * height / 1_000_000} million pixels; Hotlight decodes at most {MaximumPixels / 1_000_000} million of that kind."));
        }

        long tileWidth = BinaryPrimitives.ReadUInt32BigEndian(size[18..]);
        long tileHeight = BinaryPrimitives.ReadUInt32BigEndian(size[22..]);
        int components = BinaryPrimitives.ReadUInt16BigEndian(size[34..]);
        if (tileWidth == 0 || tileHeight == 0 || ((width / tileWidth) + 1) * ((height / tileHeight) + 1) > 65_535)
        {
            throw new ImageFormatException(damaged);
        }

        if (components != 1)
        {
            throw new ImageFormatException("its JPEG 2000 stream is in colour, though the file says it is grey.");
        }

        int precision = (size[36] & 0x7F) + 1;
        if (precision > 16 || size[37] != 1 || size[38] != 1)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its JPEG 2000 stream has samples of {precision} bits; Hotlight reads at most 16."));
        }

        int position = 2;
        while (position + 4 <= code.Length && code[position] == 0xFF && code[position + 1] is not (0x90 or 0xD9))
        {
            int length = BinaryPrimitives.ReadUInt16BigEndian(code[(position + 2)..]);
            if (code[position + 1] == 0x52 && length >= 12 && position + 14 <= code.Length)
            {
                return (precision, code[position + 13] == 1);
            }

            position += 2 + Math.Max(2, length);
        }

        throw new ImageFormatException(damaged);
    }
}
