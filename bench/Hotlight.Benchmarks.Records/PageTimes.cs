using System.Diagnostics;
using System.Globalization;
using Microsoft.Playwright;

namespace Hotlight.Benchmarks.Records;

/// <summary>How long a person waits for the pages of a running bench: from the address to the last change of what is shown, in Chromium on the same machine.</summary>
internal static class PageTimes
{
    private const int Rounds = 3;

    // When the page changed last, in ms since the address was opened.
    private const string Watch = """
        window.lastChange = 0;
        new MutationObserver(() => { window.lastChange = performance.now(); }).observe(document, { subtree: true, childList: true, characterData: true, attributes: true });
        """;

    // Drawn: the page of the bench is there, says of nothing that it is under way, and has not changed for a while.
    private const string Drawn = """
        () => document.querySelector('main h1, main h2, main table') !== null && document.querySelector('[aria-busy="true"], main progress') === null
          && !/Counting…|Loading the cases…|Reading what was read…/.test(document.body.innerText) && performance.now() - window.lastChange > 600
        """;

    private static readonly string[] Views = ["", "/projections", "/rooms", "/receptors", "/shifts", "/index", "/entries"];

    private static IEnumerable<string> Addresses()
    {
        foreach (string period in new[] { string.Empty, "?site=&period=all" })
        {
            foreach (string view in Views)
            {
                yield return $"/repeats{view}{period}";
            }
        }

        foreach (string filter in new[] { "&room=Room%203", "&projection=projection-000", "&projection=projection-000&room=Room%203", "&shift=night&age=child", "&by=day", "&by=month&rate=repeats", "&reason=positioning" })
        {
            yield return $"/repeats?site=&period=all{filter}";
        }

        yield return "/repeats/index?site=&period=all&projection=projection-002";
        yield return "/repeats/index?site=&period=all&receptor=Receptor%203a";
        yield return "/repeats/rooms?site=&from=2018-03-09&to=2021-05-20";
        yield return "/repeats/training?site=&period=all&training=2019-05-20";
        yield return "/repeats/training?site=&period=all&training=2019-05-20&control=Room%203";
        yield return "/repeats/entries?site=&period=all&use=rejected&reason=motion&room=Room%202";
        yield return "/repeats/entries?site=&period=all&beyond=3";
        yield return "/records/bring-in";
        yield return "/";
        yield return "/clinic";
        yield return "/agreement";
        yield return "/progress";
    }

    /// <summary>Opens every page some times and writes a line for each.</summary>
    /// <param name="bench">Address of the bench.</param>
    /// <param name="addresses">The pages, behind the bench's address; none: all of them.</param>
    /// <param name="processorMs">Processor time that the bench and its database have used so far.</param>
    public static async Task TimeAsync(string bench, IReadOnlyList<string> addresses, Func<double> processorMs)
    {
        using IPlaywright playwright = await Playwright.CreateAsync();
        await using IBrowser browser = await playwright.Chromium.LaunchAsync(new() { ExecutablePath = "/usr/bin/chromium", Args = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"] });
        await using IBrowserContext context = await browser.NewContextAsync(new() { ViewportSize = new() { Width = 1920, Height = 1080 } });
        await context.AddInitScriptAsync(Watch);

        // Once before: a bench that has just started still compiles.
        await OpenAsync(context, bench + "/repeats");
        await OpenAsync(context, bench + "/repeats/index");
        Console.WriteLine("| page | median ms | longest ms | bench and database, processor ms | load of the machine |");
        Console.WriteLine("| --- | ---: | ---: | ---: | ---: |");
        foreach (string address in addresses.Count > 0 ? addresses : Addresses())
        {
            var times = new List<double>();
            double before = processorMs();
            for (int round = 0; round < Rounds; round++)
            {
                times.Add(await OpenAsync(context, bench + address));
            }

            times.Sort();
            string load = (await File.ReadAllTextAsync("/proc/loadavg")).Split(' ')[0];
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"| {Uri.UnescapeDataString(address)} | {times[Rounds / 2]:0} | {times[^1]:0} | {(processorMs() - before) / Rounds:0} | {load} |"));
        }
    }

    private static async Task<double> OpenAsync(IBrowserContext context, string address)
    {
        IPage page = await context.NewPageAsync();
        page.SetDefaultTimeout(120_000);
        await page.GotoAsync(address);
        await page.WaitForFunctionAsync(Drawn, null, new() { PollingInterval = 50 });
        double shown = await page.EvaluateAsync<double>("window.lastChange");
        await page.CloseAsync();
        return shown;
    }

    /// <summary>Processor time of a process, and of those it started, in ms.</summary>
    /// <param name="number">Number of the process; null: none.</param>
    public static double ProcessorMs(string? number)
    {
        double ms = 0;
        foreach (string folder in number is null ? [] : Directory.EnumerateDirectories("/proc").Where(folder => int.TryParse(Path.GetFileName(folder), CultureInfo.InvariantCulture, out _)))
        {
            try
            {
                string[] fields = File.ReadAllText(Path.Combine(folder, "stat")).Split(") ")[1].Split(' ');
                bool isItself = Path.GetFileName(folder) == number;

                // Its own time in hundredths of a second, for the first process that of those that ended too: a server's helpers come and go.
                string[] own = isItself ? fields[11..15] : fields[1] == number ? fields[11..13] : [];
                ms += own.Sum(field => long.Parse(field, CultureInfo.InvariantCulture)) * 10;
            }
            catch (IOException)
            {
                // A process that ended meanwhile.
            }
        }

        return ms;
    }
}
