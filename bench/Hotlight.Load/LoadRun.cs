using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Net.Sockets;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hotlight.Imaging.Dicom;
using Hotlight.Testing;
using Microsoft.Playwright;

namespace Hotlight.Load;

/// <summary>Readers and uploaders at work on one bench at once.</summary>
public static partial class LoadRun
{
    private const string Chromium = "/usr/bin/chromium";
    private const string Packer = "/usr/bin/gdcmconv";

    /// <summary>Runs it.</summary>
    /// <param name="plan">What it is made of.</param>
    /// <param name="progress">Told in lines.</param>
    public static async Task<LoadReport> RunAsync(LoadPlan plan, TextWriter progress)
    {
        ArgumentNullException.ThrowIfNull(plan);
        ArgumentNullException.ThrowIfNull(progress);
        (Process bench, Uri address) = await StartAsync(plan);
        var took = new ConcurrentBag<(string What, double Ms)>();
        var errors = new ConcurrentBag<string>();
        var memory = new List<(double Seconds, double MiB)>();
        int killed = 0, left = 0;
        double processors;
        try
        {
            using (HttpClient first = await ClientAsync(address))
            {
                var ids = new List<Guid>();
                for (int number = 1; number <= plan.Cases; number++)
                {
                    ids.Add(await UploadAsync(first, Exposure(number, 600, 500), number, (_, _) => { }));
                }

                await progress.WriteLineAsync($"{ids.Count} cases are there");
                using IPlaywright? playwright = plan.Pages > 0 && File.Exists(Chromium) ? await Playwright.CreateAsync() : null;
                await using IBrowser? browser = playwright is null ? null : await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions { ExecutablePath = Chromium, Args = ["--no-sandbox", "--enable-unsafe-swiftshader"] });
                IPage[] pages = browser is null ? [] : await OpenAsync(browser, address, ids, plan.Pages);
                await progress.WriteLineAsync($"{pages.Length} pages are open");
                bench.Refresh();
                TimeSpan before = bench.TotalProcessorTime;
                long begun = Stopwatch.GetTimestamp();
                bool IsOver() => Stopwatch.GetElapsedTime(begun) >= plan.Time;
                void Keep(string what, double ms) => took.Add((what, ms));
                Task[] all =
                [
                    .. Enumerable.Range(0, plan.Readers).Select(reader => ReadAsync(address, ids, reader, plan, IsOver, Keep, errors)),
                    .. Enumerable.Range(0, plan.Uploaders).Select(uploader => UploadManyAsync(address, uploader, plan, IsOver, Keep, errors)),
                    .. pages.Select((page, number) => AnswerAsync(page, number, plan, IsOver, Keep, errors)),
                    Task.Run(async () =>
                    {
                        while (!IsOver())
                        {
                            bench.Refresh();
                            memory.Add((Stopwatch.GetElapsedTime(begun).TotalSeconds, bench.WorkingSet64 / 1048576.0));
                            await Task.Delay(TimeSpan.FromSeconds(2));
                        }
                    }),
                    Task.Run(async () =>
                    {
                        while (!IsOver())
                        {
                            await Task.Delay(Min(plan.WorkerDiesEvery, plan.Time));
                            killed += KillWorkers(bench.Id);
                        }
                    }),
                ];
                await Task.WhenAll(all);
                bench.Refresh();
                processors = (bench.TotalProcessorTime - before) / Stopwatch.GetElapsedTime(begun);
                left = await LeftAsync(first);
            }
        }
        finally
        {
            bench.Kill(entireProcessTree: true);
            await bench.WaitForExitAsync();
            bench.Dispose();
        }

