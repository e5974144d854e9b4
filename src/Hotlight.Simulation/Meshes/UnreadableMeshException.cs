using Hotlight.Core;

namespace Hotlight.Simulation.Meshes;

/// <summary>A file is not a mesh that can be projected. The message is one sentence: what was expected and what was found.</summary>
public sealed class UnreadableMeshException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="fileName">Name of the file as the user gave it.</param>
    /// <param name="reason">One sentence without the file's name.</param>
    public UnreadableMeshException(string fileName, string reason)
        : base(PlainText.Of($"{fileName}: {reason}"))
    {
        FileName = fileName;
        Reason = PlainText.Of(reason);
    }

    /// <summary>Name of the file as the user gave it.</summary>
    public string FileName { get; }

    /// <summary>What is wrong, one sentence.</summary>
    public string Reason { get; }
}
