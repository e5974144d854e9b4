using System.Text.Json;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement;

/// <summary>The critique as JSON: camelCase members, terms in kebab-case, absent members left out.</summary>
public static class CritiqueJson
{
    /// <summary>Writes a critique.</summary>
    /// <param name="critique">The critique.</param>
    /// <param name="indented">Whether to break lines.</param>
    public static string Write(Critique critique, bool indented = false)
        => JsonSerializer.Serialize(critique, indented ? MeasurementJson.Indented : MeasurementJson.Compact);

    /// <summary>Reads a critique.</summary>
    /// <param name="json">The text.</param>
    /// <exception cref="JsonException">The text is not a critique of this version.</exception>
    public static Critique Read(string json)
    {
        Critique critique = JsonSerializer.Deserialize<Critique>(json, MeasurementJson.Compact)
            ?? throw new JsonException("The text holds no critique.");
        return critique.Schema == Critique.SchemaName
            ? critique
            : throw new JsonException($"The critique says '{critique.Schema}'; this version reads '{Critique.SchemaName}'.");
    }
}
