using System.Diagnostics;
using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Scene;

namespace Hotlight.Benchmarks.Projection;

/// <summary>Whole exposures: path lengths, 25 energies, scatter, grid, blur, noise and truth; and previews of a pose that changes.</summary>
internal static class ExposureTimes
{
    /// <summary>Prints medians over rounds, of wall time and processor time.</summary>
    public static void Print(int rounds)
    {
        Console.WriteLine("| what | pixels | triangles | first, ms | then, ms | processor, ms |");
        Console.WriteLine("| --- | --- | --- | --- | --- | --- |");
        foreach ((string part, string view) in new[] { ("wrist", "pa"), ("knee", "ap"), ("foot", "ankle-mortise"), ("chest", "pa"), ("lumbarSpine", "ap") })
        {
            SceneDocument scene = SceneStarts.For(part, view);
            SceneReceptor receptor = scene.Receptor;
            double longest = Math.Max(receptor.WidthMm, receptor.HeightMm);
            scene = scene with { Receptor = receptor with { WidthMm = longest, HeightMm = longest, SpacingMm = longest / 2048 } };
            Row($"{part} {view}", "2048 × 2048", scene, rounds, (one, round) => one with { Seed = (ulong)round + 2 }, one => _ = Lab.Expose(one));
        }

        SceneDocument knee = SceneStarts.For("knee", "ap");
        foreach ((string part, string view) in new[] { ("wrist", "pa"), ("knee", "ap"), ("chest", "pa") })
        {
            Row($"{part} {view}, preview, turned each time", "512", SceneStarts.For(part, view), rounds, (one, round) => one with { Part = one.Part! with { TurnDegrees = 1 + (round % 20) } }, one => _ = Lab.Preview(one));
        }

        Row("knee ap, preview, bent each time", "512", knee, rounds, (one, round) => one with { Part = one.Part! with { Joints = new Dictionary<string, double> { ["kneeFlexion"] = 1 + (round % 40) } } }, one => _ = Lab.Preview(one));
    }

    private static void Row(string what, string pixels, SceneDocument scene, int rounds, Func<SceneDocument, int, SceneDocument> change, Action<SceneDocument> work)
    {
        Stopwatch watch = Stopwatch.StartNew();
        work(scene);
        double first = watch.Elapsed.TotalMilliseconds;
        List<(double Wall, double Processor)> times = [];
        for (int round = 0; round < rounds; round++)
        {
            SceneDocument next = change(scene, round);
            TimeSpan before = Process.GetCurrentProcess().TotalProcessorTime;
            watch.Restart();
            work(next);
            times.Add((watch.Elapsed.TotalMilliseconds, (Process.GetCurrentProcess().TotalProcessorTime - before).TotalMilliseconds));
        }

        double wall = times.Select(time => time.Wall).Order().ElementAt(rounds / 2);
        double processor = times.Select(time => time.Processor).Order().ElementAt(rounds / 2);
        Console.WriteLine($"| {what} | {pixels} | {Triangles(scene)} | {first:0} | {wall:0} | {processor:0} |");
    }

    /// <summary>Triangles of all surfaces of a scene's part, as they are meshed for its pixels.</summary>
    private static long Triangles(SceneDocument scene)
    {
        SceneSetup setup = new(scene, null);
        MeshCache cache = new(50_000_000);
        _ = new BodyProjection(setup.Geometry, 1, cache: cache).Project(setup.Body!);
        return cache.Triangles;
    }
}
