using System.Net;
using System.Text.Json;
using Hotlight.Imaging;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests;

public sealed class CaseEndpointsTests(RunningBench bench) : IClassFixture<RunningBench>
{
    private static readonly byte[] Limb = WriteLimb(seed: 1);

    [Fact]
    public async Task Page_AnyAnswer_ForbidsInlineScriptFramingAndGuessing()
    {
        using HttpResponseMessage answer = await bench.Client.GetAsync(new Uri("/", UriKind.Relative));

        string policy = string.Join(' ', answer.Headers.GetValues("Content-Security-Policy"));
        Assert.Contains("default-src 'none'", policy, StringComparison.Ordinal);
        Assert.Contains("script-src 'self';", policy, StringComparison.Ordinal);
        Assert.Contains("frame-ancestors 'none'", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
        Assert.Equal("nosniff", answer.Headers.GetValues("X-Content-Type-Options").Single());
        Assert.False(answer.Headers.Contains("Server"));

        string page = await answer.Content.ReadAsStringAsync();
        Assert.DoesNotMatch("<script(?![^>]*src=)", page);
        Assert.DoesNotContain("style=\"", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task AnyRequest_UnderAnotherHostName_IsRefused()
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, "/");
        request.Headers.Host = "images.example";

        using HttpResponseMessage answer = await bench.Client.SendAsync(request);

        Assert.Equal(HttpStatusCode.MisdirectedRequest, answer.StatusCode);
    }

    [Theory]
    [InlineData("/")]
    [InlineData("/_blazor/negotiate")]
    public async Task AnyRequest_FromAnotherSite_IsRefused(string path)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, path);
        request.Headers.Add("Origin", "http://images.example");

        using HttpResponseMessage answer = await bench.Client.SendAsync(request);

        Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
    }

    [Fact]
    public async Task BringIn_WithoutToken_IsRefusedAndKeepsNothing()
    {
        byte[] other = WriteLimb(seed: 20);
        using HttpResponseMessage answer = await bench.SendAsync(other, "limb.dcm", withToken: false);

        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Contains("reload", await DetailAsync(answer), StringComparison.Ordinal);
        Assert.DoesNotContain(bench.KeptFiles(), path => Path.GetFileName(path) == HashOf(other));
    }

    [Fact]
    public async Task BringIn_TooLarge_IsRefusedInOneSentenceAndKeepsNothing()
    {
        byte[] large = new byte[RunningBench.UploadLimitBytes + 1];
        using HttpResponseMessage answer = await bench.SendAsync(large, "large.dcm");

        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, answer.StatusCode);
        Assert.Contains("4 MiB", await DetailAsync(answer), StringComparison.Ordinal);
        Assert.DoesNotContain(bench.KeptFiles(), path => Path.GetFileName(path) == HashOf(large));
    }

    [Theory]
    [InlineData("this is a letter to the clinic")]
    [InlineData("\0\0\0\0")]
    public async Task BringIn_NoRadiograph_IsRefusedInOneSentenceAndKeepsNothing(string content)
    {
        byte[] bytes = System.Text.Encoding.ASCII.GetBytes(content);
        using HttpResponseMessage answer = await bench.SendAsync(bytes, "letter.dcm");

        Assert.Equal(HttpStatusCode.UnprocessableEntity, answer.StatusCode);
        string sentence = await DetailAsync(answer);
        Assert.NotEmpty(sentence);
        Assert.DoesNotContain('\n', sentence);
        Assert.DoesNotContain(bench.KeptFiles(), path => Path.GetFileName(path) == HashOf(bytes));
    }

    [Fact]
    public async Task BringIn_NameThatIsAPath_OnlyItsLastPartIsKept()
    {
        CaseRecord record = await BringInAsync("../../../etc/cron.d/wrist\u202e PA.dcm", WriteLimb(seed: 2));

        Assert.Equal("wrist PA.dcm", record.FileName);
        Assert.Equal("wrist PA", record.Title);
        Assert.All(Directory.GetFiles(bench.DataFolder, "*wrist*", SearchOption.AllDirectories), path => Assert.Fail(path));
    }

    [Fact]
    public async Task BringIn_SameFileTwice_IsKeptOnceAndSaid()
    {
        byte[] content = WriteLimb(seed: 3);
        await BringInAsync("first.dcm", content);
        int kept = bench.KeptFiles().Length;
        using HttpResponseMessage answer = await bench.SendAsync(content, "second.dcm");

        using JsonDocument document = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
        Assert.Equal("first", document.RootElement.GetProperty("sameFileAs").GetString());
        Assert.Equal(kept, bench.KeptFiles().Length);
    }

    internal static byte[] WriteLimb(int seed)
    {
        using var folder = new ScratchFolder();
        string path = folder["limb.dcm"];
        InventedExposure.Write(InventedExposure.Limb(rows: 300, columns: 250, seed: seed), path);
        return File.ReadAllBytes(path);
    }

    private static string HashOf(byte[] content) => Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(content));

    private static async Task<string> DetailAsync(HttpResponseMessage answer)
    {
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
        using JsonDocument document = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
        return document.RootElement.GetProperty("detail").GetString()!;
    }

    private async Task<CaseRecord> BringInAsync(string name, byte[] content)
    {
        using HttpResponseMessage answer = await bench.SendAsync(content, name);
        string text = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.StatusCode == HttpStatusCode.Created, text);
        using JsonDocument document = JsonDocument.Parse(text);
        return await bench.Services.GetRequiredService<CaseWorkflow>().GetAsync(document.RootElement.GetProperty("id").GetGuid());
    }
}
