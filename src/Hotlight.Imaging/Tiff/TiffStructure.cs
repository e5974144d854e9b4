using System.Buffers.Binary;

namespace Hotlight.Imaging.Tiff;

/// <summary>Checks a TIFF file's directories against the file's own length (TIFF 6.0 section 2), before a library believes them: one wrong count made it take 4 GB.</summary>
internal static class TiffStructure
{
    private const string Damaged = "it is a damaged TIFF picture: its directory points outside the file.";
    private const int MaximumDirectories = 64;

    public static void Check(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length < 8)
        {
            throw new ImageFormatException("it is a damaged TIFF picture: it ends in its header.");
        }

        bool isBigEndian = bytes[0] == (byte)'M';
        if (Word(bytes, 2, isBigEndian) != 42)
        {
            throw new ImageFormatException("it is a BigTIFF picture; save it as TIFF.");
        }

        long directory = Long(bytes, 4, isBigEndian);
        for (int number = 0; directory != 0; number++)
        {
            if (number >= MaximumDirectories)
            {
                throw new ImageFormatException("it is a TIFF file with more pictures than Hotlight looks through; give one exposure a file.");
            }

            if (directory < 8 || directory + 2 > bytes.Length)
            {
                throw new ImageFormatException(Damaged);
            }

            int entries = Word(bytes, (int)directory, isBigEndian);
            long end = directory + 2 + (12L * entries);
            if (entries == 0 || end + 4 > bytes.Length)
            {
                throw new ImageFormatException(Damaged);
            }

            Entry offsets = default;
            Entry counts = default;
            for (int i = 0; i < entries; i++)
            {
                int place = (int)directory + 2 + (12 * i);
                int tag = Word(bytes, place, isBigEndian);
                Entry entry = ReadEntry(bytes, place, isBigEndian);
                if (tag is 273 or 324)
                {
                    offsets = entry;
                }
                else if (tag is 279 or 325)
                {
                    counts = entry;
                }
            }

            CheckBlocks(bytes, offsets, counts, isBigEndian);
            directory = Long(bytes, (int)end, isBigEndian);
        }
    }

    private static Entry ReadEntry(ReadOnlySpan<byte> bytes, int place, bool isBigEndian)
    {
        int size = Word(bytes, place + 2, isBigEndian) switch
        {
            1 or 2 or 6 or 7 => 1,
            3 or 8 => 2,
            4 or 9 or 11 or 13 => 4,
            5 or 10 or 12 => 8,
            _ => 1,
        };
        long count = Long(bytes, place + 4, isBigEndian);
        long length = count * size;
        long start = length <= 4 ? place + 8 : Long(bytes, place + 8, isBigEndian);
        if (start + length > bytes.Length)
        {
            throw new ImageFormatException(Damaged);
        }

        return new Entry((int)start, (int)count, size);
    }

    /// <summary>Every strip or tile lies within the file.</summary>
    private static void CheckBlocks(ReadOnlySpan<byte> bytes, Entry offsets, Entry counts, bool isBigEndian)
    {
        for (int i = 0; i < Math.Min(offsets.Count, counts.Count); i++)
        {
            if (Number(bytes, offsets, i, isBigEndian) + Number(bytes, counts, i, isBigEndian) > bytes.Length)
            {
                throw new ImageFormatException("it is a damaged TIFF picture: its pixel data ends early or cannot be decoded.");
            }
        }
    }

    private static long Number(ReadOnlySpan<byte> bytes, Entry entry, int index, bool isBigEndian) => entry.Size switch
    {
        2 => Word(bytes, entry.Start + (2 * index), isBigEndian),
        4 => Long(bytes, entry.Start + (4 * index), isBigEndian),
        _ => throw new ImageFormatException(Damaged),
    };

    private static int Word(ReadOnlySpan<byte> bytes, int place, bool isBigEndian)
        => isBigEndian ? BinaryPrimitives.ReadUInt16BigEndian(bytes[place..]) : BinaryPrimitives.ReadUInt16LittleEndian(bytes[place..]);

    private static long Long(ReadOnlySpan<byte> bytes, int place, bool isBigEndian)
        => isBigEndian ? BinaryPrimitives.ReadUInt32BigEndian(bytes[place..]) : BinaryPrimitives.ReadUInt32LittleEndian(bytes[place..]);

    private readonly record struct Entry(int Start, int Count, int Size);
}
