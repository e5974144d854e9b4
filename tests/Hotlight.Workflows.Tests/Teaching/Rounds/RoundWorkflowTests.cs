using System.Text.Json;
using Hotlight.Judgement;
using Hotlight.Privacy.Publishing;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Rounds;

namespace Hotlight.Workflows.Tests.Teaching.Rounds;

public sealed class RoundWorkflowTests : IAsyncLifetime, IDisposable
{
    private const string Secret = "a remark that nobody may see before the time";
    private readonly ScratchFolder folder = new();
    private readonly SetClock clock = new();
    private readonly Person teacher = new() { Id = Guid.NewGuid(), Pseudonym = "Dunlin", Role = PersonRole.Supervisor };
    private IReadingStore store = null!;
    private ILessonStore lessons = null!;
    private CasePublisher publisher = null!;
    private RadiographShelf shelf = null!;
    private CaseWorkflow cases = null!;
    private ReadingWorkflow readings = null!;
    private RoundWorkflow rounds = null!;

    public async Task InitializeAsync()
    {
        IRecordStore kept = await SqliteRecords.OpenAsync(folder["records.db"], clock);
        store = SqliteRecords.Readings(folder["records.db"], clock);
        lessons = SqliteRecords.Lessons(folder["records.db"], clock);
        var files = new FolderFileStore(folder["files"]);
        shelf = new RadiographShelf(files);
        publisher = new CasePublisher(kept, files, shelf);
        cases = new CaseWorkflow(new ReadingRecords(kept, store), files, shelf, clock);
        readings = new ReadingWorkflow(store, cases, clock, hold: new RoundHolds(lessons, clock));
        rounds = new RoundWorkflow(lessons, store, readings, cases, publisher, clock);
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
    public async Task OpenRound_ReaderWhoHasFinished_IsGivenNothingOfTheOthers()
    {
        Guid caseId = await KeepAsync(1);
        PublishedRound published = await rounds.PublishAsync(Draft([caseId], places: 3), teacher);
        Guid id = published.Round.Id;
        RoundReader[] readers = [.. published.Round.Body.Readers];
        await ReadAsync(id, readers[0].Id, caseId, ChecklistState.NotMet, Secret);
        OwnReading second = await ReadAsync(id, readers[1].Id, caseId, ChecklistState.Met, "mine");

        Assert.Equal(ReadingCondition.Blind, second.Condition);
        foreach (RoundReader reader in readers)
        {
            RoundView view = await rounds.ViewAsync(id, round => RoundWorkflow.AsGuest(round, reader.Id));
            string given = JsonSerializer.Serialize(view with { Report = null });
            Assert.Null(view.Report);
            Assert.Equal(RoundState.Open, view.State);

            // A title may tell what is to be seen.
            Assert.Equal("Case 1", Assert.Single(view.Cases).Title);
            Assert.DoesNotContain(Secret, given, StringComparison.Ordinal);
            foreach (RoundReader other in readers.Where(each => each.Id != reader.Id))
            {
                // Not even who the others are, or that there are any.
                Assert.DoesNotContain(other.Name, given, StringComparison.Ordinal);
                Assert.DoesNotContain(other.Id.ToString(), given, StringComparison.Ordinal);
            }

            // The pages that are there for readings give nothing either: to readers who finished, to others, to nobody in particular.
            foreach (Guid? looking in new Guid?[] { reader.Id, teacher.Id, null })
            {
                ReadingsOfCase seen = await readings.OfCaseAsync(caseId, looking);
                Assert.True(seen.IsBlind);
                Assert.Empty(seen.Finished);
                Assert.Empty(seen.Remarks);
                Assert.All(seen.States, state => Assert.Equal(looking, state.Reader.Id));
                Assert.Contains(caseId, await readings.BlindToAsync(looking));
            }
        }

        Assert.Empty((await new AgreementWorkflow(store, readings).ReportAsync(new AgreementQuery(), readers[0].Id)).Readings);
        await Assert.ThrowsAsync<ReadingRefusedException>(() => readings.RemarkAsync(caseId, null, second.Reader, "early"));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.SayAsync(id, new RoundViewer(readers[0].Id, false, readers[0].Name), caseId, null, null, "early"));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.RecordAsync(id, caseId, null, "accept", [readers[0].Id], new Dictionary<Guid, string>(), null, new RoundViewer(null, true, "Dunlin")));

