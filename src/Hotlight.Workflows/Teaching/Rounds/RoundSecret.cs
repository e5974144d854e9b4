using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;

namespace Hotlight.Workflows.Teaching.Rounds;

/// <summary>The secret of an invitation: 256 random bits, shown once. Only its hash is kept.</summary>
public static class RoundSecret
{
    private const int Bytes = 32;

    /// <summary>A new secret, 43 letters, digits, - and _.</summary>
    public static string New() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(Bytes));

    /// <summary>What is kept of a secret: SHA-256, 64 hexadecimal digits.</summary>
    /// <param name="secret">The secret.</param>
    public static string HashOf(string secret)
    {
        ArgumentNullException.ThrowIfNull(secret);
        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(secret)));
    }

    /// <summary>Whether a hash is that of a secret; the time it takes tells nothing of how much of it is right.</summary>
    /// <param name="hash">What is kept; null: no secret is.</param>
    /// <param name="secretHash">Hash of what was given.</param>
    public static bool IsSame(string? hash, string secretHash)
    {
        ArgumentNullException.ThrowIfNull(secretHash);

        // Compared with something of the same length where nothing is kept, so that this takes as long.
        bool isSame = CryptographicOperations.FixedTimeEquals(Encoding.ASCII.GetBytes(hash ?? new string('-', secretHash.Length)), Encoding.ASCII.GetBytes(secretHash));
        return isSame && hash is not null;
    }
}
