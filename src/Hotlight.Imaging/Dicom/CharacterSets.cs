using System.Text;

namespace Hotlight.Imaging.Dicom;

/// <summary>Text of a data set, by Specific Character Set (0008,0005), PS3.3 C.12.1.1.2 and PS3.5 6.1.2.5.</summary>
internal static class CharacterSets
{
    private const byte Escape = 0x1B;

    static CharacterSets() => Encoding.RegisterProvider(CodePagesEncodingProvider.Instance);

    public static string Decode(ReadOnlySpan<byte> bytes, string[] terms)
    {
        Encoding initial = terms.Length == 0 ? Encoding.Latin1 : ByTerm(terms[0]);
        if (!bytes.Contains(Escape))
        {
            return initial.GetString(bytes);
        }

        // ISO 2022: each escape names the set of the bytes up to the next one.
        StringBuilder text = new();
        Encoding current = initial;
        while (bytes.Length > 0)
        {
            int next = bytes.IndexOf(Escape);
            ReadOnlySpan<byte> run = next < 0 ? bytes : bytes[..next];
            text.Append(current.GetString(run));
            if (next < 0)
            {
                break;
            }

            bytes = bytes[next..];
            (current, int length) = AfterEscape(bytes, initial);
            bytes = bytes[Math.Min(length, bytes.Length)..];
        }

        return text.ToString();
    }

    private static (Encoding Encoding, int Length) AfterEscape(ReadOnlySpan<byte> bytes, Encoding initial)
    {
        if (bytes.Length >= 4 && bytes[1] == (byte)'$' && bytes[2] is (byte)'(' or (byte)')')
        {
            return ((char)bytes[3]) switch
            {
                'C' => (Encoding.GetEncoding(51949), 4),
                'A' => (Encoding.GetEncoding(936), 4),
                'D' => (new Jis0212Encoding(), 4),
                _ => (initial, 4),
            };
        }

        if (bytes.Length >= 3 && bytes[1] == (byte)'$')
        {
            return (new Jis0208Encoding(), 3);
        }

        if (bytes.Length >= 3 && bytes[1] is (byte)'(' or (byte)')' or (byte)'-')
        {
            return ((char)bytes[2]) switch
            {
                'B' => (Encoding.Latin1, 3),
                'J' or 'I' => (Encoding.GetEncoding(932), 3),
                'A' => (Encoding.Latin1, 3),
                'L' => (Encoding.GetEncoding(28595), 3),
                'F' => (Encoding.GetEncoding(28597), 3),
                'G' => (Encoding.GetEncoding(28596), 3),
                'H' => (Encoding.GetEncoding(28598), 3),
                'M' => (Encoding.GetEncoding(28599), 3),
                'T' => (Encoding.GetEncoding(874), 3),
                _ => (initial, 3),
            };
        }

        return (initial, 1);
    }

    private static Encoding ByTerm(string term) => term.Replace("ISO 2022 IR ", "ISO_IR ", StringComparison.Ordinal) switch
    {
        "ISO_IR 192" => Encoding.UTF8,
        "ISO_IR 101" => Encoding.GetEncoding(28592),
        "ISO_IR 109" => Encoding.GetEncoding(28593),
        "ISO_IR 110" => Encoding.GetEncoding(28594),
        "ISO_IR 144" => Encoding.GetEncoding(28595),
        "ISO_IR 127" => Encoding.GetEncoding(28596),
        "ISO_IR 126" => Encoding.GetEncoding(28597),
        "ISO_IR 138" => Encoding.GetEncoding(28598),
        "ISO_IR 148" => Encoding.GetEncoding(28599),
        "ISO_IR 203" => Encoding.GetEncoding(28605),
        "ISO_IR 13" => Encoding.GetEncoding(932),
        "ISO_IR 166" => Encoding.GetEncoding(874),
        "GB18030" => Encoding.GetEncoding(54936),
        "GBK" => Encoding.GetEncoding(936),
        _ => Encoding.Latin1,
    };

    /// <summary>Two-byte JIS X 0208: the same rows as EUC-JP with the high bits off.</summary>
    private sealed class Jis0208Encoding : SevenBitEncoding
    {
        public override byte[] ToEuc(ReadOnlySpan<byte> bytes)
        {
            byte[] euc = new byte[bytes.Length];
            for (int i = 0; i < bytes.Length; i++)
            {
                euc[i] = bytes[i] > 0x20 ? (byte)(bytes[i] | 0x80) : bytes[i];
            }

            return euc;
        }
    }

    /// <summary>Two-byte JIS X 0212: EUC-JP writes it behind 0x8F.</summary>
    private sealed class Jis0212Encoding : SevenBitEncoding
    {
        public override byte[] ToEuc(ReadOnlySpan<byte> bytes)
        {
            List<byte> euc = new(bytes.Length * 2);
            for (int i = 0; i + 1 < bytes.Length; i += 2)
            {
                euc.AddRange([0x8F, (byte)(bytes[i] | 0x80), (byte)(bytes[i + 1] | 0x80)]);
            }

            return [.. euc];
        }
    }

    private abstract class SevenBitEncoding : Encoding
    {
        private static readonly Encoding EucJp = GetEncoding(20932);

        public abstract byte[] ToEuc(ReadOnlySpan<byte> bytes);

        public override int GetByteCount(char[] chars, int index, int count) => throw new NotSupportedException();

        public override int GetBytes(char[] chars, int charIndex, int charCount, byte[] bytes, int byteIndex) => throw new NotSupportedException();

        public override int GetCharCount(byte[] bytes, int index, int count) => EucJp.GetCharCount(ToEuc(bytes.AsSpan(index, count)));

        public override int GetChars(byte[] bytes, int byteIndex, int byteCount, char[] chars, int charIndex)
            => EucJp.GetChars(ToEuc(bytes.AsSpan(byteIndex, byteCount)), chars.AsSpan(charIndex));

        public override int GetMaxByteCount(int charCount) => charCount * 3;

        public override int GetMaxCharCount(int byteCount) => byteCount;
    }
}
