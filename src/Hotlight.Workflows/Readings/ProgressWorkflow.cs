using System.Collections.Concurrent;
using System.Globalization;
using System.Text;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Practice;

namespace Hotlight.Workflows.Readings;

/// <summary>A learner's progress against references, the school's list, and sign-offs by name.</summary>
public sealed class ProgressWorkflow
{
    private readonly IReadingStore store;
    private readonly ReadingWorkflow readings;
    private readonly CaseWorkflow cases;
    private readonly ClinicWorkflow clinic;
    private readonly TimeProvider clock;
    private readonly ILessonStore? lessons;

    // A case's settled answers are judged once a version, not at every look at a learner's page.
    private readonly ConcurrentDictionary<Guid, (int Version, string Settings, ReadingResult? Result)> settled = new();

    /// <summary>Creates the workflow.</summary>
    /// <param name="store">Where readings are kept.</param>
    /// <param name="readings">Says what is blind to whom.</param>
    /// <param name="cases">The cases.</param>
    /// <param name="clinic">The school's list.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="news">Tells of sign-offs that another server made; null: nobody does.</param>
    /// <param name="lessons">Where sessions of practice are kept; null: none count.</param>
    public ProgressWorkflow(IReadingStore store, ReadingWorkflow readings, CaseWorkflow cases, ClinicWorkflow clinic, TimeProvider clock, CaseNews? news = null, ILessonStore? lessons = null)
    {
        ArgumentNullException.ThrowIfNull(store);
        ArgumentNullException.ThrowIfNull(readings);
        ArgumentNullException.ThrowIfNull(cases);
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(clock);
        this.store = store;
        this.readings = readings;
        this.cases = cases;
        this.clinic = clinic;
        this.clock = clock;
        if (news is not null)
        {
            news.Beside += (topic, learnerId) =>
            {
                if (topic == StoreTopic.SignOffs)
                {
                    Listeners.Tell(Changed, listener => listener(learnerId));
                }
            };
        }

        this.lessons = lessons;
    }

    /// <summary>Raised when a sign-off was made or taken back, here or by another server; names the learner.</summary>
    public event Action<Guid>? Changed;

    /// <summary>Whose progress somebody may look at: a supervisor or administrator everybody's, anyone else their own; invented readers stand open to all.</summary>
    /// <remarks>Not a safeguard: nobody signs in, so anybody can choose another name.</remarks>
    /// <param name="viewer">Who looks; null: nobody was chosen.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<CaseReader>> LearnersAsync(Person? viewer, CancellationToken cancellation = default)
    {
        IEnumerable<CaseReader> read = (await store.ListAsync(new ReadingQuery { IsFinished = true }, cancellation)).Where(each => !each.Reader.IsConsensus).GroupBy(each => each.Reader.Id).Select(group => group.MaxBy(each => each.Finished)!.Reader);
        IEnumerable<CaseReader> learners = clinic.Current.Settings.People.Where(person => person.Role == PersonRole.Learner && person.IsActive).Select(CaseReader.Of);

        // The newest pseudonym and role first: those of the clinic's list.
        IEnumerable<CaseReader> people = clinic.Current.Settings.People.Select(CaseReader.Of);
        return
        [
            .. learners.Concat(read.Select(each => people.FirstOrDefault(person => person.Id == each.Id) ?? each)).DistinctBy(each => each.Id)
                .Where(each => MayLook(viewer, each)).OrderBy(each => each.IsInvented).ThenBy(each => each.Pseudonym, StringComparer.OrdinalIgnoreCase),
        ];
    }

