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
        Work work = new(problem);
        double[] at = [.. start, .. new double[work.Count - start.Length]];
        Clamp(problem, at);
        double damping = 1e-3;
        for (int step = 0; step < MostSteps; step++)
        {
            work.Linearize(at, isLast: false);
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

        work.Linearize(at, isLast: true);
        if (work.Covariance() is not { } found)
        {
            return null;
        }

        return new PoseSolution(at[..problem.Count], at[problem.Count..], work.Cost(at), found.Covariance, found.LogRoom, work.Weights);
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

    /// <summary>The lists that one descent uses again and again. Behind the problem's parameters stand the ways in which the person's shape differs, to the right and then downwards, in standard deviations.</summary>
    private sealed class Work(PoseProblem problem)
    {
        private readonly double[] residuals = new double[2 * problem.PointCount];
        private readonly double[] moved = new double[2 * problem.PointCount];
        private readonly double[] places = new double[problem.Stride];
        private readonly double[] bent = new double[problem.Stride];
        private readonly double[] covariances = new double[3 * problem.PointCount];
        private readonly double[] magnifications = new double[problem.PointCount];
        private readonly double[,] jacobian = new double[2 * problem.PointCount, problem.Count + (2 * problem.ShapeCount)];
        private readonly double[,] normal = new double[problem.Count + (2 * problem.ShapeCount), problem.Count + (2 * problem.ShapeCount)];
        private readonly double[] gradient = new double[problem.Count + (2 * problem.ShapeCount)];

        public int Count => gradient.Length;

        public double[] Weights { get; } = new double[problem.PointCount];

        /// <summary>The cost with the covariances of the last place that was linearized.</summary>
        public double Cost(double[] parameters)
        {
            problem.Residuals(parameters, moved);
            Shape(parameters, moved);
            double cost = problem.PriorCost(parameters);
            for (int index = problem.Count; index < Count; index++)
            {
                cost += parameters[index] * parameters[index];
            }

            for (int point = 0; point < problem.PointCount; point++)
            {
                cost += (Freedom + 2) * Math.Log(1 + (Distance(point, moved) / Freedom));
            }

            return cost;
        }

        /// <summary>The least squares near a place.</summary>
        /// <param name="parameters">Where.</param>
        /// <param name="isLast">Whether the curvature is wanted for standard errors: no point then counts for more than its own covariance says, however well it was met.</param>
        public void Linearize(double[] parameters, bool isLast)
        {
            problem.Read(parameters, places);
            problem.Linear(parameters, places, residuals, covariances, magnifications);
            Shape(parameters, residuals);
            double[] near = parameters[..problem.Count];
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

            for (int point = 0; point < problem.PointCount; point++)
            {
                for (int way = 0; way < problem.ShapeCount; way++)
                {
                    jacobian[2 * point, problem.Count + way] = jacobian[(2 * point) + 1, problem.Count + problem.ShapeCount + way] = magnifications[point] * problem.ShapeMm(point, way);
                }
            }

            Array.Clear(normal);
            for (int row = 0; row < Count; row++)
            {
                gradient[row] = 0;
                if (row >= problem.Count)
                {
                    normal[row, row] = 1;
                    gradient[row] = parameters[row];
                    continue;
                }

                for (int column = 0; column < problem.Count; column++)
                {
                    normal[row, column] = problem.PriorPrecision(row, column);
                    gradient[row] += normal[row, column] * (parameters[column] - problem.Expected[column]);
                }
            }

            for (int point = 0; point < problem.PointCount; point++)
            {
                Weights[point] = (Freedom + 2) / (Freedom + Distance(point, residuals));
                Add(point, isLast ? Math.Min(1, Weights[point]) : Weights[point]);
                Weights[point] *= Freedom / (Freedom + 2);
            }
        }

        public double[]? Step(double damping)
        {
            double[,] damped = (double[,])normal.Clone();
            for (int index = 0; index < Count; index++)
            {
                damped[index, index] *= 1 + damping;
            }

            return Matrices.Cholesky(damped) is { } lower ? Matrices.Solve(lower, gradient) : null;
        }

        /// <summary>Covariance of the problem's parameters, whatever the shape, and half the logarithm of the determinant of all.</summary>
        public (double[,] Covariance, double LogRoom)? Covariance()
        {
            if (Matrices.Cholesky(normal) is not { } lower || Matrices.Inverse(normal) is not { } all)
            {
                return null;
            }

            double[,] covariance = new double[problem.Count, problem.Count];
            for (int row = 0; row < problem.Count; row++)
            {
                for (int column = 0; column < problem.Count; column++)
                {
                    covariance[row, column] = all[row, column];
                }
            }

            return (covariance, -0.5 * Matrices.LogDeterminant(lower));
        }

        private void Shape(double[] parameters, double[] at)
        {
            for (int point = 0; point < problem.PointCount; point++)
            {
                double right = 0, down = 0;
                for (int way = 0; way < problem.ShapeCount; way++)
                {
                    double share = problem.ShapeMm(point, way);
                    right += share * parameters[problem.Count + way];
                    down += share * parameters[problem.Count + problem.ShapeCount + way];
                }

                at[2 * point] += magnifications[point] * right;
                at[(2 * point) + 1] += magnifications[point] * down;
            }
        }

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
            for (int row = 0; row < Count; row++)
            {
                double jx = jacobian[2 * point, row], jy = jacobian[(2 * point) + 1, row];
                if (jx == 0 && jy == 0)
                {
                    continue;
                }

                double u = scale * ((yy * jx) - (xy * jy)), v = scale * ((xx * jy) - (xy * jx));
                gradient[row] += (u * residuals[2 * point]) + (v * residuals[(2 * point) + 1]);
                for (int column = 0; column < Count; column++)
                {
                    normal[row, column] += (u * jacobian[2 * point, column]) + (v * jacobian[(2 * point) + 1, column]);
                }
            }
        }
    }
}
