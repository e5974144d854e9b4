using System.Reflection;
using System.Text.Json;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;
using Hotlight.Simulation.Phantom;

namespace Hotlight.Poses;

/// <summary>From a fitted pose to the smallest set of moves after which every relation of the projection holds.</summary>
/// <remarks>
/// A move brings one axis or joint all the way to where the projection demands it; every set of them is tried on the phantom's own points, by the rules that the checklist's relations are decided by.
/// Of the sets that leave fewest relations missed the smallest is taken, among those of one size the one that turns least. Method: docs/methods/pose-moves.md.
/// </remarks>
public static class PosePlanner
{
    // What nobody can set on a patient is not asked for; a rule of this project.
    private const double LeastDegrees = 1.5;
    private const double LeastReachMm = 3;

    // The phantom's own points have no error of marking; a relation exactly on its limit holds.
    private const double ExactPixels = 0.001;
    private const int Steps = 50;

    // What a range that is open at one side is taken to span, in mm or degrees, where relations are weighed against each other; a rule of this project.
    private const double UsualWidth = 10;

    private const string Turn = "turn";
    private const string Tilt = "tilt";

    private static readonly Lazy<IReadOnlyList<Limb>> Limbs = new(LoadLimbs);

    /// <summary>What to move.</summary>
    /// <param name="fit">The fitted pose.</param>
    /// <param name="projection">The catalogue's entry that the relations come from.</param>
    /// <exception cref="ArgumentException">The projection is not that of the fit.</exception>
    public static PosePlan Plan(PoseFit fit, Projection projection)
    {
        ArgumentNullException.ThrowIfNull(fit);
        ArgumentNullException.ThrowIfNull(projection);
        if (projection.Id != fit.ProjectionId)
        {
            throw new ArgumentException($"The pose is of '{fit.ProjectionId}', not of '{projection.Id}'.", nameof(projection));
        }

        List<Axis> axes = [.. Axes(fit)];
        List<Axis> movable = [.. axes.Where(axis => axis.Known is not null && Math.Abs(axis.Ideal - axis.Degrees) >= LeastDegrees)];

        // What the phantom misses where it lies as demanded is its own shape, and decides nothing.
        var own = RelationsAt(fit, projection, With(fit.State, axes)).Where(result => result.State != RelationState.Holds).Select(result => result.RelationId).ToHashSet(StringComparer.Ordinal);
        var best = (Missed: int.MaxValue, Count: 0, Degrees: 0.0, Set: Array.Empty<Axis>());
        for (int set = 0; set < 1 << movable.Count; set++)
        {
            Axis[] chosen = [.. movable.Where((_, index) => (set & (1 << index)) != 0)];
            int missed = RelationsAt(fit, projection, With(fit.State, chosen)).Count(result => result.State != RelationState.Holds && !own.Contains(result.RelationId));
            double degrees = chosen.Sum(axis => Math.Abs(axis.Ideal - axis.Degrees));
            if ((missed, chosen.Length, degrees).CompareTo((best.Missed, best.Count, best.Degrees)) < 0)
            {
                best = (missed, chosen.Length, degrees, chosen);
            }
        }

        PoseState corrected = With(fit.State, best.Set);
        Axis[] moved = [.. best.Set.OrderByDescending(axis => Math.Abs(axis.Ideal - axis.Degrees))];
        List<PoseRelation> relations = [.. Along(fit, projection, corrected).Where(relation => !own.Contains(relation.Relation.Id))];
        var notes = new List<string>();
        bool isUntold = axes.Any(axis => axis.Known is null);
        notes.AddRange(relations.Where(relation => relation.RightFrom is null).Select(relation => isUntold ? Texts.Get("pose.plan.stays-untold", relation.Relation.Question) : Texts.Get("pose.plan.stays", relation.Relation.Question)));
        notes.AddRange(projection.Relations.Where(relation => own.Contains(relation.Id)).Select(relation => Texts.Get("pose.plan.own", relation.Question)));
        notes.AddRange(axes.Where(axis => axis.Known is null).Select(axis => Texts.Get("pose.plan.untold", axis.Why)));
        return new PosePlan
        {
            Corrected = corrected,
            Moves = [.. moved.Select(axis => Move(fit, projection, axis, moved, own))],
            Relations = relations,
            Notes = notes,
        };
    }

