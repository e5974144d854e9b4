using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hotlight.Records.Sources.Tables;

/// <summary>Writes a mapping as JSON and reads it back, strictly: a member that is not known is refused, so that a misspelt one is not lost in silence.</summary>
public static class TableMappingJson
{
    /// <summary>The value of the file's <c>schema</c> in this version.</summary>
    public const string SchemaName = "hotlight.table-mapping/1";

    /// <summary>Largest file that is read, in bytes.</summary>
    public const int LargestBytes = 1 << 20;

    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        PropertyNameCaseInsensitive = false,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        AllowDuplicateProperties = false,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false) },
    };

    /// <summary>Writes a mapping.</summary>
    /// <param name="mapping">The mapping.</param>
    public static string Write(TableMapping mapping)
    {
        ArgumentNullException.ThrowIfNull(mapping);
        return JsonSerializer.Serialize(
            new MappingFile(SchemaName, mapping.Name, mapping.Columns)
            {
                Encoding = mapping.Encoding,
                Delimiter = mapping.Delimiter,
                Quote = mapping.Quote,
                HasHeadings = mapping.HasHeadings,
                Decimal = mapping.Decimal,
                DateFormat = mapping.DateFormat,
                TimeFormat = mapping.TimeFormat,
                KermaAreaProductUnit = mapping.KermaAreaProductUnit,
                Values = mapping.Values,
                Key = mapping.Key,
            },
            Options);
    }

    /// <summary>Reads a mapping and checks it.</summary>
    /// <param name="json">The file's text.</param>
    /// <param name="fileName">Its name, for messages.</param>
    /// <exception cref="FormatException">It is not such a file, or the mapping cannot be; the message is one sentence.</exception>
    public static TableMapping Read(string json, string fileName)
    {
        ArgumentNullException.ThrowIfNull(json);
        MappingFile file;
        try
        {
            file = JsonSerializer.Deserialize<MappingFile>(json, Options) ?? throw new JsonException();
        }
        catch (JsonException error)
        {
            string place = error.Path is { Length: > 1 } path ? $" at {path}" : error.LineNumber is { } line ? $" at line {line + 1}" : string.Empty;
            throw new FormatException($"{fileName}: this is no mapping of a table; look{(place.Length > 0 ? place : " for a value of the wrong kind or a member that is not known")}.", error);
        }

        if (file.Schema != SchemaName)
        {
            throw new FormatException($"{fileName}: the schema is '{file.Schema}'; this version reads '{SchemaName}'.");
        }

        TableMapping mapping = new()
        {
            Name = file.Name,
            Encoding = file.Encoding,
            Delimiter = file.Delimiter,
            Quote = file.Quote,
            HasHeadings = file.HasHeadings,
            Decimal = file.Decimal,
            DateFormat = file.DateFormat,
            TimeFormat = file.TimeFormat,
            KermaAreaProductUnit = file.KermaAreaProductUnit,
            Columns = file.Columns,
            Values = file.Values,
            Key = file.Key,
        };
        return mapping.Faults() is [{ } fault, ..] ? throw new FormatException($"{fileName}: {fault}") : mapping;
    }

    private sealed record MappingFile(string Schema, string Name, IReadOnlyDictionary<string, TableMember> Columns)
    {
        private static readonly TableMapping Usual = new();

        public string Encoding { get; init; } = Usual.Encoding;

        public char Delimiter { get; init; } = Usual.Delimiter;

        public char Quote { get; init; } = Usual.Quote;

        public bool HasHeadings { get; init; } = Usual.HasHeadings;

        public char Decimal { get; init; } = Usual.Decimal;

        public string DateFormat { get; init; } = Usual.DateFormat;

        public string TimeFormat { get; init; } = Usual.TimeFormat;

        public string KermaAreaProductUnit { get; init; } = Usual.KermaAreaProductUnit;

        public IReadOnlyDictionary<TableMember, IReadOnlyDictionary<string, string>> Values { get; init; } = Usual.Values;

        public IReadOnlyList<string> Key { get; init; } = Usual.Key;
    }
}
