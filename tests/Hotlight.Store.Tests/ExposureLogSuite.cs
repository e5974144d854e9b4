using System.Globalization;
using Hotlight.Records;
using Hotlight.Store.Log;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Records;

namespace Hotlight.Store.Tests;

/// <summary>What every log of exposures must do, whatever database is below. Counts are checked against counting the entries one by one.</summary>
public abstract partial class RecordStoreSuite
{
    /// <summary>The log in the store that was opened.</summary>
    protected abstract ExposureLog Log();

    private async Task<ExposureLog> OpenLogAsync()
    {
        await OpenAsync();
        return Log();
    }

    protected static LogImport Import(string site = "", string title = "october.csv") => new() { Id = Guid.NewGuid(), Site = site, Title = title, Source = EntrySource.Table, By = Guid.NewGuid() };

    protected static ExposureEntry Entry(string key, string site = "") => new() { Id = Guid.NewGuid(), Site = site, Key = key, ExposedAt = new DateTime(2026, 2, 3, 14, 5, 6, 789).AddTicks(1234), Source = EntrySource.Table };

    protected static ExposureEntry FullEntry(string key) => Entry(key) with
    {
        ProjectionId = "wrist-pa",
        GivenProjection = "WRIST p.a. größer",
        Room = "Room 2",
        Receptor = "D-4",
        Performer = "Heron",
        Shift = Shift.Late,
        AgeGroup = AgeGroup.Child,
        Use = ExposureUse.Rejected,
        IsRepeat = true,
        Reason = RejectReason.Motion,
        ExposureIndex = 412.125,
        TargetExposureIndex = 400.1,
        DeviationIndex = 10 * Math.Log10(412.125 / 400.1),
        TubeVoltageKvp = 55.3,
        ExposureMas = 1.6,
        KermaAreaProductDgyCm2 = 0.123456789,
        PatientKey = "p1",
        ExaminationKey = "2.25.7",
        CaseId = Guid.NewGuid(),
    };

    /// <summary>Invented entries in which every value of every member comes, over years, months' edges and days without any.</summary>
    protected static List<ExposureEntry> Mixed(int count, int seed, string site = "")
    {
        var random = new Random(seed);
        string? One(params string?[] names) => names[random.Next(names.Length)];
        var entries = new List<ExposureEntry>(count);
        for (int number = 0; number < count; number++)
        {
            var use = (ExposureUse)(random.Next(10) switch { 0 or 1 => 1, 2 => 2, _ => 0 });
            double? index = random.Next(5) == 0 ? null : Math.Round(200 + (400 * random.NextDouble()), 3);
            entries.Add(new ExposureEntry
            {
                Id = new Guid(random.Next(), 0, 0, [0, 0, 0, 0, .. BitConverter.GetBytes(number)]),
                Site = site,
                Key = string.Create(CultureInfo.InvariantCulture, $"2.25.{seed}.{number}"),
                ExposedAt = new DateTime(2024, 11, 20).AddMinutes(random.Next(500 * 24 * 60)),
                ProjectionId = One("wrist-pa", "chest-pa", "knee-lateral", null),
                GivenProjection = One("WRIST", "Thorax", null),
                Room = One("Room 1", "Room 2", "room 1", null),
                Receptor = One("D-1", "D-2", null),
                Performer = One("Heron", "Avocet", "Dunlin", null),
                Shift = (Shift)random.Next(4),
                AgeGroup = (AgeGroup)random.Next(3),
                Use = use,
                IsRepeat = random.Next(8) == 0,
                Reason = use == ExposureUse.Rejected && random.Next(4) > 0 ? (RejectReason)(1 + random.Next(10)) : null,
                ExposureIndex = index,
                TargetExposureIndex = 350,
                DeviationIndex = index is { } value ? 10 * Math.Log10(value / 350) : random.Next(9) == 0 ? 30 * (random.NextDouble() - 0.5) * 2 : null,
                TubeVoltageKvp = random.Next(3) == 0 ? null : 50 + random.Next(60),
                ExposureMas = random.Next(3) == 0 ? null : random.NextDouble() * 10,
                KermaAreaProductDgyCm2 = random.Next(4) == 0 ? null : Math.Round(random.NextDouble() * 8, 4),
                PatientKey = One("a", "b", null),
                ExaminationKey = One("x", null),
                Source = (EntrySource)random.Next(1, 4),
            });
        }

        return entries;
    }

    private static readonly LogDimension[] Periods = [LogDimension.Day, LogDimension.Week, LogDimension.Month];

