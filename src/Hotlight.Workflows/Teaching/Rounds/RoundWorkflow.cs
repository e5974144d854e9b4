using System.Globalization;
using System.Security.Cryptography;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Privacy.Publishing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Teaching.Rounds;

/// <summary>Rounds: cases are published to a group, read blind, shown side by side, talked over and agreed on. Readings, blindness and agreement are those of <see cref="ReadingWorkflow"/>; a round says who reads what, and holds the answers back until they are shown.</summary>
public sealed class RoundWorkflow
{
    /// <summary>Longest thing said or recorded, in characters.</summary>
    public const int TextMaxLength = 1000;

    /// <summary>What whoever gives a wrong link is told.</summary>
    public const string WrongLink = "This link opens no round. Ask whoever sent it for a new one.";

    private const int MostAttempts = 12;

    // Pseudonyms that a round gives: short, unlike each other, and nobody's.
    private static readonly string[] Names =
    [
        "Alder", "Birch", "Cedar", "Dogwood", "Elder", "Fir", "Gorse", "Hazel", "Ivy", "Juniper", "Kelp", "Larch", "Maple", "Nettle", "Oak", "Poplar", "Quince", "Rowan", "Sedge", "Thistle",
        "Ulex", "Vetch", "Willow", "Yarrow", "Aspen", "Bracken", "Clover", "Daisy", "Elm", "Fern", "Heather", "Iris", "Jasmine", "Linden", "Moss", "Olive", "Pine", "Reed", "Spruce", "Yew",
    ];

    private readonly ILessonStore lessons;
    private readonly IReadingStore store;
    private readonly ReadingWorkflow readings;
    private readonly CaseWorkflow cases;
    private readonly TimeProvider clock;
    private readonly RoundPublication publication;

    // Four readers who finish at once change one round: in this process one after the other, beside another server by its version.
    private readonly SemaphoreSlim oneAtATime = new(1);

    /// <summary>Creates the workflow.</summary>
    /// <param name="lessons">Where rounds are kept.</param>
    /// <param name="store">Where readings are kept.</param>
    /// <param name="readings">Begins and finishes readings.</param>
    /// <param name="cases">The cases.</param>
    /// <param name="publisher">Makes cases ready for the gate.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="clinic">The clinic's people, for the gate; null: none.</param>
    public RoundWorkflow(ILessonStore lessons, IReadingStore store, ReadingWorkflow readings, CaseWorkflow cases, CasePublisher publisher, TimeProvider clock, ClinicWorkflow? clinic = null)
    {
        ArgumentNullException.ThrowIfNull(lessons);
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(readings);
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(publisher);
        ArgumentNullException.ThrowIfNull(clock);
        this.lessons = lessons;
        this.store = store;
        this.readings = readings;
        this.cases = cases;
        this.clock = clock;
        publication = new RoundPublication(cases, publisher, clinic);
    }

    /// <summary>Raised when a round changed; names it. On the thread that did it.</summary>
    public event Action<Guid>? Changed;

    /// <summary>Names each place where something identifying stands in what a round would show.</summary>
    /// <param name="draft">The round.</param>
    /// <param name="cancellation">Stops the looking.</param>
    /// <returns>None: it may be published.</returns>
    /// <exception cref="CaseGoneException">A case is not kept.</exception>
    /// <exception cref="UnreadableImageException">A kept file cannot be read by this version.</exception>
    /// <exception cref="FileNotKeptException">A kept file is missing.</exception>
    public Task<IReadOnlyList<RoundFinding>> LookOverAsync(RoundDraft draft, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(draft);
        return publication.LookOverAsync(draft, cancellation);
    }

    /// <summary>A case made ready for the gate, with what was found in its pixels and what a person decided of it.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="UnreadableImageException">The kept file cannot be read by this version.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    public Task<PublishableCase> PrepareAsync(Guid caseId, CancellationToken cancellation = default) => publication.PrepareAsync(caseId, cancellation);

