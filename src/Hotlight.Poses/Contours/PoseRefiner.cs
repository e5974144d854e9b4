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

    // And by this share for each angle that turns the part out of the image's plane, else the angle stays that of the marks: people's bones differ by as much as such a turn shows.
    private const double AngleGain = 0.1;

    private static readonly double[] SearchMm = [4, 3, 2.5, 2.5];

    /// <summary>Refines a fit.</summary>
    /// <param name="fit">The fit to the marks.</param>
    /// <param name="image">The real image, best with about 1000 pixels along its longer side.</param>
    /// <param name="technique">Scene whose technique is taken; null: the view's usual one.</param>
    /// <param name="progress">Told the share of the work that is done at most, 0 to 1, as it goes on; it may end early.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="UnreadableSceneException">The lab cannot take the pose; one sentence.</exception>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public static PoseRefinement Refine(PoseFit fit, PoseImage image, SceneDocument? technique = null, IProgress<double>? progress = null, CancellationToken cancellation = default)
        => Refine(fit, image, technique, AngleGain, progress, cancellation);

    /// <summary>The same with another gain that frees an angle, for trials.</summary>
    internal static PoseRefinement Refine(PoseFit fit, PoseImage image, SceneDocument? technique, double angleGain, IProgress<double>? progress, CancellationToken cancellation)
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
        bool[] isFree = Planar(problem);
        int looks = 0;
        List<EdgeSample> samples = Take(at, SearchMm[0]);
        int edges = samples.Count(sample => !double.IsNaN(sample.OffMm));
        double before = HeldBack(samples), last = before, marksBefore = marks.RootMeanSquareMm(start);
        PoseRefinement Stands(string said) => Report(fit, start, fit.Solution.Covariance, isFree, before, before, marksBefore, marksBefore, edges, samples.Count, 0, said);
        if (edges < LeastEdges || edges < LeastShare * samples.Count || double.IsNaN(before))
        {
            return Stands(Texts.Get("pose.refine.few", Texts.Number(edges, "0"), Texts.Number(samples.Count, "0")));
        }

        if (before < EdgeSpreadMm)
        {
            return Stands(Texts.Get("pose.refine.near", Texts.Number(before, "0.0#"), Texts.Number(EdgeSpreadMm, "0.0")));
        }

        int steps = 0;
        for (int round = 0; round < MostSteps; round++)
        {
            double[][] slopes = [.. samples.Select(sample => Slope(problem, at, sample))];
            bool[] freed = [.. isFree];
            Release(problem, fit.Solution, marks, at, samples, slopes, freed, angleGain);
            (double[] next, double[,]? spread) = Step(problem, marks, at, samples, slopes, freed);
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

            (at, samples, last, covariance, isFree) = (next, moved, after, spread, freed);
            steps++;
        }

        progress?.Report(1);
        return steps == 0
            ? Stands(Texts.Get("pose.refine.no", Texts.Number(before, "0.0#")))
            : Report(fit, at, covariance, isFree, before, last, marksBefore, marks.RootMeanSquareMm(at), edges, samples.Count, steps, Texts.Get("pose.refine.yes", Texts.Number(before, "0.0#"), Texts.Number(last, "0.0#")));

        List<EdgeSample> Take(double[] parameters, double searchMm)
        {
            List<EdgeSample> taken = EdgeSamples.Of(problem, parameters, fit.SceneAt(problem.State(parameters), technique), image, searchMm, cancellation);
            progress?.Report(++looks / (MostSteps + 2.0));
            return taken;
        }
    }

    /// <summary>What the contours move from the beginning: all but the angles and joints that turn the part out of the image's plane.</summary>
    private static bool[] Planar(PoseProblem problem)
        => [.. Enumerable.Range(0, problem.Count).Select(index => index is not (PoseProblem.Turn or PoseProblem.Tilt) && !IsJoint(problem, index))];

    private static bool IsJoint(PoseProblem problem, int index) => index >= PoseProblem.FirstJoint && index < PoseProblem.FirstJoint + problem.Model.Joints.Count;

    /// <summary>Frees one held angle after the other, the best first, as long as each by itself would bring the edges that are held back nearer by the gain asked for. Told from the slopes, without another picture.</summary>
    private static void Release(PoseProblem problem, PoseSolution solution, MarksTerm marks, double[] at, List<EdgeSample> samples, double[][] slopes, bool[] isFree, double gain)
    {
        double Foreseen()
        {
            (double[] next, double[,]? spread) = Step(problem, marks, at, samples, slopes, isFree);
            Hold(problem, solution, next);
            return spread is null ? double.NaN : HeldBack([.. samples.Select((sample, place) => sample with { OffMm = sample.OffMm - Enumerable.Range(0, problem.Count).Sum(index => slopes[place][index] * (next[index] - at[index])) })]);
        }

        double best = Foreseen();
        while (true)
        {
            (int Index, double After) found = (-1, double.NaN);
            for (int index = 0; index < problem.Count; index++)
            {
                if (isFree[index])
                {
                    continue;
                }

                isFree[index] = true;
                double after = Foreseen();
                isFree[index] = false;
                if (after < (1 - gain) * best && !(after >= found.After))
                {
                    found = (index, after);
                }
            }

            if (found.Index < 0)
            {
                return;
            }

            (isFree[found.Index], best) = (true, found.After);
        }
    }

    /// <summary>Median distance of the edges that are held back, in mm.</summary>
    private static double HeldBack(List<EdgeSample> samples)
    {
        double[] off = [.. samples.Where(sample => IsHeldBack(sample) && !double.IsNaN(sample.OffMm)).Select(sample => Math.Abs(sample.OffMm)).Order()];
        return off.Length < LeastEdges / 4 ? double.NaN : off[off.Length / 2];
    }

    private static bool IsHeldBack(EdgeSample sample) => sample.Block % 2 == 1;

    /// <summary>One damped step of least squares: marks, what was known before, and the edges of the half that is fitted.</summary>
    /// <returns>The next pose, and the covariance with everything free.</returns>
    private static (double[] Next, double[,]? Covariance) Step(PoseProblem problem, MarksTerm marks, double[] at, List<EdgeSample> samples, double[][] slopes, bool[] isFree)
    {
        int count = problem.Count;
        double[,] normal = new double[count, count];
        double[] gradient = new double[count];
        marks.Add(at, normal, gradient);
        double spread = Math.Sqrt((ShapeSpreadMm * ShapeSpreadMm) + (EdgeSpreadMm * EdgeSpreadMm));
        for (int place = 0; place < samples.Count; place++)
        {
            EdgeSample sample = samples[place];
            if (IsHeldBack(sample) || double.IsNaN(sample.OffMm))
            {
                continue;
            }

            double[] slope = slopes[place];

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

        double[,]? covariance = Matrices.Inverse(normal);
        for (int index = 0; index < count; index++)
        {
            if (!isFree[index])
            {
                for (int other = 0; other < count; other++)
                {
                    (normal[index, other], normal[other, index]) = (0, 0);
                }

                (normal[index, index], gradient[index]) = (1, 0);
            }
        }

        if (Matrices.Cholesky(normal) is not { } lower)
        {
            return (at, null);
        }

        double[] change = Matrices.Solve(lower, gradient);
        return ([.. at.Select((value, index) => value - change[index])], covariance);
    }

    /// <summary>How a contour's place moves across itself with each parameter, in mm at the receptor.</summary>
    private static double[] Slope(PoseProblem problem, double[] at, EdgeSample sample)
    {
        double[] slope = new double[problem.Count], near = [.. at];
        if (double.IsNaN(sample.OffMm))
        {
            return slope;
        }

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

        return slope;
    }

    /// <summary>Keeps angles and joints within their limits and within <see cref="MostDeviations"/> of the marks' fit.</summary>
    private static void Hold(PoseProblem problem, PoseSolution marks, double[] parameters)
    {
        for (int index = 0; index < problem.Count; index++)
        {
            bool isJoint = IsJoint(problem, index);
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

    private static PoseRefinement Report(PoseFit fit, double[] parameters, double[,] covariance, bool[] isFree, double before, double after, double marksBefore, double marksAfter, int edges, int looked, int steps, string said)
    {
        PoseProblem problem = fit.Problem;
        PoseSolution marks = fit.Solution;
        PoseFit refined = steps == 0 ? fit : Refitted(fit, parameters, covariance, isFree);
        List<RefinedAngle> moves = [];
        for (int index = 0; index < problem.Count; index++)
        {
            if (index <= PoseProblem.Lean || IsJoint(problem, index))
            {
                moves.Add(new RefinedAngle(
                    problem.ParameterNames[index],
                    new PoseAngle(marks.Parameters[index] / Radian, Math.Sqrt(marks.Covariance[index, index]) / Radian),
                    new PoseAngle(refined.Solution.Parameters[index] / Radian, Math.Sqrt(refined.Solution.Covariance[index, index]) / Radian))
                { IsMoved = steps > 0 && isFree[index] });
            }
        }

        return new PoseRefinement
        {
            Fit = refined,
            State = refined.State,
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

    /// <summary>The fit with the refined pose. What the marks left untold stays untold; what stayed keeps the marks' standard error, and no other falls below <see cref="LeastErrorShare"/> of it.</summary>
    private static PoseFit Refitted(PoseFit fit, double[] parameters, double[,] covariance, bool[] isFree)
    {
        PoseProblem problem = fit.Problem;
        int count = problem.Count;
        double[] shares = [.. Enumerable.Range(0, count).Select(index => isFree[index] ? Math.Clamp(Math.Sqrt(covariance[index, index] / fit.Solution.Covariance[index, index]), LeastErrorShare, 1) : 1)];
        double[,] spread = new double[count, count];
        for (int row = 0; row < count; row++)
        {
            for (int column = 0; column < count; column++)
            {
                spread[row, column] = shares[row] * shares[column] * fit.Solution.Covariance[row, column];
            }
        }

        PoseSolution solution = fit.Solution with { Parameters = parameters, Covariance = spread };
        Figure<PoseAngle> Angle(Figure<PoseAngle> told, int index)
        {
            double degrees = parameters[index] / Radian;
            return told.IsMeasured
                ? Figure<PoseAngle>.Measured(new PoseAngle(index == PoseProblem.Lean ? Math.IEEERemainder(degrees, 360) : degrees, shares[index] * told.Value.UncertaintyDegrees))
                : told;
        }

        PoseLength Length(PoseLength told, int index) => new((problem.IsMirrored && index == PoseProblem.X ? -1 : 1) * parameters[index], shares[index] * told.UncertaintyMm);
        (double size, double deviation) = PoseFitter.Size(solution);
        return new PoseFit(problem, solution)
        {
            Side = fit.Side,
            IsMirrored = fit.IsMirrored,
            Turn = Angle(fit.Turn, PoseProblem.Turn),
            Tilt = Angle(fit.Tilt, PoseProblem.Tilt),
            Lean = Angle(fit.Lean, PoseProblem.Lean),
            Joints = [.. fit.Joints.Select((joint, index) => joint with { Angle = Angle(joint.Angle, PoseProblem.FirstJoint + index) })],
            Right = Length(fit.Right, PoseProblem.X),
            Down = Length(fit.Down, PoseProblem.Y),
            Height = Length(fit.Height, PoseProblem.Z),
            SizePercent = 100 * size,
            SizeUncertaintyPercent = 100 * size * deviation,
            Residuals = PoseFitter.Residuals(problem, solution),
            Alternative = fit.Alternative,
            Notes = fit.Notes,
            Covariance = PoseFitter.Degrees(problem, spread),
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
