namespace Hotlight.Store;

/// <summary>What looking over a store found.</summary>
/// <param name="Cases">How many cases there are, deleted ones with them.</param>
/// <param name="Entries">How many exposures the log has.</param>
/// <param name="Faults">What is wrong, a sentence each; empty: nothing.</param>
public sealed record StoreCheck(long Cases, long Entries, IReadOnlyList<string> Faults);

/// <summary>A store cannot be backed up, restored, brought in or written out. The message is one sentence for the person at the terminal.</summary>
public sealed class StoreRefusedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence.</param>
    /// <param name="inner">The cause, when there is one.</param>
    public StoreRefusedException(string reason, Exception? inner = null)
        : base(reason, inner)
    {
    }
}
