using System.Globalization;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Teaching.Practice;

/// <summary>Says how the lines of the checklist truly stand in an exposure of the phantom lab, from its scene and its truth.</summary>
/// <remarks>Rules and their limits: docs/practice.md. A line that the scene leaves open, or that lies between met and missed, is not told and does not count.</remarks>
public static class SceneReferee
{
    // Rules of the practice, no source: movement that is seen and that is none; mottle that hides detail and that does not; burned-out anatomy.
    private const double MovedMm = 1.2;
    private const double MottleHidesFrom = -6;
    private const double MottleNoneFrom = -2;
    private const double BurnedOutPercent = 2;
    private const double NothingBurnedPercent = 0.1;
    private const double MarkerInsideMm = 6;
    private const double LeanMostDegrees = 4;
    private const double EdgeSeenFromMm = 4;
    private const double EdgeUnseenToMm = 0.5;
    private const double StoutFrom = 1.1;

    /// <summary>From this share of the field's area on that the projection's own field would save, the field is far wider than needed, in percent.</summary>
    public const double FarTooWideFromPercent = 25;

    private const double FarTooWideOfStoutFromPercent = 40;
    private const double AsWideAsNeededToPercent = 12;

    /// <summary>The true lines.</summary>
    /// <param name="view">What is known of the view.</param>
    /// <param name="scene">The scene.</param>
    /// <param name="deviationIndex">The deviation index by construction, IEC 62494-1; null: not known, its lines are not told.</param>
    /// <param name="saturatedPercent">Share of the anatomy at the receptor's limit, in percent; null: not known.</param>
    /// <param name="bands">Bands of the deviation index; null: the fixed ones.</param>
    /// <returns>The lines that are decided, in no order.</returns>
    public static IReadOnlyList<TrueLine> Tell(PracticeView view, SceneDocument scene, double? deviationIndex, double? saturatedPercent, DeviationBands? bands = null)
    {
        ArgumentNullException.ThrowIfNull(view);
        ArgumentNullException.ThrowIfNull(scene);
        var lines = new List<TrueLine>();
        lines.AddRange(Anatomy(view, scene));
        lines.AddRange(Positions(view, scene));
        lines.AddRange(Exposure(deviationIndex, saturatedPercent, bands ?? DeviationBands.Fixed));
        lines.AddRange(Collimation(view, scene));
        double moved = scene.Motion is { } motion ? Math.Sqrt(motion.ShiftMm.Sum(each => each * each)) : 0;
        if (moved == 0)
        {
            lines.Add(Met("sharpness.edges", "The part lay still."));
        }
        else if (moved >= MovedMm)
        {
            lines.Add(Missed("sharpness.edges", $"The part moved by {Number(moved, 1)} mm during the exposure.", "moved"));
        }

        if (Artifact(view, scene) is { } artifact)
        {
            lines.Add(artifact);
        }

        if (Marker(view, scene) is { } marker)
        {
            lines.Add(marker);
        }

        return lines;
    }

    /// <summary>The deviation index that a scene of average build gives by its mAs alone; null where anything else that bears on it differs from the start.</summary>
    /// <param name="view">What is known of the view.</param>
    /// <param name="scene">The scene.</param>
    public static double? PlannedDeviationIndex(PracticeView view, SceneDocument scene)
    {
        ArgumentNullException.ThrowIfNull(view);
        ArgumentNullException.ThrowIfNull(scene);
        SceneDocument start = view.Start(scene.Part!.Side, 1);
        bool isSame = scene.Tube.TubeVoltageKvp == start.Tube.TubeVoltageKvp && scene.Tube.SourceImageDistanceMm == start.Tube.SourceImageDistanceMm
            && scene.Part.Habitus == 1 && scene.Part.Size == "adult" && scene.Grid == start.Grid;
        return isSame ? 10 * Math.Log10(scene.Tube.ExposureMas / start.Tube.ExposureMas) : null;
    }

