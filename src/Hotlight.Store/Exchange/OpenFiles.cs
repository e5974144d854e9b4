using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json;
using CsvHelper;
using CsvHelper.Configuration;
using Parquet;
using Parquet.Schema;

namespace Hotlight.Store.Exchange;

/// <summary>Writes and reads rows in the open formats. A row's values are <see cref="string"/>, <see cref="long"/>, <see cref="double"/>, <see cref="bool"/> or null, by the kinds of the columns.</summary>
internal static class OpenFiles
{
    /// <summary>Rows of a group in Parquet.</summary>
    private const int GroupRows = 50_000;

    /// <summary>Ending of a format's files.</summary>
    /// <param name="format">The format.</param>
    public static string EndingOf(OpenFormat format) => format switch
    {
        OpenFormat.Csv => ".csv",
        OpenFormat.Jsonl => ".jsonl",
        _ => ".parquet",
    };

    /// <summary>Writes a file.</summary>
    /// <param name="path">Its path.</param>
    /// <param name="format">The format.</param>
    /// <param name="columns">The columns.</param>
    /// <param name="rows">The rows, read while they are written.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>How many rows were written.</returns>
    public static async Task<long> WriteAsync(string path, OpenFormat format, IReadOnlyList<OpenColumn> columns, IAsyncEnumerable<object?[]> rows, CancellationToken cancellation)
    {
        await using var stream = new FileStream(path, FileMode.CreateNew, FileAccess.ReadWrite, FileShare.None, 1 << 16, FileOptions.Asynchronous);
        return format switch
        {
            OpenFormat.Csv => await WriteCsvAsync(stream, columns, rows, cancellation),
            OpenFormat.Jsonl => await WriteJsonAsync(stream, columns, rows, cancellation),
            _ => await WriteParquetAsync(stream, columns, rows, cancellation),
        };
    }

    /// <summary>Reads a file.</summary>
    /// <param name="path">Its path.</param>
    /// <param name="format">The format.</param>
    /// <param name="columns">The columns it must have, in order.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="StoreRefusedException">It cannot be read as the columns say; the message names file and row.</exception>
    public static IAsyncEnumerable<object?[]> ReadAsync(string path, OpenFormat format, IReadOnlyList<OpenColumn> columns, CancellationToken cancellation = default) => format switch
    {
        OpenFormat.Csv => ReadCsvAsync(path, columns, cancellation),
        OpenFormat.Jsonl => ReadJsonAsync(path, columns, cancellation),
        _ => ReadParquetAsync(path, columns, cancellation),
    };

    private static async Task<long> WriteCsvAsync(Stream stream, IReadOnlyList<OpenColumn> columns, IAsyncEnumerable<object?[]> rows, CancellationToken cancellation)
    {
        await using var writer = new CsvWriter(new StreamWriter(stream, new UTF8Encoding(false)), new CsvConfiguration(CultureInfo.InvariantCulture)
        {
            NewLine = "\r\n",

            // With the line's end set, a lone CR or LF inside a field is not quoted by itself.
            ShouldQuote = field => field.Field is { Length: > 0 } text && (text.AsSpan().IndexOfAny(",\"\r\n") >= 0 || text[0] == ' ' || text[^1] == ' '),
        });
        foreach (OpenColumn column in columns)
        {
            writer.WriteField(column.Name);
        }

        await writer.NextRecordAsync();
        long count = 0;
        await foreach (object?[] row in rows.WithCancellation(cancellation))
        {
            foreach (object? value in row)
            {
                writer.WriteField(value switch
                {
                    null => string.Empty,

                    // An empty field is nothing; an empty text is a lone backslash, and a text that begins with one has one more.
                    string text => text.Length == 0 || text[0] == '\\' ? $"\\{text}" : text,
                    double number => number.ToString("R", CultureInfo.InvariantCulture),
                    bool flag => flag ? "true" : "false",
                    _ => ((long)value).ToString(CultureInfo.InvariantCulture),
                });
            }

            await writer.NextRecordAsync();
            count++;
        }

        return count;
    }

