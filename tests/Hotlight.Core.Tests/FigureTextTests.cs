using System.Globalization;
using Hotlight.Core;

namespace Hotlight.Core.Tests;

public sealed class FigureTextTests
{
    [Theory]
    [InlineData(61.04, 0.37, " %", "61.0 ± 0.4 %")]
    [InlineData(2.431, 0.18, " %", "2.43 ± 0.18 %")]
    [InlineData(41250.4, 212.0, " mm²", "41,300 ± 200 mm²")] // 212 carries its first digit: steps of 100; 41,250.4 is nearest 41,300
    [InlineData(-0.3, 0.12, "°", "−0.30 ± 0.12°")]
    [InlineData(57.3, 1.3, " %", "57.3 ± 1.3 %")]
    [InlineData(22.4, 3.1, " %", "22 ± 3 %")]
    [InlineData(0.5, 0.096, "", "0.50 ± 0.10")]
    [InlineData(57.3, null, " %", "57.3 %")]
    [InlineData(40.027, 0.0016, "°", "40.03 ± <0.01°")]
    [InlineData(40.027, 0.006, "°", "40.03 ± 0.01°")]
    public void Write_ValueAndDeviation_KeepsTheDigitsTheDeviationCarries(double value, double? deviation, string unit, string expected)
        => Assert.Equal(expected, FigureText.Write(value, deviation, unit, decimals: 1));

    [Fact]
    public void Write_SignedDeviationIndex_CarriesItsSign()
    {
        Assert.Equal("+0.96", FigureText.Write(0.962, null, string.Empty, 2, signed: true));
        Assert.Equal("−1.20", FigureText.Write(-1.2, null, string.Empty, 2, signed: true));
        Assert.Equal("0.00", FigureText.Write(-0.001, null, string.Empty, 2, signed: true));
    }

    [Fact]
    public void Write_UnderACultureWithDecimalComma_StillWritesAPoint()
    {
        CultureInfo before = CultureInfo.CurrentCulture;
        try
        {
            CultureInfo.CurrentCulture = CultureInfo.GetCultureInfo("de-DE");
            Assert.Equal("61.0 ± 0.4 %", FigureText.Write(61.04, 0.37, " %", 1));
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }
}
