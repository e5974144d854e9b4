using System.Diagnostics;
using System.Globalization;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Imaging;
using Hotlight.Measure.Landmarks;
using Hotlight.Poses;
using Hotlight.Poses.Proposal;
using Hotlight.Positioning;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Web.Components.Parts;
using Hotlight.Web.Sharing;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Positions;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching.Rounds;
using Microsoft.AspNetCore.Components;
using Microsoft.JSInterop;

namespace Hotlight.Web.Components.Pages;

/// <summary>How the part lay in space, beside the phantom that explains it and the picture of a repeat: an optional step of a critique.</summary>
public sealed partial class PosePage
{
    // As on the case's own page: about the pull that a hand's tremble needs.
    private const double SnapReachMm = 2;
    private const string TickKind = "pose-tick";
    private const string ProposedKind = "pose-proposed";

    // Pixels along the longer side that a comparison of doses needs.
    private const int DoseSide = 128;

    // Pixels along the longer side that edges are looked for on.
    private const int RefineSide = 1000;

    private static readonly IReadOnlyList<ViewerMarkStyle> Styles = [.. ViewerFacts.AllStyles, new ViewerMarkStyle(TickKind, "Mark and phantom's point", "evidence", "#7CF4FF", 1.6, [], "line"), new ViewerMarkStyle(ProposedKind, "Proposed, not marked", "evidence", "#FFB65C", 1.6, [5, 4], "line")];

    private readonly SemaphoreSlim oneAtATime = new(1);
    private readonly CancellationTokenSource leaving = new();
    private readonly List<string> placed = [];
    private OpenCase? open;
    private PoseModel? model;
    private Radiograph? radiograph;
    private ViewerFacts? facts;
    private IReadOnlyList<ViewerMark> ticks = [];
    private IReadOnlyList<ViewerLandmark> landmarks = [];
    private string? marking;
    private bool snaps = true;
    private Side side;
    private Figure<PoseFit>? fit;
    private PoseFit? pose;
    private PosePlan? plan;
    private IReadOnlyDictionary<string, RelationResult> relationsNow = new Dictionary<string, RelationResult>();
    private int fitting;
    private int way;
    private int blend;
    private bool showsPoints = true;
    private PoseDials? dials;
    private IReadOnlyList<ProposedLandmark> proposed = [];
    private bool isProposing;
    private readonly System.Runtime.CompilerServices.ConditionalWeakTable<SceneDocument, Asked> asked = [];
    private LatestPicture<Shown>? looks;
    private Shown? look;
    private PoseTone? tone;
    private PoseImage? scaled;
    private bool showsOutlines;
    private PoseRefinement? refinement;
    private PosePlan? marksPlan;
    private PosePlan? imagePlan;
    private bool isByImage;
    private int? refining;
    private string? dose;
    private int dosing;
    private string? unseen;
    private string? faultKey;
    private string? fault;
    private string? typed;
    private string? failure;
    private string? notice;
    private string keptLine = "";
    private OwnReading? own;
    private string? roundCase;
    private BlindNotice.ClosedCase? closed;
    private Guid? toReadings;
    private Guid? lookedAs;
    private ReadingClock? reading;
    private TimeSpan keptTime;
    private bool isLoading;
    private bool isLeft;
    private PoseKeys? keyList;
    private ElementReference phantomCanvas;
    private ElementReference imageCanvas;
    private bool isImageDrawn;
    private DotNetObjectReference<PosePage>? self;
    private IJSObjectReference? module;
    private IJSObjectReference? keyModule;
    private IJSObjectReference? keys;

    /// <summary>What a scene was asked for.</summary>
    private sealed record Asked(PoseFit Fit, PoseState State, bool IsSetOtherwise);

    /// <summary>A drawn phantom.</summary>
    private sealed record Shown(ReadOnlyRaster<byte> Grey, IReadOnlyList<PoseContour> Outlines);

    private enum Side
    {
        Points,
        Position,
        Exposure,
    }

    /// <summary>The case, or a reading of one's own.</summary>
    [Parameter]
    public Guid Id { get; set; }

