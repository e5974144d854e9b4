using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;

namespace Hotlight.Workflows.Readings;

/// <summary>What readers do with readings of their own: begin, finish, look at each other's afterwards, discuss. It gives nobody's answers to a reader to whom the case is blind.</summary>
public sealed class ReadingWorkflow
{
    private readonly IReadingStore readings;
    private readonly CaseWorkflow cases;
    private readonly TimeProvider clock;
    private readonly IReadingHold? hold;

    /// <summary>Creates the workflow.</summary>
    /// <param name="readings">Where readings are kept.</param>
    /// <param name="cases">The cases, over a store in which readings can be opened: <see cref="ReadingRecords"/>.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="news">Tells what another server did with readings; null: nobody does.</param>
    /// <param name="hold">Says which cases are held back from everybody; null: none.</param>
    public ReadingWorkflow(IReadingStore readings, CaseWorkflow cases, TimeProvider clock, CaseNews? news = null, IReadingHold? hold = null)
    {
        ArgumentNullException.ThrowIfNull(readings);
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(clock);
        this.readings = readings;
        this.cases = cases;
        this.clock = clock;
        this.hold = hold;
        if (news is not null)
        {
            news.Beside += (topic, caseId) =>
            {
                if (topic == StoreTopic.Readings)
                {
                    Listeners.Tell(Changed, listener => listener(caseId));
                }
            };
        }
    }

    /// <summary>Raised when a reading began or ended, a call was made or ended, or a remark changed, here or by another server; names the case. On the thread that did it or heard of it.</summary>
    public event Action<Guid>? Changed;

    /// <summary>A reading, whoever's it is; null when none has this identifier. For asking whose it is: a page shows its answers only to its reader.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public Task<OwnReading?> FindAsync(Guid id, CancellationToken cancellation = default) => readings.FindAsync(id, cancellation);

    /// <summary>Begins a reading of a case, or gives back the one that this reader has under way.</summary>
    /// <param name="caseId">The case, with a projection chosen.</param>
    /// <param name="reader">Who reads.</param>
    /// <param name="at">When; null: now.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="ReadingRefusedException">The case has no projection yet.</exception>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="UnreadableImageException">The kept file cannot be read by this version.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    public async Task<OwnReading> BeginAsync(Guid caseId, CaseReader reader, DateTimeOffset? at = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(reader);
        IReadOnlyList<OwnReading> earlier = await readings.ListAsync(new ReadingQuery { CaseIds = [caseId], ReaderIds = [reader.Id] }, cancellation);
        if (earlier.FirstOrDefault(each => !each.IsFinished) is { } underWay)
        {
            return underWay;
        }

        // Measured with the version and settings of now, so that every reader judges the same figures.
        OpenCase open = await cases.OpenAsync(caseId, cancellation);
        if (open.Record.Id != caseId || open.Projection is null)
        {
            throw new ReadingRefusedException("Choose the projection of the case first: every reader answers the same checklist.");
        }

