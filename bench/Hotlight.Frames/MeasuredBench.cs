using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Web;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Playwright;

namespace Hotlight.Frames;

/// <summary>A bench with one case, and a browser that measures it.</summary>
internal sealed class MeasuredBench : IAsyncDisposable
{
    private const int OpenRounds = 7;

    /// <summary>Notes when the viewer first shows something, and what each frame's callbacks cost.</summary>
    private const string Notes =
        """
        const costs = window.hotlightCosts = [];
        const ask = window.requestAnimationFrame.bind(window);
        let frame = -1;
        window.requestAnimationFrame = (callback) => ask((time) => {
          const began = performance.now();
          callback(time);
          const took = performance.now() - began;
          if (frame === time) costs[costs.length - 1] += took; else costs.push(took);
          frame = time;
        });
        const seen = window.hotlightSeen = {};
        new MutationObserver(() => {
          const state = document.querySelector(".viewer")?.dataset.state;
          if (state && seen[state] === undefined) seen[state] = performance.now();
        }).observe(document, { subtree: true, childList: true, attributes: true, attributeFilter: ["data-state"] });
        """;

    /// <summary>Changes the picture once a frame and gives the time from frame to frame and what the page's own work took.</summary>
    private const string Loop =
        """
        async ([act, frames]) => {
          const stage = document.querySelector("[data-view=stage]");
          const box = stage.getBoundingClientRect();
          const at = (x, y) => ({ clientX: box.left + box.width * x, clientY: box.top + box.height * y, pointerId: 1, pointerType: "mouse", bubbles: true });
          const acts = {
            drag: (turn) => stage.dispatchEvent(new PointerEvent("pointermove", { ...at(0.5 + 0.1 * Math.sin(turn / 9), 0.5 + 0.1 * Math.cos(turn / 7)), buttons: 1 })),
            hover: (turn) => stage.dispatchEvent(new PointerEvent("pointermove", { ...at(0.5 + 0.2 * Math.sin(turn / 19), 0.5 + 0.2 * Math.cos(turn / 17)), buttons: 0 })),
            zoom: (turn) => stage.dispatchEvent(new WheelEvent("wheel", { ...at(0.5, 0.5), deltaY: turn % 60 < 30 ? -30 : 30, cancelable: true })),
          };
          const between = [];
          let last;
          window.hotlightCosts.length = 0;
          await new Promise((done) => {
            let turn = 0;
            const step = (time) => {
              if (last !== undefined) between.push(time - last);
              last = time;
              acts[act](turn);
              if (++turn <= frames) requestAnimationFrame(step); else done();
            };
            requestAnimationFrame(step);
          });
          return { between, costs: window.hotlightCosts.slice(5) };
        }
        """;

    private readonly string folder;
    private readonly WebApplication bench;
    private readonly IPlaywright playwright;
    private readonly IBrowser browser;
    private readonly Guid caseId;

    private MeasuredBench(string folder, WebApplication bench, IPlaywright playwright, IBrowser browser, Guid caseId, Radiograph radiograph)
    {
        this.folder = folder;
        this.bench = bench;
        this.playwright = playwright;
        this.browser = browser;
        this.caseId = caseId;
        (Columns, Rows) = (radiograph.Columns, radiograph.Rows);
    }

    /// <summary>Columns of the image.</summary>
    public int Columns { get; }

    /// <summary>Rows of the image.</summary>
    public int Rows { get; }

    /// <summary>The browser's version.</summary>
    public string BrowserVersion => browser.Version;