    private static IEnumerable<string> Fitted => PoseModels.All.Select(each => Catalogue.ProjectionCatalogue.BuiltIn.Find(each.ProjectionId)?.Name ?? each.ProjectionId);

    private string ShownTitle => roundCase ?? open?.Record.Title ?? "";

    private double Share => way / 100.0;

    private PoseState StateNow => plan is { Moves.Count: > 0 } ? PosePlanner.Between(pose!.State, plan.Corrected, Share) : pose!.State;

    private string PhantomHeading => pose is null ? "The phantom" : way switch { 0 => "The phantom as the part lies", 100 => "The phantom as it should lie", _ => $"The phantom, {way} % of the way to as it should lie" };

    private string WayText => way switch { 0 => "as it lies", 100 => "as it should lie", _ => $"{way} percent of the way" };

    // Where the panel says it in full it is not said twice.
    private string FitLine => unseen ?? (fit is null || landmarks.Count(each => each.X is not null) < PoseFitter.LeastPoints ? "" : pose is null ? fit.Why! : side == Side.Position ? "" : PoseWords.Line(pose));

    /// <inheritdoc/>
    protected override void OnInitialized()
    {
        News.Happened += OnNews;
        Reader.Changed += OnReader;
        Readings.Changed += OnReading;
        looks = new LatestPicture<Shown>(Draw, ShowAsync, Log);
    }

    /// <inheritdoc/>
    protected override async Task OnParametersSetAsync()
    {
        if (open?.Record.Id != Id)
        {
            await LoadAsync();
        }
    }

