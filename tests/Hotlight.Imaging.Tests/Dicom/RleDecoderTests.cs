using System.Buffers.Binary;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Imaging.Tests.Dicom;

public sealed class RleDecoderTests
{
    [Fact]
    [Trait("evidence", "published")]
    public void Decode_TheStandardsControlBytes_DoWhatTheySay()
    {
        // PS3.5 G.3.1: n from 0 to 127 copies n + 1 bytes; n from -1 to -127 repeats the next byte 1 - n times; -128 does nothing.
        byte[] packed = [2, 10, 20, 30, 0x80, unchecked((byte)-4), 7, 0, 99];
        ushort[] words = RleDecoder.Decode(Frame([packed]), new PixelLayout(1, 9, 8, 8, 7, 1, false), CancellationToken.None);
        Assert.Equal([10, 20, 30, 7, 7, 7, 7, 7, 99], words.Select(word => (int)word));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Decode_AnythingPacked_GivesItBack()
    {
        Random random = new(20240611);
        for (int i = 0; i < 300; i++)
        {
            int rows = random.Next(1, 20);
            int columns = random.Next(1, 300);
            bool isWide = random.Next(2) == 0;
            ushort[] expected = new ushort[rows * columns];
            for (int k = 0; k < expected.Length; k++)
            {
                expected[k] = k > 0 && random.Next(4) != 0 ? expected[k - 1] : (ushort)random.Next(isWide ? 65_536 : 256);
            }

            byte[][] segments = isWide
                ? [Pack(expected.Select(word => (byte)(word >> 8))), Pack(expected.Select(word => (byte)word))]
                : [Pack(expected.Select(word => (byte)word))];
            int bits = isWide ? 16 : 8;
            Assert.Equal(expected, RleDecoder.Decode(Frame(segments), new PixelLayout(rows, columns, bits, bits, bits - 1, 1, false), CancellationToken.None));
        }
    }

    [Theory]
    [InlineData(0)]
    [InlineData(3)]
    [InlineData(15)]
    public void Decode_WrongNumberOfSegments_IsRefused(int segments)
    {
        byte[] frame = Frame([[0, 1], [0, 1]]);
        BinaryPrimitives.WriteInt32LittleEndian(frame, segments);
        Assert.Throws<ImageFormatException>(() => RleDecoder.Decode(frame, new PixelLayout(1, 1, 16, 16, 15, 1, false), CancellationToken.None));
    }

    private static byte[] Frame(byte[][] segments)
    {
        List<byte> frame = [.. new byte[64]];
        byte[] header = new byte[64];
        BinaryPrimitives.WriteInt32LittleEndian(header, segments.Length);
        for (int i = 0; i < segments.Length; i++)
        {
            BinaryPrimitives.WriteInt32LittleEndian(header.AsSpan(4 + (4 * i)), frame.Count);
            frame.AddRange(segments[i]);
            if ((frame.Count & 1) == 1)
            {
                frame.Add(0);
            }
        }

        byte[] bytes = [.. frame];
        header.CopyTo(bytes, 0);
        return bytes;
    }

    private static byte[] Pack(IEnumerable<byte> plane)
    {
        byte[] bytes = [.. plane];
        List<byte> packed = [];
        int i = 0;
        while (i < bytes.Length)
        {
            int run = 1;
            while (i + run < bytes.Length && run < 128 && bytes[i + run] == bytes[i])
            {
                run++;
            }

            if (run > 1)
            {
                packed.AddRange([unchecked((byte)(1 - run)), bytes[i]]);
                i += run;
                continue;
            }

            int literal = 1;
            while (i + literal < bytes.Length && literal < 128 && bytes[i + literal] != bytes[i + literal - 1])
            {
                literal++;
            }

            packed.Add((byte)(literal - 1));
            packed.AddRange(bytes[i..(i + literal)]);
            i += literal;
        }

        return [.. packed];
    }
}
