using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hotlight.Measure.Document;

/// <summary>The measurement document as JSON: camelCase members, terms in kebab-case, absent figures left out.</summary>
public static class MeasurementJson
{
    /// <summary>Options for one document a line.</summary>
    public static JsonSerializerOptions Compact { get; } = Create(indented: false);

    /// <summary>Options for reading by people.</summary>
    public static JsonSerializerOptions Indented { get; } = Create(indented: true);

    /// <summary>Writes a document.</summary>
    /// <param name="document">The document.</param>
    /// <param name="indented">Whether to break lines.</param>
    public static string Write(MeasurementDocument document, bool indented = false)
        => JsonSerializer.Serialize(document, indented ? Indented : Compact);

    /// <summary>Reads a document.</summary>
    /// <param name="json">The text.</param>
    /// <exception cref="JsonException">The text is not a measurement document of this version.</exception>
    public static MeasurementDocument Read(string json)
    {
        MeasurementDocument document = JsonSerializer.Deserialize<MeasurementDocument>(json, Compact)
            ?? throw new JsonException("The text holds no document.");
        return document.Schema == MeasurementDocument.SchemaName
            ? document
            : throw new JsonException($"The document says '{document.Schema}'; this version reads '{MeasurementDocument.SchemaName}'.");
    }

    private static JsonSerializerOptions Create(bool indented)
    {
        var options = new JsonSerializerOptions
        {
            PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
            DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
            WriteIndented = indented,
            Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        };
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower));
        return options;
    }
}
