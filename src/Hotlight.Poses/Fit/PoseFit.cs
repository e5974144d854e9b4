using Hotlight.Core;
using Hotlight.Simulation.Scene;

namespace Hotlight.Poses;

/// <summary>An angle with one standard deviation.</summary>
/// <param name="Degrees">The angle, in degrees.</param>
/// <param name="UncertaintyDegrees">One standard deviation, in degrees.</param>
public sealed record PoseAngle(double Degrees, double UncertaintyDegrees);

/// <summary>A length with one standard deviation.</summary>
/// <param name="Mm">The length, in mm.</param>
/// <param name="UncertaintyMm">One standard deviation, in mm.</param>
public sealed record PoseLength(double Mm, double UncertaintyMm);

/// <summary>A fitted joint.</summary>
/// <param name="Name">The phantom's joint, such as "kneeFlexion".</param>
/// <param name="Angle">Its angle, or why the view does not determine it.</param>
public sealed record PoseJoint(string Name, Figure<PoseAngle> Angle);

/// <summary>How far a marked point lies from where the fitted phantom has it.</summary>
/// <param name="Id">The point.</param>
/// <param name="Fitted">Where the fitted phantom has it, in pixels.</param>
/// <param name="RightMm">Mark less fitted place, to the right, in mm at the receptor.</param>
/// <param name="DownMm">The same, downwards.</param>
/// <param name="Deviations">Distance over what marking and people's differences let expect; about 1 is usual.</param>
/// <param name="Weight">Share of its weight that the point kept, 0 to 1: below a half it does not go with the others.</param>
public sealed record PoseResidual(string Id, PixelPoint Fitted, double RightMm, double DownMm, double Deviations, double Weight)
{
    /// <summary>Distance in mm at the receptor.</summary>
    public double DistanceMm => Math.Sqrt((RightMm * RightMm) + (DownMm * DownMm));
}

/// <summary>Another pose that explains the marks alike.</summary>
/// <param name="State">The pose.</param>
/// <param name="Share">How much of the belief it has beside the best, 0 to 1.</param>
public sealed record PoseAlternative(PoseState State, double Share);

/// <summary>A pose fitted to marked points.</summary>
public sealed class PoseFit
{
    internal PoseFit(PoseProblem problem, PoseSolution solution)
    {
        Problem = problem;
        Solution = solution;
        State = problem.State(solution.Parameters);
    }

    /// <summary>The projection.</summary>
    public string ProjectionId => Problem.Model.ProjectionId;

    /// <summary>The model that was fitted.</summary>
    public PoseModel Model => Problem.Model;

    /// <summary>The side that was fitted, "R" or "L"; "R" for what lies in the middle of the body.</summary>
    public required string Side { get; init; }

    /// <summary>Whether the image shows that side as in a mirror, so that the phantom of the other side was laid on it.</summary>
    public bool IsMirrored { get; init; }

    /// <summary>The pose that explains the marks best, determined or not.</summary>
    public PoseState State { get; }

    /// <summary>Turn about the image's y axis, or why the view does not determine it.</summary>
    public required Figure<PoseAngle> Turn { get; init; }

    /// <summary>Turn about the image's x axis, or why the view does not determine it.</summary>
    public required Figure<PoseAngle> Tilt { get; init; }

    /// <summary>Turn in the receptor's plane, or why the view does not determine it.</summary>
    public required Figure<PoseAngle> Lean { get; init; }

    /// <summary>The fitted joints.</summary>
    public required IReadOnlyList<PoseJoint> Joints { get; init; }

    /// <summary>Where the centring point lies to the right of the central ray, at the part, in mm.</summary>
    public required PoseLength Right { get; init; }

    /// <summary>The same, downwards.</summary>
    public required PoseLength Down { get; init; }

    /// <summary>Height of the centring point over the receptor, in mm; mostly what the catalogue expects.</summary>
    public required PoseLength Height { get; init; }

    /// <summary>Size over that of the phantom, in percent; mostly what is usual where the distances are not known.</summary>
    public required double SizePercent { get; init; }

    /// <summary>One standard deviation of it, in percent.</summary>
    public required double SizeUncertaintyPercent { get; init; }

    /// <summary>The marked points in the model's order.</summary>
    public required IReadOnlyList<PoseResidual> Residuals { get; init; }

    /// <summary>Another pose that explains the marks alike; null where there is none.</summary>
    public PoseAlternative? Alternative { get; init; }

    /// <summary>What else must be said, one sentence each.</summary>
    public IReadOnlyList<string> Notes { get; init; } = [];

    /// <summary>Names of the fitted parameters, in the order of <see cref="Covariance"/>.</summary>
    public IReadOnlyList<string> ParameterNames => Problem.ParameterNames;

    /// <summary>Covariance of the parameters: degrees for angles, mm for lengths, natural logarithms for sizes, the source's height and the spacing.</summary>
    public required IReadOnlyList<IReadOnlyList<double>> Covariance { get; init; }

    internal PoseProblem Problem { get; }

    internal PoseSolution Solution { get; }

    /// <summary>The fitted pose as a scene of the phantom lab on the image's own grid of pixels.</summary>
    /// <param name="technique">Scene whose technique, receptor kind and rendering are taken; null: the view's usual one.</param>
    /// <param name="longestSide">Most pixels along the longer side; null for all of the image's.</param>
    /// <returns>A scene whose points fall where <see cref="PoseResidual.Fitted"/> says.</returns>
    /// <exception cref="UnreadableSceneException">The lab cannot take the pose; one sentence.</exception>
    public SceneDocument Scene(SceneDocument? technique = null, int? longestSide = null) => SceneAt(State, technique, longestSide);

    /// <summary>A pose as such a scene: the fitted one with other angles, joints or distances.</summary>
    /// <remarks>The lab's bodies have one size. A person of another size is drawn by a room that is larger or smaller instead: every length of the scene is that of the image divided by the size, and the picture is the same.</remarks>
    /// <param name="state">The pose.</param>
    /// <param name="technique">Scene whose technique, receptor kind and rendering are taken; null: the view's usual one.</param>
    /// <param name="longestSide">Most pixels along the longer side; null for all of the image's.</param>
    /// <exception cref="UnreadableSceneException">The lab cannot take the pose; one sentence.</exception>
    public SceneDocument SceneAt(PoseState state, SceneDocument? technique = null, int? longestSide = null) => PoseScene.Of(Problem, state, IsMirrored != (Side == "L") ? "L" : "R", technique, longestSide);

    /// <summary>Where a pose has the model's points, marked or not, in pixels.</summary>
    /// <param name="state">The pose.</param>
    public IReadOnlyDictionary<string, PixelPoint> Places(PoseState state) => Problem.Places(Problem.Parameters(state));
}
