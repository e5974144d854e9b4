using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hotlight.Core;

/// <summary>Writes a <see cref="PixelPoint"/> as the two-element array <c>[x, y]</c>, rounded to 0.01 pixel.</summary>
public sealed class PixelPointJsonConverter : JsonConverter<PixelPoint>
{
    /// <inheritdoc/>
    public override PixelPoint Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        if (reader.TokenType != JsonTokenType.StartArray)
        {
            throw new JsonException("A point is written as [x, y].");
        }

        reader.Read();
        double x = reader.GetDouble();
        reader.Read();
        double y = reader.GetDouble();
        reader.Read();
        if (reader.TokenType != JsonTokenType.EndArray)
        {
            throw new JsonException("A point has exactly two numbers, [x, y].");
        }

        return new PixelPoint(X: x, Y: y);
    }

    /// <inheritdoc/>
    public override void Write(Utf8JsonWriter writer, PixelPoint value, JsonSerializerOptions options)
    {
        writer.WriteStartArray();
        writer.WriteNumberValue(Math.Round(value.X, 2));
        writer.WriteNumberValue(Math.Round(value.Y, 2));
        writer.WriteEndArray();
    }
}