    /// <summary>A pose between two of one fit.</summary>
    /// <param name="lies">The one.</param>
    /// <param name="should">The other.</param>
    /// <param name="share">How far on the way, 0 to 1.</param>
    /// <exception cref="ArgumentOutOfRangeException">The share lies outside 0 to 1.</exception>
    public static PoseState Between(PoseState lies, PoseState should, double share)
    {
        ArgumentNullException.ThrowIfNull(lies);
        ArgumentNullException.ThrowIfNull(should);
        Preconditions.Within(share, 0, 1);
        double At(double one, double other) => one + (share * (other - one));
        return lies with
        {
            TurnDegrees = At(lies.TurnDegrees, should.TurnDegrees),
            TiltDegrees = At(lies.TiltDegrees, should.TiltDegrees),
            LeanDegrees = At(lies.LeanDegrees, should.LeanDegrees),
            Joints = lies.Joints.ToDictionary(joint => joint.Key, joint => At(joint.Value, should.Joints[joint.Key]), StringComparer.Ordinal),
        };
    }

    /// <summary>What the projection's relations say of the phantom at a pose.</summary>
    /// <param name="fit">The fit that the pose belongs to.</param>
    /// <param name="projection">The catalogue's entry.</param>
    /// <param name="state">The pose.</param>
    /// <returns>The relations whose points the phantom has.</returns>
    public static IReadOnlyList<RelationResult> RelationsAt(PoseFit fit, Projection projection, PoseState state)
        => [.. FindingsAt(fit, projection, state).Select(finding => finding.Result!)];

    private static IEnumerable<RelationFinding> FindingsAt(PoseFit fit, Projection projection, PoseState state)
    {
        ArgumentNullException.ThrowIfNull(fit);
        ArgumentNullException.ThrowIfNull(projection);
        ArgumentNullException.ThrowIfNull(state);
        var marks = new MarkedLandmarks(projection.Id, fit.Places(state).Where(place => projection.Landmarks.Any(landmark => landmark.Id == place.Key)).ToDictionary(place => place.Key, place => LandmarkPoint.At(place.Value, ExactPixels), StringComparer.Ordinal));
        PoseSetting setting = fit.Problem.Setting;
        var geometry = new ExposureGeometry
        {
            Spacing = new PixelSpacing(state.SpacingMm, state.SpacingMm),
            Columns = setting.Columns,
            Rows = setting.Rows,
            SourceImageDistanceMm = state.SourceHeightMm,
            RecordedMagnification = Math.Clamp(state.SourceHeightMm / (state.SourceHeightMm - state.CentreHeightMm), 1, 3),
            IsChild = setting.IsChild,
        };
        return RelationMeasurer.Measure(projection, marks, geometry).Where(finding => finding.Result is not null).Select(finding => finding with { Result = Exact(finding.Relation.Measure!, finding.Result!) });
    }

    // The magnification's own uncertainty is the same all along the way; the phantom's figure is compared as it is.
    private static RelationResult Exact(RelationMeasure rule, RelationResult result)
    {
        bool isBelow = rule.Accept.From is { } low && result.Value < low, isAbove = rule.Accept.To is { } high && result.Value > high;
        return result with
        {
            State = isBelow || isAbove ? RelationState.Missed : RelationState.Holds,
            MissId = isBelow ? rule.Below : isAbove ? rule.Above : null,
        };
    }