    /// <summary>Keeps what a person decided of text in the pixels of a case; it holds for everything that is published of its file.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="review">What was decided.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    public Task ReviewPixelsAsync(Guid caseId, PixelReview review, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(review);
        return publication.ReviewAsync(caseId, review, cancellation);
    }

    /// <summary>Publishes a round: from here on its cases are blind to everybody until the answers are shown.</summary>
    /// <param name="draft">The round.</param>
    /// <param name="teacher">Who teaches; null: nobody in particular.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="RoundRefusedException">Something of it is missing or does not fit.</exception>
    /// <exception cref="PublicationStoppedException">Something identifying stands in it.</exception>
    /// <exception cref="CaseGoneException">A case is not kept.</exception>
    /// <exception cref="UnreadableImageException">A kept file cannot be read by this version.</exception>
    /// <exception cref="FileNotKeptException">A kept file is missing.</exception>
    public async Task<PublishedRound> PublishAsync(RoundDraft draft, Person? teacher, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(draft);
        await CheckAsync(draft, cancellation);
        Stop(await LookOverAsync(draft, cancellation));
        IEnumerable<(Guid Id, string Name)> invited = draft.Naming == RoundNaming.People
            ? draft.People.Select(person => (person.Id, person.Pseudonym))
            : Names.Take(draft.Places).Select(name => (Guid.NewGuid(), name));
        var links = new List<RoundInvitation>();
        var places = new List<RoundReader>();
        bool hasGroupLink = draft.HasGroupLink && draft.Naming == RoundNaming.Pseudonyms;
        foreach ((Guid id, string name) in invited)
        {
            string? secret = hasGroupLink ? null : RoundSecret.New();
            places.Add(new RoundReader(id, name) { Link = secret is null ? null : RoundSecret.HashOf(secret) });
            if (secret is not null)
            {
                links.Add(new RoundInvitation(id, name, secret));
            }
        }

        string? group = hasGroupLink ? RoundSecret.New() : null;
        if (group is not null)
        {
            links.Add(new RoundInvitation(null, "the group", group));
        }

        DateTimeOffset now = clock.GetUtcNow();
        var body = new RoundBody
        {
            Words = draft.Words.Trim(),
            CaseIds = draft.CaseIds,
            Naming = draft.Naming,
            ReadUntil = draft.ReadUntil,
            OpenUntil = draft.OpenUntil,
            Readers = places,
            GroupLink = group is null ? null : RoundSecret.HashOf(group),
        };
        Lesson kept = await KeptAsync(() => lessons.AddAsync(
            new Lesson { Id = Guid.NewGuid(), Kind = LessonKind.Round, OwnerId = teacher?.Id, OwnerPseudonym = teacher?.Pseudonym ?? string.Empty, Title = draft.Title.Trim(), BodyJson = body.Write(), Begun = now, Changed = now },
            cancellation));
        Changed?.Invoke(kept.Id);
        return new PublishedRound(Round.Of(kept), links);
    }

    /// <summary>Changes the cases of a round that nobody has begun; they go through the gate again.</summary>
    /// <param name="id">The round.</param>
    /// <param name="draft">The cases, with what the teacher looked at; the rest of it is not used.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="RoundRefusedException">Somebody has begun, or the cases do not fit.</exception>
    /// <exception cref="PublicationStoppedException">Something identifying stands in it.</exception>
    public async Task ChangeCasesAsync(Guid id, RoundDraft draft, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(draft);
        Round round = await GetAsync(id, cancellation);
        RoundDraft whole = draft with { Title = round.Title, Words = round.Body.Words };
        await CheckCasesAsync(whole, cancellation);
        Stop(await publication.LookOverAsync(whole, cancellation));
        await ChangeAsync(id, current => current.Body.Readings.Count > 0 || current.StateAt(clock.GetUtcNow()) != RoundState.Open
            ? throw new RoundRefusedException("Somebody has begun to read, so the cases of this round stay as they are.")
            : current with { Body = current.Body with { CaseIds = draft.CaseIds } }, cancellation);
    }

    /// <summary>The rounds, those changed last first; those of a later version of Hotlight are left out.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<RoundSummary>> ListAsync(CancellationToken cancellation = default)
    {
        DateTimeOffset now = clock.GetUtcNow();
        var found = new List<RoundSummary>();
        foreach (Lesson lesson in await lessons.ListAsync(new LessonQuery { Kind = LessonKind.Round }, cancellation))
        {
            try
            {
                Round round = Round.Of(lesson);
                found.Add(new RoundSummary(round.Id, round.Title, round.TeacherName, round.StateAt(now), round.Body.CaseIds.Count, round.Body.Readers.Count, lesson.Begun, round.Body.ReadUntil));
            }
            catch (RoundRefusedException)
            {
                // It is on the list of the version that kept it.
            }
        }

        return found;
    }

    /// <summary>A round.</summary>
    /// <param name="id">The round.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="RoundRefusedException">There is none.</exception>
    public async Task<Round> GetAsync(Guid id, CancellationToken cancellation = default)
        => await lessons.FindAsync(id, cancellation) is { } lesson ? Round.Of(lesson) : throw new RoundRefusedException(NoSuchRound);

    /// <summary>The round that a reading belongs to; null: none.</summary>
    /// <param name="readingId">The reading.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<Round?> OfReadingAsync(Guid readingId, CancellationToken cancellation = default)
    {
        foreach (Lesson lesson in await lessons.ListAsync(new LessonQuery { Kind = LessonKind.Round, IsEnded = false }, cancellation))
        {
            try
            {
                Round round = Round.Of(lesson);
                if (round.Body.Readings.Any(each => each.ReadingId == readingId))
                {
                    return round;
                }
            }
            catch (RoundRefusedException)
            {
                // A later version's.
            }
        }

        return null;
    }

    /// <summary>Who somebody at the bench itself is to a round: one of its readers, or else its teacher, since the bench has no accounts.</summary>
    /// <param name="round">The round.</param>
    /// <param name="person">Who was chosen; null: nobody.</param>
    public static RoundViewer AtTheBench(Round round, Person? person)
    {
        ArgumentNullException.ThrowIfNull(round);
        bool isReader = person is not null && round.Body.Readers.Any(each => each.Id == person.Id);
        return new RoundViewer(isReader ? person!.Id : null, !isReader || round.Lesson.OwnerId == person!.Id, person?.Pseudonym ?? round.TeacherName) { AuthorId = person?.Id ?? Guid.Empty };
    }

    /// <summary>Who a guest is to the guest's round.</summary>
    /// <param name="round">The round.</param>
    /// <param name="readerId">The guest.</param>
    /// <exception cref="RoundRefusedException">No such reader is invited.</exception>
    public static RoundViewer AsGuest(Round round, Guid readerId)
    {
        ArgumentNullException.ThrowIfNull(round);
        return new RoundViewer(readerId, false, ReaderOf(round, readerId).Name);
    }

    /// <summary>What somebody who looks at a round is given.</summary>
    /// <param name="id">The round.</param>
    /// <param name="viewerOf">Says who looks.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="RoundRefusedException">There is no such round.</exception>
    public async Task<RoundView> ViewAsync(Guid id, Func<Round, RoundViewer> viewerOf, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(viewerOf);
        Round round = await GetAsync(id, cancellation);
        RoundViewer viewer = viewerOf(round);
        IReadOnlyList<OwnReading> all = await ReadingsOfAsync(round, cancellation);
        if (round.StateAt(clock.GetUtcNow()) == RoundState.Open && IsAllFinished(round, all))
        {
            // Whoever finished last was stopped between finishing and telling the round.
            round = await SettleAsync(id, cancellation);
        }

        RoundState state = round.StateAt(clock.GetUtcNow());
        IReadOnlyList<ReadCase> known = await store.CasesAsync(round.Body.CaseIds, cancellation);
        RoundCase[] listed =
        [
            .. round.Body.CaseIds.Select(caseId =>
            {
                ReadCase? read = known.FirstOrDefault(each => each.Id == caseId);
                OwnReading? own = viewer.ReadingOf(round, caseId) is { } mine ? all.FirstOrDefault(each => each.Id == mine) : null;
                string title = state == RoundState.Open && viewer.ReaderId is not null ? round.NumberOf(caseId) : read?.Title ?? own?.CaseTitle ?? "a case that was deleted";
                return new RoundCase(caseId, title, read?.ProjectionId ?? own?.ProjectionId ?? string.Empty, own?.Id, own?.IsFinished == true, read is null);
            }),
        ];
        var view = new RoundView
        {
            Id = id,
            Title = round.Title,
            Words = round.Body.Words,
            Teacher = round.TeacherName,
            State = state,
            ReadUntil = round.Body.ReadUntil,
            OpenUntil = round.Body.OpenUntil,
            Naming = round.Body.Naming,
            Viewer = viewer,
            Cases = listed,
        };
        if (state == RoundState.Open)
        {
            // A teacher who reads too is kept as blind as the others.
            return viewer is { IsTeacher: true, ReaderId: null } ? view with { Progress = ProgressOf(round, all), HasGroupLink = round.Body.GroupLink is not null } : view;
        }

        OwnReading[] finished = [.. all.Where(each => each.IsFinished)];
        return view with
        {
            Progress = ProgressOf(round, all, hidesLinks: !viewer.IsTeacher),
            HasGroupLink = viewer.IsTeacher && round.Body.GroupLink is not null,
            Shown = round.Body.Shown,
            Readings = finished,
            Report = await Task.Run(() => AgreementReport.Of(finished, known, 0, withLinesLeft: false), cancellation),
            Threads = round.Body.Threads,
            Consensus = round.Body.Consensus,
            MadeReference = round.Body.MadeReference,
        };
    }

    /// <summary>Lets in whoever gives a link's secret.</summary>
    /// <param name="id">The round that the link names.</param>
    /// <param name="secret">The secret.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="RoundRefusedException">The link is wrong, withdrawn or has ended, or every place is taken; the message does not tell a wrong secret from a wrong round.</exception>
    public async Task<RoundPass> JoinAsync(Guid id, string secret, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(secret);
        string hash = RoundSecret.HashOf(secret);
        Guid joined = Guid.Empty;
        Round round;
        try
        {
            round = await ChangeAsync(id, current =>
            {
                RoundBody body = current.Body;
                RoundReader? own = null;

                // All of them are compared, so that the time tells nothing of which one was nearly right.
                foreach (RoundReader reader in body.Readers)
                {
                    own = RoundSecret.IsSame(reader.Link, hash) ? reader : own;
                }

                bool isGroup = RoundSecret.IsSame(body.GroupLink, hash);
                if (own is null && !isGroup)
                {
                    throw new RoundRefusedException(WrongLink);
                }

                if (!current.IsOpenToGuestsAt(clock.GetUtcNow()))
                {
                    throw new RoundRefusedException("This round is over, and its links with it.");
                }

                RoundReader place = own ?? body.Readers.FirstOrDefault(each => each.Joined is null && each.Link is null)
                    ?? throw new RoundRefusedException("Every place of this round is taken. Ask whoever sent the link.");
                joined = place.Id;
                return place.Joined is null ? current with { Body = body with { Readers = [.. body.Readers.Select(each => each.Id == place.Id ? each with { Joined = clock.GetUtcNow() } : each)] } } : current;
            }, cancellation);
        }
        catch (RoundRefusedException error) when (error.Message == NoSuchRound)
        {
            throw new RoundRefusedException(WrongLink);
        }

        return new RoundPass(id, joined, ReaderOf(round, joined).Session);
    }

    /// <summary>Whether a secret is that of a reader's own link or of the group's.</summary>
    /// <param name="id">The round.</param>
    /// <param name="secret">The secret.</param>
    /// <param name="readerId">The reader.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="RoundRefusedException">There is no such round.</exception>
    public async Task<bool> IsLinkOfAsync(Guid id, string secret, Guid readerId, CancellationToken cancellation = default)
    {
        Round round = await GetAsync(id, cancellation);
        string hash = RoundSecret.HashOf(secret);
        bool isGroup = RoundSecret.IsSame(round.Body.GroupLink, hash);
        return RoundSecret.IsSame(round.Body.Readers.FirstOrDefault(each => each.Id == readerId)?.Link, hash) || isGroup;
    }

    /// <summary>The round that a pass lets its guest into; null: it lets in no more.</summary>
    /// <param name="pass">The pass.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<Round?> CheckAsync(RoundPass pass, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(pass);
        try
        {
            Round round = await GetAsync(pass.RoundId, cancellation);
            return round.IsOpenToGuestsAt(clock.GetUtcNow()) && round.Body.Readers.Any(each => each.Id == pass.ReaderId && each.Session == pass.Session) ? round : null;
        }
        catch (RoundRefusedException)
        {
            return null;
        }
    }

    /// <summary>Makes a link anew; an earlier one of the same place, or of the group, opens nothing from here on. Whoever sits at that place has to come in again; those whom a link of the group let in stay.</summary>
    /// <param name="id">The round.</param>
    /// <param name="readerId">The reader; null: the group.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="RoundRefusedException">The round is over, or has no such place.</exception>
    public async Task<RoundInvitation> InviteAsync(Guid id, Guid? readerId, CancellationToken cancellation = default)
    {
        string secret = RoundSecret.New();
        Round round = await LinkAsync(id, readerId, RoundSecret.HashOf(secret), cancellation);
        return new RoundInvitation(readerId, readerId is { } known ? ReaderOf(round, known).Name : "the group", secret);
    }

    /// <summary>Withdraws a link: it opens nothing from here on, and whoever a reader's own link let in is sent away.</summary>
    /// <param name="id">The round.</param>
    /// <param name="readerId">The reader; null: the group.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="RoundRefusedException">The round is over, or has no such place.</exception>
    public Task WithdrawAsync(Guid id, Guid? readerId, CancellationToken cancellation = default) => LinkAsync(id, readerId, null, cancellation);

    /// <summary>Takes away a place at which nobody has begun to read, such as of somebody who does not come.</summary>
    /// <param name="id">The round.</param>
    /// <param name="readerId">The reader.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="RoundRefusedException">That reader has begun, or two readers would not be left.</exception>
    public async Task RemovePlaceAsync(Guid id, Guid readerId, CancellationToken cancellation = default)
    {
        await ChangeAsync(id, round =>
        {
            RoundReader reader = ReaderOf(round, readerId);
            return round.Body.Readings.Any(each => each.ReaderId == readerId) ? throw new RoundRefusedException($"{reader.Name} has begun to read; the place stays.")
                : round.Body.Readers.Count <= 2 ? throw new RoundRefusedException("A round has two readers or more.")
                : round with { Body = round.Body with { Readers = [.. round.Body.Readers.Where(each => each.Id != readerId)] } };
        }, cancellation);
        await SettleAsync(id, cancellation);
    }

    /// <summary>Begins a reader's own reading of a case of the round, or gives back the one under way.</summary>
    /// <param name="id">The round.</param>
    /// <param name="readerId">The reader.</param>
    /// <param name="caseId">The case.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="RoundRefusedException">Reading has ended, the reader is not invited, or the case is not of the round.</exception>
    /// <exception cref="ReadingRefusedException">The case has no projection any more.</exception>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    public async Task<OwnReading> BeginAsync(Guid id, Guid readerId, Guid caseId, CancellationToken cancellation = default)
    {
        Round round = await GetAsync(id, cancellation);
        RoundReader reader = ReaderOf(round, readerId);
        if (!round.Body.CaseIds.Contains(caseId))
        {
            throw new RoundRefusedException("This case is not of the round.");
        }

        if (round.ReadingOf(readerId, caseId) is { } begun && await store.FindAsync(begun.ReadingId, cancellation) is { } underWay)
        {
            return underWay;
        }

        if (round.IsShownAt(clock.GetUtcNow()))
        {
            throw new RoundRefusedException("Reading has ended: the answers are shown.");
        }

        OwnReading reading = await readings.BeginAsync(caseId, new CaseReader(reader.Id, reader.Name, PersonRole.Learner), cancellation: cancellation);
        await ChangeAsync(id, current => current with
        {
            Body = current.Body with { Readings = [.. current.Body.Readings.Where(each => each.ReaderId != readerId || each.CaseId != caseId), new RoundReading(readerId, caseId, reading.Id)] },
        }, cancellation);
        return reading;
    }

    /// <summary>Finishes a reader's reading; when it was the last of the round, the answers are shown.</summary>
    /// <param name="id">The round.</param>
    /// <param name="readerId">The reader.</param>
    /// <param name="readingId">The reading.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="RoundRefusedException">The answers are shown already: what is answered after that is no reading of the round.</exception>
    /// <exception cref="ReadingRefusedException">It is somebody else's, finished already, or nothing was answered yet.</exception>
    /// <exception cref="CaseChangedException">The reading moved on in another window.</exception>
    public async Task FinishAsync(Guid id, Guid readerId, Guid readingId, CancellationToken cancellation = default)
    {
        Round round = await GetAsync(id, cancellation);
        if (round.IsShownAt(clock.GetUtcNow()))
        {
            throw new RoundRefusedException("Reading has ended and the answers are shown, so this reading is not counted any more.");
        }

        await readings.FinishAsync(readingId, readerId, cancellation: cancellation);
        await SettleAsync(id, cancellation);
    }

    /// <summary>Ends the reading: the answers that are finished are shown.</summary>
    /// <param name="id">The round.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public Task ShowAsync(Guid id, CancellationToken cancellation = default)
        => ChangeAsync(id, round => round.IsShownAt(clock.GetUtcNow()) ? round : Shown(round, RoundShownBy.Teacher), cancellation);

    /// <summary>Begins something to talk over.</summary>
    /// <param name="id">The round.</param>
    /// <param name="viewer">Who speaks.</param>
    /// <param name="caseId">The case.</param>
    /// <param name="lineId">The line; null: none.</param>
    /// <param name="place">The place on the image; null: none.</param>
    /// <param name="text">What is said.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="RoundRefusedException">The answers are not shown yet, or the text is empty or too long.</exception>
    public async Task<RoundThread> SayAsync(Guid id, RoundViewer viewer, Guid caseId, string? lineId, RoundPlace? place, string text, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(viewer);
        var threadId = Guid.NewGuid();
        RoundPost post = Post(viewer, text);
        Round round = await TalkAsync(id, current =>
        {
            if (!current.Body.CaseIds.Contains(caseId) || place is { IsSound: false })
            {
                throw new RoundRefusedException("This place is not of the round's images.");
            }

            int number = 1 + current.Body.Threads.Where(each => each.CaseId == caseId).Select(each => each.Number).DefaultIfEmpty().Max();
            var thread = new RoundThread { Id = threadId, CaseId = caseId, Number = number, LineId = lineId, Place = place, Posts = [post] };
            return current with { Body = current.Body with { Threads = [.. current.Body.Threads, thread] } };
        }, cancellation);
        return round.Body.Threads.First(each => each.Id == threadId);
    }

    /// <summary>Answers in a discussion; one that was settled is open again.</summary>
    /// <param name="id">The round.</param>
    /// <param name="viewer">Who speaks.</param>
    /// <param name="threadId">The discussion.</param>
    /// <param name="text">What is said.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="RoundRefusedException">There is no such discussion, or the text is empty or too long.</exception>
    public async Task ReplyAsync(Guid id, RoundViewer viewer, Guid threadId, string text, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(viewer);
        RoundPost post = Post(viewer, text);
        await ThreadAsync(id, threadId, thread => thread with { Posts = [.. thread.Posts, post], SettledBy = null }, cancellation);
    }

    /// <summary>Says that a discussion is settled, or open again.</summary>
    /// <param name="id">The round.</param>
    /// <param name="viewer">Who says so.</param>
    /// <param name="threadId">The discussion.</param>
    /// <param name="isSettled">Whether it is settled.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="RoundRefusedException">There is no such discussion.</exception>
    public async Task SettleThreadAsync(Guid id, RoundViewer viewer, Guid threadId, bool isSettled, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(viewer);
        await ThreadAsync(id, threadId, thread => thread with { SettledBy = isSettled ? viewer.Name : null }, cancellation);
    }

    /// <summary>Records what was agreed on a question. An earlier record stays to be read; its dissent goes on unless who dissented shares the new one.</summary>
    /// <param name="id">The round.</param>
    /// <param name="caseId">The case.</param>
    /// <param name="lineId">The line; null: the verdict.</param>
    /// <param name="agreed">Term of the agreed answer; null: no agreement.</param>
    /// <param name="agreedBy">Readers who share it.</param>
    /// <param name="dissent">Readers who do not, each with why.</param>
    /// <param name="note">What the teacher adds; null: nothing.</param>
    /// <param name="recordedBy">Who records.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="RoundRefusedException">The answers are not shown, the answer is none of the question's, nobody shares it, or a dissent has no reason.</exception>
    public async Task RecordAsync(Guid id, Guid caseId, string? lineId, string? agreed, IReadOnlyCollection<Guid> agreedBy, IReadOnlyDictionary<Guid, string> dissent, string? note, RoundViewer recordedBy, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(agreedBy);
        ArgumentNullException.ThrowIfNull(dissent);
        ArgumentNullException.ThrowIfNull(recordedBy);
        if (!recordedBy.IsTeacher)
        {
            throw new RoundRefusedException("The teacher records the consensus; a reader adds a dissent to it.");
        }

        RoundView view = await ViewAsync(id, _ => recordedBy, cancellation);
        QuestionAgreement question = view.Report is null ? throw new RoundRefusedException("A consensus is recorded once the answers are shown.")
            : lineId is null ? view.Report.Verdict
            : view.Report.Lines.FirstOrDefault(each => each.LineId == lineId) ?? throw new RoundRefusedException("Two readers or more must have answered this line.");
        if (!question.CaseIds.Contains(caseId))
        {
            throw new RoundRefusedException("Nobody answered this question on this case.");
        }

        if (agreed is not null && !question.Table.Scale.Names.Contains(agreed))
        {
            throw new RoundRefusedException("This is no answer to the question.");
        }

        if (agreed is not null && agreedBy.Count == 0)
        {
            throw new RoundRefusedException("Say who shares what was agreed.");
        }

        string? added = string.IsNullOrWhiteSpace(note) ? null : Checked(note);
        Dictionary<Guid, string> reasons = dissent.ToDictionary(each => each.Key, each => Checked(each.Value));
        if (agreedBy.Any(reasons.ContainsKey))
        {
            throw new RoundRefusedException("Nobody shares what was agreed and dissents from it.");
        }

        DateTimeOffset now = clock.GetUtcNow();
        await TalkAsync(id, round =>
        {
            RoundConsensus? before = round.Body.Consensus.LastOrDefault(each => each.CaseId == caseId && each.LineId == lineId);
            IEnumerable<RoundDissent> kept = (before?.Dissent ?? []).Where(each => !agreedBy.Contains(each.ReaderId) && !reasons.ContainsKey(each.ReaderId));
            var record = new RoundConsensus
            {
                Id = Guid.NewGuid(),
                CaseId = caseId,
                LineId = lineId,
                Question = question.Question,
                Agreed = agreed,
                AgreedBy = agreed is null ? [] : [.. agreedBy.Select(each => new RoundVoice(each, ReaderOf(round, each).Name))],
                Dissent = [.. kept, .. reasons.Select(each => new RoundDissent(each.Key, ReaderOf(round, each.Key).Name, each.Value, now))],
                Note = added,
                RecordedBy = recordedBy.Name,
                Recorded = now,
            };
            return round with { Body = round.Body with { Consensus = [.. round.Body.Consensus, record] } };
        }, cancellation);
    }

    /// <summary>Adds a reader's own dissent to the record that stands; it is not taken away again.</summary>
    /// <param name="id">The round.</param>
    /// <param name="readerId">The reader.</param>
    /// <param name="caseId">The case.</param>
    /// <param name="lineId">The line; null: the verdict.</param>
    /// <param name="why">Why.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="RoundRefusedException">Nothing is recorded yet, the reader dissents already, or no reason is given.</exception>
    public async Task DissentAsync(Guid id, Guid readerId, Guid caseId, string? lineId, string why, CancellationToken cancellation = default)
    {
        string reason = Checked(why);
        DateTimeOffset now = clock.GetUtcNow();
        await TalkAsync(id, round =>
        {
            RoundReader reader = ReaderOf(round, readerId);
            RoundConsensus record = round.Body.Consensus.LastOrDefault(each => each.CaseId == caseId && each.LineId == lineId) ?? throw new RoundRefusedException("Nothing is recorded on this question yet.");
            if (record.Dissent.Any(each => each.ReaderId == readerId))
            {
                throw new RoundRefusedException("Your dissent is recorded already.");
            }

            RoundConsensus changed = record with { AgreedBy = [.. record.AgreedBy.Where(each => each.ReaderId != readerId)], Dissent = [.. record.Dissent, new RoundDissent(readerId, reader.Name, reason, now)] };
            return round with { Body = round.Body with { Consensus = [.. round.Body.Consensus.Select(each => each.Id == record.Id ? changed : each)] } };
        }, cancellation);
    }

    /// <summary>Says that the consensus is recorded: what divides the readers and has no record was not talked over.</summary>
    /// <param name="id">The round.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="RoundRefusedException">The answers are not shown.</exception>
    public Task AgreeAsync(Guid id, CancellationToken cancellation = default)
        => TalkAsync(id, round => round.Body.Agreed is null ? round with { Body = round.Body with { Agreed = clock.GetUtcNow() } } : round, cancellation);

    /// <summary>Makes the consensus the reference reading of each case, which learners' readings are held against. Lines on which all agreed and those with an agreed answer are in it.</summary>
    /// <param name="id">The round.</param>
    /// <param name="cancellation">Stops between two cases; called again it goes on.</param>
    /// <exception cref="RoundRefusedException">The consensus is not recorded yet.</exception>
    /// <returns>For how many cases there is one.</returns>
    public async Task<int> MakeReferenceAsync(Guid id, CancellationToken cancellation = default)
    {
        Round round = await GetAsync(id, cancellation);
        if (round.Body.Agreed is null)
        {
            throw new RoundRefusedException("Record the consensus first.");
        }

        RoundView view = await ViewAsync(id, one => new RoundViewer(null, true, one.TeacherName), cancellation);
        string name = round.Title.Length > Person.PseudonymMaxLength - 11 ? round.Title[..(Person.PseudonymMaxLength - 12)].TrimEnd() + "…" : round.Title;
        CaseReader agreed = CaseReader.Consensus(round.Id, $"Consensus: {name}");
        int made = 0;
        foreach (RoundCase each in view.Cases.Where(one => !one.IsGone))
        {
            if ((await store.ListAsync(new ReadingQuery { CaseIds = [each.CaseId], ReaderIds = [agreed.Id], IsFinished = true }, cancellation)).Count > 0)
            {
                made++;
                continue;
            }

            OwnReading begun = await readings.BeginAsync(each.CaseId, agreed, cancellation: cancellation);
            OpenCase open = await cases.OpenAsync(begun.Id, cancellation);
            if (AnswersOf(view, each.CaseId, open) is not { } answers)
            {
                await readings.GiveUpAsync(begun.Id, agreed.Id, cancellation);
                continue;
            }

            await store.KeepAnswersAsync(begun.Id, open.Record.Version, new AnswerStep { AnswersJson = AnswersJson.Write(answers), Label = "what a round agreed on" }, cancellation);
            await readings.FinishAsync(begun.Id, agreed.Id, cancellation: cancellation);
            made++;
        }

        if (made > 0)
        {
            await ChangeAsync(id, current => current with { Body = current.Body with { MadeReference = current.Body.MadeReference ?? clock.GetUtcNow() } }, cancellation);
        }

        return made;
    }

    /// <summary>Closes the round: no link and no session opens it any more.</summary>
    /// <param name="id">The round.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public Task CloseAsync(Guid id, CancellationToken cancellation = default)
        => ChangeAsync(id, round => round.Lesson.Ended is not null ? round : (round.IsShownAt(clock.GetUtcNow()) ? round : Shown(round, RoundShownBy.Teacher)) with { Lesson = round.Lesson with { Ended = clock.GetUtcNow() } }, cancellation);

    private const string NoSuchRound = "There is no such round.";

    private static RoundReader ReaderOf(Round round, Guid readerId)
        => round.Body.Readers.FirstOrDefault(each => each.Id == readerId) ?? throw new RoundRefusedException("This reader is not of the round.");

    // The answers that stand after the round: agreed where something was recorded, else where two or more answered alike.
    private static Answers? AnswersOf(RoundView view, Guid caseId, OpenCase open)
    {
        Answers answers = open.Answers!;
        ReadingResult[] results = [.. view.Readings.Where(each => each.CaseId == caseId).Select(each => each.Result!)];
        foreach (ChecklistLine line in open.Critique!.Lines)
        {
            RoundConsensus? record = view.StandsOn(caseId, line.Id);
            ReadLine[] own = [.. results.Select(result => result.Lines.FirstOrDefault(each => each.Id == line.Id)).OfType<ReadLine>().Where(each => each.IsReaders)];
            ChecklistState? state = record is not null ? StateOf(record.Agreed) : own.Length >= 2 && own.All(each => each.State == own[0].State) ? own[0].State : null;
            if (state is { } stands)
            {
                // The remark that a line must have names the round; how it looks stays where all who agree said the same.
                string[] looks = [.. own.Where(each => each.State == stands).Select(each => each.Miss).OfType<string>().Distinct()];
                string? miss = looks.Length == 1 ? line.Misses.FirstOrDefault(each => each.Looks == looks[0])?.Id : null;
                answers = answers.With(line.Id, new Answer(stands, stands == ChecklistState.NotMet ? miss : null, CritiqueBuilder.NeedsRemark(line, stands) ? $"as the round “{view.Title}” agreed" : null));
            }
        }

        VerdictKind[] verdicts = [.. results.Select(each => each.Stands).Where(kind => kind != VerdictKind.Undetermined)];
        VerdictKind? verdict = view.StandsOn(caseId, null) is { } recorded ? VerdictOf(recorded.Agreed) : verdicts.Length >= 2 && verdicts.Distinct().Count() == 1 ? verdicts[0] : null;
        if (verdict is { } kind)
        {
            answers = answers with { Verdict = new VerdictAnswer(kind, $"as the round “{view.Title}” agreed") };
        }

        return answers.Lines.Count == 0 && answers.Verdict is null ? null : answers;
    }

    private static ChecklistState? StateOf(string? term) => term switch
    {
        "met" => ChecklistState.Met,
        "not-met" => ChecklistState.NotMet,
        "cannot-tell" => ChecklistState.CannotTell,
        "not-applicable" => ChecklistState.NotApplicable,
        _ => null,
    };

    private static VerdictKind? VerdictOf(string? term) => term switch
    {
        "accept" => VerdictKind.Accept,
        "accept-with-remark" => VerdictKind.AcceptWithRemark,
        "repeat" => VerdictKind.Repeat,
        _ => null,
    };

    private static string Checked(string text)
    {
        string clean = (text ?? string.Empty).Trim();
        return clean.Length is 0 or > TextMaxLength ? throw new RoundRefusedException(string.Create(CultureInfo.InvariantCulture, $"Write 1 to {TextMaxLength} characters.")) : clean;
    }

    private static void Stop(IReadOnlyList<RoundFinding> findings)
    {
        if (findings.Count > 0)
        {
            throw new PublicationStoppedException([.. findings.Select(each => each.Finding)]);
        }
    }

    private static IReadOnlyList<RoundProgress> ProgressOf(Round round, IReadOnlyList<OwnReading> all, bool hidesLinks = false)
        => [.. round.Body.Readers.Select(reader => new RoundProgress(
            reader.Id,
            reader.Name,
            reader.Joined,
            all.Count(each => each.Reader.Id == reader.Id),
            all.Count(each => each.Reader.Id == reader.Id && each.IsFinished),
            !hidesLinks && reader.Link is not null))];

    private static bool IsAllFinished(Round round, IReadOnlyList<OwnReading> all)
        => round.Body.Readers.All(reader => round.Body.CaseIds.All(caseId => round.ReadingOf(reader.Id, caseId) is { } own && all.Any(each => each.Id == own.ReadingId && each.IsFinished)));

    private static async Task<Lesson> KeptAsync(Func<Task<Lesson>> keep)
    {
        try
        {
            return await keep();
        }
        catch (LessonRefusedException error)
        {
            throw new RoundRefusedException(error.Message);
        }
    }

    private Round Shown(Round round, RoundShownBy by) => round with { Body = round.Body with { Shown = new RoundShown(clock.GetUtcNow(), by) } };

    private RoundPost Post(RoundViewer viewer, string text) => new(viewer.AuthorId, viewer.Name, Checked(text), clock.GetUtcNow());

    private async Task CheckAsync(RoundDraft draft, CancellationToken cancellation)
    {
        DateTimeOffset now = clock.GetUtcNow();
        int readers = draft.Naming == RoundNaming.People ? draft.People.DistinctBy(person => person.Id).Count() : draft.Places;
        string? fault = string.IsNullOrWhiteSpace(draft.Title) || draft.Title.Trim().Length > Lesson.TitleMaxLength ? $"Give the round a title of 1 to {Lesson.TitleMaxLength} characters."
            : draft.Words.Length > RoundDraft.WordsMaxLength ? $"The words to the readers have {RoundDraft.WordsMaxLength} characters at most."
            : readers < 2 ? "Invite two readers or more: one alone agrees with everybody."
            : readers > RoundDraft.MostReaders ? $"A round has {RoundDraft.MostReaders} readers at most."
            : draft.ReadUntil <= now ? "The day on which reading ends must lie ahead."
            : draft.OpenUntil < draft.ReadUntil ? "The links must not end before the reading does."
            : null;
        if (fault is not null)
        {
            throw new RoundRefusedException(fault);
        }

        await CheckCasesAsync(draft, cancellation);
    }

    private async Task CheckCasesAsync(RoundDraft draft, CancellationToken cancellation)
    {
        if (draft.CaseIds.Count is 0 or > RoundDraft.MostCases || draft.CaseIds.Distinct().Count() != draft.CaseIds.Count)
        {
            throw new RoundRefusedException($"Choose 1 to {RoundDraft.MostCases} cases, each once.");
        }

        IReadOnlyList<ReadCase> known = await store.CasesAsync(draft.CaseIds, cancellation);
        if (draft.CaseIds.FirstOrDefault(id => known.All(each => each.Id != id)) is var gone && gone != Guid.Empty)
        {
            throw new CaseGoneException(gone);
        }

        if (known.FirstOrDefault(each => each.ProjectionId is null) is { } without)
        {
            throw new RoundRefusedException($"Choose the projection of “{without.Title}” first: every reader answers the same checklist.");
        }
    }

    private async Task<IReadOnlyList<OwnReading>> ReadingsOfAsync(Round round, CancellationToken cancellation)
    {
        if (round.Body.Readings.Count == 0)
        {
            return [];
        }

        HashSet<Guid> own = [.. round.Body.Readings.Select(each => each.ReadingId)];
        IReadOnlyList<OwnReading> all = await store.ListAsync(new ReadingQuery { CaseIds = round.Body.CaseIds, ReaderIds = [.. round.Body.Readings.Select(each => each.ReaderId).Distinct()] }, cancellation);
        return [.. all.Where(each => own.Contains(each.Id))];
    }

    private async Task<Round> SettleAsync(Guid id, CancellationToken cancellation)
    {
        Round round = await GetAsync(id, cancellation);
        IReadOnlyList<OwnReading> all = await ReadingsOfAsync(round, cancellation);
        if (round.IsShownAt(clock.GetUtcNow()) || !IsAllFinished(round, all))
        {
            Changed?.Invoke(id);
            return round;
        }

        return await ChangeAsync(id, current => current.IsShownAt(clock.GetUtcNow()) ? current : Shown(current, RoundShownBy.AllFinished), cancellation);
    }

    private Task<Round> LinkAsync(Guid id, Guid? readerId, string? hash, CancellationToken cancellation)
        => ChangeAsync(id, round =>
        {
            if (!round.IsOpenToGuestsAt(clock.GetUtcNow()))
            {
                throw new RoundRefusedException("This round is over: no link opens it any more.");
            }

            if (readerId is not { } known)
            {
                return round.Body.Naming == RoundNaming.People
                    ? throw new RoundRefusedException("Readers called by the clinic's names have a link each.")
                    : round with { Body = round.Body with { GroupLink = hash } };
            }

            ReaderOf(round, known);
            return round with { Body = round.Body with { Readers = [.. round.Body.Readers.Select(each => each.Id == known ? each with { Link = hash, Session = each.Session + 1 } : each)] } };
        }, cancellation);

    private async Task ThreadAsync(Guid id, Guid threadId, Func<RoundThread, RoundThread> change, CancellationToken cancellation)
        => await TalkAsync(id, round =>
        {
            RoundThread thread = round.Body.Threads.FirstOrDefault(each => each.Id == threadId) ?? throw new RoundRefusedException("There is no such discussion.");
            return round with { Body = round.Body with { Threads = [.. round.Body.Threads.Select(each => each.Id == threadId ? change(thread) : each)] } };
        }, cancellation);

    /// <summary>A change that is possible once the answers are shown and before the round is closed.</summary>
    private Task<Round> TalkAsync(Guid id, Func<Round, Round> change, CancellationToken cancellation)
        => ChangeAsync(id, round => round.StateAt(clock.GetUtcNow()) switch
        {
            RoundState.Open => throw new RoundRefusedException("The discussion begins when the answers are shown."),
            RoundState.Closed => throw new RoundRefusedException("This round is closed."),
            _ => change(round),
        }, cancellation);

    private async Task<Round> ChangeAsync(Guid id, Func<Round, Round> change, CancellationToken cancellation)
    {
        await oneAtATime.WaitAsync(cancellation);
        try
        {
            for (int attempt = 1; ; attempt++)
            {
                Round round = await GetAsync(id, cancellation);
                Round changed = change(round);
                if (ReferenceEquals(changed, round))
                {
                    return round;
                }

                try
                {
                    round = Round.Of(await KeptAsync(() => lessons.KeepAsync(changed.ToLesson(), cancellation)));
                }
                catch (LessonChangedException) when (attempt < MostAttempts)
                {
                    continue;
                }

                Changed?.Invoke(id);
                return round;
            }
        }
        finally
        {
            oneAtATime.Release();
        }
    }
}
