using System.Net;
using System.Net.Http.Headers;
using System.Text.RegularExpressions;
using Hotlight.Testing;
using Microsoft.AspNetCore.Builder;

namespace Hotlight.Web.Tests;

/// <summary>A bench that answers on a free port of this machine, with a data folder of its own.</summary>
public sealed partial class RunningBench : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private WebApplication? bench;

    /// <summary>Most bytes of a file in these tests.</summary>
    public const int UploadLimitBytes = 4 * 1024 * 1024;

    public string DataFolder => folder["data"];

    public HttpClient Client { get; private set; } = null!;

    public string Token { get; private set; } = "";

    public Uri Address => Bench.AddressOf(bench!);

    public IServiceProvider Services => bench!.Services;

    public async Task InitializeAsync()
    {
        bench = await Bench.StartAsync(
            new BenchOptions { Port = 0, DataFolder = DataFolder, WithDemoCases = false, UploadLimitBytes = UploadLimitBytes }, TextWriter.Null);
        Client = new HttpClient(new SocketsHttpHandler { CookieContainer = new CookieContainer(), AllowAutoRedirect = false, Expect100ContinueTimeout = TimeSpan.FromMinutes(1) }) { BaseAddress = Address };
        Token = TokenOf(await Client.GetStringAsync(new Uri("/", UriKind.Relative)));
    }

    public async Task DisposeAsync()
    {
        Client.Dispose();
        await bench!.StopAsync();
        await bench.DisposeAsync();
        Dispose();
    }

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    /// <summary>Files kept under their hash.</summary>
    public string[] KeptFiles() => Directory.GetFiles(Path.Combine(DataFolder, "files"), "*", SearchOption.AllDirectories);

    /// <summary>Sends a file as the page does.</summary>
    public async Task<HttpResponseMessage> SendAsync(byte[] content, string name, bool withToken = true)
    {
        using var body = new ByteArrayContent(content);
        body.Headers.ContentType = new MediaTypeHeaderValue("application/octet-stream");
        using var request = new HttpRequestMessage(HttpMethod.Post, $"/cases?name={Uri.EscapeDataString(name)}") { Content = body };

        // The bench refuses before it has read a file: without this it may close the connection under the sender's hands.
        request.Headers.ExpectContinue = true;
        if (withToken)
        {
            request.Headers.Add("X-Hotlight-Token", Token);
        }

        return await Client.SendAsync(request);
    }

    private static string TokenOf(string page) => TokenPattern().Match(page) is { Success: true } found
        ? found.Groups[1].Value
        : throw new InvalidOperationException("The page carries no token.");

    [GeneratedRegex("name=\"hotlight-token\" content=\"([^\"]+)\"")]
    private static partial Regex TokenPattern();
}
