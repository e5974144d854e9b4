namespace Hotlight.Store.Exchange;

/// <summary>What a column of an open file holds.</summary>
public enum OpenKind
{
    /// <summary>A text; also identifiers, names of terms, and times as ISO 8601 has them.</summary>
    Text,

    /// <summary>A whole number of 64 bits.</summary>
    Whole,

    /// <summary>A number, IEEE 754 with 64 bits, written so that it is read back to the last bit.</summary>
    Number,

    /// <summary>True or false.</summary>
    Flag,
}

/// <summary>The format of the files of an export.</summary>
public enum OpenFormat
{
    /// <summary>Values with commas between, RFC 4180, UTF-8, a heading in the first line.</summary>
    Csv,

    /// <summary>A JSON object a line (JSON Lines).</summary>
    Jsonl,

    /// <summary>Apache Parquet.</summary>
    Parquet,
}

/// <summary>A column of an open file.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Kind">What it holds; every column may be empty.</param>
public sealed record OpenColumn(string Name, OpenKind Kind);

/// <summary>A file of an export.</summary>
/// <param name="Name">Name of the file without its ending.</param>
/// <param name="Columns">Its columns, in order.</param>
/// <param name="Rows">How many rows.</param>
public sealed record OpenTable(string Name, IReadOnlyList<OpenColumn> Columns, long Rows);

/// <summary>What an export holds, in the file <c>export.json</c> beside the others.</summary>
/// <param name="Version">Version of this layout: 1.</param>
/// <param name="Hotlight">Version of Hotlight that wrote it.</param>
/// <param name="Format">Format of the files.</param>
/// <param name="Tables">The files.</param>
public sealed record OpenExport(int Version, string Hotlight, OpenFormat Format, IReadOnlyList<OpenTable> Tables);
