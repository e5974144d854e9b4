using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Objects;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Receptor;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Scene;

/// <summary>The receptor's signal of one exposure with everything it was made of.</summary>
internal sealed record SimulatedExposure
{
    public required SceneSetup Setup { get; init; }

    public required Leaves Leaves { get; init; }

    /// <summary>Lengths at the beginning of the exposure.</summary>
    public required PathLengths Paths { get; init; }

    /// <summary>What the receptor read, in µGy of the calibration beam.</summary>
    public required Raster<float> SignalMicrogray { get; init; }

    /// <summary>The same without any noise, in µGy.</summary>
    public required Raster<float> CleanMicrogray { get; init; }

    /// <summary>Signal at which the receptor is full, in µGy.</summary>
    public required double SaturationMicrogray { get; init; }

    /// <summary>The beam that made it.</summary>
    public required XRayBeam Beam { get; init; }

    public required SceneTruth Truth { get; init; }
}

/// <summary>What arrives at the receptor.</summary>
/// <param name="Beam">The beam that made it.</param>
/// <param name="Paths">Lengths in the part at the beginning of the exposure, in mm.</param>
/// <param name="Others">Lengths in everything else, in mm.</param>
/// <param name="Scatter">Scatter behind the grid, in µGy.</param>
/// <param name="Microgray">Mean signal, blurred by the focal spot, in µGy of the calibration beam.</param>
/// <param name="MiddleHeightMm">Height at which the focal spot's blur was taken, in mm.</param>
internal sealed record SceneSignal(XRayBeam Beam, PathLengths Paths, IReadOnlyDictionary<string, Raster<float>> Others, Raster<float> Scatter, Raster<float> Microgray, double MiddleHeightMm);

/// <summary>Runs a scene: path lengths, attenuation, collimator, heel, grid, scatter, focal spot, receptor.</summary>
internal static class SceneSimulator
{
    /// <param name="setup">The scene in the room.</param>
    /// <param name="progress">Told the share that is done, 0 to 1; null for nobody.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <param name="energies">Number of energies of the beam.</param>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public static SimulatedExposure Expose(SceneSetup setup, IProgress<double>? progress, CancellationToken cancellation, int energies = XRayBeam.Energies)
    {
        SceneSignal made = Signal(setup, ProjectionDetail.Full, progress, cancellation, energies);
        (Raster<float> read, Raster<float> clean, Raster<float> expected) = made.Beam.Read(made.Microgray, setup.Scene.Seed);
        progress?.Report(0.95);
        SceneTruth truth = SceneTruthBuilder.Build(setup, made.Beam, made.Paths, made.Others, read, clean, expected, made.Scatter, made.MiddleHeightMm);
        progress?.Report(1);
        return new SimulatedExposure { Setup = setup, Leaves = made.Beam.Leaves, Paths = made.Paths, SignalMicrogray = read, CleanMicrogray = clean, SaturationMicrogray = made.Beam.SaturationMicrogray, Beam = made.Beam, Truth = truth };
    }

    /// <summary>The mean signal that arrives at the receptor, blurred by the focal spot.</summary>
    /// <param name="setup">The scene in the room.</param>
    /// <param name="detail">How finely the part is projected.</param>
    /// <param name="progress">Told the share that is done, 0 to 1; null for nobody.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <param name="energies">Number of energies of the beam.</param>
    /// <exception cref="OperationCanceledException">The work was stopped.</exception>
    public static SceneSignal Signal(SceneSetup setup, ProjectionDetail detail, IProgress<double>? progress, CancellationToken cancellation, int energies)
    {
        BeamGeometry geometry = setup.Geometry;
        XRayBeam beam = new(setup, energies);
        Raster<float> illumination = detail == ProjectionDetail.Full ? beam.Illumination() : beam.QuickIllumination();
        progress?.Report(0.05);

        // The course of the exposures: positions of the part with their shares.
        List<(Pose Placement, float Share)> course = Course(setup);
        PrimaryBeam primary = new(geometry, beam.Quality, cancellation);
        BodyProjection projection = new(geometry, setup.PersonSeed, detail: detail, cancellation: cancellation);
        Pose still = setup.Body?.Placement ?? Pose.Identity;
        BeamItem[] fixedItems = [.. setup.Items.Where(item => !item.MovesWithPart)];
        BeamItem[] movingItems = [.. setup.Items.Where(item => item.MovesWithPart)];
        Dictionary<string, Raster<float>> fixedLengths = primary.Others(fixedItems, still);
        Raster<float> sum = new(geometry.Rows, geometry.Columns);
        PathLengths? first = null;
        Dictionary<string, Raster<float>> firstOthers = [];
        for (int slice = 0; slice < course.Count; slice++)
        {
            cancellation.ThrowIfCancellationRequested();
            (Pose placement, float share) = course[slice];
            PathLengths part = setup.Body is null
                ? new PathLengths(geometry.Rows, geometry.Columns)
                : projection.Project(setup.Body with { Placement = placement });
            Dictionary<string, Raster<float>> others = movingItems.Length == 0 ? fixedLengths : Combined(fixedLengths, primary.Others(movingItems, placement));
            primary.Add(new BeamPaths(part, others), illumination, share, sum);
            if (slice == 0)
            {
                first = part;
                firstOthers = others;
            }

            progress?.Report(0.05 + (0.55 * (slice + 1) / course.Count));
        }

        Raster<float> scatter = beam.Scatter(sum, first!, firstOthers);
        beam.ThroughGrid(sum, scatter);
        Raster<float> signal = Sum(sum, scatter);
        progress?.Report(0.75);

        // The focal spot as seen at half the part's height.
        double middle = 0.5 * (setup.HighestZ() + setup.Middle.Z);
        return new SceneSignal(beam, first!, firstOthers, scatter, beam.BlurredByFocalSpot(signal, middle), middle);
    }

