using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace Hotlight.Audit;

/// <summary>What looking a trail over found.</summary>
/// <param name="Entries">How many entries there are.</param>
/// <param name="First">Number of the oldest; 0 where there is none.</param>
/// <param name="Last">Number of the newest; 0 where there is none.</param>
/// <param name="LastSeal">Its seal; zeros where there is none.</param>
/// <param name="Faults">A sentence for each place where the chain is broken; at most <see cref="MostFaults"/>.</param>
public sealed record AuditCheck(long Entries, long First, long Last, string LastSeal, IReadOnlyList<string> Faults)
{
    /// <summary>Most faults that are told; the looking goes on for the count alone.</summary>
    public const int MostFaults = 20;

    /// <summary>Looks a whole trail over.</summary>
    /// <param name="key">The key, 32 bytes.</param>
    /// <param name="entries">The entries, in order of their numbers.</param>
    /// <param name="head">The newest entry that the data folder knows of, kept apart from the database; null: none.</param>
    /// <param name="cancellation">Stops it.</param>
    public static async Task<AuditCheck> OfAsync(ReadOnlyMemory<byte> key, IAsyncEnumerable<AuditEntry> entries, (long Number, string Seal)? head, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(entries);
        List<string> faults = [];
        (long count, long first, long last) = (0, 0, 0);
        string seal = AuditSeal.None;
        string? beforeFirst = null;
        var removals = new List<(long Number, string Detail)>();
        bool isHeadFound = head is null;
        await foreach (AuditEntry entry in entries.WithCancellation(cancellation))
        {
            count++;
            if (count == 1)
            {
                (first, beforeFirst) = (entry.Number, entry.Previous);
            }
            else if (entry.Number != last + 1)
            {
                Add(faults, entry.Number > last + 1 ? $"{Count(entry.Number - last - 1)} missing between {last} and {entry.Number}" : $"entry {entry.Number} stands after entry {last}");
            }
            else if (!Same(entry.Previous, seal))
            {
                Add(faults, $"entry {entry.Number} does not follow the one before it: one of the two was changed");
            }

            if (!Same(AuditSeal.Of(key.Span, entry), entry.Seal))
            {
                Add(faults, $"entry {entry.Number} of {entry.At.UtcDateTime.ToString("yyyy-MM-dd HH:mm:ss", CultureInfo.InvariantCulture)} UTC was changed: its seal does not fit");
            }

            if (entry.Act == AuditAct.Retained)
            {
                removals.Add((entry.Number, entry.Detail));
            }

            if (head is { } known && entry.Number == known.Number)
            {
                isHeadFound = true;
                if (!Same(entry.Seal, known.Seal))
                {
                    Add(faults, $"entry {entry.Number} is not the one that the data folder knows by this number: the records were restored and went on, or the trail was written anew");
                }
            }

            (last, seal) = (entry.Number, entry.Seal);
        }

        if (count > 0 && first > 1 && !removals.Exists(each => each.Detail == RetentionDetail(first - 1, beforeFirst!)))
        {
            Add(faults, $"the trail begins at {first}, and no entry says that the older ones were removed by the clinic's policy");
        }

        if (count > 0 && first == 1 && !Same(beforeFirst!, AuditSeal.None))
        {
            Add(faults, "entry 1 says that there was one before it");
        }

        if (!isHeadFound)
        {
            Add(faults, $"the trail ends at {last}, and the data folder knows of {head!.Value.Number}: the newest entries were removed, or older records were restored");
        }

        return new AuditCheck(count, first, last, seal, faults);
    }

    /// <summary>What an entry on removing by policy says.</summary>
    /// <param name="lastRemoved">Number of the newest entry that was removed.</param>
    /// <param name="seal">Its seal.</param>
    public static string RetentionDetail(long lastRemoved, string seal) => string.Create(CultureInfo.InvariantCulture, $"removed up to {lastRemoved}, whose seal was {seal}");

    private static string Count(long entries) => entries == 1 ? "1 entry is" : string.Create(CultureInfo.InvariantCulture, $"{entries} entries are");

    private static bool Same(string one, string other) => CryptographicOperations.FixedTimeEquals(Encoding.ASCII.GetBytes(one), Encoding.ASCII.GetBytes(other));

    private static void Add(List<string> faults, string fault)
    {
        if (faults.Count < MostFaults)
        {
            faults.Add(char.ToUpperInvariant(fault[0]) + fault[1..] + ".");
        }
    }
}
