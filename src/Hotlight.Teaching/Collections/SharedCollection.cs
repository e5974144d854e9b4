using Hotlight.Core;

namespace Hotlight.Teaching.Collections;

/// <summary>Cases in an order, as they are passed on: the contents of a collection's file (docs/collections.md).</summary>
public sealed record SharedCollection
{
    /// <summary>The value of <see cref="Schema"/> in this version.</summary>
    public const string SchemaName = "hotlight.collection/1";

    /// <summary>What stands in every file.</summary>
    public const string CautionText = "For education and quality improvement. Not for diagnosis: Hotlight is not a diagnostic device. Local protocols, regulations and licensed practitioners decide.";

    /// <summary>Most cases of a file.</summary>
    public const int MostCases = 500;

    /// <summary>Name and version of the form.</summary>
    public string Schema { get; init; } = SchemaName;

    /// <summary>Title of the collection.</summary>
    public required string Title { get; init; }

    /// <summary>The teacher's words to the whole; empty: none.</summary>
    public string Words { get; init; } = string.Empty;

    /// <summary>Version of Hotlight that made it.</summary>
    public required string MadeBy { get; init; }

    /// <summary>What must be said with it.</summary>
    public string Caution { get; init; } = CautionText;

    /// <summary>The cases in their order.</summary>
    public required IReadOnlyList<SharedCase> Cases { get; init; }
}

/// <summary>A case of a collection's file.</summary>
public sealed record SharedCase
{
    /// <summary>Its folder in the file, such as "01".</summary>
    public required string Folder { get; init; }

    /// <summary>Its title.</summary>
    public required string Title { get; init; }

    /// <summary>Identifier of its projection; null: none was chosen.</summary>
    public string? Projection { get; init; }

    /// <summary>Its tags.</summary>
    public IReadOnlyList<string> Tags { get; init; } = [];

    /// <summary>The teacher's words to the case; empty: none.</summary>
    public string Words { get; init; } = string.Empty;

    /// <summary>Whether the exposure is an invented one: no person was exposed.</summary>
    public bool IsInvented { get; init; }

    /// <summary>Its files.</summary>
    public required IReadOnlyList<SharedFile> Files { get; init; }
}

/// <summary>A file of a case.</summary>
/// <param name="Name">Name in the case's folder.</param>
/// <param name="Bytes">Size, in bytes.</param>
/// <param name="Sha256">SHA-256 of its bytes, 64 lower-case hexadecimal digits.</param>
public sealed record SharedFile(string Name, long Bytes, string Sha256);

/// <summary>Names of the files in a case's folder.</summary>
public static class SharedFileNames
{
    /// <summary>The radiograph as DICOM.</summary>
    public const string Dicom = "radiograph.dcm";

    /// <summary>The radiograph of a case that came as a picture.</summary>
    public const string Picture = "radiograph.png";

    /// <summary>The measurement document.</summary>
    public const string Measurements = "measurements.json";

    /// <summary>The answers, where they go along.</summary>
    public const string Answers = "answers.json";

    /// <summary>The slide, where slides go along.</summary>
    public const string Slide = "slide.png";
}

/// <summary>A file is no collection that this version opens, or it is damaged. The message is one sentence.</summary>
public sealed class UnreadableCollectionException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence for the reader.</param>
    /// <param name="inner">What was thrown below; null: nothing.</param>
    public UnreadableCollectionException(string reason, Exception? inner = null)
        : base(PlainText.Of(reason), inner)
    {
    }
}
