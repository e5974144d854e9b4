using System.Numerics;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Simulation;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Poses.Tests;

/// <summary>An exposure of somebody who is not the phantom: another size, stretched along three axes, every bone a little larger, broader or elsewhere, and marks with errors.</summary>
/// <remarks>The fit knows nothing of it; what is true of the pose is the scene's.</remarks>
internal sealed record OtherAnatomy(SceneDocument Scene, MarkedLandmarks Marks, SimulatedExposure Exposure)
{
    public Radiograph Radiograph => SceneFile.Radiograph(Exposure, linear: false);

    /// <summary>Draws one.</summary>
    /// <param name="model">The projection.</param>
    /// <param name="seed">The same seed gives the same person, pose and marks.</param>
    /// <param name="isChild">A child of eight in place of an adult.</param>
    /// <param name="pixels">Pixels along the receptor's longer side.</param>
    /// <param name="markingMm">One standard deviation of marking along each axis, in mm at the receptor.</param>
    public static OtherAnatomy Draw(PoseModel model, int seed, bool isChild = false, int pixels = 900, double markingMm = 1)
    {
        Random random = new(seed);
        double Normal() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
        double Between(double low, double high) => low + ((high - low) * random.NextDouble());
        Vector3 Spread(double mm) => new((float)(mm * Normal()), (float)(mm * Normal()), (float)(mm * Normal()));
        LabPart part = Lab.Parts.First(known => known.Name == model.Part);
        double Joint(PoseJointSpread joint)
        {
            LabJoint range = part.Joints.First(known => known.Name == joint.Name);
            return Math.Clamp(joint.ExpectedDegrees + (Between(-1, 1) * joint.SpreadDegrees), range.MinimumDegrees, range.MaximumDegrees);
        }

        SceneDocument start = SceneStarts.For(model.Part, model.View);
        SceneDocument scene = start with
        {
            Seed = (ulong)seed + 1,
            Part = start.Part! with
            {
                Side = part.IsPaired && random.Next(2) == 0 ? "L" : "R",
                Size = isChild ? "child" : "adult",
                TurnDegrees = Between(-15, 15),
                TiltDegrees = Between(-15, 15),
                LeanDegrees = Between(-12, 12),
                ShiftMm = [Between(-8, 8), Between(-8, 8)],
                LiftMm = Between(8, 25),
                Habitus = Between(0.85, 1.2),
                Joints = model.Joints.ToDictionary(joint => joint.Name, Joint, StringComparer.Ordinal),
            },
            Receptor = start.Receptor with { SpacingMm = Math.Max(start.Receptor.WidthMm, start.Receptor.HeightMm) / pixels },
        };
        SceneSetup setup = new(scene, null, quick: true);
        Body body = setup.Body!;

        // The centring point stays where the scene puts it; axes of other lengths stretch what is projected.
        double size = Between(0.92, 1.12);
        Vector3 stretch = new((float)(size * Math.Exp(0.03 * Normal())), (float)(size * Math.Exp(0.03 * Normal())), (float)(size * Math.Exp(0.03 * Normal())));
        Vector3 centre = body.Landmarks[PartPhantoms.ByName(model.Part).View(model.View).Centring];
        Pose placed = new(Vector3.Zero, stretch.X * body.Placement.X, stretch.Y * body.Placement.Y, stretch.Z * body.Placement.Z);
        placed = placed with { Origin = body.Placement.ToOuter(centre) - placed.ToOuter(centre) };
        List<Bone> bones = [];
        foreach (Bone bone in body.Bones)
        {
            Vector3 middle = 0.5f * (bone.Surface.Bounds.Minimum + bone.Surface.Bounds.Maximum);
            Pose own = new(Vector3.Zero, (float)Math.Exp(0.025 * Normal()) * bone.Pose.X, (float)Math.Exp(0.01 * Normal()) * bone.Pose.Y, (float)Math.Exp(0.025 * Normal()) * bone.Pose.Z);
            own = own with { Origin = bone.Pose.ToOuter(middle) + Spread(0.8) - own.ToOuter(middle) };
            bones.Add(new Bone { Name = bone.Name, Surface = bone.Surface, Pose = own, AxisOrigin = bone.AxisOrigin, Axis = bone.Axis, CortexMm = bone.CortexMm, SpongyShare = bone.SpongyShare, GrainDepth = bone.GrainDepth, GrainAcrossMm = bone.GrainAcrossMm, GrainAlongMm = bone.GrainAlongMm, UnevenMm = bone.UnevenMm });
        }

        float share = PlaceTable.SizeShare(model.Part, isChild);
        Dictionary<string, LandmarkPoint> marks = new(StringComparer.Ordinal);
        foreach (PosePoint point in model.Points)
        {
            if (point.Anatomy.Any(landmark => !body.Landmarks.ContainsKey(landmark)))
            {
                continue;
            }

            Vector3 place = point.Bone is { } name
                ? Moved(PlaceTable.PlaceOf(point, body, share), body.Bones.FindIndex(bone => bone.Name == name))
                : point.Anatomy.Aggregate(Vector3.Zero, (sum, landmark) => sum + Moved(body.Landmarks[landmark], Nearest(body.Landmarks[landmark]))) / point.Anatomy.Count;
            PixelPoint seen = setup.Geometry.Project(placed.ToOuter(place));
            double deviation = markingMm / scene.Receptor.SpacingMm;
            PixelPoint marked = new(X: seen.X + (deviation * Normal()), Y: seen.Y + (deviation * Normal()));
            if (marked.X >= 0 && marked.Y >= 0 && marked.X < setup.Geometry.Columns && marked.Y < setup.Geometry.Rows)
            {
                marks[point.Id] = LandmarkPoint.At(marked, deviation);
            }
        }

        Body other = body with { Placement = placed, Bones = bones };
        SimulatedExposure exposure = SceneSimulator.Expose(new SceneSetup(scene, null, quick: true) { Body = other }, null, default);
        return new OtherAnatomy(scene, new MarkedLandmarks(model.ProjectionId, marks), exposure);

        Vector3 Moved(Vector3 at, int bone) => bone < 0 ? at : bones[bone].Pose.ToOuter(body.Bones[bone].Pose.ToLocal(at));

        // A landmark goes with the bone whose surface it lies on, and with none where it lies on none.
        int Nearest(Vector3 at)
        {
            int nearest = Enumerable.Range(0, bones.Count).MinBy(bone => Away(at, bone));
            return Away(at, nearest) > 6 ? -1 : nearest;
        }

        float Away(Vector3 at, int bone) => MathF.Abs(body.Bones[bone].Surface.Distance(body.Bones[bone].Pose.ToLocal(at)));
    }

    /// <summary>What is true of an angle, in degrees.</summary>
    /// <param name="name">"turn", "tilt", "lean" or a joint.</param>
    public double Truth(string name) => name switch
    {
        "turn" => Scene.Part!.TurnDegrees,
        "tilt" => Scene.Part!.TiltDegrees,
        "lean" => Scene.Part!.LeanDegrees,
        _ => Scene.Part!.Joints[name],
    };
}
