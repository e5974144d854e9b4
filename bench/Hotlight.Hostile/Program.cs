using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using Hotlight.Hostile;
using SharpFuzz;

// list | seeds TARGET FOLDER [SHARED-DATA] | search TARGET SECONDS SEEDS FOUND | fuzz TARGET | run TARGET FILE... | time TARGET SECONDS
unsafe
{
    // Libraries that were given counters count from their first step on: until the fuzzer gives its own memory, into this.
    SharpFuzz.Common.Trace.SharedMem = (byte*)NativeMemory.AllocZeroed(1 << 16);
}

string root = FindRoot();
switch (args)
{
    case ["list"]:
        foreach (HostileTarget each in BenchTargets.All)
        {
            Console.WriteLine(each.Name);
        }

        return 0;
    case ["seeds", string name, string folder, .. string[] shared]:
        Directory.CreateDirectory(folder);
        int number = 0;
        foreach (byte[] seed in Of(name).Seeds(root).Concat(Shared(name, shared)))
        {
            File.WriteAllBytes(Path.Combine(folder, string.Create(CultureInfo.InvariantCulture, $"{number++:0000}")), seed);
        }

        Console.WriteLine(number);
        return 0;
    case ["search", string name, string seconds, string seedFolder, string foundFolder]:
        Console.WriteLine(new Search(Of(name), seedFolder, foundFolder).Run(TimeSpan.FromSeconds(double.Parse(seconds, CultureInfo.InvariantCulture))));
        return 0;
    case ["fuzz", string name]:
        HostileTarget target = Of(name);
        Fuzzer.OutOfProcess.Run(stream =>
        {
            using MemoryStream whole = new();
            stream.CopyTo(whole);
            target.Check(whole.ToArray());
        });
        return 0;
    case ["run", string name, .. string[] files]:
        foreach (string file in files)
        {
            Stopwatch watch = Stopwatch.StartNew();
            string outcome = "kept to its word";
            try
            {
                Of(name).Check(File.ReadAllBytes(file));
            }
            catch (Exception error)
            {
                outcome = error.ToString();
            }

            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{file}: {watch.ElapsedMilliseconds} ms: {outcome}"));
        }

        return 0;
    case ["time", string name, string seconds]:
        HostileTarget timed = Of(name);
        byte[][] seeds = [.. timed.Seeds(root)];
        long runs = 0;
        Stopwatch clock = Stopwatch.StartNew();
        while (clock.Elapsed.TotalSeconds < double.Parse(seconds, CultureInfo.InvariantCulture))
        {
            timed.Check(seeds[runs++ % seeds.Length]);
        }

        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{name}: {runs / clock.Elapsed.TotalSeconds:0} a second"));
        return 0;
    default:
        Console.Error.WriteLine("list | seeds TARGET FOLDER [SHARED-DATA] | search TARGET SECONDS SEEDS FOUND | fuzz TARGET | run TARGET FILE... | time TARGET SECONDS");
        return 2;
}

static HostileTarget Of(string name) => BenchTargets.All.FirstOrDefault(each => each.Name == name) ?? throw new ArgumentException($"There is no target '{name}'.");

static string FindRoot()
{
    string? folder = Environment.GetEnvironmentVariable("HOTLIGHT_ROOT") ?? AppContext.BaseDirectory;
    while (folder is not null && !File.Exists(Path.Combine(folder, "Hotlight.slnx")))
    {
        folder = Path.GetDirectoryName(folder);
    }

    return folder ?? throw new InvalidOperationException("Run it inside the repository, or name it with HOTLIGHT_ROOT.");
}

// Small files of the shared data, where they are there: large ones only make the search slow.
static IEnumerable<byte[]> Shared(string name, string[] shared)
{
    const int LargestBytes = 64 * 1024;
    string[] kinds = name switch
    {
        "dicom" or "dicom-attributes" or "deidentify" or "exposure-source" or "jpeg2000" => ["malformed", "radiographs-dicom"],
        "png" or "jpeg" or "tiff" => ["radiographs-photo", "malformed"],
        "mesh" => ["bones"],
        _ => [],
    };
    return shared.SelectMany(folder => kinds.Select(kind => Path.Combine(folder, kind))).Where(Directory.Exists)
        .SelectMany(folder => Directory.EnumerateFiles(folder, "*", SearchOption.AllDirectories)).Order(StringComparer.Ordinal)
        .Where(file => new FileInfo(file).Length <= LargestBytes && !file.EndsWith(".tsv", StringComparison.Ordinal)).Select(File.ReadAllBytes);
}
