using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Poses;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Teaching.Handouts;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Positions;

namespace Hotlight.Workflows.Teaching.Handouts;

/// <summary>The figure of the position in space for a handout, in the language of <see cref="CultureInfo.CurrentUICulture"/>.</summary>
internal static class HandoutPoses
{
    private const int LongestSide = 512;

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
        SceneDocument lies, should;
        try
        {
            lies = fit.Scene(null, LongestSide);
            should = fit.SceneAt(plan.Corrected, null, LongestSide);
        }
        catch (UnreadableSceneException)
        {
            return null;
        }

        // Drawn later, perhaps in another language: the words are taken now.
        string label = Texts.Get("pose.label"), image = Texts.Get("handout.simulation.image"), first = Texts.Get("handout.simulation.lies"), second = Texts.Get("handout.simulation.should");
        return new HandoutSimulation(() => SimulationStrip.Draw(
            [
                new StripPanel(NumberedMarks.Grey(prepared.Radiograph, open.Measurements, LongestSide).Grey, image, IsSimulated: false),
                Panel(lies, first),
                .. plan.Moves.Count > 0 ? [Panel(should, second)] : Array.Empty<StripPanel>(),
            ],
            label))
        {
            Angles =
            [
                .. new[] { (Texts.Get("pose.axis.turn"), fit.Turn), (Texts.Get("pose.axis.tilt"), fit.Tilt) }
                    .Concat(fit.Joints.Select(joint => (PoseText.Joint(joint.Name), joint.Angle)))
                    .Where(angle => angle.Item2.IsMeasured)
                    .Select(angle => Texts.Get("handout.simulation.angle", angle.Item1, Texts.Number(angle.Item2.Value!.Degrees, "0"), Texts.Number(Math.Max(1, angle.Item2.Value.UncertaintyDegrees), "0"))),
            ],
            Moves = [.. plan.Moves.Select(move => string.Join(" ", [.. move.Words, move.Amount]))],
        };
    }

    private static StripPanel Panel(SceneDocument scene, string heading)
    {
        ReadOnlyRaster<byte> grey = Lab.Look(scene, LongestSide).Grey;
        return new StripPanel(new Raster<byte>(grey.Rows, grey.Columns, grey.Samples.ToArray()), heading, IsSimulated: true);
    }
}
