using Hotlight.Core;

namespace Hotlight.Imaging.Dicom;

/// <summary>Reads the attributes of a DICOM file up to its pixel data, which stays unread: for looking through many files.</summary>
public static class DicomHeader
{
    private const int FirstBytes = 1 << 16;
    private const int Growth = 8;

    // A header as large as this holds no plain attributes any more; reports with many thousand items stay far below.
    private const int MostBytes = 1 << 27;

    /// <summary>Reads the attributes of a file.</summary>
    /// <param name="content">The file, at its beginning; it is read only as far as needed.</param>
    /// <param name="fileName">Its name, for messages.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="UnreadableImageException">It is no DICOM file, a table of contents, or damaged before its pixel data.</exception>
    /// <exception cref="IOException">It cannot be read.</exception>
    public static DicomDataset Read(Stream content, string fileName, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(content);
        ArgumentNullException.ThrowIfNull(fileName);
        byte[] bytes = new byte[FirstBytes];
        int have = 0;
        while (true)
        {
            have += content.ReadAtLeast(bytes.AsSpan(have), bytes.Length - have, throwOnEndOfStream: false);
            bool isWhole = have < bytes.Length;
            ReadOnlyMemory<byte> read = bytes.AsMemory(0, have);
            if (!DicomContent.LooksLikeDicom(read.Span))
            {
                throw new UnreadableImageException(fileName, "it is no DICOM file.", isOtherKind: true);
            }

            try
            {
                DicomDataset dataset = DicomParser.ParseHeader(read, cancellation, out bool reachedPixels).Dataset;
                if (reachedPixels || isWhole)
                {
                    return dataset;
                }
            }
            catch (ImageFormatException error) when (error.Message == ObjectPolicy.Directory)
            {
                throw new UnreadableImageException(fileName, error.Message, error, isOtherKind: true);
            }
            catch (ImageFormatException error) when (isWhole)
            {
                throw new UnreadableImageException(fileName, error.Message, error, error.IsOtherKind);
            }
            catch (Exception error) when (isWhole && error is not OperationCanceledException)
            {
                throw new UnreadableImageException(fileName, "it is damaged: its attributes cannot be read.", error);
            }
            catch (Exception error) when (error is not OperationCanceledException)
            {
                // It ended too early: more of it is read.
            }

            if (have >= MostBytes)
            {
                throw new UnreadableImageException(fileName, $"its attributes take more than {MostBytes / (1024 * 1024)} MiB.");
            }

            Array.Resize(ref bytes, bytes.Length * Growth);
        }
    }
}