    /// <summary>Starts bench and browser, and keeps the image as a case.</summary>
    /// <param name="file">The image; null: one is drawn.</param>
    /// <param name="chromium">The browser.</param>
    public static async Task<MeasuredBench> StartAsync(string? file, string chromium)
    {
        string folder = Directory.CreateTempSubdirectory("hotlight-frames-").FullName;
        if (file is null)
        {
            file = Path.Combine(folder, "drawn.dcm");
            using FileStream drawn = File.Create(file);
            DicomWriter.Write(drawn, DxObject.Create(Drawn(3000, 3000), new DxDescription { PatientName = "Invented^Frames", PatientId = "F-1", Seed = "frames" }));
        }

        WebApplication bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = Path.Combine(folder, "data"), WithDemoCases = false }, TextWriter.Null);
        CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
        using FileStream content = File.OpenRead(file);
        CaseBroughtIn brought = await cases.BringInAsync("frames.dcm", content, long.MaxValue);
        Radiograph radiograph = await cases.RadiographAsync(brought.Record);
        IPlaywright playwright = await Playwright.CreateAsync();
        IBrowser browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = chromium,
            Args = ["--no-sandbox", "--disable-background-networking", "--enable-unsafe-swiftshader"],
        });
        return new MeasuredBench(folder, bench, playwright, browser, brought.Record.Id, radiograph);
    }

    /// <summary>Measures at a size of the window and prints a line a kind of work.</summary>
    /// <param name="width">CSS pixels.</param>
    /// <param name="height">CSS pixels.</param>
    /// <param name="frames">Frames a kind.</param>
    public async Task PrintAsync(int width, int height, int frames)
    {
        IBrowserContext context = await browser.NewContextAsync(new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = width, Height = height } });
        context.SetDefaultTimeout(120_000);
        await context.AddInitScriptAsync(Notes);
        IPage page = await context.NewPageAsync();
        string list = Bench.AddressOf(bench).ToString();
        var coarse = new List<double>();
        var full = new List<double>();
        for (int round = 0; round < OpenRounds; round++)
        {
            await page.GotoAsync(list);
            ILocator link = page.Locator($"a[href$='/cases/{caseId}']").First;
            await link.WaitForAsync();
            double began = await page.EvaluateAsync<double>("(id) => { for (const name of Object.keys(window.hotlightSeen)) delete window.hotlightSeen[name]; const began = performance.now(); document.querySelector(`a[href$='/cases/${id}']`).click(); return began; }", caseId.ToString());
            await page.WaitForSelectorAsync(".viewer[data-state=shown]");
            double[] seen = await page.EvaluateAsync<double[]>("() => [window.hotlightSeen.coarse ?? window.hotlightSeen.shown, window.hotlightSeen.shown]");
            coarse.Add(seen[0] - began);
            full.Add(seen[1] - began);
        }

        int[] stage = await page.EvaluateAsync<int[]>("() => { const canvas = document.querySelector('[data-view=picture]'); return [canvas.width, canvas.height]; }");
        string? means = await page.Locator(".viewer").GetAttributeAsync("data-means");
        Console.WriteLine();
        Console.WriteLine($"window {width} × {height}, canvas {stage[0]} × {stage[1]}, drawn by the {means}");
        Console.WriteLine($"from the click on a case to the first picture {Figures(coarse)} ms, to all pixels {Figures(full)} ms (median, 95th percentile of {OpenRounds})");
        Console.WriteLine("| work | frame to frame, median ms | 95th percentile | page's own work, 2nd percentile ms | median | 95th percentile |");
        Console.WriteLine("| --- | --- | --- | --- | --- | --- |");
        ILocator pane = page.Locator("[data-view=stage]");
        LocatorBoundingBoxResult box = (await pane.BoundingBoxAsync())!;
        await pane.FocusAsync();
        foreach ((string name, string[] keys, string act, bool pressed, bool moves) in new (string, string[], string, bool, bool)[]
        {
            ("windowing, whole image", ["f"], "drag", true, false),
            ("moving, 1:1", ["1"], "drag", true, true),
            ("windowing, 1:1", ["1"], "drag", true, false),
            ("zooming", ["f"], "zoom", false, false),
            ("hot light, whole image", ["f", "l"], "hover", false, false),
            ("mottle lens, whole image", ["f", "q"], "hover", false, false),
        })
        {
            foreach (string key in keys)
            {
                await page.Keyboard.PressAsync(key);
            }

            if (moves)
            {
                await page.EvaluateAsync("() => document.querySelector('[data-do=drag]').click()");
            }

            await page.Mouse.MoveAsync(box.X + (box.Width / 2), box.Y + (box.Height / 2));
            if (pressed)
            {
                await page.Mouse.DownAsync();
            }

            FrameTimes times = await page.EvaluateAsync<FrameTimes>(Loop, new object[] { act, frames });
            if (pressed)
            {
                await page.Mouse.UpAsync();
            }

            if (moves)
            {
                await page.EvaluateAsync("() => document.querySelector('[data-do=drag]').click()");
            }

            if (keys.Length > 1)
            {
                await page.Keyboard.PressAsync(keys[1]);
            }

            await page.Keyboard.PressAsync("w");
            Console.WriteLine($"| {name} | {Quantile(times.Between, 0.5)} | {Quantile(times.Between, 0.95)} | {Quantile(times.Costs, 0.02)} | {Quantile(times.Costs, 0.5)} | {Quantile(times.Costs, 0.95)} |");
        }

        await context.CloseAsync();
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await browser.DisposeAsync();
        playwright.Dispose();
        await bench.StopAsync();
        await bench.DisposeAsync();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        Directory.Delete(folder, recursive: true);
    }

    private static string Figures(IReadOnlyList<double> values) => $"{Quantile(values, 0.5)}, {Quantile(values, 0.95)}";

    private static string Quantile(IReadOnlyList<double> values, double fraction)
        => values.Count == 0 ? "none" : values.Order().ElementAt((int)(fraction * (values.Count - 1))).ToString("0.0", CultureInfo.InvariantCulture);

    /// <summary>A limb in a field, with noise: enough for a picture whose neighbouring pixels differ.</summary>
    private static Radiograph Drawn(int rows, int columns)
    {
        var pixels = new Raster<ushort>(rows, columns);
        uint state = 2463534242;
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                // Marsaglia's xorshift: the noise must only be quick and differ from pixel to pixel.
                state ^= state << 13;
                state ^= state >> 17;
                state ^= state << 5;
                bool isInField = row > rows / 10 && row < 0.9 * rows && column > columns / 10 && column < 0.9 * columns;
                double across = (column - (columns / 2.0)) / (columns / 6.0);
                double signal = !isInField ? 600 : Math.Abs(across) >= 1 ? 52000 : 52000 * Math.Exp(-2 * Math.Sqrt(1 - (across * across)));
                pixels[row, column] = (ushort)(signal * (0.98 + (0.04 * (state & 0xFFFF) / 65535.0)));
            }
        }

        return new Radiograph
        {
            FileName = "drawn.dcm",
            Source = ImageSource.Dicom,
            Pixels = pixels,
            BitsStored = 16,
            HighIsShownDark = true,
            PresentationIntent = PresentationIntent.ForProcessing,
            Relationship = PixelRelationship.Linear,
            RelationshipSign = 1,
            ReceptorSpacing = new PixelSpacing(0.1, 0.1),
            Encoding = "explicit little endian",
        };
    }

    /// <summary>What the loop in the browser gives.</summary>
    private sealed class FrameTimes
    {
        /// <summary>From frame to frame, in ms.</summary>
        public double[] Between { get; set; } = [];

        /// <summary>The page's own work in each frame, in ms.</summary>
        public double[] Costs { get; set; } = [];
    }
}
