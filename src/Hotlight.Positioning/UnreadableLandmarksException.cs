using Hotlight.Core;

namespace Hotlight.Positioning;

/// <summary>A file of landmarks does not hold what it must.</summary>
public sealed class UnreadableLandmarksException : Exception
{
    /// <summary>Makes the exception.</summary>
    /// <param name="file">Name of the file.</param>
    /// <param name="reason">What is wrong and what was expected, one sentence.</param>
    /// <param name="inner">What lies under it, if anything does.</param>
    public UnreadableLandmarksException(string file, string reason, Exception? inner = null)
        : base(PlainText.Of($"{file}: {reason}"), inner)
    {
        File = file;
        Reason = PlainText.Of(reason);
    }

    /// <summary>Name of the file.</summary>
    public string File { get; }

    /// <summary>What is wrong.</summary>
    public string Reason { get; }
}
