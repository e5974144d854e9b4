using System.Buffers.Binary;
using System.Globalization;
using System.Numerics;
using System.Runtime.CompilerServices;

namespace Hotlight.Imaging.Jpeg;

/// <summary>JPEG-LS lossless and near-lossless, one component, 2 to 16 bits: ITU-T T.87 (06/98), annex A by its own names.</summary>
/// <remarks>Checked by: JpegLsDecoderTests (the standard's own example H.3, streams coded by CharLS, radiographs decoded by two other programs).</remarks>
internal sealed class JpegLsDecoder
{
    private const int MinimumC = -128;
    private const int MaximumC = 127;
    private const int RegularContexts = 365;

    /// <summary>Beyond any difference of two 16-bit samples; a larger one would let the sums of a context overflow.</summary>
    private const int MaximumError = 65_536;

    // A.2.1: order of the run-length codes.
    private static readonly int[] J = [0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7, 8, 9, 10, 11, 12, 13, 14, 15];

    private readonly Context[] contexts = new Context[RegularContexts + 2];
    private readonly int maxVal;
    private readonly int near;
    private readonly int reset;
    private readonly int range;
    private readonly int qbpp;
    private readonly int limit;
    private readonly sbyte[] quantized;
    private int runIndex;

    private JpegLsDecoder(int maxVal, int near, int t1, int t2, int t3, int reset)
    {
        this.maxVal = maxVal;
        this.near = near;
        this.reset = reset;
        range = ((maxVal + (2 * near)) / ((2 * near) + 1)) + 1;
        qbpp = BitsFor(range);
        int bpp = Math.Max(2, BitsFor(maxVal + 1));
        limit = 2 * (bpp + Math.Max(8, bpp));
        quantized = new sbyte[(2 * maxVal) + 1];
        for (int i = 0; i < quantized.Length; i++)
        {
            quantized[i] = Quantize(i - maxVal, near, t1, t2, t3);
        }
    }

    /// <summary>Near-lossless tolerance of a stream, 0 for lossless, and its precision.</summary>
    /// <param name="Near">NEAR of the scan.</param>
    /// <param name="Precision">Bits of a sample.</param>
    public readonly record struct Outcome(int Near, int Precision);

    /// <summary>Decodes a stream into words; the size must be the one the caller expects.</summary>
    public static Outcome Decode(ReadOnlySpan<byte> stream, int rows, int columns, ushort[] words, CancellationToken cancellation)
    {
        JpegHeader header = JpegHeader.Read(stream);
        if (header.FrameMarker != 0xF7)
        {
            throw new ImageFormatException("its compressed pixel data is not JPEG-LS.");
        }

        if (header.Components != 1)
        {
            throw new ImageFormatException("its JPEG-LS stream is in colour; a radiograph is grey.");
        }

        if (header.Rows != rows || header.Columns != columns)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its JPEG-LS stream has {header.Rows} rows and {header.Columns} columns, the file says {rows} and {columns}."));
        }

        if (header.Precision is < 2 or > 16)
        {
            throw new ImageFormatException(string.Create(CultureInfo.InvariantCulture, $"its JPEG-LS stream has samples of {header.Precision} bits; JPEG-LS has 2 to 16."));
        }

        int maxVal = (1 << header.Precision) - 1;
        int[] preset = [];
        int restartInterval = 0;
        int position = 2;
        while (position + 4 <= stream.Length)
        {
            if (stream[position] != 0xFF)
            {
                break;
            }

            int marker = stream[position + 1];
            if (marker == 0xFF)
            {
                position++;
                continue;
            }

            int length = BinaryPrimitives.ReadUInt16BigEndian(stream[(position + 2)..]);
            if (length < 2 || position + 2 + length > stream.Length)
            {
                break;
            }

            ReadOnlySpan<byte> segment = stream.Slice(position + 4, length - 2);
            position += 2 + length;
            switch (marker)
            {
                case 0xF8 when segment is [1, ..] && segment.Length >= 11:
                    preset = new int[5];
                    for (int i = 0; i < 5; i++)
                    {
                        preset[i] = BinaryPrimitives.ReadUInt16BigEndian(segment[(1 + (2 * i))..]);
                    }

                    break;
                case 0xF8:
                    throw new ImageFormatException("its JPEG-LS stream uses mapping tables; Hotlight does not read those.");
                case 0xDD:
                    foreach (byte value in segment[..Math.Min(segment.Length, 4)])
                    {
                        restartInterval = (restartInterval << 8) | value;
                    }

                    break;
                case 0xDA:
                    if (segment.Length < 6 || segment[0] != 1)
                    {
                        throw new ImageFormatException("its JPEG-LS stream has a scan header that makes no sense.");
                    }

                    int near = segment[3];
                    if (segment[2] != 0)
                    {
                        throw new ImageFormatException("its JPEG-LS stream uses a mapping table; Hotlight does not read those.");
                    }

                    if ((segment[5] & 0x0F) != 0)
                    {
                        throw new ImageFormatException("its JPEG-LS stream uses a point transform; Hotlight does not read that.");
                    }

                    JpegLsDecoder decoder = Create(maxVal, near, preset);
                    decoder.DecodeScan(stream[position..], rows, columns, words, restartInterval, cancellation);
                    return new Outcome(near, header.Precision);
            }
        }

