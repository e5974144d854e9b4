namespace Hotlight.Core;

/// <summary>A file is not an image Hotlight can judge. The message is one sentence: what was expected and what was found.</summary>
public sealed class UnreadableImageException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="fileName">Name of the file as the user gave it.</param>
    /// <param name="reason">One sentence without the file's name, such as "it holds 12 frames; give one exposure a file."</param>
    /// <param name="inner">The cause, when there is one.</param>
    /// <param name="isOtherKind">Whether the file is whole but of another kind than an image, such as a text file.</param>
    public UnreadableImageException(string fileName, string reason, Exception? inner = null, bool isOtherKind = false)
        : base(PlainText.Of($"{fileName}: {reason}"), inner)
    {
        FileName = fileName;
        Reason = PlainText.Of(reason);
        IsOtherKind = isOtherKind;
    }

    /// <summary>Whether the file is whole but of another kind than an image, such as a text file: in a folder that is nothing wrong.</summary>
    public bool IsOtherKind { get; }

    /// <summary>Name of the file as the user gave it.</summary>
    public string FileName { get; }

    /// <summary>What is wrong, one sentence; what it quotes of the file is made fit to be shown.</summary>
    public string Reason { get; }
}
