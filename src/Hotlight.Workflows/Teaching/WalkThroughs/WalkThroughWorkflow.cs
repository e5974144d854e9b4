using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Privacy.Publishing;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Workflows.Cases;

namespace Hotlight.Workflows.Teaching.WalkThroughs;

/// <summary>The walk-through of a case as it is worked on.</summary>
/// <param name="Case">The case.</param>
/// <param name="Lesson">What is kept; null before the first change.</param>
/// <param name="Draft">The walk-through with what can be taken back.</param>
public sealed record OpenWalkThrough(OpenCase Case, Lesson? Lesson, WalkThroughDraft Draft);

/// <summary>Makes, changes, records and keeps the walk-through of a case. Every call that returned is kept.</summary>
public sealed class WalkThroughWorkflow
{
    private readonly CaseWorkflow cases;
    private readonly ILessonStore lessons;
    private readonly IFileStore files;
    private readonly TimeProvider clock;
    private readonly CasePublisher publisher;

    /// <summary>Creates the workflow.</summary>
    /// <param name="cases">The cases.</param>
    /// <param name="lessons">Where walk-throughs are kept.</param>
    /// <param name="files">Where voices are kept.</param>
    /// <param name="takes">Recordings that are being made.</param>
    /// <param name="publisher">Makes cases ready to be given away.</param>
    /// <param name="clock">Tells the time.</param>
    public WalkThroughWorkflow(CaseWorkflow cases, ILessonStore lessons, IFileStore files, TakeShelf takes, CasePublisher publisher, TimeProvider clock)
    {
        this.cases = cases;
        this.lessons = lessons;
        this.files = files;
        this.clock = clock;
        this.publisher = publisher;
        Takes = takes;
    }

    /// <summary>Recordings that are being made or broke off.</summary>
    public TakeShelf Takes { get; }

    /// <summary>The walk-through of a case: the kept one, else one made of its critique as it stands.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="LessonRefusedException">The case has no projection yet, so there is no critique.</exception>
    /// <exception cref="UnreadableImageException">The kept file cannot be read by this version.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    /// <exception cref="UnreadableWalkThroughException">What is kept is in another version's form.</exception>
    public async Task<OpenWalkThrough> OpenAsync(Guid caseId, CancellationToken cancellation = default)
    {
        OpenCase open = await cases.OpenAsync(caseId, cancellation);
        IReadOnlyList<Lesson> kept = await lessons.ListAsync(new LessonQuery { Kind = LessonKind.WalkThrough, CaseId = caseId }, cancellation);
        return kept.Count > 0
            ? new OpenWalkThrough(open, kept[0], WalkThroughDraft.Read(kept[0].BodyJson))
            : new OpenWalkThrough(open, null, WalkThroughDraft.Of(Made(open, await cases.RadiographAsync(open.Record))));
    }

    /// <summary>Makes a walk-through of a case's critique as it stands.</summary>
    /// <param name="open">The case.</param>
    /// <param name="radiograph">Its radiograph; borrowed.</param>
    /// <exception cref="LessonRefusedException">The case has no projection yet, so there is no critique.</exception>
    public static WalkThrough Made(OpenCase open, Radiograph radiograph)
    {
        ArgumentNullException.ThrowIfNull(open);
        if (open is not { Critique: { } critique, Projection: { } projection })
        {
            throw new LessonRefusedException("Choose a projection for this case first: without a critique there is nothing to walk through.");
        }

        string? purpose = projection.Purposes.FirstOrDefault(each => each.Id == critique.Context?.PurposeId)?.Name;
        return WalkThroughMaker.Make(critique, radiograph, open.Record.IsInvented, purpose, WalkPhantoms.Of(open, projection));
    }

