using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Poses;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Proposals;

/// <summary>An exposure of the phantom lab in a random pose, and where the points of the pose's model lie.</summary>
/// <param name="Scene">The scene.</param>
/// <param name="Radiograph">Its image for presentation.</param>
/// <param name="Truth">What is true of it.</param>
/// <param name="Places">Places of the points, in pixels.</param>
internal sealed record RandomExposure(SceneDocument Scene, Radiograph Radiograph, SceneTruth Truth, IReadOnlyDictionary<string, PixelPoint> Places)
{
    /// <summary>Makes one.</summary>
    /// <param name="model">The projection's model.</param>
    /// <param name="seed">All that is random.</param>
    public static RandomExposure Make(PoseModel model, int seed)
    {
        Random chance = new(seed);
        double Between(double least, double most) => least + ((most - least) * chance.NextDouble());
        SceneDocument start = SceneStarts.For(model.Part, model.View);
        bool chest = model.Part == "chest";
        double reach = chest ? 10 : 20;
        double shiftRight = Between(-12, 12);
        double shiftDown = Between(-12, 12);
        SceneDocument scene = start with
        {
            Id = "proposal",
            Seed = (ulong)seed,
            Part = start.Part! with
            {
                Side = chest || chance.NextDouble() < 0.5 ? "R" : "L",
                                // A child's elbow has not all of the points yet.
                Size = chance.NextDouble() < 0.1 && model.Part != "elbow" ? "child" : "adult",
                Habitus = Between(0.75, 1.4),
                Person = (ulong)chance.Next(1, int.MaxValue),
                TurnDegrees = Between(-reach, reach),
                TiltDegrees = Between(-reach, reach) * 0.75,
                LeanDegrees = Between(-12, 12),
                ShiftMm = [shiftRight, shiftDown],
                LiftMm = Between(0, 25),
                Joints = model.Joints.ToDictionary(joint => joint.Name, joint => Clamped(model, joint.Name, joint.ExpectedDegrees + Between(-1.5, 1.5) * joint.SpreadDegrees)),
            },
            Tube = start.Tube with
            {
                TubeVoltageKvp = start.Tube.TubeVoltageKvp * Between(0.9, 1.15),
                ExposureMas = start.Tube.ExposureMas * Between(0.5, 2),
            },
            Collimator = start.Collimator with { WidthMm = start.Collimator.WidthMm * Between(0.85, 1.2), HeightMm = start.Collimator.HeightMm * Between(0.85, 1.2), CentreMm = [Between(-6, 6), Between(-6, 6)] },
            Receptor = start.Receptor with { SpacingMm = chest ? 0.8 : 0.4 },
            Rendering = start.Rendering with { WindowWidthShare = start.Rendering.WindowWidthShare * Between(0.85, 1.3), SharpeningShare = Between(0, 1) },
        };
        LabExposure exposure = Lab.Expose(scene);
        return new RandomExposure(scene, RadiographReader.Read(exposure.ForPresentation(), "proposal.dcm"), exposure.Truth, model.Places(scene));
    }

    /// <summary>Whether a place lies in the visible field.</summary>
    /// <param name="place">The place, in pixels.</param>
    public bool Shows(PixelPoint place)
    {
        bool inside = false;
        IReadOnlyList<PixelPoint> outline = Truth.FieldOutline;
        for (int a = 0, b = outline.Count - 1; a < outline.Count; b = a++)
        {
            if ((outline[a].Y > place.Y) != (outline[b].Y > place.Y)
                && place.X < ((outline[b].X - outline[a].X) * (place.Y - outline[a].Y) / (outline[b].Y - outline[a].Y)) + outline[a].X)
            {
                inside = !inside;
            }
        }

        return inside && place.X >= 0 && place.Y >= 0 && place.X <= Radiograph.Columns - 1 && place.Y <= Radiograph.Rows - 1;
    }

    private static double Clamped(PoseModel model, string joint, double degrees)
    {
        LabJoint range = Lab.Parts.First(part => part.Name == model.Part).Joints.First(each => each.Name == joint);
        return Math.Clamp(degrees, range.MinimumDegrees, range.MaximumDegrees);
    }
}