    private static async IAsyncEnumerable<object?[]> ReadCsvAsync(string path, IReadOnlyList<OpenColumn> columns, [EnumeratorCancellation] CancellationToken cancellation)
    {
        using var parser = new CsvParser(new StreamReader(path, new UTF8Encoding(false, throwOnInvalidBytes: true)), new CsvConfiguration(CultureInfo.InvariantCulture));
        long line = 0;
        while (await NextAsync())
        {
            cancellation.ThrowIfCancellationRequested();
            string[] fields = parser.Record!;
            if (line++ == 0)
            {
                if (!fields.SequenceEqual(columns.Select(column => column.Name), StringComparer.Ordinal))
                {
                    throw Refused(path, 1, "the heading is not that of the table");
                }

                continue;
            }

            if (fields.Length != columns.Count)
            {
                throw Refused(path, line, $"{fields.Length} fields stand where {columns.Count} belong");
            }

            object?[] row = new object?[fields.Length];
            for (int place = 0; place < row.Length; place++)
            {
                string field = fields[place];
                row[place] = field.Length == 0 ? null : columns[place].Kind switch
                {
                    OpenKind.Text => field[0] == '\\' ? field[1..] : field,
                    OpenKind.Whole when long.TryParse(field, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out long whole) => whole,
                    OpenKind.Number when double.TryParse(field, NumberStyles.Float, CultureInfo.InvariantCulture, out double number) => number,
                    OpenKind.Flag when field is "true" or "false" => field == "true",
                    _ => throw Refused(path, line, $"'{field}' is no {columns[place].Kind.ToString().ToLowerInvariant()} for {columns[place].Name}"),
                };
            }

            yield return row;
        }

        async Task<bool> NextAsync()
        {
            try
            {
                return await parser.ReadAsync();
            }
            catch (Exception error) when (error is CsvHelperException or DecoderFallbackException)
            {
                throw Refused(path, line + 1, "the line cannot be read", error);
            }
        }
    }

    private static async Task<long> WriteJsonAsync(Stream stream, IReadOnlyList<OpenColumn> columns, IAsyncEnumerable<object?[]> rows, CancellationToken cancellation)
    {
        long count = 0;
        await using var buffered = new BufferedStream(stream, 1 << 16);
        await using var json = new Utf8JsonWriter(buffered);
        await foreach (object?[] row in rows.WithCancellation(cancellation))
        {
            json.WriteStartObject();
            for (int place = 0; place < row.Length; place++)
            {
                string name = columns[place].Name;
                switch (row[place])
                {
                    case null:
                        json.WriteNull(name);
                        break;
                    case string text:
                        json.WriteString(name, text);
                        break;
                    case double number:
                        json.WriteNumber(name, number);
                        break;
                    case bool flag:
                        json.WriteBoolean(name, flag);
                        break;
                    case object whole:
                        json.WriteNumber(name, (long)whole);
                        break;
                }
            }

            json.WriteEndObject();
            await json.FlushAsync(cancellation);
            json.Reset();
            buffered.WriteByte((byte)'\n');
            count++;
        }

        return count;
    }

    private static async IAsyncEnumerable<object?[]> ReadJsonAsync(string path, IReadOnlyList<OpenColumn> columns, [EnumeratorCancellation] CancellationToken cancellation)
    {
        using var reader = new StreamReader(path, new UTF8Encoding(false));
        long line = 0;
        while (await reader.ReadLineAsync(cancellation) is { } text)
        {
            line++;
            object?[] row = new object?[columns.Count];
            try
            {
                using JsonDocument document = JsonDocument.Parse(text);
                for (int place = 0; place < row.Length; place++)
                {
                    JsonElement value = document.RootElement.GetProperty(columns[place].Name);
                    row[place] = value.ValueKind == JsonValueKind.Null ? null : columns[place].Kind switch
                    {
                        OpenKind.Text => value.GetString(),
                        OpenKind.Whole => value.GetInt64(),
                        OpenKind.Number => value.GetDouble(),
                        _ => value.GetBoolean(),
                    };
                }
            }
            catch (Exception error) when (error is JsonException or KeyNotFoundException or InvalidOperationException or FormatException)
            {
                throw Refused(path, line, "the line is not what the table's columns say", error);
            }

            yield return row;
        }
    }