        return new LoadReport(plan, [.. took], [.. errors], memory, killed, left, processors);
    }

    // A reader by HTTP: the list, a case, its image small and whole, its table of grey values, and where a page would lie idle a look at the bench's health.
    private static async Task ReadAsync(Uri address, IReadOnlyList<Guid> ids, int reader, LoadPlan plan, Func<bool> isOver, Action<string, double> keep, ConcurrentBag<string> errors)
    {
        var random = new Random(20261127 + reader);
        using HttpClient client = await ClientAsync(address);
        for (int act = 0; !isOver(); act++)
        {
            Guid id = ids[random.Next(ids.Count)];
            (string what, string path) = (act % 6) switch
            {
                0 => ("page: list of cases", "/"),
                1 => ("page: a case", $"/cases/{id}"),
                2 => ("image, reduced", $"/cases/{id}/pixels?scale=4"),
                3 => ("image, whole", $"/cases/{id}/pixels"),
                4 => ("image, table of values", $"/cases/{id}/table"),
                _ => ("health", "/health"),
            };
            await TimedAsync(what, keep, errors, async () =>
            {
                using HttpResponseMessage answer = await client.GetAsync(new Uri(path, UriKind.Relative));
                await answer.Content.ReadAsByteArrayAsync();
                return answer.IsSuccessStatusCode ? null : $"status {(int)answer.StatusCode}";
            });
            await Task.Delay(plan.Pause * (0.5 + random.NextDouble()));
        }
    }

    private static async Task UploadManyAsync(Uri address, int uploader, LoadPlan plan, Func<bool> isOver, Action<string, double> keep, ConcurrentBag<string> errors)
    {
        using HttpClient client = await ClientAsync(address);
        for (int number = 1; !isOver(); number++)
        {
            byte[] content = Exposure((1000 * (uploader + 1)) + number, 600, 500);
            try
            {
                // Every third file takes the way through the decoding process.
                bool isPacked = number % 3 == 0 && File.Exists(Packer);
                await UploadAsync(client, isPacked ? await PackAsync(content) : content, number, isPacked ? (what, ms) => keep(what.Replace("measuring", "decoding and measuring", StringComparison.Ordinal), ms) : keep);
            }
            catch (Exception error) when (error is HttpRequestException or OperationCanceledException or InvalidOperationException)
            {
                errors.Add($"upload: {error.Message}");
            }

            // A file every few pauses: a receptor gives one image after the other and not without end.
            await Task.Delay(plan.Pause * 4);
        }
    }

    private static async Task<Guid> UploadAsync(HttpClient client, byte[] content, int number, Action<string, double> keep)
    {
        const int pieceBytes = 256 * 1024;
        long begun = Stopwatch.GetTimestamp();
        using HttpResponseMessage answer = await client.PostAsync(new Uri($"/uploads/?name={number}.dcm&bytes={content.Length}", UriKind.Relative), null);
        answer.EnsureSuccessStatusCode();
        Guid id = (await answer.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("id").GetGuid();
        keep("upload: begin", Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
        for (int offset = 0; offset < content.Length; offset += pieceBytes)
        {
            begun = Stopwatch.GetTimestamp();
            using var piece = new ByteArrayContent(content, offset, Math.Min(pieceBytes, content.Length - offset));
            using var request = new HttpRequestMessage(HttpMethod.Patch, $"/uploads/{id}") { Content = piece };
            request.Headers.Add("Upload-Offset", offset.ToString(CultureInfo.InvariantCulture));
            using HttpResponseMessage taken = await client.SendAsync(request);
            taken.EnsureSuccessStatusCode();
            keep("upload: piece of 256 KiB", Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
        }

        begun = Stopwatch.GetTimestamp();
        using HttpResponseMessage finished = await client.PostAsync(new Uri($"/uploads/{id}/finish", UriKind.Relative), null);
        finished.EnsureSuccessStatusCode();
        keep("upload: finish, with measuring", Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
        return (await finished.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("id").GetGuid();
    }

    private static async Task<IPage[]> OpenAsync(IBrowser browser, Uri address, IReadOnlyList<Guid> ids, int count)
    {
        var pages = new IPage[count];
        for (int number = 0; number < count; number++)
        {
            IBrowserContext context = await browser.NewContextAsync(new BrowserNewContextOptions { ViewportSize = new ViewportSize { Width = 1280, Height = 720 } });
            pages[number] = await context.NewPageAsync();
            pages[number].SetDefaultTimeout(180_000);
            await pages[number].GotoAsync(new Uri(address, $"/cases/{ids[number % ids.Count]}").ToString());
            await pages[number].WaitForSelectorAsync(".viewer[data-state=shown]");

            // The files name the part, so the first projection that is offered fits.
            await pages[number].WaitForSelectorAsync(".line.current, button.wide:has-text('as the header says')");
            if (await pages[number].Locator(".line.current").CountAsync() == 0)
            {
                await pages[number].Locator("button.wide:has-text('as the header says')").First.ClickAsync();
                await pages[number].WaitForSelectorAsync(".line.current");
            }
        }

        return pages;
    }

    // A reader in a browser: an answer by key, timed in the page from the key to what the page shows of it.
    private static async Task AnswerAsync(IPage page, int number, LoadPlan plan, Func<bool> isOver, Action<string, double> keep, ConcurrentBag<string> errors)
    {
        const string press = """
            (key) => new Promise((resolve, reject) => {
              const state = () => document.querySelector(".line.current .answer[aria-pressed=true]")?.textContent ?? "";
              const before = state();
              const begun = performance.now();
              const watch = new MutationObserver(() => { if (state() !== before) { watch.disconnect(); clearTimeout(patience); resolve(performance.now() - begun); } });
              const patience = setTimeout(() => { watch.disconnect(); reject(new Error("nothing was shown for " + key)); }, 30000);
              watch.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true });
              document.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
            })
            """;
        var random = new Random(20261200 + number);
        for (int act = 0; !isOver(); act++)
        {
            try
            {
                keep("page: answer kept", await page.EvaluateAsync<double>(press, act % 2 == 0 ? "m" : "c"));
            }
            catch (PlaywrightException error)
            {
                errors.Add($"answer: {error.Message.Split('\n')[0]}");
            }

            await Task.Delay(plan.Pause * (0.5 + random.NextDouble()));
        }
    }

    private static async Task TimedAsync(string what, Action<string, double> keep, ConcurrentBag<string> errors, Func<Task<string?>> act)
    {
        long begun = Stopwatch.GetTimestamp();
        try
        {
            if (await act() is { } fault)
            {
                errors.Add($"{what}: {fault}");
            }

            keep(what, Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
        }
        catch (Exception error) when (error is HttpRequestException or OperationCanceledException)
        {
            errors.Add($"{what}: {error.Message}");
        }
    }

    // What the health address counts as left, once it is none or a minute has passed.
    private static async Task<int> LeftAsync(HttpClient client)
    {
        for (int tries = 0; ; tries++)
        {
            JsonElement facts = (await client.GetFromJsonAsync<JsonElement>(new Uri("/health", UriKind.Relative))).GetProperty("checks").GetProperty("measuring queue").GetProperty("facts");
            int left = facts.GetProperty("left").GetInt32();
            if (left == 0 || tries == 60)
            {
                return left;
            }

            await Task.Delay(1000);
        }
    }

    // Only processes of this bench: those whose parent it is.
    private static int KillWorkers(int benchId)
    {
        int killed = 0;
        foreach (string folder in Directory.GetDirectories("/proc").Where(folder => int.TryParse(Path.GetFileName(folder), NumberStyles.None, CultureInfo.InvariantCulture, out _)))
        {
            try
            {
                if (File.ReadLines(Path.Combine(folder, "status")).Any(line => line == $"PPid:\t{benchId}"))
                {
                    Process.GetProcessById(int.Parse(Path.GetFileName(folder), CultureInfo.InvariantCulture)).Kill();
                    killed++;
                }
            }
            catch (Exception error) when (error is IOException or ArgumentException or InvalidOperationException or UnauthorizedAccessException)
            {
                // Ended meanwhile.
            }
        }

        return killed;
    }

    // The same exposure in JPEG 2000, packed by another author's program.
    private static async Task<byte[]> PackAsync(byte[] content)
    {
        string plain = Path.GetTempFileName(), packed = Path.GetTempFileName();
        try
        {
            await File.WriteAllBytesAsync(plain, content);
            using Process packing = Process.Start(new ProcessStartInfo(Packer, ["--j2k", plain, packed]) { RedirectStandardError = true })!;
            await packing.WaitForExitAsync();
            return packing.ExitCode == 0 ? await File.ReadAllBytesAsync(packed) : throw new InvalidOperationException("gdcmconv did not pack an exposure.");
        }
        finally
        {
            File.Delete(plain);
            File.Delete(packed);
        }
    }

    private static TimeSpan Min(TimeSpan one, TimeSpan other) => one < other ? one : other;

    private static byte[] Exposure(int seed, int rows, int columns)
    {
        using var content = new MemoryStream();
        DicomWriter.Write(content, DxObject.Create(InventedExposure.Limb(rows, columns, seed), new DxDescription { PatientName = "Invented^Limb", PatientId = "T-1", Seed = $"load {seed}" }));
        return content.ToArray();
    }

    private static async Task<HttpClient> ClientAsync(Uri address)
    {
        var client = new HttpClient(new SocketsHttpHandler { CookieContainer = new CookieContainer() }) { BaseAddress = address, Timeout = TimeSpan.FromSeconds(60) };
        client.DefaultRequestHeaders.Add("X-Hotlight-Token", Token().Match(await client.GetStringAsync(new Uri("/", UriKind.Relative))).Groups[1].Value);
        return client;
    }

    private static async Task<(Process Bench, Uri Address)> StartAsync(LoadPlan plan)
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        int port = ((IPEndPoint)listener.LocalEndpoint).Port;
        listener.Stop();
        var bench = Process.Start(new ProcessStartInfo("dotnet", [plan.Bench, "--data", plan.Data, "--port", port.ToString(CultureInfo.InvariantCulture), "--no-demo"]) { RedirectStandardOutput = true })!;
        while (await bench.StandardOutput.ReadLineAsync() is { } line)
        {
            if (line.StartsWith("Hotlight is ready", StringComparison.Ordinal))
            {
                _ = bench.StandardOutput.ReadToEndAsync();
                return (bench, new Uri($"http://127.0.0.1:{port}/"));
            }
        }

        throw new InvalidOperationException("The bench did not start.");
    }

    [GeneratedRegex("name=\"hotlight-token\" content=\"([^\"]+)\"")]
    private static partial Regex Token();
}
