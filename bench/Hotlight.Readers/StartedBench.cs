using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using Microsoft.Playwright;

namespace Hotlight.Readers;

/// <summary>The bench as a process of its own, with its demo set brought in.</summary>
internal sealed class StartedBench : IAsyncDisposable
{
    private StartedBench(Process process, Uri address)
    {
        Process = process;
        Address = address;
    }

    public Process Process { get; }

    public Uri Address { get; }

    public static async Task<StartedBench> StartAsync(string program, string data)
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        int port = ((IPEndPoint)listener.LocalEndpoint).Port;
        listener.Stop();
        var start = new ProcessStartInfo("dotnet") { RedirectStandardOutput = true };
        foreach (string argument in new[] { Path.GetFullPath(program), "--port", $"{port}", "--data", data })
        {
            start.ArgumentList.Add(argument);
        }

        Process process = Process.Start(start)!;
        var isReady = new TaskCompletionSource();
        process.OutputDataReceived += (_, line) =>
        {
            if (line.Data is null)
            {
                isReady.TrySetException(new InvalidOperationException("The bench ended."));
            }
            else if (line.Data.StartsWith("Hotlight is ready", StringComparison.Ordinal))
            {
                isReady.TrySetResult();
            }
        };
        process.BeginOutputReadLine();
        await isReady.Task;
        return new StartedBench(process, new Uri($"http://127.0.0.1:{port}/"));
    }

    /// <summary>Addresses of the demo cases in their order, once all of them are there.</summary>
    public async Task<IReadOnlyList<(string Title, string Path)>> DemoCasesAsync(IBrowser browser)
    {
        IPage page = await browser.NewPageAsync();
        page.SetDefaultTimeout(600_000);
        await page.GotoAsync(Address.ToString());
        while (true)
        {
            await page.WaitForTimeoutAsync(2000);
            string[] found = await page.EvaluateAsync<string[]>("() => [...document.querySelectorAll('a[href^=\"/cases/\"]')].filter((link) => !link.classList.contains('button')).map((link) => `${link.getAttribute('href')}|${link.textContent.trim()}`)");
            string[] cases = [.. found.Distinct()];
            if (cases.Length >= 24)
            {
                await page.CloseAsync();
                return [.. cases.Select(each => (Title: each[(each.IndexOf('|', StringComparison.Ordinal) + 1)..], Path: each[..each.IndexOf('|', StringComparison.Ordinal)]))];
            }
        }
    }

    public async ValueTask DisposeAsync()
    {
        if (!Process.HasExited)
        {
            Process.Kill(entireProcessTree: true);
            await Process.WaitForExitAsync();
        }

        Process.Dispose();
    }
}
