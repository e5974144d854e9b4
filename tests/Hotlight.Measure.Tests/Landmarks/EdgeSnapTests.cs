using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Landmarks;
using Hotlight.Measure.Tests.Document;
using Hotlight.Measure.Tests.Mottle;
using Hotlight.Measure.Tests.Sharpness;

namespace Hotlight.Measure.Tests.Landmarks;

/// <summary>Points on drawn edges whose place is known to a fraction of a pixel.</summary>
public sealed class EdgeSnapTests
{
    private const int Side = 120;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 0.8)]
    [InlineData(25, 1.5)]
    [InlineData(90, 1.5)]
    [InlineData(160, 3)]
    [InlineData(-60, 2)]
    public void Find_EdgeWithoutNoise_IsWithinAFiftiethOfAPixel(double degrees, double sigmaPixels)
    {
        EdgePoint edge = Found(Draw(degrees, sigmaPixels, 0.37, 0, null), 60.5, 58.5);
        Assert.InRange(Distance(edge.Point, degrees, 0.37), -0.02, 0.02);
        Assert.Equal(0, Math.IEEERemainder(edge.NormalDegrees - degrees, 360), 1.0);
        Assert.InRange(edge.BlurPixels / sigmaPixels, 0.95, 1.05);
    }

    /// <summary>120 edges in noise: errors over stated deviations have a root mean square of 1 within 5/√(2n) and the 30 % that interpolated noise may be stated too high or low; no bias beyond 5/√n.</summary>
    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(60)]
    [InlineData(200)]
    public void Uncertainty_EdgesInNoise_CoversTheErrors(double noise)
    {
        var random = new NoiseField(3);
        const int Count = 120;
        double sum = 0, squares = 0;
        for (int i = 0; i < Count; i++)
        {
            double degrees = i * 3, offset = (i % 10) / 10.0;
            EdgePoint edge = Found(Draw(degrees, 1.5, offset, noise, random), 60, 59);
            double share = Distance(edge.Point, degrees, offset) / edge.UncertaintyPixels;
            sum += share;
            squares += share * share;
            Assert.InRange(edge.ContrastToNoise / (2000 / noise), 0.5, 2);
        }

        Assert.InRange(sum / Count, -5 / Math.Sqrt(Count), 5 / Math.Sqrt(Count));
        Assert.InRange(Math.Sqrt(squares / Count), 0.5, 1.62);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Find_NoEdge_IsRefusedInOneSentence()
    {
        var random = new NoiseField(5);
        Radiograph flat = HandDrawn.Radiograph(Side, Side, 16, (_, _) => 8000);
        Radiograph slope = HandDrawn.Radiograph(Side, Side, 16, (_, column) => 8000 + (20 * column));
        Radiograph noisy = HandDrawn.Radiograph(Side, Side, 16, (_, _) => 8000 + (100 * random.Gaussian()));
        foreach (Radiograph radiograph in new[] { flat, slope, noisy })
        {
            Figure<EdgePoint> edge = EdgeSnap.Find(radiograph, new PixelPoint(X: 60, Y: 60), 10);
            Assert.False(edge.IsMeasured);
            Assert.Contains("no edge", edge.Why, StringComparison.Ordinal);
        }

        Assert.Contains("outside", EdgeSnap.Find(flat, new PixelPoint(X: -3, Y: 60), 10).Why, StringComparison.Ordinal);
        Assert.Contains("no edge", EdgeSnap.Find(Draw(0, 1.5, 0, 0, null), new PixelPoint(X: 30, Y: 60), 10).Why, StringComparison.Ordinal);
    }

    private static EdgePoint Found(Radiograph radiograph, double x, double y)
    {
        Figure<EdgePoint> edge = EdgeSnap.Find(radiograph, new PixelPoint(X: x, Y: y), 8);
        Assert.True(edge.IsMeasured, edge.Why);
        return edge.Value;
    }

    private static double Distance(PixelPoint point, double degrees, double offset)
    {
        (double sine, double cosine) = Math.SinCos(degrees * Math.PI / 180);
        return ((point.X - 60) * cosine) + ((point.Y - 60) * sine) - offset;
    }

    private static Radiograph Draw(double degrees, double sigmaPixels, double offset, double noise, NoiseField? random)
        => HandDrawn.Radiograph(Side, Side, 16, (row, column) =>
            8000 + (2000 * SharpPhantom.NormalShare(Distance(new PixelPoint(X: column, Y: row), degrees, offset) / sigmaPixels)) + (noise * (random?.Gaussian() ?? 0)));
}