    private static string? KeyOf(ExposureEntry entry, LogDimension dimension)
    {
        var day = DateOnly.FromDateTime(entry.ExposedAt);
        return dimension switch
        {
            LogDimension.Day => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture),
            LogDimension.Week => ISOWeek.ToDateTime(ISOWeek.GetYear(entry.ExposedAt), ISOWeek.GetWeekOfYear(entry.ExposedAt), DayOfWeek.Monday).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture),
            LogDimension.Month => day.ToString("yyyy-MM", CultureInfo.InvariantCulture),
            LogDimension.Projection => entry.ProjectionId,
            LogDimension.Room => entry.Room,
            LogDimension.Receptor => entry.Receptor,
            LogDimension.Performer => entry.Performer,
            LogDimension.Shift => entry.Shift.ToString(),
            LogDimension.AgeGroup => entry.AgeGroup.ToString(),
            _ => entry.Reason?.ToString(),
        };
    }

    private static List<ExposureEntry> Picked(IEnumerable<ExposureEntry> entries, LogQuery query, bool countsOnly)
    {
        bool In<T>(IReadOnlyList<T> list, T value) => list.Count == 0 || list.Contains(value);
        return [.. entries.Where(each => each.Site == query.Site
            && (query.From is null || DateOnly.FromDateTime(each.ExposedAt) >= query.From) && (query.Before is null || DateOnly.FromDateTime(each.ExposedAt) < query.Before)
            && In(query.ProjectionIds, each.ProjectionId) && In(query.Rooms, each.Room) && In(query.Receptors, each.Receptor) && In(query.Performers, each.Performer)
            && In(query.Shifts, each.Shift) && In(query.AgeGroups, each.AgeGroup)
            && (countsOnly || (In(query.Uses, each.Use) && (query.Reasons.Count == 0 || (each.Use == ExposureUse.Rejected && query.Reasons.Contains(each.Reason)))
                && (query.DeviationBeyond is null || Math.Abs(each.DeviationIndex ?? 0) >= query.DeviationBeyond)
                && (query.HasIndex is null || each.ExposureIndex is not null == query.HasIndex))))];
    }

    private static Dictionary<string, LogCount> CountOneByOne(IEnumerable<ExposureEntry> entries, LogQuery query, LogDimension[] by)
        => Picked(entries, query, countsOnly: true).Where(each => !by.Contains(LogDimension.Reason) || each.Use == ExposureUse.Rejected)
            .GroupBy(each => string.Join('|', by.Select(dimension => KeyOf(each, dimension) ?? "-")))
            .ToDictionary(group => group.Key, group =>
            {
                ExposureEntry[] patients = [.. group.Where(each => each.Use != ExposureUse.Test)];
                ExposureEntry[] rejected = [.. patients.Where(each => each.Use == ExposureUse.Rejected)];
                return new LogCount
                {
                    Keys = [],
                    Exposures = patients.Length,
                    Rejected = rejected.Length,
                    Repeats = patients.Count(each => each.IsRepeat),
                    Tests = group.Count() - patients.Length,
                    WithKermaAreaProduct = patients.Count(each => each.KermaAreaProductDgyCm2 is not null),
                    KermaAreaProductDgyCm2 = patients.Sum(each => each.KermaAreaProductDgyCm2 ?? 0),
                    RejectedWithKermaAreaProduct = rejected.Count(each => each.KermaAreaProductDgyCm2 is not null),
                    RejectedKermaAreaProductDgyCm2 = rejected.Sum(each => each.KermaAreaProductDgyCm2 ?? 0),
                };
            });

    private static void AssertCounts(Dictionary<string, LogCount> expected, IReadOnlyList<LogCount> counts, string question)
    {
        Dictionary<string, LogCount> found = counts.ToDictionary(each => string.Join('|', each.Keys.Select(key => key ?? "-")));
        Assert.True(expected.Keys.ToHashSet().SetEquals(found.Keys), $"{question}: {string.Join(' ', expected.Keys.Except(found.Keys).Concat(found.Keys.Except(expected.Keys)).Take(5))}");
        foreach ((string key, LogCount one) in expected)
        {
            LogCount other = found[key];

            // Kerma-area products are summed in millionths: of entries with 4 decimals the sum is exact.
            Assert.Equal(one.KermaAreaProductDgyCm2, other.KermaAreaProductDgyCm2, 6);
            Assert.Equal(one.RejectedKermaAreaProductDgyCm2, other.RejectedKermaAreaProductDgyCm2, 6);
            Assert.Equal(
                (question, key, one.Exposures, one.Rejected, one.Repeats, one.Tests, one.WithKermaAreaProduct, one.RejectedWithKermaAreaProduct),
                (question, key, other.Exposures, other.Rejected, other.Repeats, other.Tests, other.WithKermaAreaProduct, other.RejectedWithKermaAreaProduct));
        }
    }

    private static LogQuery[] Questions() =>
    [
        new LogQuery(),
        new LogQuery { From = new DateOnly(2025, 1, 1), Before = new DateOnly(2026, 1, 1) },
        new LogQuery { From = new DateOnly(2024, 12, 13), Before = new DateOnly(2025, 9, 7), Shifts = [Shift.Night, Shift.Unknown] },
        new LogQuery { From = new DateOnly(2025, 3, 3), Before = new DateOnly(2025, 3, 21) },

        // Days, a month, a whole year, a month and days; and open ends on either side of a whole year.
        new LogQuery { From = new DateOnly(2024, 11, 28), Before = new DateOnly(2026, 2, 9) },
        new LogQuery { From = new DateOnly(2024, 12, 30), Performers = ["Heron", null] },
        new LogQuery { Before = new DateOnly(2026, 3, 2), Rooms = ["Room 2"], ProjectionIds = ["knee-lateral"] },
        new LogQuery { Rooms = ["Room 1", null], AgeGroups = [AgeGroup.Child] },
        new LogQuery { ProjectionIds = ["chest-pa", null], From = new DateOnly(2025, 5, 31) },
        new LogQuery { Performers = ["Heron"], Before = new DateOnly(2025, 8, 2) },
        new LogQuery { Receptors = ["D-1"], Performers = ["Avocet", null], ProjectionIds = ["wrist-pa"] },
        new LogQuery { Rooms = ["nobody's room"] },
    ];

    [StoreFact]
    public async Task AddAsync_EntryWithEveryMemberAndOneWithNone_AreReadBackAsTheyWere()
    {
        ExposureLog log = await OpenLogAsync();
        LogImport import = Import();
        ExposureEntry full = FullEntry("2.25.1");
        ExposureEntry bare = Entry("2.25.2") with { ExposedAt = full.ExposedAt.AddDays(-400) };

        LogImport kept = await log.AddAsync(import, [full, bare]);

        Assert.Equal(import with { At = Clock.GetUtcNow(), Added = 2 }, kept);
        Assert.Equal([full with { ImportId = import.Id }, bare with { ImportId = import.Id }], await Log().ListAsync(new LogQuery(), 0, 10));
        Assert.Equal([bare with { ImportId = import.Id }, full with { ImportId = import.Id }], await AllAsync(Log(), new LogQuery()));
        Assert.Equal([kept], await log.ImportsAsync(""));
        Assert.Equal([new LogExtent("", DateOnly.FromDateTime(bare.ExposedAt), DateOnly.FromDateTime(full.ExposedAt), 2)], await log.ExtentsAsync());
        Assert.Equal(["Room 2", null], await log.NamesAsync("", LogDimension.Room));
    }

    [StoreFact]
    public async Task CountAsync_EveryOneAndTwoDimensionsUnderEveryFilter_AreWhatCountingOneByOneGives()
    {
        ExposureLog log = await OpenLogAsync();
        List<ExposureEntry> entries = [.. Mixed(1500, 1), .. Mixed(60, 2, "Saltmarsh Lane, practice")];
        await log.AddAsync(Import(), entries.Where(each => each.Site.Length == 0));
        await log.AddAsync(Import("Saltmarsh Lane, practice"), entries.Where(each => each.Site.Length > 0));
        LogDimension[] all = Enum.GetValues<LogDimension>();
        List<LogDimension[]> asked = [[], .. all.Select(one => new[] { one }), .. all.SelectMany(one => all.Where(other => other != one && !(Periods.Contains(one) && Periods.Contains(other))).Select(other => new[] { one, other }))];

        foreach ((LogQuery query, int number) in Questions().Append(new LogQuery { Site = "Saltmarsh Lane, practice" }).Select((query, number) => (query, number)))
        {
            foreach (LogDimension[] by in asked)
            {
                Dictionary<string, LogCount> expected = CountOneByOne(entries, query, by);
                IReadOnlyList<LogCount> counts = await log.CountAsync(query, by);
                if (by.Length == 0 && expected.Count == 0)
                {
                    Assert.Equal(0, Assert.Single(counts).Exposures);
                    continue;
                }

                AssertCounts(expected, counts, $"question {number} by {string.Join(" and ", by)}");
            }
        }

        Assert.Empty((await log.CheckAsync()).Faults);
    }

    [StoreFact]
    public async Task CountAsync_Keys_StandInOrderWithNotToldLast()
    {
        ExposureLog log = await OpenLogAsync();
        await log.AddAsync(Import(), Mixed(400, 3));

        Assert.Equal(["Room 1", "Room 2", "room 1", null], (await log.CountAsync(new LogQuery(), [LogDimension.Room])).Select(each => each.Keys[0]));
        Assert.Equal(["Unknown", "Early", "Late", "Night"], (await log.CountAsync(new LogQuery(), [LogDimension.Shift])).Select(each => each.Keys[0]));
        Assert.Equal([.. Enum.GetNames<RejectReason>(), null], (await log.CountAsync(new LogQuery(), [LogDimension.Reason])).Select(each => each.Keys[0]));
        string[] months = [.. (await log.CountAsync(new LogQuery(), [LogDimension.Month, LogDimension.Shift])).Select(each => each.Keys[0]!)];
        Assert.Equal(months.Order(StringComparer.Ordinal), months);
    }

    [StoreTheory]
    [InlineData(LogDimension.Day, LogDimension.Month)]
    [InlineData(LogDimension.Room, LogDimension.Room)]
    [InlineData(LogDimension.Room, LogDimension.Shift, LogDimension.Day)]
    public async Task CountAsync_TwoPeriodsOrOneTwiceOrThree_AreRefused(params LogDimension[] by)
    {
        ExposureLog log = await OpenLogAsync();
        await Assert.ThrowsAsync<ArgumentException>(() => log.CountAsync(new LogQuery(), by));
    }

    [StoreFact]
    public async Task IndexAsync_EveryDimensionUnderEveryFilter_IsWhatCountingOneByOneGives()
    {
        ExposureLog log = await OpenLogAsync();
        List<ExposureEntry> entries = Mixed(1500, 4);
        await log.AddAsync(Import(), entries);
        foreach (LogQuery query in Questions())
        {
            foreach (LogDimension? by in Enum.GetValues<LogDimension>().Select(each => (LogDimension?)each).Append(null))
            {
                Dictionary<string, (int Exposures, int Missing, string Bins)> expected = Picked(entries, query, countsOnly: true)
                    .Where(each => by == LogDimension.Reason ? each.Use == ExposureUse.Rejected : each.Use != ExposureUse.Test)
                    .GroupBy(each => by is { } dimension ? KeyOf(each, dimension) ?? "-" : "-")
                    .ToDictionary(group => group.Key, group => (group.Count(), group.Count(each => each.ExposureIndex is null), Text(group.Where(each => each.DeviationIndex is not null)
                        .GroupBy(each => IndexSpread.BinOf(each.DeviationIndex!.Value)).ToDictionary(bin => bin.Key, bin => bin.LongCount()))));
                Dictionary<string, (int, int, string)> found = (await log.IndexAsync(query, by)).Where(each => each.Exposures > 0)
                    .ToDictionary(each => each.Key ?? "-", each => ((int)each.Exposures, (int)each.Missing, Text(each.Bins)));
                Assert.Equal(expected.OrderBy(each => each.Key, StringComparer.Ordinal), found.OrderBy(each => each.Key, StringComparer.Ordinal));
            }
        }

        static string Text(IReadOnlyDictionary<int, long> bins) => string.Join(' ', bins.OrderBy(bin => bin.Key).Select(bin => $"{bin.Key}:{bin.Value}"));
    }

    [StoreFact]
    public async Task IndexByMonthAsync_EveryDimensionUnderEveryFilter_IsWhatEachKeyAloneGives()
    {
        ExposureLog log = await OpenLogAsync();
        List<ExposureEntry> entries = Mixed(900, 14);
        await log.AddAsync(Import(), entries);
        foreach (LogQuery query in Questions())
        {
            foreach (LogDimension by in Enum.GetValues<LogDimension>().Except(Periods))
            {
                string[] expected = [.. Picked(entries, query, countsOnly: true)
                    .Where(each => by == LogDimension.Reason ? each.Use == ExposureUse.Rejected : each.Use != ExposureUse.Test)
                    .GroupBy(each => $"{KeyOf(each, by) ?? "-"} {KeyOf(each, LogDimension.Month)}")
                    .Select(group => $"{group.Key} {group.Count()} {group.Count(each => each.ExposureIndex is null)} {group.Where(each => each.DeviationIndex is not null).Sum(each => IndexSpread.BinOf(each.DeviationIndex!.Value))}")
                    .Order(StringComparer.Ordinal)];
                IReadOnlyList<IndexMonths> found = await log.IndexByMonthAsync(query, by);
                Assert.Equal(expected, found.SelectMany(each => each.Months.Select(month => $"{each.Key ?? "-"} {month.Key} {month.Exposures} {month.Missing} {month.Bins.Sum(bin => bin.Key * bin.Value)}")).Order(StringComparer.Ordinal));
                Assert.All(found, each => Assert.Equal(each.Months.OrderBy(month => month.Key, StringComparer.Ordinal), each.Months));
            }
        }

        await Assert.ThrowsAsync<ArgumentException>(() => log.IndexByMonthAsync(new LogQuery(), LogDimension.Week));
    }

    [StoreTheory]
    [InlineData(21)]
    [InlineData(22)]
    public async Task Sums_AfterRandomAddingCompletingEditingAndTakingBack_AreWhatARecountGives(int seed)
    {
        ExposureLog log = await OpenLogAsync();
        var random = new Random(seed);
        List<ExposureEntry> entries = Mixed(240, seed);
        List<ExposureEntry> others = Mixed(240, seed + 100);
        var imports = new List<Guid>();
        for (int step = 0; step < 40; step++)
        {
            switch (random.Next(5))
            {
                case 0 or 1:
                    // Some new, some known, some told with more than before.
                    LogImport import = Import();
                    imports.Add(import.Id);
                    int first = random.Next(200);
                    await log.AddAsync(import, entries.Skip(first).Take(40).Select((each, place) => random.Next(3) > 0 ? each : each with { Room = null, Performer = null, ExposureIndex = null, DeviationIndex = null, KermaAreaProductDgyCm2 = null }));
                    break;
                case 2 when await log.CountEntriesAsync(new LogQuery()) > 0:
                    ExposureEntry kept = (await log.ListAsync(new LogQuery(), random.Next((int)await log.CountEntriesAsync(new LogQuery())), 1))[0];
                    ExposureEntry other = others[random.Next(others.Count)];
                    Assert.True(await log.ChangeAsync(other with { Id = kept.Id, Key = kept.Key, ImportId = kept.ImportId, ExposedAt = random.Next(2) == 0 ? kept.ExposedAt : other.ExposedAt.AddYears(random.Next(3) - 1) }));
                    break;
                case 3 when imports.Count > 0:
                    await log.TakeBackAsync(imports[random.Next(imports.Count)]);
                    break;
                default:
                    await log.KeepCasesAsync([.. others.Skip(random.Next(200)).Take(1 + random.Next(3)).Select(each => each with { CaseId = each.Id, Source = EntrySource.Bench })]);
                    break;
            }
        }

        Assert.Empty((await log.CheckAsync()).Faults);
        List<ExposureEntry> all = await AllAsync(log, new LogQuery());
        LogDimension[] pair = [LogDimension.Performer, LogDimension.Projection];
        AssertCounts(CountOneByOne(all, new LogQuery(), pair), await log.CountAsync(new LogQuery(), pair), "after all steps");
        await log.RecountAsync();
        Assert.Empty((await log.CheckAsync()).Faults);
        AssertCounts(CountOneByOne(all, new LogQuery(), pair), await log.CountAsync(new LogQuery(), pair), "after the recount");
    }

    [StoreFact]
    public async Task RecountAsync_EverySumWrongOrGone_PutsAllOfThemRight()
    {
        ExposureLog log = await OpenLogAsync();
        List<ExposureEntry> entries = Mixed(120, 15);
        await log.AddAsync(Import(), entries);
        string[] tables = ["log_days", "log_day_projections", "log_day_performers", "log_day_totals", "log_months", "log_month_performers", "log_month_projections", "log_month_performer_totals", "log_month_rooms",
            "log_year_performer_rooms", "log_year_performer_projections", "log_year_room_projections", "log_index_days", "log_index_months", "log_index_rooms", "log_index_projections", "log_index_performers", "log_index_year_rooms", "log_index_year_projections"];
        foreach (string table in tables)
        {
            await RunSqlAsync(table.Length % 2 == 0 ? $"UPDATE {table} SET n = n + 1" : $"DELETE FROM {table}");
        }

        LogCheck wrong = await log.CheckAsync();
        Assert.All(tables, table => Assert.Contains(wrong.Faults, fault => fault.Contains($" {table} ", StringComparison.Ordinal)));

        await log.RecountAsync();

        Assert.Empty((await log.CheckAsync()).Faults);
        AssertCounts(CountOneByOne(entries, new LogQuery(), [LogDimension.Week]), await log.CountAsync(new LogQuery(), [LogDimension.Week]), "after the recount");
    }

    [StoreFact]
    public async Task ListAsync_EveryFilterOfSingleEntries_PicksAndCountsTheSame()
    {
        ExposureLog log = await OpenLogAsync();
        LogImport first = Import();
        LogImport second = Import();
        List<ExposureEntry> entries = Mixed(300, 5);
        await log.AddAsync(first, entries.Take(200));
        await log.AddAsync(second, entries.Skip(200));
        LogQuery[] queries =
        [
            .. Questions(),
            new LogQuery { Uses = [ExposureUse.Rejected, ExposureUse.Test] },
            new LogQuery { Uses = [ExposureUse.Kept], Rooms = ["Room 2"] },
            new LogQuery { Uses = [ExposureUse.Rejected], Reasons = [RejectReason.Motion, null], Performers = ["Dunlin"] },
            new LogQuery { Reasons = [null] },
            new LogQuery { DeviationBeyond = 1.5, Shifts = [Shift.Early] },
            new LogQuery { HasIndex = false },
            new LogQuery { HasIndex = true, From = new DateOnly(2025, 6, 15), Uses = [ExposureUse.Test] },
        ];
        foreach (LogQuery query in queries)
        {
            string[] expected = [.. Picked(entries, query, countsOnly: false).Select(each => each.Key).Order()];
            IReadOnlyList<ExposureEntry> listed = await log.ListAsync(query, 0, 1000);
            Assert.Equal(expected, listed.Select(each => each.Key).Order());
            Assert.Equal(listed.OrderByDescending(each => each.ExposedAt).Select(each => each.ExposedAt), listed.Select(each => each.ExposedAt));
            Assert.Equal(expected.Length, await log.CountEntriesAsync(query));
            Assert.Equal(listed.Skip(7).Take(5), expected.Length > 7 ? await log.ListAsync(query, 7, 5) : []);
            Assert.Equal(expected, (await AllAsync(log, query)).Select(each => each.Key).Order());
        }

        Assert.Equal(100, await log.CountEntriesAsync(new LogQuery { ImportId = second.Id }));
        Assert.Equal(100, (await log.ListAsync(new LogQuery { ImportId = second.Id }, 0, 1000)).Count);
        Assert.Empty(await log.ListAsync(new LogQuery { ImportId = Guid.NewGuid() }, 0, 1000));
    }

    [StoreFact]
    public async Task AddAsync_TheSameTwice_DoublesNothing()
    {
        ExposureLog log = await OpenLogAsync();
        List<ExposureEntry> entries = Mixed(200, 6);
        await log.AddAsync(Import(), entries);
        IReadOnlyList<LogCount> before = await log.CountAsync(new LogQuery(), [LogDimension.Month, LogDimension.Projection]);

        LogImport again = await log.AddAsync(Import(), entries.Select(each => each with { Id = Guid.NewGuid() }).Concat(entries));

        Assert.Equal((0, 0, 200), (again.Added, again.Completed, again.Known));
        Assert.Equal(200, await log.CountEntriesAsync(new LogQuery()));
        IReadOnlyList<LogCount> after = await log.CountAsync(new LogQuery(), [LogDimension.Month, LogDimension.Projection]);
        Assert.Equal(before.Select(each => each with { Keys = [] }), after.Select(each => each with { Keys = [] }), Same);
        Assert.Empty((await log.CheckAsync()).Faults);
    }

    [StoreFact]
    public async Task AddAsync_SameKeyInAnotherSite_IsAnotherExposure()
    {
        ExposureLog log = await OpenLogAsync();
        await log.AddAsync(Import(), [Entry("k")]);
        Assert.Equal(1, (await log.AddAsync(Import("elsewhere"), [Entry("k", "elsewhere")])).Added);
        Assert.Equal(["", "elsewhere"], (await log.ExtentsAsync()).Select(each => each.Site));
        await Assert.ThrowsAsync<ArgumentException>(() => log.AddAsync(Import("elsewhere"), [Entry("m")]));
    }

    [StoreFact]
    public async Task AddAsync_KnownExposureToldMoreOf_FillsWhatWasNotToldAndKeepsWhatWas()
    {
        ExposureLog log = await OpenLogAsync();
        ExposureEntry first = Entry("k") with { Room = "Room 1", ExposureIndex = 300, KermaAreaProductDgyCm2 = 1.5 };
        ExposureEntry second = FullEntry("k") with { Room = "Room 9", ExposureIndex = 999, DeviationIndex = null, TargetExposureIndex = 150 };
        await log.AddAsync(Import(), [first]);

        LogImport told = await log.AddAsync(Import(), [second, second with { Id = Guid.NewGuid(), Performer = "Knot" }]);

        Assert.Equal((0, 1, 0), (told.Added, told.Completed, told.Known));
        ExposureEntry joined = Assert.Single(await log.ListAsync(new LogQuery(), 0, 10));
        Assert.Equal((first.Id, "Room 1", 300d, 1.5, "Heron"), (joined.Id, joined.Room, joined.ExposureIndex, joined.KermaAreaProductDgyCm2, joined.Performer));

        // A reject is told; that an exposure was kept is only presumed. Index from one source and target from the other give the deviation: 10·log10 2, IEC 62494-1.
        Assert.Equal((ExposureUse.Rejected, RejectReason.Motion, true), (joined.Use, joined.Reason, joined.IsRepeat));
        Assert.Equal(3.0102999566398120, joined.DeviationIndex!.Value, 14);
        Assert.Equal(1, Assert.Single(await log.CountAsync(new LogQuery(), [LogDimension.Reason])).Rejected);
        Assert.Empty((await log.CheckAsync()).Faults);
    }

    [StoreFact]
    public async Task AddAsync_BreaksOffOrHasABadEntry_KeepsNothing()
    {
        ExposureLog log = await OpenLogAsync();
        static IEnumerable<ExposureEntry> Broken()
        {
            foreach (ExposureEntry entry in Mixed(7000, 7))
            {
                yield return entry;
            }

            throw new InvalidDataException("the file ends here");
        }

        using var stop = new CancellationTokenSource();
        await Assert.ThrowsAsync<InvalidDataException>(() => log.AddAsync(Import(), Broken()));
        await Assert.ThrowsAsync<ArgumentException>(() => log.AddAsync(Import(), [Entry("a"), Entry("b") with { TubeVoltageKvp = double.NaN }]));
        await Assert.ThrowsAsync<ArgumentException>(() => log.AddAsync(Import(), [Entry("a"), Entry(new string('k', 129))]));
        await Assert.ThrowsAsync<ArgumentException>(() => log.AddAsync(Import(), [Entry("a"), Entry("b") with { ExposedAt = new DateTime(1899, 12, 31) }]));
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => log.AddAsync(Import(), Mixed(7000, 7), new Stop(stop, 3400), stop.Token));

        Assert.Empty(await log.ImportsAsync(""));
        Assert.Empty(await log.ExtentsAsync());
        Assert.Equal(2, (await log.AddAsync(Import(), [Entry("a"), Entry("b")])).Added);
    }

    [StoreFact]
    public async Task ChangeAsync_FactsOfAnEntry_ChangeWithTheirCountsButNotKeySiteAndSource()
    {
        ExposureLog log = await OpenLogAsync();
        LogImport import = Import();
        await log.AddAsync(import, [FullEntry("k"), Entry("m")]);
        ExposureEntry kept = (await log.ListAsync(new LogQuery { Rooms = ["Room 2"] }, 0, 1))[0];
        ExposureEntry wanted = kept with { Room = "Room 7", ExposedAt = kept.ExposedAt.AddYears(2), Use = ExposureUse.Kept, Reason = null, DeviationIndex = null, KermaAreaProductDgyCm2 = null };

        Assert.True(await log.ChangeAsync(wanted with { Key = "another", Source = EntrySource.Bench }));

        Assert.Equal(wanted, (await log.ListAsync(new LogQuery { Rooms = ["Room 7"] }, 0, 9)).Single());
        Assert.Empty(await log.CountAsync(new LogQuery(), [LogDimension.Reason]));
        Assert.Equal(2, (await log.CountAsync(new LogQuery(), [LogDimension.Month])).Count);
        Assert.Equal(["Room 7", null], await log.NamesAsync("", LogDimension.Room));
        Assert.False(await log.ChangeAsync(Entry("unknown")));
        Assert.Empty((await log.CheckAsync()).Faults);
    }

    [StoreFact]
    public async Task KeepCasesAsync_CaseNewAgainAndBroughtInBefore_IsOneEntryWithTheCasesWord()
    {
        ExposureLog log = await OpenLogAsync();
        ExposureEntry header = Entry("2.25.5") with { Source = EntrySource.Header, TubeVoltageKvp = 60, Room = "Room 3" };
        LogImport import = Import();
        await log.AddAsync(import, [header, Entry("2.25.6")]);
        ExposureEntry own = Entry("2.25.5") with { Source = EntrySource.Bench, CaseId = Guid.NewGuid(), Use = ExposureUse.Rejected, Reason = RejectReason.Positioning, ProjectionId = "wrist-pa" };
        ExposureEntry other = Entry("case-2") with { Source = EntrySource.Bench, CaseId = Guid.NewGuid() };

        await log.KeepCasesAsync([own, other]);
        await log.KeepCasesAsync([own with { Id = Guid.NewGuid(), Use = ExposureUse.Kept, Reason = null }, other with { Room = "Room 5" }]);
        await log.KeepCasesAsync([other with { Room = "Room 5" }]);

        IReadOnlyList<ExposureEntry> entries = await log.ListAsync(new LogQuery(), 0, 10);
        Assert.Equal(3, entries.Count);
        ExposureEntry joined = entries.Single(each => each.Key == "2.25.5");
        Assert.Equal((header.Id, EntrySource.Header, 60d, "Room 3", ExposureUse.Kept, own.CaseId, "wrist-pa"), (joined.Id, joined.Source, joined.TubeVoltageKvp, joined.Room, joined.Use, joined.CaseId, joined.ProjectionId));
        Assert.Equal("Room 5", entries.Single(each => each.CaseId == other.CaseId).Room);

        // What the bench has a case of stays when the file is taken back.
        Assert.Equal(1, await log.TakeBackAsync(import.Id));
        Assert.Equal(["2.25.5", "case-2"], (await log.ListAsync(new LogQuery(), 0, 10)).Select(each => each.Key).Order());
        Assert.Empty((await log.CheckAsync()).Faults);
        await Assert.ThrowsAsync<ArgumentException>(() => log.KeepCasesAsync([Entry("no case")]));
    }

    [StoreFact]
    public async Task TakeBackAsync_OneOfTwo_LeavesTheOtherAndCanBeBroughtInAgain()
    {
        ExposureLog log = await OpenLogAsync();
        List<ExposureEntry> entries = Mixed(300, 8);
        LogImport first = await log.AddAsync(Import(), entries.Take(100));
        LogImport second = await log.AddAsync(Import(title: "november.csv"), entries.Skip(100));

        Assert.Equal(200, await log.TakeBackAsync(second.Id));
        Assert.Equal(0, await log.TakeBackAsync(second.Id));
        Assert.Equal(0, await log.TakeBackAsync(Guid.NewGuid()));

        AssertCounts(CountOneByOne(entries.Take(100), new LogQuery(), [LogDimension.Month, LogDimension.Performer]), await log.CountAsync(new LogQuery(), [LogDimension.Month, LogDimension.Performer]), "after taking back");
        Assert.Equal([(second.Id, true), (first.Id, false)], (await log.ImportsAsync("")).OrderByDescending(each => each.Added).Select(each => (each.Id, each.IsTakenBack)));
        Assert.Equal(200, (await log.AddAsync(Import(), entries)).Added);
        Assert.Empty((await log.CheckAsync()).Faults);
        await log.TakeBackAsync(first.Id);
        Assert.Equal(200, Assert.Single(await log.ExtentsAsync()).Entries);
    }

    [StoreFact]
    public async Task CheckAsync_SumsOrDerivedColumnsThatAreWrong_AreFound()
    {
        ExposureLog log = await OpenLogAsync();
        await log.AddAsync(Import(), Mixed(50, 9));
        LogCheck good = await log.CheckAsync();
        Assert.Equal((50, 0), (good.Entries, good.Faults.Count));

        await RunSqlAsync("UPDATE log_months SET n = n + 1");
        await RunSqlAsync("DELETE FROM log_index_rooms");
        await RunSqlAsync("UPDATE log_entries SET outcome = 3 WHERE outcome = 0");

        IReadOnlyList<string> faults = (await log.CheckAsync()).Faults;
        Assert.Contains(faults, fault => fault.Contains("log_months", StringComparison.Ordinal));
        Assert.Contains(faults, fault => fault.Contains("log_index_rooms", StringComparison.Ordinal));
        Assert.Contains(faults, fault => fault.Contains("outcome", StringComparison.Ordinal));
    }

    [StoreFact]
    public async Task Migrations_BackToBeforeTheWideSumsAndOnAgain_KeepEverySum()
    {
        ExposureLog log = await OpenLogAsync();
        List<ExposureEntry> entries = Mixed(200, 16);
        await log.AddAsync(Import(), entries.Take(120));
        await MigrateAsync("Lessons");
        await MigrateAsync(null);
        Assert.Empty((await log.CheckAsync()).Faults);
        await log.AddAsync(Import(), entries);
        Assert.Empty((await log.CheckAsync()).Faults);
        LogDimension[] pair = [LogDimension.Room, LogDimension.Projection];
        AssertCounts(CountOneByOne(entries, new LogQuery(), pair), await log.CountAsync(new LogQuery(), pair), "after going back and on");
    }

    /// <summary>Brings the store to a version; null: to this one.</summary>
    protected abstract Task MigrateAsync(string? version);

    /// <summary>Runs a statement past the log.</summary>
    protected abstract Task RunSqlAsync(string sql);

    private static async Task<List<ExposureEntry>> AllAsync(ExposureLog log, LogQuery query)
    {
        var entries = new List<ExposureEntry>();
        await foreach (ExposureEntry entry in log.ReadAsync(query))
        {
            entries.Add(entry);
        }

        return entries;
    }

    private static bool Same(LogCount one, LogCount other) => one with { Keys = [] } == other with { Keys = one.Keys } || one.Exposures == other.Exposures
        && one.Rejected == other.Rejected && one.Repeats == other.Repeats && one.Tests == other.Tests && one.KermaAreaProductDgyCm2 == other.KermaAreaProductDgyCm2;

    /// <summary>Stops a bringing-in once so many entries are through.</summary>
    private sealed class Stop(CancellationTokenSource source, long at) : IProgress<long>
    {
        public void Report(long value)
        {
            if (value >= at)
            {
                source.Cancel();
            }
        }
    }
}
