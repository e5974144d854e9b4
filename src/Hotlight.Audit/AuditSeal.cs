using System.Buffers.Binary;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace Hotlight.Audit;

/// <summary>The chain: each entry's seal is a keyed hash (HMAC with SHA-256, RFC 2104 and FIPS 180-4) of the seal before and of everything the entry holds. Whoever changes, removes or puts in between an entry without the key breaks the chain at that place.</summary>
/// <remarks>The key lies in the data folder, apart from the database: a backup or a database server alone does not hold it. Who runs the bench can read both and could write the chain anew; therefore the newest seal is printed by <c>hotlight audit check</c>, to be kept elsewhere.</remarks>
public static class AuditSeal
{
    /// <summary>Digits of a seal.</summary>
    public const int Digits = 64;

    /// <summary>The seal before the first entry.</summary>
    public static readonly string None = new('0', Digits);

    /// <summary>Seals an entry.</summary>
    /// <param name="key">The key, 32 bytes.</param>
    /// <param name="entry">The entry; its own seal does not count.</param>
    /// <returns>64 hexadecimal digits in small letters.</returns>
    public static string Of(ReadOnlySpan<byte> key, AuditEntry entry)
    {
        ArgumentNullException.ThrowIfNull(entry);
        return Convert.ToHexStringLower(HMACSHA256.HashData(key, Bytes(entry)));
    }

    /// <summary>What is sealed: the previous seal, number, time in UTC as 2026-11-27T08:15:30.123Z, who (name, identifier, role, address), act and subject by number, which, detail, failure as 0 or 1; each in UTF-8 behind its length in four bytes, the highest first.</summary>
    /// <param name="entry">The entry.</param>
    internal static byte[] Bytes(AuditEntry entry)
    {
        using var content = new MemoryStream();
        Span<byte> length = stackalloc byte[4];
        foreach (string text in new[]
        {
            entry.Previous,
            entry.Number.ToString(CultureInfo.InvariantCulture),
            entry.At.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture),
            entry.By.Name,
            entry.By.Id?.ToString() ?? string.Empty,
            entry.By.Role,
            entry.By.Address,
            ((int)entry.Act).ToString(CultureInfo.InvariantCulture),
            ((int)entry.Subject).ToString(CultureInfo.InvariantCulture),
            entry.SubjectId,
            entry.Detail,
            entry.IsFailure ? "1" : "0",
        })
        {
            byte[] bytes = Encoding.UTF8.GetBytes(text);
            BinaryPrimitives.WriteInt32BigEndian(length, bytes.Length);
            content.Write(length);
            content.Write(bytes);
        }

        return content.ToArray();
    }

    /// <summary>Makes the next entries of a chain.</summary>
    /// <param name="key">The key, 32 bytes.</param>
    /// <param name="last">The number and seal of the newest entry; null: there is none.</param>
    /// <param name="told">What was done, in order.</param>
    /// <returns>As many entries, in order.</returns>
    public static IReadOnlyList<AuditEntry> Continue(ReadOnlySpan<byte> key, (long Number, string Seal)? last, IReadOnlyList<(AuditEvent Event, AuditActor By, DateTimeOffset At)> told)
    {
        ArgumentNullException.ThrowIfNull(told);
        (long number, string seal) = last ?? (0, None);
        var entries = new List<AuditEntry>(told.Count);
        foreach ((AuditEvent each, AuditActor by, DateTimeOffset at) in told)
        {
            var entry = new AuditEntry
            {
                Number = ++number,
                At = new DateTimeOffset(at.UtcTicks - (at.UtcTicks % TimeSpan.TicksPerMillisecond), TimeSpan.Zero),
                By = new AuditActor(AuditText.Of(by.Name, AuditActor.MaxLength), by.Id, AuditText.Of(by.Role, AuditActor.MaxLength), AuditText.Of(by.Address, AuditActor.MaxLength)),
                Act = each.Act,
                Subject = each.Subject,
                SubjectId = each.SubjectId,
                Detail = each.Detail,
                IsFailure = each.IsFailure,
                Previous = seal,
                Seal = string.Empty,
            };
            seal = Of(key, entry);
            entries.Add(entry with { Seal = seal });
        }

        return entries;
    }
}
