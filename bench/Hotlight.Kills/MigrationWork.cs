using System.Globalization;
using Hotlight.Store.Sqlite;
using Hotlight.Web;
using Hotlight.Workflows.Cases;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;

namespace Hotlight.Kills;

/// <summary>A store of an earlier version is opened, which brings it up to this one; every kill meets another copy of it, and is repeated on half-done ones.</summary>
internal sealed class MigrationWork : Work
{
    private const int Cases = 400;
    private static readonly string[] Versions = ["FirstRecords", "WorklistIndexes", "ExposureLog"];
    private string version = Versions[0];
    private int opened;

    /// <inheritdoc/>
    public override double LongestMs => 1500;

    /// <inheritdoc/>
    public override async Task PrepareAsync(WorkPlace place)
    {
        foreach (string each in Versions)
        {
            string path = Template(place, each);
            if (File.Exists(path))
            {
                continue;
            }

            await using (var context = new SqliteRecordContext(SqliteRecords.Options(path)))
            {
                await context.GetService<IMigrator>().MigrateAsync(Versions[0]);
                long time = new DateTime(2026, 11, 25, 0, 0, 0, DateTimeKind.Utc).Ticks;
                await using (Microsoft.EntityFrameworkCore.Storage.IDbContextTransaction transaction = await context.Database.BeginTransactionAsync())
                {
                    for (int number = 0; number < Cases; number++)
                    {
                        var id = new Guid(number, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10);
                        string answers = Answers(number);
                        await context.Database.ExecuteSqlAsync($$"""
                            INSERT INTO Cases (Id, Title, FileName, ContentHash, ContentBytes, ProjectionId, ExposureRecordJson, MeasurementsJson, MeasuredBy, AnswersJson, Verdict,
                                AnswerStep, LastAnswerStep, Version, IsInvented, FileCarriesPatientIdentity, Created, Changed, Deleted)
                            VALUES ({{id}}, 'Wrist', 'wrist.dcm', {{number.ToString("x64", CultureInfo.InvariantCulture)}}, 9, 'wrist-pa', '{"tubeVoltageKvp":55}', '{"measured":true}', '0.1.0', {{answers}}, 'repeat', 1, 1, 2, 0, 0, {{time}}, {{time}}, NULL);
                            INSERT INTO AnswerSteps (CaseId, Step, AnswersJson, Verdict, Label, MergeKey, Given) VALUES ({{id}}, 1, {{answers}}, 'repeat', 'one', NULL, {{time}});
                            """);
                    }

                    await transaction.CommitAsync();
                }

                await context.GetService<IMigrator>().MigrateAsync(each);
            }

            WorkPlace.LetGo();
        }
    }

    /// <inheritdoc/>
    public override Task BeforeAsync(WorkPlace place, Random random)
    {
        // Every third one goes on with what the kill before left.
        if (opened++ % 3 == 0 || !Directory.Exists(place.Data))
        {
            if (Directory.Exists(place.Data))
            {
                Directory.Delete(place.Data, recursive: true);
            }

            Directory.CreateDirectory(place.Data);
            version = Versions[random.Next(Versions.Length)];
            File.Copy(Template(place, version), place.Records);
        }

        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public override async Task WorkAsync(WorkPlace place, Random random, Acknowledgement acknowledged)
    {
        // Once on another copy, so that the kills fall into the bringing-up and not into what a program does at its first call.
        string other = Path.Combine(place.Folder, $"other-{Environment.ProcessId}.db");
        File.Copy(Template(place, Versions[0]), other);
        await SqliteRecords.OpenAsync(other, TimeProvider.System);
        acknowledged.Begin();
        IRecordStore store = await SqliteRecords.OpenAsync(place.Records, TimeProvider.System);
        for (int act = 0; ; act++)
        {
            await store.KeepFactAsync("act", act.ToString(CultureInfo.InvariantCulture));
            acknowledged.Say($"act {act}");
        }
    }

    /// <inheritdoc/>
    public override async Task CheckAsync(WorkPlace place, IReadOnlyList<string> said, List<string> faults)
    {
        foreach (string other in Directory.GetFiles(place.Folder, "other-*"))
        {
            File.Delete(other);
        }

        // On a copy, so that the next kill meets what this one left.
        string again = Path.Combine(place.Folder, "again");
        if (Directory.Exists(again))
        {
            Directory.Delete(again, recursive: true);
        }

        Directory.CreateDirectory(again);
        foreach (string file in Directory.GetFiles(place.Data))
        {
            File.Copy(file, Path.Combine(again, Path.GetFileName(file)));
        }

        string path = Path.Combine(again, KeptRecords.FileName);
        IRecordStore store = await SqliteRecords.OpenAsync(path, TimeProvider.System);
        faults.AddRange((await SqliteUpkeep.CheckAsync(path)).Faults);
        if (said.LastOrDefault() is { } last)
        {
            int act = int.Parse(last.Split(' ')[1], CultureInfo.InvariantCulture);
            int there = int.Parse(await store.FindFactAsync("act") ?? "-1", CultureInfo.InvariantCulture);
            if (there != act && there != act + 1)
            {
                faults.Add($"Act {act} was acknowledged, {there} is there.");
            }
        }

        if (await store.CountAsync() != Cases)
        {
            faults.Add($"{await store.CountAsync()} cases of {Cases} are there.");
        }

        for (int number = 0; number < Cases; number += 37)
        {
            if ((await store.FindAsync(new Guid(number, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10)))?.AnswersJson != Answers(number))
            {
                faults.Add($"Answers of case {number} are lost.");
            }
        }

        // The way back: one copy, of the version of before, sound.
        string[] copies = Directory.GetFiles(again, "records-before-upgrade-*.db");
        if (copies.Length != 1)
        {
            faults.Add($"There are {copies.Length} copies of before the upgrade.");
        }

        foreach (string copy in copies)
        {
            await using var context = new SqliteRecordContext(SqliteRecords.Options(copy));
            if (!(await context.Database.GetAppliedMigrationsAsync()).Last().EndsWith("_" + version, StringComparison.Ordinal))
            {
                faults.Add("The copy of before the upgrade is one of a store half brought up.");
            }
        }

        WorkPlace.LetGo();
    }

    private static string Template(WorkPlace place, string version) => Path.Combine(place.Folder, $"template-{version}.db");

    private static string Answers(int number) => $"{{\"kept\":{number}}}";
}
