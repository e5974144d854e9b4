using System.Globalization;
using System.Numerics;
using System.Security.Cryptography;
using System.Text;
using Hotlight.Core;

namespace Hotlight.Privacy;

/// <summary>A secret of one store from which pseudonyms, replaced UIDs and date shifts are made: the same input gives the same output, and nobody without the key can go back.</summary>
public sealed class PrivacyKey
{
    /// <summary>Length of a key, in bytes.</summary>
    public const int Bytes = 32;

    // Without letters that are taken for digits.
    private const string Letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    private const int PseudonymLetters = 8;
    private readonly byte[] key;

    /// <summary>A key from its bytes.</summary>
    /// <param name="key">The bytes, <see cref="Bytes"/> of them; copied.</param>
    /// <exception cref="ArgumentException">There are more or fewer.</exception>
    public PrivacyKey(ReadOnlySpan<byte> key)
    {
        if (key.Length != Bytes)
        {
            throw new ArgumentException($"A key has {Bytes} bytes, not {key.Length}.", nameof(key));
        }

        this.key = key.ToArray();
    }

    /// <summary>A fresh key that is kept nowhere.</summary>
    public static PrivacyKey Fresh() => new(RandomNumberGenerator.GetBytes(Bytes));

    /// <summary>The key of one project: pseudonyms, UIDs and date shifts of two projects cannot be joined by who has not this key.</summary>
    /// <param name="project">The project's name; letters' case and outer spaces do not count.</param>
    public PrivacyKey ForProject(string project)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(project);
        return new PrivacyKey(Hash("project", PlainText.WellFormed(project.Trim()).Normalize(NormalizationForm.FormKC).ToUpperInvariant()));
    }

    /// <summary>The key in a file; a missing file is made, readable by its user alone.</summary>
    /// <param name="path">The file.</param>
    /// <exception cref="IOException">It cannot be read or made, or holds no key.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be read or made.</exception>
    public static PrivacyKey Open(string path) => new(KeyFile.Open(path, Bytes));

    /// <summary>A patient's pseudonym, such as "P-7F3K2QXM": 40 bits, so that of 10,000 patients two share one with a chance of 0.005 %.</summary>
    /// <param name="patient">What tells the patient from others.</param>
    public string Pseudonym(string patient) => Pseudonym('P', "pseudonym", patient);

    /// <summary>What a device is called in place of its own name, such as "S-7F3K2QXM": the same in every file, so that a room's exposures stay together.</summary>
    /// <param name="kind">Letter before it: S a station, D a detector.</param>
    /// <param name="device">Its own name or identifier.</param>
    public string DevicePseudonym(char kind, string device) => Pseudonym(kind, "device", $"{kind}:{device}");

    /// <summary>What somebody of the clinic is called in records, such as "R-7F3K2QXM": the same for every spelling of the name that has the same words.</summary>
    /// <param name="name">The name, as a person name of DICOM or as people write it.</param>
    /// <returns>Null where the name has no letter or digit.</returns>
    public string? StaffPseudonym(string name)
    {
        ArgumentNullException.ThrowIfNull(name);

        // The phonetic and ideographic groups repeat the name (PS3.5 6.2.1).
        string[] words = [.. DescriptorWords.Words(PlainText.WellFormed(name.Split('=')[0]).Normalize(NormalizationForm.FormKC)).Select(word => word.ToUpperInvariant()).Order(StringComparer.Ordinal)];
        return words.Length == 0 ? null : Pseudonym('R', "staff", string.Join(' ', words));
    }

    private string Pseudonym(char kind, string purpose, string value)
    {
        byte[] hash = Hash(purpose, value);
        StringBuilder text = new($"{kind}-");
        BigInteger number = new(hash.AsSpan(0, 8), isUnsigned: true);
        for (int letter = 0; letter < PseudonymLetters; letter++)
        {
            text.Append(Letters[(int)(number % Letters.Length)]);
            number /= Letters.Length;
        }

        return text.ToString();
    }

    /// <summary>32 hexadecimal digits that stand for a value within this store.</summary>
    /// <param name="purpose">What kind of value it is; the same value of another kind gives other digits.</param>
    /// <param name="value">The value.</param>
    public string Stand(string purpose, string value) => Convert.ToHexStringLower(Hash(purpose, value).AsSpan(0, 16));

    /// <summary>A UID in place of another: "2.25." and a UUID as a decimal number (PS3.5 B.2).</summary>
    /// <param name="uid">The original.</param>
    public string Uid(string uid)
    {
        byte[] uuid = Hash("uid", uid)[..16];

        // Version 8 (a layout of one's own) and variant of RFC 9562, so that it is a well-formed UUID.
        uuid[6] = (byte)((uuid[6] & 0x0F) | 0x80);
        uuid[8] = (byte)((uuid[8] & 0x3F) | 0x80);
        return "2.25." + new BigInteger(uuid, isUnsigned: true, isBigEndian: true).ToString(CultureInfo.InvariantCulture);
    }

    /// <summary>By how many days the dates of a patient move into the past: whole weeks between one and ten years, so that the day of the week stays.</summary>
    /// <param name="patient">What tells the patient from others.</param>
    public int DaysBack(string patient)
    {
        const int FirstWeek = 53;
        const int LastWeek = 521;
        byte[] hash = Hash("days", patient);
        return 7 * (FirstWeek + (int)(BitConverter.ToUInt32(hash) % (LastWeek - FirstWeek + 1)));
    }

    private byte[] Hash(string purpose, string value)
    {
        ArgumentNullException.ThrowIfNull(value);
        return HMACSHA256.HashData(key, Encoding.UTF8.GetBytes($"{purpose}\0{value}"));
    }
}
