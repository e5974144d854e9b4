using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Simulation;

namespace Hotlight.Poses;

/// <summary>Fits the phantom's points to marked ones: how the part lay.</summary>
/// <remarks>
/// <para>Method: point-source projection; robust least squares over three turns, place, height, sizes along three axes, joints, source and, where it is not known, the pixel spacing, each with what is known of it beforehand. docs/methods/pose.md.</para>
/// <para>Not: a judgement of the position, which is what the relations of the checklist are for (docs/methods/positioning.md).</para>
/// </remarks>
public static class PoseFitter
{
    /// <summary>Fewest marked points.</summary>
    public const int LeastPoints = 5;

    /// <summary>An angle with a standard deviation above this, in degrees, is said not to be determined: at 2.96 half of the errors are within 2° and nine in ten within 5°; the standard deviation itself is hardly known to a twentieth.</summary>
    public const double DeterminedWithinDegrees = 2.8;

    /// <summary>An angle whose standard deviation is above this share of what was known before is said not to be determined by the marks.</summary>
    public const double DeterminedWithinShare = 0.6;

    // Rows and columns of different spacing would need a receptor of oblong elements.
    private const double MostOblongShare = 0.01;

    // The other side of the image fits better by this much before it is taken for a mirror image: odds of about 150 to 1.
    private const double MirrorGain = 10;

    // Another pose whose share of the belief is below this is not spoken of.
    private const double LeastShare = 0.05;

    private const double Radian = Math.PI / 180;

    private static readonly double[] StartDegrees = [-18, 0, 18];

    /// <summary>Fits a pose.</summary>
    /// <param name="model">The projection's model.</param>
    /// <param name="marks">What the reader marked; points that the model does not have are left out.</param>
    /// <param name="geometry">What is known of the exposure.</param>
    /// <param name="side">The side, "R" or "L"; null where it is not known: then the side that fits is taken, and asked for where both do. Parts in the middle of the body ignore it.</param>
    /// <param name="options">What else is known.</param>
    /// <param name="projection">The catalogue's entry, such as a clinic's own; null: the built-in one.</param>
    /// <returns>The pose; cannot-tell with too few points, oblong pixels, a side that must be said, or marks that no pose explains.</returns>
    /// <exception cref="ArgumentException">The marks are of another projection, or the side is neither R nor L.</exception>
    public static Figure<PoseFit> Fit(PoseModel model, MarkedLandmarks marks, ExposureGeometry geometry, string? side, PoseOptions? options = null, Projection? projection = null)
    {
        ArgumentNullException.ThrowIfNull(model);
        ArgumentNullException.ThrowIfNull(marks);
        ArgumentNullException.ThrowIfNull(geometry);
        if (marks.ProjectionId != model.ProjectionId)
        {
            throw new ArgumentException($"The marks are of '{marks.ProjectionId}', not of '{model.ProjectionId}'.", nameof(marks));
        }

        if (side is not (null or "R" or "L"))
        {
            throw new ArgumentException($"A side is R or L, not '{side}'.", nameof(side));
        }

        options ??= new PoseOptions();
        Preconditions.Within(options.TubeTowardTopDegrees, -60, 60);
        Preconditions.Within(options.TubeTowardRightDegrees, -60, 60);
        if (geometry.Spacing is { } spacing && Math.Abs((spacing.RowSpacingMm / spacing.ColumnSpacingMm) - 1) > MostOblongShare)
        {
            return Figure<PoseFit>.CannotTell(Texts.Get("pose.why.oblong"));
        }

        PlaceTable table = PlaceTable.Of(model, geometry.IsChild);
        PosePoint[] known = [.. model.Points.Where((_, index) => table.Has[index])];
        var used = known.Where(point => marks.Points.ContainsKey(point.Id)).ToDictionary(point => point.Id, point => marks.Points[point.Id], StringComparer.Ordinal);
        if (used.Count < LeastPoints)
        {
            string missing = string.Join(", ", known.Where(point => !used.ContainsKey(point.Id)).Take(LeastPoints - used.Count + 2).Select(point => PoseText.Name(model, point, projection)));
            return Figure<PoseFit>.CannotTell(Texts.Get("pose.why.few", Texts.Number(LeastPoints, "0"), Texts.Number(used.Count, "0"), missing));
        }

        projection ??= ProjectionCatalogue.BuiltIn.Get(model.ProjectionId);
        PoseSetting setting = PoseSetting.Of(model, projection, geometry, options);
        bool isPaired = Lab.Parts.First(part => part.Name == model.Part).IsPaired;
        bool toldLeft = isPaired && side == "L";
        Found? asTold = Search(setting, used, toldLeft, StartDegrees);

        // Whether the other side would fit far better shows from one start.
        Found? mirrored = isPaired ? Search(setting, used, !toldLeft, side is null ? StartDegrees : [0]) : null;
        if (asTold is null && mirrored is null)
        {
            return Figure<PoseFit>.CannotTell(Texts.Get("pose.why.none"));
        }

        bool isMirrored = mirrored is not null && (asTold is null || mirrored.Best.Cost < asTold.Best.Cost - (side is null ? 0 : MirrorGain));
        if (side is null && mirrored is not null && asTold is not null && Math.Abs(mirrored.Best.Cost - asTold.Best.Cost) < MirrorGain)
        {
            return Figure<PoseFit>.CannotTell(Texts.Get("pose.why.side"));
        }

        if (isMirrored && side is not null)
        {
            mirrored = Search(setting, used, !toldLeft, StartDegrees) ?? mirrored;
        }

        string fittedSide = side is null ? (isMirrored ? "L" : "R") : isPaired ? side : "R";
        return Figure<PoseFit>.Measured(Report(isMirrored ? mirrored! : asTold!, fittedSide, isMirrored && side is not null));
    }