        ReadingCondition condition = earlier.Count > 0 ? ReadingCondition.Again
            : (await readings.CallsAsync(cancellation)).Any(call => call.CaseId == caseId) || (await HeldAsync(cancellation)).ContainsKey(caseId) ? ReadingCondition.Blind
            : ReadingCondition.Open;
        DateTimeOffset now = at ?? clock.GetUtcNow();
        OwnReading begun = await readings.AddAsync(
            new OwnReading
            {
                Id = Guid.NewGuid(),
                CaseId = caseId,
                CaseTitle = open.Record.Title,
                ProjectionId = open.Projection.Id,
                Reader = reader,
                Number = earlier.Count == 0 ? 1 : earlier.Max(each => each.Number) + 1,
                Condition = condition,
                Begun = now,
                Changed = now,
            },
            cancellation);
        Changed?.Invoke(caseId);
        return begun;
    }

    /// <summary>Finishes a reading: answers, judged checklist and verdict are kept as they stand, for good.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="readerId">Who finishes it: only its reader may.</param>
    /// <param name="at">When; null: now.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ReadingRefusedException">It is somebody else's, finished already, or nothing was answered yet.</exception>
    /// <exception cref="CaseGoneException">Reading or case are not kept.</exception>
    /// <exception cref="CaseChangedException">The reading moved on in another window.</exception>
    public async Task<OwnReading> FinishAsync(Guid id, Guid readerId, DateTimeOffset? at = null, CancellationToken cancellation = default)
    {
        OwnReading reading = await readings.FindAsync(id, cancellation) ?? throw new CaseGoneException(id);
        if (reading.Reader.Id != readerId)
        {
            throw new ReadingRefusedException($"This is {reading.Reader.Pseudonym}'s own reading: only {reading.Reader.Pseudonym} finishes it.");
        }

        if (reading.IsFinished)
        {
            throw new ReadingRefusedException("This reading is finished already.");
        }

        // The case first: it is measured again where version or settings moved on, and the reading is judged by that.
        await cases.OpenAsync(reading.CaseId, cancellation);
        OpenCase open = await cases.OpenAsync(id, cancellation);
        if (open is not { Answers: { } answers, Critique: not null })
        {
            throw new ReadingRefusedException("The case has no projection any more, so there is no checklist to finish.");
        }

        if (answers.Lines.Count == 0 && answers.Verdict is null)
        {
            throw new ReadingRefusedException("Nothing is answered yet: answer the lines that need a person first.");
        }

        OwnReading finished = await readings.FinishAsync(id, open.Record.Version, open.Record.Title, ReadingResult.Of(open), at, cancellation);
        Changed?.Invoke(finished.CaseId);
        return finished;
    }

    /// <summary>Gives up a reading that is under way: its answers are gone.</summary>
    /// <param name="id">The reading.</param>
    /// <param name="readerId">Who gives it up: only its reader may.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ReadingRefusedException">It is somebody else's or finished.</exception>
    public async Task GiveUpAsync(Guid id, Guid readerId, CancellationToken cancellation = default)
    {
        if (await readings.FindAsync(id, cancellation) is not { } reading)
        {
            return;
        }

        if (reading.Reader.Id != readerId || !await readings.RemoveAsync(id, cancellation))
        {
            throw new ReadingRefusedException("Only a reading under way can be given up, and only by its reader.");
        }

        Changed?.Invoke(reading.CaseId);
    }

    /// <summary>The cases whose answers must not be shown to a reader now: those read blind of which they have finished no reading, those of which their first reading is under way, and those that a round holds back from everybody.</summary>
    /// <param name="readerId">The reader; null: nobody was chosen, who has finished none.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlySet<Guid>> BlindToAsync(Guid? readerId, CancellationToken cancellation = default)
    {
        HashSet<Guid> blind = [.. (await readings.CallsAsync(cancellation)).Select(call => call.CaseId)];
        if (readerId is { } known)
        {
            IReadOnlyList<OwnReading> own = await readings.ListAsync(new ReadingQuery { ReaderIds = [known] }, cancellation);
            blind.UnionWith(own.Where(each => !each.IsFinished && each.Condition != ReadingCondition.Again).Select(each => each.CaseId));
            blind.ExceptWith(own.Where(each => each.IsFinished).Select(each => each.CaseId));
        }

        blind.UnionWith((await HeldAsync(cancellation)).Keys);
        return blind;
    }

    /// <summary>What a reader may know of the readings of a case.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="readerId">Who looks; null: nobody was chosen.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<ReadingsOfCase> OfCaseAsync(Guid caseId, Guid? readerId, CancellationToken cancellation = default)
    {
        IReadOnlyList<OwnReading> all = await readings.ListAsync(new ReadingQuery { CaseIds = [caseId] }, cancellation);
        BlindCall? call = (await readings.CallsAsync(cancellation)).FirstOrDefault(each => each.CaseId == caseId);
        OwnReading? own = all.LastOrDefault(each => each.Reader.Id == readerId && !each.IsFinished);
        bool hasFinished = all.Any(each => each.Reader.Id == readerId && each.IsFinished);
        ReadingHold? held = (await HeldAsync(cancellation)).GetValueOrDefault(caseId);
        bool isBlind = held is not null || (!hasFinished && (call is not null || own is not null));
        return new ReadingsOfCase
        {
            CaseId = caseId,
            IsBlind = isBlind,
            Call = call,
            UnderWay = own,
            HasFinished = hasFinished,
            Hold = held,
            States = [.. all.Where(each => held is null || each.Reader.Id == readerId).Select(each => new ReadingStateOf(each.Reader, each.Number, each.IsFinished))],
            Finished = isBlind ? [] : [.. all.Where(each => each.IsFinished)],
            Remarks = isBlind ? [] : await readings.RemarksAsync(caseId, cancellation),
        };
    }

    /// <summary>Whether a case is called for blind reading or has any reading under way: only then it matters who looks.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<bool> MayBeBlindAsync(Guid caseId, CancellationToken cancellation = default)
        => (await readings.CallsAsync(cancellation)).Any(each => each.CaseId == caseId)
            || (await HeldAsync(cancellation)).ContainsKey(caseId)
            || (await readings.ListAsync(new ReadingQuery { CaseIds = [caseId], IsFinished = false }, cancellation)).Count > 0;

    /// <summary>Whether any case is called for blind reading or has a reading under way.</summary>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<bool> AnyMayBeBlindAsync(CancellationToken cancellation = default)
        => (await readings.CallsAsync(cancellation)).Count > 0 || (await HeldAsync(cancellation)).Count > 0 || (await readings.ListAsync(new ReadingQuery { IsFinished = false }, cancellation)).Count > 0;

    /// <summary>Calls a case for blind reading.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="by">Who calls; null: not known.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="CaseGoneException">The case is not kept.</exception>
    /// <exception cref="ReadingRefusedException">It has no projection yet.</exception>
    public async Task CallAsync(Guid caseId, Guid? by, CancellationToken cancellation = default)
    {
        ReadCase read = (await readings.CasesAsync([caseId], cancellation)).FirstOrDefault() ?? throw new CaseGoneException(caseId);
        if (read.ProjectionId is null)
        {
            throw new ReadingRefusedException("Choose the projection of the case first: every reader answers the same checklist.");
        }

        await readings.CallAsync(new BlindCall(caseId, clock.GetUtcNow(), by), cancellation);
        Changed?.Invoke(caseId);
    }

    /// <summary>Ends the blind reading of a case: whoever has no reading of it under way sees everything from here on.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public async Task EndCallAsync(Guid caseId, CancellationToken cancellation = default)
    {
        if (await readings.EndCallAsync(caseId, cancellation))
        {
            Changed?.Invoke(caseId);
        }
    }

    /// <summary>Adds a remark to the discussion of a case.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="lineId">The line it is about; null: the case as a whole.</param>
    /// <param name="author">Who writes.</param>
    /// <param name="text">What it says.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="ReadingRefusedException">It is empty or too long, or the case is blind to the author.</exception>
    public async Task<CaseRemark> RemarkAsync(Guid caseId, string? lineId, CaseReader author, string text, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(author);
        string clean = Checked(text);
        if ((await BlindToAsync(author.Id, cancellation)).Contains(caseId))
        {
            throw new ReadingRefusedException("Finish your own reading first: the discussion begins after it.");
        }

        var remark = new CaseRemark { Id = Guid.NewGuid(), CaseId = caseId, LineId = lineId, Author = author, Text = clean, Written = clock.GetUtcNow() };
        await readings.AddRemarkAsync(remark, cancellation);
        Changed?.Invoke(caseId);
        return remark;
    }

    /// <summary>Changes the text of one's own remark, or takes it away.</summary>
    /// <param name="remark">The remark as its author saw it.</param>
    /// <param name="authorId">Who changes it.</param>
    /// <param name="text">The text; null takes it away.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ReadingRefusedException">It is somebody else's, was changed meanwhile, or the text is empty or too long.</exception>
    public async Task<CaseRemark> EditRemarkAsync(CaseRemark remark, Guid authorId, string? text, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(remark);
        CaseRemark edited = await readings.EditRemarkAsync(remark.Id, authorId, remark.Version, text is null ? string.Empty : Checked(text), cancellation);
        Changed?.Invoke(remark.CaseId);
        return edited;
    }

    private async Task<IReadOnlyDictionary<Guid, ReadingHold>> HeldAsync(CancellationToken cancellation)
        => hold is null ? new Dictionary<Guid, ReadingHold>() : await hold.HeldAsync(cancellation);

    private static string Checked(string text)
    {
        string clean = (text ?? string.Empty).Trim();
        return clean.Length is 0 or > CaseRemark.TextMaxLength
            ? throw new ReadingRefusedException($"A remark has 1 to {CaseRemark.TextMaxLength} characters.")
            : clean;
    }
}

