using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Poses;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Positions;

namespace Hotlight.Workflows.Teaching.WalkThroughs;

/// <summary>The phantom of a case's position in space for its walk-through, in the language of <see cref="CultureInfo.CurrentUICulture"/>.</summary>
internal static class WalkPhantoms
{
    /// <summary>The phantom; null where the reader did not ask for it, or no pose can be fitted.</summary>
    /// <param name="open">The case.</param>
    /// <param name="projection">Its projection.</param>
    public static WalkPhantom? Of(OpenCase open, Projection projection)
    {
        if (open.Answers?.Pose?.IsInHandout != true || PoseReading.Fit(open)?.Value is not { } fit)
        {
            return null;
        }

        PosePlan plan = PosePlanner.Plan(fit, projection);
        IReadOnlyList<string> angles = PoseReading.AnglesOf(fit);
        return new WalkPhantom(
            Texts.Get("pose.label"),
            Outlines(fit, fit.State),
            plan.Moves.Count > 0 ? Outlines(fit, plan.Corrected) : [],
            angles.Count == 0 ? [] : [Texts.Get("handout.simulation.angles", string.Join("; ", angles))],
            [.. plan.Moves.SelectMany(move => move.Words.Append(move.Amount))],
            Texts.Get("pose.move.caution"));
    }

    private static IReadOnlyList<IReadOnlyList<PixelPoint>> Outlines(PoseFit fit, PoseState state)
        => [.. PoseContours.Of(fit, state, withSkin: false).Select(contour => contour.Points)];
}
