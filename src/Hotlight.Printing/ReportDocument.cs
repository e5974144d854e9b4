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

    /// <summary>Words of the page number, {0} the page and {1} the pages.</summary>
    public string PageWords { get; init; } = "page {0} of {1}";

    /// <summary>Whether no date stands in it: neither at the foot nor in the file. For what is published without the day of an examination.</summary>
    public bool IsUndated { get; init; }

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
/// <param name="Beside">A word beside a bar at its left, such as "teacher's words"; null: no bar.</param>
/// <param name="IsLead">Whether larger: the sentence that says it all.</param>
public sealed record ReportParagraph(string Text, bool IsQuiet = false, string? Beside = null, bool IsLead = false) : ReportBlock;

/// <summary>A paragraph in a frame: a caution.</summary>
/// <param name="Text">Its text.</param>
public sealed record ReportNotice(string Text) : ReportBlock;

/// <summary>Items with a bullet or a number.</summary>
/// <param name="Items">Their texts.</param>
/// <param name="IsNumbered">Whether they are numbered.</param>
public sealed record ReportList(IReadOnlyList<string> Items, bool IsNumbered = false) : ReportBlock;

/// <summary>Terms with their meanings.</summary>
/// <param name="Items">Term and meaning.</param>
public sealed record ReportDefinitions(IReadOnlyList<(string Term, string Meaning)> Items) : ReportBlock;

/// <summary>A table of texts that are wrapped in their columns, with headings between groups of rows.</summary>
/// <param name="Columns">Heading and share of the width of each column; the shares add up to 1.</param>
/// <param name="Rows">The rows.</param>
public sealed record ReportGrid(IReadOnlyList<(string Heading, double Share)> Columns, IReadOnlyList<ReportGridRow> Rows) : ReportBlock;

/// <summary>A row of a grid.</summary>
/// <param name="Cells">One text a column; of a group's heading the first alone.</param>
/// <param name="IsHeading">Whether it heads the rows that follow.</param>
/// <param name="Note">A text under the cells, over the whole width; null: none.</param>
public sealed record ReportGridRow(IReadOnlyList<string> Cells, bool IsHeading = false, string? Note = null);

/// <summary>A radiograph with lines and numbers drawn over it as vectors.</summary>
/// <param name="Picture">The radiograph alone, a PNG or JPEG file of 8 bits.</param>
/// <param name="Columns">Columns of the image that lines and numbers are given in.</param>
/// <param name="Rows">Rows of it.</param>
/// <param name="HeightOverWidth">Its shape on paper.</param>
/// <param name="Lines">The lines, in drawing order.</param>
/// <param name="Numbers">The numbers, each the middle of its disc.</param>
/// <param name="DiscRadius">Radius of a disc, in the image's pixels.</param>
/// <param name="Description">What it shows, for those who do not see it.</param>
public sealed record ReportRadiograph(
    byte[] Picture,
    double Columns,
    double Rows,
    double HeightOverWidth,
    IReadOnlyList<ReportLine> Lines,
    IReadOnlyList<(int Number, double X, double Y)> Numbers,
    double DiscRadius,
    string Description) : ReportBlock;

/// <summary>A line over a radiograph, in its pixels.</summary>
/// <param name="Points">Its points.</param>
/// <param name="IsClosed">Whether the last is joined to the first.</param>
/// <param name="Color">Colour as #RRGGBB.</param>
/// <param name="Opacity">0 to 1.</param>
/// <param name="Width">Its width.</param>
/// <param name="Dashes">Lengths drawn and left out in turn; empty: unbroken.</param>
public sealed record ReportLine(IReadOnlyList<(double X, double Y)> Points, bool IsClosed, string Color, double Opacity, double Width, IReadOnlyList<double> Dashes);

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
