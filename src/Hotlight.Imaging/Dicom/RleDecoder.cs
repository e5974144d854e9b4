using System.Buffers.Binary;
using System.Globalization;

namespace Hotlight.Imaging.Dicom;

/// <summary>RLE lossless, PS3.5 annex G: one segment a byte plane, most significant first, packed by runs.</summary>
internal static class RleDecoder
{
    private const int HeaderBytes = 64;

    /// <summary>Decodes one frame of grey pixels into words.</summary>
    public static ushort[] Decode(ReadOnlySpan<byte> frame, PixelLayout layout, CancellationToken cancellation)
    {
        int planes = layout.BitsAllocated / 8;
        if (frame.Length < HeaderBytes)
        {
            throw new ImageFormatException("its RLE pixel data ends before its header does.");
        }

        uint segments = BinaryPrimitives.ReadUInt32LittleEndian(frame);
        if (segments != planes)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its RLE pixel data has {segments} segments where {planes} are needed."));
        }

        int count = layout.Rows * layout.Columns;
        ushort[] words = new ushort[count];
        byte[] plane = GC.AllocateUninitializedArray<byte>(count);
        for (int segment = 0; segment < planes; segment++)
        {
            cancellation.ThrowIfCancellationRequested();
            uint start = BinaryPrimitives.ReadUInt32LittleEndian(frame[(4 + (4 * segment))..]);
            uint end = segment + 1 < planes ? BinaryPrimitives.ReadUInt32LittleEndian(frame[(8 + (4 * segment))..]) : (uint)frame.Length;
            if (start < HeaderBytes || end < start || end > frame.Length)
            {
                throw new ImageFormatException("its RLE pixel data points outside itself.");
            }

            Unpack(frame[(int)start..(int)end], plane);
            if (segment == 0 && planes == 1)
            {
                for (int i = 0; i < words.Length; i++)
                {
                    words[i] = plane[i];
                }
            }
            else if (segment == 0)
            {
                for (int i = 0; i < words.Length; i++)
                {
                    words[i] = (ushort)(plane[i] << 8);
                }
            }
            else
            {
                for (int i = 0; i < words.Length; i++)
                {
                    words[i] |= plane[i];
                }
            }
        }

        return words;
    }

    private static void Unpack(ReadOnlySpan<byte> packed, Span<byte> plane)
    {
        int filled = 0;
        int position = 0;
        while (filled < plane.Length)
        {
            if (position >= packed.Length)
            {
                throw new ImageFormatException("its RLE pixel data ends early.");
            }

            int control = (sbyte)packed[position++];
            if (control >= 0)
            {
                int length = Math.Min(control + 1, plane.Length - filled);
                if (position + length > packed.Length)
                {
                    throw new ImageFormatException("its RLE pixel data ends early.");
                }

                packed.Slice(position, length).CopyTo(plane[filled..]);
                position += control + 1;
                filled += length;
            }
            else if (control != -128)
            {
                if (position >= packed.Length)
                {
                    throw new ImageFormatException("its RLE pixel data ends early.");
                }

                int length = Math.Min(1 - control, plane.Length - filled);
                plane.Slice(filled, length).Fill(packed[position++]);
                filled += length;
            }
        }
    }
}
