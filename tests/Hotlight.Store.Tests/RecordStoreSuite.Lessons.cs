using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Teaching;

namespace Hotlight.Store.Tests;

/// <summary>What every store of lessons must do, whatever database is below.</summary>
public abstract partial class RecordStoreSuite
{
    /// <summary>The lessons in the store that was opened.</summary>
    protected abstract ILessonStore Lessons();

    private Lesson NewLesson(LessonKind kind = LessonKind.Handout, Guid? caseId = null, string? key = null) => new()
    {
        Id = Guid.NewGuid(),
        Kind = kind,
        CaseId = caseId,
        OwnerId = Dunlin.Id,
        OwnerPseudonym = Dunlin.Pseudonym,
        Title = "Größe \"und\" Lage",
        Key = key,
        BodyJson = "{\"a\":\"\\u0000\"}",
        Begun = Clock.GetUtcNow(),
        Changed = Clock.GetUtcNow(),
    };

    [StoreFact]
    public async Task Lesson_AddedAndChanged_IsFoundAfterReopeningOneVersionOn()
    {
        CaseRecord record = await (await OpenAsync()).AddAsync(NewCase());
        Lesson lesson = await Lessons().AddAsync(NewLesson(caseId: record.Id) with { IsInvented = true });
        Clock.Advance(TimeSpan.FromMinutes(5));

        Lesson kept = await Lessons().KeepAsync(lesson with { Title = "new", BodyJson = "[]", Ended = Clock.GetUtcNow(), CaseId = null, OwnerPseudonym = "nobody" });

        await OpenAsync();
        Assert.Equal(kept, await Lessons().FindAsync(lesson.Id));

        // Only what may change has changed.
        Assert.Equal(lesson with { Title = "new", BodyJson = "[]", Ended = Clock.GetUtcNow(), Version = 2, Changed = Clock.GetUtcNow() }, kept);
    }

    [StoreFact]
    public async Task Lesson_ChangedFromAnOlderVersion_IsRefusedWithTheNewest()
    {
        await OpenAsync();
        Lesson lesson = await Lessons().AddAsync(NewLesson());
        Lesson first = await Lessons().KeepAsync(lesson with { Title = "first" });

        LessonChangedException refused = await Assert.ThrowsAsync<LessonChangedException>(() => Lessons().KeepAsync(lesson with { Title = "second" }));

        Assert.Equal(first, refused.Current);
        Assert.Equal(first, await Lessons().FindAsync(lesson.Id));
    }

    [StoreFact]
    public async Task Lesson_EightWritersOfOneVersion_OneIsKept()
    {
        await OpenAsync();
        Lesson lesson = await Lessons().AddAsync(NewLesson());

        bool[] kept = await Task.WhenAll(Enumerable.Range(0, 8).Select(number => Task.Run(async () =>
        {
            try
            {
                await Lessons().KeepAsync(lesson with { Title = $"writer {number}" });
                return true;
            }
            catch (LessonChangedException)
            {
                return false;
            }
        })));

        Assert.Single(kept, each => each);
        Assert.Equal($"writer {Array.IndexOf(kept, true)}", (await Lessons().FindAsync(lesson.Id))!.Title);
        Assert.Equal(2, (await Lessons().FindAsync(lesson.Id))!.Version);
    }

    [StoreFact]
    public async Task Lesson_WithAKey_IsFoundByItAmongItsKindAlone()
    {
        await OpenAsync();
        Lesson round = await Lessons().AddAsync(NewLesson(LessonKind.Round, key: "secret"));
        await Lessons().AddAsync(NewLesson(LessonKind.Collection, key: "secret"));
        await Lessons().AddAsync(NewLesson(LessonKind.Round));
        Lesson other = await Lessons().AddAsync(NewLesson(LessonKind.Round));

        Assert.Equal(round, await Lessons().FindAsync(LessonKind.Round, "secret"));
        Assert.Null(await Lessons().FindAsync(LessonKind.Handout, "secret"));
        await Assert.ThrowsAsync<LessonRefusedException>(() => Lessons().AddAsync(NewLesson(LessonKind.Round, key: "secret")));
        await Assert.ThrowsAsync<LessonRefusedException>(() => Lessons().KeepAsync(other with { Key = "secret" }));
        Assert.Equal(other, await Lessons().FindAsync(other.Id));
    }

    [StoreFact]
    public async Task Lessons_Listed_AreThoseOfTheQueryTheLastChangedFirst()
    {
        CaseRecord record = await (await OpenAsync()).AddAsync(NewCase());
        Lesson oldest = await Lessons().AddAsync(NewLesson(LessonKind.WalkThrough, record.Id));
        Clock.Advance(TimeSpan.FromMinutes(1));
        Lesson ended = await Lessons().AddAsync(NewLesson(LessonKind.Practice) with { OwnerId = Tern.Id, Ended = Clock.GetUtcNow() });
        Clock.Advance(TimeSpan.FromMinutes(1));
        oldest = await Lessons().KeepAsync(oldest with { Title = "changed" });

        Assert.Equal([oldest, ended], await Lessons().ListAsync(new LessonQuery()));
        Assert.Equal([oldest], await Lessons().ListAsync(new LessonQuery { CaseId = record.Id }));
        Assert.Equal([oldest], await Lessons().ListAsync(new LessonQuery { IsEnded = false }));
        Assert.Equal([ended], await Lessons().ListAsync(new LessonQuery { IsEnded = true }));
        Assert.Equal([ended], await Lessons().ListAsync(new LessonQuery { OwnerId = Tern.Id, Kind = LessonKind.Practice }));
        Assert.Empty(await Lessons().ListAsync(new LessonQuery { Kind = LessonKind.Round }));
    }

    [StoreFact]
    public async Task Lesson_RemovedOrOfNoCase_IsSaidInASentence()
    {
        await OpenAsync();
        Lesson lesson = await Lessons().AddAsync(NewLesson());

        Assert.True(await Lessons().RemoveAsync(lesson.Id));
        Assert.False(await Lessons().RemoveAsync(lesson.Id));
        await Assert.ThrowsAsync<LessonRefusedException>(() => Lessons().KeepAsync(lesson));
        await Assert.ThrowsAsync<LessonRefusedException>(() => Lessons().AddAsync(NewLesson(caseId: Guid.NewGuid())));
        await Assert.ThrowsAsync<LessonRefusedException>(() => Lessons().AddAsync(NewLesson() with { Title = "" }));
        Assert.Empty(await Lessons().ListAsync(new LessonQuery()));
    }
}
