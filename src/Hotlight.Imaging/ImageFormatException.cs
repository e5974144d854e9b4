namespace Hotlight.Imaging;

/// <summary>A decoder cannot go on. The message is one sentence without the file's name; the reader turns it into an <see cref="Core.UnreadableImageException"/>.</summary>
internal sealed class ImageFormatException : Exception
{
    public ImageFormatException(string reason, Exception? inner = null, bool isOtherKind = false)
        : base(reason, inner) => IsOtherKind = isOtherKind;

    /// <summary>Whether the content is of a kind that is no image Hotlight reads.</summary>
    public bool IsOtherKind { get; }
}
