using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Sharpness;
using Hotlight.Measure.Tests.Document;
using Hotlight.Measure.Tests.Mottle;

namespace Hotlight.Measure.Tests.Sharpness;

/// <summary>The edge of a rounded body: its function against closed forms, and shafts that round off against what they must not be taken for.</summary>
public sealed class RoundedEdgeTests
{
    /// <summary>∫₀^∞ u^(s−1)·e^(−u²/2) du = 2^(s/2 − 1)·Γ(s/2) gives R(0) with s = 3/2 and R'(0) with s = 1/2, Γ(3/4) = 1.2254167024, Γ(1/4) = 3.6256099082 (NIST DLMF 5.4, from memory).</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Both_AtTheContour_AreTheClosedForms()
    {
        (double value, double slope) = RoundedEdge.Both(0);
        Assert.Equal(Math.Pow(2, -0.25) * 1.2254167024 / Math.Sqrt(2 * Math.PI), value, 1e-4);
        Assert.Equal(0.5 * Math.Pow(2, -0.75) * 3.6256099082 / Math.Sqrt(2 * Math.PI), slope, 1e-4);
    }

    /// <summary>Far inside the blur moves nothing: √z·(1 − 1/(8·z²)), and the table goes over into it.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Both_FarInsideAndOutside_AreTheRootAndNothing()
    {
        Assert.Equal((0, 0), RoundedEdge.Both(-8));
        (double inside, double insideSlope) = RoundedEdge.Both(12.9);
        (double beyond, double beyondSlope) = RoundedEdge.Both(13.1);
        Assert.Equal(Math.Sqrt(12.9) * (1 - (1 / (8 * 12.9 * 12.9))), inside, 1e-4);
        Assert.Equal(beyond - inside, 0.2 * (insideSlope + beyondSlope) / 2, 1e-4);
    }

    /// <summary>Rods lie one way, sharp discs between them have contours in every direction: the rods are soft across themselves by their shape, and nothing moved.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Motion_RodsThatRoundOff_IsNotSeen()
    {
        SharpnessMeasurement sharpness = Of(Draw(sigmaMm: 0.2, withDiscs: true, wayMm: 0));
        Assert.NotEqual(MotionSign.Seen, sharpness.Motion);
        Assert.InRange(sharpness.EdgeBlurMm!.Value, 0.18, 0.22);
    }

    /// <summary>Rods alone, no edge that ends at once: a symmetric edge reads them half as wide again and more, the rounded one as blurred as they are within the stated deviation of a quarter.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void EdgeBlur_RodsAlone_IsTheBlurBeforeThem()
    {
        const double SigmaMm = 0.3;
        SharpnessMeasurement sharpness = Of(Draw(SigmaMm, withDiscs: false, wayMm: 0));
        Assert.InRange(SigmaMm, sharpness.EdgeBlurMm!.Value - sharpness.EdgeBlurMmUncertainty!.Value, sharpness.EdgeBlurMm!.Value + sharpness.EdgeBlurMmUncertainty!.Value);
        Assert.All(sharpness.Edges!, edge => Assert.True(edge.BlurMm > 1.3 * SigmaMm));
        Assert.Null(sharpness.Motion);
    }

    /// <summary>The same rods and discs after a way across the rods: never said to lie still.</summary>
    [Fact]
    [Trait("evidence", "analytic")]
    public void Motion_RodsAndDiscsThatMoved_IsNotSaidStill()
        => Assert.NotEqual(MotionSign.NotSeen, Of(Draw(sigmaMm: 0.2, withDiscs: true, wayMm: 1.5)).Motion);

    private static SharpnessMeasurement Of(Radiograph radiograph)
    {
        Figure<SharpnessMeasurement> figure = SharpnessMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions());
        Assert.True(figure.IsMeasured, figure.Why);
        return figure.Value;
    }

    /// <summary>Rods of 12 mm radius down the image every 40 mm, discs of 5 mm radius between them; the blur and the way are summed over the place.</summary>
    private static Radiograph Draw(double sigmaMm, bool withDiscs, double wayMm)
    {
        const int Side = 800;
        const double Spacing = 0.15, Pitch = 40, Radius = 12, DiscRadius = 5, Fine = 0.025;
        var random = new NoiseField(11);

        // Across the rods all is a function of x: their thickness on a fine grid, blurred by sums.
        int cells = (int)(Side * Spacing / Fine);
        var thickness = new double[cells];
        for (int k = 0; k < cells; k++)
        {
            double from = Math.Abs((((k * Fine) + (Pitch / 2)) % Pitch) - (Pitch / 2));
            thickness[k] = from < Radius ? 2 * Math.Sqrt((Radius * Radius) - (from * from)) : 0;
        }

        int reach = (int)(5 * sigmaMm / Fine);
        double[] weights = [.. Enumerable.Range(-reach, (2 * reach) + 1).Select(n => Math.Exp(-0.5 * Math.Pow(n * Fine / sigmaMm, 2)))];
        double total = weights.Sum();
        int places = wayMm > 0 ? 31 : 1;
        double Rods(double x)
        {
            double sum = 0;
            for (int n = -reach; n <= reach; n++)
            {
                sum += weights[n + reach] * thickness[Math.Clamp((int)Math.Round((x / Fine) + n), 0, cells - 1)];
            }

            return sum / total;
        }

        double Disc(double x, double y)
        {
            double offsetX = (x % Pitch) - (Pitch / 2), offsetY = (y % Pitch) - (Pitch / 2);
            return SharpPhantom.NormalShare((DiscRadius - Math.Sqrt((offsetX * offsetX) + (offsetY * offsetY))) / sigmaMm);
        }

        double Way(int place) => places == 1 ? 0 : wayMm * (((place + 0.5) / places) - 0.5);
        double[] rods = [.. Enumerable.Range(0, Side).Select(column => Enumerable.Range(0, places).Average(place => Rods((column * Spacing) + Way(place))))];
        return HandDrawn.Radiograph(Side, Side, 16, (row, column) =>
        {
            double disc = 0;
            for (int place = 0; withDiscs && place < places; place++)
            {
                disc += Disc((column * Spacing) + Way(place) + Pitch, row * Spacing) / places;
            }

            return 20_000 * Math.Exp((-0.02 * rods[column]) - (0.2 * disc)) * (1 + (0.003 * random.Gaussian()));
        }) with { ReceptorSpacing = new PixelSpacing(Spacing, Spacing) };
    }
}
