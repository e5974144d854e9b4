namespace Hotlight.Core.Tests;

public sealed class CsvCellTests
{
    // RFC 4180, 2.5 to 2.7, for the quotes; that a spreadsheet takes these beginnings for formulas is described by OWASP, CSV Injection.
    [Theory]
    [InlineData("wrist", "wrist")]
    [InlineData("", "")]
    [InlineData("a,b", "\"a,b\"")]
    [InlineData("a\"b", "\"a\"\"b\"")]
    [InlineData("a\nb", "\"a\nb\"")]
    [InlineData("-3.2", "-3.2")]
    [InlineData("+1e-3", "+1e-3")]
    [InlineData("=1+1", "'=1+1")]
    [InlineData("=HYPERLINK(\"x\",\"y\")", "\"'=HYPERLINK(\"\"x\"\",\"\"y\"\")\"")]
    [InlineData("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0")]
    [InlineData("-2+3", "'-2+3")]
    [InlineData("@SUM(A1)", "'@SUM(A1)")]
    [InlineData("\t=1", "'\t=1")]
    [InlineData("− 3", "− 3")]
    public void Of_Texts_AreQuotedAndNeverAFormula(string text, string expected) => Assert.Equal(expected, CsvCell.Of(text));
}
