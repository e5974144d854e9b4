namespace Hotlight.Poses;

/// <summary>How a person's shape differs smoothly from the phantom's: places near to each other differ alike, so that many marks of one region are no many witnesses.</summary>
/// <remarks>A Gaussian process, the same in every direction: covariance of two places = share · spread · spread · exp(−distance² / 2 length²), taken apart by Cholesky's way with the largest remainder first until little is left (docs/methods/pose.md). What is left counts as each point's own.</remarks>
internal sealed class SmoothShape
{
    /// <summary>Share of a spread's variance that goes with the neighbours': a rule of this project.</summary>
    public const double SmoothShare = 0.85;

    /// <summary>Length along which shapes differ alike, in mm of an adult: at this distance the correlation is 0.6.</summary>
    public const double LengthMm = 30;

    // A way of differing that moves no point by a fifth of its spread is left to the points' own.
    private const double Enough = 0.04;

    private readonly double[,] shares;
    private readonly double[] variances;

    private SmoothShape(double[,] shares, int count)
    {
        this.shares = shares;
        Count = count;
        variances = new double[shares.GetLength(0)];
        for (int point = 0; point < variances.Length; point++)
        {
            for (int way = 0; way < count; way++)
            {
                variances[point] += shares[point, way] * shares[point, way];
            }
        }
    }

    /// <summary>Number of ways of differing.</summary>
    public int Count { get; }

    /// <summary>Shape of points with their spreads, in mm.</summary>
    /// <param name="spreads">One standard deviation of each.</param>
    /// <param name="places">Places of all points of the model, as <see cref="PlaceTable.Read"/> fills them.</param>
    /// <param name="points">Which of them are meant.</param>
    public static SmoothShape Of(double[] spreads, ReadOnlySpan<double> places, int[] points)
    {
        int number = points.Length;
        double[,] covariance = new double[number, number], shares = new double[number, number];
        for (int row = 0; row < number; row++)
        {
            for (int column = 0; column < number; column++)
            {
                int one = 6 * points[row], other = 6 * points[column];
                double x = places[one] - places[other], y = places[one + 1] - places[other + 1], z = places[one + 2] - places[other + 2];
                covariance[row, column] = SmoothShare * spreads[row] * spreads[column] * Math.Exp(-((x * x) + (y * y) + (z * z)) / (2 * LengthMm * LengthMm));
            }
        }

        int way = 0;
        for (; way < number; way++)
        {
            int pivot = 0;
            for (int point = 1; point < number; point++)
            {
                pivot = covariance[point, point] / (spreads[point] * spreads[point]) > covariance[pivot, pivot] / (spreads[pivot] * spreads[pivot]) ? point : pivot;
            }

            if (covariance[pivot, pivot] <= Enough * spreads[pivot] * spreads[pivot])
            {
                break;
            }

            double root = Math.Sqrt(covariance[pivot, pivot]);
            for (int point = 0; point < number; point++)
            {
                shares[point, way] = covariance[point, pivot] / root;
            }

            for (int row = 0; row < number; row++)
            {
                for (int column = 0; column < number; column++)
                {
                    covariance[row, column] -= shares[row, way] * shares[column, way];
                }
            }
        }

        return new SmoothShape(shares, way);
    }

    /// <summary>How far a point moves with one way of differing, in mm.</summary>
    public double Share(int point, int way) => shares[point, way];

    /// <summary>Variance of a point's place by all of them, in mm².</summary>
    public double Variance(int point) => variances[point];
}
