using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Poses;

namespace Hotlight.Web;

/// <summary>A row of what a fitted pose says.</summary>
/// <param name="Name">What it is about.</param>
/// <param name="Said">The figure with its standard error in words, or why the view does not determine it.</param>
/// <param name="IsDetermined">Whether the view determines it.</param>
/// <param name="IsFault">Whether it counts against what the projection demands; a turn in the image's plane does not.</param>
public sealed record PoseRow(string Name, string Said, bool IsDetermined, bool IsFault = true);

/// <summary>Says a fitted pose in words, in the language in use. Angles are told by the edge of the image that comes nearer to the tube, so that the words hold for either side.</summary>
internal static class PoseWords
{
    /// <summary>The label that every picture of the phantom bears.</summary>
    public static string Label => PosePicture.Label;

    /// <summary>What must be said beside every picture of a repeat.</summary>
    public static string Caution => Texts.Get("handout.simulation.caution");

    /// <summary>What a fitted pose says, row by row.</summary>
    /// <param name="fit">The pose.</param>
    public static IReadOnlyList<PoseRow> Rows(PoseFit fit)
    {
        ArgumentNullException.ThrowIfNull(fit);
        string Edge(bool isRight) => Texts.Get("pose.row.edge", isRight != IsMirrored(fit) ? Texts.Get("pose.edge.right") : Texts.Get("pose.edge.left"));
        return
        [
            Row(Texts.Get("pose.row.turn"), fit.Turn, degrees => Edge(degrees > 0)),
            Row(Texts.Get("pose.row.tilt"), fit.Tilt, degrees => degrees > 0 ? Texts.Get("pose.row.lower") : Texts.Get("pose.row.upper")),
            .. fit.Joints.Select(joint => Row(Sentence(PoseText.Joint(joint.Name)), joint.Angle, _ => null)),
            Row(Texts.Get("pose.row.lean"), fit.Lean, degrees => degrees > 0 != IsMirrored(fit) ? Texts.Get("pose.row.clockwise") : Texts.Get("pose.row.anticlockwise")) with { IsFault = false },
        ];
    }

    /// <summary>An axis or joint that a refinement reports, as a row's name.</summary>
    /// <param name="axis">"turn", "tilt", "lean" or a joint.</param>
    public static string Name(string axis) => axis switch
    {
        "turn" => Texts.Get("pose.row.turn"),
        "tilt" => Texts.Get("pose.row.tilt"),
        "lean" => Texts.Get("pose.row.lean"),
        _ => Sentence(PoseText.Joint(axis)),
    };

    /// <summary>What matching to the image did to an angle.</summary>
    /// <param name="angle">The angle.</param>
    public static string Refined(RefinedAngle angle)
    {
        ArgumentNullException.ThrowIfNull(angle);
        string before = Texts.Number(angle.Before.Degrees, "0.0"), error = Texts.Number(angle.Before.UncertaintyDegrees, "0.0");
        return angle.IsMoved
            ? Texts.Get("pose.refined.moved", Name(angle.Name), before, error, Texts.Number(angle.After.Degrees, "0.0"), Texts.Number(angle.After.UncertaintyDegrees, "0.0"))
            : Texts.Get("pose.refined.stays", Name(angle.Name), before, error);
    }

    /// <summary>The pose in one line: what is determined of what counts.</summary>
    /// <param name="fit">The pose.</param>
    public static string Line(PoseFit fit)
    {
        string[] told = [.. Rows(fit).Where(row => row.IsDetermined && row.IsFault).Select(row => $"{row.Name} {row.Said}")];
        return told.Length == 0 ? Texts.Get("pose.line.none") : string.Join("; ", told) + ".";
    }

    /// <summary>How the marks lie to the phantom's points, one sentence.</summary>
    /// <param name="fit">The pose.</param>
    /// <param name="projection">The catalogue's entry, for the points' names.</param>
    public static string Residuals(PoseFit fit, Projection? projection)
    {
        ArgumentNullException.ThrowIfNull(fit);
        PoseResidual furthest = fit.Residuals.MaxBy(residual => residual.DistanceMm)!;
        double root = Math.Sqrt(fit.Residuals.Average(residual => residual.DistanceMm * residual.DistanceMm));
        return Texts.Get("pose.line.residuals", Texts.Number(root, "0.0"), Texts.Number(fit.Residuals.Count, "0"), PoseText.Name(fit.Model, fit.Model.Find(furthest.Id)!, projection), Texts.Number(furthest.DistanceMm, "0.0"));
    }

    /// <summary>Place and size of the fitted phantom, one sentence.</summary>
    /// <param name="fit">The pose.</param>
    public static string Size(PoseFit fit)
    {
        ArgumentNullException.ThrowIfNull(fit);
        return Texts.Get("pose.line.size", Texts.Number(fit.SizePercent, "0"), Texts.Number(fit.SizeUncertaintyPercent, "0"), Texts.Number(fit.Height.Mm, "0"), Texts.Number(fit.Height.UncertaintyMm, "0"));
    }

    // For a left side, and for a right one in a mirror image, the scene's angles are those of its mirror image.
    private static bool IsMirrored(PoseFit fit) => fit.IsMirrored != (fit.Side == "L");

    private static PoseRow Row(string name, Figure<PoseAngle> figure, Func<double, string?> direction)
    {
        if (figure.Value is not { } angle)
        {
            return new PoseRow(name, figure.Why!, IsDetermined: false);
        }

        string? way = direction(angle.Degrees);
        string said = Texts.Get("pose.row.angle", Texts.Number(Math.Round(way is null ? angle.Degrees : Math.Abs(angle.Degrees)) + 0.0, "0"), Texts.Number(Math.Max(1, Math.Round(angle.UncertaintyDegrees)), "0"));
        return new PoseRow(
            name,
            way is null || Math.Abs(angle.Degrees) < 0.5 ? said
                : Math.Abs(angle.Degrees) <= angle.UncertaintyDegrees ? Texts.Get("pose.row.none", said, way)
                : Texts.Get("pose.row.way", said, way),
            IsDetermined: true);
    }

    private static string Sentence(string phrase) => phrase.Length == 0 ? phrase : char.ToUpperInvariant(phrase[0]) + phrase[1..];
}
