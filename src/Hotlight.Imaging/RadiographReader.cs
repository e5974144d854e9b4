using Hotlight.Core;

namespace Hotlight.Imaging;

/// <summary>Reads a file of any kind Hotlight knows into a <see cref="Radiograph"/>. The kind is told from the content, never from the name.</summary>
public static class RadiographReader
{
    /// <summary>Reads a radiograph from a file.</summary>
    /// <param name="path">Path of the file; never changed.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="UnreadableImageException">The file is missing, empty, damaged, or not a radiograph Hotlight can judge; the message is one sentence.</exception>
    public static Radiograph Read(string path, CancellationToken cancellation = default)
        => throw new UnreadableImageException(Path.GetFileName(path), "reading is not built yet.");

    /// <summary>Reads a radiograph from bytes in memory.</summary>
    /// <param name="content">The file's bytes (borrowed during the call).</param>
    /// <param name="fileName">Name for messages and for <see cref="Radiograph.FileName"/>.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="UnreadableImageException">As for <see cref="Read(string, CancellationToken)"/>.</exception>
    public static Radiograph Read(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation = default)
        => throw new UnreadableImageException(fileName, "reading is not built yet.");
}
