using Hotlight.Core;
using Hotlight.Records;
using Hotlight.Store.Exchange;
using Hotlight.Store.Log;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Records;
using Hotlight.Workflows.Teaching;

namespace Hotlight.Store.Tests;

/// <summary>Everything written out in every format and taken into an empty store of the same kind is as it was.</summary>
public abstract partial class RecordStoreSuite
{
    /// <summary>Writes the opened store out, and takes exports in.</summary>
    protected abstract OpenStore Exchange();

    /// <summary>Goes on with an empty store.</summary>
    protected abstract Task<IRecordStore> OpenAnotherAsync();

    [StoreTheory]
    [InlineData(OpenFormat.Csv)]
    [InlineData(OpenFormat.Jsonl)]
    [InlineData(OpenFormat.Parquet)]
    public async Task Exchange_EverythingThroughEveryFormat_IsAsItWas(OpenFormat format)
    {
        string folder = Path.Combine(Path.GetTempPath(), $"hotlight-export-{Guid.NewGuid():N}");
        try
        {
            IRecordStore store = await OpenAsync();
            CaseRecord first = await store.AddAsync(NewCase("Wrist; \"PA\",\r\nsecond \\ try  ") with
            {
                GivenSpacing = new PixelSpacing(rowSpacingMm: 0.1 + 0.2, columnSpacingMm: 1.0 / 3), Tags = "ünï, 手首", PatientLabel = "\\N", AcquiredAt = Start.AddTicks(7), IsInvented = true, ReceivedBy = CaseOrigin.Network, ReadingSeconds = 61.25,
            });
            CaseRecord second = await store.AddAsync(NewCase("deleted"));
            first = await store.KeepAnswersAsync(first.Id, first.Version, Step("{\"a\":\"\\u0000\"}", "one", verdict: "repeat"));
            await store.DeleteAsync(second.Id);
            await store.KeepFactAsync("fact", string.Empty);
            var person = new Person { Id = Guid.NewGuid(), Pseudonym = "Heron", Role = PersonRole.Supervisor };
            await Clinic().KeepAsync(0, "{\"rooms\":[]}", [person], "people", person.Id);
            Lesson lesson = await Lessons().AddAsync(NewLesson(LessonKind.Round, first.Id, "key"));
            ExposureLog log = Log();
            LogImport import = await log.AddAsync(Import(title: "a \"table\", of October"), [FullEntry("full, \"quoted\"\nkey"), .. Mixed(150, 21)]);
            LogImport back = await log.AddAsync(Import("elsewhere"), Mixed(40, 22, "elsewhere"));
            await log.TakeBackAsync(back.Id);
            await log.KeepCasesAsync([Entry("case") with { CaseId = first.Id, Source = EntrySource.Bench }]);
            List<ExposureEntry> entries = await AllAsync(log, new LogQuery());
            IReadOnlyList<LogCount> counts = await log.CountAsync(new LogQuery(), [LogDimension.Month, LogDimension.Room]);

            OpenExport export = await Exchange().WriteAsync(folder, format);
            IRecordStore other = await OpenAnotherAsync();
            Assert.Null(await other.FindAsync(first.Id));
            await Exchange().TakeAsync(folder);

            Assert.Equal(152, export.Tables.Single(table => table.Name == "entries").Rows);
            Assert.Equal(first, await other.FindAsync(first.Id));
            Assert.Equal([(1, "one", "repeat")], (await other.StepsAsync(first.Id)).Select(each => (each.Number, each.Label, each.Verdict)));
            Assert.Equal([lesson], await Lessons().ListAsync(new LessonQuery()));
            Assert.True(await other.RestoreAsync(second.Id));
            Assert.Equal(string.Empty, await other.FindFactAsync("fact"));
            Assert.Equal("{\"rooms\":[]}", (await Clinic().NewestAsync())!.SettingsJson);
            Assert.Equal(entries.OrderBy(each => each.Key, StringComparer.Ordinal), (await AllAsync(Log(), new LogQuery())).OrderBy(each => each.Key, StringComparer.Ordinal));
            Assert.Equal([import], await Log().ImportsAsync(""));
            Assert.Equal([back with { IsTakenBack = true }], await Log().ImportsAsync("elsewhere"));
            Assert.Equal(counts.Select(each => each with { Keys = [] }), (await Log().CountAsync(new LogQuery(), [LogDimension.Month, LogDimension.Room])).Select(each => each with { Keys = [] }), Same);
            Assert.Empty((await Log().CheckAsync()).Faults);
            Assert.Equal(1, (await Log().AddAsync(Import(), [Entry("new"), FullEntry("full, \"quoted\"\nkey")])).Added);

            // Into records that are there nothing is taken, and into a folder that holds something nothing is written.
            Assert.Contains("not empty", (await Assert.ThrowsAsync<StoreRefusedException>(() => Exchange().TakeAsync(folder))).Message, StringComparison.Ordinal);
            Assert.Contains("holds something", (await Assert.ThrowsAsync<StoreRefusedException>(() => Exchange().WriteAsync(folder, format))).Message, StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [StoreFact]
    public async Task Exchange_FileCutOffOrChanged_IsRefusedByNameAndNothingIsTaken()
    {
        string folder = Path.Combine(Path.GetTempPath(), $"hotlight-export-{Guid.NewGuid():N}");
        try
        {
            await OpenAsync();
            await Log().AddAsync(Import(), Mixed(30, 23));
            await Exchange().WriteAsync(folder, OpenFormat.Csv);
            string path = Path.Combine(folder, "entries.csv");
            string[] lines = await File.ReadAllLinesAsync(path);
            await File.WriteAllLinesAsync(path, lines[..^3]);
            await OpenAnotherAsync();
            Assert.Contains("'entries' has 27 rows where 30 were written", (await Assert.ThrowsAsync<StoreRefusedException>(() => Exchange().TakeAsync(folder))).Message, StringComparison.Ordinal);
            lines[5] = lines[5].Replace(",false,", ",perhaps,", StringComparison.Ordinal).Replace(",true,", ",perhaps,", StringComparison.Ordinal);
            await File.WriteAllLinesAsync(path, lines);
            Assert.Contains("entries.csv, row 6", (await Assert.ThrowsAsync<StoreRefusedException>(() => Exchange().TakeAsync(folder))).Message, StringComparison.Ordinal);
            Assert.Empty(await Log().ExtentsAsync());
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}
