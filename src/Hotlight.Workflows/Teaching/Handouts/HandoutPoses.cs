using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Poses;
using Hotlight.Teaching.Handouts;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Positions;

namespace Hotlight.Workflows.Teaching.Handouts;

/// <summary>The figure of the position in space for a handout, in the language of <see cref="CultureInfo.CurrentUICulture"/>.</summary>
internal static class HandoutPoses
{
    /// <summary>The figure; null where the reader did not ask for it, or no pose can be fitted.</summary>
    /// <param name="prepared">The case, made ready to be given away.</param>
    /// <param name="projection">Its projection in the handout's language.</param>
    public static HandoutSimulation? Of(PublishableCase prepared, Projection projection)
    {
        OpenCase open = prepared.Open;
        if (open.Answers?.Pose?.IsInHandout != true || PoseReading.Fit(open)?.Value is not { } fit)
        {
            return null;
        }

        PosePlan plan = PosePlanner.Plan(fit, projection);
        if (PoseStrip.Of(fit, plan).Value is not { } strip)
        {
            return null;
        }

        return new HandoutSimulation(() => strip.Draw(NumberedMarks.Grey(prepared.Radiograph, open.Measurements, PoseStrip.LongestSide).Grey))
        {
            Angles = PoseReading.AnglesOf(fit),
            Moves = [.. plan.Moves.Select(move => string.Join(" ", [.. move.Words, move.Amount]))],
        };
    }
}
