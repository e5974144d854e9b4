using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using JpegLibrary;

namespace Hotlight.Imaging.Jpeg;

/// <summary>Decodes JPEG (baseline, extended, progressive, lossless) by the JpegLibrary package; sizes are checked before it allocates, and the structure before it decodes.</summary>
internal static class JpegStream
{
    /// <summary>Samples of all scans together: the largest picture in 30 scans.</summary>
    private const double MaximumProgressiveSamples = 30.0 * 3 * ImageLimits.MaximumColourPixels;

    /// <summary>Decodes a stream of one component into words.</summary>
    public static ushort[] DecodeGrey(ReadOnlyMemory<byte> stream, JpegHeader header)
    {
        ushort[] words = new ushort[header.Rows * header.Columns];
        Decode(stream, header, [words]);
        return words;
    }

    /// <summary>Decodes a stream into one block of words a component, each rows × columns, subsampled ones spread by repeating samples.</summary>
    public static ushort[][] DecodeComponents(ReadOnlyMemory<byte> stream, JpegHeader header)
    {
        if ((long)header.Rows * header.Columns > ImageLimits.MaximumColourPixels)
        {
            throw new ImageFormatException($"it is a picture stored as colour of more than {ImageLimits.MaximumColourPixels / 1_000_000} million pixels.");
        }

        ushort[][] components = new ushort[header.Components][];
        for (int i = 0; i < components.Length; i++)
        {
            components[i] = new ushort[header.Rows * header.Columns];
        }

        Decode(stream, header, components);
        return components;
    }

    private static void Decode(ReadOnlyMemory<byte> stream, JpegHeader header, ushort[][] components)
    {
        if (header.FrameMarker is not (0xC0 or 0xC1 or 0xC2 or 0xC3))
        {
            throw new ImageFormatException("its JPEG stream uses a process Hotlight does not read (hierarchical or arithmetic coding).");
        }

        ReadOnlySpan<byte> scans = stream.Span[header.FrameEnd..];
        if (scans.IndexOf((ReadOnlySpan<byte>)[0xFF, 0xD9]) < 0)
        {
            // The library would fill the missing part with a flat grey.
            throw new ImageFormatException("its JPEG pixel data ends early.");
        }

        // A progressive picture in ever more scans would be decoded once for each; encoders write about ten.
        if (header.FrameMarker == 0xC2 && (double)scans.Count((ReadOnlySpan<byte>)[0xFF, 0xDA]) * header.Rows * header.Columns * header.Components > MaximumProgressiveSamples)
        {
            throw new ImageFormatException("its progressive JPEG stream is in too many scans for its size.");
        }

        JpegStructure.Check(stream.Span, header);
        JpegDecoder decoder = new();
        decoder.SetInput(stream);
        decoder.Identify();
        if (decoder.Width != header.Columns || decoder.Height != header.Rows || decoder.NumberOfComponents != header.Components)
        {
            throw new ImageFormatException("its JPEG stream contradicts itself about its size.");
        }

        WordWriter writer = new(header, components);
        decoder.SetOutputWriter(writer);
        try
        {
            decoder.Decode();
        }
        catch (Exception error) when (error is not (ImageFormatException or OutOfMemoryException))
        {
            // The library throws InvalidDataException, InvalidOperationException, IndexOutOfRangeException and others on damaged streams.
            throw new ImageFormatException("its JPEG pixel data is damaged.", error);
        }

        if (!writer.IsComplete)
        {
            throw new ImageFormatException("its JPEG pixel data ends early.");
        }
    }

    /// <summary>Copies 8 × 8 blocks into words. Samples above 15 bits arrive as the bit pattern of a short.</summary>
    private sealed class WordWriter(JpegHeader header, ushort[][] components) : JpegBlockOutputWriter
    {
        private readonly int maximum = (1 << header.Precision) - 1;
        private readonly bool clamp = header.FrameMarker != 0xC3;
        private long written;

        public bool IsComplete => written >= (long)header.Rows * header.Columns * components.Length;

        public override void WriteBlock(ref short blockRef, int componentIndex, int x, int y)
        {
            if ((uint)componentIndex >= (uint)components.Length || x < 0 || y < 0)
            {
                return;
            }

            int width = Math.Min(header.Columns - x, 8);
            int height = Math.Min(header.Rows - y, 8);
            if (width <= 0 || height <= 0)
            {
                return;
            }

            ushort[] words = components[componentIndex];
            ReadOnlySpan<short> block = MemoryMarshal.CreateReadOnlySpan(ref blockRef, 64);
            for (int row = 0; row < height; row++)
            {
                Span<ushort> target = words.AsSpan(((y + row) * header.Columns) + x, width);
                ReadOnlySpan<short> source = block.Slice(row * 8, width);
                if (clamp)
                {
                    for (int column = 0; column < target.Length; column++)
                    {
                        target[column] = (ushort)Math.Clamp((int)source[column], 0, maximum);
                    }
                }
                else
                {
                    MemoryMarshal.Cast<short, ushort>(source).CopyTo(target);
                }
            }

            written += width * height;
        }
    }
}
