using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using Hotlight.Core;

namespace Hotlight.Catalogue;

/// <summary>Reads the catalogue's files strictly: nothing missing, nothing unknown, nothing twice; every fault of a file is named, not only its first.</summary>
internal static class CatalogueJson
{
    private static readonly JsonSerializerOptions Options = Create();

    /// <summary>Reads one file.</summary>
    /// <typeparam name="T">What the file holds.</typeparam>
    /// <param name="json">The text.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <exception cref="UnreadableCatalogueException">The text does not hold a T; every fault is named.</exception>
    public static T Parse<T>(string json, string file)
        where T : class
    {
        JsonDocument document;
        try
        {
            document = JsonText.Parse(json, new JsonDocumentOptions { AllowDuplicateProperties = false });
        }
        catch (JsonException error)
        {
            string where = error.LineNumber is { } line ? $"this is not JSON; look at line {line + 1}." : "this is not JSON, or a member stands twice.";
            throw new UnreadableCatalogueException(file, error.Path ?? "$", where, error);
        }

        using (document)
        {
            var errors = new List<CatalogueError>();
            Walk(document.RootElement, Options.GetTypeInfo(typeof(T)), "$", mayBeNull: false, errors, file);
            return errors.Count > 0
                ? throw new UnreadableCatalogueException(errors)
                : document.Deserialize<T>(Options) ?? throw new UnreadableCatalogueException(file, "$", "the file holds null.");
        }
    }

    /// <summary>Writes an entry as its file would hold it.</summary>
    /// <typeparam name="T">What the file holds.</typeparam>
    /// <param name="content">The entry.</param>
    public static JsonObject Write<T>(T content)
        where T : class
        => JsonSerializer.SerializeToNode(content, Options)!.AsObject();

    private static void Walk(JsonElement element, JsonTypeInfo type, string path, bool mayBeNull, List<CatalogueError> errors, string file)
    {
        void Fault(string member, string reason) => errors.Add(new CatalogueError(file, member, reason));

        if (element.ValueKind == JsonValueKind.Null)
        {
            if (!mayBeNull && Nullable.GetUnderlyingType(type.Type) is null)
            {
                Fault(path, $"null stands where {Expected(type)} is expected.");
            }

            return;
        }

        if (type.Kind == JsonTypeInfoKind.Object)
        {
            if (element.ValueKind != JsonValueKind.Object)
            {
                Fault(path, $"{Expected(type)} is expected.");
                return;
            }

            WalkMembers(element, type, path, errors, file);
        }
        else if (type.Kind == JsonTypeInfoKind.Enumerable && element.ValueKind == JsonValueKind.Array)
        {
            JsonTypeInfo item = Options.GetTypeInfo(type.ElementType!);
            int index = 0;
            foreach (JsonElement child in element.EnumerateArray())
            {
                Walk(child, item, $"{path}[{index++}]", mayBeNull: false, errors, file);
            }
        }
        else if (type.Kind == JsonTypeInfoKind.Dictionary && element.ValueKind == JsonValueKind.Object)
        {
            JsonTypeInfo item = Options.GetTypeInfo(type.ElementType!);
            foreach (JsonProperty child in element.EnumerateObject())
            {
                Walk(child.Value, item, $"{path}.{child.Name}", mayBeNull: false, errors, file);
            }
        }
        else if (!Fits(element, type))
        {
            Fault(path, $"{Expected(type)} is expected, not {element.GetRawText()}.");
        }
    }

    private static void WalkMembers(JsonElement element, JsonTypeInfo type, string path, List<CatalogueError> errors, string file)
    {
        foreach (JsonPropertyInfo member in type.Properties)
        {
            string place = $"{path}.{member.Name}";
            if (element.TryGetProperty(member.Name, out JsonElement value))
            {
                Walk(value, Options.GetTypeInfo(member.PropertyType), place, member.IsSetNullable, errors, file);
            }
            else if (member.IsRequired || member.AssociatedParameter is { HasDefaultValue: false })
            {
                errors.Add(new CatalogueError(file, place, $"the member {member.Name} is missing; {Expected(Options.GetTypeInfo(member.PropertyType))} is expected."));
            }
        }

        foreach (JsonProperty member in element.EnumerateObject().Where(member => type.Properties.All(known => known.Name != member.Name)))
        {
            string near = Nearest.To(member.Name, type.Properties.Select(known => known.Name)) is { } best ? $"; did you mean '{best}'?" : ".";
            errors.Add(new CatalogueError(file, $"{path}.{member.Name}", $"'{member.Name}' is not a member known here{near}"));
        }
    }

    // A leaf fits when the reader itself takes it: the same rules as at the end, asked alone.
    private static bool Fits(JsonElement element, JsonTypeInfo type)
    {
        try
        {
            _ = element.Deserialize(type);
            return true;
        }
        catch (JsonException)
        {
            return false;
        }
    }

    private static string Expected(JsonTypeInfo type)
    {
        Type plain = Nullable.GetUnderlyingType(type.Type) ?? type.Type;
        return plain switch
        {
            _ when plain.IsEnum => "one of " + string.Join(", ", Enum.GetNames(plain).Select(JsonNamingPolicy.KebabCaseLower.ConvertName)),
            _ when plain == typeof(string) => "a text",
            _ when plain == typeof(bool) => "true or false",
            _ when plain == typeof(int) => "a whole number",
            _ when plain == typeof(double) => "a number",
            _ when type.Kind == JsonTypeInfoKind.Enumerable => "a list",
            _ => "an object with " + string.Join(", ", Options.GetTypeInfo(plain).Properties.Select(member => member.Name)),
        };
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
            TypeInfoResolver = new DefaultJsonTypeInfoResolver(),
        };
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false));
        options.MakeReadOnly();
        return options;
    }
}
