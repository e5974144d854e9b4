using System.Text.Json;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Testing;
using Hotlight.Workflows.Intake;
using Microsoft.AspNetCore.Builder;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>DICOMweb by another author's client (npm dicomweb-client 0.11.3) in the system's Chromium: store, search, retrieve.</summary>
public sealed class DicomWebClientTests : IDisposable
{
    private const string Chromium = SystemChromium.Path;
    private const string Token = "a-word-for-programs-1234";
    private readonly ScratchFolder folder = new();

    public void Dispose() => folder.Dispose();

    [ClientFact]
    [Trait("evidence", "independent")]
    public async Task StoreSearchRetrieve_ByAnotherAuthorsClient_GiveWhatWasSent()
    {
        byte[] first = DicomWebEndpointsTests.Limb(1, "1.2.3", "1.2.3.1", "1.2.3.1.1", "20260105");
        byte[] second = DicomWebEndpointsTests.Limb(2, "1.2.3", "1.2.3.1", "1.2.3.1.2", "20260105");
        await using WebApplication bench = await Bench.StartAsync(
            new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, Setting = IntakeSetting.Clinical, WebToken = Token }, TextWriter.Null);
        using IPlaywright playwright = await Playwright.CreateAsync();
        await using IBrowser browser = await playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions { ExecutablePath = Chromium, Args = ["--no-sandbox", "--disable-background-networking"] });
        IBrowserContext context = await browser.NewContextAsync(new BrowserNewContextOptions { BypassCSP = true });
        IPage page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(Bench.AddressOf(bench), "/ready").ToString());
        await page.AddScriptTagAsync(new PageAddScriptTagOptions { Path = ClientFactAttribute.Script });

        JsonElement? found = await page.EvaluateAsync(
            """
            async ([url, token, files]) => {
              const api = new window.DICOMwebClient.api.DICOMwebClient({ url, headers: { Authorization: `Bearer ${token}` } });
              const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
              const text = (buffer) => { let all = ""; new Uint8Array(buffer).forEach((byte) => { all += String.fromCharCode(byte); }); return btoa(all); };
              const place = { studyInstanceUID: "1.2.3", seriesInstanceUID: "1.2.3.1", sopInstanceUID: "1.2.3.1.2" };
              await api.storeInstances({ datasets: files.map(bytes) });
              return {
                studies: await api.searchForStudies({ queryParams: { PatientName: "invented*" } }),
                none: await api.searchForStudies({ queryParams: { PatientName: "Nobody" } }),
                series: await api.searchForSeries({ studyInstanceUID: "1.2.3" }),
                instances: await api.searchForInstances({ studyInstanceUID: "1.2.3", seriesInstanceUID: "1.2.3.1" }),
                metadata: await api.retrieveInstanceMetadata(place),
                instance: text(await api.retrieveInstance(place)),
                study: (await api.retrieveStudy(place)).length,
                frame: text((await api.retrieveInstanceFrames({ ...place, frameNumbers: [1] }))[0]),
                rendered: text([await api.retrieveInstanceRendered({ ...place, mediaTypes: [{ mediaType: "image/png" }] })].flat()[0]),
              };
            }
            """,
            new object[] { new Uri(Bench.AddressOf(bench), "/dicomweb").ToString(), Token, new[] { Convert.ToBase64String(first), Convert.ToBase64String(second) } });

        JsonElement answers = found!.Value;
        Radiograph radiograph = RadiographReader.Read(second, "second");
        Assert.Equal(1, answers.GetProperty("studies").GetArrayLength());
        Assert.Equal(0, answers.GetProperty("none").GetArrayLength());
        Assert.Equal(1, answers.GetProperty("series").GetArrayLength());
        Assert.Equal(2, answers.GetProperty("instances").GetArrayLength());
        Assert.Equal(90, answers.GetProperty("metadata")[0].GetProperty("00280010").GetProperty("Value")[0].GetInt32());
        Assert.Equal(second, answers.GetProperty("instance").GetBytesFromBase64());
        Assert.Equal(2, answers.GetProperty("study").GetInt32());
        Assert.Equal(DicomContent.PixelWords(radiograph), answers.GetProperty("frame").GetBytesFromBase64());
        Assert.Equal(70, RadiographReader.Read(answers.GetProperty("rendered").GetBytesFromBase64(), "rendered.png").Columns);
        await bench.StopAsync();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    /// <summary>Needs the browser and the client; continuous integration fetches it by npm into artifacts/npm.</summary>
    [AttributeUsage(AttributeTargets.Method)]
    private sealed class ClientFactAttribute : FactAttribute
    {
        public ClientFactAttribute()
        {
            if (!File.Exists(Chromium) || !File.Exists(Script))
            {
                Skip = $"skipped: {(File.Exists(Chromium) ? "dicomweb-client (npm install --prefix artifacts/npm dicomweb-client@0.11.3)" : Chromium)} is not installed";
            }
        }

        public static string Script { get; } = Path.Combine(SharedData.RepositoryRoot, "artifacts", "npm", "node_modules", "dicomweb-client", "build", "dicomweb-client.js");
    }
}
