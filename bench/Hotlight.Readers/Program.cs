using System.Globalization;
using Hotlight.Readers;
using Microsoft.Playwright;

const string Usage = """
    Readers at a running bench, in Chromium on this machine.

    readers BENCH.dll [--readers 20] [--seconds 60] [--pause 3000] [--data DIR]
        starts the bench with its demo set, opens a case for each reader and lets all of them answer lines,
        write remarks and go from line to line; prints how long the page took to show what was done.
    pictures BENCH.dll OUT [--data DIR]
        opens every page and keeps a picture of it.
    """;
if (args.Length < 2 || args[0] is not ("readers" or "pictures"))
{
    Console.Error.WriteLine(Usage);
    return 1;
}

string Option(string name, string otherwise) => Array.IndexOf(args, name) is int at and >= 0 && at + 1 < args.Length ? args[at + 1] : otherwise;
string data = Option("--data", Path.Combine(Path.GetTempPath(), $"hotlight-readers-{Environment.ProcessId}"));
await using var bench = await StartedBench.StartAsync(args[1], data);
using IPlaywright playwright = await Playwright.CreateAsync();
await using IBrowser browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
{
    ExecutablePath = "/usr/bin/chromium",
    Args = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
});
if (args[0] == "pictures")
{
    await Pictures.TakeAsync(bench, browser, args[2]);
}
else
{
    int readers = int.Parse(Option("--readers", "20"), CultureInfo.InvariantCulture);
    int seconds = int.Parse(Option("--seconds", "60"), CultureInfo.InvariantCulture);
    int pauseMs = int.Parse(Option("--pause", "3000"), CultureInfo.InvariantCulture);
    await Load.RunAsync(bench, browser, readers, TimeSpan.FromSeconds(seconds), TimeSpan.FromMilliseconds(pauseMs));
}

return 0;