    private static Found? Search(PoseSetting setting, Dictionary<string, LandmarkPoint> marks, bool mirrored, double[] starts)
    {
        var problem = new PoseProblem(setting, marks, mirrored);
        if (!setting.SpacingIsKnown)
        {
            // The marks themselves say about how large a pixel is; marking errors are then of the right size.
            problem = new PoseProblem(setting with { SpacingMm = problem.Spacing(problem.Start(0, 0)) }, marks, mirrored);
        }

        var found = new List<PoseSolution>();
        foreach (double turn in starts)
        {
            foreach (double tilt in starts)
            {
                if (PoseSolver.Solve(problem, problem.Start(turn * Radian, tilt * Radian)) is { } solution && !found.Any(known => IsSame(known, solution)))
                {
                    found.Add(solution);
                }
            }
        }

        return found.Count == 0 ? null : new Found(problem, [.. found.OrderBy(solution => solution.Cost)]);
    }

    private static bool IsSame(PoseSolution one, PoseSolution other)
        => Math.Abs(one.Parameters[PoseProblem.Turn] - other.Parameters[PoseProblem.Turn]) < 0.5 * Radian
            && Math.Abs(one.Parameters[PoseProblem.Tilt] - other.Parameters[PoseProblem.Tilt]) < 0.5 * Radian
            && Math.Abs(Math.IEEERemainder(one.Parameters[PoseProblem.Lean] - other.Parameters[PoseProblem.Lean], 2 * Math.PI)) < 0.5 * Radian;

    private static PoseFit Report(Found found, string side, bool isMirrored)
    {
        PoseProblem problem = found.Problem;
        PoseSolution best = found.Best;
        double[] shares = Shares(found.Solutions);
        double[] deviations = new double[problem.Count];
        for (int index = 0; index < problem.Count; index++)
        {
            double variance = 0;
            for (int solution = 0; solution < shares.Length; solution++)
            {
                double apart = found.Solutions[solution].Parameters[index] - best.Parameters[index];
                apart = index == PoseProblem.Lean ? Math.IEEERemainder(apart, 2 * Math.PI) : apart;
                variance += shares[solution] * (found.Solutions[solution].Covariance[index, index] + (apart * apart));
            }

            deviations[index] = Math.Sqrt(variance);
        }

        int second = Enumerable.Range(0, shares.Length).Skip(1).Where(index => shares[index] >= LeastShare).OrderByDescending(index => shares[index]).FirstOrDefault();
        PoseAlternative? alternative = second > 0 ? new PoseAlternative(problem.State(found.Solutions[second].Parameters), shares[second]) : null;
        double depth = Depth(problem, best.Parameters);
        Figure<PoseAngle> Angle(int index, string axis)
        {
            double value = best.Parameters[index] / Radian, deviation = deviations[index] / Radian;
            value = index == PoseProblem.Lean ? Math.IEEERemainder(value, 360) : value;
            if (deviation <= DeterminedWithinDegrees && deviations[index] <= DeterminedWithinShare * Math.Sqrt(problem.PriorVariance[index]))
            {
                return Figure<PoseAngle>.Measured(new PoseAngle(value, deviation));
            }

            string within = Texts.Number(Math.Ceiling(deviation), "0");
            return Figure<PoseAngle>.CannotTell(alternative is not null && Math.Abs(found.Solutions[second].Parameters[index] - best.Parameters[index]) > 2 * Math.Sqrt(best.Covariance[index, index])
                ? Texts.Get("pose.why.two", axis, Texts.Number(value, "0"), Texts.Number(found.Solutions[second].Parameters[index] / Radian, "0"))
                : index is PoseProblem.Turn or PoseProblem.Tilt
                    ? Texts.Get("pose.why.depth", axis, within, Texts.Number(depth, "0"))
                    : Texts.Get("pose.why.wide", axis, within));
        }

        PoseLength Length(int index) => new((problem.IsMirrored && index == PoseProblem.X ? -1 : 1) * best.Parameters[index], deviations[index]);
        (double size, double sizeDeviation) = Size(best);
        var notes = new List<string>();
        if (isMirrored)
        {
            notes.Add(Texts.Get("pose.note.mirrored", side == "L" ? Texts.Get("pose.side.left") : Texts.Get("pose.side.right")));
        }

        if (!problem.Setting.SpacingIsKnown)
        {
            notes.Add(Texts.Get("pose.note.no-spacing"));
        }

        if (alternative is not null)
        {
            notes.Add(Texts.Get("pose.note.two", Texts.Number(alternative.State.TurnDegrees, "0"), Texts.Number(alternative.State.TiltDegrees, "0")));
        }

        IReadOnlyList<PoseResidual> residuals = Residuals(problem, best);
        if (residuals.Where(residual => residual.Weight < 0.5).Select(residual => problem.Model.Find(residual.Id)!.Name!).ToList() is { Count: > 0 } strange)
        {
            notes.Add(Texts.Get("pose.note.strange", string.Join(", ", strange)));
        }

        return new PoseFit(problem, best)
        {
            Side = side,
            IsMirrored = isMirrored,
            Turn = Angle(PoseProblem.Turn, Texts.Get("pose.axis.turn")),
            Tilt = Angle(PoseProblem.Tilt, Texts.Get("pose.axis.tilt")),
            Lean = Angle(PoseProblem.Lean, Texts.Get("pose.axis.lean")),
            Joints = [.. problem.Model.Joints.Select((joint, index) => new PoseJoint(joint.Name, Angle(PoseProblem.FirstJoint + index, PoseText.Joint(joint.Name))))],
            Right = Length(PoseProblem.X),
            Down = Length(PoseProblem.Y),
            Height = Length(PoseProblem.Z),
            SizePercent = 100 * size,
            SizeUncertaintyPercent = 100 * size * sizeDeviation,
            Residuals = residuals,
            Alternative = alternative,
            Notes = notes,
            Covariance = Degrees(problem, best.Covariance),
        };
    }