    /// <summary>Where on the image a line is seen, as outlines in pixels; empty where no place shows it.</summary>
    /// <param name="view">What is known of the view.</param>
    /// <param name="line">The line.</param>
    /// <param name="scene">The scene.</param>
    /// <param name="truth">The exposure's truth.</param>
    /// <param name="spacingMm">Pixel spacing, in mm.</param>
    public static IReadOnlyList<Evidence> Places(PracticeView view, TrueLine line, SceneDocument scene, SceneTruth truth, double spacingMm)
    {
        ArgumentNullException.ThrowIfNull(view);
        ArgumentNullException.ThrowIfNull(line);
        ArgumentNullException.ThrowIfNull(scene);
        ArgumentNullException.ThrowIfNull(truth);
        Preconditions.AboveZero(spacingMm);
        switch (FaultKinds.Of(line.LineId))
        {
            case FaultKind.Position when view.Positions.FirstOrDefault(each => each.Line == line.LineId) is { } position:
                return Rings(EvidenceKind.SharpEdge, truth.Landmarks.Where(landmark => position.Landmarks.Contains(landmark.Name) && landmark.InsideField).Select(landmark => landmark.Pixel), 4 / spacingMm);
            case FaultKind.Clipping when view.Anatomy.FirstOrDefault(each => each.Line == line.LineId) is { } anatomy && truth.FieldOutline.Count == 4 && line.IsFault:
                return [new Evidence { Kind = EvidenceKind.CutSide, Closed = false, Outlines = [Side(truth.FieldOutline, Mirrored(anatomy.Edge, view.LabPart.IsPaired && scene.Part!.Side == "L"))] }];
            case FaultKind.Artifact:
                return Rings(EvidenceKind.Artifact, truth.Artifacts.Select(each => each.Center).OfType<PixelPoint>(), 10 / spacingMm);
            case FaultKind.Collimation when truth.FieldOutline.Count > 2:
                return [new Evidence { Kind = EvidenceKind.Field, Closed = true, Outlines = [truth.FieldOutline] }];
            case FaultKind.Marker when truth.Marker is { } marker:
                return Rings(EvidenceKind.SideMarker, [marker.Center], 10 / spacingMm);
            default:
                return [];
        }
    }

    private static IEnumerable<TrueLine> Anatomy(PracticeView view, SceneDocument scene)
    {
        if (Math.Abs(scene.Part!.LeanDegrees) > LeanMostDegrees || scene.Part.Size != "adult")
        {
            yield break;
        }

        FieldEdges field = FieldEdges.Of(scene);
        foreach (PracticeAnatomy each in view.Anatomy)
        {
            double edge = field.At(each.Edge);
            double outwards = Math.Sign(each.WholeBeyondMm - each.CutBeforeMm);
            if ((edge - each.WholeBeyondMm) * outwards >= 0)
            {
                yield return Met(each.Line, "All of it lies in the field.");
            }
            else if ((edge - each.CutBeforeMm) * outwards <= 0)
            {
                yield return Missed(each.Line, $"The field ends {Number(Math.Abs(edge - each.WholeBeyondMm), 0)} mm before it is in whole.", "cut");
            }
        }
    }

    private static IEnumerable<TrueLine> Collimation(PracticeView view, SceneDocument scene)
    {
        if (scene.Part!.Size != "adult")
        {
            yield break;
        }

        FieldEdges field = FieldEdges.OnReceptor(scene);
        double[] inside =
        [
            field.LeftMm + (scene.Receptor.WidthMm / 2), (scene.Receptor.WidthMm / 2) - field.RightMm,
            field.TopMm + (scene.Receptor.HeightMm / 2), (scene.Receptor.HeightMm / 2) - field.BottomMm,
        ];
        int seen = inside.Count(mm => mm >= EdgeSeenFromMm), perhaps = inside.Count(mm => mm is > EdgeUnseenToMm and < EdgeSeenFromMm);
        int least = JudgementRules.Default.CollimatorEdges;
        if (seen >= least)
        {
            yield return Met("collimation.edges", $"{Number(seen, 0)} edges of the beam lie on the receptor.");
        }
        else if (seen + perhaps < least)
        {
            yield return Missed("collimation.edges", $"The beam reaches beyond the receptor on {Number(4 - seen, 0)} sides.", "not-seen");
        }

        double saved = SavedPercent(view, scene);
        if (saved <= AsWideAsNeededToPercent)
        {
            yield return Met("collimation.size", "The field is no wider than the projection asks.");
        }
        else if (saved >= (scene.Part.Habitus > StoutFrom ? FarTooWideOfStoutFromPercent : FarTooWideFromPercent))
        {
            yield return Missed("collimation.size", $"The projection's own field would be {Number(saved, 0)} % smaller.", "too-wide");
        }
    }

    /// <summary>The share of the field's area that the projection's own field would save, in percent; below 0 where it is smaller.</summary>
    /// <param name="view">What is known of the view.</param>
    /// <param name="scene">The scene.</param>
    public static double SavedPercent(PracticeView view, SceneDocument scene)
    {
        ArgumentNullException.ThrowIfNull(view);
        ArgumentNullException.ThrowIfNull(scene);
        double exposed = FieldEdges.OnReceptor(scene).AreaMm2;
        return exposed <= 0 ? 0 : 100 * (1 - (FieldEdges.OnReceptor(view.Start(scene.Part!.Side, 1)).AreaMm2 / exposed));
    }

