using Hotlight.Core;
using Hotlight.Measure.Field;

namespace Hotlight.Measure.Tests.Field;

public sealed class PenumbraFitTests
{
    private const double Scale = 6000;
    private const double Width = 20;
    private const double Place = 200.3;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(1)]
    [InlineData(-1)]
    public void At_EvenPenumbraInLogarithmicPixels_IsFound(int sign)
    {
        PenumbraFit fit = Read(sign);
        var start = new PenumbraPlace(0, 1.2 * Width, 0);

        PenumbraPlace place = fit.At(Scale, start);

        // The search ends at steps of 0.02 of the width it began with, of shoulder and foot each.
        double step = 0.02 * start.Width;
        Assert.Equal(Place - 200, place.Place, step);
        Assert.Equal(Width, place.Width, 2 * step);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.4)]
    [InlineData(2.5)]
    public void At_AnotherScale_FitsWorse(double ratio)
    {
        PenumbraFit fit = Read(1);
        var start = new PenumbraPlace(0, 1.2 * Width, 0);

        Assert.True(fit.At(ratio * Scale, start).Misfit > 2 * fit.At(Scale, start).Misfit);
    }

    [Fact]
    public void Read_LineOffTheImage_GivesNone()
        => Assert.Null(PenumbraFit.Read(Edge(1).AsReadOnly(), new SideLine(1, 0, 900, 10, 290), 52, 1));

    private static PenumbraFit Read(int sign)
    {
        PenumbraFit? fit = PenumbraFit.Read(Edge(sign).AsReadOnly(), new SideLine(1, 0, 200, 10, 290), 52, sign);
        Assert.NotNull(fit);
        return fit;
    }

    // I(u) = R(u) + 0.05 with R falling evenly from 1 to 0 over the width; the pixel is b·ln(I), rounded to whole steps.
    private static Raster<ushort> Edge(int sign)
    {
        var pixels = new Raster<ushort>(300, 400);
        for (int row = 0; row < pixels.Rows; row++)
        {
            for (int column = 0; column < pixels.Columns; column++)
            {
                double intensity = Math.Clamp(0.5 - ((column - Place) / Width), 0, 1) + 0.05;
                pixels[row, column] = (ushort)Math.Round(32_000 + (sign * Scale * Math.Log(intensity)));
            }
        }

        return pixels;
    }
}
