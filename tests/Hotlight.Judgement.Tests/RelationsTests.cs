using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;

namespace Hotlight.Judgement.Tests;

/// <summary>Every relation of every projection can be met and can be missed in each of its ways, by a reader and, where it has a measure, by marks.</summary>
public sealed class RelationsTests
{
    // 0.1 mm pixels, 300 x 300 mm: room for every accepted range of the catalogue.
    private const int Side = 3000;

    public static TheoryData<string> Projections => [.. ProjectionCatalogue.BuiltIn.Projections.Select(projection => projection.Id)];

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "invariant")]
    public void Build_EveryRelation_CanBeMetAndMissedInEachWayByAReader(string id)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(id);
        foreach (PositionRelation relation in projection.Relations)
        {
            string line = "position." + relation.Id;
            Critique met = Judge(projection, Cases.AllMet(projection).With(line, new Answer(ChecklistState.Met)), null);
            Assert.Equal(ChecklistState.Met, met.Line(line).State);
            Assert.DoesNotContain(met.Changes, change => change.LineId == line);
            foreach (Miss miss in relation.Misses)
            {
                Critique missed = Judge(projection, Cases.AllMet(projection).With(line, new Answer(ChecklistState.NotMet, miss.Id)), null);
                AssertMissed(missed, line, miss, miss.Weight);
                Assert.Equal(miss.Correction, missed.Changes.Single(change => change.LineId == line).Instruction);
            }
        }
    }

    [Theory]
    [MemberData(nameof(Projections))]
    [Trait("evidence", "invariant")]
    public void Build_EveryMeasuredRelation_FollowsItsMarksBelowInsideAndAboveTheRange(string id)
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(id);
        foreach (PositionRelation relation in projection.Relations.Where(relation => relation.Measure is not null))
        {
            RelationMeasure rule = relation.Measure!;
            string line = "position." + relation.Id;
            double? low = rule.Accept.From, high = rule.Accept.To;
            double span = low is { } from && high is { } to ? to - from : Math.Max(1, Math.Abs(low ?? high!.Value));
            bool isLength = rule.Kind is RelationKind.Distance or RelationKind.Fraction or RelationKind.Angle;

            RelationFinding inside = Marked(projection, relation, (low, high) switch
            {
                ({ } a, { } b) => (a + b) / 2,
                ({ } a, null) => a + (span / 2),
                _ => isLength ? high!.Value / 2 : high!.Value - (span / 2),
            });
            Assert.Equal(RelationState.Holds, inside.Result!.State);
            Critique holds = Judge(projection, Cases.AllMet(projection).With(line, null), [inside]);
            Assert.Equal((ChecklistState.Met, DecidedBy.Measurement), (holds.Line(line).State, holds.Line(line).DecidedBy));
            Assert.Equal(VerdictKind.Accept, holds.Verdict.Kind);
            Assert.DoesNotContain(holds.Changes, change => change.LineId == line);
            if (low is { } lower)
            {
                Outside(projection, relation, isLength ? lower / 2 : lower - (span / 2), rule.Below!);
            }

            if (high is { } upper)
            {
                Outside(projection, relation, rule.Kind == RelationKind.Angle ? upper + ((180 - upper) / 2) : upper + (span / 2), rule.Above!);
            }
        }
    }

    // A figure that lies within its uncertainty of the end decides nothing, whichever side it is on.
    [Fact]
    public void Build_MarksAtTheLimit_LeaveTheLineToTheReaderWithItsFigure()
    {
        Projection knee = ProjectionCatalogue.BuiltIn.Get("knee-lateral");
        PositionRelation condyles = knee.Relations.Single(relation => relation.Id == "condyles-front-back");
        ChecklistLine line = Judge(knee, Answers.None(knee.Id), [Marked(knee, condyles, 5, uncertaintyPixels: 10)]).Line("position.condyles-front-back");
        Assert.Equal((ChecklistState.CannotTell, DecidedBy.Nobody, true), (line.State, line.DecidedBy, line.Required));
        Assert.StartsWith("5.0 ± ", line.Figure, StringComparison.Ordinal);
        Assert.Contains("the reader decides", line.Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void Build_MarksThatAreNotComplete_SayWhichToMark()
    {
        Projection knee = ProjectionCatalogue.BuiltIn.Get("knee-lateral");
        IReadOnlyList<RelationFinding> findings = RelationMeasurer.Measure(knee, MarkedLandmarks.None(knee.Id), Geometry());
        ChecklistLine line = Judge(knee, Answers.None(knee.Id), findings).Line("position.condyles-front-back");
        Assert.Equal(ChecklistState.CannotTell, line.State);
        Assert.StartsWith("Mark also: ", line.Hint, StringComparison.Ordinal);
    }

    // sin of the angle = shift / separation: 8 mm over 50 mm is 9.2 degrees; the spread of 4 mm gives 0.7.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Build_MarksOfATurn_GiveTheCorrectionItsDegrees()
    {
        Projection knee = ProjectionCatalogue.BuiltIn.Get("knee-lateral");
        PositionRelation condyles = knee.Relations.Single(relation => relation.Id == "condyles-front-back");
        Critique critique = Judge(knee, Cases.AllMet(knee).With("position.condyles-front-back", null), [Marked(knee, condyles, 8)]);
        Change change = critique.Changes.Single(change => change.LineId == "position.condyles-front-back");
        Assert.StartsWith("Rotate the leg internally: bring the patella away from the receptor. By about 9° (8° to 10°).", change.Instruction, StringComparison.Ordinal);
        Assert.EndsWith("Look first at position.condyles-front-back: if you see what the marks say, it weighs a repeat.", critique.Verdict.Sentence, StringComparison.Ordinal);
        Assert.Equal("8.0 ± 0.1 mm", critique.Line("position.condyles-front-back").Figure);
        Assert.Contains("Turned by about 9° (8° to 10°)", critique.Line("position.condyles-front-back").Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void Build_AReaderAgainstTheMarks_NeedsAReason()
    {
        Projection knee = ProjectionCatalogue.BuiltIn.Get("knee-lateral");
        RelationFinding finding = Marked(knee, knee.Relations.Single(relation => relation.Id == "condyles-front-back"), 8);
        Critique With(Answer answer) => Judge(knee, Cases.AllMet(knee).With("position.condyles-front-back", answer), [finding]);

        Assert.Equal(ChecklistState.NotMet, With(new Answer(ChecklistState.Met)).Line("position.condyles-front-back").State);
        Assert.Contains("gives no reason", With(new Answer(ChecklistState.Met)).Line("position.condyles-front-back").Hint, StringComparison.Ordinal);
        ChecklistLine overruled = With(new Answer(ChecklistState.Met, null, "The mark lies on a spur.")).Line("position.condyles-front-back");
        Assert.Equal((ChecklistState.Met, DecidedBy.Reader, ChecklistState.NotMet), (overruled.State, overruled.DecidedBy, overruled.Overridden!.State));

        Assert.Contains("another way of missing", With(new Answer(ChecklistState.NotMet, "medial-posterior")).Line("position.condyles-front-back").Hint, StringComparison.Ordinal);
        Critique other = With(new Answer(ChecklistState.NotMet, "medial-posterior", "The condyles were marked the wrong way round."));
        Assert.Equal("medial-posterior", other.Line("position.condyles-front-back").MissId);
        Assert.DoesNotContain("By about", other.Changes.Single(change => change.LineId == "position.condyles-front-back").Instruction, StringComparison.Ordinal);
    }

    private static void Outside(Projection projection, PositionRelation relation, double target, string missId)
    {
        string line = "position." + relation.Id;
        Miss miss = relation.Misses.Single(each => each.Id == missId);
        RelationFinding finding = Marked(projection, relation, target);
        Assert.Equal((RelationState.Missed, missId), (finding.Result!.State, finding.Result.MissId));

        // Marks alone: never a repeat. Seen by a reader too: the full weight.
        Critique marks = Judge(projection, Cases.AllMet(projection).With(line, null), [finding]);
        AssertMissed(marks, line, miss, miss.Weight == Weight.Repeat ? Weight.Consult : miss.Weight);
        Assert.Equal(DecidedBy.Measurement, marks.Line(line).DecidedBy);
        Critique seen = Judge(projection, Cases.AllMet(projection).With(line, new Answer(ChecklistState.NotMet)), [finding]);
        AssertMissed(seen, line, miss, miss.Weight);
        Assert.Equal(DecidedBy.Reader, seen.Line(line).DecidedBy);
    }

    private static void AssertMissed(Critique critique, string line, Miss miss, Weight weight)
    {
        Assert.Equal((ChecklistState.NotMet, miss.Id, weight), (critique.Line(line).State, critique.Line(line).MissId, critique.Line(line).Weight));
        Assert.Equal(
            weight switch
            {
                Weight.Repeat => VerdictKind.Repeat,
                Weight.Note => VerdictKind.Accept,
                _ => VerdictKind.AcceptWithRemark,
            },
            critique.Verdict.Kind);
        Assert.StartsWith(miss.Correction, critique.Changes.Single(change => change.LineId == line).Instruction, StringComparison.Ordinal);
        if (weight != Weight.Note)
        {
            Assert.Equal([line], critique.Trace!.DecidedBy);
            Assert.Contains(critique.Trace.WouldChange, other => other.Kind == VerdictKind.Accept && other.Lines.Single().LineId == line);
        }
    }

    private static Critique Judge(Projection projection, Answers answers, IReadOnlyList<RelationFinding>? positions)
        => CritiqueBuilder.Build(new ExposureRecord(), Cases.NothingKnown(), projection, answers, positions: positions);

    private static ExposureGeometry Geometry() => new() { Spacing = new PixelSpacing(0.1, 0.1), Columns = Side, Rows = Side };

    /// <summary>The finding for marks whose figure is the wanted one: places are strewn, and one of them is moved along a line until the measurer says that figure.</summary>
    private static RelationFinding Marked(Projection projection, PositionRelation relation, double wanted, double uncertaintyPixels = 0.05)
    {
        RelationMeasure rule = relation.Measure!;
        Projection alone = projection with { Relations = [relation] };
        string[] names = [.. rule.Points.Concat(rule.Axis is { } axis ? [axis.From, axis.To, .. axis.Toward is { } toward ? new[] { toward } : []] : Array.Empty<string>()).Distinct()];
        var places = new Dictionary<string, PixelPoint>();
        for (int index = 0; index < names.Length; index++)
        {
            // No three in line and none near another: steps of the golden angle on two rings about the middle.
            double angle = 2.39996 * index, radius = 300 + (120 * index);
            places[names[index]] = new PixelPoint(X: (Side / 2) + (radius * Math.Cos(angle)), Y: (Side / 2) + (radius * Math.Sin(angle)));
        }

        RelationFinding At(IReadOnlyDictionary<string, PixelPoint> at)
            => RelationMeasurer.Measure(alone, new MarkedLandmarks(projection.Id, at.ToDictionary(place => place.Key, place => LandmarkPoint.At(place.Value, uncertaintyPixels))), Geometry()).Single();

        foreach (string moved in rule.Points.Reverse().Distinct())
        {
            // Eight directions, and straight at each other place: a short distance is reached by no other way.
            (double X, double Y)[] directions =
            [
                .. Enumerable.Range(0, 8).Select(step => (Math.Cos(step * Math.PI / 8), Math.Sin(step * Math.PI / 8))),
                .. names.Where(name => name != moved).Select(name => Toward(places[moved], places[name])),
            ];
            foreach ((double dx, double dy) in directions)
            {
                Dictionary<string, PixelPoint> Moved(double by) => new(places) { [moved] = new PixelPoint(X: places[moved].X + (by * dx), Y: places[moved].Y + (by * dy)) };
                double? Off(double by) => At(Moved(by)).Result is { } result ? result.Value - wanted : null;

                double start = -1400;
                double? before = Off(start);
                for (double by = start + 5; by <= 1400; by += 5)
                {
                    double? here = Off(by);
                    if (before is { } one && here is { } other && one * other <= 0)
                    {
                        (double low, double high) = (by - 5, by);
                        for (int step = 0; step < 60; step++)
                        {
                            double middle = (low + high) / 2;
                            (low, high) = Off(middle) is { } value && value * one > 0 ? (middle, high) : (low, middle);
                        }

                        RelationFinding found = At(Moved(high));
                        if (found.Result is { } result && Math.Abs(result.Value - wanted) < 1e-6 * Math.Max(1, Math.Abs(wanted)))
                        {
                            return found;
                        }
                    }

                    before = here;
                }
            }
        }

        throw new InvalidOperationException($"{projection.Id}, {relation.Id}: no marks give {wanted}.");
    }

    private static (double X, double Y) Toward(PixelPoint from, PixelPoint to)
    {
        double length = from.DistancePixelsTo(to);
        return ((to.X - from.X) / length, (to.Y - from.Y) / length);
    }
}
