using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;

namespace Hotlight.Core;

/// <summary>Writes and reads a <see cref="Figure{T}"/> as one object with a <c>status</c> member.</summary>
public sealed class FigureJsonConverterFactory : JsonConverterFactory
{
    /// <inheritdoc/>
    public override bool CanConvert(Type typeToConvert)
        => typeToConvert.IsGenericType && typeToConvert.GetGenericTypeDefinition() == typeof(Figure<>);

    /// <inheritdoc/>
    public override JsonConverter CreateConverter(Type typeToConvert, JsonSerializerOptions options)
        => (JsonConverter)Activator.CreateInstance(typeof(FigureJsonConverter<>).MakeGenericType(typeToConvert.GetGenericArguments()[0]))!;

    private sealed class FigureJsonConverter<T> : JsonConverter<Figure<T>>
        where T : class
    {
        public override Figure<T> Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
        {
            if (JsonNode.Parse(ref reader) is not JsonObject node)
            {
                throw new JsonException("A section is an object with a status.");
            }

            string? status = (string?)node["status"];
            node.Remove("status");
            return status switch
            {
                "measured" => Figure<T>.Measured(node.Deserialize<T>(options) ?? throw new JsonException("A measured section has members.")),
                "cannot-tell" => Figure<T>.CannotTell((string?)node["why"] ?? throw new JsonException("A section that cannot be told says why.")),
                _ => throw new JsonException($"A section's status is 'measured' or 'cannot-tell', not '{status}'."),
            };
        }

        public override void Write(Utf8JsonWriter writer, Figure<T> value, JsonSerializerOptions options)
        {
            writer.WriteStartObject();
            if (value.IsMeasured)
            {
                writer.WriteString("status", "measured");
                using JsonDocument members = JsonSerializer.SerializeToDocument(value.Value, options);
                foreach (JsonProperty member in members.RootElement.EnumerateObject())
                {
                    member.WriteTo(writer);
                }
            }
            else
            {
                writer.WriteString("status", "cannot-tell");
                writer.WriteString("why", value.Why);
            }

            writer.WriteEndObject();
        }
    }
}
