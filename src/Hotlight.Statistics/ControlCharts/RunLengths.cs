using Hotlight.Core;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.Integration;
using MathNet.Numerics.LinearAlgebra;

namespace Hotlight.Statistics.ControlCharts;

/// <summary>Average run lengths: how many points a chart takes on average until it calls, for independent normal points. With no shift that is the time between false alarms; with a shift, how soon it is found.</summary>
public static class RunLengths
{
    private const int Nodes = 80;

    /// <summary>A Shewhart chart with one or more rules.</summary>
    /// <remarks>Method: an absorbing Markov chain whose states are the last two points' zones and the length of the present run; (I − Q)·ARL = 1. After Champ and Woodall, Technometrics 1987;29:393.</remarks>
    /// <param name="rules">The rules, at least one.</param>
    /// <param name="limitSigmas">Half width of the limits in standard deviations, above 2 where the two-sigma rule is used.</param>
    /// <param name="shift">Shift of the mean in standard deviations; 0: none.</param>
    /// <returns>Points until the first call, on average; 1 or more.</returns>
    /// <exception cref="ArgumentException">No rule.</exception>
    public static double Shewhart(IReadOnlyList<RunRule> rules, double limitSigmas = 3, double shift = 0)
    {
        ArgumentNullException.ThrowIfNull(rules);
        Preconditions.AboveZero(limitSigmas);
        Preconditions.Within(shift, -20, 20);
        if (rules.Count == 0)
        {
            throw new ArgumentException("A chart needs at least one rule.", nameof(rules));
        }

        bool limits = rules.Contains(RunRule.BeyondLimits);
        bool twoOfThree = rules.Contains(RunRule.TwoOfThreeBeyondTwoSigma);
        bool run = rules.Contains(RunRule.EightOnOneSide);

        // Zones by their side and whether they lie beyond two standard deviations; beyond the limits ends the run where that rule is on.
        double outer = limits ? limitSigmas : double.PositiveInfinity;
        double warning = Math.Min(2, outer);
        (int Side, bool Far, double Chance)[] zones =
        [
            (1, true, Between(warning, outer, shift)), (1, false, Between(0, warning, shift)),
            (-1, false, Between(-warning, 0, shift)), (-1, true, Between(-outer, -warning, shift)),
        ];
        Dictionary<(int Last, int Before, int Run), int> states = new() { [(0, 0, 0)] = 0 };
        List<(int From, int To, double Chance)> moves = [];
        Queue<(int Last, int Before, int Run)> open = new([(0, 0, 0)]);
        while (open.TryDequeue(out (int Last, int Before, int Run) state))
        {
            foreach ((int side, bool far, double chance) in zones)
            {
                int length = !run ? 0 : Math.Sign(state.Run) == side ? state.Run + side : side;
                int mark = twoOfThree && far ? side : 0;
                if (Math.Abs(length) >= 8 || (mark != 0 && (state.Last == mark || state.Before == mark)))
                {
                    continue;
                }

                (int, int, int) next = (mark, state.Last, length);
                if (states.TryAdd(next, states.Count))
                {
                    open.Enqueue(next);
                }

                moves.Add((states[state], states[next], chance));
            }
        }

        Matrix<double> system = Matrix<double>.Build.DenseIdentity(states.Count);
        foreach ((int from, int to, double chance) in moves)
        {
            system[from, to] -= chance;
        }

        return system.Solve(Vector<double>.Build.Dense(states.Count, 1))[0];
    }

    /// <summary>A one-sided tabular CUSUM that starts at 0.</summary>
    /// <remarks>Method: L(u) = 1 + L(0)·Φ(k − u − δ) + ∫₀^h L(y)·φ(y + k − u − δ) dy (Page, Biometrika 1954;41:100), solved at Gauss-Legendre nodes.</remarks>
    /// <param name="reference">Reference value k in standard deviations, 0 or more.</param>
    /// <param name="decision">Decision interval h in standard deviations, above 0.</param>
    /// <param name="shift">Shift of the mean in standard deviations, towards the side watched; 0: none.</param>
    public static double CusumOneSided(double reference, double decision, double shift = 0)
    {
        Preconditions.Within(reference, 0, 10);
        Preconditions.Within(decision, 1e-6, 100);
        Preconditions.Within(shift, -20, 20);
        GaussLegendreRule rule = new(0, decision, Nodes);
        Matrix<double> system = Matrix<double>.Build.DenseIdentity(Nodes + 1);
        for (int row = 0; row <= Nodes; row++)
        {
            double u = row == 0 ? 0 : rule.GetAbscissa(row - 1);
            system[row, 0] -= Normal.CDF(0, 1, reference - u - shift);
            for (int column = 1; column <= Nodes; column++)
            {
                system[row, column] -= rule.GetWeight(column - 1) * Normal.PDF(0, 1, rule.GetAbscissa(column - 1) + reference - u - shift);
            }
        }

        return system.Solve(Vector<double>.Build.Dense(Nodes + 1, 1))[0];
    }

