namespace Hotlight.Web;

/// <summary>Marks a data folder as the one of a running bench, so that a second one on the same records in a file does not start: it would not see what the first changes. A lock of the operating system, which ends with whoever holds it.</summary>
internal sealed class FolderHold : IDisposable
{
    /// <summary>Name of the file in the data folder; it stays, the lock on it does not.</summary>
    public const string FileName = "bench.lock";

    // What the systems call a lock that another holds: Linux, macOS, Windows.
    private static readonly int[] HeldByAnother = [11, 35, 32];

    private readonly FileStream held;
    private readonly IDisposable? more;

    private FolderHold(FileStream held, IDisposable? more) => (this.held, this.more) = (held, more);

    /// <summary>Takes the folder.</summary>
    /// <param name="folder">The data folder.</param>
    /// <exception cref="BenchRefusedException">Another bench runs on it.</exception>
    /// <exception cref="IOException">The folder cannot be written.</exception>
    public static FolderHold Take(string folder)
    {
        try
        {
            return new FolderHold(new FileStream(Path.Combine(folder, FileName), FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None), null);
        }
        catch (IOException error) when (HeldByAnother.Contains(error.HResult & 0xffff))
        {
            throw new BenchRefusedException($"Another bench runs on the data folder {folder}: open that one, stop it first, or give another folder with --data. Several benches share one set of records with --store postgres://...", error);
        }
    }

    /// <summary>The same hold, which lets go of another thing before.</summary>
    /// <param name="other">The other thing; null: none.</param>
    public FolderHold With(IDisposable? other) => new(held, other);

    /// <inheritdoc/>
    public void Dispose()
    {
        more?.Dispose();
        held.Dispose();
    }
}
