using System.Globalization;
using Hotlight.Core;
using Hotlight.Poses;

namespace Hotlight.Web;

/// <summary>A row of what a fitted pose says.</summary>
/// <param name="Name">What it is about.</param>
/// <param name="Said">The figure with its standard error in words, or why the view does not determine it.</param>
/// <param name="IsDetermined">Whether the view determines it.</param>
public sealed record PoseRow(string Name, string Said, bool IsDetermined);

/// <summary>Says a fitted pose in words. Angles are told by the edge of the image that comes nearer to the tube, so that the words hold for either side.</summary>
internal static class PoseWords
{
    /// <summary>The label that every picture of the phantom bears.</summary>
    public const string Label = "Simulation with a generic anatomy: not this patient";

    /// <summary>What must be said beside every picture of a repeat.</summary>
    public const string Caution = "A simulation with a generic anatomy, not this patient. It gives no diagnosis and asks for no repeat: a repeat is dose, and whether one is made is for the licensed practitioner to decide, by local protocol.";

    /// <summary>What a fitted pose says, row by row.</summary>
    /// <param name="fit">The pose.</param>
    public static IReadOnlyList<PoseRow> Rows(PoseFit fit)
    {
        ArgumentNullException.ThrowIfNull(fit);
        string right = IsMirrored(fit) ? "left" : "right", left = IsMirrored(fit) ? "right" : "left";
        return
        [
            Row("Turn", fit.Turn, degrees => degrees > 0 ? $"the {right} edge nearer to the tube" : $"the {left} edge nearer to the tube"),
            Row("Tilt", fit.Tilt, degrees => degrees > 0 ? "the lower end nearer to the tube" : "the upper end nearer to the tube"),
            .. fit.Joints.Select(joint => Row(Sentence(PoseText.Joint(joint.Name)), joint.Angle, _ => null)),
            Row("In the image's plane", fit.Lean, degrees => degrees > 0 != IsMirrored(fit) ? "clockwise" : "anticlockwise"),
        ];
    }

    /// <summary>The pose in one line, what is determined first.</summary>
    /// <param name="fit">The pose.</param>
    public static string Line(PoseFit fit)
    {
        string[] told = [.. Rows(fit).Where(row => row.IsDetermined && row.Name != "In the image's plane").Select(row => $"{row.Name.ToLowerInvariant()} {row.Said}")];
        return told.Length == 0 ? "The marks fix no angle well enough to be told." : Sentence(string.Join("; ", told)) + ".";
    }

    /// <summary>How the marks lie to the phantom's points, one sentence.</summary>
    /// <param name="fit">The pose.</param>
    public static string Residuals(PoseFit fit)
    {
        ArgumentNullException.ThrowIfNull(fit);
        PoseResidual furthest = fit.Residuals.MaxBy(residual => residual.DistanceMm)!;
        double root = Math.Sqrt(fit.Residuals.Average(residual => residual.DistanceMm * residual.DistanceMm));
        return string.Create(CultureInfo.InvariantCulture, $"Marks and phantom's points lie {root:0.0} mm apart (root mean square of {fit.Residuals.Count} at the receptor); furthest: {fit.Model.Find(furthest.Id)!.Name}, {furthest.DistanceMm:0.0} mm.");
    }

    /// <summary>Place and size of the fitted phantom, one sentence.</summary>
    /// <param name="fit">The pose.</param>
    public static string Size(PoseFit fit)
        => string.Create(CultureInfo.InvariantCulture, $"The phantom is drawn at {fit.SizePercent:0} % ± {fit.SizeUncertaintyPercent:0} % of its size, its centring point {fit.Height.Mm:0} ± {fit.Height.UncertaintyMm:0} mm over the receptor.");

    // For a left side, and for a right one in a mirror image, the scene's angles are those of its mirror image.
    private static bool IsMirrored(PoseFit fit) => fit.IsMirrored != (fit.Side == "L");

    private static PoseRow Row(string name, Figure<PoseAngle> figure, Func<double, string?> direction)
    {
        if (figure.Value is not { } angle)
        {
            return new PoseRow(name, figure.Why!, IsDetermined: false);
        }

        string said = string.Create(CultureInfo.InvariantCulture, $"{Math.Round(Math.Abs(angle.Degrees)):0}° ± {Math.Max(1, Math.Round(angle.UncertaintyDegrees)):0}°");
        string? way = direction(angle.Degrees);
        return new PoseRow(
            name,
            way is null ? string.Create(CultureInfo.InvariantCulture, $"{Math.Round(angle.Degrees):0}° ± {Math.Max(1, Math.Round(angle.UncertaintyDegrees)):0}°")
                : Math.Abs(angle.Degrees) < 0.5 ? said
                : Math.Abs(angle.Degrees) <= angle.UncertaintyDegrees ? $"{said}, {way}; not to be told from none"
                : $"{said}, {way}",
            IsDetermined: true);
    }

    private static string Sentence(string phrase) => phrase.Length == 0 ? phrase : char.ToUpperInvariant(phrase[0]) + phrase[1..];
}
