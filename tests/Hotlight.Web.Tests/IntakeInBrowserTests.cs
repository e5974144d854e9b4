using Hotlight.Imaging.Dicom;
using Hotlight.Testing;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>Bringing files in as a reader does it, in the system's Chromium.</summary>
public sealed class IntakeInBrowserTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private SystemChromium? browser;

    public async Task InitializeAsync() => browser = await SystemChromium.LaunchAsync();

    public async Task DisposeAsync()
    {
        if (browser is not null)
        {
            await browser.DisposeAsync();
        }
    }

    public void Dispose() => folder.Dispose();

    [SystemFileFact(SystemChromium.Path)]
    public async Task Folder_WithCompanionsAndACopy_IsSummedUpWithReasonsAndOneCaseEach()
    {
        Directory.CreateDirectory(folder["exam/second"]);
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100, seed: 1), folder["exam/first.dcm"]);
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100, seed: 2), folder["exam/second/other.dcm"]);
        File.Copy(folder["exam/first.dcm"], folder["exam/second/copy of first.dcm"]);
        await File.WriteAllTextAsync(folder["exam/DICOMDIR"], "table of contents");
        await File.WriteAllTextAsync(folder["exam/readme.txt"], "Dear colleague");
        await File.WriteAllBytesAsync(folder["exam/cut.dcm"], (await File.ReadAllBytesAsync(folder["exam/first.dcm"]))[..9000]);
        using BenchProcess bench = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"]);
        IPage page = await OpenAsync(bench.Address);

        IFileChooser chooser = await page.RunAndWaitForFileChooserAsync(() => page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "choose a folder" }).ClickAsync());
        await chooser.SetFilesAsync(folder["exam"]);

        await Assertions.Expect(page.Locator(".intake-sum .counts[role=status]")).ToContainTextAsync("2 kept");
        await Assertions.Expect(page.Locator(".intake-sum .counts")).ToContainTextAsync("1 already kept before");
        await Assertions.Expect(page.Locator(".intake-sum .counts")).ToContainTextAsync("3 not taken");
        await Assertions.Expect(page.Locator(".arrivals li.refused")).ToHaveCountAsync(3);
        await Assertions.Expect(page.Locator(".arrivals li.refused", new PageLocatorOptions { HasText = "DICOMDIR" })).ToContainTextAsync("table of contents");
        await Assertions.Expect(page.Locator(".arrivals li.known a")).ToHaveCountAsync(1);
        await SystemChromium.AssertAccessibleAsync(page);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Drop_Folder_IsWalkedToItsLastFile()
    {
        Directory.CreateDirectory(folder["exam/first/second"]);
        InventedExposure.Write(InventedExposure.Limb(rows: 120, columns: 100, seed: 1), folder["exam/first/second/deep.dcm"]);

        // More than a reader of a folder gives at once.
        for (int number = 0; number < 130; number++)
        {
            await File.WriteAllTextAsync(folder[$"exam/first/{number:000}.txt"], "x");
        }

        using BenchProcess bench = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"]);
        IPage page = await OpenAsync(bench.Address);
        ICDPSession session = await page.Context.NewCDPSessionAsync(page);
        foreach (string type in new[] { "dragEnter", "dragOver", "drop" })
        {
            await session.SendAsync("Input.dispatchDragEvent", new Dictionary<string, object>
            {
                ["type"] = type,
                ["x"] = 400,
                ["y"] = 300,
                ["data"] = new Dictionary<string, object> { ["items"] = Array.Empty<object>(), ["files"] = new[] { folder["exam"] }, ["dragOperationsMask"] = 1 },
            });
        }

        await Assertions.Expect(page.Locator(".intake-sum .counts[role=status]")).ToContainTextAsync("1 kept");
        await Assertions.Expect(page.Locator(".intake-sum .counts")).ToContainTextAsync("130 not taken");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Upload_BenchKilledInTheMiddle_GoesOnFromTheLastByteWhenItIsThereAgain()
    {
        // Three pieces of 2 MiB and a bit.
        InventedExposure.Write(InventedExposure.Limb(rows: 1900, columns: 1700), folder["limb.dcm"]);
        int port = BenchProcess.FreePort();
        BenchProcess bench = await BenchProcess.StartAsync(port, folder["data"]);
        BenchProcess? second = null;
        try
        {
            IPage page = await OpenAsync(bench.Address);
            List<string> offsets = [];
            var killed = new TaskCompletionSource();
            await page.RouteAsync("**/uploads/*", async route =>
            {
                if (route.Request.Method == "PATCH")
                {
                    offsets.Add(route.Request.Headers["upload-offset"]);
                    if (offsets.Count == 2)
                    {
                        bench.Kill();
                        killed.SetResult();
                    }
                }

                await route.ContinueAsync();
            });

            await page.Locator("input[type=file]").SetInputFilesAsync(folder["limb.dcm"]);
            await killed.Task;
            string part = Assert.Single(Directory.GetFiles(folder["data/arriving"], "*.part"));
            Assert.Equal(2 * 1024 * 1024, new FileInfo(part).Length);
            second = await BenchProcess.StartAsync(port, folder["data"]);

            await Assertions.Expect(page.Locator(".case-table tbody tr[data-line]").First).ToBeVisibleAsync();
            Assert.Equal("0", offsets[0]);
            Assert.DoesNotContain("0", offsets.Skip(1));
            Assert.Empty(Directory.GetFiles(folder["data/arriving"]));
            string kept = Assert.Single(Directory.GetFiles(folder["data/files"], "*", SearchOption.AllDirectories));
            Assert.Equal(1900 * 1700 * 2, DicomContent.Read(await File.ReadAllBytesAsync(kept), "kept").Dataset.Find(0x7FE00010)!.Value.Length);
        }
        finally
        {
            bench.Dispose();
            second?.Dispose();
        }
    }

    // The list of cases, once it listens for files.
    private async Task<IPage> OpenAsync(Uri address)
    {
        IPage page = await browser!.OpenAsync(address);
        await page.WaitForSelectorAsync(".intake[data-files=heard]");
        return page;
    }
}