    private static List<TrueLine> Positions(PracticeView view, SceneDocument scene)
    {
        var told = new List<TrueLine>();
        var unsettled = new HashSet<string>(StringComparer.Ordinal);
        foreach (PracticePosition each in view.Positions)
        {
            double off = each.Get(scene, view) - each.Rest;
            string? miss = off > 0 ? each.Above : each.Below;
            if (Math.Abs(off) <= each.MetWithin)
            {
                told.Add(Met(each.Line, "The part lay as it should."));
                continue;
            }

            unsettled.UnionWith(each.Unsettles);
            if (Math.Abs(off) >= each.MissedFrom && miss is not null)
            {
                string unit = each.Setting == "inspiration" ? " of 10 steps of breath" : "°";
                told.Add(Missed(each.Line, $"Set {Number(Math.Abs(off), 0)}{unit} from where it should be ({Name(each.Setting)}).", miss));
            }
        }

        return [.. told.Where(line => !unsettled.Contains(line.LineId))];
    }

    private static IEnumerable<TrueLine> Exposure(double? deviationIndex, double? saturatedPercent, DeviationBands bands)
    {
        if (deviationIndex is { } index)
        {
            string figure = $"The deviation index is {index.ToString("+0.0;−0.0;0.0", CultureInfo.InvariantCulture)} by construction.";
            DeviationBand band = bands.BandOf(index);
            if (band == DeviationBand.Target)
            {
                yield return Met("exposure.deviation-index", figure);
            }
            else if (band != DeviationBand.Unnamed)
            {
                yield return Missed("exposure.deviation-index", figure);
            }

            if (index >= MottleNoneFrom)
            {
                yield return Met("exposure.mottle", "The receptor got enough for mottle to hide nothing.");
            }
            else if (index <= MottleHidesFrom)
            {
                yield return Missed("exposure.mottle", $"The receptor got {Number(100 * Math.Pow(10, index / 10), 0)} % of its target: mottle is plain to see.", "seen", "hides-detail");
            }
        }

        if (saturatedPercent is { } burned && burned <= NothingBurnedPercent)
        {
            yield return Met("exposure.saturation", "Nothing of the anatomy is at the receptor's limit.");
        }
        else if (saturatedPercent is { } much && much >= BurnedOutPercent)
        {
            yield return Missed("exposure.saturation", $"{Number(much, 1)} % of the anatomy is at the receptor's limit.", "edge-only", "needed-part");
        }
    }

    private static TrueLine? Artifact(PracticeView view, SceneDocument scene)
    {
        bool hasLines = scene.Receptor.DeadLines > 0;
        if (scene.Objects.Count == 0 && !hasLines && scene.Receptor is { DeadElements: 0, GainStepPercent: 0, LagPercent: 0 } && scene.SecondExposure is null && scene.Grid is not { Stationary: true })
        {
            return Met("artifacts.clear", "Nothing lies in the beam, and the receptor has no fault.");
        }

        if (hasLines && scene.Objects.Count == 0)
        {
            return Missed("artifacts.clear", "The receptor has a dead line.", "receptor-over-anatomy", "receptor-beside");
        }

        return scene.Objects.Any(thing => IsInCore(view, scene, thing.CentreMm[0], thing.CentreMm[1]))
            ? Missed("artifacts.clear", $"A {scene.Objects[0].Kind} lies over the part.", "object-over-anatomy")
            : null;
    }

    private static TrueLine? Marker(PracticeView view, SceneDocument scene)
    {
        const string Line = "marker.side";
        if (scene.Marker is not { } marker)
        {
            return Missed(Line, "No marker was laid.", "absent");
        }

        FieldEdges field = FieldEdges.OnReceptor(scene);
        (double x, double y) = (marker.CentreMm[0], marker.CentreMm[1]);
        double inside = Math.Min(Math.Min(x - field.LeftMm, field.RightMm - x), Math.Min(y - field.TopMm, field.BottomMm - y));
        string right = view.LabPart.IsPaired ? scene.Part!.Side : x < 0 ? "R" : "L";
        if (inside < 0)
        {
            return Missed(Line, "The marker lies outside the field.", marker.Kind == "annotation" ? ["drawn-or-outside"] : ["absent", "drawn-or-outside"]);
        }

        if (inside < MarkerInsideMm || marker.Word is not null)
        {
            return null;
        }

        if (marker.Mirrored)
        {
            return Missed(Line, $"The {marker.Letter} was laid face down: it reads from behind.", "mirrored");
        }

        if (marker.Letter != right)
        {
            return Missed(Line, $"The letter is {marker.Letter}, and {(view.LabPart.IsPaired ? $"the side is {right}" : $"it lies on the side of {right}")}.", "wrong-side");
        }

        if (marker.Kind == "annotation")
        {
            return Missed(Line, "The letter was drawn afterwards.", "drawn-or-outside");
        }

        return IsInCore(view, scene, x, y) ? Missed(Line, "The marker lies over the part.", "over-anatomy") : Met(Line, $"A lead {marker.Letter} lies in the field, off the anatomy.");
    }

