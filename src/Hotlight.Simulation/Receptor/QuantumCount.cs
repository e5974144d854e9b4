using Hotlight.Core;
using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Receptor;

/// <summary>Counts quanta in the elements.</summary>
internal static class QuantumCount
{
    /// <summary>Mean from which a normal number stands for the Poisson count. Its skewness, 1/√mean, is below 0.15 there; mean and variance are exact.</summary>
    public const double NormalFrom = 50;

    /// <summary>Noisy signal, a new block: a Poisson count over the quanta of one unit of signal.</summary>
    /// <param name="mean">Mean signal of each element; below 0 counts as 0.</param>
    /// <param name="quantaPerUnit">Quanta for one unit of signal, above 0.</param>
    /// <param name="seed">The same seed gives the same bytes, on any number of threads: each row has its own generator.</param>
    public static Raster<float> Counted(Raster<float> mean, double quantaPerUnit, ulong seed)
    {
        Raster<float> counted = new(mean.Rows, mean.Columns);
        float perUnit = (float)quantaPerUnit;
        Parallel.For(0, mean.Rows, row =>
        {
            SplitMix random = SplitMix.ForRow(seed, row);
            ReadOnlySpan<float> from = mean.Row(row);
            Span<float> to = counted.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = Drawn(from[column] * perUnit, ref random) / perUnit;
            }
        });
        return counted;
    }

    /// <summary>Noisy signal, a new block, with quanta that differ from element to element.</summary>
    /// <param name="mean">Mean signal of each element; below 0 counts as 0.</param>
    /// <param name="quantaPerUnit">Quanta of each element for one unit of its signal, same size, above 0.</param>
    /// <param name="seed">The same seed gives the same bytes, on any number of threads.</param>
    /// <exception cref="ArgumentException">The sizes differ.</exception>
    public static Raster<float> Counted(Raster<float> mean, Raster<float> quantaPerUnit, ulong seed)
    {
        if (quantaPerUnit.Rows != mean.Rows || quantaPerUnit.Columns != mean.Columns)
        {
            throw new ArgumentException($"The quanta have {quantaPerUnit.Rows} rows of {quantaPerUnit.Columns}; the signal has {mean.Rows} of {mean.Columns}.", nameof(quantaPerUnit));
        }

        Raster<float> counted = new(mean.Rows, mean.Columns);
        Parallel.For(0, mean.Rows, row =>
        {
            SplitMix random = SplitMix.ForRow(seed, row);
            ReadOnlySpan<float> from = mean.Row(row);
            ReadOnlySpan<float> perUnit = quantaPerUnit.Row(row);
            Span<float> to = counted.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = Drawn(from[column] * perUnit[column], ref random) / perUnit[column];
            }
        });
        return counted;
    }

    private static float Drawn(float mean, ref SplitMix random)
        => mean >= (float)NormalFrom ? MathF.Max(0, mean + (MathF.Sqrt(mean) * (float)random.NextGaussian())) : Exact(mean, ref random);

    // Multiplication of uniform numbers (Knuth): exact, its time grows with the mean.
    private static float Exact(float mean, ref SplitMix random)
    {
        if (!(mean > 0))
        {
            return 0;
        }

        double limit = Math.Exp(-mean);
        double product = random.NextUniform();
        int count = 0;
        while (product > limit)
        {
            product *= random.NextUniform();
            count++;
        }

        return count;
    }
}
