using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Tests.Clinic;

public sealed class ClinicWorkflowTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public async Task ChangeAsync_ThenTakeBack_WalksToTheSettingsBeforeAndSaysWho()
    {
        ClinicWorkflow clinic = await OpenAsync();
        int raised = 0;
        clinic.Changed += () => raised++;
        var anna = new Person { Id = Guid.NewGuid(), Pseudonym = "Anna" };

        ClinicState first = await clinic.ChangeAsync(clinic.Current, new ClinicSettings { People = [anna] }, "Anna added", null);
        ClinicState second = await clinic.ChangeAsync(first, first.Settings with { TargetExposureIndices = new Dictionary<string, double> { ["wrist-pa"] = 400 } }, "target of wrist-pa: 400", anna.Id);
        ClinicState back = await clinic.TakeBackAsync(second, anna.Id);

        Assert.Empty(back.Settings.TargetExposureIndices);
        Assert.Equal([anna], back.Settings.People);
        Assert.Equal(3, raised);
        Assert.Equal(["taken back: target of wrist-pa: 400", "target of wrist-pa: 400", "Anna added"], (await clinic.HistoryAsync(5)).Select(each => each.Label));
        Assert.Equal([anna.Id, anna.Id, null], (await clinic.HistoryAsync(5)).Select(each => each.ChangedBy));

        // Taken back once more it is made again; a new bench reads the same.
        ClinicState again = await (await OpenAsync()).TakeBackAsync(back, null);
        Assert.Equal(400, again.Settings.TargetExposureIndices["wrist-pa"]);
    }

    [Fact]
    public async Task TakeBackAsync_FirstChange_LeavesNothingSet()
    {
        ClinicWorkflow clinic = await OpenAsync();
        Assert.Same(clinic.Current, await clinic.TakeBackAsync(clinic.Current, null));
        ClinicState first = await clinic.ChangeAsync(clinic.Current, new ClinicSettings { LeftMarkerWords = ["LINKS"] }, "words", null);
        Assert.Empty((await clinic.TakeBackAsync(first, null)).Settings.LeftMarkerWords);
    }

    [Fact]
    public async Task ChangeAsync_ByTwoWindows_TheLaterIsToldAndSeesTheNewer()
    {
        ClinicWorkflow one = await OpenAsync();
        ClinicWorkflow other = await OpenAsync();
        ClinicState seen = other.Current;
        await one.ChangeAsync(one.Current, new ClinicSettings { LeftMarkerWords = ["LINKS"] }, "words", null);

        await Assert.ThrowsAsync<ClinicChangedException>(() => other.ChangeAsync(seen, new ClinicSettings { LeftMarkerWords = ["LI"] }, "words", null));

        Assert.Equal(["LINKS"], other.Current.Settings.LeftMarkerWords);
    }

    [Fact]
    public async Task ChangeAsync_WhatCannotBe_IsRefusedAndNotKept()
    {
        ClinicWorkflow clinic = await OpenAsync();
        await Assert.ThrowsAsync<FormatException>(() => clinic.ChangeAsync(clinic.Current, new ClinicSettings { LeftMarkerWords = ["7"] }, "words", null));
        Assert.Empty(await clinic.HistoryAsync(5));
        Assert.Equal(0, clinic.Current.Number);
    }

    private async Task<ClinicWorkflow> OpenAsync()
    {
        await SqliteRecords.OpenAsync(folder["records.db"], TimeProvider.System);
        var clinic = new ClinicWorkflow(SqliteRecords.Clinic(folder["records.db"], TimeProvider.System));
        await clinic.LoadAsync();
        return clinic;
    }
}
