namespace Hotlight.Printing;

/// <summary>A report: a title and blocks in the order they are read. Immutable; knows nothing of pages.</summary>
public sealed record ReportDocument
{
    /// <summary>Title, also of the file.</summary>
    public required string Title { get; init; }

    /// <summary>A line under the title: which records and when.</summary>
    public required string Subtitle { get; init; }

    /// <summary>A line at the foot of every page.</summary>
    public required string Foot { get; init; }

    /// <summary>Language of the texts, such as "en-GB".</summary>
    public string Language { get; init; } = "en-GB";

    /// <summary>The blocks.</summary>
    public IReadOnlyList<ReportBlock> Blocks { get; init; } = [];
}

/// <summary>A block of a report.</summary>
public abstract record ReportBlock;

/// <summary>A heading.</summary>
/// <param name="Text">The heading.</param>
public sealed record ReportHeading(string Text) : ReportBlock;

/// <summary>A paragraph.</summary>
/// <param name="Text">Its text.</param>
/// <param name="IsQuiet">Whether small and grey: definitions and sources.</param>
public sealed record ReportParagraph(string Text, bool IsQuiet = false) : ReportBlock;

/// <summary>A paragraph in a frame: a caution.</summary>
/// <param name="Text">Its text.</param>
public sealed record ReportNotice(string Text) : ReportBlock;

/// <summary>Items with a bullet.</summary>
/// <param name="Items">Their texts.</param>
public sealed record ReportList(IReadOnlyList<string> Items) : ReportBlock;

/// <summary>A table; the first column is as wide as it needs, at the left, the others stand at the right.</summary>
/// <param name="Columns">Headings.</param>
/// <param name="Rows">One text a column.</param>
public sealed record ReportTable(IReadOnlyList<string> Columns, IReadOnlyList<IReadOnlyList<string>> Rows) : ReportBlock;

/// <summary>A picture of vectors.</summary>
/// <param name="Title">Its title, above it.</param>
/// <param name="Pdf">A PDF file of one page.</param>
/// <param name="HeightOverWidth">Its shape.</param>
/// <param name="Description">What it shows, for those who do not see it.</param>
/// <param name="Caption">What it means, below it.</param>
public sealed record ReportPicture(string Title, byte[] Pdf, double HeightOverWidth, string Description, string Caption) : ReportBlock;
