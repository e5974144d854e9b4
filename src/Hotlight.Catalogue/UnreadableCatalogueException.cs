namespace Hotlight.Catalogue;

/// <summary>Files of the catalogue do not hold what they must; every error found is named at once.</summary>
public sealed class UnreadableCatalogueException : Exception
{
    /// <summary>Makes the exception of one error.</summary>
    /// <param name="file">Name of the file.</param>
    /// <param name="member">JSON path of the member.</param>
    /// <param name="reason">What was expected there, one sentence.</param>
    /// <param name="inner">What lies under it, if anything does.</param>
    public UnreadableCatalogueException(string file, string member, string reason, Exception? inner = null)
        : base(new CatalogueError(file, member, reason).ToString(), inner) => Errors = [new CatalogueError(file, member, reason)];

    /// <summary>Makes the exception of several errors.</summary>
    /// <param name="errors">One or more.</param>
    public UnreadableCatalogueException(IReadOnlyList<CatalogueError> errors)
        : base(string.Join('\n', errors ?? throw new ArgumentNullException(nameof(errors)))) => Errors = errors;

    /// <summary>Everything that is wrong, in the order of files and members.</summary>
    public IReadOnlyList<CatalogueError> Errors { get; }

    /// <summary>Name of the first file.</summary>
    public string File => Errors[0].File;

    /// <summary>JSON path of the first member.</summary>
    public string Member => Errors[0].Member;

    /// <summary>What was expected there.</summary>
    public string Reason => Errors[0].Reason;
}
