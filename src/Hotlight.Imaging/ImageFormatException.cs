namespace Hotlight.Imaging;

/// <summary>A decoder cannot go on. The message is one sentence without the file's name; the reader turns it into an <see cref="Core.UnreadableImageException"/>.</summary>
internal sealed class ImageFormatException : Exception
{
    public ImageFormatException(string reason, Exception? inner = null)
        : base(reason, inner)
    {
    }
}
