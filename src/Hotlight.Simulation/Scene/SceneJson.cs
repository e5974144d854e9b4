using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Core;

namespace Hotlight.Simulation.Scene;

/// <summary>Reads and writes scene files, strictly: a member that does not exist is an error, not a silence.</summary>
public static class SceneJson
{
    private static readonly JsonSerializerOptions Options = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        AllowDuplicateProperties = false,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        ReadCommentHandling = JsonCommentHandling.Skip,
        WriteIndented = true,
        NewLine = "\n",
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    /// <summary>Reads a scene and checks every member that can be checked without files.</summary>
    /// <param name="json">The file's text.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <exception cref="UnreadableSceneException">The text is not a scene; the message is one sentence.</exception>
    public static SceneDocument Read(string json, string file)
    {
        ArgumentNullException.ThrowIfNull(json);
        try
        {
            using JsonDocument document = JsonText.Parse(json, new JsonDocumentOptions { CommentHandling = JsonCommentHandling.Skip, AllowDuplicateProperties = false });
            if (document.RootElement.ValueKind != JsonValueKind.Object)
            {
                throw new UnreadableSceneException(file, "a scene is one object.");
            }

            if (!document.RootElement.TryGetProperty("schema", out JsonElement schema) || schema.ValueKind != JsonValueKind.String)
            {
                throw new UnreadableSceneException(file, $"the member schema is missing; write \"{SceneDocument.SchemaName}\".");
            }

            if (schema.GetString() != SceneDocument.SchemaName)
            {
                throw new UnreadableSceneException(file, $"the file says '{schema.GetString()}'; this version reads '{SceneDocument.SchemaName}'.");
            }

            SceneDocument scene = document.Deserialize<SceneDocument>(Options) ?? throw new UnreadableSceneException(file, "a scene is one object.");
            SceneChecks.Check(scene, file);
            return scene;
        }
        catch (JsonException error)
        {
            throw new UnreadableSceneException(file, Sentence(error), error);
        }
    }

    /// <summary>Writes a scene, every member spelled out.</summary>
    /// <param name="scene">The scene.</param>
    public static string Write(SceneDocument scene) => JsonSerializer.Serialize(scene, Options) + "\n";

    private static string Sentence(JsonException error)
    {
        string path = error.Path is { Length: > 2 } found ? found[2..] : "";
        if (error.Message.Contains("could not be mapped", StringComparison.Ordinal))
        {
            return $"there is no member '{path}' in a scene; look at its spelling.";
        }

        if (error.Message.Contains("missing required", StringComparison.Ordinal))
        {
            int colon = error.Message.LastIndexOf(": ", StringComparison.Ordinal);
            string names = colon < 0 ? "a member" : error.Message[(colon + 2)..].TrimEnd('.').Replace('\'', ' ').Trim();
            return $"{(path.Length == 0 ? "the scene" : $"'{path}'")} needs the member {names}.";
        }

        return path.Length > 0
            ? $"the value of '{path}' is not of the kind that belongs there."
            : error.LineNumber is { } line ? $"this is not JSON; look at line {line + 1}." : "this is not JSON, or a member stands twice.";
    }
}

/// <summary>A file is not a scene, or asks for something that cannot be exposed.</summary>
public sealed class UnreadableSceneException : Exception
{
    /// <summary>Says what is wrong with a scene.</summary>
    /// <param name="file">Name of the file.</param>
    /// <param name="reason">One sentence, beginning in lower case.</param>
    /// <param name="inner">What led to it, or null.</param>
    public UnreadableSceneException(string file, string reason, Exception? inner = null)
        : base(PlainText.Of($"{file}: {reason}"), inner)
    {
        FileName = file;
        Reason = PlainText.Of(reason);
    }

    /// <summary>Name of the file.</summary>
    public string FileName { get; }

    /// <summary>One sentence, beginning in lower case.</summary>
    public string Reason { get; }
}
