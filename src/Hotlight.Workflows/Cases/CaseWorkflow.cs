using System.Diagnostics;
using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Measure.Landmarks;
using Hotlight.Poses;
using Hotlight.Positioning;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.Positions;

namespace Hotlight.Workflows.Cases;

/// <summary>What a reader does with cases: bring a file in, choose the projection, answer, take back, delete. Every call that returned is kept.</summary>
public sealed partial class CaseWorkflow
{
    private const string NoAnswers = "{}";
    private readonly IRecordStore records;
    private readonly IFileStore files;
    private readonly RadiographShelf shelf;
    private readonly TimeProvider clock;
    private readonly ProjectionCatalogue catalogue;
    private readonly ClinicWorkflow? clinic;
    private readonly IntakePolicy intake;
    private readonly IMeasuringQueue? queue;

    // Measuring takes all cores for a moment: what somebody waits for goes one at a time, so that many files at once don't take all memory.
    private readonly SemaphoreSlim measuring = new(1);

    /// <summary>Creates the workflow.</summary>
    /// <param name="records">Where cases are kept.</param>
    /// <param name="files">Where files are kept.</param>
    /// <param name="shelf">Decoded radiographs.</param>
    /// <param name="clock">Tells the time.</param>
    /// <param name="catalogue">The projections; null: those built in.</param>
    /// <param name="clinic">The clinic's settings; null: nothing is set.</param>
    /// <param name="intake">What happens to a file on its way in; null: it is kept as it is.</param>
    /// <param name="queue">Where files that came in by themselves wait to be measured; null: they are measured as they come in.</param>
    public CaseWorkflow(IRecordStore records, IFileStore files, RadiographShelf shelf, TimeProvider clock, ProjectionCatalogue? catalogue = null, ClinicWorkflow? clinic = null, IntakePolicy? intake = null, IMeasuringQueue? queue = null)
    {
        this.queue = queue;
        this.intake = intake ?? IntakePolicy.AsItIs;
        this.records = records;
        this.files = files;
        this.shelf = shelf;
        this.clock = clock;
        this.catalogue = catalogue ?? ProjectionCatalogue.BuiltIn;
        this.clinic = clinic;
    }

    /// <summary>Version of this program, as it is kept with what it measured.</summary>
    public static string ThisVersion { get; } = typeof(CaseWorkflow).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion is { Length: > 0 } version
        ? version[..Math.Min(version.Length, 100)]
        : "unknown";

    /// <summary>The projections that can be chosen.</summary>
    public IReadOnlyList<Projection> Projections => catalogue.Projections;

    /// <summary>The cases: a reader's own, the last changed first, then the invented ones in the order they were added.</summary>
    /// <param name="skip">How many to pass over.</param>
    /// <param name="take">How many to give at most.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public Task<IReadOnlyList<CaseSummary>> ListAsync(int skip, int take, CancellationToken cancellation = default) => records.ListAsync(skip, take, cancellation);

    /// <summary>How many cases are kept.</summary>
    /// <param name="cancellation">Stops the counting.</param>
    public Task<int> CountAsync(CancellationToken cancellation = default) => records.CountAsync(cancellation);

    /// <summary>Name of a projection; its identifier where this version does not know it; null for none.</summary>
    /// <param name="projectionId">Identifier, or null.</param>
    public string? NameOf(string? projectionId) => projectionId is null ? null : catalogue.Find(projectionId)?.Name ?? projectionId;

    /// <summary>The record of a case.</summary>
    /// <param name="id">The case.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="CaseGoneException">It is not kept.</exception>
    public async Task<CaseRecord> GetAsync(Guid id, CancellationToken cancellation = default)
        => await records.FindAsync(id, cancellation) ?? throw new CaseGoneException(id);

    /// <summary>The decoded radiograph of a case.</summary>
    /// <param name="record">The case.</param>
    /// <exception cref="UnreadableImageException">The kept file cannot be read by this version.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    public Task<Radiograph> RadiographAsync(CaseRecord record)
    {
        ArgumentNullException.ThrowIfNull(record);
        return shelf.TakeAsync(record.ContentHash, record.FileName);
    }

