using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Intake;

/// <summary>What came in by itself since the bench was started, by inbox, network or DICOMweb: sums, and why something was not taken. Held in memory alone.</summary>
public sealed class ArrivalLog
{
    private const int Remembered = 50;
    private readonly Lock guard = new();
    private readonly LinkedList<ArrivalRefusal> refusals = new();
    private int kept;
    private int known;
    private int refused;

    /// <summary>Something came in; raised on any thread.</summary>
    public event Action? Changed;

    /// <summary>What came in so far.</summary>
    public ArrivalSums Sums
    {
        get
        {
            lock (guard)
            {
                return new ArrivalSums(kept, known, refused, [.. refusals]);
            }
        }
    }

    /// <summary>Notes a file that is kept.</summary>
    /// <param name="brought">What became of it.</param>
    public void Add(CaseBroughtIn brought)
    {
        ArgumentNullException.ThrowIfNull(brought);
        lock (guard)
        {
            if (brought.WasKept)
            {
                known++;
            }
            else
            {
                kept++;
            }
        }

        Changed?.Invoke();
    }

    /// <summary>Notes a file that was not taken.</summary>
    /// <param name="origin">How it came.</param>
    /// <param name="name">Its name, for the reader; of the network nothing that the sender wrote.</param>
    /// <param name="reason">One sentence.</param>
    public void Add(CaseOrigin origin, string name, string reason)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(reason);
        lock (guard)
        {
            refused++;
            refusals.AddFirst(new ArrivalRefusal(origin, name, char.ToUpperInvariant(reason[0]) + reason[1..]));
            if (refusals.Count > Remembered)
            {
                refusals.RemoveLast();
            }
        }

        Changed?.Invoke();
    }
}

/// <summary>Sums of what came in by itself.</summary>
/// <param name="Kept">New cases.</param>
/// <param name="Known">Files whose exposure was kept before.</param>
/// <param name="Refused">Files that were not taken.</param>
/// <param name="Refusals">The last of those, the latest first.</param>
public sealed record ArrivalSums(int Kept, int Known, int Refused, IReadOnlyList<ArrivalRefusal> Refusals);

/// <summary>A file that was not taken.</summary>
/// <param name="Origin">How it came.</param>
/// <param name="Name">Its name, for the reader.</param>
/// <param name="Reason">One sentence.</param>
public sealed record ArrivalRefusal(CaseOrigin Origin, string Name, string Reason);
