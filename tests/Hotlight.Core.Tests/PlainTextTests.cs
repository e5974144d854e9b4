namespace Hotlight.Core.Tests;

public sealed class PlainTextTests
{
    [Theory]
    [InlineData("a plain sentence, größer, 手首.", "a plain sentence, größer, 手首.")]
    [InlineData("two\nlines\r\n", "two\uFFFDlines\uFFFD\uFFFD")]
    [InlineData("\u001b[31mred\u0007", "\uFFFD[31mred\uFFFD")]
    [InlineData("exe\u202Ecod.jpg", "exe\uFFFDcod.jpg")]
    [InlineData("\u2028", "\uFFFD")]
    [InlineData("\u0646\u0645\u06CC\u200C", "\u0646\u0645\u06CC\u200C")]
    public void Of_TextOfAStranger_SteersNothing(string text, string expected) => Assert.Equal(expected, PlainText.Of(text));

    // Found by the search for hostile inputs: a transfer syntax with a line break in it became two lines of the message.
    [Fact]
    public void UnreadableImage_ReasonThatQuotesTheFile_IsOneLine()
    {
        UnreadableImageException error = new("a\u001b[2J.dcm", "its pixel data is coded by 1.2.840\n\u001b[31m, which Hotlight does not read.");

        Assert.DoesNotContain(error.Message, char.IsControl);
        Assert.DoesNotContain(error.Reason, char.IsControl);
    }

    // Found by the search for hostile inputs: normalising such a text throws.
    [Theory]
    [InlineData("wrist")]
    [InlineData("手首 \U0001F9B4")]
    [InlineData("half \uD83E of it")]
    [InlineData("turned \uFFFE mark")]
    public void WellFormed_AnyText_CanBeNormalised(string text)
        => Assert.NotEmpty(PlainText.WellFormed(text).Normalize(System.Text.NormalizationForm.FormKD));

    [Theory]
    [InlineData("{\"a\":[\"b\",1,null]}", true)]
    [InlineData("{\"a\":[\"\\ud83e\\uddb4\"]}", true)]
    [InlineData("{\"a\":[\"\\ud83e\"]}", false)]
    [InlineData("{\"\\ud83e\":1}", false)]
    [InlineData("{", false)]
    public void Parse_JsonOfAStranger_IsWholeOrOneKindOfError(string json, bool isWhole)
    {
        Exception? error = Record.Exception(() => JsonText.Parse(json).Dispose());

        Assert.Equal(isWhole, error is null);
        Assert.True(isWhole || error is System.Text.Json.JsonException);
    }
}
