namespace Hotlight.Records.Sources.Tables;

/// <summary>Reads the rows of a table as entries by a mapping, one after the other, whatever the length of the table.</summary>
/// <param name="projections">Finds the catalogue's projections.</param>
/// <param name="naming">What names become.</param>
/// <param name="hours">The clinic's shifts.</param>
public sealed class TableReader(ProjectionWords projections, ISourceNaming naming, ShiftHours hours)
{
    /// <summary>Reads a table.</summary>
    /// <param name="content">The table, at its beginning; stays open.</param>
    /// <param name="mapping">What its columns mean.</param>
    /// <exception cref="FormatException">The mapping cannot be, a column of it is missing, or the table is no table; the message is one sentence.</exception>
    public IEnumerable<TableRow> Read(Stream content, TableMapping mapping)
    {
        ArgumentNullException.ThrowIfNull(content);
        ArgumentNullException.ThrowIfNull(mapping);
        return mapping.Faults() is [{ } fault, ..] ? throw new FormatException(fault) : Rows(content, mapping);
    }

    private IEnumerable<TableRow> Rows(Stream content, TableMapping mapping)
    {
        using var text = new StreamReader(content, TableText.EncodingOf(mapping.Encoding)!, detectEncodingFromByteOrderMarks: true, bufferSize: 1 << 16, leaveOpen: true);
        RowReader? reader = null;
        foreach ((long line, string[] fields) in TableText.Rows(text, mapping.Delimiter, mapping.Quote))
        {
            if (reader is null)
            {
                reader = new RowReader(TableLook.HeadingsOf(fields, mapping.HasHeadings), mapping, projections, naming, hours);
                if (mapping.HasHeadings)
                {
                    continue;
                }
            }

            yield return reader.Read(line, fields);
        }

        if (reader is null)
        {
            throw new FormatException("The file holds no rows.");
        }
    }
}
