using System.Diagnostics;
using System.Net;
using System.Net.Sockets;

namespace Hotlight.Web.Tests;

/// <summary>The bench as its own process, so that it can be killed.</summary>
public sealed class BenchProcess : IDisposable
{
    private readonly Process process;
    private readonly Task<string[]> said;

    private BenchProcess(Process process, Uri address)
    {
        this.process = process;
        Address = address;
        said = Task.WhenAll(process.StandardOutput.ReadToEndAsync(CancellationToken.None), process.StandardError.ReadToEndAsync(CancellationToken.None));
    }

    public Uri Address { get; }

    /// <summary>A port that is free now.</summary>
    public static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    /// <summary>Identifies the process.</summary>
    public int Id => process.Id;

    public static async Task<BenchProcess> StartAsync(int port, string dataFolder, string? store = null, params string[] more)
    {
        var start = new ProcessStartInfo(Environment.ProcessPath is { } host && Path.GetFileNameWithoutExtension(host) == "dotnet" ? host : "dotnet")
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        foreach (string argument in new[] { Path.Combine(AppContext.BaseDirectory, "Hotlight.Web.dll"), "--port", $"{port}", "--data", dataFolder, "--no-demo" }.Concat(store is null ? [] : ["--store", store]).Concat(more))
        {
            start.ArgumentList.Add(argument);
        }

        Process process = Process.Start(start)!;
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(3));
        while (await process.StandardOutput.ReadLineAsync(patience.Token) is { } line)
        {
            if (line.StartsWith("Hotlight is ready", StringComparison.Ordinal))
            {
                return new BenchProcess(process, new Uri($"http://127.0.0.1:{port}/"));
            }
        }

        string error = await process.StandardError.ReadToEndAsync(patience.Token);
        process.Dispose();
        throw new InvalidOperationException("The bench did not start: " + error);
    }

    /// <summary>Ends it without a word, as a power cut would.</summary>
    public void Kill()
    {
        process.Kill(entireProcessTree: true);
        process.WaitForExit();
    }

    /// <summary>Ends it and gives all that it wrote after it was ready.</summary>
    public async Task<string> EndAsync()
    {
        Kill();
        return string.Join('\n', await said);
    }

    public void Dispose()
    {
        if (!process.HasExited)
        {
            Kill();
        }

        process.Dispose();
    }
}
