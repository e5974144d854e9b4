namespace Hotlight.Measure.Sharpness;

/// <summary>The normal distribution function: the edge-spread function of a Gaussian blur.</summary>
internal static class NormalDistribution
{
    private const double Limit = 6;
    private const int PerUnit = 256;
    private static readonly double[] Table = Build();
    private static readonly double[] Densities = [.. Enumerable.Range(0, (int)(2 * Limit * PerUnit) + 2).Select(i => Density(((double)i / PerUnit) - Limit))];

    /// <summary>Share of a unit Gaussian below a place, within 1e-6 (linear in a table of 1/256 steps: h²/8 times the largest slope of the density, 0.242).</summary>
    /// <param name="z">The place, in standard deviations.</param>
    internal static double Below(double z)
    {
        if (z <= -Limit)
        {
            return 0;
        }

        if (z >= Limit)
        {
            return 1;
        }

        double at = (z + Limit) * PerUnit;
        int index = (int)at;
        return Table[index] + ((at - index) * (Table[index + 1] - Table[index]));
    }

    /// <summary>Share below a place and density there, both within 1e-6.</summary>
    /// <param name="z">The place, in standard deviations.</param>
    internal static (double Below, double Density) Both(double z)
    {
        if (!(Math.Abs(z) < Limit))
        {
            return (z < 0 ? 0 : 1, 0);
        }

        double at = (z + Limit) * PerUnit;
        int index = (int)at;
        double part = at - index;
        return (Table[index] + (part * (Table[index + 1] - Table[index])), Densities[index] + (part * (Densities[index + 1] - Densities[index])));
    }

    /// <summary>Density of the unit Gaussian.</summary>
    /// <param name="z">The place, in standard deviations.</param>
    internal static double Density(double z) => Math.Exp(-0.5 * z * z) / Math.Sqrt(2 * Math.PI);

    private static double[] Build()
    {
        // Simpson's rule over each step; its error is far below that of the table.
        var table = new double[(int)(2 * Limit * PerUnit) + 2];
        double sum = 0;
        for (int i = 0; i < table.Length; i++)
        {
            table[i] = sum;
            double from = ((double)i / PerUnit) - Limit;
            sum += (Density(from) + (4 * Density(from + (0.5 / PerUnit))) + Density(from + (1.0 / PerUnit))) / (6 * PerUnit);
        }

        return table;
    }
}