    /// <summary>A learner's progress.</summary>
    /// <param name="learnerId">The learner.</param>
    /// <param name="viewer">Who looks; null: nobody was chosen.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <exception cref="ReadingRefusedException">It is not for whoever looks, or no such learner is known.</exception>
    public async Task<LearnerProgress> OfAsync(Guid learnerId, Person? viewer, CancellationToken cancellation = default)
    {
        CaseReader learner = (await LearnersAsync(viewer, cancellation)).FirstOrDefault(each => each.Id == learnerId)
            ?? throw new ReadingRefusedException("A learner's progress is shown to the learner and to supervisors; choose in the head of the page who reads here.");
        OwnReading[] own = [.. (await store.ListAsync(new ReadingQuery { ReaderIds = [learnerId], IsFinished = true }, cancellation)).GroupBy(each => each.CaseId).Select(group => group.MinBy(each => each.Number)!)];
        IReadOnlySet<Guid> blind = await readings.BlindToAsync(viewer?.Id, cancellation);
        OwnReading[] seen = [.. own.Where(each => learnerId == viewer?.Id || !blind.Contains(each.CaseId))];
        Dictionary<Guid, ReadCase> known = (await store.CasesAsync([.. seen.Select(each => each.CaseId)], cancellation)).ToDictionary(each => each.Id);
        IReadOnlyList<OwnReading> others = await store.ListAsync(new ReadingQuery { CaseIds = [.. seen.Select(each => each.CaseId)], IsFinished = true }, cancellation);
        var held = new List<ProgressReading>();
        foreach (OwnReading reading in seen)
        {
            if (Read(reading) is { } result)
            {
                held.Add(ProgressReading.Of(reading, result, await ReferenceAsync(reading, others, known.GetValueOrDefault(reading.CaseId), cancellation)));
            }
        }

        IReadOnlyList<CompetencyRequirement> list = clinic.Current.Settings.Requirements;
        IReadOnlyList<SignOff> signOffs = await store.SignOffsAsync(learnerId, cancellation);
        return LearnerProgress.Of(
            learner,
            held,
            list.Count == 0 && learner.IsInvented ? InventedReadings.Requirements : list,
            id => cases.Projections.FirstOrDefault(each => each.Id == id)?.Region,
            signOffs,
            own.Length - held.Count,
            lessons is null ? [] : PracticedExercise.Of(await lessons.ListAsync(new LessonQuery { Kind = LessonKind.Practice, OwnerId = learnerId }, cancellation)));
    }

    /// <summary>What a case's exercise is held against: a supervisor's finished reading, else its settled answers.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="learnerId">Who practises, whose own reading is no reference; null: nobody in particular.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <returns>Null where there is none.</returns>
    public async Task<Reference?> ReferenceOfAsync(Guid caseId, Guid? learnerId, CancellationToken cancellation = default)
    {
        ReadCase? read = (await store.CasesAsync([caseId], cancellation)).FirstOrDefault();
        return read?.ProjectionId is not { } projectionId
            ? null
            : await ReferenceAsync(caseId, projectionId, learnerId, await store.ListAsync(new ReadingQuery { CaseIds = [caseId], IsFinished = true }, cancellation), read, cancellation);
    }

    /// <summary>The cases that somebody may not be told of now: called for blind reading, held back by a round, or with an own reading under way.</summary>
    /// <param name="learnerId">Who practises; null: nobody in particular.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public Task<IReadOnlySet<Guid>> KeptBackAsync(Guid? learnerId, CancellationToken cancellation = default) => readings.BlindToAsync(learnerId, cancellation);

    /// <summary>Cases with a reference that somebody may practise on: invented or de-identified, not blind to who practises, by title.</summary>
    /// <param name="learnerId">Who practises; null: nobody in particular.</param>
    /// <param name="most">Most to give.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<ReadCase>> ReferencedCasesAsync(Guid? learnerId, int most, CancellationToken cancellation = default)
    {
        IReadOnlySet<Guid> blind = await KeptBackAsync(learnerId, cancellation);
        Guid[] read = [.. (await store.ListAsync(new ReadingQuery { IsFinished = true }, cancellation)).Where(each => each.Reader.Role == PersonRole.Supervisor && each.Reader.Id != learnerId && each.Condition != ReadingCondition.Again).Select(each => each.CaseId).Distinct()];
        IReadOnlyList<ReadCase> known = await store.CasesAsync(read, cancellation);
        var usable = new List<ReadCase>();
        foreach (ReadCase each in known.Where(each => each.ProjectionId is not null && !blind.Contains(each.Id)).OrderBy(each => each.Title, StringComparer.OrdinalIgnoreCase).Take(most))
        {
            try
            {
                if (each.IsInvented || (await cases.GetAsync(each.Id, cancellation)).IsDeidentified)
                {
                    usable.Add(each);
                }
            }
            catch (CaseGoneException)
            {
                // Deleted a moment ago.
            }
        }

        return usable;
    }