    /// <summary>Where the part is by the end of its motion.</summary>
    public static Pose Moved(SceneSetup setup, Pose placement, double shiftX, double shiftY, double turnDegrees, double leanDegrees, double share)
    {
        Vector3 pivot = setup.Body!.Placement.ToOuter(setup.Body.Landmarks[setup.View!.Centring]);
        Pose turn = BodyBuilder.About(pivot, Vector3.UnitY, -turnDegrees * share);
        Pose lean = BodyBuilder.About(pivot, Vector3.UnitZ, leanDegrees * share);
        Pose moved = placement.Within(turn).Within(lean);
        return moved with { Origin = moved.Origin + new Vector3((float)(shiftX * share), (float)(shiftY * share), 0) };
    }

    private static List<(Pose Placement, float Share)> Course(SceneSetup setup)
    {
        SceneDocument scene = setup.Scene;
        Pose still = setup.Body?.Placement ?? Pose.Identity;
        List<(Pose Placement, float Share)> course = [];
        if (scene.Motion is { } motion && setup.Body is not null)
        {
            // A step of at most 0.7 pixel, seen at 60 mm from the pivot for turns.
            double way = Math.Sqrt((motion.ShiftMm[0] * motion.ShiftMm[0]) + (motion.ShiftMm[1] * motion.ShiftMm[1]))
                + (60 * Math.PI / 180 * (Math.Abs(motion.TurnDegrees) + Math.Abs(motion.LeanDegrees)));
            int slices = motion.Slices >= 2 ? motion.Slices : Math.Clamp((int)Math.Ceiling(way / (0.7 * setup.Geometry.SpacingMm)), 2, 16);
            for (int slice = 0; slice < slices; slice++)
            {
                course.Add((Moved(setup, still, motion.ShiftMm[0], motion.ShiftMm[1], motion.TurnDegrees, motion.LeanDegrees, (slice + 0.5) / slices), 1f / slices));
            }
        }
        else
        {
            course.Add((still, 1));
        }

        if (scene.SecondExposure is { } second && setup.Body is not null)
        {
            course.Add((Moved(setup, still, second.ShiftMm[0], second.ShiftMm[1], second.TurnDegrees, second.LeanDegrees, 1), (float)second.ExposureShare));
        }

        return course;
    }

    private static Raster<float> Sum(Raster<float> first, Raster<float> second)
    {
        Raster<float> sum = new(first.Rows, first.Columns);
        Parallel.For(0, sum.Rows, row =>
        {
            ReadOnlySpan<float> a = first.Row(row);
            ReadOnlySpan<float> b = second.Row(row);
            Span<float> to = sum.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = a[column] + b[column];
            }
        });
        return sum;
    }

    private static Dictionary<string, Raster<float>> Combined(Dictionary<string, Raster<float>> still, Dictionary<string, Raster<float>> moving)
    {
        Dictionary<string, Raster<float>> both = new(still);
        foreach ((string material, Raster<float> lengths) in moving)
        {
            if (both.TryGetValue(material, out Raster<float>? known))
            {
                Raster<float> together = new(lengths.Rows, lengths.Columns);
                for (int at = 0; at < together.Samples.Length; at++)
                {
                    together.Samples[at] = lengths.Samples[at] + known.Samples[at];
                }

                both[material] = together;
            }
            else
            {
                both[material] = lengths;
            }
        }

        return both;
    }
}