    /// <inheritdoc/>
    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (firstRender)
        {
            self = DotNetObjectReference.Create(this);
            IJSObjectReference arrived = await Js.InvokeAsync<IJSObjectReference>("import", "./pose.js");
            IJSObjectReference keysArrived = await Js.InvokeAsync<IJSObjectReference>("import", "./keys.js");
            if (isLeft)
            {
                // The reader went on before the modules were there.
                await arrived.DisposeAsync();
                await keysArrived.DisposeAsync();
                return;
            }

            (module, keyModule) = (arrived, keysArrived);
            keys = await keyModule.InvokeAsync<IJSObjectReference>("start", self, keyList!.Toggle);
            if (isLeft)
            {
                await StopAsync();
                return;
            }

            if (look is { } waiting)
            {
                await DrawAsync(waiting);
            }
        }
    }

    /// <summary>A key of the page was pressed.</summary>
    /// <param name="act">What it asks for.</param>
    [JSInvokable]
    public async Task Act(string act)
    {
        reading?.Act();
        switch (act)
        {
            case "undo":
                await StepAsync(AnswerStepDirection.Undo);
                break;
            case "redo":
                await StepAsync(AnswerStepDirection.Redo);
                break;
            case "stop-marking":
                SetMarking(null);
                break;
            case "next-open" when model is not null:
                SetMarking(NextAfter(marking));
                break;
            case "next" when model is not null:
                SetMarking(Beside(1));
                break;
            case "previous" when model is not null:
                SetMarking(Beside(-1));
                break;
            case "back":
                await TakeBackAsync();
                break;
            case "pose":
                Navigation.NavigateTo($"/cases/{Id}");
                break;
        }

        StateHasChanged();
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

    private static string PoseSentence(string phrase) => phrase.Length == 0 ? phrase : char.ToUpperInvariant(phrase[0]) + phrase[1..] + ".";

    private string Is(Side one) => side == one ? "true" : "false";

    private async Task LoadAsync()
    {
        (failure, open, model, toReadings, isLoading) = (null, null, null, null, true);
        StateHasChanged();
        try
        {
            if (!await MayLookAsync())
            {
                (facts, fit, pose, plan, dials, look, dose) = (null, null, null, null, null, null, null);
                return;
            }

            open = await Cases.OpenAsync(Id);
            model = PoseReading.ModelOf(open);
            keptLine = $"kept {Words.Time(open.Record.Changed)}";
            reading = new ReadingClock(Clock, TimeSpan.FromSeconds(open.Record.ReadingSeconds));
            keptTime = reading.Counted;
            reading.Act();
            if (model is null)
            {
                return;
            }

            radiograph = await Cases.RadiographAsync(open.Record);
            facts = ViewerFacts.Of(Id, radiograph, open.Measurements) with { Marks = [], Field = null, Styles = Styles };
            isImageDrawn = false;
            marking = NextAfter(null);
            SetLandmarks();
            if (marking is null)
            {
                side = Side.Position;
            }

            await FitAsync();
        }
        catch (Exception error) when (error is CaseGoneException or UnreadableImageException or FileNotKeptException)
        {
            failure = error.Message;
        }
        catch (Exception error) when (error is not OperationCanceledException)
        {
            Log.LogError(error, "The position of a case could not be opened.");
            failure = "The case could not be opened.";
        }
        finally
        {
            isLoading = false;
        }
    }

    /// <summary>Finds out whose reading this is, or whether the case is blind to whoever looks: before anything of it is read.</summary>
    private async Task<bool> MayLookAsync()
    {
        (closed, roundCase) = (null, null);
        own = await Readings.FindAsync(Id);
        Guid caseId = own?.CaseId ?? Id;
        if (own is not null || await Readings.MayBeBlindAsync(Id))
        {
            await Reader.LoadAsync();
        }

        lookedAs = Reader.Id;
        if (own is { } mine)
        {
            if (!mine.IsFinished && mine.Reader.Id == Reader.Id)
            {
                // The case first: its figures are measured again where version or settings moved on.
                await Cases.OpenAsync(caseId);
                roundCase = (await Rounds.OfReadingAsync(mine.Id))?.NumberOf(caseId);
                return true;
            }

            closed = new BlindNotice.ClosedCase(caseId, mine, null);
            own = null;
            return false;
        }

        if (Account.IsDepartment && !Account.May(Operation.Judge))
        {
            toReadings = caseId;
            return false;
        }

        ReadingsOfCase seen = await Readings.OfCaseAsync(caseId, Reader.Id);
        closed = seen.IsBlind ? new BlindNotice.ClosedCase(caseId, null, seen) : null;
        return closed is null;
    }

    private void SetMarking(string? point)
    {
        marking = point is not null && model?.Find(point) is not null ? point : null;
        SetLandmarks();
    }

    private void SetLandmarks()
    {
        if (open is null || model is null)
        {
            landmarks = [];
            return;
        }

        IReadOnlyDictionary<string, LandmarkPoint> marks = PoseReading.MarksOf(open, model).Points;
        landmarks = [.. model.Points.Select((point, place) => new ViewerLandmark(
            point.Id,
            NameOf(point.Id),
            place + 1,
            marks.TryGetValue(point.Id, out LandmarkPoint at) ? at.Point.X : null,
            marks.ContainsKey(point.Id) ? at.Point.Y : null))];
        ticks =
        [
            .. proposed.Where(each => each.Place.IsMeasured && !marks.ContainsKey(each.Id)).Select(each => new ViewerMark(ProposedKind, [[each.Place.Value!.At.X, each.Place.Value.At.Y]], false, $"{model.Points.ToList().FindIndex(point => point.Id == each.Id) + 1}?")),
            .. pose is null ? [] :  pose.Residuals.Where(residual => marks.ContainsKey(residual.Id)).Select(residual => new ViewerMark(TickKind, [[marks[residual.Id].Point.X, marks[residual.Id].Point.Y], [residual.Fitted.X, residual.Fitted.Y]], false)),
        ];
    }

    private bool CanPropose => model is not null && LandmarkProposer.Projections.Contains(model.ProjectionId);

    /// <summary>Proposes the points that are not marked; a proposal is looked at, and counts only where the reader accepts it.</summary>
    private async Task ProposeAsync()
    {
        if (model is not { } asked || radiograph is not { } image || isProposing)
        {
            return;
        }

        reading?.Act();
        isProposing = true;
        StateHasChanged();
        try
        {
            Figure<LandmarkProposal> found = await Task.Run(() => LandmarkProposer.Propose(image, asked.ProjectionId));
            if (isLeft || !ReferenceEquals(asked, model))
            {
                return;
            }

            proposed = found.Value?.Points ?? [];
            notice = found.IsMeasured && proposed.Any(each => each.Place.IsMeasured) ? null : $"No point is proposed: {found.Why ?? "none was found in this image"}";
            SetLandmarks();
        }
        finally
        {
            isProposing = false;
            StateHasChanged();
        }
    }

    private async Task AcceptAsync(IReadOnlyList<string> ids)
    {
        if (model is not { } asked)
        {
            return;
        }

        MarkedLandmarks accepted = new LandmarkProposal(asked.ProjectionId, proposed).Accept(ids);
        await ChangeAsync(CaseEdit.OfLandmark(ids.Count == 1 ? ids[0] : null, ids.Count == 1 ? NameOf(ids[0]) : string.Empty, held => Cases.TakeProposalAsync(held, accepted)));
        if (open is not null && model is not null)
        {
            SetMarking(NextAfter(null));
        }
    }

    private void LeaveProposal()
    {
        proposed = [];
        SetLandmarks();
    }

    // The next point that is not marked, in the order of the list and round again; null: all are.
    private string? NextAfter(string? point)
    {
        IReadOnlyDictionary<string, LandmarkPoint> marks = PoseReading.MarksOf(open!, model!).Points;
        return model!.Points.SkipWhile(each => point is not null && each.Id != point).Skip(point is null ? 0 : 1).Concat(model.Points).FirstOrDefault(each => !marks.ContainsKey(each.Id))?.Id;
    }

    private string Beside(int step)
    {
        int place = model!.Points.ToList().FindIndex(point => point.Id == marking);
        return model.Points[place < 0 ? 0 : Math.Clamp(place + step, 0, model.Points.Count - 1)].Id;
    }

    private async Task PlaceAsync((string Id, PixelPoint At) at)
    {
        if (model?.Find(at.Id) is null)
        {
            return;
        }

        bool isDrawn = snaps;
        await ChangeAsync(CaseEdit.OfLandmark(at.Id, NameOf(at.Id), held => Cases.MarkAsync(held, at.Id, at.At, isDrawn ? SnapReachMm : null)));
        placed.Remove(at.Id);
        placed.Add(at.Id);
        if (open is not null && model is not null)
        {
            marking = NextAfter(at.Id);
            if (marking is null && pose is not null)
            {
                // The last point is there: what was asked is answered.
                side = Side.Position;
            }

            SetLandmarks();
        }

        StateHasChanged();
        await BringInSightAsync();
    }

    // The point that is asked for stays in sight in the list.
    private async Task BringInSightAsync()
    {
        await Task.Yield();
        if (module is not null && !isLeft)
        {
            await module.InvokeVoidAsync("bringInSight");
        }
    }

    private async Task MoveAsync((string Id, PixelPoint At) at)
    {
        if (model?.Find(at.Id) is not null)
        {
            bool isDrawn = snaps;
            await ChangeAsync(CaseEdit.OfLandmark(at.Id, NameOf(at.Id), held => Cases.MarkAsync(held, at.Id, at.At, isDrawn ? SnapReachMm : null)));
            SetLandmarks();
            StateHasChanged();
        }
    }

    /// <summary>Takes the mark away that was placed last, and asks for it again.</summary>
    private async Task TakeBackAsync()
    {
        if (open is null || model is null)
        {
            return;
        }

        IReadOnlyDictionary<string, LandmarkPoint> marks = PoseReading.MarksOf(open, model).Points;
        string? last = placed.LastOrDefault(marks.ContainsKey) ?? model.Points.LastOrDefault(point => marks.ContainsKey(point.Id))?.Id;
        if (last is not null)
        {
            placed.Remove(last);
            await ClearAsync(last);
            side = Side.Points;
            SetMarking(last);
            StateHasChanged();
        }
    }

    private Task ClearAsync(string? point)
        => ChangeAsync(CaseEdit.OfLandmark(point, point is null ? string.Empty : NameOf(point), held => point is null ? Cases.ClearPoseMarksAsync(held) : Cases.MarkAsync(held, point, null, null)));

    private Task StepAsync(AnswerStepDirection direction) => ChangeAsync(CaseEdit.OfHistory(held => Cases.StepAsync(held, direction)));

    private Task ChooseSideAsync(ChangeEventArgs change)
    {
        string? said = change.Value is "R" or "L" ? (string)change.Value : null;
        return ChangeAsync(CaseEdit.OfPose(held => Cases.SayPoseSideAsync(held, said)));
    }

    private Task PutInHandoutAsync(ChangeEventArgs change)
    {
        bool isIn = change.Value is true;
        return ChangeAsync(CaseEdit.OfPose(held => Cases.PutPoseInHandoutAsync(held, isIn)));
    }

    private string NameOf(string point) => model?.Find(point) is { } known ? PoseText.Name(model, known, open?.Projection) : point;

    private async Task ChangeAsync(CaseEdit edit)
    {
        reading?.Act();
        await oneAtATime.WaitAsync();
        try
        {
            if (open is not { } held)
            {
                return;
            }

            keptLine = "keeping…";
            EditOutcome outcome = await SharedEditing.ApplyAsync(Cases, held with { ReaderId = Reader.Id }, edit);
            open = outcome.Open;
            notice = outcome.Result == EditResult.NotKept ? $"In another window {edit.What} was changed at the same moment, and that stands; give yours again if it is still meant." : null;
            keptLine = outcome.Result == EditResult.NotKept ? "not kept" : $"kept {open.Record.Changed.ToLocalTime().ToString("HH:mm:ss", CultureInfo.InvariantCulture)}";
            await AfterChangeAsync();
        }
        catch (Exception error) when (error is CaseChangedException or UnreadableImageException or FileNotKeptException or ReadingRefusedException or NotAllowedException)
        {
            (notice, keptLine) = (error.Message, "not kept");
            SetLandmarks();
        }
        catch (CaseGoneException error)
        {
            failure = error.Message;
        }
        catch (Exception error) when (error is not OperationCanceledException)
        {
            Log.LogError(error, "A change of the position could not be kept.");
            (notice, keptLine) = ("This change could not be kept: the data folder is full or cannot be written. Nothing that was kept is lost.", "not kept");
            SetLandmarks();
        }
        finally
        {
            oneAtATime.Release();
            StateHasChanged();
        }
    }

    private async Task AfterChangeAsync()
    {
        model = PoseReading.ModelOf(open!);
        SetMarking(marking);
        if (model is not null)
        {
            radiograph ??= await Cases.RadiographAsync(open!.Record);
            facts ??= ViewerFacts.Of(Id, radiograph, open!.Measurements) with { Marks = [], Field = null, Styles = Styles };
            await FitAsync();
        }
    }

    /// <summary>Fits the pose to the marks as they stand, away from the page's own thread; what is overtaken is not shown.</summary>
    private async Task FitAsync()
    {
        int mine = ++fitting;
        OpenCase at = open!;
        (Figure<PoseFit>? Fit, PosePlan? Plan) found = await Task.Run(() =>
        {
            Figure<PoseFit>? fitted = PoseReading.Fit(at);
            return (fitted, fitted?.Value is { } known ? PosePlanner.Plan(known, at.Projection!) : null);
        });
        if (isLeft || mine != fitting)
        {
            return;
        }

        (fit, pose, plan, marksPlan) = (found.Fit, found.Fit?.Value, found.Plan, found.Plan);
        (refinement, imagePlan, isByImage) = (null, null, false);
        ShowPose();
    }

    /// <summary>Shows the pose that is told now, and what it moves.</summary>
    private void ShowPose()
    {
        if (plan is null or { Moves.Count: 0 })
        {
            way = 0;
        }

        if (pose is { } fitted && radiograph is { } image)
        {
            try
            {
                SceneDocument scene = fitted.Scene(PoseDials.Technique(fitted.Model, open!.Exposure), LatestPreview.LongestSide);
                var anew = new PoseDials(scene, fitted.State.SpacingMm * image.Columns / scene.Receptor.WidthMm);
                anew.Take(dials);
                (dials, unseen) = (anew, null);
            }
            catch (UnreadableSceneException error)
            {
                (dials, unseen) = (null, $"The phantom cannot be drawn in this position: {error.Reason}");
            }
        }
        else
        {
            (dials, look, dose, unseen, relationsNow) = (null, null, null, null, new Dictionary<string, RelationResult>());
        }

        SetLandmarks();
        Look();
        StateHasChanged();
    }

    /// <summary>Tells the pose with the image, or that of the marks alone.</summary>
    private void ShowByImage(bool byImage)
    {
        if (refinement is not { Helped: true } found || fit?.Value is not { } marks)
        {
            return;
        }

        (isByImage, pose, plan) = byImage ? (true, found.Fit, imagePlan) : (false, marks, marksPlan);
        ShowPose();
    }

    /// <summary>Asks for the picture of where the phantom lies now.</summary>
    private void Look()
    {
        if (pose is not { } fitted || dials is not { } set)
        {
            return;
        }

        try
        {
            PoseState state = StateNow;
            relationsNow = PosePlanner.RelationsAt(fitted, open!.Projection!, state).ToDictionary(result => result.RelationId, StringComparer.Ordinal);
            SceneDocument scene = fitted.SceneAt(state, PoseDials.Technique(fitted.Model, open.Exposure), LatestPreview.LongestSide);
            SceneDocument shown = set.On(scene);
            asked.AddOrUpdate(shown, new Asked(fitted, state, set.IsChanged));
            looks!.Ask(shown);
            unseen = null;
        }
        catch (UnreadableSceneException error)
        {
            unseen = $"The phantom cannot be drawn in this position: {error.Reason}";
        }
    }

    private Task ShowAsync(SceneDocument scene, Shown? made, string? reason) => InvokeAsync(async () =>
    {
        if (isLeft || pose is null)
        {
            return;
        }

        unseen = reason is null ? null : $"This is not exposed: {reason} The picture shows what came before.";
        if (made is not null)
        {
            look = made;
        }

        StateHasChanged();
        if (made is not null)
        {
            await DrawAsync(made);
        }
    });

    /// <summary>Draws the phantom of a scene, away from the page's thread: in the radiograph's own greys, found where it lay and kept for every other pose, so that only what is set changes.</summary>
    private Shown Draw(SceneDocument scene, CancellationToken stop)
    {
        if (!asked.TryGetValue(scene, out Asked? of) || radiograph is not { } image)
        {
            throw new OperationCanceledException("Nobody asks for this scene any more.");
        }

        scaled ??= PoseImage.Of(image, LatestPreview.LongestSide);
        if (tone is null || !of.IsSetOtherwise)
        {
            PosePicture picture = PosePicture.Draw(of.Fit, of.State, scaled, null, tone, null, LatestPreview.LongestSide, cancellation: stop);
            tone ??= picture.Tone;
            if (!of.IsSetOtherwise)
            {
                return new Shown(picture.Grey, PoseContours.Of(of.Fit, of.State, withSkin: false));
            }
        }

        LabLook look = Lab.Look(scene, LatestPreview.LongestSide, cancellation: stop);
        byte[] greys = look.Grey.Samples.ToArray();
        for (int place = 0; place < greys.Length; place++)
        {
            greys[place] = tone?.Of(greys[place]) ?? greys[place];
        }

        // The tube may stand elsewhere: outlines of the pose alone would lie beside what is drawn.
        return new Shown(new Raster<byte>(look.Grey.Rows, look.Grey.Columns, greys).AsReadOnly(), []);
    }

    /// <summary>Matches the phantom's outlines to the image's edges, and says what that moved or why the marks' pose stands.</summary>
    private async Task RefineAsync()
    {
        if (fit?.Value is not { } marks || radiograph is not { } image || open is not { } at || refining is not null)
        {
            return;
        }

        reading?.Act();
        refining = 0;
        StateHasChanged();
        try
        {
            var progress = new Progress<double>(share => _ = InvokeAsync(() =>
            {
                if (refining is not null)
                {
                    refining = (int)(100 * share);
                    StateHasChanged();
                }
            }));
            (PoseRefinement Found, PosePlan? Plan) made = await Task.Run(() =>
            {
                PoseRefinement found = PoseRefiner.Refine(marks, PoseImage.Of(image, RefineSide), null, progress, leaving.Token);
                return (found, found.Helped ? PosePlanner.Plan(found.Fit, at.Projection!) : null);
            });
            if (!isLeft && ReferenceEquals(marks, fit?.Value))
            {
                (refinement, imagePlan) = made;
                ShowByImage(true);
            }
        }
        catch (UnreadableSceneException error)
        {
            unseen = $"The phantom cannot be drawn in this position: {error.Reason}";
        }
        catch (OperationCanceledException) when (isLeft)
        {
            // The reader went on: nobody waits for it.
        }
        finally
        {
            refining = null;
            StateHasChanged();
        }
    }

    private async Task DrawAsync(Shown made)
    {
        if (module is null || isLeft || radiograph is not { } image)
        {
            return;
        }

        if (!isImageDrawn)
        {
            isImageDrawn = true;
            GreyPicture grey = await Task.Run(() => NumberedMarks.Grey(image, open!.Measurements, LatestPreview.LongestSide));
            await module.InvokeVoidAsync("draw", imageCanvas, grey.Grey.Samples.ToArray(), grey.Grey.Columns, grey.Grey.Rows);
            await module.InvokeVoidAsync("fade", imageCanvas, blend / 100.0);
        }

        await module.InvokeVoidAsync("draw", phantomCanvas, made.Grey.Samples.ToArray(), made.Grey.Columns, made.Grey.Rows);
    }

    private void SlideAsync(ChangeEventArgs change)
    {
        reading?.Act();
        if (int.TryParse(change.Value as string, CultureInfo.InvariantCulture, out int at))
        {
            way = Math.Clamp(at, 0, 100);
            Look();
        }
    }

    private async Task BlendAsync(ChangeEventArgs change)
    {
        if (int.TryParse(change.Value as string, CultureInfo.InvariantCulture, out int at))
        {
            blend = Math.Clamp(at, 0, 100);
            if (module is not null)
            {
                await module.InvokeVoidAsync("fade", imageCanvas, blend / 100.0);
            }
        }
    }

    private void SetDial(LabSetting setting, double value, string? text)
    {
        reading?.Act();
        double before = dials!.Of(setting);
        dials.Set(setting, value);
        try
        {
            SceneDocument scene = dials.On(dials.Start);
            SceneJson.Read(SceneJson.Write(scene), scene.Id);
            (faultKey, fault, typed) = (null, null, null);
            Look();
        }
        catch (UnreadableSceneException error)
        {
            dials.Set(setting, before);
            (faultKey, fault, typed) = (setting.Key, error.Reason, text ?? LabSetting.Written(value));
        }
    }

    /// <summary>Says what the exposure that is set gives more or less than the one it starts from; made when a slider is let go, since it takes a whole preview.</summary>
    private async Task SayDoseAsync()
    {
        int mine = ++dosing;
        if (dials is not { IsChanged: true } set || pose is not { } fitted || open is not { } at)
        {
            dose = null;
            return;
        }

        try
        {
            SceneDocument scene = fitted.SceneAt(StateNow, PoseDials.Technique(fitted.Model, at.Exposure), DoseSide);
            string said = await Task.Run(() => LabComparison.DoseSentence(Lab.Preview(scene, DoseSide).Truth, Lab.Preview(set.On(scene), DoseSide).Truth));
            dose = mine == dosing ? said : dose;
        }
        catch (UnreadableSceneException)
        {
            dose = null;
        }
    }

    private async Task TypeDialAsync(LabSetting setting, string text)
    {
        TypeDial(setting, text);
        await SayDoseAsync();
    }

    private void TypeDial(LabSetting setting, string text)
    {
        if (double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value))
        {
            SetDial(setting, value, text);
        }
        else
        {
            (faultKey, fault, typed) = (setting.Key, "a number is needed.", text);
        }
    }

    private void ResetDials()
    {
        dials!.Reset();
        dose = null;
        (faultKey, fault, typed) = (null, null, null);
        Look();
    }

    // Called on the writer's thread: only takes note.
    private void OnNews(Guid id, CaseEvent what, int version)
    {
        if (id == Id && !isLeft && !isLoading && (what == CaseEvent.Deleted || version > (open?.Record.Version ?? int.MaxValue)))
        {
            _ = InvokeAsync(() => FollowAsync(what, version));
        }
    }

    /// <summary>Shows what another window changed.</summary>
    private async Task FollowAsync(CaseEvent what, int version)
    {
        await oneAtATime.WaitAsync();
        try
        {
            if (isLeft || failure is not null || open is not { } held || (what != CaseEvent.Deleted && held.Record.Version >= version))
            {
                return;
            }

            open = await Cases.OpenAsync(Id);
            keptLine = open.Record.UndoLabel is { } label && open.Record.AnswerStep != held.Record.AnswerStep ? $"another window: {label}" : "changed in another window";
            await AfterChangeAsync();
        }
        catch (CaseGoneException error)
        {
            failure = error.Message;
        }
        catch (Exception error) when (error is not OperationCanceledException)
        {
            Log.LogError(error, "A change of another window could not be shown.");
        }
        finally
        {
            oneAtATime.Release();
            StateHasChanged();
        }
    }

    // The browser's own choice of who reads here may arrive after the case, and may be changed in another window of it.
    private void OnReader() => _ = InvokeAsync(async () =>
    {
        if (!isLeft && !isLoading && Reader.Id != lookedAs && (closed is not null || own is not null || await Readings.MayBeBlindAsync(Id)))
        {
            await LookAgainAsync();
        }
    });

    private void OnReading(Guid caseId)
    {
        if (!isLeft && !isLoading && caseId == (closed?.CaseId ?? own?.CaseId ?? Id))
        {
            _ = InvokeAsync(LookAgainAsync);
        }
    }

    /// <summary>Another reader, or another state of the readings: what may be shown is found out anew.</summary>
    private async Task LookAgainAsync()
    {
        if (isLeft || isLoading)
        {
            return;
        }

        bool isShown = open is not null;
        bool mayBeShown = own is { } mine
            ? await Readings.FindAsync(Id) is { IsFinished: false } && mine.Reader.Id == Reader.Id
            : closed?.Reading is null && !(await Readings.OfCaseAsync(Id, Reader.Id)).IsBlind;
        if (isShown != mayBeShown || Reader.Id != lookedAs)
        {
            await LoadAsync();
            StateHasChanged();
        }
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        isLeft = true;
        News.Happened -= OnNews;
        Reader.Changed -= OnReader;
        Readings.Changed -= OnReading;
        looks?.Dispose();
        await leaving.CancelAsync();
        leaving.Dispose();
        try
        {
            if (reading is { } counted && counted.Counted - keptTime >= TimeSpan.FromSeconds(1))
            {
                await Cases.AddReadingTimeAsync(Id, counted.Counted - keptTime);
            }
        }
        catch (Exception error) when (error is not OperationCanceledException)
        {
            Log.LogError(error, "The time worked could not be kept.");
        }

        try
        {
            await StopAsync();
        }
        catch (JSDisconnectedException)
        {
            // The page is gone, and its keys with it.
        }

        self?.Dispose();
    }

    private async Task StopAsync()
    {
        if (keys is { } started)
        {
            keys = null;
            await started.InvokeVoidAsync("stop");
            await started.DisposeAsync();
        }

        if (module is { } drawing && keyModule is { } listening)
        {
            (module, keyModule) = (null, null);
            await drawing.DisposeAsync();
            await listening.DisposeAsync();
        }
    }
}