/// <summary>That somebody read or reads a case: no answers.</summary>
/// <param name="Reader">Who.</param>
/// <param name="Number">Which of this reader's readings of the case.</param>
/// <param name="IsFinished">Whether it is finished.</param>
public sealed record ReadingStateOf(CaseReader Reader, int Number, bool IsFinished);

/// <summary>What a reader may know of the readings of a case: while it is blind to them, who reads, and nothing of what anybody answered.</summary>
public sealed record ReadingsOfCase
{
    /// <summary>The case.</summary>
    public required Guid CaseId { get; init; }

    /// <summary>Whether nobody's answers may be shown to the reader now.</summary>
    public required bool IsBlind { get; init; }

    /// <summary>The call for blind reading; null: none.</summary>
    public BlindCall? Call { get; init; }

    /// <summary>The round that holds its answers back from everybody; null: none.</summary>
    public ReadingHold? Hold { get; init; }

    /// <summary>The reader's own reading under way; null: none.</summary>
    public OwnReading? UnderWay { get; init; }

    /// <summary>Whether the reader has finished a reading of the case.</summary>
    public required bool HasFinished { get; init; }

    /// <summary>Who read and who reads; while a round holds the case back, only whoever looks.</summary>
    public required IReadOnlyList<ReadingStateOf> States { get; init; }

    /// <summary>The finished readings; none while the case is blind to the reader.</summary>
    public required IReadOnlyList<OwnReading> Finished { get; init; }

    /// <summary>The discussion; none while the case is blind to the reader.</summary>
    public required IReadOnlyList<CaseRemark> Remarks { get; init; }
}
