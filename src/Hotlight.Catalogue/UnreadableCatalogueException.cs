namespace Hotlight.Catalogue;

/// <summary>A file of the catalogue or the register of sources is not what its schema asks for. The message names file and member.</summary>
public sealed class UnreadableCatalogueException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="file">Name of the file, with its region's folder.</param>
    /// <param name="member">Where in the file, such as "$.relations[1].misses[0].weight"; "$" for the whole file.</param>
    /// <param name="reason">One sentence: what was expected and what was found.</param>
    /// <param name="inner">The cause, when there is one.</param>
    public UnreadableCatalogueException(string file, string member, string reason, Exception? inner = null)
        : base($"{file}, {member}: {reason}", inner)
    {
        File = file;
        Member = member;
        Reason = reason;
    }

    /// <summary>Name of the file, with its region's folder.</summary>
    public string File { get; }

    /// <summary>Where in the file.</summary>
    public string Member { get; }

    /// <summary>What is wrong, one sentence.</summary>
    public string Reason { get; }
}
