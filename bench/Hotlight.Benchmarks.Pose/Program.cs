// How long a pose takes to fit, and how far fitted poses of other people are off.
// usage: Hotlight.Benchmarks.Pose time [POSES] | accuracy [POSES [SEED]] | bones FILE [SEED] | places FOLDER | cases FILE
using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text.Json;
using Hotlight.Benchmarks.Pose;
using Hotlight.Poses;
using Hotlight.Poses.Tests;

CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
int count = args.Length > 1 && int.TryParse(args[1], out int wanted) && wanted is >= 5 and <= 100_000 ? wanted : 200;
int seed = args.Length > 2 && int.TryParse(args[2], out int given) ? given : 1;
switch (args.FirstOrDefault())
{
    case "time":
        Time(count);
        return 0;
    case "accuracy":
        Accuracy(count, seed);
        return 0;
    case "bones" when args.Length > 1:
        Bones(args[1], 200, seed);
        return 0;
    case "places" when args.Length == 2:
        foreach (PoseModel model in PoseModels.All)
        {
            foreach (bool child in new[] { false, true })
            {
                File.WriteAllText(Path.Combine(args[1], StoredPlaces.FileName(model, child)), PlaceTable.Build(model, child).Stored().ToJson());
            }
        }

        return 0;
    case "cases" when args.Length == 2:
        SolverCases.Write(args[1]);
        return 0;
    default:
        Console.Error.WriteLine("usage: Hotlight.Benchmarks.Pose time [POSES] | accuracy [POSES [SEED]] | bones FILE [SEED] | places FOLDER | cases FILE");
        return 2;
}

static void Time(int poses)
{
    Console.WriteLine($"{RuntimeInformation.OSDescription}, {Environment.ProcessorCount} cores, .NET {Environment.Version}; {poses} poses each, load of others not excluded");
    var loading = Stopwatch.StartNew();
    int models = PoseModels.All.Count;
    Console.WriteLine($"{models} models read in {loading.ElapsedMilliseconds} ms");
    Console.WriteLine("| projection | points | joints | first fit ms | median ms | 90th ms |");
    Console.WriteLine("| --- | --- | --- | --- | --- | --- |");
    foreach (PoseModel model in PoseModels.All)
    {
        // The people are drawn first: their bodies are the lab's work, not the fit's. The first fit builds the table of the phantom's places.
        var people = new OtherPeople(model, 7);
        var watch = Stopwatch.StartNew();
        _ = PlaceTable.Of(model, false);
        double first = watch.Elapsed.TotalMilliseconds;
        MarkedRadiograph[] radiographs = [.. Enumerable.Range(0, poses).Select(_ => people.Next())];
        var times = new List<double>();
        foreach (MarkedRadiograph radiograph in radiographs)
        {
            watch.Restart();
            PoseFitter.Fit(model, radiograph.Marks, radiograph.Geometry, radiograph.Side);
            times.Add(watch.Elapsed.TotalMilliseconds);
        }

        first += times[0];
        times.Sort();
        Console.WriteLine($"| {model.ProjectionId} | {model.Points.Count} | {model.Joints.Count} | {first:0} | {times[times.Count / 2]:0.0} | {times[times.Count * 9 / 10]:0.0} |");
    }
}

static void Accuracy(int poses, int seed)
{
    Console.WriteLine($"{poses} poses each, seed {seed}");
    Console.WriteLine("| projection | people | axis | said | median error | 90th | within one stated deviation | all: median | 90th |");
    Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    foreach (PoseModel model in PoseModels.All)
    {
        (string Name, OtherPeople People)[] groups =
        [
            ("distance known", new OtherPeople(model, seed)),
            ("not known", new OtherPeople(model, seed) { IsDistanceKnown = false }),
            ("nor the spacing", new OtherPeople(model, seed) { IsDistanceKnown = false, IsSpacingKnown = false }),
            ("children", new OtherPeople(model, seed) { IsChild = true }),
        ];
        foreach ((string name, OtherPeople people) in groups)
        {
            var tally = new PoseTally().Add(model, people, poses);
            foreach ((string axis, AxisTally at) in tally.Axes)
            {
                string said = at.Determined == 0 ? "| – | – | – " : $"| {AxisTally.Share(at.Errors, 0.5):0.0}° | {AxisTally.Share(at.Errors, 0.9):0.0}° | {100.0 * at.Covered / at.Determined:0} % ";
                Console.WriteLine($"| {model.ProjectionId} | {name} | {axis} | {100.0 * at.Determined / at.Count:0} % {said}| {AxisTally.Share(at.AllErrors, 0.5):0.0}° | {AxisTally.Share(at.AllErrors, 0.9):0.0}° |");
            }

            if (tally.Refused > 0 || tally.Mirrored > 0)
            {
                Console.WriteLine($"| {model.ProjectionId} | {name} | refused {tally.Refused}, taken for a mirror image {tally.Mirrored} | | | | | | |");
            }
        }
    }
}

static void Bones(string file, int poses, int seed)
{
    JsonElement bones = JsonDocument.Parse(File.ReadAllText(file)).RootElement;
    Console.WriteLine($"{poses} poses each, seed {seed}");
    Console.WriteLine("| projection | points | zero | axis | said | median error | 90th | within one stated deviation | all: median | 90th | mean with its sign |");
    Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    foreach (string projection in RealBones.Projections(bones))
    {
        PoseModel model = PoseModels.For(projection)!;
        foreach ((bool withFoot, string zero) in new[] { (true, "overlay"), (true, "axes"), (false, "overlay"), (false, "axes") })
        {
            if (!withFoot && projection != "ankle-lateral")
            {
                continue;
            }

            var people = new RealBones(bones, model, zero, seed) { WithFoot = withFoot };
            var tally = new PoseTally();
            for (int pose = 0; pose < poses; pose++)
            {
                tally.Add(model, people.Next());
            }

            foreach ((string axis, AxisTally at) in tally.Axes.Where(each => each.Key is "turn" or "tilt" or "lean"))
            {
                string said = at.Determined == 0 ? "| – | – | – " : $"| {AxisTally.Share(at.Errors, 0.5):0.0}° | {AxisTally.Share(at.Errors, 0.9):0.0}° | {100.0 * at.Covered / at.Determined:0} % ";
                Console.WriteLine($"| {projection} | {(withFoot ? "all" : "leg and talus")} | {zero} | {axis} | {100.0 * at.Determined / at.Count:0} % {said}| {AxisTally.Share(at.AllErrors, 0.5):0.0}° | {AxisTally.Share(at.AllErrors, 0.9):0.0}° | {at.MeanError:0.0}° |");
            }
        }
    }
}
