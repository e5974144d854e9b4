using System.Globalization;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Poses;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Workflows.Positions;

/// <summary>A radiograph beside the phantom as the part lay and, where something is to be moved, as it should lie. Its words are those of <see cref="CultureInfo.CurrentUICulture"/> when it is made, also where it is drawn later.</summary>
public sealed class PoseStrip
{
    /// <summary>Pixels along the longer side of each picture.</summary>
    public const int LongestSide = 512;

    private readonly SceneDocument lies;
    private readonly SceneDocument? should;
    private readonly string label;
    private readonly string image = Texts.Get("handout.simulation.image");
    private readonly string first = Texts.Get("handout.simulation.lies");
    private readonly string second = Texts.Get("handout.simulation.should");

    private PoseStrip(SceneDocument lies, SceneDocument? should, bool isProposed)
    {
        this.lies = lies;
        this.should = should;
        label = isProposed ? Texts.Get("pose.proposed.label", Texts.Get("pose.label")) : Texts.Get("pose.label");
    }

    /// <summary>A strip of a fitted pose.</summary>
    /// <param name="fit">The pose.</param>
    /// <param name="plan">What to move.</param>
    /// <param name="isProposed">Whether the points were proposed and looked at by nobody: the label says so.</param>
    /// <returns>The strip, or why the lab cannot lay the phantom so.</returns>
    public static Figure<PoseStrip> Of(PoseFit fit, PosePlan plan, bool isProposed = false)
    {
        ArgumentNullException.ThrowIfNull(fit);
        ArgumentNullException.ThrowIfNull(plan);
        try
        {
            return Figure<PoseStrip>.Measured(new PoseStrip(fit.Scene(null, LongestSide), plan.Moves.Count > 0 ? fit.SceneAt(plan.Corrected, null, LongestSide) : null, isProposed));
        }
        catch (UnreadableSceneException error)
        {
            return Figure<PoseStrip>.CannotTell(error.Message);
        }
    }

    /// <summary>Draws it.</summary>
    /// <param name="radiograph">The radiograph as it is shown, 0 black to 255 white, <see cref="LongestSide"/> along its longer side.</param>
    public SimulationStrip Draw(Raster<byte> radiograph)
        => SimulationStrip.Draw([new StripPanel(radiograph, image, IsSimulated: false), Panel(lies, first), .. should is null ? Array.Empty<StripPanel>() : [Panel(should, second)]], label);

    private static StripPanel Panel(SceneDocument scene, string heading)
    {
        ReadOnlyRaster<byte> grey = Lab.Look(scene, LongestSide).Grey;
        return new StripPanel(new Raster<byte>(grey.Rows, grey.Columns, grey.Samples.ToArray()), heading, IsSimulated: true);
    }
}
