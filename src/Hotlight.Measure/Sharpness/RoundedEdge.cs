namespace Hotlight.Measure.Sharpness;

/// <summary>The edge of a rounded body through a Gaussian blur: what a ray passes in it rises as the root of the depth behind the contour.</summary>
/// <remarks>
/// <para>A ray x behind the contour of a round body of radius r passes 2·√(2·r·x − x²), near the contour 2·√(2·r·x). Through a Gaussian of unit sigma the root becomes R(z) = ∫₀^∞ √u·φ(z − u) du; through sigma s, √s·R(x/s). Such an edge is steep outside and goes on rising inside, so that a symmetric edge fitted to it reads wider than the blur; the wider, the wider the window.</para>
/// <para>R by the trapezoidal rule over v = √u, where the integrand is smooth and dies at both ends; far inside by its asymptotic series √z·(1 − 1/(8·z²)).</para>
/// </remarks>
internal static class RoundedEdge
{
    private const double First = -7;
    private const double Last = 13;
    private const int PerUnit = 64;

    private static readonly (double Value, double Slope)[] Table = Make();

    /// <summary>R(z) and its derivative.</summary>
    internal static (double Value, double Slope) Both(double z)
    {
        if (z <= First)
        {
            return (0, 0);
        }

        if (z >= Last)
        {
            double root = Math.Sqrt(z), square = 1 / (8 * z * z);
            return (root * (1 - square), (0.5 / root) + (1.5 * square / root));
        }

        double place = (z - First) * PerUnit;
        int below = Math.Min((int)place, Table.Length - 2);
        double share = place - below;
        (double value, double slope) = Table[below];
        (double nextValue, double nextSlope) = Table[below + 1];
        return (value + (share * (nextValue - value)), slope + (share * (nextSlope - slope)));
    }

    private static (double Value, double Slope)[] Make()
    {
        const double Step = 0.01;
        var table = new (double, double)[(int)((Last - First) * PerUnit) + 2];
        for (int at = 0; at < table.Length; at++)
        {
            double z = First + ((double)at / PerUnit);
            double value = 0, slope = 0;
            double end = Math.Sqrt(Math.Max(0, z) + 9);
            for (double v = Step / 2; v < end; v += Step)
            {
                // du = 2·v·dv; the derivative of √u is 1 / (2·v).
                double density = NormalDistribution.Density(z - (v * v));
                value += 2 * v * v * density;
                slope += density;
            }

            table[at] = (value * Step, slope * Step);
        }

        return table;
    }
}
