using Hotlight.Imaging;

namespace Hotlight.Privacy.Publishing;

/// <summary>A rectangle of whole pixels of the stored image.</summary>
/// <param name="Left">First column.</param>
/// <param name="Top">First row.</param>
/// <param name="Width">Columns, 1 or more.</param>
/// <param name="Height">Rows, 1 or more.</param>
public readonly record struct PixelBox(int Left, int Top, int Width, int Height)
{
    /// <summary>Column after the last.</summary>
    public int Right => Left + Width;

    /// <summary>Row after the last.</summary>
    public int Bottom => Top + Height;

    /// <summary>Share of this box that lies in another, 0 to 1.</summary>
    /// <param name="other">The other.</param>
    public double ShareIn(PixelBox other)
    {
        double width = Math.Min(Right, other.Right) - Math.Max(Left, other.Left);
        double height = Math.Min(Bottom, other.Bottom) - Math.Max(Top, other.Top);
        return width <= 0 || height <= 0 ? 0 : width * height / ((double)Width * Height);
    }

    /// <summary>The box with a rim around it, inside an image.</summary>
    /// <param name="rimPixels">Width of the rim.</param>
    /// <param name="columns">Columns of the image.</param>
    /// <param name="rows">Rows of the image.</param>
    public PixelBox Grown(int rimPixels, int columns, int rows)
    {
        int left = Math.Max(0, Left - rimPixels);
        int top = Math.Max(0, Top - rimPixels);
        return new PixelBox(left, top, Math.Max(1, Math.Min(columns, Right + rimPixels) - left), Math.Max(1, Math.Min(rows, Bottom + rimPixels) - top));
    }
}

/// <summary>Something that is to be published.</summary>
/// <param name="Where">What it is and where it comes from, for the reader, such as "the remark on the line Sharpness"; holds no value of the patient.</param>
public abstract record PublicationPiece(string Where);

/// <summary>A text.</summary>
/// <param name="Where">Where it comes from.</param>
/// <param name="Text">The text.</param>
/// <param name="IsTyped">Whether somebody typed it; false: the bench wrote it, so that an ordinary word that is also a name counts only where it stands as a name.</param>
public sealed record PublishedText(string Where, string Text, bool IsTyped) : PublicationPiece(Where);

/// <summary>A name of a file.</summary>
/// <param name="Where">Of which file.</param>
/// <param name="Name">The name.</param>
public sealed record PublishedFileName(string Where, string Name) : PublicationPiece(Where);

/// <summary>A picture of a radiograph: its pixels were looked over by <see cref="DrawnTextFinder"/>.</summary>
/// <param name="Where">Of what it is.</param>
/// <param name="Found">What was found in the pixels.</param>
/// <param name="Covered">Places that are blacked out in the pixels that are published.</param>
/// <param name="Kept">Places that a person looked at and that hold no text, or text that may stay.</param>
/// <param name="LookedOver">Whether a person has looked over the whole picture, where the finder alone cannot vouch for it.</param>
public sealed record PublishedPicture(string Where, DrawnText Found, IReadOnlyList<PixelBox> Covered, IReadOnlyList<PixelBox> Kept, bool LookedOver) : PublicationPiece(Where);

/// <summary>A DICOM file as it is to be published.</summary>
/// <param name="Where">Which file.</param>
/// <param name="Content">Its bytes.</param>
public sealed record PublishedDicom(string Where, ReadOnlyMemory<byte> Content) : PublicationPiece(Where);

/// <summary>One place where something identifying stands. It never holds the value.</summary>
/// <param name="Kind">What stands there.</param>
/// <param name="Where">In which piece.</param>
/// <param name="Sentence">The same for the reader, one sentence.</param>
public sealed record PublicationFinding(IdentityKind Kind, string Where, string Sentence)
{
    /// <summary>First letter in the piece's text, from 0; null where it is no text.</summary>
    public int? Start { get; init; }

    /// <summary>Letters; null where it is no text.</summary>
    public int? Length { get; init; }

    /// <summary>Place in the pixels; null where it is no picture.</summary>
    public PixelBox? Box { get; init; }
}

/// <summary>Nothing was published, because something identifying stands in it. The message is one sentence; the places are in <see cref="Findings"/>.</summary>
public sealed class PublicationStoppedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="findings">The places, one or more.</param>
    public PublicationStoppedException(IReadOnlyList<PublicationFinding> findings)
        : base(SentenceOf(findings)) => Findings = findings;

    /// <summary>The places.</summary>
    public IReadOnlyList<PublicationFinding> Findings { get; }

    private static string SentenceOf(IReadOnlyList<PublicationFinding> findings)
    {
        ArgumentNullException.ThrowIfNull(findings);
        return findings.Count == 1
            ? $"Nothing was published. {findings[0].Sentence}"
            : string.Create(System.Globalization.CultureInfo.InvariantCulture, $"Nothing was published: in {findings.Count} places something may tell who the patient is.");
    }
}
