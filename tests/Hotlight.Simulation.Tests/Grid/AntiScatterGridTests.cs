using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Grid;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Scatter;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Tests.Grid;

public sealed class AntiScatterGridTests
{
    private const double SidMm = 1000;

    // Strips that let nothing through, nothing between: the closed forms of the handbooks.
    private static readonly AntiScatterGrid Opaque = new()
    {
        Ratio = 8,
        LinesPerCm = 40,
        StripMm = 0.05,
        FocalDistanceMm = SidMm,
        Strip = Material.Lead.WithDensity(1e5),
        Interspace = Material.Air,
        Covers = [],
        Moving = true,
    };

    [Fact]
    [Trait("evidence", "analytic")]
    public void Primary_InFocus_IsTheOpenShareEverywhere()
    {
        // (0.25 − 0.05)/0.25 mm = 0.8; 120 places a period, and air over 1.6 mm: 1e-3.
        GridTransmission through = Opaque.In(Beam, Geometry());
        Assert.Equal(0.8, through.PrimaryAt(0, 0), 1e-3);
        Assert.Equal(0.8, through.PrimaryAt(140, 100), 1e-3);
    }

    [Theory]
    [Trait("evidence", "published")]

    // Loss of primary radiation by the handbooks' rule r·b/f: 8:1, focus 1000 mm, off centre by 10, 20, 50 mm: 8, 16, 40 %.
    // The strips' shadow is met at 120 places a period: half of one, 0.0042.
    [InlineData(10, 0.08)]
    [InlineData(20, 0.16)]
    [InlineData(50, 0.40)]
    public void Primary_OffCentre_LosesTheSameEverywhere(double offMm, double loss)
    {
        GridTransmission through = (Opaque with { CentreMm = offMm }).In(Beam, Geometry());
        Assert.Equal(0.8 * (1 - loss), through.PrimaryAt(0, 0), 0.0042);
        Assert.Equal(0.8 * (1 - loss), through.PrimaryAt(-120, 50), 0.0042);
    }

    [Theory]
    [Trait("evidence", "published")]

