using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Privacy.Publishing;

/// <summary>Blacks places out for good: the pixels under them are replaced, not drawn over.</summary>
public static class PixelCover
{
    /// <summary>A radiograph with places blacked out and without its overlays.</summary>
    /// <param name="radiograph">The radiograph; not changed.</param>
    /// <param name="places">The places; none leaves the pixels as they are.</param>
    public static Radiograph Cover(Radiograph radiograph, IReadOnlyList<PixelBox> places)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(places);
        if (places.Count == 0)
        {
            return radiograph with { Overlays = [] };
        }

        ushort black = (ushort)(radiograph.HighIsShownDark ? radiograph.PixelMaximum : 0);
        Raster<ushort> pixels = new(radiograph.Rows, radiograph.Columns, radiograph.Pixels.Samples.ToArray());
        foreach (PixelBox place in places)
        {
            int left = Math.Clamp(place.Left, 0, radiograph.Columns);
            int right = Math.Clamp(place.Right, left, radiograph.Columns);
            for (int row = Math.Max(0, place.Top); row < Math.Min(radiograph.Rows, place.Bottom); row++)
            {
                pixels.Row(row)[left..right].Fill(black);
            }
        }

        return radiograph with { Pixels = pixels, Overlays = [] };
    }

    /// <summary>A DICOM file for publishing: without its patient's identity and without dates, with a key of its own that is kept nowhere, so that it cannot be joined to anything; places blacked out in its pixels.</summary>
    /// <param name="content">The kept file; borrowed.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="places">The places.</param>
    /// <param name="key">The key, the same for all files of one publication.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="UnreadableImageException">It is no DICOM file, or its patient's identity cannot be taken out.</exception>
    public static byte[] Dicom(ReadOnlyMemory<byte> content, string fileName, IReadOnlyList<PixelBox> places, PrivacyKey key, CancellationToken cancellation = default)
        => DicomWithReport(content, fileName, places, key, cancellation).Content;

    /// <summary>The same with the report of what was changed and searched for.</summary>
    /// <param name="content">The kept file; borrowed.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="places">The places.</param>
    /// <param name="key">The key, the same for all files of one publication.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="UnreadableImageException">It is no DICOM file, or its patient's identity cannot be taken out.</exception>
    public static DeidentifiedFile DicomWithReport(ReadOnlyMemory<byte> content, string fileName, IReadOnlyList<PixelBox> places, PrivacyKey key, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(places);
        DeidentifiedFile cleaned = new Deidentifier(key, Retained.PatientCharacteristics | Retained.CleanedDescriptors).Clean(content, fileName, cancellation);
        if (places.Count == 0 && DicomContent.LooksLikeDicom(cleaned.Content))
        {
            return cleaned;
        }

        return cleaned with
        {
            Content = BlackOut(cleaned.Content, fileName, places, cancellation),
            Report = cleaned.Report with
            {
                Changes = [.. cleaned.Report.Changes, new PrivacyChange("(7FE0,0010)", "PixelData", PrivacyAction.BlackOut, places.Count)],
                Pixels = new PixelTextReport([.. places.Select(place => new PixelTextPlace(place.Left, place.Top, place.Width, place.Height, NamesThePatient: false))], IsBlackedOut: true, ReadBy: null),
            },
        };
    }

    /// <summary>A DICOM file with places blacked out in its pixels, which are written uncompressed: what was there is nowhere in the file any more.</summary>
    /// <param name="content">The file, without its patient's identity; borrowed.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="places">The places; none leaves the pixels as they are.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="UnreadableImageException">It is no DICOM file, or damaged.</exception>
    internal static byte[] BlackOut(ReadOnlyMemory<byte> content, string fileName, IReadOnlyList<PixelBox> places, CancellationToken cancellation)
    {
        DicomContent file = DicomContent.Read(content, fileName, cancellation);
        if (file.Dataset.Text(0x00080018) is null)
        {
            throw new UnreadableImageException(fileName, "it is no DICOM file, so it cannot be published as one.");
        }

        Radiograph covered = Cover(RadiographReader.Read(content, fileName, cancellation), places);
        DicomContent open = file;
        if (places.Count > 0)
        {
            open = DicomContent.Read(file.WriteUncompressed(covered), fileName, cancellation);
            if (!file.IsEncapsulated)
            {
                DicomElement pixels = open.Dataset.Find(0x7FE00010)!;
                byte[] words = pixels.Value.ToArray();
                Blacken(words, open.Dataset, covered, places);
                open.Dataset.Set(DicomElement.OfValue(0x7FE00010, pixels.Vr, words, pixels.IsBigEndian));
            }
        }

        open.Dataset.SetText(0x00280301, "CS", "NO");
        return open.Write(open.Dataset);
    }

    // Uncompressed pixels keep their own layout of bits; under a place each becomes the value that is shown black.
    private static void Blacken(byte[] words, DicomDataset dataset, Radiograph covered, IReadOnlyList<PixelBox> places)
    {
        int bytes = (dataset.Integer(0x00280100) ?? 16) / 8 * (dataset.Integer(0x00280002) ?? 1);
        int shift = bytes == 2 ? Math.Max(0, (dataset.Integer(0x00280102) ?? covered.BitsStored - 1) - covered.BitsStored + 1) : 0;
        foreach (PixelBox place in places)
        {
            for (int row = Math.Max(0, place.Top); row < Math.Min(covered.Rows, place.Bottom); row++)
            {
                for (int column = Math.Max(0, place.Left); column < Math.Min(covered.Columns, place.Right); column++)
                {
                    int at = ((row * covered.Columns) + column) * bytes;
                    if (bytes == 2)
                    {
                        int stored = (covered.Pixels[row, column] + covered.StoredMinimum) << shift;
                        words[at] = (byte)stored;
                        words[at + 1] = (byte)(stored >> 8);
                    }
                    else
                    {
                        words.AsSpan(at, bytes).Fill((byte)(covered.Pixels[row, column] + covered.StoredMinimum));
                    }
                }
            }
        }
    }
}
