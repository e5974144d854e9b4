using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text.Json;
using Hotlight.Benchmarks;
using Hotlight.Core;
using Hotlight.Measure.Document;

CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
const string Usage = """
    usage: Hotlight.Benchmarks make FILE [ROWS COLUMNS]    writes the generated exposure, 3000 × 3000 × 16 bits unless told
           Hotlight.Benchmarks run [FILE] [--rounds N] [--steps] [--json]    times reading and measuring; without FILE on a generated one in a temporary folder
           Hotlight.Benchmarks document FILE    prints what is measured on a file
    """;

switch (args)
{
    case ["make", string path]:
        GeneratedExposure.Write(path, 3000, 3000);
        return 0;
    case ["make", string path, string rows, string columns]:
        GeneratedExposure.Write(path, int.Parse(rows), int.Parse(columns));
        return 0;
    case ["document", string path]:
        try
        {
            Console.WriteLine(MeasurementJson.Write(Hotlight.Measure.RadiographMeasure.Measure(Hotlight.Imaging.RadiographReader.Read(path))));
            return 0;
        }
        catch (UnreadableImageException problem)
        {
            Console.Error.WriteLine(problem.Message);
            return 2;
        }

    case ["run", .. string[] rest]:
        return Run(rest);
    default:
        Console.Error.WriteLine(Usage);
        return 2;
}

static int Run(string[] rest)
{
    int rounds = 15;
    bool json = false;
    bool steps = false;
    string? file = null;
    for (int at = 0; at < rest.Length; at++)
    {
        switch (rest[at])
        {
            case "--rounds" when at + 1 < rest.Length:
                rounds = int.Parse(rest[++at]);
                break;
            case "--json":
                json = true;
                break;
            case "--steps":
                steps = true;
                break;
            default:
                file = rest[at];
                break;
        }
    }

    string? folder = null;
    try
    {
        if (file is null)
        {
            folder = Directory.CreateTempSubdirectory("hotlight-bench-").FullName;
            file = Path.Combine(folder, "benchmark.dcm");
            Console.Error.WriteLine("drawing a 3000 × 3000 exposure …");
            GeneratedExposure.Write(file, 3000, 3000);
            GC.Collect();
        }

        var benchmark = new PipelineBenchmark();
        benchmark.Run(file, warmUp: 4, rounds, steps, round => Console.Error.Write($"\rround {round} of {rounds + 4} "));
        Console.Error.WriteLine();
        double peakMegabytes = Process.GetCurrentProcess().PeakWorkingSet64 / 1e6;
        if (json)
        {
            Console.WriteLine(JsonSerializer.Serialize(new
            {
                machine = $"{RuntimeInformation.OSDescription}, {Environment.ProcessorCount} cores, .NET {Environment.Version}",
                megapixels = benchmark.Megapixels,
                peakMegabytes,
                medianMs = benchmark.Times.ToDictionary(step => step.Key, step => Median(step.Value)),
                processorMs = benchmark.Times.ToDictionary(step => step.Key, step => benchmark.ProcessorTimes[step.Key] / rounds),
                leastMs = benchmark.Times.ToDictionary(step => step.Key, step => step.Value.Min()),
            }));
            return 0;
        }

        Console.WriteLine($"{"step",-32}{"median ms",10}{"least ms",10}{"processor ms",14}");
        foreach ((string step, List<double> times) in benchmark.Times.OrderBy(step => step.Key == "document as JSON").ThenBy(step => step.Key.Count(c => c == '·')))
        {
            Console.WriteLine($"{step,-32}{Median(times),10:0.0}{times.Min(),10:0.0}{benchmark.ProcessorTimes[step] / rounds,14:0.0}");
        }

        Console.WriteLine($"peak memory {peakMegabytes:0} MB{(folder is null ? "" : ", the drawing of the exposure included")}");
        return 0;
    }
    finally
    {
        if (folder is not null)
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}

static double Median(List<double> values)
{
    double[] sorted = values.Order().ToArray();
    return sorted.Length % 2 == 1 ? sorted[sorted.Length / 2] : (sorted[(sorted.Length / 2) - 1] + sorted[sorted.Length / 2]) / 2;
}
