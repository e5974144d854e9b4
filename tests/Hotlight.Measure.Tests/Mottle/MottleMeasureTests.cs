using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Mottle;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Tests.Document;

namespace Hotlight.Measure.Tests.Mottle;

public class MottleMeasureTests
{
    // The goal for a single image is 10 %: the statistical part is below 1 % (of the order of 96 squares of 64 × 64 pixels),
    // the rest is what the model may leave.
    private const double Goal = 0.10;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.0, 0.0)]
    [InlineData(0.7, 0.0)]
    [InlineData(1.0, 0.0)]
    [InlineData(1.5, 0.0)]
    [InlineData(2.0, 0.0)]
    [InlineData(0.0, 1.0)]
    [InlineData(0.7, 1.0)]
    [InlineData(1.0, 1.0)]
    [InlineData(1.5, 1.0)]
    [InlineData(0.0, 3.0)]
    [InlineData(0.7, 3.0)]
    [InlineData(1.0, 3.0)]
    public void RelativeNoise_CorrelatedNoiseUnderTexture_IsTheDrawnDeviation(double blurPixels, double textureOverNoise)
    {
        // Closed form: white noise through a normalised Gaussian, rescaled by the root of the kernel's sum of squares, has deviation 160 exactly; 160 / 8000 = 2 %.
        const int Side = 768;
        var noise = new NoiseField(seed: 11);
        double[,] field = noise.Correlated(Side, Side, blurPixels);
        double[,] texture = noise.Texture(Side, Side);
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 16, (row, column) => 8000 + (160 * field[row, column]) + (160 * textureOverNoise * texture[row, column]));

        MottleMeasurement mottle = Measured(radiograph);

        Assert.InRange(mottle.RelativeNoisePercent, 2 * (1 - Goal), 2 * (1 + Goal));
        Assert.InRange(mottle.SignalToNoise, 50 / (1 + Goal), 50 / (1 - Goal));
        Assert.Equal("linear signal", mottle.Scale);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.7, 0.0)]
    [InlineData(1.0, 0.0)]
    [InlineData(2.0, 0.0)]
    [InlineData(0.7, 1.0)]
    [InlineData(1.0, 1.0)]
    public void RelativeNoise_EightBits_IsTheDrawnDeviationWithoutRounding(double deviation, double blurPixels)
    {
        const int Side = 512;
        var noise = new NoiseField(seed: 5);
        double[,] field = noise.Correlated(Side, Side, blurPixels);
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 8, (row, column) => 120 + (10 * Math.Sin(column / 80.0)) + (deviation * field[row, column])) with
        {
            PresentationIntent = PresentationIntent.Unknown,
            Relationship = PixelRelationship.Unknown,
        };

        MottleMeasurement mottle = Measured(radiograph);

        Assert.InRange(mottle.RelativeNoisePercent / (100 * deviation / 120), 1 - Goal, 1 + Goal);
        Assert.Equal("pixel values", mottle.Scale);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(100, 10.0)]
    [InlineData(2500, 2.0)]
    [InlineData(10000, 1.0)]
    public void RelativeNoise_PoissonCounts_IsOneOverTheRootOfTheCount(double quanta, double expectedPercent)
    {
        const int Side = 512;
        var noise = new NoiseField(seed: 3);
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 15, (_, _) => noise.Poisson(quanta));

        double measured = Measured(radiograph).RelativeNoisePercent;

        // 32 squares and more of 4096 pixels: 1 / √(2 · 131,072) = 0.2 % statistically; half the goal is left to the model, as there is no structure.
        Assert.InRange(measured / expectedPercent, 1 - (Goal / 2), 1 + (Goal / 2));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void RelativeNoise_LogarithmicPixelsWithCalibration_IsThatOfTheKerma()
    {
        // Modality value = 500 + 1000 · log10(K); the deviation of K is 3 %, so that of the pixel is 1000 · 0.03 / ln 10 = 13.0 values.
        const int Side = 512;
        var noise = new NoiseField(seed: 8);
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 12, (_, _) => 500 + (1000 * Math.Log10(5 * (1 + (0.03 * noise.Gaussian()))))) with { Relationship = PixelRelationship.Logarithmic };
        var options = new MeasureOptions { Calibration = new Calibration { Relationship = PixelRelationship.Logarithmic, Gain = 1000, Offset = 500 } };

        MottleMeasurement mottle = MottleMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), options).Value!;

        Assert.InRange(mottle.RelativeNoisePercent, 3 * (1 - (Goal / 2)), 3 * (1 + (Goal / 2)));
        Assert.Equal("linear signal", mottle.Scale);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void RelativeNoise_BoneAndEdgesBesideSoftTissue_DoNotCount()
    {
        const int Side = 768;
        var noise = new NoiseField(seed: 2);
        double[,] field = noise.Correlated(Side, Side, 0.7);
        bool IsBone(int row, int column) => column / 96 % 2 == 1 && row > 300;
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 16, (row, column) => (IsBone(row, column) ? 3000 : 8000) + (160 * field[row, column]));
        RadiographRegions regions = HandDrawn.Regions(radiograph, (row, column) => IsBone(row, column) ? RegionLabel.Bone : RegionLabel.SoftTissue);

        MottleMeasurement mottle = MottleMeasure.Measure(radiograph, regions, new MeasureOptions()).Value!;

        Assert.InRange(mottle.RelativeNoisePercent, 2 * (1 - Goal), 2 * (1 + Goal));
        Assert.All(mottle.Places, place => Assert.False(IsBone((int)place.Y, (int)place.X)));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void RelativeNoise_LimbWhoseBonesNobodyTold_IsThatOfTheTissueWithoutBone()
    {
        // Quanta: variance = 3 · signal. Direct exposure 20000, tissue 6000, tissue and bone 2000: √(3 / 6000) = 2.236 %; √(3 / 2000) = 3.87 % under the bone.
        const int Side = 1024;
        var noise = new NoiseField(seed: 21);
        double[,] field = noise.Correlated(Side, Side, 0.8);
        static double Signal(int column) => column < 256 ? 20000 : column is >= 512 and < 768 ? 2000 : 6000;
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 16, (row, column) => Signal(column) + (Math.Sqrt(3 * Signal(column)) * field[row, column]));
        RadiographRegions regions = HandDrawn.Regions(radiograph, (_, column) => column < 256 ? RegionLabel.Direct : RegionLabel.SoftTissue) with { DirectPixelValue = 20000 };

        MottleMeasurement mottle = MottleMeasure.Measure(radiograph, regions, new MeasureOptions()).Value!;

        Assert.Equal("soft tissue by its signal", mottle.Over);
        Assert.InRange(mottle.RelativeNoisePercent / (100 * Math.Sqrt(3 / 6000.0)), 1 - (Goal / 2), 1 + (Goal / 2));

        // Counted quanta: variance in proportion to the signal. The median over some 100 squares of a level, each known to 3 %, over a factor of 3 in signal: 0.03 / √100 / ln 3 = 0.003; ten of these.
        Assert.Equal(1, mottle.VarianceExponent!.Value, 0.03);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void IdealReceptorKerma_EveryPhotonCounted_IsTheKerma()
    {
        // 30174 photons per mm² and µGy (RQA5, IEC 62220-1), pixels of 0.04 mm², 2.5 µGy: 3017.4 counts; one count is 10 values.
        const int Side = 640;
        double quanta = 30174 * 0.04 * 2.5;
        var noise = new NoiseField(seed: 22);
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 16, (_, _) => 10 * noise.Poisson(quanta));
        var options = new MeasureOptions { Calibration = new Calibration { Relationship = PixelRelationship.Linear, Gain = 10 * quanta / 2.5 } };

        MottleMeasurement mottle = MottleMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), options).Value!;

        Assert.InRange(mottle.IdealReceptorKermaMicrogray!.Value / 2.5, 1 - Goal, 1 + Goal);
        Assert.InRange(mottle.QuantumLimitPercent!.Value / (100 / Math.Sqrt(quanta)), 1 - Goal, 1 + Goal);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void IdealReceptorKerma_NoiseThroughABlur_IsNotFlatteredByIt()
    {
        // White noise of variance v has the power v at every frequency; a normalised blur leaves it at frequency 0. Drawn: the blurred field rescaled to deviation 1, so v = 4π·0.8² there (closed form of a Gaussian's sum of squares, 1 / (4πσ²)).
        const int Side = 640;
        var noise = new NoiseField(seed: 23);
        double[,] field = noise.Correlated(Side, Side, 0.8);
        Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 16, (row, column) => 8000 + (80 * field[row, column]));

        double ideal = Measured(radiograph).IdealReceptorKermaMicrogray!.Value;

        double expected = 1 / (30174 * 0.04 * 1e-4 * 4 * Math.PI * 0.64);
        Assert.InRange(ideal / expected, 1 - (2 * Goal), 1 + (2 * Goal));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void RelativeNoise_TurnedAndMirrored_StaysTheSame()
    {
        const int Side = 512;
        var noise = new NoiseField(seed: 24);
        double[,] field = noise.Correlated(Side, Side, 0.8);
        double[,] texture = noise.Texture(Side, Side);
        double Value(int row, int column) => 8000 + (3 * column) + (160 * field[row, column]) + (160 * texture[row, column]);
        double straight = Measured(HandDrawn.Radiograph(Side, Side, 16, Value)).RelativeNoisePercent;
        double turned = Measured(HandDrawn.Radiograph(Side, Side, 16, (row, column) => Value(Side - 1 - column, row))).RelativeNoisePercent;
        double mirrored = Measured(HandDrawn.Radiograph(Side, Side, 16, (row, column) => Value(row, Side - 1 - column))).RelativeNoisePercent;

        // The same squares; the windows' sums round differently.
        Assert.Equal(straight, turned, 0.002 * straight);
        Assert.Equal(straight, mirrored, 0.002 * straight);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void RelativeNoise_FewDeadElements_DoNotCount()
    {
        const int Side = 512;
        var noise = new NoiseField(seed: 25);
        double[,] field = noise.Correlated(Side, Side, 0.8);
        Radiograph whole = HandDrawn.Radiograph(Side, Side, 16, (row, column) => 8000 + (160 * field[row, column]));
        Radiograph dead = HandDrawn.Radiograph(Side, Side, 16, (row, column) => ((row * 31) + (column * 17)) % 1009 == 0 ? 0 : 8000 + (160 * field[row, column]));

        // One element in 1009 at 0 would add 8000² / 1009 to a variance of 160²: three times it and more.
        Assert.Equal(Measured(whole).RelativeNoisePercent, Measured(dead).RelativeNoisePercent, 0.02 * 2);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void NoiseRelation_PowerOfTheSignalWithOutliers_IsFound()
    {
        // variance = 2 · S^0.9, so variance / signal has the slope −0.1. A fifth of the squares keep structure and read three times too much.
        double[] signals = [.. Enumerable.Range(0, 60).Select(at => 10 * Math.Pow(100, at / 59.0))];
        double[] variances = [.. signals.Select((signal, at) => 2 * Math.Pow(signal, 0.9) * (at % 5 == 2 ? 3 : 1))];

        NoiseRelation relation = NoiseRelation.Fit(signals, variances);

        // Least absolute deviations leave a bias of the order of the residual taken as statistical (0.05) times the share of outliers.
        Assert.Equal(-0.1, relation.Slope, 0.01);
        Assert.Equal(1, relation.VarianceAt(100) / (2 * Math.Pow(100, 0.9)), 0.05 * 0.4);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Uncertainty_TwelveSeeds_HoldsTheTruthAsOftenAsADeviationShould()
    {
        const int Side = 400;
        int within = 0;
        for (int seed = 1; seed <= 12; seed++)
        {
            var noise = new NoiseField(seed);
            double[,] field = noise.Correlated(Side, Side, 0.8);
            double[,] texture = noise.Texture(Side, Side);
            Radiograph radiograph = HandDrawn.Radiograph(Side, Side, 16, (row, column) => 5000 + (100 * field[row, column]) + (150 * texture[row, column]));
            MottleMeasurement mottle = Measured(radiograph);
            within += Math.Abs(mottle.RelativeNoisePercent - 2) <= 2 * mottle.RelativeNoisePercentUncertainty!.Value ? 1 : 0;
        }

        // Two deviations hold 95 %: of 12, fewer than 9 would be seen once in 5,000 times (binomial).
        Assert.InRange(within, 9, 12);
    }

    [Fact]
    [Trait("evidence", "published")]
    public void OfFullRange_DiagnosticDisplay_IsThatOfTheStandardFunction()
    {
        // PS3.14: j(1) = 71.498 and j(350) = 653.115, both printed to 0.001.
        Assert.Equal(71.498, JustNoticeableDifference.IndexOf(1), 0.0006);
        Assert.Equal(653.115, JustNoticeableDifference.IndexOf(350), 0.0006);
        Assert.Equal(653.115 - 71.498, JustNoticeableDifference.OfFullRange, 0.0011);

        // PS3.14 annex D.2: j = 233.32 for 12 cd/m².
        Assert.Equal(233.32, JustNoticeableDifference.IndexOf(12), 0.006);
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(4.0, true)]
    [InlineData(1.0, false)]
    public void Visible_WhiteNoiseThroughAWindow_FollowsTheRule(double deviationPercentOfWindow, bool expected)
    {
        // 1000 rows: cells of 4 × 4 pixels, which leave a quarter of white noise. 581.6 JND over the window:
        // 4 % → 4 % · 581.6 / 4 = 5.8 JND; 1 % would be 1.45 JND, so the window is made four times as wide: 0.36 JND.
        const int Rows = 1000;
        var noise = new NoiseField(seed: 4);
        double width = expected ? 4000 : 16000;
        Radiograph radiograph = HandDrawn.Radiograph(Rows, 512, 16, (row, column) => 20000 + (6000.0 * column / 512) + (deviationPercentOfWindow / 100 * 4000 * noise.Gaussian())) with
        {
            Windows = [new VoiTransform { Center = 23000, Width = expected ? 4000 : 16000 }],
        };
        double shown = deviationPercentOfWindow * 40 / width * (653.115 - 71.498) / 4;

        MottleMeasurement mottle = Measured(radiograph);

        Assert.Equal(expected, mottle.Visible);
        Assert.Equal(shown >= 2, expected);
        if (!expected)
        {
            // Where the window clips nothing the rule's figure is met as closely as the noise itself.
            Assert.InRange(mottle.ShownNoiseJnd!.Value / shown, 1 - Goal, 1 + Goal);
        }
    }

    [Theory]
    [InlineData(0.15)]
    [InlineData(0.3)]
    public void Measure_NoiseBelowTheGreySteps_CannotTell(double deviation)
    {
        var noise = new NoiseField(seed: 6);
        Radiograph radiograph = HandDrawn.Radiograph(512, 512, 8, (_, column) => 100 + (20 * Math.Sin(column / 60.0)) + (deviation * noise.Gaussian()));

        Figure<MottleMeasurement> mottle = MottleMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions());

        Assert.Contains("grey steps", mottle.Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_SixteenBitsMadeFromEight_CannotTellWhereTheStepsAreCoarser()
    {
        var noise = new NoiseField(seed: 6);
        Radiograph radiograph = HandDrawn.Radiograph(512, 512, 16, (_, column) => 257 * Math.Round(100 + (20 * Math.Sin(column / 60.0)) + (0.3 * noise.Gaussian())));

        Assert.Contains("grey steps", MottleMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_LossyPixels_CannotTell()
    {
        var noise = new NoiseField(seed: 6);
        Radiograph radiograph = HandDrawn.Radiograph(512, 512, 12, (_, _) => 1000 + (20 * noise.Gaussian()));

        foreach (Radiograph lossy in new[] { radiograph with { LossyCompressed = true }, radiograph with { Source = ImageSource.Jpeg } })
        {
            Assert.Contains("compressed with loss", MottleMeasure.Measure(lossy, HandDrawn.AllSoftTissue(lossy), new MeasureOptions()).Why, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Measure_BlocksOfEightPixels_CannotTell()
    {
        // Each 8 × 8 block has its own mean and little noise inside it, as after strong JPEG compression.
        var noise = new NoiseField(seed: 6);
        var means = new double[64, 64];
        for (int row = 0; row < 64; row++)
        {
            for (int column = 0; column < 64; column++)
            {
                means[row, column] = 3 * noise.Gaussian();
            }
        }

        Radiograph radiograph = HandDrawn.Radiograph(512, 512, 12, (row, column) => 1000 + means[row / 8, column / 8] + (2 * noise.Gaussian())) with { Source = ImageSource.Png };

        Assert.Contains("8-pixel blocks", MottleMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions()).Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_TooLittleSoftTissue_CannotTell()
    {
        var noise = new NoiseField(seed: 6);
        Radiograph radiograph = HandDrawn.Radiograph(512, 512, 12, (_, _) => 1000 + (20 * noise.Gaussian()));
        RadiographRegions regions = HandDrawn.Regions(radiograph, (row, column) => row < 100 && column < 100 ? RegionLabel.SoftTissue : RegionLabel.Bone);

        Assert.Contains("soft tissue", MottleMeasure.Measure(radiograph, regions, new MeasureOptions()).Why, StringComparison.Ordinal);
        Assert.Contains("anatomy", MottleMeasure.Measure(radiograph, HandDrawn.NothingFound(radiograph), new MeasureOptions()).Why, StringComparison.Ordinal);
    }

    private static MottleMeasurement Measured(Radiograph radiograph)
    {
        Figure<MottleMeasurement> mottle = MottleMeasure.Measure(radiograph, HandDrawn.AllSoftTissue(radiograph), new MeasureOptions());
        Assert.True(mottle.IsMeasured, mottle.Why);
        return mottle.Value;
    }
}
