namespace Hotlight.Accuracy.Elsewhere;

/// <summary>Independent normal values for one row of one layer of noise.</summary>
/// <remarks>
/// <para>Not <see cref="Random"/> with a seed a row: the values of the framework's seeded generator are linear in the seed (modulo 2³¹ − 1), so that over rows with evenly spaced seeds the values of one column run evenly through the unit interval and, at a few columns, hardly move at all. The mean of such a column lies up to ten standard deviations off: a column of the receptor that answers otherwise, at the same place in every exposure.</para>
/// <para>Method: SplitMix64 (Steele, Lea, Flood, Proc OOPSLA 2014:453, constants of its published code), whose state is itself mixed from seed and row; normal values in pairs by Box and Muller (Ann Math Stat 1958;29:610).</para>
/// </remarks>
internal struct NoiseStream
{
    private ulong state;
    private double spare;
    private bool hasSpare;

    /// <summary>The stream of a row.</summary>
    /// <param name="seed">Seed of the layer.</param>
    /// <param name="row">The row.</param>
    public NoiseStream(int seed, int row)
    {
        state = Mix(Mix((uint)seed) + (uint)row);
    }

    /// <summary>The next value of a normal distribution of mean 0 and deviation 1.</summary>
    public double Next()
    {
        if (hasSpare)
        {
            hasSpare = false;
            return spare;
        }

        double radius = Math.Sqrt(-2 * Math.Log(1 - Uniform()));
        (double sine, double cosine) = Math.SinCos(2 * Math.PI * Uniform());
        spare = radius * sine;
        hasSpare = true;
        return radius * cosine;
    }

    // 53 bits, from 0 up to, not including, 1.
    private double Uniform()
    {
        state += 0x9E3779B97F4A7C15;
        return (Mix(state) >> 11) * (1.0 / (1UL << 53));
    }

    private static ulong Mix(ulong word)
    {
        word = (word ^ (word >> 30)) * 0xBF58476D1CE4E5B9;
        word = (word ^ (word >> 27)) * 0x94D049BB133111EB;
        return word ^ (word >> 31);
    }
}