    private static List<PoseRelation> Along(PoseFit fit, Projection projection, PoseState corrected)
    {
        List<RelationFinding> first = [.. FindingsAt(fit, projection, fit.State)];
        var last = FindingsAt(fit, projection, corrected).ToDictionary(finding => finding.Relation.Id, finding => finding.Result!, StringComparer.Ordinal);
        var starts = first.ToDictionary(finding => finding.Relation.Id, _ => (double?)null, StringComparer.Ordinal);
        for (int step = Steps; step >= 0; step--)
        {
            double share = step / (double)Steps;
            var here = RelationsAt(fit, projection, Between(fit.State, corrected, share)).ToDictionary(result => result.RelationId, StringComparer.Ordinal);
            foreach (string id in starts.Keys.ToList())
            {
                // From the end backwards, as long as it holds without a break.
                bool holds = here.TryGetValue(id, out RelationResult? result) && result.State == RelationState.Holds;
                bool unbroken = step == Steps || starts[id] is { } known && Math.Abs(known - ((step + 1) / (double)Steps)) < 1e-9;
                if (holds && unbroken)
                {
                    starts[id] = share;
                }
            }
        }

        return [.. first.Where(finding => last.ContainsKey(finding.Relation.Id)).Select(finding => new PoseRelation(finding.Relation, finding.Result!, last[finding.Relation.Id], starts[finding.Relation.Id]))];
    }

    private static PoseMove Move(PoseFit fit, Projection projection, Axis axis, Axis[] moved, HashSet<string> own)
    {
        // Where nothing but this axis is off, its own misses show; together with the others they may hide.
        PoseState alone = With(fit.State, [.. moved.Where(other => other != axis)]);
        PoseState put = With(fit.State, [axis]);
        var cured = RelationsAt(fit, projection, With(alone, [axis])).Where(result => result.State == RelationState.Holds).ToDictionary(result => result.RelationId, result => result.Value, StringComparer.Ordinal);

        // Of several that it puts right, the one that belongs to the axis says what to do, else the one that it moves most.
        RelationFinding? told = FindingsAt(fit, projection, alone)
                .Where(finding => finding.Result!.State == RelationState.Missed && cured.ContainsKey(finding.Relation.Id) && !own.Contains(finding.Relation.Id))
                .OrderByDescending(finding => Limbs.Value.Any(limb => limb.Projection == fit.ProjectionId && limb.Axis == axis.Name && limb.Relation == finding.Relation.Id))
                .ThenByDescending(finding => Math.Abs(finding.Result!.Value - cured[finding.Relation.Id]) / WidthOf(finding.Relation.Measure!.Accept))
                .FirstOrDefault();
        List<string> words = [.. told is null ? [] : told.Relation.Misses.Where(miss => miss.Id == told.Result!.MissId).Select(miss => miss.Correction)];
        if (words.Count == 0)
        {
            words.Add(MoveWords.Plain(axis.Name, axis.Ideal > axis.Degrees, axis.Ideal, fit.IsMirrored != (fit.Side == "L")));
        }

        PoseReach? reach = ReachOf(fit, put, axis.Name, told?.Relation.Id);
        string degrees = Texts.Get("pose.move.degrees", Texts.Number(Math.Abs(axis.Ideal - axis.Degrees), "0"), Texts.Number(Math.Max(1, axis.Known!.UncertaintyDegrees), "0"));
        string amount = Texts.Get("pose.move.by", degrees);
        if (reach is not null)
        {
            string[] way =
            [
                degrees,
                MoveWords.Place(reach.What),
                Texts.Number(Math.Abs(reach.TowardTubeMm) / 10, Math.Abs(reach.TowardTubeMm) < 20 ? "0.0" : "0"),
                reach.TowardTubeMm > 0 ? Texts.Get("pose.reach.up") : Texts.Get("pose.reach.down"),
            ];
            amount = reach.LimbMm is { } limb ? Texts.Get("pose.move.by-limb", [.. way, Texts.Number(limb / 10, "0")]) : Texts.Get("pose.move.by-place", way);
        }

        return new PoseMove(axis.Name, axis.Degrees, axis.Ideal, axis.Known.UncertaintyDegrees, words, amount, reach);
    }

