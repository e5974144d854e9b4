using System.Text.Json;

namespace Hotlight.Core;

/// <summary>JSON that a stranger may have written: whole, or an error of one kind.</summary>
public static class JsonText
{
    /// <summary>Parses a text and looks into every string of it: an escape for half a letter is a fault of the text here, not a surprise where the string is read.</summary>
    /// <param name="json">The text.</param>
    /// <param name="options">How to parse.</param>
    /// <exception cref="JsonException">It is no JSON, or a string in it is no Unicode.</exception>
    public static JsonDocument Parse(string json, JsonDocumentOptions options = default)
    {
        JsonDocument? document = null;
        try
        {
            // Where duplicates are refused, the parsing itself compares names.
            document = JsonDocument.Parse(json, options);
            Look(document.RootElement);
            return document;
        }
        catch (InvalidOperationException error)
        {
            document?.Dispose();
            throw new JsonException("A text in it holds half a letter (a lone surrogate).", null, null, null, error);
        }
    }

    private static void Look(JsonElement element)
    {
        switch (element.ValueKind)
        {
            case JsonValueKind.Object:
                foreach (JsonProperty member in element.EnumerateObject())
                {
                    _ = member.Name;
                    Look(member.Value);
                }

                break;
            case JsonValueKind.Array:
                foreach (JsonElement item in element.EnumerateArray())
                {
                    Look(item);
                }

                break;
            case JsonValueKind.String:
                _ = element.GetString();
                break;
        }
    }
}
