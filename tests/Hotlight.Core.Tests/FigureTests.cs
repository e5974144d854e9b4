using System.Text.Json;
using Hotlight.Core;

namespace Hotlight.Core.Tests;

public sealed class FigureTests
{
    private sealed record Width(double WidthMm, double? WidthMmUncertainty = null);

    private static readonly JsonSerializerOptions Camel = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase };

    [Fact]
    [Trait("evidence", "analytic")]
    public void Json_OfAMeasuredFigure_CarriesStatusThenMembers()
        => Assert.Equal("""{"status":"measured","widthMm":12.5,"widthMmUncertainty":0.25}""", JsonSerializer.Serialize(Figure<Width>.Measured(new Width(12.5, 0.25)), Camel));

    [Fact]
    [Trait("evidence", "analytic")]
    public void Json_OfAFigureThatCannotBeTold_CarriesTheReasonAndNoFigure()
        => Assert.Equal("""{"status":"cannot-tell","why":"No spacing is known."}""", JsonSerializer.Serialize(Figure<Width>.CannotTell("No spacing is known."), Camel));

    [Theory]
    [InlineData("""{"status":"measured","widthMm":12.5}""")]
    [InlineData("""{"status":"cannot-tell","why":"No spacing is known."}""")]
    public void Json_ReadAndWritten_IsTheSameFigure(string json)
    {
        Figure<Width> figure = JsonSerializer.Deserialize<Figure<Width>>(json, Camel)!;
        Assert.Equal(json.Replace("}", figure.IsMeasured ? ",\"widthMmUncertainty\":null}" : "}", StringComparison.Ordinal), JsonSerializer.Serialize(figure, Camel));
    }

    [Theory]
    [InlineData("""{"widthMm":12.5}""")]
    [InlineData("""{"status":"guessed","widthMm":12.5}""")]
    [InlineData("""{"status":"cannot-tell"}""")]
    [InlineData("""7""")]
    public void Json_WithoutAnHonestStatus_IsRefused(string json)
        => Assert.Throws<JsonException>(() => JsonSerializer.Deserialize<Figure<Width>>(json, Camel));

    [Theory]
    [InlineData("")]
    [InlineData("  ")]
    public void CannotTell_WithoutAReason_IsRefused(string why)
        => Assert.Throws<ArgumentException>(() => Figure<Width>.CannotTell(why));

    [Fact]
    public void DirectionsOfAFigure_ExcludeEachOther()
    {
        Assert.Null(Figure<Width>.Measured(new Width(1)).Why);
        Assert.Null(Figure<Width>.CannotTell("No spacing is known.").Value);
    }
}
