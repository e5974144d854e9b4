using System.Runtime.CompilerServices;
using Hotlight.Core;
using Hotlight.Imaging.Dicom;
using Hotlight.Imaging.Jpeg;
using Hotlight.Imaging.Png;
using Hotlight.Imaging.Tiff;

[assembly: InternalsVisibleTo("Hotlight.Imaging.Tests")]

namespace Hotlight.Imaging;

/// <summary>Reads a file of any kind Hotlight knows into a <see cref="Radiograph"/>. The kind is told from the content, never from the name.</summary>
/// <remarks>What is accepted, refused and how, with the limits on size: docs/methods/reading.md.</remarks>
public static class RadiographReader
{
    /// <summary>Largest file that is read, in bytes.</summary>
    public const long MaximumFileBytes = ImageLimits.MaximumFileBytes;

    /// <summary>Reads a radiograph from a file.</summary>
    /// <param name="path">Path of the file; never changed.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="UnreadableImageException">The file is missing, empty, damaged, or not a radiograph Hotlight can judge; the message is one sentence.</exception>
    /// <exception cref="OperationCanceledException">It was stopped.</exception>
    public static Radiograph Read(string path, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        string name = Path.GetFileName(path);
        if (name.Length == 0)
        {
            name = path;
        }

        byte[] content;
        try
        {
            content = ReadFile(path, cancellation);
        }
        catch (Exception error) when (error is ImageFormatException or IOException or UnauthorizedAccessException or NotSupportedException or ArgumentException)
        {
            throw new UnreadableImageException(name, error switch
            {
                ImageFormatException => error.Message,
                FileNotFoundException or DirectoryNotFoundException => "there is no such file.",
                UnauthorizedAccessException => "it may not be read: permission is denied.",
                // What follows " : " is the whole path; the sentence has the name already.
                _ => $"it cannot be read from disk: {error.Message.Split(" : ")[0].TrimEnd('.')}.",
            }, error);
        }

        return Read(content, name, cancellation);
    }

    /// <summary>Reads a radiograph from bytes in memory.</summary>
    /// <param name="content">The file's bytes (borrowed during the call).</param>
    /// <param name="fileName">Name for messages and for <see cref="Radiograph.FileName"/>.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="UnreadableImageException">As for <see cref="Read(string, CancellationToken)"/>.</exception>
    /// <exception cref="OperationCanceledException">It was stopped.</exception>
    public static Radiograph Read(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(fileName);
        cancellation.ThrowIfCancellationRequested();
        try
        {
            return ReadByContent(content, fileName, cancellation);
        }
        catch (ImageFormatException error)
        {
            throw new UnreadableImageException(fileName, error.Message, error, error.IsOtherKind);
        }
        catch (Exception error) when (error is not (OperationCanceledException or UnreadableImageException))
        {
            // Decoders throw many kinds on damaged bytes; whatever it was, the file cannot be read and the program goes on.
            throw new UnreadableImageException(fileName, "it is damaged: its pixel data could not be decoded.", error);
        }
    }

    private static Radiograph ReadByContent(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation)
    {
        ReadOnlySpan<byte> bytes = content.Span;
        if (bytes.Length == 0)
        {
            throw new ImageFormatException("the file is empty.");
        }

        if (bytes.Length > ImageLimits.MaximumFileBytes)
        {
            throw new ImageFormatException(TooLarge(bytes.Length));
        }

        // A DICOM file may begin as a TIFF file does, in its preamble (PS3.10 7.1).
        if (DicomParser.HasPreamble(bytes))
        {
            return DicomRadiographReader.Read(content, fileName, cancellation);
        }

        if (PngReader.LooksLikePng(bytes))
        {
            return PngReader.Read(content, fileName, cancellation);
        }

        if (JpegHeader.LooksLikeJpeg(bytes))
        {
            return JpegPictureReader.Read(content, fileName, cancellation);
        }

        if (TiffReader.LooksLikeTiff(bytes))
        {
            return TiffReader.Read(content, fileName, cancellation);
        }

        if (DicomParser.LooksLikeDicom(bytes))
        {
            return DicomRadiographReader.Read(content, fileName, cancellation);
        }

        throw new ImageFormatException(ContentKind.Describe(bytes) is string kind
            ? $"it is {kind}; Hotlight reads DICOM, PNG, TIFF and JPEG."
            : "it is of no kind Hotlight knows; it reads DICOM, PNG, TIFF and JPEG.", isOtherKind: true);
    }

    private static byte[] ReadFile(string path, CancellationToken cancellation)
    {
        if (Directory.Exists(path))
        {
            throw new ImageFormatException("it is a folder, not a file.");
        }

        if (!PlainFile.Is(path))
        {
            throw new ImageFormatException("it is a pipe, a terminal or a socket, not a file.");
        }

        using FileStream stream = new(path, FileMode.Open, FileAccess.Read, FileShare.Read, bufferSize: 0);
        if (!stream.CanSeek)
        {
            throw new ImageFormatException("it is a pipe, a terminal or a socket, not a file.");
        }

        long length = stream.Length;
        if (length > ImageLimits.MaximumFileBytes)
        {
            throw new ImageFormatException(TooLarge(length));
        }

        byte[] content = GC.AllocateUninitializedArray<byte>((int)length);
        int read = 0;
        while (read < content.Length)
        {
            cancellation.ThrowIfCancellationRequested();
            int got = stream.Read(content, read, Math.Min(content.Length - read, 1 << 24));
            if (got == 0)
            {
                throw new ImageFormatException("it became shorter while it was read.");
            }

            read += got;
        }

        return content;
    }

    private static string TooLarge(long bytes)
        => $"it is {bytes / (1024 * 1024)} MiB long; Hotlight reads files of at most {ImageLimits.MaximumFileBytes / (1024 * 1024)} MiB.";
}