    private static async Task<long> WriteParquetAsync(Stream stream, IReadOnlyList<OpenColumn> columns, IAsyncEnumerable<object?[]> rows, CancellationToken cancellation)
    {
        DataField[] fields = FieldsOf(columns);
        await using ParquetWriter writer = await ParquetWriter.CreateAsync(new ParquetSchema(fields), stream, cancellationToken: cancellation);
        var group = new List<object?[]>(GroupRows);
        long count = 0;
        async Task WriteGroupAsync()
        {
            using ParquetRowGroupWriter target = writer.CreateRowGroup();
            for (int place = 0; place < fields.Length; place++)
            {
                switch (columns[place].Kind)
                {
                    case OpenKind.Text:
                        await target.WriteAsync(fields[place], group.ConvertAll(row => (string)row[place]!));
                        break;
                    case OpenKind.Whole:
                        await target.WriteAsync<long>(fields[place], group.Select(row => (long?)row[place]).ToArray(), cancellationToken: cancellation);
                        break;
                    case OpenKind.Number:
                        await target.WriteAsync<double>(fields[place], group.Select(row => (double?)row[place]).ToArray(), cancellationToken: cancellation);
                        break;
                    default:
                        await target.WriteAsync<bool>(fields[place], group.Select(row => (bool?)row[place]).ToArray(), cancellationToken: cancellation);
                        break;
                }
            }

            target.CompleteValidate();
            count += group.Count;
            group.Clear();
        }

        await foreach (object?[] row in rows.WithCancellation(cancellation))
        {
            group.Add(row);
            if (group.Count == GroupRows)
            {
                await WriteGroupAsync();
            }
        }

        if (group.Count > 0)
        {
            await WriteGroupAsync();
        }

        return count;
    }

    private static async IAsyncEnumerable<object?[]> ReadParquetAsync(string path, IReadOnlyList<OpenColumn> columns, [EnumeratorCancellation] CancellationToken cancellation)
    {
        await using var stream = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.Read, 1 << 16, FileOptions.Asynchronous);
        ParquetReader reader;
        try
        {
            reader = await ParquetReader.CreateAsync(stream, leaveStreamOpen: true, cancellationToken: cancellation);
        }
        catch (Exception error) when (error is IOException or InvalidDataException or ParquetException or ArgumentException)
        {
            throw Refused(path, 1, "it is no Parquet file", error);
        }

        await using (reader)
        {
            DataField[] fields = reader.Schema.GetDataFields();
            DataField[] expected = FieldsOf(columns);
            if (!fields.Select(field => (field.Name, field.ClrType)).SequenceEqual(expected.Select(field => (field.Name, field.ClrType))))
            {
                throw Refused(path, 1, "its columns are not those of the table");
            }

            for (int number = 0; number < reader.RowGroupCount; number++)
            {
                using ParquetRowGroupReader group = reader.OpenRowGroupReader(number);
                int count = (int)group.RowCount;
                var values = new List<Func<int, object?>>();
                for (int place = 0; place < fields.Length; place++)
                {
                    switch (columns[place].Kind)
                    {
                        case OpenKind.Text:
                            string?[] texts = new string?[count];
                            await group.ReadAsync(fields[place], texts.AsMemory(), cancellationToken: cancellation);
                            values.Add(row => texts[row]);
                            break;
                        case OpenKind.Whole:
                            long?[] wholes = new long?[count];
                            await group.ReadAsync<long>(fields[place], wholes.AsMemory(), cancellationToken: cancellation);
                            values.Add(row => wholes[row]);
                            break;
                        case OpenKind.Number:
                            double?[] numbers = new double?[count];
                            await group.ReadAsync<double>(fields[place], numbers.AsMemory(), cancellationToken: cancellation);
                            values.Add(row => numbers[row]);
                            break;
                        default:
                            bool?[] flags = new bool?[count];
                            await group.ReadAsync<bool>(fields[place], flags.AsMemory(), cancellationToken: cancellation);
                            values.Add(row => flags[row]);
                            break;
                    }
                }

                for (int row = 0; row < count; row++)
                {
                    yield return [.. values.Select(value => value(row))];
                }
            }
        }
    }

    private static DataField[] FieldsOf(IReadOnlyList<OpenColumn> columns) =>
    [
        .. columns.Select(column => column.Kind switch
        {
            OpenKind.Text => new DataField(column.Name, typeof(string), isNullable: true),
            OpenKind.Whole => new DataField(column.Name, typeof(long), isNullable: true),
            OpenKind.Number => new DataField(column.Name, typeof(double), isNullable: true),
            _ => new DataField(column.Name, typeof(bool), isNullable: true),
        }),
    ];

    private static StoreRefusedException Refused(string path, long row, string reason, Exception? inner = null)
        => new($"{Path.GetFileName(path)}, row {row.ToString(CultureInfo.InvariantCulture)}: {reason}; nothing was taken in.", inner);
}