    /// <summary>Keeps a change.</summary>
    /// <param name="open">The walk-through as the reader sees it.</param>
    /// <param name="changed">As it is to be.</param>
    /// <param name="ownerId">Who changes it; null: nobody in particular.</param>
    /// <param name="ownerPseudonym">What the person is called; empty without one.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="LessonChangedException">It moved on meanwhile.</exception>
    /// <exception cref="LessonRefusedException">It is gone.</exception>
    public async Task<OpenWalkThrough> KeepAsync(OpenWalkThrough open, WalkThroughDraft changed, Guid? ownerId = null, string ownerPseudonym = "", CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(changed);
        if (ReferenceEquals(changed, open.Draft) && open.Lesson is not null)
        {
            return open;
        }

        DateTimeOffset now = clock.GetUtcNow();
        Lesson kept = open.Lesson is { } lesson
            ? await lessons.KeepAsync(lesson with { Title = changed.Now.Title, BodyJson = changed.Write() }, cancellation)
            : await lessons.AddAsync(
                new Lesson
                {
                    Id = Guid.CreateVersion7(now),
                    Kind = LessonKind.WalkThrough,
                    CaseId = open.Case.Record.Id,
                    OwnerId = ownerId,
                    OwnerPseudonym = ownerPseudonym,
                    IsInvented = open.Case.Record.IsInvented,
                    Title = changed.Now.Title,
                    Key = $"case:{open.Case.Record.Id:N}",
                    BodyJson = changed.Write(),
                    Begun = now,
                    Changed = now,
                },
                cancellation);

        // Voices that no state can reach any more.
        foreach (string hash in open.Draft.Voices.Except(changed.Voices, StringComparer.Ordinal))
        {
            files.Remove(hash);
        }

        return open with { Lesson = kept, Draft = changed };
    }

    /// <summary>Every walk-through that is kept.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public Task<IReadOnlyList<Lesson>> AllAsync(CancellationToken cancellation = default) => lessons.ListAsync(new LessonQuery { Kind = LessonKind.WalkThrough }, cancellation);

    /// <summary>Removes the voices and the unfinished recordings of walk-throughs that went with their case; a voice that another walk-through still has stays.</summary>
    /// <param name="before">The walk-throughs before their cases were removed for good.</param>
    /// <param name="cancellation">Stops before anything is removed.</param>
    public async Task ForgetGoneAsync(IReadOnlyList<Lesson> before, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(before);
        IReadOnlyList<Lesson> left = await AllAsync(cancellation);
        Lesson[] gone = [.. before.Where(each => left.All(other => other.Id != each.Id))];
        if (gone.Length == 0)
        {
            return;
        }

        HashSet<string> held = [.. left.SelectMany(VoicesOf)];
        foreach (string hash in gone.SelectMany(VoicesOf).Distinct().Where(hash => !held.Contains(hash)))
        {
            files.Remove(hash);
        }

        foreach (Guid caseId in gone.Select(each => each.CaseId).OfType<Guid>())
        {
            foreach (BrokenTake take in Takes.Of(caseId))
            {
                Takes.Remove(caseId, take.Id);
            }
        }
    }

    // What a later version kept is not read here: its voices stay.
    private static IReadOnlySet<string> VoicesOf(Lesson lesson)
    {
        try
        {
            return WalkThroughDraft.Read(lesson.BodyJson).Voices;
        }
        catch (UnreadableWalkThroughException)
        {
            return new HashSet<string>();
        }
    }

    /// <summary>Throws the kept walk-through away; the next opening makes one of the critique as it stands then.</summary>
    /// <param name="open">The walk-through.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public async Task<OpenWalkThrough> ThrowAwayAsync(OpenWalkThrough open, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        if (open.Lesson is { } lesson)
        {
            await lessons.RemoveAsync(lesson.Id, cancellation);
            foreach (string hash in open.Draft.Voices)
            {
                files.Remove(hash);
            }
        }

