using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Store.Tests;

public abstract partial class RecordStoreSuite
{
    [StoreFact]
    public async Task FindBySopInstanceAsync_KnownAndUnknown_GivesTheCaseOrNone()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord kept = await store.AddAsync(NewCase() with { SopInstanceUid = "2.25.7" });
        await store.AddAsync(NewCase() with { SopInstanceUid = "2.25.8" });
        await store.AddAsync(NewCase());

        Assert.Equal(kept.Id, Assert.Single(await store.FindBySopInstanceAsync("2.25.7")).Id);
        Assert.Empty(await store.FindBySopInstanceAsync("2.25.9"));
        await store.DeleteAsync(kept.Id);
        Assert.Empty(await store.FindBySopInstanceAsync("2.25.7"));
    }

    [StoreFact]
    public async Task ListAsync_Words_AreLookedForEverywhereAndMustAllBeThere()
    {
        IRecordStore store = await OpenAsync();
        await store.AddAsync(NewCase("Wrist of the Tuesday clinic") with { PatientLabel = "Reader P-7F3K2", Tags = "rotated" });
        await store.AddAsync(NewCase("Knee") with { ProjectionId = "knee-lateral" });
        await store.AddAsync(NewCase("100% done_it"));

        Assert.Equal(["Wrist of the Tuesday clinic"], await TitlesAsync(store, "TUESDAY", "7f3k2"));
        Assert.Equal(["Wrist of the Tuesday clinic"], await TitlesAsync(store, "otate"));
        Assert.Empty(await TitlesAsync(store, "tuesday", "knee"));
        Assert.Equal(3, (await TitlesAsync(store, "wrist.dcm")).Count);

        // Signs that mean something to the database are letters like any other.
        Assert.Equal(["100% done_it"], await TitlesAsync(store, "0% done_"));
        Assert.Empty(await TitlesAsync(store, "w_ist"));

        var byProjection = new WorklistQuery { Words = [new SearchWord("seitlich", ["knee-lateral", "elbow-lateral"])] };
        Assert.Equal("Knee", Assert.Single(await store.ListAsync(byProjection, 0, 10)).Title);
    }

    [StoreFact]
    public async Task CountAsync_EveryFilter_PicksWhatTheListShows()
    {
        IRecordStore store = await OpenAsync();
        var anna = Guid.NewGuid();
        await store.AddAsync(NewCase("one") with { State = CaseState.Done, Verdict = "repeat", ProjectionId = "wrist-pa", AssigneeId = anna, AcquiredAt = Start.AddDays(-10) });
        await store.AddAsync(NewCase("two") with { State = CaseState.InWork, Verdict = "accept", ProjectionId = "knee-ap", ReceivedBy = CaseOrigin.Inbox });
        await store.AddAsync(NewCase("three") with { IsInvented = true, ReceivedBy = CaseOrigin.Demo });
        (WorklistQuery Query, string[] Titles)[] cases =
        [
            (new WorklistQuery(), ["two", "one", "three"]),
            (new WorklistQuery { States = [CaseState.Done, CaseState.InWork] }, ["two", "one"]),
            (new WorklistQuery { Verdicts = ["repeat"] }, ["one"]),
            (new WorklistQuery { Verdicts = ["repeat", ""] }, ["one", "three"]),
            (new WorklistQuery { ProjectionIds = ["knee-ap"] }, ["two"]),
            (new WorklistQuery { ProjectionIds = [""] }, ["three"]),
            (new WorklistQuery { AssigneeId = anna }, ["one"]),
            (new WorklistQuery { AssigneeId = Guid.Empty }, ["two", "three"]),
            (new WorklistQuery { Origins = [CaseOrigin.Inbox] }, ["two"]),
            (new WorklistQuery { IsInvented = true }, ["three"]),
            (new WorklistQuery { IsInvented = false }, ["two", "one"]),
            (new WorklistQuery { Before = Start.AddDays(-9) }, ["one"]),
            (new WorklistQuery { From = Start.AddDays(-9) }, ["two", "three"]),
            (new WorklistQuery { From = Start.AddDays(-9), Before = Start }, []),
        ];
        foreach ((WorklistQuery query, string[] titles) in cases)
        {
            IReadOnlyList<CaseSummary> listed = await store.ListAsync(query, 0, 10);
            WorklistCounts counts = await store.CountAsync(query);
            Assert.Equal(titles.Order(), listed.Select(each => each.Title).Order());
            Assert.Equal(titles.Length, counts.Total);
            Assert.Equal(listed.Count(each => each.State == CaseState.Done), counts.Of(part => part.State == CaseState.Done));
            Assert.Equal(listed.Count(each => each.Verdict is null), counts.Of(part => part.Verdict is null));
            Assert.Equal(titles.Length, (await store.PickAsync(query)).Count);
        }
    }

    [StoreFact]
    public async Task ListAsync_EverySort_OrdersBothWaysAndPagesWithoutGapOrRepeat()
    {
        IRecordStore store = await OpenAsync();
        var people = new[] { new Person { Id = Guid.NewGuid(), Pseudonym = "zora" }, new Person { Id = Guid.NewGuid(), Pseudonym = "Abel" } };
        await Clinic().KeepAsync(0, "{}", people, "people", null);
        for (int number = 0; number < 12; number++)
        {
            await store.AddAsync(NewCase(number % 2 == 0 ? $"B {number % 3}" : $"a {number % 3}") with
            {
                PatientLabel = number % 3 == 0 ? null : $"p{number % 4}",
                ProjectionId = number % 4 == 0 ? null : $"projection-{number % 4}",
                Verdict = number % 5 == 0 ? null : number % 2 == 0 ? "accept" : "repeat",
                State = (CaseState)(number % 3),
                AssigneeId = number % 3 == 2 ? null : people[number % 3].Id,
                AcquiredAt = number % 2 == 0 ? null : Start.AddDays(-number),
            });
            Clock.Advance(TimeSpan.FromSeconds(1));
        }

        foreach (WorklistSort sort in Enum.GetValues<WorklistSort>())
        {
            foreach (bool isDescending in new[] { false, true })
            {
                var query = new WorklistQuery { Sort = sort, IsDescending = isDescending };
                IReadOnlyList<CaseSummary> all = await store.ListAsync(query, 0, 100);
                var paged = new List<CaseSummary>();
                for (int skip = 0; skip < 12; skip += 5)
                {
                    paged.AddRange(await store.ListAsync(query, skip, 5));
                }

                Assert.Equal(all, paged);
                Assert.Equal(12, all.Distinct().Count());
                Assert.Equal(all.Select(each => each.Id), (await store.PickAsync(query)).Select(each => each.Id));
                string[] keys = [.. all.Select(each => sort switch
                {
                    WorklistSort.Title => each.Title.ToLowerInvariant(),
                    WorklistSort.Patient => each.PatientLabel ?? "",
                    WorklistSort.Projection => each.ProjectionId ?? "",
                    WorklistSort.Verdict => each.Verdict ?? "",
                    WorklistSort.State => $"{(int)each.State}",
                    WorklistSort.Assignee => people.FirstOrDefault(person => person.Id == each.AssigneeId)?.Pseudonym.ToLowerInvariant() ?? "",
                    WorklistSort.Exposed => $"{(each.AcquiredAt ?? each.Created).UtcTicks:d20}",
                    WorklistSort.Changed => $"{each.Changed.UtcTicks:d20}",
                    _ => $"{long.MaxValue - each.Changed.UtcTicks:d20}",
                })];
                string[] ordered = isDescending ? [.. keys.OrderDescending(StringComparer.Ordinal)] : [.. keys.Order(StringComparer.Ordinal)];
                Assert.Equal(ordered, keys);
            }
        }
    }

    [StoreFact]
    public async Task ListAsync_Priority_GoesFirstWithinItsPart()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord own = await store.AddAsync(NewCase("own, low"));
        await store.AddAsync(NewCase("own"));
        CaseRecord demo = await store.AddAsync(NewCase("demo, high") with { IsInvented = true, ReceivedBy = CaseOrigin.Demo });
        CaseRecord lab = await store.AddAsync(NewCase("lab, high") with { IsInvented = true, ReceivedBy = CaseOrigin.Lab });
        await store.AddAsync(NewCase("lab") with { IsInvented = true, ReceivedBy = CaseOrigin.Lab });
        await store.FileAsync([new FiledCase(own.Id, 1)], new CaseFiling { Priority = CasePriority.Low });
        await store.FileAsync([new FiledCase(demo.Id, 1), new FiledCase(lab.Id, 1)], new CaseFiling { Priority = CasePriority.High });

        Assert.Equal(["own", "own, low", "lab, high", "lab", "demo, high"], (await store.ListAsync(0, 10)).Select(each => each.Title));
    }

    [StoreTheory]
    [InlineData(WorklistGrouping.Examination)]
    [InlineData(WorklistGrouping.Patient)]
    public async Task GroupsAsync_SharedAndMissingKeys_StandTogetherOrAlone(WorklistGrouping grouping)
    {
        IRecordStore store = await OpenAsync();
        CaseRecord Of(string title, string? key, int hour) => NewCase(title) with
        {
            ExaminationKey = grouping == WorklistGrouping.Examination ? key : null,
            PatientKey = grouping == WorklistGrouping.Patient ? key : null,
            AcquiredAt = Start.AddHours(hour),
        };
        foreach ((string title, string? key, int hour) in new[] { ("b2", "b", 5), ("alone", null, 3), ("a1", "a", 2), ("b1", "b", 4), ("alone too", null, 1) })
        {
            await store.AddAsync(Of(title, key, hour));
        }

        foreach (WorklistSort sort in Enum.GetValues<WorklistSort>())
        {
            Assert.Equal(5, (await store.GroupsAsync(new WorklistQuery { Sort = sort, IsDescending = true }, grouping)).Sum(group => group.Cases));
        }

        var query = new WorklistQuery { Sort = WorklistSort.Exposed, IsDescending = true };
        IReadOnlyList<WorklistGroup> groups = await store.GroupsAsync(query, grouping);
        Assert.Equal([2, 1, 1, 1], groups.Select(group => group.Cases));
        IReadOnlyDictionary<string, IReadOnlyList<CaseSummary>> cases = await store.ListGroupsAsync(query, grouping, [.. groups.Select(group => group.Key)]);
        Assert.Equal(["b1", "b2", "alone", "a1", "alone too"], groups.SelectMany(group => cases[group.Key]).Select(each => each.Title));
    }

    [StoreFact]
    public async Task FileAsync_CaseFiledOtherwiseMeanwhile_IsLeftAlone()
    {
        IRecordStore store = await OpenAsync();
        var anna = Guid.NewGuid();
        var bert = Guid.NewGuid();
        CaseRecord first = await store.AddAsync(NewCase());
        CaseRecord second = await store.AddAsync(NewCase());
        CaseRecord gone = await store.AddAsync(NewCase());
        await store.DeleteAsync(gone.Id);
        FiledCase[] seen = [new(first.Id, first.FilingVersion), new(second.Id, second.FilingVersion), new(gone.Id, gone.FilingVersion)];
        Assert.Empty(await store.FileAsync(seen[..1], new CaseFiling { AssigneeId = anna }));

        Assert.Equal([first.Id, gone.Id], await store.FileAsync(seen, new CaseFiling { AssigneeId = bert, State = CaseState.Done, Tags = " x ,y,, X" }));

        CaseRecord left = (await store.FindAsync(first.Id))!;
        CaseRecord filed = (await store.FindAsync(second.Id))!;
        Assert.Equal((anna, CaseState.New, ""), (left.AssigneeId, left.State, left.Tags));
        Assert.Equal((bert, CaseState.Done, "x, y"), (filed.AssigneeId, filed.State, filed.Tags));

        // Filing does not disturb who is answering, nor the other way round.
        CaseRecord answered = await store.KeepAnswersAsync(second.Id, second.Version, Step("{\"a\":1}"));
        Assert.Equal(CaseState.Done, answered.State);
        Assert.Empty(await store.FileAsync([new FiledCase(second.Id, filed.FilingVersion)], new CaseFiling { AssigneeId = Guid.Empty }));
        Assert.Null((await store.FindAsync(second.Id))!.AssigneeId);
    }

    [StoreFact]
    public async Task FileAsync_ManyAtOnceByTwo_EachCaseGoesToOneOfThem()
    {
        IRecordStore store = await OpenAsync();
        var seen = new List<FiledCase>();
        for (int number = 0; number < 600; number++)
        {
            seen.Add(new FiledCase((await store.AddAsync(NewCase($"{number}"))).Id, 1));
        }

        Guid[] people = [Guid.NewGuid(), Guid.NewGuid()];
        IReadOnlyList<Guid>[] left = await Task.WhenAll(people.Select(person => Task.Run(() => store.FileAsync(seen, new CaseFiling { AssigneeId = person }))));

        Assert.Equal(600, left.Sum(each => each.Count));
        Assert.Equal(600 - left[0].Count, (await store.CountAsync(new WorklistQuery { AssigneeId = people[0] })).Total);
        Assert.Equal(600 - left[1].Count, (await store.CountAsync(new WorklistQuery { AssigneeId = people[1] })).Total);
    }

    [StoreFact]
    public async Task KeepAnswersAsync_FirstAnswer_PutsTheCaseInWorkAndSaysWhoGaveIt()
    {
        IRecordStore store = await OpenAsync();
        var anna = Guid.NewGuid();
        CaseRecord record = await store.AddAsync(NewCase());
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":1}", "one", "remark") with { GivenBy = anna });
        Assert.Equal(CaseState.InWork, record.State);
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":2}", "two", "remark") with { GivenBy = anna });

        // Another person's letters are a step of their own.
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":3}", "three", "remark"));
        record = await store.StepAnswersAsync(record.Id, record.Version, AnswerStepDirection.Undo);
        record = await store.KeepAnswersAsync(record.Id, record.Version, Step("{\"a\":4}", "four", verdict: "accept") with { GivenBy = anna });

        Assert.Equal([(1, "two", (string?)null, (Guid?)anna), (2, "four", "accept", anna)], (await store.StepsAsync(record.Id)).Select(each => (each.Number, each.Label, each.Verdict, each.GivenBy)));
    }

    [StoreFact]
    public async Task DeleteAsync_Many_AreGoneTogetherAndComeBackTogether()
    {
        IRecordStore store = await OpenAsync();
        var ids = new List<Guid>();
        for (int number = 0; number < 5; number++)
        {
            ids.Add((await store.AddAsync(NewCase($"{number}"))).Id);
        }

        await store.DeleteAsync(ids[0]);
        Assert.Equal(ids[1..4].Order(), (await store.DeleteAsync([.. ids[..4], Guid.NewGuid()])).Order());
        Assert.Equal(1, await store.CountAsync());
        Assert.Equal(ids[1..4].Order(), (await store.RestoreAsync(ids[1..])).Order());
        Assert.Equal(4, await store.CountAsync());
    }

    [StoreFact]
    public async Task AddReadingTimeAsync_Twice_AddsUpAndLeavesTheVersionAlone()
    {
        IRecordStore store = await OpenAsync();
        CaseRecord record = await store.AddAsync(NewCase());
        await store.AddReadingTimeAsync(record.Id, 12.5);
        await store.AddReadingTimeAsync(record.Id, 0.25);
        Assert.Equal(record with { ReadingSeconds = 12.75 }, await store.FindAsync(record.Id));
        await Assert.ThrowsAsync<ArgumentOutOfRangeException>(() => store.AddReadingTimeAsync(record.Id, -1));
        await Assert.ThrowsAsync<ArgumentOutOfRangeException>(() => store.AddReadingTimeAsync(record.Id, double.NaN));
    }

    [StoreFact]
    public async Task Clinic_Versions_AreKeptAndALaterWriterIsRefused()
    {
        await OpenAsync();
        IClinicStore clinic = Clinic();
        Assert.Null(await clinic.NewestAsync());
        var anna = new Person { Id = Guid.NewGuid(), Pseudonym = "Anna" };

        ClinicVersion first = await clinic.KeepAsync(0, "{\"a\":1}", [anna], "one", null);
        Clock.Advance(TimeSpan.FromMinutes(1));
        ClinicVersion second = await clinic.KeepAsync(1, "{\"a\":2}", [anna with { Pseudonym = "Anne", IsActive = false }], "two", anna.Id);

        await Assert.ThrowsAsync<ClinicChangedException>(() => clinic.KeepAsync(1, "{\"a\":3}", [], "three", null));
        await Assert.ThrowsAsync<ClinicChangedException>(() => clinic.KeepAsync(5, "{\"a\":3}", [], "three", null));
        Assert.Equal(second, await clinic.NewestAsync());
        Assert.Equal(first, await clinic.FindAsync(1));
        Assert.Null(await clinic.FindAsync(3));
        Assert.Equal([second.Change, first.Change], await clinic.HistoryAsync(10));
        Assert.Equal((2, "two", Start.AddMinutes(1), (Guid?)anna.Id), (second.Change.Number, second.Change.Label, second.Change.Changed, second.Change.ChangedBy));
    }

    [StoreFact]
    public async Task Clinic_ManyWritersAtOnce_OneIsKept()
    {
        await OpenAsync();
        IClinicStore clinic = Clinic();
        bool[] kept = await Task.WhenAll(Enumerable.Range(0, 8).Select(writer => Task.Run(async () =>
        {
            try
            {
                await clinic.KeepAsync(0, $"{{\"writer\":{writer}}}", [], "change", null);
                return true;
            }
            catch (ClinicChangedException)
            {
                return false;
            }
        })));
        Assert.Equal(1, kept.Count(each => each));
        Assert.Single(await clinic.HistoryAsync(10));
    }

    private static async Task<IReadOnlyList<string>> TitlesAsync(IRecordStore store, params string[] words)
        => [.. (await store.ListAsync(new WorklistQuery { Words = [.. words.Select(word => new SearchWord(word, []))] }, 0, 10)).Select(each => each.Title)];
}
