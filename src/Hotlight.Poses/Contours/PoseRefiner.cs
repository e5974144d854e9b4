using Hotlight.Core;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses;

/// <summary>Refines a pose by the picture: the phantom's contours are laid on the image's edges, never far from the marks.</summary>
/// <remarks>
/// <para>Method: edges are looked for across the contours by the likeness of profiles; a step makes least the distances of half of them, together with the marks and with all that was known before; it is kept only if the other half comes nearer too. docs/methods/pose-picture.md.</para>
/// <para>Not: a proof that the phantom is the patient. People's bones differ, and a contour that fits well may do so for the wrong reason.</para>
/// </remarks>
public static class PoseRefiner
{
    /// <summary>Most that an angle may move from the marks' pose, in standard deviations of the marks' fit.</summary>
    public const double MostDeviations = 2;

    /// <summary>Most by which the root mean square distance of the marks may grow, in mm at the receptor.</summary>
    public const double MostMarksGrowthMm = 0.5;

    /// <summary>Fewest places whose edge must be found; of those looked at it must be 15 % too.</summary>
    public const int LeastEdges = 40;

    /// <summary>One standard deviation by which a person's contour lies elsewhere than the phantom's, in mm: as for most points that are marked (pose-spreads), a rule of this project.</summary>
    public const double ShapeSpreadMm = 2;

    /// <summary>Length along which a contour's difference is taken to be one and the same, in mm: a rule of this project.</summary>
    public const double ShapeLengthMm = 80;

    /// <summary>No standard error falls below this share of the marks' own: on people who are not the phantom the picture made errors no smaller than that (docs/methods/pose-picture.md).</summary>
    public const double LeastErrorShare = 0.75;

    private const double LeastShare = 0.15;
    private const double EdgeSpreadMm = 0.3;
    private const double Freedom = 4;
    private const int MostSteps = 3;
    private const double Radian = Math.PI / 180;

    // The held-back half must come nearer by this share, else the step is chance.
    private const double LeastGain = 0.03;

    private static readonly double[] SearchMm = [4, 3, 2.5, 2.5];

    /// <summary>Refines a fit.</summary>
    /// <param name="fit">The fit to the marks.</param>
    /// <param name="image">The real image, best with about 1000 pixels along its longer side.</param>
    /// <param name="technique">Scene whose technique is taken; null: the view's usual one.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="UnreadableSceneException">The lab cannot take the pose; one sentence.</exception>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public static PoseRefinement Refine(PoseFit fit, PoseImage image, SceneDocument? technique = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(fit);
        ArgumentNullException.ThrowIfNull(image);
        PoseProblem problem = fit.Problem;
        if (image.ImageRows != problem.Setting.Rows || image.ImageColumns != problem.Setting.Columns)
        {
            throw new ArgumentException($"The image has {image.ImageRows} rows of {image.ImageColumns}, the fit's has {problem.Setting.Rows} of {problem.Setting.Columns}.", nameof(image));
        }

        MarksTerm marks = new(problem, fit.Solution);
        double[] start = fit.Solution.Parameters, at = start;
        double[,] covariance = fit.Solution.Covariance;
        List<EdgeSample> samples = Take(at, SearchMm[0]);
        int edges = samples.Count(sample => !double.IsNaN(sample.OffMm));
        double before = HeldBack(samples), last = before, marksBefore = marks.RootMeanSquareMm(start);
        if (edges < LeastEdges || edges < LeastShare * samples.Count || double.IsNaN(before))
        {
            return Report(fit, start, fit.Solution.Covariance, before, before, marksBefore, marksBefore, edges, samples.Count, 0, Texts.Get("pose.refine.few", Texts.Number(edges, "0"), Texts.Number(samples.Count, "0")));
        }

        int steps = 0;
        for (int round = 0; round < MostSteps; round++)
        {
            (double[] next, double[,]? spread) = Step(problem, marks, at, samples);
            Hold(problem, fit.Solution, next);
            bool isFar = marks.RootMeanSquareMm(next) > marksBefore + MostMarksGrowthMm;
            for (int halving = 0; halving < 3 && isFar; halving++)
            {
                next = [.. next.Select((value, index) => 0.5 * (value + at[index]))];
                isFar = marks.RootMeanSquareMm(next) > marksBefore + MostMarksGrowthMm;
            }

            if (isFar || spread is null)
            {
                break;
            }

            List<EdgeSample> moved = Take(next, SearchMm[round + 1]);
            double after = HeldBack(moved);
            if (!(after < (1 - LeastGain) * last) || moved.Count(sample => !double.IsNaN(sample.OffMm)) < 0.8 * edges)
            {
                break;
            }

            (at, samples, last, covariance) = (next, moved, after, spread);
            steps++;
        }

