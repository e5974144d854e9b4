using System.Buffers.Binary;

namespace Hotlight.Hostile;

/// <summary>Damages bytes as strangers and broken disks do; the same seed gives the same damage.</summary>
internal static class Mutation
{
    private static readonly uint[] Telling = [0, 1, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFE, 0xFFFFFFFF];

    // What readers of text trip over.
    private static readonly byte[][] Pieces = [@"\ud800"u8.ToArray(), "\n"u8.ToArray(), "\u001b[2J"u8.ToArray(), "1e999"u8.ToArray(), "-1"u8.ToArray(), "null"u8.ToArray(), "[[[["u8.ToArray(), "{}"u8.ToArray(), "\""u8.ToArray(), [0xFF, 0xFE], [0xC3]];

    /// <summary>A damaged copy.</summary>
    /// <param name="sound">A sound input.</param>
    /// <param name="other">Another, from which pieces are taken.</param>
    /// <param name="random">Source of chance.</param>
    public static byte[] Of(byte[] sound, byte[] other, Random random)
    {
        byte[] bytes = [.. sound];
        int changes = 1 + random.Next(4);
        for (int change = 0; change < changes && bytes.Length > 0; change++)
        {
            int at = random.Next(bytes.Length);
            switch (random.Next(9))
            {
                case 0:
                    bytes[at] ^= (byte)(1 << random.Next(8));
                    break;
                case 1:
                    bytes[at] = (byte)random.Next(256);
                    break;
                case 2 when bytes.Length >= at + 2:
                    BinaryPrimitives.WriteUInt16LittleEndian(bytes.AsSpan(at), (ushort)Telling[random.Next(Telling.Length)]);
                    break;
                case 3 when bytes.Length >= at + 4:
                    BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(at), Telling[random.Next(Telling.Length)]);
                    break;
                case 4 when bytes.Length >= at + 4:
                    BinaryPrimitives.WriteUInt32BigEndian(bytes.AsSpan(at), Telling[random.Next(Telling.Length)]);
                    break;
                case 5:
                    bytes = bytes[..at];
                    break;
                case 6:
                    int length = Math.Min(random.Next(64), bytes.Length - at);
                    bytes = [.. bytes.AsSpan(0, at), .. bytes.AsSpan(at, length), .. bytes.AsSpan(at)];
                    break;
                case 7:
                    bytes = [.. bytes.AsSpan(0, at), .. Pieces[random.Next(Pieces.Length)], .. bytes.AsSpan(at)];
                    break;
                default:
                    int from = random.Next(Math.Max(1, other.Length));
                    ReadOnlySpan<byte> piece = other.AsSpan(from, Math.Min(random.Next(64), other.Length - from));
                    piece[..Math.Min(piece.Length, bytes.Length - at)].CopyTo(bytes.AsSpan(at));
                    break;
            }
        }

        return bytes;
    }
}
