using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Imaging.Png;
using Hotlight.Privacy.Publishing;

namespace Hotlight.Privacy;

/// <summary>Text in the pixels of a file whose header was cleaned: found, said, and blacked out where that is wished (PS3.15 E.3.1, 113101).</summary>
public static class PixelText
{
    private const string Code = "113101";

    /// <summary>The file with what was found in its pixels in its report, and with the places blacked out where that is wished.</summary>
    /// <param name="original">The bytes before anything was taken out; borrowed.</param>
    /// <param name="cleaned">The file without its patient's identity.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="blackOut">Whether the places are blacked out; else they are only told.</param>
    /// <param name="hints">What is known of the pixels; side markers may stay.</param>
    /// <param name="reader">Reads text; null: <see cref="TextReadingProgram.Installed"/>.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>The file; its pixels are uncompressed where something was blacked out, and a picture is a PNG file then.</returns>
    /// <exception cref="UnreadableImageException">It is damaged.</exception>
    public static async Task<(DeidentifiedFile File, bool IsPng)> LookAsync(
        ReadOnlyMemory<byte> original, DeidentifiedFile cleaned, string fileName, bool blackOut, DrawnTextHints hints, TextReadingProgram? reader = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(cleaned);
        ArgumentNullException.ThrowIfNull(hints);
        Radiograph radiograph = RadiographReader.Read(cleaned.Content, fileName, cancellation);
        KnownIdentity known = KnownIdentity.OfFile(original);
        DrawnText found = await DrawnTextFinder.FindAsync(radiograph, known, hints, reader, cancellation).ConfigureAwait(false);
        PixelBox[] boxes = [.. found.Places.Select(place => place.Box)];
        bool isCovered = blackOut && boxes.Length > 0;
        bool isDicom = DicomContent.LooksLikeDicom(cleaned.Content);
        byte[] content = cleaned.Content;
        if (isCovered)
        {
            content = isDicom ? PixelCover.BlackOut(content, fileName, boxes, cancellation) : Png(PixelCover.Cover(radiograph, boxes));
        }

        bool isVouchedFor = found.Unplaced is null && (isCovered || boxes.Length == 0);
        if (isDicom && blackOut && isVouchedFor)
        {
            DicomContent file = DicomContent.Read(content, fileName, cancellation);
            content = file.Write(file.Dataset.SetItems(0x00120064, [.. file.Dataset.Items(0x00120064), Deidentifier.Code(Code, "Clean Pixel Data Option")]));
        }

        List<string> warnings = [];
        if (found.Unplaced is { } sentence)
        {
            warnings.Add(sentence);
        }
        else if (!isVouchedFor)
        {
            warnings.Add(found.Places.Any(place => place.Kind != IdentityKind.DrawnText)
                ? "What identifies the patient is drawn into the pixels and still stands there: black it out."
                : "Text is drawn into the pixels and still stands there: look whether it names anybody, or black it out.");
        }

        PrivacyReport report = cleaned.Report with
        {
            Changes = isCovered ? [.. cleaned.Report.Changes, new PrivacyChange("(7FE0,0010)", "PixelData", PrivacyAction.BlackOut, boxes.Length)] : cleaned.Report.Changes,
            Warnings = warnings,
            Options = isDicom && blackOut && isVouchedFor ? [.. (cleaned.Report.Options ?? []), Code] : cleaned.Report.Options,
            Check = cleaned.Report.Check is { } check ? check with { Bytes = content.Length } : null,
            Pixels = new PixelTextReport(
                [.. found.Places.Select(place => new PixelTextPlace(place.Box.Left, place.Box.Top, place.Box.Width, place.Box.Height, place.Kind != IdentityKind.DrawnText))],
                isCovered,
                found.ReadBy),
        };
        return (cleaned with { Content = content, Report = report }, isCovered && !isDicom);
    }

    /// <summary>A picture of the radiograph with the places framed, for a person to look at; it shows what the original shows, so it stays where the original is.</summary>
    /// <param name="content">The original or the cleaned file; borrowed.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="places">The places.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>A PNG file of 8 bits.</returns>
    /// <exception cref="UnreadableImageException">It is damaged.</exception>
    public static byte[] Framed(ReadOnlyMemory<byte> content, string fileName, IReadOnlyList<PixelTextPlace> places, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(places);
        Raster<byte> picture = Imaging.Display.DisplayTable.Render(RadiographReader.Read(content, fileName, cancellation));
        int width = Math.Max(2, Math.Max(picture.Rows, picture.Columns) / 400);
        foreach (PixelTextPlace place in places)
        {
            // White, then black inside: seen on either.
            Frame(picture, place, 0, width, 255);
            Frame(picture, place, width, 2 * width, 0);
        }

        using MemoryStream file = new();
        PngWriter.Write(file, picture.AsReadOnly());
        return file.ToArray();
    }

    private static void Frame(Raster<byte> picture, PixelTextPlace place, int from, int to, byte grey)
    {
        for (int row = Math.Max(0, place.Top - to); row < Math.Min(picture.Rows, place.Top + place.Height + to); row++)
        {
            for (int column = Math.Max(0, place.Left - to); column < Math.Min(picture.Columns, place.Left + place.Width + to); column++)
            {
                int outside = Math.Max(
                    Math.Max(place.Left - column, column - (place.Left + place.Width - 1)),
                    Math.Max(place.Top - row, row - (place.Top + place.Height - 1)));
                if (outside > from && outside <= to)
                {
                    picture[row, column] = grey;
                }
            }
        }
    }

    /// <summary>The pixels as PNG: of 8 bits and fewer as 8, else as 16; depths between are stretched, and 0 shown white is turned, since PNG knows neither.</summary>
    private static byte[] Png(Radiograph radiograph)
    {
        bool isNarrow = radiograph.BitsStored <= 8;
        int scale = (isNarrow ? byte.MaxValue : ushort.MaxValue) / Math.Max(1, (int)radiograph.PixelMaximum);
        int turn = radiograph.HighIsShownDark ? radiograph.PixelMaximum : 0;
        ReadOnlySpan<ushort> samples = radiograph.Pixels.Samples;
        using MemoryStream file = new();
        if (isNarrow)
        {
            byte[] grey = new byte[samples.Length];
            for (int i = 0; i < grey.Length; i++)
            {
                grey[i] = (byte)(scale * Math.Abs(turn - samples[i]));
            }

            PngWriter.Write(file, new Raster<byte>(radiograph.Rows, radiograph.Columns, grey).AsReadOnly());
        }
        else
        {
            ushort[] grey = new ushort[samples.Length];
            for (int i = 0; i < grey.Length; i++)
            {
                grey[i] = (ushort)(scale * Math.Abs(turn - samples[i]));
            }

            PngWriter.Write(file, new Raster<ushort>(radiograph.Rows, radiograph.Columns, grey).AsReadOnly());
        }

        return file.ToArray();
    }
}