    /// <summary>Opens a case; one that another version of Hotlight, or other settings of the clinic, measured is measured again.</summary>
    /// <param name="id">The case.</param>
    /// <param name="cancellation">Stops the opening.</param>
    /// <exception cref="CaseGoneException">It is not kept.</exception>
    /// <exception cref="UnreadableImageException">The kept file cannot be read by this version.</exception>
    /// <exception cref="FileNotKeptException">The kept file is missing.</exception>
    public async Task<OpenCase> OpenAsync(Guid id, CancellationToken cancellation = default)
    {
        CaseRecord record = await GetAsync(id, cancellation);
        if (!IsCurrent(record.MeasuredBy, record.MeasuredWith))
        {
            try
            {
                record = await KeepVerdictAsync(await records.ChangeAsync(await MeasureAgainAsync(record, cancellation), cancellation), cancellation);
            }
            catch (CaseChangedException)
            {
                // Another window did the same at the same moment.
                record = await GetAsync(id, cancellation);
            }
        }

        return Lay(record);
    }

    /// <summary>Whether figures were measured by this version of Hotlight with the clinic's settings of now; else they are measured again when the case is opened.</summary>
    /// <param name="measuredBy">Version that measured.</param>
    /// <param name="measuredWith">Key of the settings it measured with.</param>
    public bool IsCurrent(string measuredBy, string measuredWith) => measuredBy == ThisVersion && measuredWith == Settings.ResultKey;

    /// <summary>Chooses the projection: measures again with its margins, and carries over the answers to lines that both checklists have.</summary>
    /// <param name="open">The case as the reader sees it.</param>
    /// <param name="projectionId">The projection.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public async Task<OpenCase> ChooseProjectionAsync(OpenCase open, string projectionId, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        Projection projection = catalogue.Get(projectionId);
        if (open.Record.ProjectionId == projectionId)
        {
            return open;
        }

        CaseRecord record = await records.ChangeAsync(await MeasureAgainAsync(open.Record with { ProjectionId = projectionId }, cancellation), cancellation);
        if (open.Answers is { Lines.Count: > 0 } or { Landmarks.Count: > 0 } or { Pose: not null } or { Examination: not null } or { Plan.Count: > 0 })
        {
            OpenCase laid = Lay(record);
            record = await records.KeepAnswersAsync(record.Id, record.Version, new AnswerStep
            {
                AnswersJson = AnswersJson.Write(laid.Answers!),
                Verdict = Term(laid.Critique),
                Label = $"projection {projection.Name}",
                GivenBy = open.ReaderId,
            }, cancellation);
        }

