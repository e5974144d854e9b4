using Hotlight.Records;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Records;
using Hotlight.Workflows.Teaching;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests.People;

/// <summary>Every change of the store in every role, whatever page or endpoint it comes by: expected is what the table of docs/people.md says.</summary>
public sealed class GuardTests
{
    // Reading is decided at the page and the endpoint; time worked is no change of a case and may come when a page is long gone.
    private static readonly string[] NoChanges =
    [
        "FindAsync", "ListAsync", "CountAsync", "FindByContentAsync", "FindBySopInstanceAsync", "GroupsAsync", "ListGroupsAsync", "PickAsync", "FindFactAsync", "AddReadingTimeAsync",
        "IRecordStore.StepsAsync", "CasesAsync", "CallsAsync", "RemarksAsync", "SignOffsAsync", "NewestAsync", "HistoryAsync",
        "ImportsAsync", "ExtentsAsync", "NamesAsync", "IndexAsync", "TargetsAsync", "IndexByMonthAsync", "CountEntriesAsync", "ReadAsync",
    ];

    [Fact]
    public async Task EveryChange_InEachRole_IsAllowedAsTheTableSays()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        KeptRecords kept = bench.Services.GetRequiredService<KeptRecords>();
        Acting.As(Actor.Program);
        CaseRecord record = await kept.Records.AddAsync(NewCase());
        CaseRecord judged = await kept.Records.AddAsync(NewCase());
        Lesson handout = await kept.Lessons.AddAsync(NewLesson(LessonKind.Handout, null));
        Lesson round = await kept.Lessons.AddAsync(NewLesson(LessonKind.Round, null));
        DateTimeOffset now = DateTimeOffset.UtcNow;
        var step = new AnswerStep { AnswersJson = "{}", Label = "x" };
        (string Method, string Operation, Func<Guid, PersonRole, Task> Act)[] changes =
        [
            ("IRecordStore.AddAsync", "KeepCases", (_, _) => kept.Records.AddAsync(NewCase())),
            ("IRecordStore.FileAsync", "KeepCases", (_, _) => kept.Records.FileAsync([], new CaseFiling())),
            ("IRecordStore.ChangeAsync", "Judge", (_, _) => kept.Records.ChangeAsync(judged with { ProjectionId = "wrist-pa", Version = 99 })),
            ("IRecordStore.ChangeAsync", "KeepCases", (_, _) => kept.Records.ChangeAsync(record with { Title = "another", Version = 99 })),
            ("IRecordStore.ChangeAsync", "ReadForOneself", (_, _) => kept.Records.ChangeAsync(record with { MeasuredBy = "9.9.9", Version = 99 })),
            ("IRecordStore.KeepAnswersAsync", "Judge", (_, _) => kept.Records.KeepAnswersAsync(record.Id, 99, step)),
            ("IRecordStore.StepAnswersAsync", "Judge", (_, _) => kept.Records.StepAnswersAsync(record.Id, 99, AnswerStepDirection.Undo)),
            ("IRecordStore.DeleteAsync", "KeepCases", (_, _) => kept.Records.DeleteAsync(Guid.NewGuid())),
            ("IRecordStore.DeleteAsync", "KeepCases", (_, _) => kept.Records.DeleteAsync([Guid.NewGuid()])),
            ("IRecordStore.RestoreAsync", "KeepCases", (_, _) => kept.Records.RestoreAsync(Guid.NewGuid())),
            ("IRecordStore.RestoreAsync", "KeepCases", (_, _) => kept.Records.RestoreAsync([Guid.NewGuid()])),
            ("IRecordStore.RemoveDeletedAsync", "KeepCases", (_, _) => kept.Records.RemoveDeletedAsync(DateTimeOffset.UnixEpoch)),
            ("IRecordStore.KeepFactAsync", "Teach", (_, _) => kept.Records.KeepFactAsync("a fact", "x")),
            ("IReadingStore.AddAsync", "ReadForOneself", (own, role) => kept.Readings.AddAsync(NewReading(record.Id, new CaseReader(own, "x", role)))),
            ("IReadingStore.AddAsync", "HoldRounds", (_, _) => kept.Readings.AddAsync(NewReading(record.Id, CaseReader.Consensus(Guid.NewGuid(), "the round")))),
            ("IReadingStore.KeepAnswersAsync", "ReadForOneself", async (own, role) => await kept.Readings.KeepAnswersAsync(await BegunAsync(kept, record.Id, own, role), 1, step)),
            ("IReadingStore.StepAnswersAsync", "ReadForOneself", async (own, role) => await kept.Readings.StepAnswersAsync(await BegunAsync(kept, record.Id, own, role), 1, AnswerStepDirection.Undo)),
            ("IReadingStore.StepsAsync", "ReadForOneself", async (own, role) => await kept.Readings.StepsAsync(await BegunAsync(kept, record.Id, own, role))),
            ("IReadingStore.KeepVerdictAsync", "ReadForOneself", async (own, role) => await kept.Readings.KeepVerdictAsync(await BegunAsync(kept, record.Id, own, role), 1, null)),
            ("IReadingStore.FinishAsync", "ReadForOneself", async (own, role) => await kept.Readings.FinishAsync(await BegunAsync(kept, record.Id, own, role), 99, "x", null!)),
            ("IReadingStore.RemoveAsync", "ReadForOneself", async (own, role) => await kept.Readings.RemoveAsync(await BegunAsync(kept, record.Id, own, role))),
            ("IReadingStore.CallAsync", "CallBlind", (own, _) => kept.Readings.CallAsync(new BlindCall(record.Id, now, own))),
            ("IReadingStore.EndCallAsync", "CallBlind", (_, _) => kept.Readings.EndCallAsync(record.Id)),
            ("IReadingStore.AddRemarkAsync", "ReadForOneself", (own, role) => kept.Readings.AddRemarkAsync(new CaseRemark { Id = Guid.NewGuid(), CaseId = record.Id, Author = new CaseReader(own, "x", role), Text = "x", Written = now })),
            ("IReadingStore.EditRemarkAsync", "ReadForOneself", (own, _) => kept.Readings.EditRemarkAsync(Guid.NewGuid(), own, 1, "x")),
            ("IReadingStore.AddSignOffAsync", "SignOff", (own, role) => kept.Readings.AddSignOffAsync(NewSignOff(new CaseReader(own, "x", role), now))),
            ("IReadingStore.WithdrawAsync", "SignOff", (_, _) => kept.Readings.WithdrawAsync(Guid.NewGuid(), "x", "y")),
            ("ILessonStore.AddAsync", "Teach", (own, _) => kept.Lessons.AddAsync(NewLesson(LessonKind.Collection, own))),
            ("ILessonStore.AddAsync", "Teach", (own, _) => kept.Lessons.AddAsync(NewLesson(LessonKind.WalkThrough, own))),
            ("ILessonStore.AddAsync", "HoldRounds", (own, _) => kept.Lessons.AddAsync(NewLesson(LessonKind.Round, own))),
            ("ILessonStore.AddAsync", "Practise", (own, _) => kept.Lessons.AddAsync(NewLesson(LessonKind.Practice, own))),
            ("ILessonStore.AddAsync", "SeeReadingsOfOthers", (_, _) => kept.Lessons.AddAsync(NewLesson(LessonKind.Practice, Guid.NewGuid()))),
            ("ILessonStore.KeepAsync", "Teach", (_, _) => kept.Lessons.KeepAsync(handout with { Version = 99 })),
            ("ILessonStore.KeepAsync", "HoldRounds", (_, _) => kept.Lessons.KeepAsync(round with { Version = 99 })),
            ("ILessonStore.RemoveAsync", "HoldRounds", (_, _) => kept.Lessons.RemoveAsync(round.Id)),
            ("IClinicStore.KeepAsync", "KeepSettings", (_, _) => kept.Clinic.KeepAsync(99, "{}", [], "x", null)),
            ("IExposureLog.AddAsync", "KeepExposures", (_, _) => kept.Log.AddAsync(null!, [])),
            ("IExposureLog.TakeBackAsync", "KeepExposures", (_, _) => kept.Log.TakeBackAsync(Guid.NewGuid())),
            ("IExposureLog.ChangeAsync", "Judge", (_, _) => kept.Log.ChangeAsync(new ExposureEntry { Id = Guid.NewGuid(), Key = "none", ExposedAt = DateTime.UnixEpoch })),
            ("IExposureLog.KeepCasesAsync", "Judge", (_, _) => kept.Log.KeepCasesAsync([])),
            ("AccountWorkflow.InviteAsync", "KeepPeople", (_, _) => bench.Accounts.InviteAsync("no such name", PersonRole.Learner, null, "x", null)),
            ("AccountWorkflow.InviteAgainAsync", "KeepPeople", (_, _) => bench.Accounts.InviteAgainAsync(Guid.NewGuid())),
            ("AccountWorkflow.SetRoleAsync", "KeepPeople", (_, _) => bench.Accounts.SetRoleAsync(Guid.NewGuid(), PersonRole.Administrator, null)),
            ("AccountWorkflow.SetDisabledAsync", "KeepPeople", (_, _) => bench.Accounts.SetDisabledAsync(Guid.NewGuid(), true)),
        ];

