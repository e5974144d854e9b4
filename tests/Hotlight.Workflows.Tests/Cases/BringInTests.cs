using Hotlight.Core;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;

namespace Hotlight.Workflows.Tests.Cases;

public sealed class BringInTests : IAsyncLifetime, IDisposable
{
    private readonly ScratchFolder folder = new();
    private readonly PrivacyKey key = PrivacyKey.Fresh();
    private IRecordStore records = null!;
    private FolderFileStore files = null!;
    private RadiographShelf shelf = null!;

    public async Task InitializeAsync()
    {
        records = await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
    }

    public Task DisposeAsync()
    {
        Dispose();
        return Task.CompletedTask;
    }

    public void Dispose()
    {
        shelf.Dispose();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        if (Directory.Exists(folder.Path))
        {
            folder.Dispose();
        }
    }

    [Fact]
    public async Task BringInAsync_TeachingSetUp_KeepsOnlyTheFileWithoutIdentity()
    {
        CaseRecord record = (await BringInAsync(Cases(IntakeSetting.Teaching), Limb(), "Invented_limb.dcm")).Record;

        Assert.True(record.IsDeidentified);
        Assert.False(record.FileCarriesPatientIdentity);
        Assert.StartsWith("P-", record.PatientLabel, StringComparison.Ordinal);
        Assert.StartsWith(record.PatientLabel!, record.FileName, StringComparison.Ordinal);
        Assert.StartsWith("2.25.", record.SopInstanceUid, StringComparison.Ordinal);
        PrivacyReport report = IntakeFile.ReadReport(record.DeidentificationReportJson)!;
        Assert.Contains(report.Changes, change => change is { Keyword: "PatientName", Action: PrivacyAction.Replace, Count: 1 });
        Assert.DoesNotContain("Invented", record.DeidentificationReportJson, StringComparison.Ordinal);
        foreach (string path in Directory.GetFiles(folder.Path, "*", SearchOption.AllDirectories))
        {
            byte[] content;
            try
            {
                await using FileStream open = new(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
                content = new byte[open.Length];
                await open.ReadExactlyAsync(content);
            }
            catch (FileNotFoundException) when (path.EndsWith("-shm", StringComparison.Ordinal) || path.EndsWith("-wal", StringComparison.Ordinal))
            {
                // The database puts its own files away when nobody uses it any more; what was in them is in the database's file.
                continue;
            }

            Assert.True(content.AsSpan().IndexOf("Invented^Limb"u8) < 0, Path.GetFileName(path));
        }
    }

    [Fact]
    public async Task BringInAsync_ClinicalSetUp_KeepsTheFileAsItIsAndNoIdentifierInTheRecord()
    {
        byte[] limb = Limb();
        CaseRecord record = (await BringInAsync(Cases(IntakeSetting.Clinical), limb, "limb.dcm")).Record;

        Assert.False(record.IsDeidentified);
        Assert.True(record.FileCarriesPatientIdentity);
        Assert.Equal(limb, await files.ReadAsync(record.ContentHash));
        Assert.Equal(DicomContent.Read(limb, "x").Dataset.Text(0x0020000D), record.ExaminationKey);
        Assert.DoesNotContain("T-1", record.PatientKey + record.PatientLabel, StringComparison.Ordinal);
        Assert.Equal("DX", record.Modality);
        Assert.Equal("L", record.Laterality);
    }

    [Theory]
    [InlineData(IntakeSetting.Teaching)]
    [InlineData(IntakeSetting.Clinical)]
    public async Task BringInAsync_SameExposureAgain_IsTheCaseThatIsKept(IntakeSetting setting)
    {
        CaseWorkflow cases = Cases(setting);
        byte[] limb = Limb();
        CaseBroughtIn first = await BringInAsync(cases, limb, "limb.dcm");

        CaseBroughtIn second = await BringInAsync(cases, limb, "copy of limb.dcm");

        Assert.False(first.WasKept);
        Assert.True(second.WasKept);
        Assert.Equal(first.Record.Id, second.Record.Id);
        Assert.Equal(1, await cases.CountAsync());
        Assert.NotNull(await cases.RadiographAsync(second.Record));
    }

    [Fact]
    public async Task BringInAsync_TheSameFileManyTimesAtOnce_MakesOneCase()
    {
        CaseWorkflow cases = Cases(IntakeSetting.Teaching);
        byte[] limb = Limb();

        CaseBroughtIn[] all = await Task.WhenAll(Enumerable.Range(0, 6).Select(_ => BringInAsync(cases, limb, "limb.dcm")));

        Assert.Single(all, each => !each.WasKept);
        Assert.Equal(1, await cases.CountAsync());
        Assert.NotNull(await cases.RadiographAsync(all[0].Record));
    }

    [Fact]
    public async Task BringInAsync_TwoExposuresOfOneExamination_ShareItAndThePatient()
    {
        CaseWorkflow cases = Cases(IntakeSetting.Teaching);
        CaseRecord first = (await BringInAsync(cases, Limb(seed: 1), "a.dcm")).Record;
        CaseRecord second = (await BringInAsync(cases, Limb(seed: 2, instance: "1.2.3.4.5"), "b.dcm")).Record;

        Assert.Equal(first.ExaminationKey, second.ExaminationKey);
        Assert.Equal(first.PatientKey, second.PatientKey);
        Assert.NotEqual(first.SopInstanceUid, second.SopInstanceUid);
    }

    [Fact]
    public async Task ExaminationOrder_ThreeExaminationsOfTwoPatients_AreNumberedByTheirTime()
    {
        CaseWorkflow cases = Cases(IntakeSetting.Clinical);
        await BringInAsync(cases, Limb(seed: 1, instance: "1.1", study: "1.9", date: "20260301"), "a.dcm");
        await BringInAsync(cases, Limb(seed: 2, instance: "1.2", study: "1.8", date: "20260105"), "b.dcm");
        await BringInAsync(cases, Limb(seed: 3, instance: "1.3", study: "2.1", date: "20260201", patient: "T-2"), "c.dcm");
        await BringInAsync(cases, Limb(seed: 4, instance: "1.4", study: "1.9", date: "20260301"), "d.dcm");

        IReadOnlyDictionary<string, ExaminationPlace> places = ExaminationOrder.Of(await cases.ListAsync(0, 100));

        Assert.Equal((1, 2), (places["1.8"].Number, places["1.8"].Of));
        Assert.Equal((2, 2), (places["1.9"].Number, places["1.9"].Of));
        Assert.Equal((1, 1), (places["2.1"].Number, places["2.1"].Of));
        Assert.NotEqual(places["2.1"].PatientLabel, places["1.8"].PatientLabel);
        Assert.StartsWith("examination 2 of 2 of P-", places["1.9"].ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task BringInAsync_NoRadiograph_LeavesNothing()
    {
        CaseWorkflow cases = Cases(IntakeSetting.Teaching);

        await Assert.ThrowsAsync<UnreadableImageException>(() => BringInAsync(cases, "Dear colleague"u8.ToArray(), "letter.txt"));

        Assert.Equal(0, await cases.CountAsync());
        Assert.Empty(Directory.GetFiles(folder["files"], "*", SearchOption.AllDirectories));
    }

    private static async Task<CaseBroughtIn> BringInAsync(CaseWorkflow cases, byte[] content, string name)
    {
        using var stream = new MemoryStream(content, writable: false);
        return await cases.BringInAsync(name, stream, 1 << 24);
    }

    private static byte[] Limb(int seed = 1, string? instance = null, string study = "1.2.3.4", string? date = null, string patient = "T-1")
    {
        DicomDataset dataset = DxObject.Create(InventedExposure.Limb(rows: 240, columns: 200, seed: seed), new DxDescription { PatientName = "Invented^Limb", PatientId = patient, Seed = "bring-in" });
        dataset.SetText(0x0020000D, "UI", study);
        if (date is not null)
        {
            dataset.SetText(0x00080022, "DA", date).Remove(0x0008002A);
        }

        if (instance is not null)
        {
            dataset.SetText(0x00080018, "UI", instance);
        }

        using var stream = new MemoryStream();
        DicomWriter.Write(stream, dataset);
        return stream.ToArray();
    }

    private CaseWorkflow Cases(IntakeSetting setting) => new(records, files, shelf, TimeProvider.System, intake: new IntakePolicy(setting, key));
}