        return Lay(await KeepVerdictAsync(record, cancellation)) with { ReaderId = open.ReaderId };
    }

    /// <summary>Takes the pixel spacing a reader gave for a file without one, or takes it away, and measures again.</summary>
    /// <param name="open">The case as the reader sees it.</param>
    /// <param name="spacing">Spacing at the receptor; null: the file's own, if any.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public async Task<OpenCase> GiveSpacingAsync(OpenCase open, PixelSpacing? spacing, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        CaseRecord record = await records.ChangeAsync(await MeasureAgainAsync(open.Record with { GivenSpacing = spacing }, cancellation), cancellation);
        return Lay(await KeepVerdictAsync(record, cancellation)) with { ReaderId = open.ReaderId };
    }

    /// <summary>Calls a case by another title.</summary>
    /// <param name="open">The case as the reader sees it.</param>
    /// <param name="title">The title; cut to <see cref="CaseRecord.TitleMaxLength"/>; an empty one changes nothing.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public async Task<OpenCase> RenameAsync(OpenCase open, string title, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        string clean = Clean(title, CaseRecord.TitleMaxLength);
        return clean.Length == 0 || clean == open.Record.Title
            ? open
            : open with { Record = await records.ChangeAsync(open.Record with { Title = clean }, cancellation) };
    }

    /// <summary>Keeps an answer to a line.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="lineId">The line.</param>
    /// <param name="answer">The answer; null takes the reader's answer away, and measurement or header decide again.</param>
    /// <param name="isTyping">Whether only the remark changes, letter by letter: such steps become one step of the history.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public async Task<OpenCase> AnswerAsync(OpenCase open, string lineId, Answer? answer, bool isTyping = false, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        if (open is not { Projection: { } projection, Answers: { } answers, Critique: { } critique })
        {
            throw new ArgumentException("A case without a projection has no checklist.", nameof(open));
        }

        ChecklistLine line = critique.Lines.FirstOrDefault(each => each.Id == lineId)
            ?? throw new ArgumentException($"'{lineId}' is not a line of the checklist for {projection.Id}.", nameof(lineId));
        Answers next = answers.With(lineId, answer);
        Critique judged = Judge(open.Measurements, open.Exposure, projection, next);
        CaseRecord record = await records.KeepAnswersAsync(open.Record.Id, open.Record.Version, new AnswerStep
        {
            AnswersJson = AnswersJson.Write(next),
            Verdict = Term(judged),
            Label = Label(line, answer, isTyping),
            MergeKey = isTyping ? "remark:" + lineId : null,
            GivenBy = open.ReaderId,
        }, cancellation);
        return open with { Record = record, Answers = next, Critique = judged };
    }

    /// <summary>Keeps a landmark that the reader marked, or a further point of the projection's pose model.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="landmarkId">The landmark, or the point.</param>
    /// <param name="at">Where it was marked, in pixels; null takes the mark away.</param>
    /// <param name="reachMm">How far an edge may lie from it to draw it there, in mm; null: it stays where it was marked.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public async Task<OpenCase> MarkAsync(OpenCase open, string landmarkId, PixelPoint? at, double? reachMm, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        if (open is not { Projection: { } projection, Answers: { } answers })
        {
            throw new ArgumentException("A case without a projection has no landmarks.", nameof(open));
        }

        Landmark? landmark = projection.Landmarks.FirstOrDefault(each => each.Id == landmarkId);
        PosePoint? further = landmark is null ? PoseModels.For(projection.Id)?.Find(landmarkId) : null;
        if (landmark is null && further is null)
        {
            throw new ArgumentException($"'{landmarkId}' is not a landmark of {projection.Id}.", nameof(landmarkId));
        }

        bool isOnEdge = landmark?.OnEdge ?? further!.OnEdge;
        LandmarkPoint? point = at is { } place
            ? PositionWorkflow.Place(await RadiographAsync(open.Record), place, isOnEdge ? reachMm : null, PositionWorkflow.GeometryOf(open.Exposure, open.Measurements).Spacing)
            : null;
        Answers next = landmark is null
            ? answers with { Pose = Given((answers.Pose ?? PoseMarks.None).With(landmarkId, point)) }
            : answers.WithLandmark(landmarkId, point);
        return await KeepAsync(open, next, $"{(point is null ? "mark taken away" : "marked")}: {landmark?.Name ?? further!.Name}", cancellation);
    }

    /// <summary>Keeps what is known of the examination beside the image.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="examination">Purpose, ability, repeats; null takes it away.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> ExamineAsync(OpenCase open, ExaminationContext? examination, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        return open.Answers is { } answers
            ? KeepAsync(open, answers with { Examination = examination == ExaminationContext.None ? null : examination }, "the examination", cancellation)
            : throw new ArgumentException("A case without a projection has no examination.", nameof(open));
    }

    /// <summary>Keeps the reader's own verdict with its reason.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="verdict">The verdict; null takes it away.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ArgumentException">It has no reason.</exception>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> DecideAsync(OpenCase open, VerdictAnswer? verdict, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        return open.Answers is { } answers
            ? KeepAsync(open, answers with { Verdict = verdict }, verdict is null ? "own verdict taken away" : "own verdict", cancellation)
            : throw new ArgumentException("A case without a projection has no verdict.", nameof(open));
    }

    /// <summary>Keeps the reader's edits of the plan for the next exposure.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="plan">All edits as they are to be; none: the plan stands as proposed.</param>
    /// <param name="label">What changed, for the reader of undo and redo.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ArgumentException">An edit says nothing, or there are too many.</exception>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> PlanAsync(OpenCase open, IReadOnlyList<PlanEdit> plan, string label, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(plan);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(plan.Count, PlanEdit.MostEdits);
        return open.Answers is { } answers
            ? KeepAsync(open, answers with { Plan = plan }, label, cancellation)
            : throw new ArgumentException("A case without a projection has no plan.", nameof(open));
    }

    /// <summary>Takes all marks away.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> ClearMarksAsync(OpenCase open, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        return open.Answers is { } answers
            ? KeepAsync(open, answers with { Landmarks = new Dictionary<string, LandmarkPoint>() }, "all marks taken away", cancellation)
            : throw new ArgumentException("A case without a projection has no landmarks.", nameof(open));
    }

    /// <summary>Keeps proposed points that the reader looked at and accepts, with the uncertainty they were proposed with; one step of the history.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="accepted">The points.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ArgumentException">They are of another projection, or name a point that its pose model does not have.</exception>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> TakeProposalAsync(OpenCase open, MarkedLandmarks accepted, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(accepted);
        if (open is not { Projection: { } projection, Answers: { } answers } || accepted.ProjectionId != projection.Id || PoseModels.For(projection.Id) is not { } model)
        {
            throw new ArgumentException("The points are not of the case's projection.", nameof(accepted));
        }

        foreach ((string id, LandmarkPoint point) in accepted.Points)
        {
            answers = projection.Landmarks.Any(each => each.Id == id) ? answers.WithLandmark(id, point)
                : model.Find(id) is not null ? answers with { Pose = (answers.Pose ?? PoseMarks.None).With(id, point) }
                : throw new ArgumentException($"'{id}' is not a point of {projection.Id}.", nameof(accepted));
        }

        return KeepAsync(open, answers, accepted.Points.Count == 1 ? "a proposed point accepted" : $"{accepted.Points.Count} proposed points accepted", cancellation);
    }

    /// <summary>Takes away all marks that the pose is fitted to: those of the checklist and the further ones.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> ClearPoseMarksAsync(OpenCase open, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        return open.Answers is { } answers
            ? KeepAsync(open, answers with { Landmarks = new Dictionary<string, LandmarkPoint>(), Pose = Given((answers.Pose ?? PoseMarks.None) with { Points = PoseMarks.None.Points }) }, "all marks taken away", cancellation)
            : throw new ArgumentException("A case without a projection has no marks.", nameof(open));
    }

    /// <summary>Keeps which side lies on the image, as the reader says.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="side">"R" or "L"; null: as the file says.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> SayPoseSideAsync(OpenCase open, string? side, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        if (side is not (null or "R" or "L"))
        {
            throw new ArgumentException($"A side is R or L, not '{side}'.", nameof(side));
        }

        return open.Answers is { } answers
            ? KeepAsync(open, answers with { Pose = Given((answers.Pose ?? PoseMarks.None) with { Side = side }) }, side switch { "R" => "side: right", "L" => "side: left", _ => "side: as the file says" }, cancellation)
            : throw new ArgumentException("A case without a projection has no side to be said.", nameof(open));
    }

    /// <summary>Keeps whether the handout has the figure of the position in space.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="isIn">Whether it has.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> PutPoseInHandoutAsync(OpenCase open, bool isIn, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        return open.Answers is { } answers
            ? KeepAsync(open, answers with { Pose = Given((answers.Pose ?? PoseMarks.None) with { IsInHandout = isIn }) }, isIn ? "position in space put into the handout" : "position in space taken out of the handout", cancellation)
            : throw new ArgumentException("A case without a projection has no handout.", nameof(open));
    }

    private static PoseMarks? Given(PoseMarks pose) => pose.IsEmpty ? null : pose;

    /// <summary>Takes the last answer back, or gives it again.</summary>
    /// <param name="open">The case as the reader sees it.</param>
    /// <param name="direction">Which way.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public async Task<OpenCase> StepAsync(OpenCase open, AnswerStepDirection direction, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        CaseRecord record = await records.StepAnswersAsync(open.Record.Id, open.Record.Version, direction, cancellation);
        string? projectionId = ProjectionOf(record.AnswersJson);
        if (projectionId is not null && projectionId != record.ProjectionId && catalogue.Find(projectionId) is not null)
        {
            // The step was a change of projection.
            record = await records.ChangeAsync(await MeasureAgainAsync(record with { ProjectionId = projectionId }, cancellation), cancellation);
        }

        return Lay(await KeepVerdictAsync(record, cancellation)) with { ReaderId = open.ReaderId };
    }

    /// <summary>Cases one would hold a case against: of the same examination, of the same patient, then of the same projection, the last changed first; each once, without the case itself.</summary>
    /// <param name="record">The case.</param>
    /// <param name="most">How many of the same projection at most.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task<IReadOnlyList<CaseSummary>> ComparableAsync(CaseRecord record, int most = 40, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(record);
        var found = new List<CaseSummary>();
        foreach ((WorklistGrouping grouping, string? key) in new[] { (WorklistGrouping.Examination, record.ExaminationKey), (WorklistGrouping.Patient, record.PatientKey) })
        {
            if (key is not null && (await records.ListGroupsAsync(new WorklistQuery(), grouping, [key], cancellation)).TryGetValue(key, out IReadOnlyList<CaseSummary>? group))
            {
                found.AddRange(group);
            }
        }

        if (record.ProjectionId is { } projection)
        {
            found.AddRange(await records.ListAsync(new WorklistQuery { ProjectionIds = [projection], Sort = WorklistSort.Changed, IsDescending = true }, 0, most, cancellation));
        }

        return [.. found.DistinctBy(each => each.Id).Where(each => each.Id != record.Id)];
    }

    /// <summary>Adds the time a reader worked on a case; it is no change of the case, and a case that is gone takes none.</summary>
    /// <param name="id">The case.</param>
    /// <param name="worked">The time, above 0.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public Task AddReadingTimeAsync(Guid id, TimeSpan worked, CancellationToken cancellation = default)
        => records.AddReadingTimeAsync(id, worked.TotalSeconds, cancellation);

    /// <summary>Deletes a case so that it can be put back.</summary>
    /// <param name="id">The case.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public Task<bool> DeleteAsync(Guid id, CancellationToken cancellation = default) => records.DeleteAsync(id, cancellation);

    /// <summary>Puts a deleted case back.</summary>
    /// <param name="id">The case.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    public Task<bool> RestoreAsync(Guid id, CancellationToken cancellation = default) => records.RestoreAsync(id, cancellation);

    /// <summary>Projections that the header's terms name, those first whose own first terms they are: body part and, where it is given, view.</summary>
    /// <param name="exposure">What the header says.</param>
    public IReadOnlyList<Projection> Suggest(ExposureRecord exposure)
    {
        ArgumentNullException.ThrowIfNull(exposure);
        if (exposure.BodyPart is not { Length: > 0 } part)
        {
            return [];
        }

        static int Rank(IReadOnlyList<string> terms, string term)
        {
            for (int rank = 0; rank < terms.Count; rank++)
            {
                if (string.Equals(terms[rank], term, StringComparison.OrdinalIgnoreCase))
                {
                    return rank;
                }
            }

            return int.MaxValue;
        }

        IEnumerable<Projection> named = catalogue.Projections.Where(each => Rank(each.Codes.BodyParts, part) < int.MaxValue);
        if (exposure.ViewPosition is { Length: > 0 } view)
        {
            named = named.Where(each => Rank(each.Codes.ViewPositions, view) < int.MaxValue).OrderBy(each => Rank(each.Codes.BodyParts, part)).ThenBy(each => Rank(each.Codes.ViewPositions, view)).ThenBy(each => each.Id.Length);
        }

        return [.. named];
    }

    /// <summary>The last part of a name, without control characters, cut to a length: for the reader, never a path.</summary>
    /// <param name="name">Name as it was given.</param>
    /// <param name="longest">Most characters.</param>
    internal static string Clean(string name, int longest)
    {
        string last = name[(name.LastIndexOfAny(['/', '\\']) + 1)..];
        string clean = new([.. last.Where(letter => !char.IsControl(letter) && char.GetUnicodeCategory(letter) is not System.Globalization.UnicodeCategory.Format)]);
        clean = clean.Trim();
        return clean.Length <= longest ? clean : clean[..longest].TrimEnd();
    }

    private ClinicState Settings => clinic?.Current ?? ClinicState.Initial;

    private static MeasurementDocument ReadMeasurements(CaseRecord record)
        => JsonSerializer.Deserialize<MeasurementDocument>(record.MeasurementsJson, MeasurementJson.Compact) ?? throw new JsonException("The record holds no measurements.");

    /// <summary>What the header of a case says of the exposure; null where another version kept it in a form that this one cannot read.</summary>
    /// <param name="record">The case.</param>
    public static ExposureRecord? ExposureOf(CaseRecord record)
    {
        ArgumentNullException.ThrowIfNull(record);
        try
        {
            return ReadExposure(record);
        }
        catch (JsonException)
        {
            return null;
        }
    }

    private static ExposureRecord ReadExposure(CaseRecord record)
        => JsonSerializer.Deserialize<ExposureRecord>(record.ExposureRecordJson, MeasurementJson.Compact) ?? throw new JsonException("The record holds no exposure record.");

    private static string? Term(Critique? critique)
        => critique is null ? null : JsonNamingPolicy.KebabCaseLower.ConvertName(critique.Verdict.Kind.ToString());

    private static string Label(ChecklistLine line, Answer? answer, bool isTyping)
    {
        string question = line.Question.Length <= 80 ? line.Question : line.Question[..79] + "…";
        string what = answer switch
        {
            null => "answer taken away",
            _ when isTyping => "remark",
            { State: ChecklistState.Met } => "met",
            { State: ChecklistState.NotMet } => "not met",
            { State: ChecklistState.CannotTell } => "cannot tell",
            _ => "not applicable",
        };
        return $"{what}: {question}";
    }

    private static string? ProjectionOf(string answersJson)
    {
        using JsonDocument document = JsonDocument.Parse(answersJson);
        return document.RootElement.TryGetProperty("projection", out JsonElement id) ? id.GetString() : null;
    }

    /// <summary>Keeps answers that came with a case from elsewhere, as one step of its history.</summary>
    /// <param name="open">The case as the reader sees it, with a projection chosen.</param>
    /// <param name="answers">The answers, to the same projection.</param>
    /// <param name="label">Where they came from, for the reader of undo.</param>
    /// <param name="cancellation">Stops before anything is changed.</param>
    /// <exception cref="ArgumentException">They are for another projection.</exception>
    /// <exception cref="CaseChangedException">The case moved on.</exception>
    /// <exception cref="CaseGoneException">The case was deleted.</exception>
    public Task<OpenCase> TakeAnswersAsync(OpenCase open, Answers answers, string label, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(answers);
        return open.Projection is { } projection && projection.Id == answers.ProjectionId
            ? KeepAsync(open, answers, label, cancellation)
            : throw new ArgumentException("The answers are for another projection.", nameof(answers));
    }

    private async Task<OpenCase> KeepAsync(OpenCase open, Answers next, string label, CancellationToken cancellation)
    {
        Critique judged = Judge(open.Measurements, open.Exposure, open.Projection!, next);
        CaseRecord record = await records.KeepAnswersAsync(open.Record.Id, open.Record.Version, new AnswerStep
        {
            AnswersJson = AnswersJson.Write(next),
            Verdict = Term(judged),
            Label = label,
            GivenBy = open.ReaderId,
        }, cancellation);
        return open with { Record = record, Answers = next, Critique = judged };
    }

    private static string Title(string fileName)
    {
        string stem = Path.GetFileNameWithoutExtension(fileName);
        string title = Clean(stem.Length == 0 ? fileName : stem, CaseRecord.TitleMaxLength);
        return title.Length == 0 ? "radiograph" : title;
    }

    private async Task<CaseRecord> MeasureAgainAsync(CaseRecord record, CancellationToken cancellation)
    {
        Interlocked.Increment(ref waitedFor);
        try
        {
            await measuring.WaitAsync(cancellation);
            try
            {
                long start = Stopwatch.GetTimestamp();
                Radiograph radiograph = await shelf.TakeAsync(record.ContentHash, record.FileName);
                double readMs = Stopwatch.GetElapsedTime(start).TotalMilliseconds;
                return await Task.Run(() => Measured(record, radiograph, readMs), cancellation);
            }
            finally
            {
                measuring.Release();
            }
        }
        finally
        {
            Interlocked.Decrement(ref waitedFor);
        }
    }

    private CaseRecord Measured(CaseRecord record, Radiograph radiograph, double readMs)
    {
        Projection? projection = record.ProjectionId is { } id ? catalogue.Find(id) : null;
        ClinicState state = Settings;
        MeasureOptions options = state.Settings.Fill(new MeasureOptions { ReceptorSpacing = record.GivenSpacing }, radiograph.Exposure, projection?.Id);
        if (projection is not null)
        {
            options = options with { SkinMarginMm = projection.Collimation.SkinMarginMm.Value, TargetExposureIndex = options.TargetExposureIndex ?? projection.TargetExposureIndex?.Value };
        }

        MeasurementDocument document = RadiographMeasure.Measure(radiograph, options, readMs);
        return record with
        {
            ExposureRecordJson = JsonSerializer.Serialize(ExposureIn(record, radiograph), MeasurementJson.Compact),
            MeasurementsJson = JsonSerializer.Serialize(document, MeasurementJson.Compact),
            MeasuredBy = ThisVersion,
            MeasuredWith = state.ResultKey,

            // What is drawn into the pixels is seen with the first measuring.
            DeidentificationReportJson = record.MeasuredBy.Length == 0 ? IntakeFile.WithSigns(record.DeidentificationReportJson, document.Processing.Value) : record.DeidentificationReportJson,
        };
    }

    // The patient of a made case is invented with it, that of a de-identified one bears a pseudonym: their files carry nobody's identity.
    private static ExposureRecord ExposureIn(CaseRecord record, Radiograph radiograph)
        => record.IsInvented || record.IsDeidentified ? radiograph.Exposure with { CarriesPatientIdentity = false } : radiograph.Exposure;

    private async Task<CaseRecord> KeepVerdictAsync(CaseRecord record, CancellationToken cancellation)
    {
        string? verdict = Term(Lay(record).Critique);
        return verdict == record.Verdict ? record : await records.ChangeAsync(record with { Verdict = verdict }, cancellation);
    }

    private OpenCase Lay(CaseRecord record)
    {
        MeasurementDocument measurements = ReadMeasurements(record);
        ExposureRecord exposure = ReadExposure(record);
        Projection? projection = record.ProjectionId is { } id ? catalogue.Find(id) : null;
        if (projection is null)
        {
            return new OpenCase { Record = record, Measurements = measurements, Exposure = exposure };
        }

        Answers answers = ReadAnswers(record.AnswersJson, projection);
        return new OpenCase
        {
            Record = record,
            Measurements = measurements,
            Exposure = exposure,
            Projection = projection,
            Answers = answers,
            Critique = Judge(measurements, exposure, projection, answers),
        };
    }

    private Answers ReadAnswers(string json, Projection projection)
    {
        string? givenFor = ProjectionOf(json);
        if (givenFor is null)
        {
            return Answers.None(projection.Id);
        }

        if (givenFor == projection.Id)
        {
            return ReadKept(json, projection);
        }

        if (catalogue.Find(givenFor) is not { } earlier)
        {
            return Answers.None(projection.Id);
        }

        // Lines that both checklists have keep their answer, as long as the way of missing exists in both.
        Answers given = ReadKept(json, earlier);
        Dictionary<string, ChecklistLine> lines = CritiqueBuilder.BlankChecklist(projection).ToDictionary(line => line.Id, StringComparer.Ordinal);
        var carried = given.Lines
            .Where(each => lines.TryGetValue(each.Key, out ChecklistLine? line) && (each.Value.Miss is null || line.Misses.Any(miss => miss.Id == each.Value.Miss)))
            .ToDictionary(each => each.Key, each => each.Value, StringComparer.Ordinal);
        Dictionary<string, LandmarkPoint> marks = given.Landmarks.Where(mark => projection.Landmarks.Any(landmark => landmark.Id == mark.Key)).ToDictionary(mark => mark.Key, mark => mark.Value, StringComparer.Ordinal);
        PoseModel? model = PoseModels.For(projection.Id);
        PoseMarks? pose = given.Pose is { } before ? Given(before with { Points = before.Points.Where(mark => model?.Find(mark.Key) is not null).ToDictionary(mark => mark.Key, mark => mark.Value, StringComparer.Ordinal), IsInHandout = false }) : null;
        return given with { ProjectionId = projection.Id, Lines = carried, Landmarks = marks, Pose = pose, Examination = CarriedExamination(given.Examination, projection, lines), Verdict = null, Plan = [.. given.Plan.Where(edit => edit.LineId is null || lines.ContainsKey(edit.LineId))] };
    }

    // A clinic that edits its catalogue, or a later version, may leave out what was answered: the rest of the answers stays readable, and what is kept is not changed.
    private static Answers ReadKept(string json, Projection projection)
    {
        try
        {
            return AnswersJson.Read(json, "the kept answers", projection);
        }
        catch (UnreadableAnswersException)
        {
            JsonNode root = JsonNode.Parse(json)!;
            Dictionary<string, ChecklistLine> lines = CritiqueBuilder.BlankChecklist(projection).ToDictionary(line => line.Id, StringComparer.Ordinal);
            JsonObject answers = root["answers"]!.AsObject();
            foreach ((string id, JsonNode? answer) in answers.ToArray())
            {
                if (!lines.TryGetValue(id, out ChecklistLine? line) || (answer?["miss"]?.GetValue<string>() is { } miss && line.Misses.All(known => known.Id != miss)))
                {
                    answers.Remove(id);
                }
            }

            JsonObject? landmarks = root["landmarks"]?.AsObject();
            foreach (string id in (landmarks ?? []).Select(mark => mark.Key).Where(id => projection.Landmarks.All(known => known.Id != id)).ToArray())
            {
                landmarks!.Remove(id);
            }

            JsonArray? plan = root["plan"]?.AsArray();
            foreach (JsonNode edit in (plan ?? []).OfType<JsonNode>().Where(edit => edit["line"]?.GetValue<string>() is { } line && !lines.ContainsKey(line)).ToArray())
            {
                plan!.Remove(edit);
            }

            if (root["examination"]?.AsObject() is { } examination)
            {
                if (projection.Purposes.All(purpose => purpose.Id != examination["purpose"]?.GetValue<string>()))
                {
                    examination.Remove("purpose");
                }

                foreach (JsonNode line in examination["shown"]?.AsArray().OfType<JsonNode>().Where(line => !lines.ContainsKey(line.GetValue<string>())).ToArray() ?? [])
                {
                    examination["shown"]!.AsArray().Remove(line);
                }
            }

            return AnswersJson.Read(root.ToJsonString(), "the kept answers", projection);
        }
    }

    // Who the patient is stays; a purpose or a line that the other projection does not have goes.
    private static ExaminationContext? CarriedExamination(ExaminationContext? given, Projection projection, Dictionary<string, ChecklistLine> lines)
        => given is null
            ? null
            : given with
            {
                PurposeId = projection.Purposes.Any(purpose => purpose.Id == given.PurposeId) ? given.PurposeId : null,
                ShownElsewhere = [.. given.ShownElsewhere.Where(lines.ContainsKey)],
            };

    private Critique Judge(MeasurementDocument measurements, ExposureRecord exposure, Projection projection, Answers answers)
        => CritiqueBuilder.Build(
            exposure,
            measurements,
            projection,
            answers,
            Settings.Rules,
            positions: answers.Landmarks.Count == 0 ? null : RelationMeasurer.Measure(projection, new MarkedLandmarks(projection.Id, answers.Landmarks), PositionWorkflow.GeometryOf(exposure, measurements, answers.Examination)));
}
