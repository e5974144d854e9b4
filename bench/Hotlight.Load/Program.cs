using System.Globalization;
using Hotlight.Load;

const string Usage = """
    Hotlight.Load BENCH [--readers 50] [--uploaders 5] [--pages 5] [--seconds 600] [--pause 3000] [--worker-dies 30] [--data FOLDER]
      BENCH is the path of Hotlight.Web.dll. Starts it on loopback and lets readers and uploaders work on it all at once; prints errors, times and memory.
    """;
if (args.Length < 1 || args[0].StartsWith("--", StringComparison.Ordinal))
{
    Console.Error.WriteLine(Usage);
    return 1;
}

int Number(string name, int otherwise) => Array.IndexOf(args, name) is int at and >= 0 && at + 1 < args.Length ? int.Parse(args[at + 1], CultureInfo.InvariantCulture) : otherwise;
string Text(string name, string otherwise) => Array.IndexOf(args, name) is int at and >= 0 && at + 1 < args.Length ? args[at + 1] : otherwise;
LoadReport report = await LoadRun.RunAsync(new LoadPlan
{
    Bench = Path.GetFullPath(args[0]),
    Data = Text("--data", Path.Combine(Path.GetTempPath(), $"hotlight-load-{Environment.ProcessId}")),
    Readers = Number("--readers", 50),
    Uploaders = Number("--uploaders", 5),
    Pages = Number("--pages", 5),
    Time = TimeSpan.FromSeconds(Number("--seconds", 600)),
    Pause = TimeSpan.FromMilliseconds(Number("--pause", 3000)),
    WorkerDiesEvery = TimeSpan.FromSeconds(Number("--worker-dies", 30)),
}, Console.Error);
report.Print(Console.Out);
return report.Errors.Count == 0 ? 0 : 2;
