using Hotlight.Accuracy.Scoring;
using Hotlight.Accuracy.Tables;
using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Accuracy.Tests;

public sealed class ScoringTests
{
    private static readonly PixelPoint[] Square = [new(X: 0, Y: 0), new(X: 10, Y: 0), new(X: 10, Y: 10), new(X: 0, Y: 10)];

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 0, 1)]
    [InlineData(5, 0, 50.0 / 150)]
    [InlineData(5, 5, 25.0 / 175)]
    [InlineData(10, 0, 0)]
    [InlineData(30, 30, 0)]
    public void Overlap_OfShiftedSquares_IsSharedOverAll(double right, double down, double expected)
    {
        PixelPoint[] shifted = [.. Square.Select(corner => new PixelPoint(X: corner.X + right, Y: corner.Y + down))];

        Assert.Equal(expected, Polygon.Overlap(Square, shifted), 12);
        Assert.Equal(expected, Polygon.Overlap(shifted, Square), 12);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Overlap_OfASquareAndTheSameTurnedByAnEighth_IsThatOfTheOctagon()
    {
        // Both have side 2 about the origin; what they share is a regular octagon of inradius 1: area 8·tan(π/8).
        PixelPoint[] upright = [new(X: -1, Y: -1), new(X: 1, Y: -1), new(X: 1, Y: 1), new(X: -1, Y: 1)];
        double far = Math.Sqrt(2);
        PixelPoint[] turned = [new(X: 0, Y: -far), new(X: far, Y: 0), new(X: 0, Y: far), new(X: -far, Y: 0)];
        double shared = 8 * Math.Tan(Math.PI / 8);

        Assert.Equal(shared, Polygon.Area(Polygon.Clip(turned, upright)), 12);
        Assert.Equal(shared / (8 - shared), Polygon.Overlap(upright, turned), 12);
    }

    [Fact]
    public void CornerError_OfACornerThatIsMissing_IsTheWayToTheNextOne()
    {
        PixelPoint[] found = [new(X: 0, Y: 0), new(X: 10, Y: 0), new(X: 10, Y: 10)];

        Assert.Equal(10, Polygon.CornerError(Square, found), 12);
        Assert.Equal(double.PositiveInfinity, Polygon.CornerError(Square, []));
    }

    [Fact]
    public void Markers_TwoFoundAtOnePlace_CountOnceRightAndOnceFalse()
    {
        MarkerMatch match = MarkerMatch.Of([True("R", 100, 100)], [Found("R", 101, 100), Found("R", 103, 100)], reachPixels: 20);

        Assert.Equal((1, 1, 1), (match.Required, match.Hits, match.False));
        Assert.Equal(101, match.Pairs.Single().Found.Center.X);
    }

    [Fact]
    public void Markers_TheWrongLetter_IsMissedAndFalse()
    {
        MarkerMatch match = MarkerMatch.Of([True("R", 100, 100)], [Found("L", 100, 100)], reachPixels: 20);

        Assert.Equal((1, 0, 1), (match.Required, match.Hits, match.False));
    }

    [Fact]
    public void Markers_OneCutByTheEdge_CountsNeitherWay()
    {
        MarkerMatch match = MarkerMatch.Of([True("R", 100, 100) with { Required = false }], [Found("R", 100, 100)], reachPixels: 20);

        Assert.Equal((0, 0, 0), (match.Required, match.Hits, match.False));
        Assert.Single(match.Pairs);
    }

    [Theory]
    [InlineData(179, -179, 2)]
    [InlineData(-170, 170, 20)]
    [InlineData(10, 350, 20)]
    [InlineData(0, 180, 180)]
    public void Turn_GoesTheShortWay(double one, double other, double expected) => Assert.Equal(expected, MarkerMatch.Turn(one, other), 9);

    [Theory]
    [InlineData(ArtifactKind.DeadLine, 400, 7, 1, 0)]
    [InlineData(ArtifactKind.DeadLine, 410, 7, 0, 1)]
    [InlineData(ArtifactKind.GainStep, 400, 7, 0, 1)]
    public void Artifacts_ADeadColumn_IsMetAnywhereOnIt(ArtifactKind kind, double x, double y, int hits, int wrong)
    {
        TrueArtifact column = new("dead-line", "column", new PixelPoint(X: 400, Y: 500), null, null);

        IReadOnlyList<ArtifactMatch> matches = ArtifactMatch.Of([column], [new FoundArtifact { Kind = kind, Center = new PixelPoint(X: x, Y: y) }], 0.15, []);

        Assert.Equal(hits, matches.Sum(match => match.Hits));
        Assert.Equal(wrong, matches.Sum(match => match.False));
        Assert.Equal(1, matches.Sum(match => match.Required));
    }

    [Theory]
    [InlineData(1.02, 1)]
    [InlineData(1.3, 0)]
    [InlineData(null, 0)]
    public void Artifacts_GridLines_AreMetByTheirFrequency(double? told, int hits)
    {
        TrueArtifact lines = new("grid-lines", null, null, null, 1);

        IReadOnlyList<ArtifactMatch> matches = ArtifactMatch.Of([lines], [new FoundArtifact { Kind = ArtifactKind.GridLines, Center = new PixelPoint(X: 0, Y: 0), LinesPerMm = told }], 0.15, []);

        Assert.Equal(hits, matches.Sum(match => match.Hits));
        Assert.Equal(1 - hits, matches.Sum(match => match.False));
    }

    [Fact]
    [Trait("evidence", "library")]
    public void Quantile_IsNumpysLinearOne()
    {
        // numpy.quantile([3, 1, 4, 1, 5, 9, 2, 6], [0, 0.25, 0.5, 0.9, 1]), numpy 1.24.2
        double[] values = [3, 1, 4, 1, 5, 9, 2, 6];
        double[] expected = [1, 1.75, 3.5, 6.9, 9];

        Assert.Equal(expected, new[] { 0, 0.25, 0.5, 0.9, 1 }.Select(share => Math.Round(Figures.Quantile(values, share)!.Value, 9)));
        Assert.Null(Figures.Quantile([], 0.5));
    }

    [Fact]
    public void Settings_WhatIsNotUnderstood_IsOneSentence()
    {
        Assert.Equal(12, Settings.Parse(["--per-kind", "0", "--elsewhere", "12"]).Elsewhere);
        Assert.Contains("--half", Assert.Throws<ArgumentException>(() => Settings.Parse(["--half", "most"])).Message, StringComparison.Ordinal);
        Assert.Contains("needs a number", Assert.Throws<ArgumentException>(() => Settings.Parse(["--per-kind", "-3"])).Message, StringComparison.Ordinal);
        Assert.Contains("--seeds", Assert.Throws<ArgumentException>(() => Settings.Parse(["--seeds"])).Message, StringComparison.Ordinal);
    }

    private static TrueMarker True(string letter, double x, double y) => new(letter, "lead", false, 0, new PixelPoint(X: x, Y: y), 60, null, true);

    private static FoundMarker Found(string letter, double x, double y)
        => new() { Letter = letter, Kind = MarkerKind.Lead, Mirrored = false, RotationDegrees = 0, Center = new PixelPoint(X: x, Y: y), InsideField = true, OverAnatomy = false };
}
