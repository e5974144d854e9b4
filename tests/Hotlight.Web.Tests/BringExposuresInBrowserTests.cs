using System.Text;
using Hotlight.Testing;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>Bringing exposures into the records as a reader does it, in the system's Chromium.</summary>
public sealed class BringExposuresInBrowserTests : IAsyncLifetime, IDisposable
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
    public async Task Folder_IsReadShownKeptAndTakenBack()
    {
        Directory.CreateDirectory(folder["archive/deep"]);
        for (int image = 1; image <= 12; image++)
        {
            File.WriteAllBytes(folder[$"archive/deep/{image}.dcm"], InventedSources.File(InventedSources.Header(image, study: 1000 + (image / 3)).SetText(0x00080032, "TM", $"09{10 + image:00}00"), pixelBytes: 600_000));
        }

        File.WriteAllBytes(folder["archive/reject.dcm"], InventedSources.Document(InventedSources.KeyObjects("113001", "111209", 1)));
        File.WriteAllBytes(folder["archive/dose.dcm"], InventedSources.Document(InventedSources.DoseReport(new InventedEvent(2001) { Image = 1 })));
        File.WriteAllBytes(folder["archive/cut.dcm"], InventedSources.File(InventedSources.Header(99))[..400]);
        await File.WriteAllBytesAsync(folder["archive/picture.bin"], [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
        using BenchProcess bench = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"]);
        IPage page = await OpenAsync(bench.Address);
        List<string> complaints = SystemChromium.Complaints(page);
        IFileChooser chooser = await page.RunAndWaitForFileChooserAsync(() => page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "choose a folder" }).ClickAsync());
        await chooser.SetFilesAsync(folder["archive"]);

        ILocator counts = page.Locator("section", new PageLocatorOptions { HasText = "files read" }).Locator(".counts[role=status]");
        await Assertions.Expect(counts).ToContainTextAsync("16 files read");
        await Assertions.Expect(counts).ToContainTextAsync("12 exposures");
        await Assertions.Expect(counts).ToContainTextAsync("1 of another kind");
        await Assertions.Expect(counts).ToContainTextAsync("1 not taken");
        await Assertions.Expect(page.GetByRole(AriaRole.Region, new PageGetByRoleOptions { Name = "Files that were not taken" })).ToContainTextAsync("cut.dcm");
        ILocator rows = page.GetByRole(AriaRole.Region, new PageGetByRoleOptions { Name = "The first exposures of the files" });
        await Assertions.Expect(rows.Locator("tbody tr")).ToHaveCountAsync(12);
        await Assertions.Expect(rows.Locator(".use-rejected")).ToHaveTextAsync("rejected: positioning");
        await SystemChromium.AssertAccessibleAsync(page);
        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Keep 12 exposures" }).ClickAsync();
        await Assertions.Expect(page.Locator(".notice[role=status]")).ToContainTextAsync("Kept: 12 new exposures");

        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Take back 16 DICOM files" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Take them out" }).ClickAsync();
        await Assertions.Expect(page.Locator(".notice[role=status]")).ToContainTextAsync("12 exposures were taken out");
        await Assertions.Expect(page.GetByText("taken back", new PageGetByTextOptions { Exact = true })).ToBeVisibleAsync();
        Assert.Empty(complaints);
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Table_IsProposedCorrectedByKeyboardKeptAndItsMappingUsedAgain()
    {
        StringBuilder text = new("Datum;Uhrzeit;Raum;Untersuchung;MTRA;Verworfen;Grund;EI;Ziel-EI;DFP [mGy·cm²]\n");
        for (int row = 0; row < 40; row++)
        {
            text.Append($"{1 + (row / 4):00}.03.2026;{8 + (row % 4):00}:1{row % 10};Raum {1 + (row % 2)};Handgelenk p.a.;Ente, Ida;{(row % 8 == 0 ? "ja" : "nein")};{(row % 8 == 0 ? "Vollmond" : string.Empty)};{250 + row};350;{3 + (row / 10)},5\n");
        }

        await File.WriteAllTextAsync(folder["rejects.csv"], text.ToString());
        using BenchProcess bench = await BenchProcess.StartAsync(BenchProcess.FreePort(), folder["data"]);
        IPage page = await OpenAsync(bench.Address);
        List<string> complaints = SystemChromium.Complaints(page);
        await page.Locator("input[type=file]").SetInputFilesAsync(folder["rejects.csv"]);
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new PageGetByRoleOptions { Name = "Table: rejects.csv" })).ToBeVisibleAsync();

        // Nobody knows what the full moon does to an exposure: its rows are listed, and nothing can be kept.
        ILocator faults = page.GetByRole(AriaRole.Region, new PageGetByRoleOptions { Name = "Faults by line" });
        await Assertions.Expect(faults.Locator("tbody tr")).ToHaveCountAsync(5);
        await Assertions.Expect(faults.Locator("tbody tr").First).ToContainTextAsync("Grund");
        ILocator keep = page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Keep 35 exposures" });
        await Assertions.Expect(keep).ToBeDisabledAsync();
        await SystemChromium.AssertAccessibleAsync(page);

        // By keyboard: the word gets a meaning, and the faults are gone.
        ILocator word = page.GetByLabel("Vollmond");
        await word.FocusAsync();
        await page.Keyboard.TypeAsync("other");
        await page.Keyboard.PressAsync("Tab");
        ILocator all = page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Keep 40 exposures" });
        await Assertions.Expect(all).ToBeEnabledAsync();
        await Assertions.Expect(faults).ToHaveCountAsync(0);
        await page.GetByLabel("Keep this mapping as").FillAsync("Reject list of room 2");
        await page.GetByRole(AriaRole.Button, new PageGetByRoleOptions { Name = "Keep the mapping" }).ClickAsync();
        await Assertions.Expect(page.GetByText("Kept as “Reject list of room 2”.")).ToBeVisibleAsync();
        await all.PressAsync("Enter");
        await Assertions.Expect(page.Locator(".notice[role=status]")).ToContainTextAsync("Kept: 40 new exposures");

        // The same table again by the kept mapping: nothing doubles.
        await page.Locator("input[type=file]").SetInputFilesAsync(folder["rejects.csv"]);
        await page.GetByLabel("Use a mapping kept before").SelectOptionAsync("Reject list of room 2");
        await all.ClickAsync();
        await Assertions.Expect(page.Locator(".notice[role=status]")).ToContainTextAsync("Kept: 0 new exposures, 40 known before");
        Assert.Empty(complaints);
        Assert.Single(Directory.GetFiles(folder["data/mappings"], "*.json"));
    }

    private async Task<IPage> OpenAsync(Uri address)
    {
        IPage page = await browser!.NewPageAsync();
        await page.GotoAsync(new Uri(address, "records/bring-in").ToString());
        await page.GetByRole(AriaRole.Heading, new PageGetByRoleOptions { Name = "Bring exposures into the records" }).WaitForAsync();
        await page.WaitForFunctionAsync("async () => (await import('/bring-in.js')) !== null");
        return page;
    }
}
