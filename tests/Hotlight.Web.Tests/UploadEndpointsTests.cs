using System.Net;
using System.Net.Http.Json;
using System.Text.Json;

namespace Hotlight.Web.Tests;

public sealed class UploadEndpointsTests(RunningBench bench) : IClassFixture<RunningBench>
{
    [Fact]
    public async Task Upload_InPieces_GoesOnFromWhatHasCome()
    {
        byte[] content = CaseEndpointsTests.WriteLimb(seed: 31);
        string place = await BeginAsync("limb.dcm", content.Length);

        Assert.Equal(HttpStatusCode.OK, (await PieceAsync(place, content, 0, 1000)).StatusCode);

        // A piece that was sent already, and one that leaves a gap, change nothing and say where to go on.
        foreach (int offset in new[] { 0, 5000 })
        {
            using HttpResponseMessage other = await PieceAsync(place, content, offset, 1000);
            Assert.Equal(HttpStatusCode.Conflict, other.StatusCode);
            Assert.Equal(1000, await ArrivedAsync(other));
        }

        using HttpResponseMessage state = await SendAsync(HttpMethod.Get, place);
        Assert.Equal(1000, await ArrivedAsync(state));
        using HttpResponseMessage early = await SendAsync(HttpMethod.Post, place + "/finish");
        Assert.Equal(HttpStatusCode.Conflict, early.StatusCode);

        (await PieceAsync(place, content, 1000, content.Length - 1000)).EnsureSuccessStatusCode();
        using HttpResponseMessage done = await SendAsync(HttpMethod.Post, place + "/finish");
        Assert.Equal(HttpStatusCode.Created, done.StatusCode);
        Assert.Empty(Arriving());

        using HttpResponseMessage again = await SendAsync(HttpMethod.Post, place + "/finish");
        Assert.Equal(HttpStatusCode.NotFound, again.StatusCode);
    }

    [Fact]
    public async Task Upload_OfNoRadiograph_IsRefusedWithTheReasonAndLeavesNothing()
    {
        byte[] letter = "Dear colleague, this is a letter and no image."u8.ToArray();
        string place = await BeginAsync("letter", letter.Length);
        (await PieceAsync(place, letter, 0, letter.Length)).EnsureSuccessStatusCode();

        using HttpResponseMessage refused = await SendAsync(HttpMethod.Post, place + "/finish");

        Assert.Equal(HttpStatusCode.UnprocessableEntity, refused.StatusCode);
        using JsonDocument problem = JsonDocument.Parse(await refused.Content.ReadAsStringAsync());
        Assert.EndsWith(".", problem.RootElement.GetProperty("detail").GetString(), StringComparison.Ordinal);
        Assert.Empty(Arriving());
    }

    [Fact]
    public async Task Upload_OfMoreThanWasSaid_IsNotTaken()
    {
        string place = await BeginAsync("limb.dcm", 10);
        using HttpResponseMessage more = await PieceAsync(place, new byte[20], 0, 20);

        Assert.Equal(HttpStatusCode.InsufficientStorage, more.StatusCode);
        Assert.Empty(Arriving());
    }

    [Theory]
    [InlineData(0, HttpStatusCode.UnprocessableEntity)]
    [InlineData(RunningBench.UploadLimitBytes + 1L, HttpStatusCode.RequestEntityTooLarge)]
    public async Task Begin_SizeThatIsNotTaken_IsRefusedBeforeAByteIsSent(long bytes, HttpStatusCode status)
    {
        using HttpResponseMessage answer = await SendAsync(HttpMethod.Post, $"/uploads?name=a&bytes={bytes}");
        Assert.Equal(status, answer.StatusCode);
    }

    [Fact]
    public async Task Begin_WithoutThePagesToken_IsRefused()
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, "/uploads?name=a&bytes=10");
        using HttpResponseMessage answer = await bench.Client.SendAsync(request);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
    }

    [Fact]
    public async Task Remove_UploadThatWasGivenUp_LeavesNothing()
    {
        string place = await BeginAsync("limb.dcm", 100);
        (await SendAsync(HttpMethod.Delete, place)).EnsureSuccessStatusCode();
        using HttpResponseMessage gone = await SendAsync(HttpMethod.Get, place);
        Assert.Equal(HttpStatusCode.NotFound, gone.StatusCode);
    }

    private static async Task<long> ArrivedAsync(HttpResponseMessage answer) => (await answer.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("arrived").GetInt64();

    private string[] Arriving() => Directory.Exists(Path.Combine(bench.DataFolder, "arriving")) ? Directory.GetFiles(Path.Combine(bench.DataFolder, "arriving")) : [];

    private async Task<string> BeginAsync(string name, long bytes)
    {
        using HttpResponseMessage begun = await SendAsync(HttpMethod.Post, $"/uploads?name={name}&bytes={bytes}");
        Assert.Equal(HttpStatusCode.Created, begun.StatusCode);
        return begun.Headers.Location!.ToString();
    }

    private async Task<HttpResponseMessage> PieceAsync(string place, byte[] content, int offset, int length)
    {
        using var body = new ByteArrayContent(content, Math.Min(offset, content.Length - length), length);
        return await SendAsync(HttpMethod.Patch, place, body, offset);
    }

    private async Task<HttpResponseMessage> SendAsync(HttpMethod method, string place, HttpContent? body = null, long offset = 0)
    {
        using var request = new HttpRequestMessage(method, place) { Content = body };
        request.Headers.Add("X-Hotlight-Token", bench.Token);
        request.Headers.Add("Upload-Offset", $"{offset}");
        return await bench.Client.SendAsync(request);
    }
}
