namespace Hotlight.Simulation.Projection;

/// <summary>The splitmix64 generator (Steele, Lea and Flood 2014): small, seeded, the same on every machine.</summary>
internal struct SplitMix
{
    private ulong state;
    private double spare;
    private bool hasSpare;

    public SplitMix(ulong seed) => state = seed;

    /// <summary>A generator for one row, independent of the order in which rows are drawn.</summary>
    public static SplitMix ForRow(ulong seed, int row) => new(Scramble(seed + (0x9E3779B97F4A7C15UL * (ulong)(row + 1))));

    public ulong Next()
    {
        state += 0x9E3779B97F4A7C15UL;
        return Scramble(state);
    }

    /// <summary>Uniform in (0, 1).</summary>
    public double NextUniform() => ((Next() >> 11) + 0.5) * (1.0 / (1UL << 53));

    /// <summary>Standard normal, by the polar method of Marsaglia.</summary>
    public double NextGaussian()
    {
        if (hasSpare)
        {
            hasSpare = false;
            return spare;
        }

        double u;
        double v;
        double s;
        do
        {
            u = (2 * NextUniform()) - 1;
            v = (2 * NextUniform()) - 1;
            s = (u * u) + (v * v);
        }
        while (s >= 1 || s == 0);

        double scale = Math.Sqrt(-2 * Math.Log(s) / s);
        spare = v * scale;
        hasSpare = true;
        return u * scale;
    }

    /// <summary>A Poisson count: by multiplication (Knuth) below 24, above it a normal of the same mean and variance, whose skewness is up to 0.2 too small.</summary>
    public double NextPoisson(double mean)
    {
        if (mean <= 0)
        {
            return 0;
        }

        if (mean >= 24)
        {
            return Math.Max(0, mean + (Math.Sqrt(mean) * NextGaussian()));
        }

        double limit = Math.Exp(-mean);
        double product = NextUniform();
        int count = 0;
        while (product > limit)
        {
            product *= NextUniform();
            count++;
        }

        return count;
    }

    private static ulong Scramble(ulong value)
    {
        value = (value ^ (value >> 30)) * 0xBF58476D1CE4E5B9UL;
        value = (value ^ (value >> 27)) * 0x94D049BB133111EBUL;
        return value ^ (value >> 31);
    }
}