    /// <summary>Signs a requirement off: what stood is kept with it.</summary>
    /// <param name="progress">The learner's progress as the supervisor saw it.</param>
    /// <param name="requirementId">The requirement.</param>
    /// <param name="supervisor">Who signs.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="ReadingRefusedException">It is not reached, signed already, or the signer is no supervisor or the learner himself.</exception>
    public async Task<SignOff> SignAsync(LearnerProgress progress, Guid requirementId, Person supervisor, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(progress);
        ArgumentNullException.ThrowIfNull(supervisor);
        if (supervisor.Role != PersonRole.Supervisor || supervisor.Id == progress.Learner.Id)
        {
            throw new ReadingRefusedException("A supervisor signs, and nobody signs for himself.");
        }

        // What stands now is signed, not what a page showed a while ago.
        LearnerProgress now = await OfAsync(progress.Learner.Id, supervisor, cancellation);
        RequirementProgress reached = now.Requirements.FirstOrDefault(each => each.Requirement.Id == requirementId) ?? throw new ReadingRefusedException("This requirement is no longer on the school's list.");
        if (!reached.IsReached || reached.SignOff is not null)
        {
            throw new ReadingRefusedException(reached.SignOff is not null ? "This requirement is signed off already." : $"“{reached.Requirement.Title}” is not reached: {reached.Missing} are missing.");
        }

        var signed = new SignOff
        {
            Id = Guid.NewGuid(),
            Learner = now.Learner,
            Supervisor = CaseReader.Of(supervisor),
            RequirementId = requirementId,
            Requirement = Words(reached.Requirement),
            Stood = Stood(now, reached),
            Signed = clock.GetUtcNow(),
        };
        await store.AddSignOffAsync(signed, cancellation);
        Changed?.Invoke(now.Learner.Id);
        return signed;
    }

    /// <summary>Takes a sign-off back; it stays, with the reason.</summary>
    /// <param name="signOff">The sign-off.</param>
    /// <param name="supervisor">Who takes it back.</param>
    /// <param name="reason">Why.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ReadingRefusedException">There is no reason, it was taken back already, or no supervisor asks.</exception>
    public async Task WithdrawAsync(SignOff signOff, Person supervisor, string reason, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(signOff);
        ArgumentNullException.ThrowIfNull(supervisor);
        string clean = (reason ?? string.Empty).Trim();
        if (supervisor.Role != PersonRole.Supervisor || clean.Length is 0 or > SignOff.ReasonMaxLength)
        {
            throw new ReadingRefusedException($"A supervisor takes a sign-off back, with a reason of 1 to {SignOff.ReasonMaxLength} characters.");
        }

        await store.WithdrawAsync(signOff.Id, supervisor.Pseudonym, clean, cancellation);
        Changed?.Invoke(signOff.Learner.Id);
    }

    /// <summary>A requirement in words.</summary>
    /// <param name="requirement">The requirement.</param>
    public string Words(CompetencyRequirement requirement)
    {
        ArgumentNullException.ThrowIfNull(requirement);
        string of = requirement.ProjectionId is { } id ? cases.NameOf(id)! : requirement.Region is { } region ? $"any projection of the region {region}" : "any projection";
        return string.Create(CultureInfo.InvariantCulture, $"{requirement.Title}: {requirement.Count} {Counted(requirement.Counts)} of {of}, each with at least {requirement.LeastAgreementPercent:0.#} % of {(requirement.Counts == RequirementSource.Practice ? "the score" : "lines as the reference")}{(requirement.VerdictMustAgree ? " and the same verdict" : string.Empty)}");
    }

    /// <summary>Everything of a learner's progress as a table of comma-separated values, one row a reading.</summary>
    /// <param name="progress">The progress.</param>
    public static string Table(LearnerProgress progress)
    {
        ArgumentNullException.ThrowIfNull(progress);
        var text = new StringBuilder();
        AgreementText.Row(text, "learner", "invented", "case", "case_title", "projection", "condition", "finished_utc", "verdict", "reference", "reference_verdict", "verdict_agrees", "lines_compared", "lines_agreed", "lines_not_agreed", "judged_by", "practice_score_percent");
        foreach (ProgressReading each in progress.Readings)
        {
            AgreementText.Row(
                text,
                progress.Learner.Pseudonym,
                progress.Learner.IsInvented ? "yes" : "no",
                each.Reading.CaseId.ToString(),
                each.Reading.CaseTitle,
                each.Result.ProjectionId,
                each.Reading.Condition.ToString().ToLowerInvariant(),
                each.Reading.Finished!.Value.UtcDateTime.ToString("yyyy-MM-ddTHH:mm:ssZ", CultureInfo.InvariantCulture),
                Term(each.Result.Stands),
                each.Reference?.Name ?? "",
                each.Reference is null ? "" : Term(each.Reference.Result.Stands),
                each.VerdictAgrees switch { true => "yes", false => "no", null => "" },
                each.Reference is null ? "" : each.Lines.Count.ToString(CultureInfo.InvariantCulture),
                each.Reference is null ? "" : each.Agreed.ToString(CultureInfo.InvariantCulture),
                string.Join(' ', each.Lines.Where(line => !line.Agrees).Select(line => line.Id)),
                each.Result.JudgedBy,
                "");
        }

        foreach (PracticedExercise each in progress.Practice)
        {
            AgreementText.Row(
                text,
                progress.Learner.Pseudonym,
                progress.Learner.IsInvented ? "yes" : "no",
                "",
                each.Title,
                each.ProjectionId,
                "practice",
                each.Finished.UtcDateTime.ToString("yyyy-MM-ddTHH:mm:ssZ", CultureInfo.InvariantCulture),
                each.Verdict is { } given ? Term(given) : "",
                each.Reference,
                string.Join(' ', each.Verdicts.Select(Term)),
                each.VerdictRight switch { true => "yes", false => "no", null => "" },
                each.Lines.ToString(CultureInfo.InvariantCulture),
                each.Right.ToString(CultureInfo.InvariantCulture),
                string.Join(' ', each.Wrong),
                "",
                each.Score is { } score ? (100 * score).ToString("0.#", CultureInfo.InvariantCulture) : "");
        }

        return text.ToString();
    }

