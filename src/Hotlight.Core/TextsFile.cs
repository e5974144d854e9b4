using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;

namespace Hotlight.Core;

/// <summary>Reads a file of texts strictly: schema and language, no key unknown, no place missing or too many; every fault is named, not only the first.</summary>
internal static partial class TextsFile
{
    private const string SchemaName = "hotlight.texts/1";

    /// <summary>Reads one file.</summary>
    /// <param name="json">The text.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <param name="language">Code of the language it must be of.</param>
    /// <param name="english">The English texts it is checked by; null: this is the English file.</param>
    /// <param name="faults">Where faults are added.</param>
    /// <returns>The texts by key; what is at fault is left out.</returns>
    public static IReadOnlyDictionary<string, string> Read(string json, string file, string language, IReadOnlyDictionary<string, string>? english, List<TextFault> faults)
    {
        var texts = new Dictionary<string, string>(StringComparer.Ordinal);
        void Fault(string key, string reason) => faults.Add(new TextFault(file, key, reason));
        JsonDocument document;
        try
        {
            document = JsonText.Parse(json, new JsonDocumentOptions { AllowDuplicateProperties = false });
        }
        catch (JsonException error)
        {
            Fault(error.LineNumber is { } line ? $"line {line + 1}" : "$", "this is not JSON, or a key stands twice.");
            return texts;
        }

        using (document)
        {
            JsonElement root = document.RootElement;
            if (root.ValueKind != JsonValueKind.Object)
            {
                Fault("$", "an object with schema, language and texts is expected.");
                return texts;
            }

            foreach (JsonProperty member in root.EnumerateObject().Where(member => member.Name is not ("schema" or "language" or "texts")))
            {
                Fault(member.Name, "only schema, language and texts are known here.");
            }

            Word(root, "schema", SchemaName, Fault);
            Word(root, "language", language, Fault);
            if (!root.TryGetProperty("texts", out JsonElement entries) || entries.ValueKind != JsonValueKind.Object)
            {
                Fault("texts", "an object of keys and texts is expected.");
                return texts;
            }

            foreach (JsonProperty entry in entries.EnumerateObject())
            {
                if (Reason(entry, english) is { } reason)
                {
                    Fault(entry.Name, reason);
                }
                else
                {
                    texts[entry.Name] = entry.Value.GetString()!;
                }
            }
        }

        return texts;
    }

    /// <summary>The numbers of a text's places, in order, each once.</summary>
    /// <param name="text">The text.</param>
    public static IReadOnlyList<int> Places(string text)
        => [.. Place().Matches(text).Select(place => int.Parse(place.Groups[1].ValueSpan, CultureInfo.InvariantCulture)).Distinct().Order()];

    /// <summary>A place such as {0}.</summary>
    [GeneratedRegex(@"\{([0-9])\}")]
    public static partial Regex Place();

    [GeneratedRegex("^[a-z0-9]+(-[a-z0-9]+)*([.][a-z0-9]+(-[a-z0-9]+)*)*$")]
    private static partial Regex Key();

    private static void Word(JsonElement root, string member, string expected, Action<string, string> fault)
    {
        if (!root.TryGetProperty(member, out JsonElement value) || value.ValueKind != JsonValueKind.String || value.GetString() != expected)
        {
            fault(member, $"'{expected}' is expected.");
        }
    }

    private static string? Reason(JsonProperty entry, IReadOnlyDictionary<string, string>? english)
    {
        if (!Key().IsMatch(entry.Name))
        {
            return "a key is lower-case words joined by hyphens and points.";
        }

        if (entry.Value.ValueKind != JsonValueKind.String || string.IsNullOrWhiteSpace(entry.Value.GetString()))
        {
            return "a text is expected that is not empty.";
        }

        string text = entry.Value.GetString()!;
        if (Place().Replace(text, string.Empty).AsSpan().ContainsAny('{', '}'))
        {
            return "a brace stands only in places such as {0}.";
        }

        IReadOnlyList<int> places = Places(text);
        if (english is null)
        {
            return places.SequenceEqual(Enumerable.Range(0, places.Count)) ? null : "places are counted from {0} without a gap.";
        }

        if (!english.TryGetValue(entry.Name, out string? original))
        {
            return "English has no such key, so nothing uses it.";
        }

        IReadOnlyList<int> expected = Places(original);
        string missing = string.Join(", ", expected.Except(places).Select(place => $"{{{place}}}"));
        string extra = string.Join(", ", places.Except(expected).Select(place => $"{{{place}}}"));
        return (missing.Length > 0, extra.Length > 0) switch
        {
            (true, true) => $"{missing} is missing and {extra} is too many.",
            (true, false) => $"{missing} is missing.",
            (false, true) => $"{extra} is too many.",
            _ => null,
        };
    }
}
