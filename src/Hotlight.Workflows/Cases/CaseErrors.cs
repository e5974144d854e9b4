namespace Hotlight.Workflows.Cases;

/// <summary>The case is not kept, or was deleted meanwhile. The message is one sentence for the reader.</summary>
public sealed class CaseGoneException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="id">The case that was asked for.</param>
    public CaseGoneException(Guid id)
        : base("This case is no longer kept: it was deleted, here or in another window.") => Id = id;

    /// <summary>The case that was asked for.</summary>
    public Guid Id { get; }
}

/// <summary>The case was changed in another window since this one read it; nothing was overwritten. The message is one sentence for the reader.</summary>
public sealed class CaseChangedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="id">The case.</param>
    public CaseChangedException(Guid id)
        : base("This case was changed in another window; nothing was overwritten, and the newer state is shown now.") => Id = id;

    /// <summary>The case.</summary>
    public Guid Id { get; }
}

/// <summary>A file cannot be kept: it is too large, or the data folder cannot be written. The message is one sentence for the reader; nothing half-written is left.</summary>
public sealed class FileNotKeptException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence for the reader.</param>
    /// <param name="inner">The cause, when there is one.</param>
    public FileNotKeptException(string reason, Exception? inner = null)
        : base(reason, inner)
    {
    }
}
