using Hotlight.Audit;
using Hotlight.Judgement;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.AspNetCore.Builder;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests;

/// <summary>The way back is walked: last night's backup becomes a bench in another folder, as docs/operations.md says it.</summary>
public sealed class RestoreRehearsalTests
{
    [Fact]
    public async Task LastNightsBackup_RestoredElsewhere_IsABenchWithAllOfItAndTheFirstGoesOn()
    {
        using var folder = new ScratchFolder();
        var answers = new Dictionary<Guid, string>();
        await using (WebApplication bench = await StartAsync(folder["data"]))
        {
            CaseWorkflow cases = bench.Services.GetRequiredService<CaseWorkflow>();
            for (int seed = 1; seed <= 3; seed++)
            {
                InventedExposure.Write(InventedExposure.Limb(120, 100, seed), folder["limb.dcm"]);
                await using FileStream file = File.OpenRead(folder["limb.dcm"]);
                OpenCase open = await cases.ChooseProjectionAsync(await cases.OpenAsync((await cases.BringInAsync("limb.dcm", file, 1 << 24)).Record.Id), "wrist-pa");
                open = await cases.AnswerAsync(open, open.Critique!.Lines[0].Id, new Answer(ChecklistState.Met, Remark: $"as of the evening, {seed}"));
                answers[open.Record.Id] = open.Record.AnswersJson;
            }

            // In the night, while the bench runs: first what knows of the newest entry, so that it is never newer than the records.
            Directory.CreateDirectory(folder["night"]);
            foreach (string name in new[] { "audit.head", "audit.key", "privacy.key" })
            {
                File.Copy(Path.Combine(folder["data"], name), Path.Combine(folder["night"], name));
            }

            await SqliteUpkeep.BackUpAsync(Path.Combine(folder["data"], KeptRecords.FileName), Path.Combine(folder["night"], "last-night.db"));
            foreach (string name in new[] { "files", "keys", "mappings", "takes" }.Where(name => Directory.Exists(Path.Combine(folder["data"], name))))
            {
                CopyFolder(Path.Combine(folder["data"], name), Path.Combine(folder["night"], name));
            }

            // The day after goes on.
            OpenCase day = await cases.OpenAsync(answers.Keys.First());
            await cases.AnswerAsync(day, day.Critique!.Lines[0].Id, new Answer(ChecklistState.NotMet, Remark: "as of the day after"));
            await cases.DeleteAsync(answers.Keys.Last());

            // The rehearsal.
            CopyFolder(folder["night"], folder["elsewhere"]);
            File.Delete(folder["elsewhere/last-night.db"]);
            (StoreCheck found, string? former) = await SqliteUpkeep.RestoreAsync(folder["night/last-night.db"], Path.Combine(folder["elsewhere"], KeptRecords.FileName), replaces: false, DateTimeOffset.UtcNow);
            Assert.Equal((3L, 0, null), (found.Cases, found.Faults.Count, former));
            await using (WebApplication again = await StartAsync(folder["elsewhere"]))
            {
                CaseWorkflow restored = again.Services.GetRequiredService<CaseWorkflow>();
                Assert.Equal(3, await again.Services.GetRequiredService<IRecordStore>().CountAsync());
                foreach ((Guid id, string json) in answers)
                {
                    OpenCase open = await restored.OpenAsync(id);
                    Assert.Equal(json, open.Record.AnswersJson);
                    Assert.Equal((120, 100), await SizeAsync(restored, open.Record));
                }

                AuditCheck trail = await again.Services.GetRequiredService<AuditTrail>().CheckAsync();
                Assert.Empty(trail.Faults);
                List<AuditEntry> entries = await again.Services.GetRequiredService<AuditTrail>().ReadAsync(new AuditQuery()).ToListAsync();
                Assert.DoesNotContain(entries, entry => entry.Act == AuditAct.TrailUsed && entry.IsFailure);
                Assert.Equal(3, entries.Count(entry => entry.Act == AuditAct.BroughtIn));
                await again.StopAsync();
            }

            // The first bench was not touched.
            Assert.Equal(2, await bench.Services.GetRequiredService<IRecordStore>().CountAsync());
            Assert.Contains("as of the day after", (await cases.OpenAsync(answers.Keys.First())).Record.AnswersJson, StringComparison.Ordinal);
            await bench.StopAsync();
        }

        SqliteConnection.ClearAllPools();
    }

    private static async Task<(int Rows, int Columns)> SizeAsync(CaseWorkflow cases, CaseRecord record)
        => await cases.RadiographAsync(record) is { } radiograph ? (radiograph.Rows, radiograph.Columns) : default;

    private static void CopyFolder(string from, string to)
    {
        foreach (string file in Directory.GetFiles(from, "*", SearchOption.AllDirectories))
        {
            string place = Path.Combine(to, Path.GetRelativePath(from, file));
            Directory.CreateDirectory(Path.GetDirectoryName(place)!);
            File.Copy(file, place);
        }
    }

    private static Task<WebApplication> StartAsync(string data) => Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = data, WithDemoCases = false }, TextWriter.Null);
}