        return await OpenAsync(open.Case.Record.Id, cancellation);
    }

    /// <summary>Ends a take and puts it in its step's place, or in a new step's.</summary>
    /// <param name="open">The walk-through as the reader sees it.</param>
    /// <param name="take">The take.</param>
    /// <param name="ownerId">Who records; null: nobody in particular.</param>
    /// <param name="ownerPseudonym">What the person is called; empty without one.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="LessonRefusedException">There is no such take, nothing was recorded, or its step was cut meanwhile.</exception>
    /// <exception cref="LessonChangedException">The walk-through moved on meanwhile; the take is kept.</exception>
    public async Task<OpenWalkThrough> TakeAsync(OpenWalkThrough open, Guid take, Guid? ownerId = null, string ownerPseudonym = "", CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        FinishedTake finished = await Takes.ReadAsync(open.Case.Record.Id, take, cancellation);
        if (open.Draft.Now.Steps.All(step => step.Id != finished.StepId))
        {
            throw new LessonRefusedException("The step that this recording belongs to was cut; take the cut back, and keep the recording then.");
        }

        WalkVoice? voice = null;
        if (finished.Voice.Length > 0)
        {
            KeptFile kept = await files.KeepAsync(new MemoryStream(finished.Voice, writable: false), TakeShelf.MostBytes, cancellation);
            voice = new WalkVoice(kept.ContentHash, finished.MediaType, kept.Bytes);
        }

        WalkRecording recording = finished.Tracks.ToRecording(voice);
        OpenWalkThrough with = await KeepAsync(open, open.Draft.Record(finished.StepId, recording), ownerId, ownerPseudonym, cancellation);
        Takes.Remove(open.Case.Record.Id, take);
        return with;
    }

    /// <summary>Looks a walk-through over before it leaves the bench.</summary>
    /// <param name="open">The walk-through.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="PublicationStoppedException">Something that tells who it is stands in it.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    /// <exception cref="UnreadableImageException">The kept file cannot be read by this version.</exception>
    public async Task<PublishableWalkThrough> PublishableAsync(OpenWalkThrough open, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        PublishableCase prepared = await publisher.PrepareAsync(open.Case, cancellation);
        return WalkThroughExport.OfCase(open.Draft.Now, Made(open.Case, await cases.RadiographAsync(open.Case.Record)), prepared);
    }

    /// <summary>Keeps what a person decided of text in the pixels of the case.</summary>
    /// <param name="open">The walk-through.</param>
    /// <param name="covered">Places that are to be blacked out beside those before.</param>
    /// <param name="lookedOver">Whether the whole picture was looked over.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    public async Task DecideAsync(OpenWalkThrough open, IReadOnlyList<PixelBox> covered, bool lookedOver, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        PixelReview before = await publisher.ReviewAsync(open.Case.Record, cancellation);
        await publisher.KeepReviewAsync(open.Case.Record, before with { Covered = [.. before.Covered.Union(covered)], LookedOver = before.LookedOver || lookedOver }, cancellation);
    }

    /// <summary>The bytes of every voice of a walk-through as it stands, by their hash.</summary>
    /// <param name="open">The walk-through.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="FileNotKeptException">A file is missing.</exception>
    public async Task<IReadOnlyDictionary<string, byte[]>> VoicesAsync(OpenWalkThrough open, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        var voices = new Dictionary<string, byte[]>(StringComparer.Ordinal);
        foreach (string hash in open.Draft.Now.Steps.Select(step => step.Recording?.Voice?.Sha256).OfType<string>().Distinct(StringComparer.Ordinal))
        {
            voices.Add(hash, await files.ReadAsync(hash, cancellation));
        }

        return voices;
    }

    /// <summary>The bytes of a voice of a walk-through.</summary>
    /// <param name="open">The walk-through.</param>
    /// <param name="hash">The voice.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <returns>Null where the walk-through has no such voice.</returns>
    /// <exception cref="FileNotKeptException">The file is missing.</exception>
    public async Task<byte[]?> VoiceAsync(OpenWalkThrough open, string hash, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        return open.Draft.Voices.Contains(hash) ? await files.ReadAsync(hash, cancellation) : null;
    }
}