    // Off focus: r·c·|1/f − 1/SID| at c = 100 mm. Focus 1500 at 1000 mm: 8·100·(0.001 − 0.000667) = 26.7 %; focus 800: 20 %; parallel strips: 80 %.
    [InlineData(1500, 0.2667)]
    [InlineData(800, 0.2)]
    [InlineData(double.PositiveInfinity, 0.8)]
    public void Primary_OffFocus_LosesTowardsBothSides(double focusMm, double loss)
    {
        GridTransmission through = (Opaque with { FocalDistanceMm = focusMm }).In(Beam, Geometry());
        Assert.Equal(0.8, through.PrimaryAt(0, 0), 1e-3);
        Assert.Equal(0.8 * (1 - loss), through.PrimaryAt(100, 0), 0.0042);
        Assert.Equal(0.8 * (1 - loss), through.PrimaryAt(-100, 0), 0.0042);
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Primary_UpsideDown_IsLeftInTheMiddleOnly()
    {
        // 2·r·c/f: at 30 mm 48 %, at 62.5 mm and beyond everything.
        GridTransmission through = (Opaque with { UpsideDown = true }).In(Beam, Geometry());
        Assert.Equal(0.8, through.PrimaryAt(0, 0), 1e-3);
        Assert.Equal(0.8 * 0.52, through.PrimaryAt(30, 0), 0.0042);
        Assert.Equal(0, through.PrimaryAt(70, 0), 1e-6);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Primary_Tilted_LosesRatioTimesTheTangent()
        => Assert.Equal(0.8 * (1 - (8 * Math.Tan(3 * Math.PI / 180))), (Opaque with { TiltDegrees = 3 }).In(Beam, Geometry()).PrimaryAt(0, 0), 0.0042);

    [Fact]
    [Trait("evidence", "invariant")]
    public void Primary_StripsAlongRows_CutOffDownTheImage()
    {
        GridTransmission through = (Opaque with { OrientationDegrees = 90, FocalDistanceMm = 1500 }).In(Beam, Geometry());
        Assert.Equal(0.8, through.PrimaryAt(100, 0), 1e-3);
        Assert.Equal(0.8 * (1 - 0.2667), through.PrimaryAt(0, 100), 0.0042);
    }

    [Theory]
    [Trait("evidence", "published")]

    // Grid conversion factors of open study pages, whole numbers, with a second author's value for 10:1 that is 1 lower: tolerance 1.
    // Conditions: 100 kV, 200 mm of water, field 300 × 300 mm, lead 0.05 mm, aluminium between, 40 lines per cm.
    [InlineData(5, 2)]
    [InlineData(6, 3)]
    [InlineData(8, 4)]
    [InlineData(10, 4.5)]
    [InlineData(12, 5)]
    [InlineData(16, 6)]
    public void BuckyFactor_OfTheUsualRatios_IsTheGridConversionFactor(double ratio, double factor)
    {
        XRayTube tube = new();
        double scatter = ScatterKernel.Of(tube.Spectrum(100).Binned(), 0).RatioAtCentre(200, 300 / Math.Sqrt(Math.PI));
        GridTransmission through = new AntiScatterGrid { Ratio = ratio }.In(tube.Spectrum(100).Behind(new FilterLayer(Material.Water, 200)).Binned(), Geometry());
        Assert.Equal(factor, through.BuckyFactor(scatter), 1.0);
        Assert.InRange(through.AlignedPrimaryTransmission, 0.55, 0.8);
        Assert.True(through.Selectivity > 1 && through.ContrastImprovementFactor(scatter) > 1);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Factors_OfBuckyAndContrast_AreTheirDefinitions()
    {
        // IEC 60627: B = 1/Tt with Tt = (P·Tp + S·Ts)/(P + S), K = Tp/Tt, Σ = Tp/Ts.
        GridTransmission through = new AntiScatterGrid().In(Beam, Geometry());
        double total = (through.AlignedPrimaryTransmission + (3 * through.ScatterTransmission)) / 4;
        Assert.Equal(1 / total, through.BuckyFactor(3), 1e-9);
        Assert.Equal(through.AlignedPrimaryTransmission / total, through.ContrastImprovementFactor(3), 1e-9);
        Assert.Equal(through.AlignedPrimaryTransmission / through.ScatterTransmission, through.Selectivity, 1e-9);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Lines_OfAGridThatStands_ShowAtTheFoldedFrequency()
    {
        // 40 lines per cm, 10 mm before the receptor at 1000 mm: 4·0.99 = 3.96 mm⁻¹; sampled each 0.15 mm (6.667 mm⁻¹): 6.667 − 3.96 = 2.707 mm⁻¹.
        BeamGeometry geometry = new(4, 800, 0.15, SidMm);
        AntiScatterGrid grid = Opaque with { Moving = false };
        GridTransmission through = grid.In(Beam, geometry);
        Assert.Equal(3.96, through.LineFrequencyPerMm, 1e-9);
        Assert.Equal(2.7067, through.AliasedLineFrequencyPerMm(0.15), 1e-4);
        Raster<float> primary = through.Primary();
        double Power(double frequency)
        {
            double re = 0;
            double im = 0;
            for (int column = 0; column < 800; column++)
            {
                (double sin, double cos) = Math.SinCos(2 * Math.PI * frequency * column * 0.15);
                re += (primary[2, column] - 0.8) * cos;
                im += (primary[2, column] - 0.8) * sin;
            }

            return Math.Sqrt((re * re) + (im * im)) * 2 / 800;
        }

        // Amplitude of the first order: 2·(d/p)·sinc(d/p)·sinc(a·f), d/p = 0.2, a·f = 0.15·3.96 = 0.594; straight lines between 16 places a pixel: 1 %.
        static double Sinc(double x) => Math.Sin(Math.PI * x) / (Math.PI * x);
        double amplitude = 2 * 0.2 * Sinc(0.2) * Sinc(0.594);
        Assert.Equal(amplitude, Power(2.70667), 0.02 * amplitude);
        Assert.True(Power(2.2) < 0.05 * amplitude);
        Assert.All((grid with { Moving = true }).In(Beam, geometry).Primary().Samples.ToArray(), value => Assert.Equal(0.8f, value, 2e-3f));
    }

    [Fact]
    public void In_AStripAsWideAsItsPeriod_IsRefused()
        => Assert.Throws<ArgumentOutOfRangeException>(() => (Opaque with { StripMm = 0.25 }).In(Beam, Geometry()));

    private static BeamEnergies Beam => new([60], [1]);

    private static BeamGeometry Geometry() => new(400, 400, 0.75, SidMm);
}
