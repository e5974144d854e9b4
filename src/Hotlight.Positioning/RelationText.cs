using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Positioning;

/// <summary>Says in plain words what marked landmarks tell of a relation.</summary>
public static class RelationText
{
    /// <summary>The figure with its uncertainty, such as "8.2 ± 1.5 mm".</summary>
    /// <param name="result">A result.</param>
    public static string Figure(RelationResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        int decimals = result.Kind == RelationKind.Fraction ? 2 : result.Kind == RelationKind.Angle ? 0 : 1;
        string unit = result.Unit.Length == 0 ? string.Empty : result.Unit == "°" ? "°" : " " + result.Unit;
        return $"{Number(result.Value, decimals)} ± {Number(Math.Max(result.Uncertainty, Math.Pow(10, -decimals)), decimals)}{unit}";
    }

    /// <summary>The accepted range, such as "−5 to 5 mm" or "at most 4 mm".</summary>
    /// <param name="rule">A relation's measure.</param>
    public static string Accepted(RelationMeasure rule)
    {
        ArgumentNullException.ThrowIfNull(rule);
        string unit = rule.Kind switch
        {
            RelationKind.Angle => "°",
            RelationKind.Fraction => string.Empty,
            _ => " mm",
        };
        string Plain(double value) => Texts.Number(value, "0.##");
        return rule.Accept switch
        {
            { From: { } from, To: { } to } => Texts.Get("relation.accepted.between", Plain(from), Plain(to), unit),
            { From: { } from } => Texts.Get("relation.accepted.at-least", Plain(from), unit),
            { To: { } to } => Texts.Get("relation.accepted.at-most", Plain(to), unit),
            _ => Texts.Get("relation.accepted.anything"),
        };
    }

    /// <summary>The turn as a phrase, such as "about 9° (7° to 11°)"; null where nothing is turned by more than its uncertainty, or one image cannot tell.</summary>
    /// <param name="turn">A turn, or null.</param>
    public static string? Degrees(Turn? turn)
        => turn is null || turn.Degrees < turn.Uncertainty ? null : Texts.Get("relation.degrees", Number(turn.Degrees, 0), Number(turn.FromDegrees, 0), Number(turn.ToDegrees, 0));

    /// <summary>One or two sentences: figure, accepted range, what it means, by how many degrees.</summary>
    /// <param name="finding">A finding.</param>
    public static string Sentence(RelationFinding finding)
    {
        ArgumentNullException.ThrowIfNull(finding);
        if (finding.Result is not { } result)
        {
            return finding.Why!;
        }

        RelationMeasure rule = finding.Relation.Measure!;
        Miss? miss = finding.Relation.Misses.FirstOrDefault(candidate => candidate.Id == result.MissId);
        string figure = Texts.Get("relation.figure", Figure(result), Accepted(rule));
        string verdict = result.State switch
        {
            RelationState.Holds => Texts.Get("relation.holds", figure),
            RelationState.Missed => Texts.Get("relation.missed", figure, miss!.Looks),
            _ when miss is not null => Texts.Get("relation.at-limit", figure, miss.Looks),
            _ => Texts.Get("relation.uncertain", figure),
        };
        if (result.State == RelationState.Holds || Degrees(result.Turn) is not { } degrees)
        {
            return verdict;
        }

        string turned = Texts.Get("relation.turned", verdict, degrees, result.Turn!.About);
        return result.Turn.OffCentreMm is { } shift && Math.Abs(shift) >= 1
            ? $"{turned} {Texts.Get("relation.off-centre", Number(Math.Abs(shift), 1))}"
            : turned;
    }

    /// <summary>The state in a word or two: holds, missed, at the limit, cannot tell.</summary>
    /// <param name="finding">A finding.</param>
    public static string State(RelationFinding finding)
    {
        ArgumentNullException.ThrowIfNull(finding);
        return finding.Result?.State switch
        {
            RelationState.Holds => Texts.Get("position.holds"),
            RelationState.Missed => Texts.Get("position.missed"),
            RelationState.AtTheLimit => Texts.Get("position.at-limit"),
            _ => Texts.Get("position.cannot-tell"),
        };
    }

    /// <summary>The correction with its degrees, such as "Rotate the leg internally: … By about 9° (7° to 11°)."; null where the relation holds or no way of missing it is known.</summary>
    /// <param name="finding">A finding.</param>
    public static string? Correction(RelationFinding finding)
    {
        ArgumentNullException.ThrowIfNull(finding);
        if (finding.Result is not { State: not RelationState.Holds, MissId: { } id } result)
        {
            return null;
        }

        Miss miss = finding.Relation.Misses.Single(candidate => candidate.Id == id);

        // Off the central ray, shift and turn can point different ways; degrees are said only where they go with the miss.
        bool sameWay = result.Turn is { } turn && turn.Sign == (id == finding.Relation.Measure!.Above ? 1 : -1);
        return sameWay && Degrees(result.Turn) is { } degrees ? Texts.Get("relation.correction", miss.Correction, degrees) : miss.Correction;
    }

    private static string Number(double value, int decimals)
    {
        double rounded = Math.Round(value, decimals, MidpointRounding.AwayFromZero);
        return Texts.Number(rounded == 0 ? 0 : rounded, "F" + decimals.ToString(CultureInfo.InvariantCulture));
    }
}