        // Every member of the ports that changes something is tried here.
        string[] members = [.. new[] { typeof(IRecordStore), typeof(IReadingStore), typeof(ILessonStore), typeof(IClinicStore), typeof(IExposureLog) }
            .SelectMany(port => port.GetMethods().Where(method => !NoChanges.Contains(method.Name) && !NoChanges.Contains($"{port.Name}.{method.Name}")).Select(method => $"{port.Name}.{method.Name}")).Distinct()];
        Assert.Empty(members.Except(changes.Select(change => change.Method)));
        foreach ((string method, string operation, Func<Guid, PersonRole, Task> act) in changes)
        {
            foreach (PersonRole role in Enum.GetValues<PersonRole>())
            {
                var person = Guid.NewGuid();
                bool isRefused = await TryAsync(Actor.Person(person, role), () => act(person, role));
                Assert.True(isRefused != AccessTable.Roles[operation].Contains(role), $"{role}: {method} was {(isRefused ? "refused" : "allowed")}, against {operation} in docs/people.md.");
            }

            // Nobody who is known does nothing at all.
            Assert.True(await TryAsync(Actor.Nobody, () => act(Guid.NewGuid(), PersonRole.Administrator)), $"Nobody: {method} was allowed.");
        }
    }

    [Fact]
    public async Task Readings_OfSomebodyElse_AreNotChangedByAnyRole()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        KeptRecords kept = bench.Services.GetRequiredService<KeptRecords>();
        Acting.As(Actor.Program);
        CaseRecord record = await kept.Records.AddAsync(NewCase());
        var dunlin = new CaseReader(Guid.NewGuid(), "Dunlin", PersonRole.Learner);
        OwnReading reading = await kept.Readings.AddAsync(NewReading(record.Id, dunlin));
        var step = new AnswerStep { AnswersJson = "{}", Label = "x" };
        foreach (PersonRole role in Enum.GetValues<PersonRole>())
        {
            var other = Actor.Person(Guid.NewGuid(), role);
            foreach ((string what, Func<Task> act) in new (string, Func<Task>)[]
            {
                ("begin", () => kept.Readings.AddAsync(NewReading(record.Id, dunlin))),
                ("answer", () => kept.Readings.KeepAnswersAsync(reading.Id, 1, step)),
                ("undo", () => kept.Readings.StepAnswersAsync(reading.Id, 1, AnswerStepDirection.Undo)),
                ("look", () => kept.Readings.StepsAsync(reading.Id)),
                ("finish", () => kept.Readings.FinishAsync(reading.Id, 1, "x", null!)),
                ("give up", () => kept.Readings.RemoveAsync(reading.Id)),
                ("remark as", () => kept.Readings.AddRemarkAsync(new CaseRemark { Id = Guid.NewGuid(), CaseId = record.Id, Author = dunlin, Text = "x", Written = DateTimeOffset.UtcNow })),
                ("edit a remark as", () => kept.Readings.EditRemarkAsync(Guid.NewGuid(), dunlin.Id, 1, "x")),
                ("sign off as", () => kept.Readings.AddSignOffAsync(NewSignOff(dunlin, DateTimeOffset.UtcNow))),

                // The same over the store that opens readings like cases.
                ("answer as a case", () => bench.Services.GetRequiredService<IRecordStore>().KeepAnswersAsync(reading.Id, 1, step)),
            })
            {
                Assert.True(await TryAsync(other, act), $"{role}: could {what} somebody else's reading.");
            }
        }

        // Its reader may, and a guest of a round in the own reading alone.
        Assert.False(await TryAsync(Actor.Person(dunlin.Id, PersonRole.Learner), () => kept.Readings.KeepAnswersAsync(reading.Id, 1, step)));
        Assert.False(await TryAsync(Actor.Guest(dunlin.Id, Guid.NewGuid()), () => kept.Readings.KeepAnswersAsync(reading.Id, 2, step)));
        Assert.True(await TryAsync(Actor.Guest(Guid.NewGuid(), Guid.NewGuid()), () => kept.Readings.KeepAnswersAsync(reading.Id, 3, step)));
        Assert.True(await TryAsync(Actor.Guest(dunlin.Id, Guid.NewGuid()), () => kept.Records.DeleteAsync(record.Id)));
    }

    [Fact]
    public async Task Rounds_AGuest_SpeaksInTheOwnRoundAlone()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        KeptRecords kept = bench.Services.GetRequiredService<KeptRecords>();
        Acting.As(Actor.Program);
        Lesson own = await kept.Lessons.AddAsync(NewLesson(LessonKind.Round, null));
        Lesson other = await kept.Lessons.AddAsync(NewLesson(LessonKind.Round, null));
        Lesson handout = await kept.Lessons.AddAsync(NewLesson(LessonKind.Handout, null));
        var guest = Actor.Guest(Guid.NewGuid(), own.Id);
        Assert.False(await TryAsync(guest, () => kept.Lessons.KeepAsync(own with { Title = "said" })));
        Assert.True(await TryAsync(guest, () => kept.Lessons.KeepAsync(other with { Title = "said" })));
        Assert.True(await TryAsync(guest, () => kept.Lessons.KeepAsync(handout with { Title = "said" })));
        Assert.True(await TryAsync(guest, () => kept.Lessons.RemoveAsync(own.Id)));
    }

    [Fact]
    public async Task Settings_ThatWouldChangeAnAccountsRole_AreRefused()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();
        await bench.AddAsync("rowan", PersonRole.Administrator);
        Member dunlin = await bench.AddAsync("dunlin", PersonRole.Learner);
        ClinicWorkflow clinic = bench.Services.GetRequiredService<ClinicWorkflow>();
        Acting.As(Actor.Person(Guid.NewGuid(), PersonRole.Administrator));
        ClinicState state = await clinic.LoadAsync();
        ClinicSettings Raised(PersonRole role) => state.Settings with { People = [.. state.Settings.People.Select(each => each.Id == dunlin.PersonId ? each with { Role = role } : each)] };
        Assert.Contains("under People", (await Assert.ThrowsAsync<FormatException>(() => clinic.ChangeAsync(state, Raised(PersonRole.Administrator), "x", null))).Message, StringComparison.Ordinal);
        await Assert.ThrowsAsync<FormatException>(() => clinic.ChangeAsync(state, state.Settings with { People = [] }, "x", null));

        // A person who is put out of work is put out of the bench too; everything else of the settings changes as ever.
        using HttpClient client = await bench.SignInAsync(dunlin);
        Acting.As(Actor.Person(Guid.NewGuid(), PersonRole.Administrator));
        state = await clinic.LoadAsync();
        await clinic.ChangeAsync(state, state.Settings with { People = [.. state.Settings.People.Select(each => each.Id == dunlin.PersonId ? each with { IsActive = false } : each)] }, "x", null);
        using HttpResponseMessage answer = await client.GetAsync(new Uri("/account", UriKind.Relative));
        Assert.Equal(System.Net.HttpStatusCode.Redirect, answer.StatusCode);
    }

    [Fact]
    public async Task TheBenchItself_MeasuresWhatComesIn()
    {
        await using DepartmentBench bench = await DepartmentBench.StartAsync();

        // The endpoint is somebody's, the measuring the bench's own.
        using HttpClient client = await bench.SignInAsync(await bench.AddAsync("whimbrel", PersonRole.Reader));
        using var folder = new Hotlight.Testing.ScratchFolder();
        Hotlight.Testing.InventedExposure.Write(Hotlight.Testing.InventedExposure.Limb(300, 250, 77), folder["limb.dcm"]);
        string token = DepartmentBench.TokenOf(await client.GetStringAsync(new Uri("/", UriKind.Relative)));
        using var body = new ByteArrayContent(await File.ReadAllBytesAsync(folder["limb.dcm"]));
        using var request = new HttpRequestMessage(HttpMethod.Post, new Uri("/cases?name=limb.dcm", UriKind.Relative)) { Content = body };
        request.Headers.Add("X-Hotlight-Token", token);
        using HttpResponseMessage kept = await client.SendAsync(request);
        Assert.Equal(System.Net.HttpStatusCode.Created, kept.StatusCode);
    }

    // True: refused for want of the right. What else goes wrong with made-up arguments is not asked here.
    private static async Task<bool> TryAsync(Actor actor, Func<Task> act)
    {
        Acting.As(actor);
        Exception? error = await Record.ExceptionAsync(act);
        return error is NotAllowedException;
    }

    private static async Task<Guid> BegunAsync(KeptRecords kept, Guid caseId, Guid own, PersonRole role)
    {
        if (Acting.Now.Kind == ActorKind.Nobody)
        {
            return await BegunForAsync(kept, caseId, own, role);
        }

        return (await kept.Readings.AddAsync(NewReading(caseId, new CaseReader(own, "x", role)))).Id;
    }

    private static async Task<Guid> BegunForAsync(KeptRecords kept, Guid caseId, Guid own, PersonRole role)
    {
        Acting.As(Actor.Program);
        return (await kept.Readings.AddAsync(NewReading(caseId, new CaseReader(own, "x", role)))).Id;
    }

    private static CaseRecord NewCase() => new()
    {
        Id = Guid.NewGuid(),
        Title = "Wrist",
        FileName = "wrist.dcm",
        ContentHash = new string('a', 64),
        ContentBytes = 123,
        ExposureRecordJson = "{}",
        MeasurementsJson = "{}",
        MeasuredBy = "0.1.0",
        Created = DateTimeOffset.UtcNow,
        Changed = DateTimeOffset.UtcNow,
    };

    private static OwnReading NewReading(Guid caseId, CaseReader reader) => new()
    {
        Id = Guid.NewGuid(),
        CaseId = caseId,
        CaseTitle = "Wrist",
        ProjectionId = "wrist-pa",
        Reader = reader,
        Number = Random.Shared.Next(1, int.MaxValue),
        Condition = ReadingCondition.Blind,
        Begun = DateTimeOffset.UtcNow,
        Changed = DateTimeOffset.UtcNow,
    };

    private static Lesson NewLesson(LessonKind kind, Guid? ownerId) => new() { Id = Guid.NewGuid(), Kind = kind, OwnerId = ownerId, Title = "x", BodyJson = "{}", Begun = DateTimeOffset.UtcNow, Changed = DateTimeOffset.UtcNow };

    private static SignOff NewSignOff(CaseReader supervisor, DateTimeOffset now) => new()
    {
        Id = Guid.NewGuid(),
        Learner = new CaseReader(Guid.NewGuid(), "Knot", PersonRole.Learner),
        Supervisor = supervisor,
        RequirementId = Guid.NewGuid(),
        Requirement = "x",
        Stood = "x",
        Signed = now,
    };
}
