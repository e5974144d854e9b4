using Hotlight.Core;

namespace Hotlight.Imaging.Dicom;

/// <summary>A DICOM file taken apart with every nested sequence opened; pixels stay as they are coded. For work on attributes: what Hotlight judges by is read by <see cref="RadiographReader"/>.</summary>
public sealed class DicomContent
{
    private readonly TransferSyntax syntax;

    private DicomContent(DicomFile file)
    {
        Meta = file.Meta;
        Dataset = file.Dataset;
        syntax = file.Syntax;
    }

    /// <summary>File meta information, group 0002; empty where the file has none.</summary>
    public DicomDataset Meta { get; }

    /// <summary>The data set; values are slices of the file's bytes.</summary>
    public DicomDataset Dataset { get; }

    /// <summary>Transfer syntax UID, named by the file or told from its bytes.</summary>
    public string TransferSyntaxUid => syntax.Uid;

    /// <summary>Whether the pixel data is compressed, in fragments.</summary>
    public bool IsEncapsulated => Dataset.Find(Tags.PixelData)?.Fragments is not null;

    /// <summary>Whether the pixel data is one of the JPEG family (baseline, extended, lossless, LS), whose streams can carry text.</summary>
    public bool IsJpeg => syntax.Coding is PixelCoding.JpegBaseline or PixelCoding.JpegExtended or PixelCoding.JpegLossless or PixelCoding.JpegLs;

    /// <summary>Whether the pixel data is JPEG 2000.</summary>
    public bool IsJpeg2000 => syntax.Coding == PixelCoding.Jpeg2000;

    /// <summary>Whether 16-bit pixels stand high byte first in an otherwise little endian data set: one maker's private syntax.</summary>
    public bool HasBigEndianPixels => syntax.Uid == TransferSyntax.ImplicitWithBigEndianPixelsUid;

    /// <summary>Whether bytes begin as a DICOM file does.</summary>
    /// <param name="content">The file's bytes.</param>
    public static bool LooksLikeDicom(ReadOnlySpan<byte> content)
        => content.Length > 8 && DicomParser.LooksLikeDicom(content) && (DicomParser.HasPreamble(content) || ContentKind.Describe(content) is null);

    /// <summary>Takes a file apart.</summary>
    /// <param name="content">Its bytes; borrowed as long as the result is used.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="UnreadableImageException">It is damaged or no DICOM file.</exception>
    public static DicomContent Read(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(fileName);
        try
        {
            return new DicomContent(DicomParser.Parse(content, cancellation, withDictionary: true));
        }
        catch (ImageFormatException error)
        {
            throw new UnreadableImageException(fileName, error.Message, error, error.IsOtherKind);
        }
        catch (Exception error) when (error is not OperationCanceledException)
        {
            throw new UnreadableImageException(fileName, "it is damaged: its attributes cannot be read.", error);
        }
    }

    /// <summary>Writes a data set with the pixel coding of this file: compressed pixels as they are, all others as explicit little endian. The file meta information is new.</summary>
    /// <param name="dataset">The data set; its pixel data is this file's or coded like it.</param>
    public byte[] Write(DicomDataset dataset)
    {
        using MemoryStream stream = new();
        if (dataset.Find(Tags.PixelData)?.Fragments is not null)
        {
            DicomWriter.Write(stream, dataset, DicomEncoding.Encapsulated, syntax.Uid);
        }
        else
        {
            DicomWriter.Write(stream, dataset);
        }

        return stream.ToArray();
    }

    /// <summary>Writes the data set with uncompressed pixels as explicit little endian; the file meta information is new.</summary>
    /// <param name="radiograph">The decoded radiograph of this file.</param>
    public byte[] WriteUncompressed(Radiograph radiograph)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        if (!IsEncapsulated)
        {
            return Write(Dataset);
        }

        DicomDataset dataset = new();
        foreach (DicomElement element in Dataset.Elements)
        {
            dataset.Set(element);
        }

        byte[] words = PixelWords(radiograph);
        dataset.SetNumbers(Tags.SamplesPerPixel, "US", 1).SetNumbers(Tags.BitsAllocated, "US", 16).SetNumbers(Tags.BitsStored, "US", radiograph.BitsStored)
            .SetNumbers(Tags.HighBit, "US", radiograph.BitsStored - 1).SetNumbers(Tags.PixelRepresentation, "US", radiograph.StoredMinimum < 0 ? 1 : 0)
            .SetText(Tags.PhotometricInterpretation, "CS", radiograph.HighIsShownDark ? "MONOCHROME1" : "MONOCHROME2")
            .Remove(Tags.PlanarConfiguration)
            .Set(DicomElement.OfValue(Tags.PixelData, "OW", words));
        return Write(dataset);
    }

    /// <summary>Stored pixel values as 16-bit words, little endian, row by row.</summary>
    /// <param name="radiograph">The decoded radiograph.</param>
    public static byte[] PixelWords(Radiograph radiograph)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        byte[] words = new byte[2L * radiograph.Rows * radiograph.Columns];
        ReadOnlySpan<ushort> samples = radiograph.Pixels.Samples;
        for (int i = 0; i < samples.Length; i++)
        {
            int stored = samples[i] + radiograph.StoredMinimum;
            words[2 * i] = (byte)stored;
            words[(2 * i) + 1] = (byte)(stored >> 8);
        }

        return words;
    }
}