    private static string Counted(RequirementSource source) => source switch
    {
        RequirementSource.Practice => "exercises of practice",
        RequirementSource.Either => "cases or exercises of practice",
        _ => "cases",
    };

    private static bool MayLook(Person? viewer, CaseReader learner) => learner.IsInvented || viewer?.Id == learner.Id || viewer is { Role: PersonRole.Supervisor or PersonRole.Administrator };

    private static string Term(VerdictKind kind) => JsonNamingPolicy.KebabCaseLower.ConvertName(kind.ToString());

    private static string Stood(LearnerProgress progress, RequirementProgress reached)
    {
        string lines = progress.AllLines.Value is { } all ? string.Create(CultureInfo.InvariantCulture, $"; of all compared lines {all.Count.Events} of {all.Count.Total} as the reference (95 % interval {100 * all.Interval.Lower:0} to {100 * all.Interval.Upper:0} %)") : string.Empty;
        return string.Create(CultureInfo.InvariantCulture, $"{reached.Read} read, {reached.Reached} up to the standard, {reached.Requirement.Count} asked for{lines}");
    }

    private static ReadingResult? Read(OwnReading reading)
    {
        try
        {
            return reading.Result;
        }
        catch (JsonException)
        {
            return null;
        }
    }

    private Task<Reference?> ReferenceAsync(OwnReading reading, IReadOnlyList<OwnReading> others, ReadCase? read, CancellationToken cancellation)
        => ReferenceAsync(reading.CaseId, reading.ProjectionId, reading.Reader.Id, others, read, cancellation);

    private async Task<Reference?> ReferenceAsync(Guid caseId, string projectionId, Guid? readerId, IReadOnlyList<OwnReading> others, ReadCase? read, CancellationToken cancellation)
    {
        // The supervisor who finished first stays the reference, however many read the case later.
        foreach (OwnReading other in others.Where(each => each.CaseId == caseId && each.Reader.Id != readerId && each.Reader.Role == PersonRole.Supervisor && each.Condition != ReadingCondition.Again).OrderBy(each => each.Finished))
        {
            if (Read(other) is { } result && result.ProjectionId == projectionId)
            {
                return new Reference(other.Reader.Pseudonym, result);
            }
        }

        return read is { State: CaseState.Done } && await SettledAsync(read, cancellation) is { } answers && answers.ProjectionId == projectionId ? new Reference("the case's own answers", answers) : null;
    }

    private async Task<ReadingResult?> SettledAsync(ReadCase read, CancellationToken cancellation)
    {
        string settings = clinic.Current.ResultKey;
        if (settled.TryGetValue(read.Id, out (int Version, string Settings, ReadingResult? Result) kept) && kept.Version == read.Version && kept.Settings == settings)
        {
            return kept.Result;
        }

        ReadingResult? result = null;
        try
        {
            OpenCase open = await cases.OpenAsync(read.Id, cancellation);
            result = open.Critique is { Verdict.Kind: not VerdictKind.Undetermined } && open.Answers is { Lines.Count: > 0 } ? ReadingResult.Of(open) : null;
            settled[read.Id] = (open.Record.Version, settings, result);
        }
        catch (Exception error) when (error is CaseGoneException or UnreadableImageException or FileNotKeptException)
        {
            // A case whose file is gone is no reference.
        }

        return result;
    }
}
