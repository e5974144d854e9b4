using System.Diagnostics;
using System.Globalization;
using System.Numerics;
using System.Runtime.InteropServices;
using Hotlight.Benchmarks.Projection;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;

CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
if (args is ["exposures", string wanted] && int.TryParse(wanted, out int exposures))
{
    Console.WriteLine($"{RuntimeInformation.OSDescription}, {Environment.ProcessorCount} cores, .NET {Environment.Version}; medians of {exposures} rounds, load of others not excluded");
    ExposureTimes.Print(exposures);
    return 0;
}

if (args is not [string roundsText, string peer, .. string[] rest] || !int.TryParse(roundsText, out int rounds))
{
    Console.Error.WriteLine("usage: Hotlight.Benchmarks.Projection ROUNDS EMBREE-PROGRAM [MESH.stl UNIT]    bench/compare-projection runs it");
    return 2;
}

Console.WriteLine($"{RuntimeInformation.OSDescription}, {Environment.ProcessorCount} cores, .NET {Environment.Version}; medians of {rounds} rounds, load of others not excluded");
BeamGeometry geometry = new(2048, 2048, 0.15, 1100) { Source = new Vector3(30, -50, 1090) };
TriangleMesh mesh;
if (rest is [string path, string unit])
{
    mesh = MeshReader.ReadClosed(path, Enum.Parse<MeshUnit>(unit)).Mesh;
    Vector3 middle = 0.5f * (mesh.Bounds.Minimum + mesh.Bounds.Maximum);
    mesh = mesh.Transformed(Pose.Identity with { Origin = new Vector3(0, 0, 300) - middle });
}
else
{
    // A long bone of 280 mm, 150,000 triangles.
    mesh = ShapeMesher.FromShape(
        new SmoothUnion(
            9,
            new TaperedCapsule(new(-6, -110, 60), new(4, 90, 66), 17, 13),
            new Ellipsoid(new(-24, -112, 58), new(26, 22, 30)),
            new Ellipsoid(new(22, -108, 58), new(25, 23, 29)),
            new Ellipsoid(new(8, 104, 70), new(24, 26, 22)),
            new TaperedCapsule(new(4, 90, 66), new(-26, 112, 60), 12, 9)),
        0.855f);
}

Console.WriteLine($"{mesh.TriangleCount} triangles onto {geometry.Rows} × {geometry.Columns} pixels");
Console.WriteLine("| what | once, ms | each projection, ms | processor, ms | Hotlight / it, by processor |");
Console.WriteLine("| --- | --- | --- | --- | --- |");
string folder = Directory.CreateTempSubdirectory("hotlight-bench-").FullName;
try
{
    Raster<float> ours = new(geometry.Rows, geometry.Columns);
    MeshProjector projector = new(geometry);
    (double oursMs, double oursProcessorMs) = Median(() => projector.Add(mesh, Pose.Identity, 1, ours), () => ours.Samples.Clear());
    Console.WriteLine($"| Hotlight, signed depths | 0 | {oursMs:0.0} | {oursProcessorMs:0} | 1 |");

    Stopwatch watch = Stopwatch.StartNew();
    PlainRayCaster caster = new(mesh);
    double treeMs = watch.Elapsed.TotalMilliseconds;
    Raster<float> plain = new(geometry.Rows, geometry.Columns);
    (double plainMs, double plainProcessorMs) = Median(() => caster.Cast(geometry, plain), () => { });
    Console.WriteLine($"| plain ray caster, boxes split at the median | {treeMs:0} | {plainMs:0} | {plainProcessorMs:0} | {oursProcessorMs / plainProcessorMs:0.000} |");

    WriteMesh(Path.Combine(folder, "mesh.bin"), mesh, geometry);
    using Process process = Process.Start(new ProcessStartInfo(peer, [Path.Combine(folder, "mesh.bin"), Path.Combine(folder, "chords.f32"), (rounds + 2).ToString()]) { RedirectStandardOutput = true })!;
    string[] lines = process.StandardOutput.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries);
    process.WaitForExit();
    double buildMs = double.Parse(lines[0].Split(' ')[1]);
    double castMs = Middle([.. lines.Skip(3).Select(line => double.Parse(line.Split(' ')[1]))]);
    double castProcessorMs = Middle([.. lines.Skip(3).Select(line => double.Parse(line.Split(' ')[2]))]);
    Console.WriteLine($"| Embree 3, packets of 8 | {buildMs:0} | {castMs:0} | {castProcessorMs:0} | {oursProcessorMs / castProcessorMs:0.000} |");
    Console.WriteLine();
    float[] theirs = MemoryMarshal.Cast<byte, float>(File.ReadAllBytes(Path.Combine(folder, "chords.f32"))).ToArray();
    Console.WriteLine($"Hotlight's lengths lie between {ours.Samples.ToArray().Min():0.0000} and {ours.Samples.ToArray().Max():0.00} mm");
    Difference("plain ray caster", ours.Samples, plain.Samples);
    Difference("Embree", ours.Samples, theirs);

    Mesher();
    Bodies();
    return 0;
}
finally
{
    Directory.Delete(folder, recursive: true);
}