        throw new ImageFormatException("its JPEG-LS stream ends before its scan begins.");
    }

    /// <summary>Parameters of a scan: preset ones where they are not 0, else the defaults of C.2.4.1.1.1.</summary>
    private static JpegLsDecoder Create(int maximum, int near, int[] preset)
    {
        int maxVal = preset.Length > 0 && preset[0] != 0 ? preset[0] : maximum;
        if (maxVal > maximum || maxVal < 1 || near > Math.Min(255, maxVal / 2))
        {
            throw new ImageFormatException("its JPEG-LS stream has parameters that make no sense.");
        }

        static int Clamp(int i, int j, int maxVal) => i > maxVal || i < j ? j : i;
        int t1;
        int t2;
        int t3;
        if (maxVal >= 128)
        {
            int factor = (Math.Min(maxVal, 4095) + 128) / 256;
            t1 = Clamp((factor * (3 - 2)) + 2 + (3 * near), near + 1, maxVal);
            t2 = Clamp((factor * (7 - 3)) + 3 + (5 * near), t1, maxVal);
            t3 = Clamp((factor * (21 - 4)) + 4 + (7 * near), t2, maxVal);
        }
        else
        {
            int factor = 256 / (maxVal + 1);
            t1 = Clamp(Math.Max(2, (3 / factor) + (3 * near)), near + 1, maxVal);
            t2 = Clamp(Math.Max(3, (7 / factor) + (5 * near)), t1, maxVal);
            t3 = Clamp(Math.Max(4, (21 / factor) + (7 * near)), t2, maxVal);
        }

        int reset = 64;
        if (preset.Length > 0)
        {
            t1 = preset[1] != 0 ? preset[1] : t1;
            t2 = preset[2] != 0 ? preset[2] : t2;
            t3 = preset[3] != 0 ? preset[3] : t3;
            reset = preset[4] != 0 ? preset[4] : reset;
        }

        if (t1 < near + 1 || t2 < t1 || t3 < t2 || t3 > maxVal || reset < 3)
        {
            throw new ImageFormatException("its JPEG-LS stream has parameters that make no sense.");
        }

        return new JpegLsDecoder(maxVal, near, t1, t2, t3, reset);
    }

    private static int BitsFor(int count) => 32 - BitOperations.LeadingZeroCount((uint)(count - 1));

    private static sbyte Quantize(int d, int near, int t1, int t2, int t3)
        => (sbyte)(d <= -t3 ? -4 : d <= -t2 ? -3 : d <= -t1 ? -2 : d < -near ? -1 : d <= near ? 0 : d < t1 ? 1 : d < t2 ? 2 : d < t3 ? 3 : 4);

    private void ResetState()
    {
        int a = Math.Max(2, (range + 32) / 64);
        for (int i = 0; i < contexts.Length; i++)
        {
            contexts[i] = new Context { A = a, N = 1 };
        }

        runIndex = 0;
    }

    private void DecodeScan(ReadOnlySpan<byte> coded, int rows, int columns, ushort[] words, int restartInterval, CancellationToken cancellation)
    {
        // One sample of margin on both sides: above[0] and current[0] are Rc and Ra of the first sample, above[columns + 1] is Rd of the last (A.2.1).
        int[] above = new int[columns + 2];
        int[] current = new int[columns + 2];
        BitReader bits = new(coded);
        ResetState();
        int untilRestart = restartInterval > 0 ? restartInterval : int.MaxValue;
        for (int row = 0; row < rows; row++)
        {
            if ((row & 31) == 0)
            {
                cancellation.ThrowIfCancellationRequested();
            }

            if (untilRestart == 0)
            {
                if (bits.IsPastEnd)
                {
                    throw new ImageFormatException("its JPEG-LS pixel data ends early.");
                }

                bits = new BitReader(coded[bits.PositionAfterMarker()..]);
                ResetState();
                Array.Clear(above);
                Array.Clear(current);
                untilRestart = restartInterval;
            }

            untilRestart--;
            above[columns + 1] = above[columns];
            current[0] = above[1];
            DecodeLine(ref bits, above, current, columns);
            Span<ushort> target = words.AsSpan(row * columns, columns);
            for (int column = 0; column < target.Length; column++)
            {
                target[column] = (ushort)current[column + 1];
            }

            (above, current) = (current, above);
        }

        // The decoder feeds itself zero bits past the end; a stream that needed them was cut.
        if (bits.IsPastEnd)
        {
            throw new ImageFormatException("its JPEG-LS pixel data ends early.");
        }
    }

    private void DecodeLine(ref BitReader bits, int[] above, int[] current, int columns)
    {
        int rb = above[1];
        int rc = above[0];
        int ra = current[0];
        int index = 1;
        int quant = (2 * near) + 1;
        ReadOnlySpan<sbyte> q = quantized;
        int zero = maxVal;
        while (index <= columns)
        {
            int rd = above[index + 1];
            int context = (((q[rd - rb + zero] * 9) + q[rb - rc + zero]) * 9) + q[rc - ra + zero];
            int rx;
            if (context != 0)
            {
                int sign = context >> 31;
                ref Context state = ref contexts[(context ^ sign) - sign];

                // Median edge detector, A.4.1.
                int px = rc >= Math.Max(ra, rb) ? Math.Min(ra, rb) : rc <= Math.Min(ra, rb) ? Math.Max(ra, rb) : ra + rb - rc;
                px += (state.C ^ sign) - sign;
                px = px < 0 ? 0 : px > maxVal ? maxVal : px;

                int k = 0;
                while ((state.N << k) < state.A)
                {
                    k++;
                }

                int mapped = bits.ReadGolomb(k, limit, qbpp);
                int error = (mapped >> 1) ^ -(mapped & 1);
                if (near == 0 && k == 0 && 2 * state.B <= -state.N)
                {
                    // A.5.2 maps the other way round where the bias is strongly negative: even is −M/2 − 1, odd (M − 1)/2.
                    error = ~error;
                }

                if (Math.Abs(error) > MaximumError)
                {
                    throw new ImageFormatException("its JPEG-LS pixel data is damaged: a difference is out of range.");
                }

                Update(ref state, error, quant);
                rx = Fix(px + (((error ^ sign) - sign) * quant), quant);
                current[index++] = rx;
                ra = rx;
                rc = rb;
                rb = rd;
            }
            else
            {
                index = DecodeRun(ref bits, above, current, columns, index, ra, quant);
                if (index > columns)
                {
                    return;
                }

                ra = current[index - 1];
                rc = above[index - 1];
                rb = above[index];
            }
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private int Fix(int rx, int quant)
    {
        if ((uint)rx <= (uint)maxVal)
        {
            return rx;
        }

        if (rx < -near)
        {
            rx += range * quant;
        }
        else if (rx > maxVal + near)
        {
            rx -= range * quant;
        }

        return rx < 0 ? 0 : rx > maxVal ? maxVal : rx;
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private void Update(ref Context state, int error, int quant)
    {
        // A.6.1 and A.6.2.
        state.B += error * quant;
        state.A += Math.Abs(error);
        if (state.N == reset)
        {
            state.A >>= 1;
            state.B >>= 1;
            state.N >>= 1;
        }

        state.N++;
        if (state.B <= -state.N)
        {
            state.B = Math.Max(state.B + state.N, 1 - state.N);
            if (state.C > MinimumC)
            {
                state.C--;
            }
        }
        else if (state.B > 0)
        {
            state.B = Math.Min(state.B - state.N, 0);
            if (state.C < MaximumC)
            {
                state.C++;
            }
        }
    }

    /// <summary>A run of samples equal to Ra and the sample that breaks it, A.7; returns the index after them.</summary>
    private int DecodeRun(ref BitReader bits, int[] above, int[] current, int columns, int index, int ra, int quant)
    {
        while (bits.ReadBit())
        {
            int full = 1 << J[runIndex];
            int count = Math.Min(full, columns + 1 - index);
            current.AsSpan(index, count).Fill(ra);
            index += count;
            if (count == full && runIndex < 31)
            {
                runIndex++;
            }

            if (index > columns)
            {
                return index;
            }
        }

        int rest = J[runIndex] > 0 ? bits.ReadBits(J[runIndex]) : 0;
        if (rest > columns - index)
        {
            throw new ImageFormatException("its JPEG-LS pixel data is damaged: a run is longer than its line.");
        }

        current.AsSpan(index, rest).Fill(ra);
        index += rest;

        int rb = above[index];
        int type = Math.Abs(ra - rb) <= near ? 1 : 0;
        ref Context state = ref contexts[RegularContexts + type];
        int temp = type == 0 ? state.A : state.A + (state.N >> 1);
        int k = 0;
        while ((state.N << k) < temp)
        {
            k++;
        }

        int mapped = bits.ReadGolomb(k, limit - J[runIndex] - 1, qbpp);

        if (mapped > 2 * MaximumError)
        {
            throw new ImageFormatException("its JPEG-LS pixel data is damaged: a difference is out of range.");
        }

        // For run contexts B counts the negative errors, Nn of A.7.2.
        int value = mapped + type;
        bool odd = (value & 1) == 1;
        int magnitude = (value + 1) >> 1;
        bool negative = (k != 0 || 2 * state.B >= state.N) == odd;
        int error = negative ? -magnitude : magnitude;
        if (error < 0)
        {
            state.B++;
        }

        state.A += (mapped + 1 - type) >> 1;
        if (state.N == reset)
        {
            state.A >>= 1;
            state.B >>= 1;
            state.N >>= 1;
        }

        state.N++;
        int px = type == 1 ? ra : rb;
        int direction = type == 0 && ra > rb ? -1 : 1;
        current[index] = Fix(px + (direction * error * quant), quant);
        if (runIndex > 0)
        {
            runIndex--;
        }

        return index + 1;
    }

    private struct Context
    {
        public int A;
        public int B;
        public int C;
        public int N;
    }

    /// <summary>Bits of a coded segment: after a byte 0xFF the next byte carries seven bits, unless the two are a marker (T.87 A.1).</summary>
    private ref struct BitReader(ReadOnlySpan<byte> coded)
    {
        private readonly ReadOnlySpan<byte> coded = coded;
        private int position;
        private ulong cache;
        private int valid;
        private int beyond;
        private bool afterFf;
        private bool atMarker;

        /// <summary>Whether bits were taken that the stream does not have; the 0xFF of a marker is none of them.</summary>
        public readonly bool IsPastEnd => (beyond * 8) + (atMarker ? 8 : 0) > valid;

        public bool ReadBit()
        {
            if (valid == 0)
            {
                Fill();
            }

            bool bit = (long)cache < 0;
            cache <<= 1;
            valid--;
            return bit;
        }

        public int ReadBits(int count)
        {
            if (valid < count)
            {
                Fill();
            }

            int value = (int)(cache >> (64 - count));
            cache <<= count;
            valid -= count;
            return value;
        }

        /// <summary>Limited-length Golomb code, A.5.3.</summary>
        [MethodImpl(MethodImplOptions.AggressiveInlining)]
        public int ReadGolomb(int k, int glimit, int qbpp)
        {
            if (valid < 32)
            {
                Fill();
            }

            int zeros = BitOperations.LeadingZeroCount(cache);
            if (zeros + 1 + k <= valid && zeros < glimit - qbpp - 1)
            {
                ulong rest = cache << zeros << 1;
                int low = k == 0 ? 0 : (int)(rest >> (64 - k));
                cache = rest << k;
                valid -= zeros + 1 + k;
                return (zeros << k) | low;
            }

            return ReadLongGolomb(k, glimit, qbpp);
        }

        /// <summary>Where the coded data after the next restart marker begins.</summary>
        public int PositionAfterMarker()
        {
            for (int i = Math.Max(0, position - 10); i + 1 < coded.Length; i++)
            {
                if (coded[i] == 0xFF && coded[i + 1] >= 0x80)
                {
                    if (coded[i + 1] is >= 0xD0 and <= 0xD7)
                    {
                        return i + 2;
                    }

                    break;
                }
            }

            throw new ImageFormatException("its JPEG-LS pixel data lacks a restart marker.");
        }

        private int ReadLongGolomb(int k, int glimit, int qbpp)
        {
            int zeros = 0;
            while (!ReadBit())
            {
                if (++zeros > glimit)
                {
                    throw new ImageFormatException("its JPEG-LS pixel data is damaged: a code is too long.");
                }
            }

            if (zeros < glimit - qbpp - 1)
            {
                return (zeros << k) | (k == 0 ? 0 : ReadBits(k));
            }

            return ReadBits(qbpp) + 1;
        }

        private void Fill()
        {
            while (valid <= 56)
            {
                if (position < coded.Length)
                {
                    byte next = coded[position];
                    if (afterFf)
                    {
                        if (next >= 0x80)
                        {
                            // The coded segment is over.
                            atMarker = true;
                            AppendBeyond();
                            continue;
                        }

                        cache |= (ulong)next << (57 - valid);
                        valid += 7;
                        afterFf = false;
                    }
                    else
                    {
                        cache |= (ulong)next << (56 - valid);
                        valid += 8;
                        afterFf = next == 0xFF;
                    }

                    position++;
                }
                else
                {
                    AppendBeyond();
                }
            }
        }

        private void AppendBeyond()
        {
            valid += 8;
            beyond++;
            if (beyond > 64)
            {
                throw new ImageFormatException("its JPEG-LS pixel data ends early.");
            }
        }
    }
}
