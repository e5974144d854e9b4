using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hotlight.Catalogue;

/// <summary>Reads the catalogue's files strictly: nothing missing, nothing unknown, nothing twice.</summary>
internal static class CatalogueJson
{
    private static readonly JsonSerializerOptions Options = Create();

    /// <summary>Reads one file.</summary>
    /// <typeparam name="T">What the file holds.</typeparam>
    /// <param name="json">The text.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <exception cref="UnreadableCatalogueException">The text does not hold a T.</exception>
    public static T Parse<T>(string json, string file)
        where T : class
    {
        try
        {
            return JsonSerializer.Deserialize<T>(json, Options)
                ?? throw new UnreadableCatalogueException(file, "$", "the file holds null.");
        }
        catch (JsonException error)
        {
            string sentence = error.Message;
            int place = sentence.IndexOf(" Path:", StringComparison.Ordinal);
            if (place > 0)
            {
                sentence = sentence[..place];
            }

            // The reader's sentence names internal types; a person who edits the file needs only the member.
            sentence = sentence.Replace("Hotlight.Catalogue.", string.Empty, StringComparison.Ordinal);
            throw new UnreadableCatalogueException(file, error.Path ?? "$", sentence, error);
        }
    }

    private static JsonSerializerOptions Create()
    {
        var options = new JsonSerializerOptions
        {
            PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
            UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
            RespectNullableAnnotations = true,
            RespectRequiredConstructorParameters = true,
            AllowDuplicateProperties = false,
        };
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false));
        return options;
    }
}