    /// <summary>How much of the belief each solution has: its height over the best's, times the room around it.</summary>
    private static double[] Shares(IReadOnlyList<PoseSolution> solutions)
    {
        double[] logarithms = [.. solutions.Select(solution => (-0.5 * solution.Cost) + solution.LogRoom)];
        double highest = logarithms.Max();
        double[] shares = [.. logarithms.Select(value => Math.Exp(value - highest))];
        double sum = shares.Sum();
        return [.. shares.Select(share => share / sum)];
    }

    internal static (double Size, double Deviation) Size(PoseSolution solution)
    {
        double size = 0, variance = 0;
        for (int one = PoseProblem.SizeX; one <= PoseProblem.SizeZ; one++)
        {
            size += solution.Parameters[one] / 3;
            for (int other = PoseProblem.SizeX; other <= PoseProblem.SizeZ; other++)
            {
                variance += solution.Covariance[one, other] / 9;
            }
        }

        return (Math.Exp(size), Math.Sqrt(Math.Max(0, variance)));
    }

    /// <summary>Standard deviation of the marked points' heights, in mm: what a turn moves them by.</summary>
    private static double Depth(PoseProblem problem, double[] parameters)
    {
        double[] heights = problem.Heights(parameters);
        double mean = heights.Average();
        return Math.Sqrt(heights.Sum(height => (height - mean) * (height - mean)) / heights.Length);
    }

    internal static List<PoseResidual> Residuals(PoseProblem problem, PoseSolution solution)
    {
        double[] off = new double[2 * problem.PointCount], covariances = new double[3 * problem.PointCount];
        problem.Residuals(solution.Parameters, off);
        problem.Covariances(solution.Parameters, covariances);
        IReadOnlyDictionary<string, PixelPoint> places = problem.Places(solution.Parameters);
        double unit = problem.Spacing(solution.Parameters) / problem.Setting.SpacingMm;
        return [.. Enumerable.Range(0, problem.PointCount).Select(point =>
        {
            (double x, double y) = (off[2 * point], off[(2 * point) + 1]);
            (double xx, double xy, double yy) = (covariances[3 * point], covariances[(3 * point) + 1], covariances[(3 * point) + 2]);
            double squared = ((yy * x * x) - (2 * xy * x * y) + (xx * y * y)) / ((xx * yy) - (xy * xy));
            string id = problem.Id(point);
            return new PoseResidual(id, places[id], (problem.IsMirrored ? 1 : -1) * x * unit, -y * unit, Math.Sqrt(squared / 2), solution.Weights[point]);
        })];
    }

    internal static IReadOnlyList<IReadOnlyList<double>> Degrees(PoseProblem problem, double[,] covariance)
    {
        double Unit(int index) => index <= PoseProblem.Lean || (index >= PoseProblem.FirstJoint && index < PoseProblem.FirstJoint + problem.Model.Joints.Count) ? 1 / Radian
            : problem.IsMirrored && index is PoseProblem.X or PoseProblem.SourceX ? -1 : 1;
        return [.. Enumerable.Range(0, problem.Count).Select(row => (IReadOnlyList<double>)[.. Enumerable.Range(0, problem.Count).Select(column => covariance[row, column] * Unit(row) * Unit(column))])];
    }

    private sealed record Found(PoseProblem Problem, IReadOnlyList<PoseSolution> Solutions)
    {
        public PoseSolution Best => Solutions[0];
    }
}