(double WallMs, double ProcessorMs) Median(Action work, Action between)
{
    List<double> times = [];
    List<double> processor = [];
    for (int round = 0; round < rounds + 2; round++)
    {
        between();
        TimeSpan before = Process.GetCurrentProcess().TotalProcessorTime;
        Stopwatch watch = Stopwatch.StartNew();
        work();
        if (round >= 2)
        {
            times.Add(watch.Elapsed.TotalMilliseconds);
            processor.Add((Process.GetCurrentProcess().TotalProcessorTime - before).TotalMilliseconds);
        }
    }

    return (Middle(times), Middle(processor));
}

static double Middle(List<double> values)
{
    values.Sort();
    return values[values.Count / 2];
}

static void Difference(string name, ReadOnlySpan<float> ours, ReadOnlySpan<float> theirs)
{
    List<double> differences = [];
    for (int at = 0; at < ours.Length; at++)
    {
        if (ours[at] > 0 || theirs[at] > 0)
        {
            differences.Add(Math.Abs(ours[at] - theirs[at]));
        }
    }

    differences.Sort();
    Console.WriteLine($"Hotlight − {name}, {differences.Count} rays: median {differences[differences.Count / 2]:0.00000} mm, 99.9 % within {differences[(int)(differences.Count * 0.999)]:0.0000} mm, {differences.Count(difference => difference > 1)} rays over 1 mm, largest {differences[^1]:0.000} mm");
}

static void WriteMesh(string path, TriangleMesh mesh, BeamGeometry geometry)
{
    using BinaryWriter writer = new(File.Create(path));
    writer.Write(geometry.Rows);
    writer.Write(geometry.Columns);
    writer.Write(mesh.Vertices.Length);
    writer.Write(mesh.TriangleCount);
    writer.Write(geometry.SpacingMm);
    writer.Write(geometry.CentralRay.X);
    writer.Write(geometry.CentralRay.Y);
    writer.Write((double)geometry.Source.X);
    writer.Write((double)geometry.Source.Y);
    writer.Write((double)geometry.Source.Z);
    foreach (Vector3 vertex in mesh.Vertices)
    {
        writer.Write(vertex.X);
        writer.Write(vertex.Y);
        writer.Write(vertex.Z);
    }

    foreach (int corner in mesh.Corners)
    {
        writer.Write(corner);
    }
}

void Mesher()
{
    Shape carpal = new SmoothUnion(2, new Ellipsoid(new(0, 0, 0), new(8, 10, 8)), new TaperedCapsule(new(0, 0, 0), new(4, 12, 3), 6, 5), new Ellipsoid(new(-3, -7, 2), new(6, 7, 7)));
    Shape trunk = new SmoothUnion(20, new Ellipsoid(new(0, 0, 0), new(170, 225, 110)), new Ellipsoid(new(0, -120, 0), new(200, 90, 115)), new Ellipsoid(new(0, 130, 5), new(180, 95, 125)));
    int carpalTriangles = 0;
    int trunkTriangles = 0;
    (double carpalMs, double carpalProcessorMs) = Median(() => carpalTriangles = ShapeMesher.FromShape(carpal, 0.5f).TriangleCount, () => { });
    (double trunkMs, double trunkProcessorMs) = Median(() => trunkTriangles = ShapeMesher.FromShape(trunk, 3).TriangleCount, () => { });
    Vector3 carpalSize = carpal.Bounds.Maximum - carpal.Bounds.Minimum;
    Vector3 trunkSize = trunk.Bounds.Maximum - trunk.Bounds.Minimum;
    Console.WriteLine();
    Console.WriteLine($"meshing {carpalSize.X:0} × {carpalSize.Y:0} × {carpalSize.Z:0} mm in cells of 0.5 mm: {carpalTriangles} triangles, {carpalMs:0.0} ms, processor {carpalProcessorMs:0} ms");
    Console.WriteLine($"meshing {trunkSize.X:0} × {trunkSize.Y:0} × {trunkSize.Z:0} mm in cells of 3 mm: {trunkTriangles} triangles, {trunkMs:0.0} ms, processor {trunkProcessorMs:0} ms");
}

void Bodies()
{
    Console.WriteLine();
    Console.WriteLine("| part | receptor | meshes made, ms | meshes kept, ms | processor, ms |");
    Console.WriteLine("| --- | --- | --- | --- | --- |");
    foreach (PartPhantom part in PartPhantoms.All)
    {
        foreach (int side in new[] { 2048, 512 })
        {
            PartView view = part.Views[0];
            Body body = part.Place(view, new PartForm(), left: false, new PartOffset(LiftMm: 10), (shape, pose) => pose.ToOuter(shape.Bounds).Minimum.Z);
            Vector3 size = body.Placement.ToOuter(body.Skin.Bounds).Maximum - body.Placement.ToOuter(body.Skin.Bounds).Minimum;
            BeamGeometry beam = new(side, side, Math.Clamp(MathF.Max(size.X, size.Y), 200, 430) / side, 1150);
            MeshCache cache = new(20_000_000);
            Stopwatch watch = Stopwatch.StartNew();
            _ = new BodyProjection(beam, 1, cache: cache).Project(body);
            double first = watch.Elapsed.TotalMilliseconds;
            int turn = 0;
            Body turned = body;
            (double kept, double keptProcessor) = Median(
                () => _ = new BodyProjection(beam, 1, cache: cache).Project(turned),
                () => turned = body with { Placement = body.Placement.Within(Pose.Turned(Vector3.Zero, 0, 0, ++turn)) });
            Console.WriteLine($"| {part.Name} {view.Name} | {side} × {side} | {first:0} | {kept:0} | {keptProcessor:0} |");
        }
    }
}