    /// <summary>The part of the body that a move takes furthest along the beam, against the part's centre.</summary>
    private static PoseReach? ReachOf(PoseFit fit, PoseState put, string axis, string? told)
    {
        IReadOnlyDictionary<string, (double X, double Y, double Z)> before = fit.Problem.Spots(fit.Problem.Parameters(fit.State)), after = fit.Problem.Spots(fit.Problem.Parameters(put));
        PoseReach? furthest = null;
        foreach (Limb limb in Limbs.Value.Where(limb => limb.Projection == fit.ProjectionId && limb.Axis == axis && (limb.Relation is null || told is null || limb.Relation == told)))
        {
            double mm = limb.Point is { } point
                ? after[point].Z - before[point].Z
                : (after[limb.Through!].Z - after[limb.From!].Z - before[limb.Through!].Z + before[limb.From!].Z) * limb.LengthMm!.Value * fit.SizePercent / 100 / Apart(before[limb.From!], before[limb.Through!]);
            if (Math.Abs(mm) >= LeastReachMm && Math.Abs(mm) > Math.Abs(furthest?.TowardTubeMm ?? 0))
            {
                furthest = new PoseReach(limb.What, mm, limb.LengthMm * fit.SizePercent / 100);
            }
        }

        return furthest;
    }

    private static double Apart((double X, double Y, double Z) one, (double X, double Y, double Z) other)
        => Math.Sqrt(((one.X - other.X) * (one.X - other.X)) + ((one.Y - other.Y) * (one.Y - other.Y)) + ((one.Z - other.Z) * (one.Z - other.Z)));

    private static IEnumerable<Axis> Axes(PoseFit fit)
    {
        static Axis Of(string name, double degrees, double ideal, Figure<PoseAngle> figure)
            => new(name, degrees, ideal, figure.IsMeasured ? figure.Value : null, figure.IsMeasured ? string.Empty : figure.Why!);

        PartPhantom phantom = PartPhantoms.ByName(fit.Model.Part);
        PartView view = phantom.View(fit.Model.View);
        yield return Of(Turn, fit.State.TurnDegrees, 0, fit.Turn);
        yield return Of(Tilt, fit.State.TiltDegrees, 0, fit.Tilt);
        foreach (PoseJoint joint in fit.Joints)
        {
            double ideal = view.Joints.TryGetValue(joint.Name, out double demanded) ? demanded : phantom.Joints.First(known => known.Name == joint.Name).DefaultDegrees;
            yield return Of(joint.Name, fit.State.Joints[joint.Name], ideal, joint.Angle);
        }
    }

    private static PoseState With(PoseState state, IReadOnlyList<Axis> moved)
    {
        double Of(string name, double now) => moved.FirstOrDefault(axis => axis.Name == name)?.Ideal ?? now;
        return state with
        {
            TurnDegrees = Of(Turn, state.TurnDegrees),
            TiltDegrees = Of(Tilt, state.TiltDegrees),
            Joints = state.Joints.ToDictionary(joint => joint.Key, joint => Of(joint.Key, joint.Value), StringComparer.Ordinal),
        };
    }

    private static double WidthOf(AcceptedRange accept) => accept is { From: { } low, To: { } high } && high > low ? high - low : UsualWidth;

    /// <summary>The parts of the body that moves of a projection are told by.</summary>
    /// <param name="projectionId">The projection.</param>
    internal static IEnumerable<Limb> LimbsOf(string projectionId) => Limbs.Value.Where(limb => limb.Projection == projectionId);

    private static IReadOnlyList<Limb> LoadLimbs()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("limbs.json")!;
        return JsonSerializer.Deserialize<LimbFile>(stream, new JsonSerializerOptions(JsonSerializerDefaults.Web) { RespectRequiredConstructorParameters = true, RespectNullableAnnotations = true })!.Limbs;
    }

    /// <summary>One axis or joint: where it lies, where the projection demands it, and how well that is known.</summary>
    private sealed record Axis(string Name, double Degrees, double Ideal, PoseAngle? Known, string Why);

    private sealed record LimbFile(IReadOnlyList<Limb> Limbs);
}
