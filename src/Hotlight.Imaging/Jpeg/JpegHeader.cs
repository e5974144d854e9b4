using System.Buffers.Binary;
using System.Globalization;

namespace Hotlight.Imaging.Jpeg;

/// <summary>What a JPEG or JPEG-LS stream says of itself before its first scan; read without decoding, so that sizes are checked first (ITU-T T.81 annex B).</summary>
/// <param name="FrameMarker">Second byte of the start of frame marker: 0xC0 baseline, 0xC1 extended, 0xC2 progressive, 0xC3 lossless, 0xF7 JPEG-LS.</param>
/// <param name="Precision">Bits of a sample.</param>
/// <param name="Rows">Number of lines.</param>
/// <param name="Columns">Samples a line.</param>
/// <param name="Components">Number of components.</param>
/// <param name="AdobeTransform">The colour transform of an Adobe segment, or null: 0 none, 1 YCbCr.</param>
/// <param name="FrameEnd">Where the frame header ends in the stream; previews stand before it, scans after it.</param>
internal sealed record JpegHeader(int FrameMarker, int Precision, int Rows, int Columns, int Components, int? AdobeTransform, int FrameEnd)
{
    public static bool LooksLikeJpeg(ReadOnlySpan<byte> bytes) => bytes.Length >= 3 && bytes[0] == 0xFF && bytes[1] == 0xD8 && bytes[2] == 0xFF;

    /// <summary>Reads the header and checks the size.</summary>
    public static JpegHeader Read(ReadOnlySpan<byte> stream)
    {
        if (!LooksLikeJpeg(stream))
        {
            throw new ImageFormatException("its compressed pixel data is not JPEG.");
        }

        int? adobe = null;
        int position = 2;
        while (position + 4 <= stream.Length)
        {
            if (stream[position] != 0xFF)
            {
                throw new ImageFormatException("its JPEG stream is damaged before the image begins.");
            }

            int marker = stream[position + 1];
            if (marker == 0xFF)
            {
                position++;
                continue;
            }

            if (marker is 0x01 or (>= 0xD0 and <= 0xD7))
            {
                position += 2;
                continue;
            }

            int length = BinaryPrimitives.ReadUInt16BigEndian(stream[(position + 2)..]);
            if (length < 2 || position + 2 + length > stream.Length)
            {
                break;
            }

            ReadOnlySpan<byte> segment = stream.Slice(position + 4, length - 2);
            if (marker == 0xEE && segment.Length >= 12 && segment[..5].SequenceEqual("Adobe"u8))
            {
                adobe = segment[11];
            }

            if (marker == 0xF7 || (marker is >= 0xC0 and <= 0xCF && marker is not (0xC4 or 0xC8 or 0xCC)))
            {
                if (segment.Length < 6 || segment.Length < 6 + (3 * segment[5]))
                {
                    break;
                }

                int rows = BinaryPrimitives.ReadUInt16BigEndian(segment[1..]);
                int columns = BinaryPrimitives.ReadUInt16BigEndian(segment[3..]);
                int components = segment[5];
                ImageLimits.CheckSize(rows, columns);
                if (components is not (1 or 3 or 4))
                {
                    throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its JPEG stream has {components} components; a grey picture has 1."));
                }

                return new JpegHeader(marker, segment[0], rows, columns, components, adobe, position + 2 + length);
            }

            if (marker is 0xDA or 0xD9)
            {
                break;
            }

            position += 2 + length;
        }

        throw new ImageFormatException("its JPEG stream ends before the image begins.");
    }
}