        // The teacher sees how far everybody is, and no answer.
        RoundView managed = await rounds.ViewAsync(id, round => RoundWorkflow.AtTheBench(round, teacher));
        Assert.Equal([1, 1, 0], managed.Progress.Select(each => each.Finished));
        Assert.DoesNotContain(Secret, JsonSerializer.Serialize(managed with { Report = null }), StringComparison.Ordinal);

        // The last who finishes brings all of it up.
        await ReadAsync(id, readers[2].Id, caseId, ChecklistState.Met, "third");
        RoundView shown = await rounds.ViewAsync(id, round => RoundWorkflow.AsGuest(round, readers[1].Id));
        Assert.Equal((RoundState.Shown, RoundShownBy.AllFinished), (shown.State, shown.Shown!.By));
        Assert.Equal(3, shown.Readings.Count);
        Assert.NotEqual("Case 1", Assert.Single(shown.Cases).Title);
        Assert.Single(shown.Readings, each => each.ResultJson!.Contains(Secret, StringComparison.Ordinal));
        Assert.False((await readings.OfCaseAsync(caseId, readers[1].Id)).IsBlind);
    }

    // Two cases, four readers, one line. Case 1: met, met, met, not met; case 2: all met.
    // Pairs alike: 3 of 6 and 6 of 6, mean 0.75. Alpha (nominal): 7 met and 1 not met of 8; observed disagreement 2·3/3/8 = 0.25, expected 1 − 7·6/(8·7) = 0.25, alpha 1 − 0.25/0.25 = 0.
    // AC1 with the four answers of a line on the scale: pe = (2·(7/8)(1/8))/3 = 0.0729167, AC1 = (0.75 − 0.0729167)/(1 − 0.0729167) = 0.730337.
    [Fact]
    public async Task ShownRound_SmallTable_AgreesAsWorkedByHand()
    {
        Guid[] caseIds = [await KeepAsync(1), await KeepAsync(2)];
        PublishedRound published = await rounds.PublishAsync(Draft(caseIds, places: 4), teacher);
        string line = (await cases.OpenAsync(caseIds[0])).Critique!.Verdict.Open[0].LineId;
        RoundReader[] readers = [.. published.Round.Body.Readers];
        foreach (Guid caseId in caseIds)
        {
            foreach (RoundReader reader in readers)
            {
                await ReadAsync(published.Round.Id, reader.Id, caseId, caseId == caseIds[0] && reader == readers[3] ? ChecklistState.NotMet : ChecklistState.Met, null, onlyLine: line);
            }
        }

        RoundView view = await rounds.ViewAsync(published.Round.Id, round => RoundWorkflow.AsGuest(round, readers[0].Id));

        QuestionAgreement question = Assert.Single(view.Report!.Lines);
        Assert.Equal((line, 2), (question.LineId, question.PairableCases));
        Assert.Equal(0.75, question.Percent.Value!.Value, 1e-12);
        Assert.Equal(0, question.Alpha.Value!.Value, 1e-12);
        Assert.Equal((0.75 - (7.0 / 96)) / (1 - (7.0 / 96)), question.Ac1.Value!.Value, 1e-12);
        Assert.Equal([line], view.DividedOn(caseIds[0]).Select(each => each.LineId));
        Assert.Empty(view.DividedOn(caseIds[1]));
        Assert.Equal(["met", "met", "met", "not-met"], view.AnswersTo(caseIds[0], question).OrderBy(each => each.Term, StringComparer.Ordinal).Select(each => each.Term));

        // No verdict was reached by anybody: nothing to agree on, and it says so.
        Assert.False(view.Report.Verdict.Percent.IsMeasured);
    }

    [Fact]
    public async Task Links_WrongWithdrawnEndedOrOfAnotherRound_LetNobodyIn()
    {
        Guid caseId = await KeepAsync(1);
        PublishedRound first = await rounds.PublishAsync(Draft([caseId], places: 2), teacher);
        PublishedRound second = await rounds.PublishAsync(Draft([caseId], places: 2) with { HasGroupLink = true }, teacher);
        RoundInvitation link = first.Invitations[0];

        // 256 random bits in 43 characters; only the hash is kept.
        Assert.Equal(43, link.Secret.Length);
        Assert.Equal(2, first.Invitations.Select(each => each.Secret).Distinct().Count());
        string kept = (await lessons.FindAsync(first.Round.Id))!.BodyJson;
        Assert.DoesNotContain(link.Secret, kept, StringComparison.Ordinal);
        Assert.Contains(RoundSecret.HashOf(link.Secret), kept, StringComparison.Ordinal);

        RoundPass pass = await rounds.JoinAsync(first.Round.Id, link.Secret);
        Assert.Equal((first.Round.Id, link.ReaderId), (pass.RoundId, pass.ReaderId));
        Assert.NotNull(await rounds.CheckAsync(pass));
        Assert.Null(await rounds.CheckAsync(pass with { RoundId = second.Round.Id }));
        Assert.Null(await rounds.CheckAsync(pass with { ReaderId = Guid.NewGuid() }));

        // A wrong secret, another round's, and a round that is not there are refused in the same words.
        foreach ((Guid id, string secret) in new[] { (first.Round.Id, RoundSecret.New()), (second.Round.Id, link.Secret), (Guid.NewGuid(), link.Secret), (first.Round.Id, ""), (first.Round.Id, link.Secret + "A"), (first.Round.Id, RoundSecret.HashOf(link.Secret)) })
        {
            Assert.Equal(RoundWorkflow.WrongLink, (await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.JoinAsync(id, secret))).Message);
        }

        // Made anew, the earlier opens nothing and whom it let in is out; withdrawn, none does.
        RoundInvitation anew = await rounds.InviteAsync(first.Round.Id, link.ReaderId);
        Assert.Null(await rounds.CheckAsync(pass));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.JoinAsync(first.Round.Id, link.Secret));
        RoundPass again = await rounds.JoinAsync(first.Round.Id, anew.Secret);
        Assert.NotNull(await rounds.CheckAsync(again));
        await rounds.WithdrawAsync(first.Round.Id, link.ReaderId);
        Assert.Null(await rounds.CheckAsync(again));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.JoinAsync(first.Round.Id, anew.Secret));

        // The group's link gives one free place after the other, then none.
        RoundInvitation group = Assert.Single(second.Invitations);
        RoundPass one = await rounds.JoinAsync(second.Round.Id, group.Secret);
        RoundPass two = await rounds.JoinAsync(second.Round.Id, group.Secret);
        Assert.NotEqual(one.ReaderId, two.ReaderId);
        Assert.Contains("Every place", (await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.JoinAsync(second.Round.Id, group.Secret))).Message, StringComparison.Ordinal);

        // Withdrawn it lets nobody new in; whoever sits there stays, until the links end.
        await rounds.WithdrawAsync(second.Round.Id, null);
        Assert.NotNull(await rounds.CheckAsync(one));
        clock.Now = second.Round.Body.OpenUntil;
        Assert.Null(await rounds.CheckAsync(one));
        Assert.Contains("over", (await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.JoinAsync(first.Round.Id, first.Invitations[1].Secret))).Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task OpenRound_ClockPutBackAndForthByADay_KeepsItsGuestsAndWhatTheyRead()
    {
        Guid caseId = await KeepAsync(1);
        PublishedRound published = await rounds.PublishAsync(Draft([caseId], places: 2), teacher);
        RoundPass pass = await rounds.JoinAsync(published.Round.Id, published.Invitations[0].Secret);
        OwnReading reading = await rounds.BeginAsync(published.Round.Id, pass.ReaderId, caseId);

        // Finished a day before it was begun, by the clock.
        clock.Now -= TimeSpan.FromDays(1);
        Assert.NotNull(await rounds.CheckAsync(pass));
        await AnswerAsync(reading.Id, ChecklistState.Met, "after the clock was put back", null);
        await rounds.FinishAsync(published.Round.Id, pass.ReaderId, reading.Id);
        Assert.NotNull((await readings.FindAsync(reading.Id))!.Finished);

        // Beyond its end nobody is let in; put right, the same pass holds again, and nothing was shown early.
        clock.Now = published.Round.Body.OpenUntil + TimeSpan.FromDays(1);
        Assert.Null(await rounds.CheckAsync(pass));
        clock.Now = SetClock.Start;
        Assert.NotNull(await rounds.CheckAsync(pass));
        Assert.Equal(RoundState.Open, (await rounds.ListAsync())[0].State);
        Assert.Contains("after the clock was put back", (await cases.OpenAsync(reading.Id)).Record.AnswersJson, StringComparison.Ordinal);
    }

    [Fact]
    public async Task CheckAsync_ClosedRound_LetsNobodyIn()
    {
        PublishedRound published = await rounds.PublishAsync(Draft([await KeepAsync(1)], places: 2), teacher);
        RoundPass pass = await rounds.JoinAsync(published.Round.Id, published.Invitations[0].Secret);

        await rounds.CloseAsync(published.Round.Id);

        Assert.Null(await rounds.CheckAsync(pass));
        Assert.Equal(RoundState.Closed, (await rounds.ListAsync())[0].State);
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.InviteAsync(published.Round.Id, pass.ReaderId));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.JoinAsync(published.Round.Id, published.Invitations[1].Secret));
    }

    [Fact]
    public async Task PublishAsync_SomethingIdentifying_StopsAndKeepsNothing()
    {
        Guid caseId = await KeepAsync(1);
        RoundDraft draft = Draft([caseId], places: 2) with { Words = "Compare with MRN 4711082 of last week." };

        RoundFinding found = Assert.Single(await rounds.LookOverAsync(draft));
        PublicationStoppedException stopped = await Assert.ThrowsAsync<PublicationStoppedException>(() => rounds.PublishAsync(draft, teacher));

        Assert.Equal(("the words to the readers", false), (found.Finding.Where, found.CanBeKept));
        Assert.Contains("the words to the readers", stopped.Message, StringComparison.Ordinal);
        Assert.DoesNotContain("4711082", stopped.Message, StringComparison.Ordinal);
        Assert.Empty(await rounds.ListAsync());
        Assert.False((await readings.OfCaseAsync(caseId, null)).IsBlind);

        // The title of a case too, by which case.
        OpenCase open = await cases.OpenAsync(caseId);
        await cases.RenameAsync(open, "Wrist of 12.03.1961");
        RoundFinding titled = Assert.Single(await rounds.LookOverAsync(Draft([caseId], places: 2)));
        Assert.Equal((caseId, "the title of the case", IdentityKind.LooksLikeDate), (titled.CaseId, titled.Finding.Where, titled.Finding.Kind));
    }

    [Fact]
    public async Task PublishAsync_WhatDoesNotFit_IsRefusedInOneSentence()
    {
        Guid caseId = await KeepAsync(1);
        RoundDraft fits = Draft([caseId], places: 2);
        foreach (RoundDraft draft in new[] { fits with { Title = " " }, fits with { CaseIds = [] }, fits with { CaseIds = [caseId, caseId] }, fits with { Places = 1 }, fits with { ReadUntil = clock.Now }, fits with { OpenUntil = fits.ReadUntil.AddDays(-1) }, fits with { Naming = RoundNaming.People } })
        {
            Assert.EndsWith(".", (await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.PublishAsync(draft, teacher))).Message, StringComparison.Ordinal);
        }

        await Assert.ThrowsAsync<CaseGoneException>(() => rounds.PublishAsync(fits with { CaseIds = [Guid.NewGuid()] }, teacher));
    }

    [Fact]
    public async Task ChangeCasesAsync_OnceSomebodyHasBegun_IsRefused()
    {
        Guid[] caseIds = [await KeepAsync(1), await KeepAsync(2)];
        PublishedRound published = await rounds.PublishAsync(Draft([caseIds[0]], places: 2), teacher);
        Guid id = published.Round.Id;
        await rounds.ChangeCasesAsync(id, Draft(caseIds, places: 2));
        Assert.Equal(caseIds, (await rounds.GetAsync(id)).Body.CaseIds);

        await rounds.BeginAsync(id, published.Round.Body.Readers[0].Id, caseIds[1]);

        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.ChangeCasesAsync(id, Draft([caseIds[1]], places: 2)));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.RemovePlaceAsync(id, published.Round.Body.Readers[0].Id));
        Assert.Equal(caseIds, (await rounds.GetAsync(id)).Body.CaseIds);
    }

    [Fact]
    public async Task ReadUntil_WhenTheDayComes_ShowsWhatIsFinishedAndCountsNoMore()
    {
        Guid caseId = await KeepAsync(1);
        PublishedRound published = await rounds.PublishAsync(Draft([caseId], places: 2), teacher);
        Guid id = published.Round.Id;
        RoundReader[] readers = [.. published.Round.Body.Readers];
        await ReadAsync(id, readers[0].Id, caseId, ChecklistState.Met, null);
        OwnReading late = await rounds.BeginAsync(id, readers[1].Id, caseId);

        clock.Now = published.Round.Body.ReadUntil;

        RoundView view = await rounds.ViewAsync(id, round => RoundWorkflow.AsGuest(round, readers[1].Id));
        Assert.Equal((RoundState.Shown, (RoundShown?)null, 1), (view.State, view.Shown, view.Readings.Count));
        await AnswerAsync(late.Id, ChecklistState.Met, null, null);
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.FinishAsync(id, readers[1].Id, late.Id));
    }

    [Fact]
    public async Task Consensus_RecordedTwice_KeepsDissentAndTheEarlierRecord()
    {
        (Guid id, Guid caseId, RoundReader[] readers) = await ShownAsync();
        RoundViewer lead = new(null, true, "Dunlin");
        string line = (await rounds.ViewAsync(id, _ => lead)).DividedOn(caseId).First(each => each.LineId is not null).LineId!;

        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.RecordAsync(id, caseId, line, "perhaps", [readers[0].Id], new Dictionary<Guid, string>(), null, lead));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.RecordAsync(id, caseId, line, "met", [], new Dictionary<Guid, string>(), null, lead));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.RecordAsync(id, caseId, line, "met", [readers[0].Id], new Dictionary<Guid, string> { [readers[1].Id] = " " }, null, lead));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.RecordAsync(id, caseId, line, "met", [readers[0].Id], new Dictionary<Guid, string>(), null, new RoundViewer(readers[0].Id, false, readers[0].Name)));
        await rounds.RecordAsync(id, caseId, line, "met", [readers[0].Id, readers[1].Id], new Dictionary<Guid, string> { [readers[2].Id] = "The styloid is cut." }, "Looked at together.", lead);
        await rounds.DissentAsync(id, readers[1].Id, caseId, line, "On second thoughts I agree with the other.");
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.DissentAsync(id, readers[1].Id, caseId, line, "Again."));

        // Another record: who shares it now dissents no more, the other's dissent goes on, and the first record stays.
        await rounds.RecordAsync(id, caseId, line, "not-met", [readers[1].Id, readers[0].Id], new Dictionary<Guid, string>(), null, lead);

        RoundView view = await rounds.ViewAsync(id, round => RoundWorkflow.AsGuest(round, readers[0].Id));
        Assert.Equal(2, view.Consensus.Count);
        Assert.Equal(("met", readers[0].Name), (view.Consensus[0].Agreed, Assert.Single(view.Consensus[0].AgreedBy).Name));
        Assert.Equal(["The styloid is cut.", "On second thoughts I agree with the other."], view.Consensus[0].Dissent.Select(each => each.Why));
        RoundConsensus stands = view.StandsOn(caseId, line)!;
        Assert.Equal(("not-met", "The styloid is cut."), (stands.Agreed, Assert.Single(stands.Dissent).Why));
        string csv = RoundText.Consensus(view);
        Assert.Contains("dissents,The styloid is cut.", csv, StringComparison.Ordinal);
        Assert.Equal(1 + 3 + 3, csv.Split("\r\n", StringSplitOptions.RemoveEmptyEntries).Length);

        // Made a reference it holds learners' readings against it, and is no reader.
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.MakeReferenceAsync(id));
        await rounds.AgreeAsync(id);
        Assert.Equal(1, await rounds.MakeReferenceAsync(id));
        Assert.Equal(1, await rounds.MakeReferenceAsync(id));
        OwnReading reference = Assert.Single(await store.ListAsync(new ReadingQuery { CaseIds = [caseId], IsFinished = true }), each => each.Reader.IsConsensus);
        Assert.Equal((PersonRole.Supervisor, ChecklistState.NotMet), (reference.Reader.Role, reference.Result!.Lines.First(each => each.Id == line).State));
        AgreementReport all = await new AgreementWorkflow(store, readings).ReportAsync(new AgreementQuery(), null);
        Assert.Equal(readers.Select(each => each.Name).Order(), all.Readers.Select(each => each.Pseudonym));
    }

    [Fact]
    public async Task Threads_AtAPlaceALineOrTheCase_AreNumberedAnsweredAndSettled()
    {
        (Guid id, Guid caseId, RoundReader[] readers) = await ShownAsync();
        RoundViewer first = new(readers[0].Id, false, readers[0].Name);
        RoundViewer second = new(readers[1].Id, false, readers[1].Name);
        int told = 0;
        rounds.Changed += _ => told++;

        RoundThread place = await rounds.SayAsync(id, first, caseId, null, new RoundPlace(12.5, 40, 30, 20), "Is this cut?");
        RoundThread line = await rounds.SayAsync(id, second, caseId, "marker.side", null, "I see none.");
        await rounds.ReplyAsync(id, second, place.Id, "By two millimetres.");
        await rounds.SettleThreadAsync(id, first, place.Id, true);

        Assert.Equal((1, 2), (place.Number, line.Number));
        Assert.Equal(4, told);
        RoundThread kept = (await rounds.ViewAsync(id, round => RoundWorkflow.AsGuest(round, readers[2].Id))).Threads[0];
        Assert.Equal((new RoundPlace(12.5, 40, 30, 20), readers[0].Name), (kept.Place, kept.SettledBy));
        Assert.Equal([("Is this cut?", readers[0].Name), ("By two millimetres.", readers[1].Name)], kept.Posts.Select(each => (each.Text, each.Author)));
        await rounds.ReplyAsync(id, first, place.Id, "Not so sure.");
        Assert.Null((await rounds.GetAsync(id)).Body.Threads[0].SettledBy);
        foreach (RoundPlace unsound in new[] { new RoundPlace(double.NaN, 1), new RoundPlace(1, 1, -1, 2), new RoundPlace(1, double.PositiveInfinity) })
        {
            await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.SayAsync(id, first, caseId, null, unsound, "where?"));
        }

        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.SayAsync(id, first, caseId, null, null, new string('x', RoundWorkflow.TextMaxLength + 1)));
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.SayAsync(id, first, Guid.NewGuid(), null, null, "not of the round"));
        await rounds.CloseAsync(id);
        await Assert.ThrowsAsync<RoundRefusedException>(() => rounds.ReplyAsync(id, first, place.Id, "Too late."));
    }

    [Fact]
    public async Task FourReadersAtOnce_ChangeOneRound_NothingIsLost()
    {
        Guid caseId = await KeepAsync(1);
        PublishedRound published = await rounds.PublishAsync(Draft([caseId], places: 4), teacher);

        // A second workflow on the same store stands for another server: they meet only by the round's version.
        var other = new RoundWorkflow(lessons, store, readings, cases, publisher, clock);
        await Task.WhenAll(published.Round.Body.Readers.Select((reader, place) => (place % 2 == 0 ? rounds : other).BeginAsync(published.Round.Id, reader.Id, caseId)));

        Assert.Equal(4, (await rounds.GetAsync(published.Round.Id)).Body.Readings.Count);
    }

    private static RoundDraft Draft(IReadOnlyList<Guid> caseIds, int places) => new()
    {
        Title = "Wrists on Thursday",
        Words = "Look at the field first.",
        CaseIds = caseIds,
        Places = places,
        ReadUntil = SetClock.Start.AddDays(7),
        OpenUntil = SetClock.Start.AddDays(21),

        // Where nothing is installed that reads text in pictures, a person has to say that the picture was looked over.
        LookedOver = caseIds,
    };

    private async Task<(Guid Id, Guid CaseId, RoundReader[] Readers)> ShownAsync()
    {
        Guid caseId = await KeepAsync(1);
        PublishedRound published = await rounds.PublishAsync(Draft([caseId], places: 3), teacher);
        RoundReader[] readers = [.. published.Round.Body.Readers];
        for (int place = 0; place < readers.Length; place++)
        {
            await ReadAsync(published.Round.Id, readers[place].Id, caseId, place == 2 ? ChecklistState.NotMet : ChecklistState.Met, "said alone");
        }

        return (published.Round.Id, caseId, readers);
    }

    private async Task<OwnReading> ReadAsync(Guid id, Guid readerId, Guid caseId, ChecklistState state, string? remark, string? onlyLine = null)
    {
        OwnReading reading = await rounds.BeginAsync(id, readerId, caseId);
        await AnswerAsync(reading.Id, state, remark, onlyLine);
        await rounds.FinishAsync(id, readerId, reading.Id);
        return reading;
    }

    private async Task AnswerAsync(Guid readingId, ChecklistState state, string? remark, string? onlyLine)
    {
        OpenCase open = await cases.OpenAsync(readingId);
        foreach (string line in open.Critique!.Verdict.Open.Select(reason => reason.LineId).Where(each => onlyLine is null || each == onlyLine).ToArray())
        {
            open = await cases.AnswerAsync(open, line, new Answer(state, null, remark));
        }
    }

    private async Task<Guid> KeepAsync(int seed)
    {
        InventedExposure.Write(InventedExposure.Limb(300, 250, seed), folder["limb.dcm"]);
        await using FileStream file = File.OpenRead(folder["limb.dcm"]);
        CaseRecord record = (await cases.BringInAsync("limb.dcm", file, long.MaxValue)).Record;
        return (await cases.ChooseProjectionAsync(await cases.OpenAsync(record.Id), "wrist-pa")).Record.Id;
    }

    private sealed class SetClock : TimeProvider
    {
        public static readonly DateTimeOffset Start = new(2026, 5, 4, 8, 0, 0, TimeSpan.Zero);

        public DateTimeOffset Now { get; set; } = Start;

        public override DateTimeOffset GetUtcNow() => Now;
    }
}
