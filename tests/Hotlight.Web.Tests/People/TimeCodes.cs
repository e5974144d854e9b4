using System.Globalization;
using System.Security.Cryptography;

namespace Hotlight.Web.Tests.People;

/// <summary>Time-based one-time codes as RFC 6238 has them, HMAC-SHA-1 and steps of 30 s, written from the document and not from what the bench uses.</summary>
internal static class TimeCodes
{
    private const string Alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

    /// <summary>The code at a time.</summary>
    /// <param name="key">The key.</param>
    /// <param name="unixSeconds">Seconds since 1970.</param>
    /// <param name="digits">6 to 8 digits.</param>
    public static string At(byte[] key, long unixSeconds, int digits = 6)
    {
        byte[] counter = BitConverter.GetBytes(unixSeconds / 30);
        if (BitConverter.IsLittleEndian)
        {
            Array.Reverse(counter);
        }

#pragma warning disable CA5350 // RFC 6238's own default, which apps use.
        byte[] hash = HMACSHA1.HashData(key, counter);
#pragma warning restore CA5350
        int offset = hash[^1] & 0xf;
        int binary = ((hash[offset] & 0x7f) << 24) | (hash[offset + 1] << 16) | (hash[offset + 2] << 8) | hash[offset + 3];
        return (binary % (int)Math.Pow(10, digits)).ToString(CultureInfo.InvariantCulture).PadLeft(digits, '0');
    }

    /// <summary>A key from its base32 text (RFC 4648).</summary>
    /// <param name="text">The text; blanks are passed over.</param>
    public static byte[] KeyOf(string text)
    {
        var bytes = new List<byte>();
        int held = 0;
        int bits = 0;
        foreach (char letter in text.Where(each => !char.IsWhiteSpace(each) && each != '='))
        {
            held = (held << 5) | Alphabet.IndexOf(char.ToUpperInvariant(letter), StringComparison.Ordinal);
            bits += 5;
            if (bits >= 8)
            {
                bits -= 8;
                bytes.Add((byte)(held >> bits));
                held &= (1 << bits) - 1;
            }
        }

        return [.. bytes];
    }
}

/// <summary>The codes of the tests against the vectors of RFC 6238, appendix B, column SHA1.</summary>
public sealed class TimeCodesTests
{
    [Theory]
    [InlineData(59, "94287082")]
    [InlineData(1111111109, "07081804")]
    [InlineData(1111111111, "14050471")]
    [InlineData(1234567890, "89005924")]
    [InlineData(2000000000, "69279037")]
    [InlineData(20000000000, "65353130")]
    public void At_TheTimesOfTheRfc_GivesItsCodes(long unixSeconds, string code)
    {
        byte[] key = System.Text.Encoding.ASCII.GetBytes("12345678901234567890");
        Assert.Equal(code, TimeCodes.At(key, unixSeconds, digits: 8));
        Assert.Equal(code[2..], TimeCodes.At(key, unixSeconds));
        Assert.Equal(key, TimeCodes.KeyOf("GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"));
    }
}
