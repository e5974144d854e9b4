using Hotlight.Core;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Receptor;

namespace Hotlight.Simulation.Tests.Receptor;

public sealed class ReceptorNoiseTests
{
    private const int Side = 300;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0.02)]
    [InlineData(1)]
    [InlineData(25)]
    public void Read_WithoutBlur_VarianceOfTheCountIsItsMean(double kermaMicrogray)
    {
        ReceptorNoise receptor = new(0.16, 0, 0.55, 0);
        double quanta = receptor.QuantaPerMicrogray;
        (double mean, double variance) = Moments(receptor.Read(Flat(kermaMicrogray), 11), quanta);
        double expected = kermaMicrogray * quanta;
        double n = Side * (double)Side;

        // Standard error of the mean √(N/n), of the variance N·√((2 + 1/N)/n); 4 of them.
        Assert.Equal(expected, mean, 4 * Math.Sqrt(expected / n));
        Assert.Equal(expected, variance, 4 * expected * Math.Sqrt((2 + (1 / expected)) / n));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_WithBlur_VarianceFallsByTheSumOfSquaredWeights()
    {
        const double Sigma = 0.11;
        const double Spacing = 0.16;
        ReceptorNoise receptor = new(Spacing, Sigma, 0.55, 0);
        double quanta = receptor.QuantaPerMicrogray;
        Raster<float> read = receptor.Read(Flat(4), 12);
        double along = GaussianBlur.Kernel(Sigma / Spacing).Sum(weight => (double)weight * weight);
        double expected = 4 * quanta * along * along;
        (_, double variance) = Moments(read, quanta);

        // Neighbours are correlated: the effective number of samples is n times the share (about 0.18); 4 standard errors of √(2/n_eff).
        double effective = Side * Side * along * along;
        Assert.Equal(expected, variance, 4 * expected * Math.Sqrt(2 / effective));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Read_ElectronicNoise_IsAddedWithItsStandardDeviation()
    {
        ReceptorNoise receptor = new(0.16, 0, 0.55, 0.03);
        (double mean, double variance) = Moments(receptor.Read(Flat(0), 13), 1);
        double n = Side * (double)Side;
        Assert.Equal(0, mean, 4 * 0.03 / Math.Sqrt(n));
        Assert.Equal(0.03, Math.Sqrt(variance), 4 * 0.03 / Math.Sqrt(2 * n));
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Read_SameSeed_SameSignal_OtherSeedAnother()
    {
        ReceptorNoise receptor = new(0.16, 0.1, 0.55, 0.01);
        Raster<float> first = receptor.Read(Flat(2), 5);
        Assert.True(first.Samples.SequenceEqual(receptor.Read(Flat(2), 5).Samples));
        Assert.False(first.Samples.SequenceEqual(receptor.Read(Flat(2), 6).Samples));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Blurred_Step_FollowsTheErrorFunction()
    {
        Raster<float> step = new(9, 80);
        for (int row = 0; row < 9; row++)
        {
            step.Row(row)[40..].Fill(1);
        }

        Raster<float> blurred = GaussianBlur.Blurred(step, 3);

        // The step lies at 39.5; Φ(1.5/3) and Φ(4.5/3) of tables: 0.69146, 0.93319. The kernel is sampled and cut: 1e-3.
        Assert.Equal(0.69146, blurred[4, 41], 1e-3);
        Assert.Equal(0.93319, blurred[4, 44], 1e-3);
    }

    [Theory]
    [Trait("evidence", "published")]

    // splitmix64 from state 1234567: the first values of the reference code's published test vector.
    [InlineData(0, 6457827717110365317UL)]
    [InlineData(1, 3203168211198807973UL)]
    [InlineData(2, 9817491932198370423UL)]
    public void Next_FromAKnownState_IsTheReferenceSequence(int skip, ulong expected)
    {
        SplitMix random = new(1234567);
        for (int k = 0; k < skip; k++)
        {
            random.Next();
        }

        Assert.Equal(expected, random.Next());
    }

    private static Raster<float> Flat(double kerma)
    {
        Raster<float> flat = new(Side, Side);
        flat.Samples.Fill((float)kerma);
        return flat;
    }

    private static (double Mean, double Variance) Moments(Raster<float> read, double scale)
    {
        double sum = 0;
        double squares = 0;
        foreach (float value in read.Samples)
        {
            sum += value * scale;
            squares += value * scale * value * scale;
        }

        double n = read.Samples.Length;
        return (sum / n, (squares / n) - (sum / n * (sum / n)));
    }
}
