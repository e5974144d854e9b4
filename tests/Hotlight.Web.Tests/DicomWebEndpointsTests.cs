using System.Net;
using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Testing;
using Hotlight.Workflows.Intake;
using Microsoft.AspNetCore.Builder;

namespace Hotlight.Web.Tests;

/// <summary>DICOMweb by hand-made requests: what PS3.18 says of statuses, media types, matching and answers.</summary>
public sealed class DicomWebEndpointsTests : IAsyncLifetime, IDisposable
{
    private const string Token = "a-word-for-programs-1234";
    private readonly ScratchFolder folder = new();
    private readonly HttpClient client = new();
    private WebApplication bench = null!;

    public async Task InitializeAsync()
    {
        bench = await Bench.StartAsync(
            new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, Setting = IntakeSetting.Clinical, WebToken = Token }, TextWriter.Null);
        client.BaseAddress = Bench.AddressOf(bench);
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", Token);
    }

    public async Task DisposeAsync()
    {
        await bench.StopAsync();
        await bench.DisposeAsync();
        Dispose();
    }

    public void Dispose()
    {
        client.Dispose();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    [Fact]
    public async Task AnyRequest_WithoutTheWord_IsRefused_AndWithoutAWordSetItIsOff()
    {
        using HttpClient stranger = new() { BaseAddress = client.BaseAddress };
        using HttpResponseMessage none = await stranger.GetAsync("/dicomweb/studies");
        Assert.Equal(HttpStatusCode.Unauthorized, none.StatusCode);
        Assert.Equal("Bearer", none.Headers.WwwAuthenticate.ToString());
        stranger.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", Token + "x");
        using HttpResponseMessage wrong = await stranger.GetAsync("/dicomweb/studies");
        Assert.Equal(HttpStatusCode.Unauthorized, wrong.StatusCode);

        using var fromAnotherSite = new HttpRequestMessage(HttpMethod.Get, "/dicomweb/studies");
        fromAnotherSite.Headers.Add("Origin", "http://example.org");
        using HttpResponseMessage other = await client.SendAsync(fromAnotherSite);
        Assert.Equal(HttpStatusCode.Forbidden, other.StatusCode);

        await using WebApplication off = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["off"], WithDemoCases = false }, TextWriter.Null);
        using HttpClient there = new() { BaseAddress = Bench.AddressOf(off) };
        there.DefaultRequestHeaders.Authorization = client.DefaultRequestHeaders.Authorization;
        using HttpResponseMessage gone = await there.GetAsync("/dicomweb/studies");
        Assert.Equal(HttpStatusCode.NotFound, gone.StatusCode);
        await off.StopAsync();
    }

    [Fact]
    public async Task StoreSearchRetrieve_GoodImages_ComeBackByteForByte()
    {
        byte[] first = Limb(1, "1.2.3", "1.2.3.1", "1.2.3.1.1", "20260105");
        byte[] second = Limb(2, "1.2.3", "1.2.3.1", "1.2.3.1.2", "20260105");
        byte[] third = Limb(3, "1.2.4", "1.2.4.1", "1.2.4.1.1", "20260212", name: "Other^Person", id: "T-9");
        using (JsonDocument stored = await StoreAsync(HttpStatusCode.OK, "/dicomweb/studies", first, second, third))
        {
            JsonElement references = stored.RootElement.GetProperty("00081199").GetProperty("Value");
            Assert.Equal(3, references.GetArrayLength());
            Assert.EndsWith("/dicomweb/studies/1.2.3/series/1.2.3.1/instances/1.2.3.1.1", Value(references[0], "00081190"), StringComparison.Ordinal);
            Assert.False(stored.RootElement.TryGetProperty("00081198", out _));
        }

        // [query, expected SOP or study instances]
        foreach ((string query, int count) in new[]
        {
            ("studies", 2), ("studies?PatientID=T-9", 1), ("studies?00100020=T-9", 1), ("studies?PatientName=other*", 1), ("studies?PatientName=Nobody*", 0),
            ("studies?StudyDate=20260105", 1), ("studies?StudyDate=20260101-20260131", 1), ("studies?StudyDate=-20261231", 2), ("studies?StudyDate=20260301-", 0),
            ("studies?StudyInstanceUID=1.2.3,1.2.4", 2), ("studies?ModalitiesInStudy=DX", 2), ("studies?ModalitiesInStudy=CT", 0), ("studies?PatientID=T-?", 2),
            ("studies?limit=1", 1), ("studies?limit=5&offset=1", 1), ("series", 2), ("instances", 3), ("studies/1.2.3/instances", 2), ("studies/1.2.3/series", 1),
            ("studies/1.2.3/series/1.2.3.1/instances?SOPInstanceUID=1.2.3.1.2", 1), ("studies/9.9/series", 0), ("instances?Rows=90", 3), ("instances?Rows=91", 0), ("series?Modality=DX&StudyDate=20260212", 1),
        })
        {
            using HttpResponseMessage answer = await client.GetAsync("/dicomweb/" + query);
            Assert.True(answer.StatusCode == (count == 0 ? HttpStatusCode.NoContent : HttpStatusCode.OK), $"{query}: {answer.StatusCode}");
            if (count > 0)
            {
                Assert.Equal("application/dicom+json", answer.Content.Headers.ContentType!.MediaType);
                using JsonDocument found = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
                Assert.True(count == found.RootElement.GetArrayLength(), query);
            }
        }

        using (JsonDocument found = JsonDocument.Parse(await client.GetStringAsync("/dicomweb/studies?StudyInstanceUID=1.2.3&includefield=BodyPartExamined")))
        {
            JsonElement study = found.RootElement[0];
            Assert.Equal("Invented^Limb", study.GetProperty("00100010").GetProperty("Value")[0].GetProperty("Alphabetic").GetString());
            Assert.Equal(2, study.GetProperty("00201208").GetProperty("Value")[0].GetInt32());
            Assert.Equal("WRIST", Value(study, "00180015"));
            Assert.Equal("ONLINE", Value(study, "00080056"));
            foreach (string required in new[] { "00080020", "00080030", "00080050", "00080061", "00080090", "00081190", "00100020", "00100030", "00100040", "0020000D", "00200010", "00201206" })
            {
                Assert.True(study.TryGetProperty(required, out _), required);
            }
        }

        (string type, byte[] body) = Assert.Single(await PartsAsync("/dicomweb/studies/1.2.3/series/1.2.3.1/instances/1.2.3.1.2", "multipart/related; type=\"application/dicom\"; transfer-syntax=*"));
        Assert.StartsWith("application/dicom", type, StringComparison.Ordinal);
        Assert.Equal(second, body);
        Assert.Equal(2, (await PartsAsync("/dicomweb/studies/1.2.3", "multipart/related; type=\"application/dicom\"")).Count);

        Radiograph radiograph = RadiographReader.Read(first, "first");
        (_, byte[] pixels) = Assert.Single(await PartsAsync("/dicomweb/studies/1.2.3/series/1.2.3.1/instances/1.2.3.1.1/frames/1", "multipart/related; type=\"application/octet-stream\""));
        Assert.Equal(DicomContent.PixelWords(radiograph), pixels);

        using (JsonDocument metadata = JsonDocument.Parse(await client.GetStringAsync("/dicomweb/studies/1.2.3/metadata")))
        {
            Assert.Equal(2, metadata.RootElement.GetArrayLength());
            string bulk = metadata.RootElement[0].GetProperty("7FE00010").GetProperty("BulkDataURI").GetString()!;
            Assert.EndsWith("/frames/1", bulk, StringComparison.Ordinal);
        }

        byte[] picture = await client.GetByteArrayAsync("/dicomweb/studies/1.2.3/series/1.2.3.1/instances/1.2.3.1.1/rendered");
        Radiograph rendered = RadiographReader.Read(picture, "rendered.png");
        Assert.Equal((radiograph.Rows, radiograph.Columns, 8), (rendered.Rows, rendered.Columns, rendered.BitsStored));
        byte[] windowed = await client.GetByteArrayAsync("/dicomweb/studies/1.2.3/series/1.2.3.1/instances/1.2.3.1.1/rendered?window=6000,200,linear");
        Assert.NotEqual(picture, windowed);
    }

    [Theory]
    [InlineData("/dicomweb/studies?Nonsense=1", HttpStatusCode.BadRequest)]
    [InlineData("/dicomweb/studies?limit=-1", HttpStatusCode.BadRequest)]
    [InlineData("/dicomweb/studies?includefield=Nonsense", HttpStatusCode.BadRequest)]
    [InlineData("/dicomweb/studies/9.9", HttpStatusCode.NotFound)]
    [InlineData("/dicomweb/studies/9.9/metadata", HttpStatusCode.NotFound)]
    [InlineData("/dicomweb/studies/9.9/series/9/instances/9/rendered?window=1,2,cubic", HttpStatusCode.NotFound)]
    public async Task Get_WhatCannotBeGiven_SaysSo(string place, HttpStatusCode status)
    {
        using HttpResponseMessage answer = await client.GetAsync(place);
        Assert.Equal(status, answer.StatusCode);
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType!.MediaType);
    }

    [Fact]
    public async Task Get_MediaTypeThatIsNotGiven_Is406()
    {
        using (await StoreAsync(HttpStatusCode.OK, "/dicomweb/studies", Limb(1, "1.2.3", "1.2.3.1", "1.2.3.1.1", "20260105")))
        {
            foreach ((string place, string accept) in new[] { ("/dicomweb/studies", "application/dicom+xml"), ("/dicomweb/studies/1.2.3", "application/zip"), ("/dicomweb/studies/1.2.3/series/1.2.3.1/instances/1.2.3.1.1/rendered", "image/gif") })
            {
                using var request = new HttpRequestMessage(HttpMethod.Get, place);
                request.Headers.TryAddWithoutValidation("Accept", accept);
                using HttpResponseMessage answer = await client.SendAsync(request);
                Assert.Equal(HttpStatusCode.NotAcceptable, answer.StatusCode);
            }

            using HttpResponseMessage fuzzy = await client.GetAsync("/dicomweb/studies?fuzzymatching=true");
            Assert.Contains("299", fuzzy.Headers.GetValues("Warning").Single(), StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task Store_BadPartsAmongGood_AreNamedWithTheirReasons()
    {
        byte[] good = Limb(1, "1.2.3", "1.2.3.1", "1.2.3.1.1", "20260105");
        byte[] cut = Limb(2, "1.2.3", "1.2.3.1", "1.2.3.1.2", "20260105")[..^4000];

        using JsonDocument answer = await StoreAsync(HttpStatusCode.Accepted, "/dicomweb/studies", good, cut, "Dear colleague"u8.ToArray());

        Assert.Equal(1, answer.RootElement.GetProperty("00081199").GetProperty("Value").GetArrayLength());
        JsonElement failed = Assert.Single(answer.RootElement.GetProperty("00081198").GetProperty("Value").EnumerateArray());
        Assert.Equal("1.2.3.1.2", Value(failed, "00081155"));
        Assert.Equal(0xC000, failed.GetProperty("00081197").GetProperty("Value")[0].GetInt32());
        Assert.Equal(1, answer.RootElement.GetProperty("0008119A").GetProperty("Value").GetArrayLength());

        using JsonDocument other = await StoreAsync(HttpStatusCode.Conflict, "/dicomweb/studies/9.9", good);
        Assert.Equal(0xA900, Assert.Single(other.RootElement.GetProperty("00081198").GetProperty("Value").EnumerateArray()).GetProperty("00081197").GetProperty("Value")[0].GetInt32());

        using var wrong = new StringContent("x", Encoding.UTF8, "text/plain");
        using HttpResponseMessage unsupported = await client.PostAsync("/dicomweb/studies", wrong);
        Assert.Equal(HttpStatusCode.UnsupportedMediaType, unsupported.StatusCode);
    }

    [Fact]
    public async Task Store_InATeachingSetUp_SaysThatTheIdentityWasTakenOut()
    {
        await using WebApplication teaching = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["teaching"], WithDemoCases = false, WebToken = Token }, TextWriter.Null);
        client.BaseAddress = null;
        string root = Bench.AddressOf(teaching).ToString().TrimEnd('/');

        using JsonDocument stored = await StoreAsync(HttpStatusCode.Accepted, root + "/dicomweb/studies", Limb(1, "1.2.3", "1.2.3.1", "1.2.3.1.1", "20260105"));

        JsonElement reference = Assert.Single(stored.RootElement.GetProperty("00081199").GetProperty("Value").EnumerateArray());
        Assert.Equal(0xB000, reference.GetProperty("00081196").GetProperty("Value")[0].GetInt32());
        Assert.StartsWith("2.25.", Value(reference, "00081155"), StringComparison.Ordinal);
        string metadata = await client.GetStringAsync(new Uri(Value(reference, "00081190") + "/metadata"));
        Assert.DoesNotContain("Invented^Limb", metadata, StringComparison.Ordinal);
        Assert.DoesNotContain("1.2.3.1.1", metadata, StringComparison.Ordinal);
        await teaching.StopAsync();
    }

    [SharedDataFact("radiographs-dicom")]
    public async Task Retrieve_CompressedWithoutAWish_ComesAsExplicitLittleEndianWithTheSamePixels()
    {
        byte[] file = await File.ReadAllBytesAsync(SharedData.Folder("radiographs-dicom") + "/RG3_RLE.dcm");
        DicomDataset header = DicomContent.Read(file, "x").Dataset;
        using JsonDocument stored = await StoreAsync(HttpStatusCode.OK, "/dicomweb/studies", file);
        string place = $"/dicomweb/studies/{header.Text(0x0020000D)}/series/{header.Text(0x0020000E)}/instances/{header.Text(0x00080018)}";

        (_, byte[] plain) = Assert.Single(await PartsAsync(place, "multipart/related; type=\"application/dicom\""));
        (_, byte[] asIs) = Assert.Single(await PartsAsync(place, "multipart/related; type=\"application/dicom\"; transfer-syntax=*"));

        Assert.Equal("1.2.840.10008.1.2.1", DicomContent.Read(plain, "x").TransferSyntaxUid);
        Assert.True(RadiographReader.Read(file, "x").Pixels.Samples.SequenceEqual(RadiographReader.Read(plain, "x").Pixels.Samples));
        Assert.Equal(file, asIs);
    }

    internal static byte[] Limb(int seed, string study, string series, string instance, string date, string name = "Invented^Limb", string id = "T-1")
    {
        DicomDataset dataset = DxObject.Create(InventedExposure.Limb(rows: 90, columns: 70, seed: seed), new DxDescription { PatientName = name, PatientId = id, Seed = "web" });
        dataset.SetText(0x0020000D, "UI", study).SetText(0x0020000E, "UI", series).SetText(0x00080018, "UI", instance).SetText(0x00080020, "DA", date);
        using var stream = new MemoryStream();
        DicomWriter.Write(stream, dataset);
        return stream.ToArray();
    }

    private static string? Value(JsonElement dataset, string tag) => dataset.GetProperty(tag).GetProperty("Value")[0].GetString();

    private async Task<JsonDocument> StoreAsync(HttpStatusCode status, string place, params byte[][] files)
    {
        using var body = new MultipartContent("related", "limit-of-parts");
        body.Headers.ContentType!.Parameters.Add(new NameValueHeaderValue("type", "\"application/dicom\""));
        foreach (byte[] file in files)
        {
            var part = new ByteArrayContent(file);
            part.Headers.ContentType = new MediaTypeHeaderValue("application/dicom");
            body.Add(part);
        }

        using HttpResponseMessage answer = await client.PostAsync(place, body);
        string text = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.StatusCode == status, $"{answer.StatusCode}: {text}");
        Assert.Equal("application/dicom+json", answer.Content.Headers.ContentType!.MediaType);
        return JsonDocument.Parse(text);
    }

    private async Task<IReadOnlyList<(string Type, byte[] Body)>> PartsAsync(string place, string accept)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, place);
        request.Headers.TryAddWithoutValidation("Accept", accept);
        using HttpResponseMessage answer = await client.SendAsync(request);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        string boundary = answer.Content.Headers.ContentType!.Parameters.Single(each => each.Name == "boundary").Value!.Trim('"');
        var reader = new Microsoft.AspNetCore.WebUtilities.MultipartReader(boundary, await answer.Content.ReadAsStreamAsync());
        List<(string, byte[])> parts = [];
        while (await reader.ReadNextSectionAsync() is { } part)
        {
            using var whole = new MemoryStream();
            await part.Body.CopyToAsync(whole);
            parts.Add((part.ContentType!, whole.ToArray()));
        }

        return parts;
    }
}
