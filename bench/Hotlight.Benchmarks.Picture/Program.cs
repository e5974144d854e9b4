// Pictures a second of the phantom while its pose, a joint, or the beam changes from one to the next.
// And how far poses refined by the picture are from the truth, beside those of the marks alone.
// usage: Hotlight.Benchmarks.Picture [FRAMES [PIXELS]] | refine POSES SEED [PROJECTION ...]
using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using Hotlight.Benchmarks.Picture;
using Hotlight.Poses;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
if (args is ["refine", string posesText, string seedText, .. string[] projections] && int.TryParse(posesText, out int poses) && int.TryParse(seedText, out int seed))
{
    RefinedErrors.Print(projections.Length > 0 ? projections : [.. PoseModels.All.Select(model => model.ProjectionId)], poses, seed);
    return 0;
}

int frames = args.Length > 0 && int.TryParse(args[0], out int wanted) && wanted is >= 4 and <= 1000 ? wanted : 16;
int side = args.Length > 1 && int.TryParse(args[1], out int pixels) && pixels is >= 64 and <= 1024 ? pixels : 512;
(string Part, string View, string Joint)[] views =
[
    ("wrist", "pa", "fingerFlexion"), ("wrist", "lateral", "fingerFlexion"),
    ("elbow", "lateral", "elbowFlexion"), ("elbow", "ap", "forearmPronation"),
    ("shoulder", "ap", "armRotation"),
    ("knee", "ap", "kneeFlexion"), ("knee", "lateral", "kneeFlexion"),
    ("foot", "ankle-ap", "ankleDorsiflexion"), ("foot", "ankle-mortise", "ankleDorsiflexion"), ("foot", "ankle-lateral", "ankleDorsiflexion"),
    ("chest", "pa", "inspiration"), ("chest", "pa", "shoulderRoll"),
];
Console.WriteLine($"{RuntimeInformation.OSDescription}, {Environment.ProcessorCount} cores, .NET {Environment.Version}; {frames} pictures each, {side} pixels along the longer side, load of others not excluded");
Console.WriteLine("| part | view | joint | pose changes: a second | processor ms | joint changes: a second | processor ms | slowest ms | beam changes: a second | processor ms | full preview, joint changes: a second |");
Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
foreach ((string part, string view, string joint) in views)
{
    SceneDocument scene = SceneStarts.For(part, view);
    LabJoint range = Lab.Parts.First(each => each.Name == part).Joints.First(each => each.Name == joint);
    IReadOnlyDictionary<string, double> set = Lab.Parts.First(each => each.Name == part).Views.First(each => each.Name == view).Joints;
    double start = set.TryGetValue(joint, out double asked) ? asked : range.DefaultDegrees;
    double reach = start + 12 > range.MaximumDegrees ? -1 : 1;
    double most = Math.Min(8, 0.8 * (range.MaximumDegrees - range.MinimumDegrees));

    // No two settings are alike, so that no body and no soft surface is found again.
    SceneDocument Bent(int frame, double offset) => scene with
    {
        Part = scene.Part! with { Joints = new Dictionary<string, double> { [joint] = start + (reach * most * (frame + 1 + offset) / (frames + 2)) } },
    };
    SceneDocument Turned(int frame) => scene with { Part = scene.Part! with { TurnDegrees = -8 + (16.0 * frame / frames), TiltDegrees = 4.0 * frame / frames, LeanDegrees = 3.0 * frame / frames } };
    SceneDocument Lit(int frame) => scene with
    {
        Tube = scene.Tube with
        {
            TubeVoltageKvp = scene.Tube.TubeVoltageKvp + (8.0 * frame / frames),
            ExposureMas = scene.Tube.ExposureMas * (1 + (0.5 * frame / frames)),
            SourceImageDistanceMm = scene.Tube.SourceImageDistanceMm * (1 + (0.1 * frame / frames)),
            AngleDegrees = [6.0 * frame / frames, 0],
        },
        Collimator = scene.Collimator with { WidthMm = scene.Collimator.WidthMm * (1 - (0.2 * frame / frames)) },
    };
    for (int warm = 0; warm < 4; warm++)
    {
        Lab.Look(Turned(warm), side);
        Lab.Look(Bent(warm, 0.5), side);
        Lab.Look(Lit(warm), side);
    }

    Times pose = Run(Turned, scene => Lab.Look(scene, side));
    Times bend = Run(frame => Bent(frame, 0), scene => Lab.Look(scene, side));
    Times beam = Run(frame => Lit(frame), scene => Lab.Look(scene, side));
    Times preview = Run(frame => Bent(frame, 0.25), scene => Lab.Preview(scene, side));
    Console.WriteLine($"| {part} | {view} | {joint} | {pose.PerSecond:0.0} | {pose.ProcessorMs:0} | {bend.PerSecond:0.0} | {bend.ProcessorMs:0} | {bend.SlowestMs:0} | {beam.PerSecond:0.0} | {beam.ProcessorMs:0} | {preview.PerSecond:0.0} |");
}

return 0;

Times Run(Func<int, SceneDocument> scene, Func<SceneDocument, object> draw)
{
    List<double> times = [];
    TimeSpan before = Process.GetCurrentProcess().TotalProcessorTime;
    for (int frame = 0; frame < frames; frame++)
    {
        SceneDocument next = scene(frame);
        long begun = Stopwatch.GetTimestamp();
        _ = draw(next);
        times.Add(Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
    }

    double processor = (Process.GetCurrentProcess().TotalProcessorTime - before).TotalMilliseconds / frames;
    times.Sort();
    return new Times(1000 / times[times.Count / 2], processor, times[^1]);
}

internal readonly record struct Times(double PerSecond, double ProcessorMs, double SlowestMs);
