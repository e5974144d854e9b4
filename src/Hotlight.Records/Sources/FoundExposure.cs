namespace Hotlight.Records.Sources;

/// <summary>An exposure as one source tells it, before the sources of one bringing-in are laid together. Its UIDs are the source's own and are not kept.</summary>
public sealed record FoundExposure
{
    /// <summary>The entry as far as this source knows.</summary>
    public required ExposureEntry Entry { get; init; }

    /// <summary>Irradiation Event UID; null: not told.</summary>
    public string? EventUid { get; init; }

    /// <summary>SOP Instance UIDs of the images of it.</summary>
    public IReadOnlyList<string> ImageUids { get; init; } = [];

    /// <summary>Side: R, L, B or U; null: not told.</summary>
    public string? Laterality { get; init; }

    /// <summary>Whether the image is for processing (true) or for presentation (false); null: not told, or no image.</summary>
    public bool? IsForProcessing { get; init; }
}

/// <summary>What became of reading one file.</summary>
public sealed record SourceReading
{
    /// <summary>Exposures that were found.</summary>
    public IReadOnlyList<FoundExposure> Exposures { get; init; } = [];

    /// <summary>Images that a key object selection says were rejected or had a fault.</summary>
    public IReadOnlyList<ImageRemark> Remarks { get; init; } = [];

    /// <summary>Why there is nothing, one sentence; null where there is something.</summary>
    public string? NothingBecause { get; init; }

    /// <summary>Whether the file is whole but says nothing of a radiographic exposure, such as a text or a computed tomography image: in a folder that is nothing wrong.</summary>
    public bool IsOtherKind { get; init; }

    /// <summary>Nothing found, in a file that is wrong.</summary>
    /// <param name="reason">One sentence.</param>
    internal static SourceReading Bad(string reason) => new() { NothingBecause = reason };

    /// <summary>Nothing found, in a file that is of another kind.</summary>
    /// <param name="reason">One sentence.</param>
    internal static SourceReading Other(string reason) => new() { NothingBecause = reason, IsOtherKind = true };
}

/// <summary>What a key object selection says of one image.</summary>
/// <param name="ImageUid">SOP Instance UID of the image.</param>
/// <param name="IsRejected">Whether it was rejected; false: a quality issue alone, which rejects nothing.</param>
/// <param name="Reason">Why; null: not told.</param>
public sealed record ImageRemark(string ImageUid, bool IsRejected, RejectReason? Reason);

/// <summary>Something in a source that was not taken.</summary>
/// <param name="Where">The file's name, or the line of a table.</param>
/// <param name="Sentence">What is wrong and, where it can be mended, what to do.</param>
/// <param name="Line">Line in a table, from 1; null: not in a table.</param>
/// <param name="Column">Heading of the column; null: not in one column.</param>
public sealed record SourceFault(string Where, string Sentence, long? Line = null, string? Column = null);
