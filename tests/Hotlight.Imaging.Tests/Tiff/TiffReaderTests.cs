using System.Buffers.Binary;
using Hotlight.Core;

namespace Hotlight.Imaging.Tests.Tiff;

/// <summary>TIFF files put together byte by byte after TIFF 6.0, so that the reader's library does not check itself.</summary>
public sealed class TiffReaderTests
{
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(1, false)]
    [InlineData(4, false)]
    [InlineData(8, false)]
    [InlineData(8, true)]
    [InlineData(12, false)]
    [InlineData(12, true)]
    [InlineData(14, false)]
    [InlineData(16, false)]
    [InlineData(16, true)]
    public void Read_GreyOfEveryDepthInBothByteOrders_GivesTheSamples(int bits, bool bigEndian)
    {
        Raster<ushort> picture = Picture(bits, 7, 9);
        Radiograph read = RadiographReader.Read(Encode(picture, bits, bigEndian, photometric: 1), "a.tif");
        Assert.Equal((ImageSource.Tiff, bits, 7, 9), (read.Source, read.BitsStored, read.Rows, read.Columns));
        Assert.Equal(picture.Samples.ToArray(), read.Pixels.Samples.ToArray());
        Assert.False(read.HighIsShownDark);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_WhiteIsZero_IsShownTheOtherWayRound()
    {
        Radiograph read = RadiographReader.Read(Encode(Picture(12, 5, 6), 12, false, photometric: 0), "a.tif");
        Assert.True(read.HighIsShownDark);
        Assert.Equal(Picture(12, 5, 6).Samples.ToArray(), read.Pixels.Samples.ToArray());
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Read_FileCutOrChanged_IsRefusedOrRead()
    {
        byte[] file = Encode(Picture(12, 20, 30), 12, false, photometric: 1);
        Random random = new(7);
        for (int i = 0; i < 600; i++)
        {
            byte[] damaged = i % 2 == 0 ? file[..random.Next(file.Length)] : [.. file];
            for (int k = 0; k < 4 && i % 2 == 1; k++)
            {
                damaged[random.Next(damaged.Length)] = (byte)random.Next(256);
            }

            try
            {
                _ = RadiographReader.Read(damaged, "a.tif");
            }
            catch (UnreadableImageException error)
            {
                Dicom.FixtureTests.AssertOneSentence(error);
            }
        }
    }

    [Fact]
    public void Read_StripLongerThanTheFile_IsRefusedBeforeTheLibraryAllocatesIt()
    {
        byte[] file = Encode(Picture(16, 8, 8), 16, false, photometric: 1);

        // The entry of Strip Byte Counts (279) is the last one; its value stands 8 bytes before the end, ahead of the next directory's place.
        BinaryPrimitives.WriteUInt32LittleEndian(file.AsSpan(file.Length - 8), 0xF0000000);
        Assert.Equal("it is a damaged TIFF picture: its pixel data ends early or cannot be decoded.", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(file, "a.tif")).Reason);
    }

    [Fact]
    public void Read_DirectoriesInALoop_IsRefused()
    {
        byte[] file = Encode(Picture(16, 8, 8), 16, false, photometric: 1);
        file.AsSpan(4, 4).CopyTo(file.AsSpan(file.Length - 4));
        Assert.Contains("more pictures", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(file, "a.tif")).Reason);
    }

    [Fact]
    public void Read_SeventyThousandRows_IsRefused()
    {
        byte[] file = Encode(Picture(8, 4, 4), 8, false, photometric: 1, rowsWritten: 70_000);
        Assert.StartsWith("it says it has 70000 rows", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(file, "a.tif")).Reason);
    }

    private static Raster<ushort> Picture(int bits, int rows, int columns)
    {
        Raster<ushort> picture = new(rows, columns);
        Random random = new(bits);
        foreach (ref ushort sample in picture.Samples)
        {
            sample = (ushort)random.Next(1 << bits);
        }

        picture.Samples[^1] = (ushort)((1 << bits) - 1);
        return picture;
    }

    private static byte[] Encode(Raster<ushort> picture, int bits, bool bigEndian, int photometric, int? rowsWritten = null)
    {
        List<byte> data = [];
        for (int row = 0; row < picture.Rows; row++)
        {
            ulong cache = 0;
            int valid = 0;
            foreach (ushort sample in picture.Row(row))
            {
                if (bits == 16)
                {
                    data.AddRange(bigEndian ? [(byte)(sample >> 8), (byte)sample] : [(byte)sample, (byte)(sample >> 8)]);
                    continue;
                }

                cache = (cache << bits) | sample;
                for (valid += bits; valid >= 8; valid -= 8)
                {
                    data.Add((byte)(cache >> (valid - 8)));
                }
            }

            if (valid > 0)
            {
                data.Add((byte)(cache << (8 - valid)));
            }
        }

        (ushort Tag, ushort Type, uint Value)[] fields =
        [
            (256, 4, (uint)picture.Columns), (257, 4, (uint)(rowsWritten ?? picture.Rows)), (258, 3, (uint)bits), (259, 3, 1), (262, 3, (uint)photometric),
            (273, 4, 8), (277, 3, 1), (278, 4, (uint)(rowsWritten ?? picture.Rows)), (279, 4, (uint)data.Count),
        ];
        if ((data.Count & 1) == 1)
        {
            data.Add(0);
        }

        List<byte> file = [];
        void Word(ushort value) => file.AddRange(bigEndian ? [(byte)(value >> 8), (byte)value] : [(byte)value, (byte)(value >> 8)]);
        void Long(uint value)
        {
            byte[] four = new byte[4];
            if (bigEndian)
            {
                BinaryPrimitives.WriteUInt32BigEndian(four, value);
            }
            else
            {
                BinaryPrimitives.WriteUInt32LittleEndian(four, value);
            }

            file.AddRange(four);
        }

        file.AddRange(bigEndian ? "MM"u8.ToArray() : "II"u8.ToArray());
        Word(42);
        Long((uint)(8 + data.Count));
        file.AddRange(data);
        Word((ushort)fields.Length);
        foreach ((ushort tag, ushort type, uint value) in fields)
        {
            Word(tag);
            Word(type);
            Long(1);
            if (type == 3)
            {
                Word((ushort)value);
                Word(0);
            }
            else
            {
                Long(value);
            }
        }

        Long(0);
        return [.. file];
    }
}