    /// <summary>A two-sided tabular CUSUM that starts at 0 on both sides.</summary>
    /// <remarks>Method: 1/L = 1/L₊ + 1/L₋ (Kemp 1961; from memory), with L₊ and L₋ of the two sides.</remarks>
    /// <param name="reference">Reference value k in standard deviations, 0 or more.</param>
    /// <param name="decision">Decision interval h in standard deviations, above 0.</param>
    /// <param name="shift">Shift of the mean in standard deviations; 0: none.</param>
    public static double Cusum(double reference, double decision, double shift = 0)
        => 1 / ((1 / CusumOneSided(reference, decision, shift)) + (1 / CusumOneSided(reference, decision, -shift)));

    /// <summary>An EWMA chart, with limits exact for each point or with the steady ones from the first point on.</summary>
    /// <remarks>Method: L(u) = 1 + ∫ L(y)·φ((y − (1 − λ)u)/λ − δ)/λ dy within the limits (Crowder, Technometrics 1987;29:401), solved at Gauss-Legendre nodes for the steady limits and carried back through the first points, whose limits are narrower.</remarks>
    /// <param name="weight">Weight λ of the newest point, in [0.01, 1].</param>
    /// <param name="limitSigmas">Half width of the limits in standard deviations of the average, above 0.</param>
    /// <param name="shift">Shift of the mean in standard deviations of one point; 0: none.</param>
    /// <param name="exactLimits">Whether the first points have their own narrower limits, as the charts of this room do.</param>
    public static double Ewma(double weight, double limitSigmas, double shift = 0, bool exactLimits = true)
    {
        Preconditions.Within(weight, 0.01, 1);
        Preconditions.AboveZero(limitSigmas);
        Preconditions.Within(shift, -20, 20);
        double steady = limitSigmas * Math.Sqrt(weight / (2 - weight));
        GaussLegendreRule rule = new(-1, 1, Nodes);
        double[] nodes = rule.Abscissas;
        double[] shares = rule.Weights;
        double height = 1 / (Math.Sqrt(2 * Math.PI) * weight);
        double Kernel(double from, double to)
        {
            double distance = ((to - ((1 - weight) * from)) / weight) - shift;
            return height * Math.Exp(-0.5 * distance * distance);
        }

        Matrix<double> system = Matrix<double>.Build.Dense(Nodes, Nodes, (row, column)
            => (row == column ? 1 : 0) - (steady * shares[column] * Kernel(steady * nodes[row], steady * nodes[column])));
        double[] lengths = system.Solve(Vector<double>.Build.Dense(Nodes, 1)).ToArray();

        // The limits of point t are below the steady ones by less than 1e-7 of them from the last point on.
        int last = !exactLimits ? 0 : weight >= 1 ? 1 : (int)Math.Ceiling(Math.Log(2e-7) / (2 * Math.Log(1 - weight)));
        double wide = steady;
        for (int point = last; point >= 1; point--)
        {
            // Lengths after point `point`, at nodes scaled to its limits, from lengths after the next one.
            double narrow = steady * Math.Sqrt(1 - Math.Pow(1 - weight, 2 * point));
            double[] earlier = new double[Nodes];
            for (int row = 0; row < Nodes; row++)
            {
                double sum = 1;
                for (int column = 0; column < Nodes; column++)
                {
                    sum += wide * shares[column] * Kernel(narrow * nodes[row], wide * nodes[column]) * lengths[column];
                }

                earlier[row] = sum;
            }

            lengths = earlier;
            wide = narrow;
        }

        double start = 1;
        for (int column = 0; column < Nodes; column++)
        {
            start += wide * shares[column] * Kernel(0, wide * nodes[column]) * lengths[column];
        }

        return start;
    }

    private static double Between(double low, double high, double shift)
        => low >= high ? 0 : Tails.NormalAbove(low - shift) - (double.IsPositiveInfinity(high) ? 0 : Tails.NormalAbove(high - shift));
}
