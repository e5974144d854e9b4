using System.ComponentModel;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Imaging;
using Hotlight.Measure.Landmarks;
using Hotlight.Poses;
using Hotlight.Poses.Proposal;
using Hotlight.Positioning;
using Hotlight.Simulation.Scene;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.Positions;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight pose [FILE] --projection ID [--landmarks FILE | --propose] [--side R|L] [--snap MM] [--match] [--picture PNG] [--json].</summary>
internal sealed class PoseCommand : Command<PoseCommand.Settings>
{
    private const int LabelWidth = 16;
    private const int PointWidth = 30;

    // Pixels along the longer side that edges are looked for on, as on the bench.
    private const int MatchSide = 1000;

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        NewLine = "\n",
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.Projection is null)
        {
            throw new RefusedException(Texts.Get("pose.refused.projection"));
        }

        Projection projection = Projections.Find(settings.Projection, settings.CataloguePath);
        PoseModel model = PoseModels.For(projection.Id) ?? throw new RefusedException(Texts.Get("pose.refused.model", projection.Id, string.Join(", ", PoseModels.All.Select(each => each.ProjectionId))));
        if (settings.Propose && settings.LandmarksPath is not null)
        {
            throw new RefusedException(Texts.Get("pose.refused.both"));
        }

        if (settings.LandmarksPath is null && !settings.Propose)
        {
            List(model, projection);
            return HotlightCommandLine.Done;
        }

        if (settings.File is null)
        {
            throw new RefusedException(Texts.Get("pose.refused.file"));
        }

        try
        {
            Fit(settings, settings.File, model, projection, cancellationToken);
            return HotlightCommandLine.Done;
        }
        catch (Exception error) when (error is UnreadableImageException or UnreadableLandmarksException)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static void Fit(Settings settings, string file, PoseModel model, Projection projection, CancellationToken cancellation)
    {
        double? reach = MeasureSettings.Number("--snap", settings.SnapMm, 0.1, 20, 2);
        if (settings.Side is not (null or "R" or "L"))
        {
            throw new RefusedException(Texts.Get("pose.refused.side", settings.Side));
        }

        PoseOptions options = new()
        {
            TubeTowardTopDegrees = MeasureSettings.Number("--tube-up", settings.TubeUp, -45, 45, 6) ?? 0,
            TubeTowardRightDegrees = MeasureSettings.Number("--tube-right", settings.TubeRight, -45, 45, 6) ?? 0,
        };
        MeasuredRadiograph measured = MeasureWorkflow.Run(file, settings.ToOptions(), cancellation);
        Radiograph radiograph = measured.Radiograph;
        LandmarkProposal? proposal = settings.Propose ? Proposed(radiograph, projection) : null;
        MarkedLandmarks marked = proposal?.Accept([.. proposal.Points.Where(point => point.Place.IsMeasured).Select(point => point.Id)])
            ?? LandmarkFiles.Read(settings.LandmarksPath!, projection, radiograph.ReceptorSpacing, withPosePoints: true);
        if (reach is { } mm)
        {
            marked = PositionWorkflow.Snap(radiograph, marked, PoseModels.WithPosePoints(projection), mm);
        }

        string? side = settings.Side ?? (radiograph.Exposure.Laterality is "R" or "L" ? radiograph.Exposure.Laterality : null);
        Figure<PoseFit> fit = PoseFitter.Fit(model, marked, PositionWorkflow.GeometryOf(radiograph.Exposure, measured.Document), side, options, projection);
        int steps = (settings.Match ? 1 : 0) + (settings.PicturePath is null ? 0 : 1);
        using ProgressLine progress = ProgressLine.ForSteps(Terminal.Errors, Math.Max(1, steps));
        PoseRefinement? match = settings.Match && fit.Value is { } marksFit ? Matched(marksFit, radiograph, progress, cancellation) : null;
        fit = match is null ? fit : Figure<PoseFit>.Measured(match.Fit);
        PosePlan? plan = fit.IsMeasured ? PosePlanner.Plan(fit.Value, projection) : null;
        if (settings.PicturePath is { } path)
        {
            progress.Report(steps - 1, "--picture");
            Draw(path, measured, fit, plan, proposal is not null);
        }

        progress.Dispose();

        if (settings.Json)
        {
            PoseDocument document = Document(Path.GetFileName(file), projection, fit, plan);
            Terminal.Output.WriteLine(JsonSerializer.Serialize(
                document with
                {
                    Proposed = proposal is null ? null : marked.Points.Keys,
                    Caution = proposal is null ? document.Caution : Said(proposal) + " " + document.Caution,
                    Match = match is null ? null : new MatchRow(match.Helped, match.Said, Known(match.HeldBackBeforeMm), Known(match.HeldBackAfterMm), match.Edges, match.Looked, match.Angles),
                },
                Json));
            return;
        }

        Terminal.Output.WriteLine(Texts.Get("position.title", Path.GetFileName(file), projection.Name));
        Terminal.Output.WriteLine();
        if (proposal is not null)
        {
            Block(Texts.Get("pose.label.proposed"), Said(proposal));
            Terminal.Output.WriteLine();
        }

        if (fit.IsMeasured)
        {
            Say(fit.Value);
            if (match is not null)
            {
                Terminal.Output.WriteLine();
                Block(Texts.Get("pose.label.match"), match.Said);
            }

            Say(plan!);
        }
        else
        {
            Block(Texts.Get("position.cannot-tell"), fit.Why);
        }

        Terminal.Output.WriteLine();
        Block(string.Empty, Texts.Get("pose.caution"));
        Block(string.Empty, Texts.Get("caution.safety"));
    }

    private static double? Known(double figure) => double.IsNaN(figure) ? null : figure;

    private static LandmarkProposal Proposed(Radiograph radiograph, Projection projection)
    {
        Figure<LandmarkProposal> found = LandmarkProposer.Propose(radiograph, projection.Id);
        return found.Value ?? throw new RefusedException(found.Why!);
    }

    private static string Said(LandmarkProposal proposal)
        => Texts.Get("pose.proposed", Texts.Number(proposal.Points.Count(point => point.Place.IsMeasured), "0"), Texts.Number(proposal.Points.Count, "0"));

    private static PoseRefinement Matched(PoseFit fit, Radiograph radiograph, ProgressLine progress, CancellationToken cancellation)
    {
        progress.Report(0, "--match");
        try
        {
            return PoseRefiner.Refine(fit, PoseImage.Of(radiograph, MatchSide), null, new Told<double>(share => progress.Report(0, "--match", share)), cancellation);
        }
        catch (UnreadableSceneException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static void Say(PoseFit fit)
    {
        Block(Texts.Get("pose.label.turn"), Angle(fit.Turn));
        Block(Texts.Get("pose.label.tilt"), Angle(fit.Tilt));
        Block(Texts.Get("pose.label.lean"), Angle(fit.Lean));
        foreach (PoseJoint joint in fit.Joints)
        {
            Block(Texts.Get("pose.label.joint"), Texts.Get("pose.joint.figure", PoseText.Joint(joint.Name), Angle(joint.Angle)));
        }

        Block(Texts.Get("pose.label.size"), Texts.Get("pose.size.figure", Texts.Number(fit.SizePercent, "0"), Texts.Number(fit.SizeUncertaintyPercent, "0")));
        Block(Texts.Get("pose.label.height"), Texts.Get("pose.height.figure", Texts.Number(fit.Height.Mm, "0"), Texts.Number(fit.Height.UncertaintyMm, "0")));
        Terminal.Output.WriteLine();
        Terminal.Output.WriteLine(Texts.Get("pose.residuals"));
        foreach (PoseResidual residual in fit.Residuals)
        {
            string words = Texts.Get("pose.residual", Texts.Number(residual.DistanceMm, "0.0"), Texts.Number(residual.Deviations, "0.0"));
            foreach (string row in TextBlock.Hanging(residual.Id, PointWidth, words))
            {
                Terminal.Output.WriteLine(row);
            }
        }

        foreach (string note in fit.Notes)
        {
            Terminal.Output.WriteLine();
            Block(string.Empty, note);
        }
    }

    private static void Say(PosePlan plan)
    {
        Terminal.Output.WriteLine();
        if (plan.Moves.Count == 0)
        {
            Block(Texts.Get("pose.label.move"), Texts.Get("pose.move.none"));
        }

        foreach (PoseMove move in plan.Moves)
        {
            Block(Texts.Get("pose.label.move"), string.Join(" ", [.. move.Words, move.Amount]));
        }

        if (plan.Moves.Count > 0)
        {
            Block(string.Empty, Texts.Get("pose.move.caution"));
        }

        foreach (string note in plan.Notes)
        {
            Terminal.Output.WriteLine();
            Block(string.Empty, note);
        }
    }

    private static void Draw(string path, MeasuredRadiograph measured, Figure<PoseFit> fit, PosePlan? plan, bool isProposed)
    {
        if (!path.EndsWith(".png", StringComparison.OrdinalIgnoreCase))
        {
            throw new RefusedException(Texts.Get("pose.refused.picture", path));
        }

        if (plan is null)
        {
            throw new RefusedException(fit.Why!);
        }

        Figure<PoseStrip> strip = PoseStrip.Of(fit.Value!, plan, isProposed);
        if (!strip.IsMeasured)
        {
            throw new RefusedException(strip.Why);
        }

        try
        {
            WholeFile.Write(path, strip.Value.Draw(NumberedMarks.Grey(measured.Radiograph, measured.Document, PoseStrip.LongestSide).Grey).Png);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"{path}: {Terminal.Reason(error)}.");
        }
    }

    private static string Angle(Figure<PoseAngle> angle)
        => angle.IsMeasured ? Texts.Get("pose.angle", Texts.Number(Math.Round(angle.Value.Degrees, 1, MidpointRounding.AwayFromZero) + 0.0, "0.0"), Texts.Number(Math.Max(0.1, angle.Value.UncertaintyDegrees), "0.0")) : angle.Why;

    private static PoseDocument Document(string file, Projection projection, Figure<PoseFit> figure, PosePlan? plan)
        => figure.IsMeasured
            ? new PoseDocument(file, projection.Id, Texts.Get("pose.caution") + " " + Texts.Get("caution.safety"))
            {
                Side = figure.Value.Side,
                IsMirrored = figure.Value.IsMirrored,
                Turn = figure.Value.Turn,
                Tilt = figure.Value.Tilt,
                Lean = figure.Value.Lean,
                Joints = figure.Value.Joints,
                Right = figure.Value.Right,
                Down = figure.Value.Down,
                Height = figure.Value.Height,
                SizePercent = figure.Value.SizePercent,
                SizeUncertaintyPercent = figure.Value.SizeUncertaintyPercent,
                State = figure.Value.State,
                Alternative = figure.Value.Alternative,
                Residuals = figure.Value.Residuals,
                Notes = figure.Value.Notes,
                Parameters = figure.Value.ParameterNames,
                Covariance = figure.Value.Covariance,
                Moves = plan?.Moves,
                Relations = plan?.Relations.Select(relation => new RelationOnTheWay(relation.Relation.Id, relation.AsItLies.State, relation.AsItShould.State, relation.RightFrom)),
                Unmoved = plan?.Notes,
            }
            : new PoseDocument(file, projection.Id, Texts.Get("caution.safety")) { Why = figure.Why };

    private static void List(PoseModel model, Projection projection)
    {
        Terminal.Output.WriteLine(Texts.Get("pose.points", projection.Id, projection.Name, Texts.Number(PoseFitter.LeastPoints, "0")));
        var example = new MarkedLandmarks(projection.Id, new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal) { [model.Points[0].Id] = LandmarkPoint.At(new PixelPoint(X: 812.5, Y: 640), 5) });
        Terminal.Output.WriteLine(LandmarksJson.Write(example).TrimEnd());
        Projection withPoints = PoseModels.WithPosePoints(projection);
        foreach (PosePoint point in model.Points)
        {
            Landmark landmark = withPoints.Landmarks.Single(each => each.Id == point.Id);
            foreach (string row in TextBlock.Hanging(landmark.Id, PointWidth, Texts.Get("position.landmark", landmark.Name, landmark.Where)))
            {
                Terminal.Output.WriteLine(row);
            }
        }
    }

    private static void Block(string label, string text)
    {
        foreach (string row in TextBlock.Hanging(label, LabelWidth, text))
        {
            Terminal.Output.WriteLine(row);
        }
    }

    internal sealed class Settings : MeasureSettings, ILanguageSettings
    {
        [CommandArgument(0, "[FILE]")]
        [Description("The radiograph: DICOM (DX, CR, secondary capture), PNG, TIFF or JPEG.")]
        public string? File { get; init; }

        [CommandOption("-p|--projection <ID>")]
        [Description("The projection, such as knee-lateral; without --landmarks the points to mark are listed.")]
        public string? Projection { get; init; }

        [CommandOption("-l|--landmarks <FILE>")]
        [Description("The marked points (JSON), in pixels of the image; the file that 'hotlight position' takes.")]
        public string? LandmarksPath { get; init; }

        [CommandOption("--propose")]
        [Description("In place of --landmarks: take the points that a small network proposes and nobody has looked at; the output says so (chest-pa, elbow-lateral, ankle-ap, ankle-mortise, knee-ap).")]
        public bool Propose { get; init; }

        [CommandOption("--side <SIDE>")]
        [Description("The side, R or L; else the header's, else the one that fits.")]
        public string? Side { get; init; }

        [CommandOption("--snap <MM>")]
        [Description("Move every mark to the nearest edge within this reach, in mm, such as 2.")]
        public string? SnapMm { get; init; }

        [CommandOption("--tube-up <DEGREES>")]
        [Description("Angle of the tube about the image's level axis, in degrees; positive sends the central ray towards the image's top.")]
        public string? TubeUp { get; init; }

        [CommandOption("--tube-right <DEGREES>")]
        [Description("Angle of the tube about the image's upright axis, in degrees; positive sends the central ray towards the right.")]
        public string? TubeRight { get; init; }

        [CommandOption("--match")]
        [Description("Lay the phantom's contours on the image's edges, never far from the points; angles and moves are then those with the image, or a sentence says why not.")]
        public bool Match { get; init; }

        [CommandOption("--picture <PNG>")]
        [Description("Write the radiograph beside the phantom as the part lay and as it should lie, a simulation with a generic anatomy.")]
        public string? PicturePath { get; init; }

        [CommandOption("--language <CODE>")]
        [Description("Language of the texts: en, de, es, or one of the folder that the environment variable HOTLIGHT_LANGUAGE_FOLDER names; else en.")]
        public string? Language { get; init; }

        [CommandOption("--json")]
        [Description("Print the pose as one JSON document.")]
        public bool Json { get; init; }

        public override string? ProjectionId => Projection;
    }

    private sealed record PoseDocument(string File, string Projection, string Caution)
    {
        public string Schema { get; } = "hotlight.pose/1";

        public string? Why { get; init; }

        public string? Side { get; init; }

        public bool? IsMirrored { get; init; }

        public Figure<PoseAngle>? Turn { get; init; }

        public Figure<PoseAngle>? Tilt { get; init; }

        public Figure<PoseAngle>? Lean { get; init; }

        public IReadOnlyList<PoseJoint>? Joints { get; init; }

        public PoseLength? Right { get; init; }

        public PoseLength? Down { get; init; }

        public PoseLength? Height { get; init; }

        public double? SizePercent { get; init; }

        public double? SizeUncertaintyPercent { get; init; }

        public PoseState? State { get; init; }

        public PoseAlternative? Alternative { get; init; }

        public IReadOnlyList<PoseResidual>? Residuals { get; init; }

        public IReadOnlyList<string>? Notes { get; init; }

        public IReadOnlyList<string>? Parameters { get; init; }

        public IReadOnlyList<IReadOnlyList<double>>? Covariance { get; init; }

        public IReadOnlyList<PoseMove>? Moves { get; init; }

        public IEnumerable<RelationOnTheWay>? Relations { get; init; }

        public IEnumerable<string>? Proposed { get; init; }

        public MatchRow? Match { get; init; }

        public IReadOnlyList<string>? Unmoved { get; init; }
    }

    // What matching to the image did.
    private sealed record MatchRow(bool Helped, string Said, double? HeldBackBeforeMm, double? HeldBackAfterMm, int Edges, int Looked, IReadOnlyList<RefinedAngle> Angles);

    // What a relation says of the phantom as it lies and as it should lie, and the share of the way from which on it holds.
    private sealed record RelationOnTheWay(string Relation, RelationState AsItLies, RelationState AsItShould, double? RightFrom);
}