        return steps == 0
            ? Report(fit, start, fit.Solution.Covariance, before, before, marksBefore, marksBefore, edges, samples.Count, 0, Texts.Get("pose.refine.no", Texts.Number(before, "0.0")))
            : Report(fit, at, covariance, before, last, marksBefore, marks.RootMeanSquareMm(at), edges, samples.Count, steps, Texts.Get("pose.refine.yes", Texts.Number(before, "0.0"), Texts.Number(last, "0.0")));

        List<EdgeSample> Take(double[] parameters, double searchMm)
            => EdgeSamples.Of(problem, parameters, fit.SceneAt(problem.State(parameters), technique), image, searchMm, cancellation);
    }

    /// <summary>Median distance of the edges that are held back, in mm.</summary>
    private static double HeldBack(List<EdgeSample> samples)
    {
        double[] off = [.. samples.Where(sample => IsHeldBack(sample) && !double.IsNaN(sample.OffMm)).Select(sample => Math.Abs(sample.OffMm)).Order()];
        return off.Length < LeastEdges / 4 ? double.NaN : off[off.Length / 2];
    }

    private static bool IsHeldBack(EdgeSample sample) => sample.Block % 2 == 1;

    /// <summary>One damped step of least squares: marks, what was known before, and the edges of the half that is fitted.</summary>
    private static (double[] Next, double[,]? Covariance) Step(PoseProblem problem, MarksTerm marks, double[] at, List<EdgeSample> samples)
    {
        int count = problem.Count;
        double[,] normal = new double[count, count];
        double[] gradient = new double[count];
        marks.Add(at, normal, gradient);
        double spread = Math.Sqrt((ShapeSpreadMm * ShapeSpreadMm) + (EdgeSpreadMm * EdgeSpreadMm));
        double[] slope = new double[count];
        foreach (EdgeSample sample in samples)
        {
            if (IsHeldBack(sample) || double.IsNaN(sample.OffMm))
            {
                continue;
            }

            Slope(problem, at, sample, slope);

            // Both halves tell the same of a contour's shape, so the fitted half stands for the whole; neighbours along it tell it once.
            double off = sample.OffMm / spread;
            double weight = 2 * EdgeSamples.StepMm / ShapeLengthMm * (Freedom + 1) / (Freedom + (off * off)) / (spread * spread);
            for (int row = 0; row < count; row++)
            {
                gradient[row] -= weight * slope[row] * sample.OffMm;
                for (int column = 0; column < count; column++)
                {
                    normal[row, column] += weight * slope[row] * slope[column];
                }
            }
        }

        if (Matrices.Cholesky(normal) is not { } lower)
        {
            return (at, null);
        }

        double[] change = Matrices.Solve(lower, gradient);
        return ([.. at.Select((value, index) => value - change[index])], Matrices.Inverse(normal));
    }

    /// <summary>How a contour's place moves across itself with each parameter, in mm at the receptor.</summary>
    private static void Slope(PoseProblem problem, double[] at, EdgeSample sample, double[] slope)
    {
        double[] near = [.. at];
        double spacing = problem.Spacing(at);
        for (int index = 0; index < problem.Count; index++)
        {
            double step = index is PoseProblem.X or PoseProblem.Y or PoseProblem.Z or PoseProblem.SourceX or PoseProblem.SourceY ? 0.05 : 1e-3;
            Core.PixelPoint ahead = Moved(step), behind = Moved(-step);
            slope[index] = (((ahead.X - behind.X) * sample.NormalX) + ((ahead.Y - behind.Y) * sample.NormalY)) * spacing / (2 * step);

            Core.PixelPoint Moved(double by)
            {
                near[index] = at[index] + by;
                int joint = index - PoseProblem.FirstJoint;
                System.Numerics.Vector3 place = joint >= 0 && joint < sample.JointSlopes.Length ? sample.FromCentre + ((float)by * sample.JointSlopes[joint]) : sample.FromCentre;
                Core.PixelPoint pixel = PoseView.Project(problem, near, problem.Axes(near), place.X, place.Y, place.Z);
                near[index] = at[index];
                return pixel;
            }
        }
    }

    /// <summary>Keeps angles and joints within their limits and within <see cref="MostDeviations"/> of the marks' fit.</summary>
    private static void Hold(PoseProblem problem, PoseSolution marks, double[] parameters)
    {
        for (int index = 0; index < problem.Count; index++)
        {
            bool isJoint = index >= PoseProblem.FirstJoint && index < PoseProblem.FirstJoint + problem.Model.Joints.Count;
            if (index <= PoseProblem.Lean || isJoint)
            {
                double reach = MostDeviations * Math.Sqrt(marks.Covariance[index, index]);
                parameters[index] = Math.Clamp(parameters[index], marks.Parameters[index] - reach, marks.Parameters[index] + reach);
            }

            if (isJoint)
            {
                (double low, double high) = problem.Limits(index - PoseProblem.FirstJoint);
                parameters[index] = Math.Clamp(parameters[index], low, high);
            }
        }

        parameters[PoseProblem.Z] = Math.Max(0, parameters[PoseProblem.Z]);
    }

    private static PoseRefinement Report(PoseFit fit, double[] parameters, double[,] covariance, double before, double after, double marksBefore, double marksAfter, int edges, int looked, int steps, string said)
    {
        PoseProblem problem = fit.Problem;
        PoseSolution marks = fit.Solution;
        List<RefinedAngle> moves = [];
        for (int index = 0; index < problem.Count; index++)
        {
            bool isJoint = index >= PoseProblem.FirstJoint && index < PoseProblem.FirstJoint + problem.Model.Joints.Count;
            if (index <= PoseProblem.Lean || isJoint)
            {
                moves.Add(new RefinedAngle(
                    problem.ParameterNames[index],
                    new PoseAngle(marks.Parameters[index] / Radian, Math.Sqrt(marks.Covariance[index, index]) / Radian),
                    new PoseAngle(parameters[index] / Radian, Math.Max(Math.Sqrt(covariance[index, index]), LeastErrorShare * Math.Sqrt(marks.Covariance[index, index])) / Radian)));
            }
        }

        return new PoseRefinement
        {
            State = problem.State(parameters),
            Helped = steps > 0,
            Angles = moves,
            HeldBackBeforeMm = before,
            HeldBackAfterMm = after,
            MarksBeforeMm = marksBefore,
            MarksAfterMm = marksAfter,
            Edges = edges,
            Looked = looked,
            Steps = steps,
            Said = said,
        };
    }

    /// <summary>The marks' and the prior's part of the least squares.</summary>
    private sealed class MarksTerm
    {
        private readonly PoseProblem problem;
        private readonly PoseSolution solution;
        private readonly double[] weights;
        private readonly double[,] precision;

        public MarksTerm(PoseProblem problem, PoseSolution solution)
        {
            this.problem = problem;
            this.solution = solution;
            precision = Matrices.Inverse(solution.Covariance)!;
            weights = [.. solution.Weights.Select(weight => weight * (PoseSolver.Freedom + 2) / PoseSolver.Freedom)];
        }

        public double RootMeanSquareMm(double[] parameters)
        {
            double[] off = new double[2 * problem.PointCount];
            problem.Residuals(parameters, off);
            double sum = 0;
            for (int point = 0; point < problem.PointCount; point++)
            {
                sum += Math.Min(1, weights[point]) * ((off[2 * point] * off[2 * point]) + (off[(2 * point) + 1] * off[(2 * point) + 1]));
            }

            return Math.Sqrt(sum / Math.Max(1e-9, weights.Sum(weight => Math.Min(1, weight))));
        }

        /// <summary>Near the marks' least the whole of it, shape and all, is what the fit's covariance says.</summary>
        public void Add(double[] at, double[,] normal, double[] gradient)
        {
            for (int row = 0; row < problem.Count; row++)
            {
                for (int column = 0; column < problem.Count; column++)
                {
                    normal[row, column] += precision[row, column];
                    gradient[row] += precision[row, column] * (at[column] - solution.Parameters[column]);
                }
            }
        }
    }
}