    private static bool IsInCore(PracticeView view, SceneDocument scene, double x, double y)
    {
        ScenePart part = scene.Part!;
        double across = (part.Side == "L" && view.LabPart.IsPaired ? -1 : 1) * (x - part.ShiftMm[0]);
        double down = y - part.ShiftMm[1];
        return across >= view.CoreMm[0] && across <= view.CoreMm[2] && down >= view.CoreMm[1] && down <= view.CoreMm[3];
    }

    private static string Mirrored(string edge, bool isLeft) => isLeft ? edge switch { "left" => "right", "right" => "left", _ => edge } : edge;

    private static IReadOnlyList<PixelPoint> Side(IReadOnlyList<PixelPoint> outline, string edge) => edge switch
    {
        "top" => [outline[0], outline[1]],
        "right" => [outline[1], outline[2]],
        "bottom" => [outline[2], outline[3]],
        _ => [outline[3], outline[0]],
    };

    private static IReadOnlyList<Evidence> Rings(EvidenceKind kind, IEnumerable<PixelPoint> centres, double radius)
    {
        IReadOnlyList<PixelPoint>[] rings = [.. centres.Select(centre => (IReadOnlyList<PixelPoint>)[.. Enumerable.Range(0, 24).Select(step => new PixelPoint(X: centre.X + (radius * Math.Cos(step * Math.PI / 12)), Y: centre.Y + (radius * Math.Sin(step * Math.PI / 12))))])];
        return rings.Length == 0 ? [] : [new Evidence { Kind = kind, Closed = true, Outlines = rings }];
    }

    private static TrueLine Met(string line, string why) => new(line, ChecklistState.Met, [], why);

    private static TrueLine Missed(string line, string why, params string[] misses) => new(line, ChecklistState.NotMet, misses, why);

    private static string Name(string setting) => string.Concat(setting.Select(letter => char.IsAsciiLetterUpper(letter) ? $" {char.ToLowerInvariant(letter)}" : letter.ToString()));

    private static string Number(double value, int decimals) => value.ToString(decimals == 0 ? "0" : "0.0", CultureInfo.InvariantCulture);
}

/// <summary>Edges of the visible field, in mm at the receptor: right and down. The collimator's turn is left out; the practice plants none.</summary>
/// <param name="LeftMm">Left edge.</param>
/// <param name="TopMm">Upper edge.</param>
/// <param name="RightMm">Right edge.</param>
/// <param name="BottomMm">Lower edge.</param>
internal sealed record FieldEdges(double LeftMm, double TopMm, double RightMm, double BottomMm)
{
    /// <summary>Edges from the middle of the receptor, cut by its own.</summary>
    public static FieldEdges OnReceptor(SceneDocument scene)
    {
        double x = scene.Tube.CentreMm[0] + scene.Collimator.CentreMm[0];
        double y = scene.Tube.CentreMm[1] + scene.Collimator.CentreMm[1];
        return new FieldEdges(
            Math.Max(x - (scene.Collimator.WidthMm / 2), -scene.Receptor.WidthMm / 2),
            Math.Max(y - (scene.Collimator.HeightMm / 2), -scene.Receptor.HeightMm / 2),
            Math.Min(x + (scene.Collimator.WidthMm / 2), scene.Receptor.WidthMm / 2),
            Math.Min(y + (scene.Collimator.HeightMm / 2), scene.Receptor.HeightMm / 2));
    }

    /// <summary>Edges from where the part is centred, as of a right side.</summary>
    public static FieldEdges Of(SceneDocument scene)
    {
        FieldEdges field = OnReceptor(scene);
        (double x, double y) = (scene.Part!.ShiftMm[0], scene.Part.ShiftMm[1]);
        var moved = new FieldEdges(field.LeftMm - x, field.TopMm - y, field.RightMm - x, field.BottomMm - y);
        return scene.Part.Side == "L" && Lab.Parts.First(part => part.Name == scene.Part.Name).IsPaired ? moved with { LeftMm = -moved.RightMm, RightMm = -moved.LeftMm } : moved;
    }

    /// <summary>Area, in mm².</summary>
    public double AreaMm2 => Math.Max(0, RightMm - LeftMm) * Math.Max(0, BottomMm - TopMm);

    /// <summary>One edge.</summary>
    /// <param name="edge">"top", "right", "bottom" or "left".</param>
    public double At(string edge) => edge switch
    {
        "top" => TopMm,
        "right" => RightMm,
        "bottom" => BottomMm,
        "left" => LeftMm,
        _ => throw new ArgumentException($"There is no edge '{edge}'.", nameof(edge)),
    };
}
