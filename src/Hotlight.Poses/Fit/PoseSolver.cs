namespace Hotlight.Poses;

/// <summary>Finds the least of a <see cref="PoseProblem"/>: damped Gauss-Newton steps, each point weighted as Student's distribution weighs it.</summary>
internal static class PoseSolver
{
    /// <summary>Degrees of freedom of Student's distribution: a point three deviations off keeps half its weight.</summary>
    public const double Freedom = 5;

    private const int MostSteps = 40;
    private const double Enough = 1e-7;

    /// <summary>Goes down from a start.</summary>
    /// <param name="problem">The problem.</param>
    /// <param name="start">Where to begin.</param>
    public static PoseSolution? Solve(PoseProblem problem, double[] start)
    {
        double[] at = [.. start];
        Clamp(problem, at);
        Work work = new(problem);
        double damping = 1e-3;
        for (int step = 0; step < MostSteps; step++)
        {
            work.Linearize(at);
            double before = work.Cost(at);
            bool moved = false;
            double gain = 0;
            for (int trial = 0; trial < 8; trial++)
            {
                if (work.Step(damping) is not { } change)
                {
                    damping *= 10;
                    continue;
                }

                double[] next = new double[at.Length];
                for (int index = 0; index < at.Length; index++)
                {
                    next[index] = at[index] - change[index];
                }

                Clamp(problem, next);
                double after = work.Cost(next);
                if (after <= before)
                {
                    gain = before - after;
                    at = next;
                    damping = Math.Max(1e-9, damping / 5);
                    moved = true;
                    break;
                }

                damping *= 6;
            }

            if (!moved || gain < Enough * (1 + Math.Abs(before)))
            {
                break;
            }
        }

        work.Linearize(at);
        double[,]? covariance = work.Covariance();
        return covariance is null ? null : new PoseSolution(at, work.Cost(at), covariance, work.Weights);
    }

    private static void Clamp(PoseProblem problem, double[] parameters)
    {
        for (int joint = 0; joint < problem.Model.Joints.Count; joint++)
        {
            (double low, double high) = problem.Limits(joint);
            parameters[PoseProblem.FirstJoint + joint] = Math.Clamp(parameters[PoseProblem.FirstJoint + joint], low, high);
        }

        parameters[PoseProblem.Z] = Math.Clamp(parameters[PoseProblem.Z], 0, 0.7 * problem.SourceHeight(parameters));
    }

    /// <summary>The lists that one descent uses again and again.</summary>
    private sealed class Work(PoseProblem problem)
    {
        private readonly double[] residuals = new double[2 * problem.PointCount];
        private readonly double[] moved = new double[2 * problem.PointCount];
        private readonly double[] places = new double[problem.Stride];
        private readonly double[] bent = new double[problem.Stride];
        private readonly double[] covariances = new double[3 * problem.PointCount];
        private readonly double[,] jacobian = new double[2 * problem.PointCount, problem.Count];
        private readonly double[,] normal = new double[problem.Count, problem.Count];
        private readonly double[] gradient = new double[problem.Count];

        public double[] Weights { get; } = new double[problem.PointCount];

        /// <summary>The cost with the covariances of the last place that was linearized.</summary>
        public double Cost(double[] parameters)
        {
            problem.Residuals(parameters, moved);
            double cost = problem.PriorCost(parameters);
            for (int point = 0; point < problem.PointCount; point++)
            {
                cost += (Freedom + 2) * Math.Log(1 + (Distance(point, moved) / Freedom));
            }

            return cost;
        }

        public void Linearize(double[] parameters)
        {
            problem.Covariances(parameters, covariances);
            problem.Residuals(parameters, residuals);
            problem.Read(parameters, places);
            double[] near = [.. parameters];
            for (int index = 0; index < problem.Count; index++)
            {
                double step = index is PoseProblem.X or PoseProblem.Y or PoseProblem.Z or PoseProblem.SourceX or PoseProblem.SourceY ? 0.02 : 1e-4;
                bool isJoint = index >= PoseProblem.FirstJoint && index < PoseProblem.FirstJoint + problem.Model.Joints.Count;
                near[index] = parameters[index] + step;
                Residuals(near, isJoint);
                for (int row = 0; row < moved.Length; row++)
                {
                    jacobian[row, index] = moved[row];
                }

                near[index] = parameters[index] - step;
                Residuals(near, isJoint);
                for (int row = 0; row < moved.Length; row++)
                {
                    jacobian[row, index] = (jacobian[row, index] - moved[row]) / (2 * step);
                }

                near[index] = parameters[index];
            }

            for (int row = 0; row < problem.Count; row++)
            {
                gradient[row] = 0;
                for (int column = 0; column < problem.Count; column++)
                {
                    normal[row, column] = problem.PriorPrecision(row, column);
                    gradient[row] += normal[row, column] * (parameters[column] - problem.Expected[column]);
                }
            }

            for (int point = 0; point < problem.PointCount; point++)
            {
                Weights[point] = (Freedom + 2) / (Freedom + Distance(point, residuals));
                Add(point, Weights[point]);
                Weights[point] *= Freedom / (Freedom + 2);
            }
        }

        public double[]? Step(double damping)
        {
            double[,] damped = (double[,])normal.Clone();
            for (int index = 0; index < problem.Count; index++)
            {
                damped[index, index] *= 1 + damping;
            }

            return Matrices.Cholesky(damped) is { } lower ? Matrices.Solve(lower, gradient) : null;
        }

        public double[,]? Covariance() => Matrices.Inverse(normal);

        private void Residuals(double[] parameters, bool isJoint)
        {
            if (isJoint)
            {
                problem.Read(parameters, bent);
            }

            problem.Residuals(parameters, isJoint ? bent : places, moved);
        }

        private double Distance(int point, double[] at)
        {
            (double xx, double xy, double yy) = (covariances[3 * point], covariances[(3 * point) + 1], covariances[(3 * point) + 2]);
            (double x, double y) = (at[2 * point], at[(2 * point) + 1]);
            return ((yy * x * x) - (2 * xy * x * y) + (xx * y * y)) / ((xx * yy) - (xy * xy));
        }

        private void Add(int point, double weight)
        {
            (double xx, double xy, double yy) = (covariances[3 * point], covariances[(3 * point) + 1], covariances[(3 * point) + 2]);
            double scale = weight / ((xx * yy) - (xy * xy));
            for (int row = 0; row < problem.Count; row++)
            {
                double jx = jacobian[2 * point, row], jy = jacobian[(2 * point) + 1, row];
                double u = scale * ((yy * jx) - (xy * jy)), v = scale * ((xx * jy) - (xy * jx));
                gradient[row] += (u * residuals[2 * point]) + (v * residuals[(2 * point) + 1]);
                for (int column = 0; column < problem.Count; column++)
                {
                    normal[row, column] += (u * jacobian[2 * point, column]) + (v * jacobian[(2 * point) + 1, column]);
                }
            }
        }
    }
}
