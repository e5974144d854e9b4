using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using Microsoft.Playwright;

namespace Hotlight.Readers;

/// <summary>Many readers at once, each in a window of its own at a case of their own.</summary>
internal static class Load
{
    // Presses a key as the reader would and tells how long the page took to show what it does: key to changed page, in the page's own time.
    private const string Press = """
        ({ key, shown }) => new Promise((resolve, reject) => {
          const begun = performance.now();
          const isShown = new Function("before", `return (${shown})(before);`);
          const before = { line: document.querySelector(".line.current")?.id, pressed: document.querySelector(".line.current .answer[aria-pressed=true]")?.textContent ?? "", kept: document.querySelector(".kept")?.textContent ?? "" };
          const watch = new MutationObserver(() => {
            if (isShown(before)) {
              watch.disconnect();
              clearTimeout(patience);
              resolve(performance.now() - begun);
            }
          });
          const patience = setTimeout(() => { watch.disconnect(); reject(new Error("nothing was shown for " + key)); }, 20000);
          watch.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true });
          document.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
        })
        """;

    private const string MovedOn = "(before) => document.querySelector('.line.current')?.id !== before.line";
    private const string Answered = "(before) => (document.querySelector('.line.current .answer[aria-pressed=true]')?.textContent ?? '') !== before.pressed";

    public static async Task RunAsync(StartedBench bench, IBrowser browser, int readers, TimeSpan time, TimeSpan pause)
    {
        IReadOnlyList<(string Title, string Path)> cases = await bench.DemoCasesAsync(browser);
        var took = new ConcurrentBag<(string What, double Ms)>();
        var failed = new ConcurrentBag<string>();
        IPage[] pages = new IPage[readers];
        for (int reader = 0; reader < readers; reader++)
        {
            IBrowserContext context = await browser.NewContextAsync(new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = 1280, Height = 720 } });
            pages[reader] = await context.NewPageAsync();
            pages[reader].SetDefaultTimeout(120_000);
            await pages[reader].GotoAsync(new Uri(bench.Address, cases[reader % cases.Count].Path).ToString());
            await pages[reader].WaitForSelectorAsync(".viewer[data-state=shown]");
            await pages[reader].WaitForSelectorAsync(".line.current");
            Console.Error.WriteLine($"{reader + 1} of {readers} readers have a case open");
        }

        await Task.Delay(TimeSpan.FromSeconds(5));
        bench.Process.Refresh();
        TimeSpan busyBefore = bench.Process.TotalProcessorTime;
        long begun = Stopwatch.GetTimestamp();
        await Task.WhenAll(pages.Select((page, reader) => ReadAsync(page, reader, begun, time, pause, took, failed)));
        TimeSpan passed = Stopwatch.GetElapsedTime(begun);
        bench.Process.Refresh();
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{readers} readers, {passed.TotalSeconds:0} s, {took.Count} acts ({took.Count / passed.TotalSeconds:0.0} a second), {failed.Count} failed; the bench used {(bench.Process.TotalProcessorTime - busyBefore).TotalSeconds / passed.TotalSeconds:0.00} processors and {bench.Process.WorkingSet64 / 1048576.0:0} MiB; browser and bench share {Environment.ProcessorCount} processors"));
        Console.WriteLine("| act | n | median ms | 95th percentile ms | most ms |");
        Console.WriteLine("| --- | --- | --- | --- | --- |");
        foreach (IGrouping<string, (string What, double Ms)> group in took.GroupBy(each => each.What).OrderBy(group => group.Key, StringComparer.Ordinal).Append(new All(took)))
        {
            double[] sorted = [.. group.Select(each => each.Ms).Order()];
            Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"| {group.Key} | {sorted.Length} | {sorted[sorted.Length / 2]:0} | {sorted[(int)(0.95 * (sorted.Length - 1))]:0} | {sorted[^1]:0} |"));
        }

        foreach (string failure in failed.Take(5))
        {
            Console.WriteLine($"failed: {failure}");
        }
    }

    private static async Task ReadAsync(IPage page, int reader, long begun, TimeSpan time, TimeSpan pause, ConcurrentBag<(string What, double Ms)> took, ConcurrentBag<string> failed)
    {
        // The same readers every time, and not in step.
        var random = new Random(HashCode.Combine(20261126, reader));
        (string What, string Key, string Shown)[] round = [("next line", "j", MovedOn), ("answer: met", "m", Answered), ("answer: cannot tell", "c", Answered)];
        int steps = 0;
        while (Stopwatch.GetElapsedTime(begun) < time)
        {
            await Task.Delay(pause * (0.5 + random.NextDouble()));
            (string what, string key, string shown) = round[steps++ % round.Length];
            try
            {
                bool isLast = await page.EvaluateAsync<bool>("() => { const lines = [...document.querySelectorAll('.line')]; return lines.at(-1)?.classList.contains('current') ?? true; }");
                if (key == "j" && isLast)
                {
                    await page.Keyboard.PressAsync("o");
                    continue;
                }

                took.Add((what, await page.EvaluateAsync<double>(Press, new { key, shown })));
            }
            catch (PlaywrightException error)
            {
                failed.Add($"{what}: {error.Message.Split('\n')[0]}");
            }
        }
    }

    private sealed class All(IEnumerable<(string What, double Ms)> acts) : IGrouping<string, (string What, double Ms)>
    {
        public string Key => "all";

        public IEnumerator<(string What, double Ms)> GetEnumerator() => acts.GetEnumerator();

        System.Collections.IEnumerator System.Collections.IEnumerable.GetEnumerator() => acts.GetEnumerator();
    }
}
