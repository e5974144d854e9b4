using System.Buffers.Binary;
using System.IO.Compression;
using Hotlight.Core;
using Hotlight.Imaging.Png;

namespace Hotlight.Imaging.Tests.Png;

public sealed class PngTests
{
    [Fact]
    [Trait("evidence", "invariant")]
    public void Write_SixteenBitGrey_ReadsBackTheSame()
    {
        Random sizes = new(20240611);
        for (int i = 0; i < 100; i++)
        {
            Raster<ushort> picture = Noise(sizes.Next(1, 40), sizes.Next(1, 40), i, 65_536);
            picture.Samples[0] = 65_535;
            using MemoryStream stream = new();
            PngWriter.Write(stream, picture);
            Radiograph read = RadiographReader.Read(stream.ToArray(), "a.png");
            Assert.Equal((picture.Rows, picture.Columns, 16), (read.Rows, read.Columns, read.BitsStored));
            Assert.Equal(picture.Samples.ToArray(), read.Pixels.Samples.ToArray());
            Assert.Null(read.ReceptorSpacing);
        }
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(4)]
    [InlineData(8)]
    [InlineData(16)]
    public void Read_EveryGreyDepth_PlainAndInterlaced_GivesTheSamples(int bits)
    {
        Raster<ushort> picture = Noise(11, 13, 3, 1 << bits);
        picture.Samples[5] = (ushort)((1 << bits) - 1);
        foreach (bool interlaced in new[] { false, true })
        {
            Radiograph read = RadiographReader.Read(Encode(picture, bits, interlaced), "a.png");
            Assert.Equal(bits, read.BitsStored);
            Assert.Equal(picture.Samples.ToArray(), read.Pixels.Samples.ToArray());
        }
    }

    [Fact]
    public void Read_ColourPhoto_IsRefusedInOneSentence()
    {
        byte[] rows = [.. Enumerable.Range(0, 8).SelectMany(_ => (byte[])[0, .. Enumerable.Repeat<byte[]>([200, 40, 10], 8).SelectMany(rgb => rgb)])];
        UnreadableImageException error = Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(File(8, 8, 8, 2, false, rows), "photo.png"));
        Assert.Equal("it is a picture in colour (100 % of its pixels); a radiograph is grey.", error.Reason);
    }

    [Fact]
    public void Read_GreyStoredAsColour_IsReadWithARemark()
    {
        byte[] rows = [.. Enumerable.Range(0, 4).SelectMany(row => (byte[])[0, .. Enumerable.Range(0, 4).SelectMany(column => Enumerable.Repeat((byte)(row * 60 + column), 3))])];
        Radiograph read = RadiographReader.Read(File(4, 4, 8, 2, false, rows), "grey.png");
        Assert.Equal(183, read.Pixels[3, 3]);
        Assert.Contains("The picture is grey stored as colour.", read.Remarks);
    }

    [Theory]
    [InlineData(0, 5)]
    [InlineData(70_000, 5)]
    [InlineData(25_000, 25_000)]
    public void Read_ImpossibleSize_IsRefusedBeforeItIsAllocated(int rows, int columns)
    {
        UnreadableImageException error = Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(File(rows, columns, 8, 0, false, new byte[10]), "big.png"));
        Assert.StartsWith("it says it has", error.Reason);
    }

    [Fact]
    public void Read_CheckValueWrong_IsRefused()
    {
        byte[] file = Encode(Noise(6, 6, 1, 256), 8, false);
        file[^20] ^= 1;
        Assert.Contains("check value", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(file, "a.png")).Reason);
    }

    [Fact]
    public void Read_RowsMissing_IsRefused()
    {
        byte[] file = File(8, 8, 8, 0, false, new byte[9 * 5]);
        Assert.Contains("ends early", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(file, "a.png")).Reason);
    }

    private static Raster<ushort> Noise(int rows, int columns, int seed, int levels)
    {
        Random random = new(seed);
        Raster<ushort> picture = new(rows, columns);
        foreach (ref ushort sample in picture.Samples)
        {
            sample = (ushort)random.Next(levels);
        }

        return picture;
    }

    /// <summary>Grey samples of any depth, unfiltered; interlaced by the seven passes of the standard.</summary>
    private static byte[] Encode(Raster<ushort> picture, int bits, bool interlaced)
    {
        (int C, int R, int Dc, int Dr)[] passes = interlaced
            ? [(0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2)]
            : [(0, 0, 1, 1)];
        List<byte> rows = [];
        foreach ((int c, int r, int dc, int dr) in passes)
        {
            for (int row = r; row < picture.Rows && c < picture.Columns; row += dr)
            {
                rows.Add(0);
                int cache = 0;
                int valid = 0;
                for (int column = c; column < picture.Columns; column += dc)
                {
                    cache = (cache << bits) | picture[row, column];
                    valid += bits;
                    while (valid >= 8)
                    {
                        rows.Add((byte)(cache >> (valid - 8)));
                        valid -= 8;
                    }
                }

                if (valid > 0)
                {
                    rows.Add((byte)(cache << (8 - valid)));
                }
            }
        }

        return File(picture.Rows, picture.Columns, bits, 0, interlaced, [.. rows]);
    }

    private static byte[] File(int rows, int columns, int bits, int colourType, bool interlaced, byte[] filtered)
    {
        using MemoryStream file = new();
        file.Write(PngChunks.Signature);
        byte[] header = new byte[13];
        BinaryPrimitives.WriteInt32BigEndian(header, columns);
        BinaryPrimitives.WriteInt32BigEndian(header.AsSpan(4), rows);
        (header[8], header[9], header[12]) = ((byte)bits, (byte)colourType, interlaced ? (byte)1 : (byte)0);
        Chunk(file, "IHDR"u8, header);
        using MemoryStream packed = new();
        using (ZLibStream deflater = new(packed, CompressionLevel.Optimal, leaveOpen: true))
        {
            deflater.Write(filtered);
        }

        Chunk(file, "IDAT"u8, packed.ToArray());
        Chunk(file, "IEND"u8, []);
        return file.ToArray();
    }

    private static void Chunk(Stream file, ReadOnlySpan<byte> type, ReadOnlySpan<byte> data)
    {
        byte[] chunk = new byte[12 + data.Length];
        BinaryPrimitives.WriteInt32BigEndian(chunk, data.Length);
        type.CopyTo(chunk.AsSpan(4));
        data.CopyTo(chunk.AsSpan(8));
        BinaryPrimitives.WriteUInt32BigEndian(chunk.AsSpan(8 + data.Length), PngChunks.Crc(chunk.AsSpan(4, 4 + data.Length)));
        file.Write(chunk);
    }
}
