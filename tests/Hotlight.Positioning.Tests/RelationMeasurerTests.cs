using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;

namespace Hotlight.Positioning.Tests;

public sealed class RelationMeasurerTests
{
    private const double SpacingMm = 0.2;
    private static readonly Projection Knee = ProjectionCatalogue.BuiltIn.Get("knee-lateral");
    private static readonly Projection Chest = ProjectionCatalogue.BuiltIn.Get("chest-pa");

    // theta = asin(delta / (M·d)); the reference sheet's table "angle from a shift": knee condyles, 50 mm apart.
    [Theory]
    [InlineData(1.0, 1.0, 1.15)]
    [InlineData(5.0, 1.0, 5.74)]
    [InlineData(5.0, 1.05, 5.47)]
    [Trait("evidence", "published")]
    public void Turn_OfAShiftBetweenCondyles_IsTheTabledAngle(double shiftMm, double magnification, double degrees)
    {
        RelationResult result = Result(Knee, KneeMarks(backShiftMm: shiftMm), Geometry(magnification), "condyles-front-back");
        Assert.Equal(degrees, result.Turn!.Degrees, 0.005);
        Assert.Equal(shiftMm / magnification, result.Value, 1e-9);
        Assert.Equal(1, result.Turn.Sign);
    }

    // The same table: chest, clavicle ends to spinous process, 100 mm: difference 3.5 mm at M 1 is 1.00 degrees, 10 mm at M 1.10 is 2.61 degrees.
    [Theory]
    [InlineData(3.5, 1.0, 1.00)]
    [InlineData(10.0, 1.10, 2.61)]
    [Trait("evidence", "published")]
    public void Turn_OfADifferenceBetweenClavicleEnds_IsTheTabledAngle(double differenceMm, double magnification, double degrees)
    {
        MarkedLandmarks marks = ChestMarks(25 + (differenceMm / 2), 25 - (differenceMm / 2));
        PositionRelation relation = Chest.Relations.Single(item => item.Id == "no-rotation");
        TurnRule turn = relation.Measure!.Turn! with { SeparationMm = new SpreadNumber(100, 1, "common-practice") };
        Projection tabled = Chest with { Relations = [relation with { Measure = relation.Measure with { Turn = turn } }] };
        RelationResult result = Result(tabled, marks, Geometry(magnification), "no-rotation");
        Assert.Equal(degrees, result.Turn!.Degrees, 0.005);
        Assert.Equal(RelationKind.Difference, result.Kind);
    }

    [Theory]
    [InlineData(0, false)]
    [InlineData(37, false)]
    [InlineData(180, false)]
    [InlineData(90, true)]
    [InlineData(-15, true)]
    [Trait("evidence", "invariant")]
    public void Measure_ImageTurnedOrMirrored_ChangesNothing(double degrees, bool mirrored)
    {
        RelationResult upright = Result(Knee, KneeMarks(7), Geometry(1.05), "condyles-front-back");
        RelationResult moved = Result(Knee, Moved(KneeMarks(7), degrees, mirrored), Geometry(1.05), "condyles-front-back");
        Assert.Equal(upright.Value, moved.Value, 1e-6);
        Assert.Equal(upright.MissId, moved.MissId);
        Assert.Equal(upright.Turn!.Degrees, moved.Turn!.Degrees, 1e-6);
        Assert.Equal(upright.Uncertainty, moved.Uncertainty, 1e-4);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Measure_OppositeShift_IsTheOppositeMissOfTheSameSize()
    {
        RelationResult front = Result(Knee, KneeMarks(8), Geometry(1), "condyles-front-back");
        RelationResult back = Result(Knee, KneeMarks(-8), Geometry(1), "condyles-front-back");
        Assert.Equal("medial-anterior", front.MissId);
        Assert.Equal("medial-posterior", back.MissId);
        Assert.Equal(front.Turn!.Degrees, back.Turn!.Degrees, 1e-9);
        Assert.Equal(-front.Turn.Sign, back.Turn.Sign);
        Assert.Equal(0, Result(Knee, KneeMarks(0), Geometry(1), "condyles-front-back").Turn!.Degrees, 1e-9);
    }

    // Two marks of 1 mm each: the shift's deviation is √2 mm, less the magnification; closed form.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Uncertainty_OfAShiftBetweenTwoMarks_IsRootTwoOfOne()
    {
        RelationResult result = Result(Knee, KneeMarks(0), Geometry(1), "condyles-front-back");
        Assert.Equal(Math.Sqrt(2), result.Uncertainty, 0.01);
        Assert.Equal(double.RadiansToDegrees(Math.Sqrt(2) / 50), result.Turn!.Uncertainty, 0.02);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Measure_BetweenLimits_HoldsIsMissedOrAtTheLimit()
    {
        Assert.Equal(RelationState.Holds, Result(Knee, KneeMarks(1), Geometry(1), "condyles-front-back").State);
        Assert.Equal(RelationState.AtTheLimit, Result(Knee, KneeMarks(4.5), Geometry(1), "condyles-front-back").State);
        Assert.Equal(RelationState.AtTheLimit, Result(Knee, KneeMarks(5.5), Geometry(1), "condyles-front-back").State);
        Assert.Equal(RelationState.Missed, Result(Knee, KneeMarks(8), Geometry(1), "condyles-front-back").State);
    }

    // A part that lies 60 mm off the central ray at 1 m throws two places 50 mm apart in height apart by 60·50/1000 = 3 mm at the object (M 1): closed form of the point source.
    [Fact]
    [Trait("evidence", "analytic")]
    public void Turn_PartOffTheCentralRay_TakesThePointSourceOff()
    {
        // Toward the patella is +x in the marks; the ray stands 60 mm behind. The medial condyle, nearer the tube, is thrown forward by 3 mm.
        MarkedLandmarks marks = KneeMarks(3);
        double middle = (marks.Points["lateral-condyle-back"].Point.X + marks.Points["medial-condyle-back"].Point.X) / 2;
        ExposureGeometry geometry = Geometry(1) with { CentralRay = new PixelPoint(X: middle - (60 / SpacingMm), Y: 1000), SourceImageDistanceMm = 1000 };
        RelationResult result = Result(Knee, marks, geometry, "condyles-front-back");
        Assert.Equal(3, result.Turn!.OffCentreMm!.Value, 1e-9);
        Assert.Equal(0, result.Turn.Degrees, 1e-6);
        Assert.Equal(3, result.Value, 1e-9);
    }

    [Fact]
    public void Measure_LandmarkNotMarked_NamesWhatToMark()
    {
        RelationFinding finding = Find(Knee, KneeMarks(2), Geometry(1), "bend", without: "tibia-far");
        Assert.Null(finding.Result);
        Assert.Equal(["tibia-far"], finding.MissingLandmarks);
        Assert.Equal("Mark also: tibial shaft, far from the joint.", finding.Why);
    }

    [Fact]
    public void Measure_LandmarkOutsideTheImage_SaysWhich()
    {
        MarkedLandmarks marks = With(KneeMarks(2), "patella-front", 5000, 10);
        Assert.Contains("Outside the image: patella, front edge", Find(Knee, marks, Geometry(1), "condyles-front-back").Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_TwoLandmarksOfAnAxisTheSame_SaysThatTheyGiveNoDirection()
    {
        MarkedLandmarks marks = KneeMarks(2);
        marks = With(marks, "shaft-far", marks.Points["shaft-near"].Point.X, marks.Points["shaft-near"].Point.Y);
        Assert.Contains("give no direction", Find(Knee, marks, Geometry(1), "condyles-front-back").Why, StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_ComparedLandmarksTheSame_IsAShiftOfNothing()
        => Assert.Equal(0, Result(Knee, KneeMarks(0), Geometry(1), "condyles-front-back").Value, 1e-9);

    [Fact]
    public void Measure_NoSpacing_TellsAnglesButNoLengths()
    {
        ExposureGeometry bare = Geometry(1) with { Spacing = null };
        Assert.Contains("pixel spacing", Find(Knee, KneeMarks(2), bare, "condyles-front-back").Why, StringComparison.Ordinal);
        Assert.NotNull(Find(Knee, KneeMarks(2), bare, "bend").Result);
    }

    [Fact]
    public void Measure_AChild_HasTheDirectionWithoutDegrees()
    {
        RelationFinding child = Find(Knee, KneeMarks(8), Geometry(1) with { IsChild = true }, "condyles-front-back");
        Assert.Equal("medial-anterior", child.Result!.MissId);
        Assert.Null(child.Result.Turn);
        Assert.DoesNotContain("°", RelationText.Correction(child), StringComparison.Ordinal);
        Assert.Contains("°", RelationText.Correction(Find(Knee, KneeMarks(8), Geometry(1), "condyles-front-back")), StringComparison.Ordinal);
    }

    [Fact]
    public void Measure_UnknownLandmark_SuggestsTheNearest()
        => Assert.Contains("did you mean 'shaft-far'", Assert.Throws<ArgumentException>(() => RelationMeasurer.Measure(Knee, With(KneeMarks(2), "shaft-fat", 1, 1), Geometry(1))).Message, StringComparison.Ordinal);

    [Fact]
    public void Measure_MarksOfAnotherProjection_AreRefused()
        => Assert.Throws<ArgumentException>(() => RelationMeasurer.Measure(Chest, KneeMarks(0), Geometry(1)));

    // 12.0 cm on the image for 10.0 cm: magnification 1.20 (reference sheet, section 5).
    [Fact]
    [Trait("evidence", "published")]
    public void Magnification_OfAKnownSize_IsTheRatioOfLengths()
    {
        var size = new KnownSize(LandmarkPoint.At(new PixelPoint(X: 100, Y: 100), 1), LandmarkPoint.At(new PixelPoint(X: 100 + (120 / SpacingMm), Y: 100), 1), 100, 0.5);
        Figure<Magnification> found = Magnification.Of(Geometry(1.5), Knee, KneeMarks(0) with { KnownSize = size });
        Assert.Equal(1.2, found.Value!.Factor, 1e-9);
        Assert.Equal(Math.Sqrt(Math.Pow(Math.Sqrt(2) * SpacingMm / 100, 2) + Math.Pow(1.2 * 0.5 / 100, 2)), found.Value.Uncertainty, 1e-6);
    }

    // MF = SID / SOD (reference sheet: 100 and 95 cm give 1.0526).
    [Fact]
    [Trait("evidence", "published")]
    public void Magnification_OfDistances_IsSourceToReceptorOverSourceToObject()
    {
        Projection at50 = Knee with { ObjectReceptorDistanceMm = new SourcedRange(50, 50, "common-practice") };
        Figure<Magnification> found = Magnification.Of(Geometry(null) with { SourceImageDistanceMm = 1000 }, at50, KneeMarks(0));
        Assert.Equal(1.0526, found.Value!.Factor, 5e-5);
        Assert.Equal(0, found.Value.Uncertainty, 1e-12);
    }

    [Fact]
    public void Magnification_ShadowSmallerThanItsObject_IsRefused()
    {
        var size = new KnownSize(LandmarkPoint.At(new PixelPoint(X: 0, Y: 0), 1), LandmarkPoint.At(new PixelPoint(X: 100, Y: 0), 1), 100, 0);
        Assert.Contains("never smaller than its object", Magnification.Of(Geometry(null), Knee, KneeMarks(0) with { KnownSize = size }).Why, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("evidence", "invariant")]
    public void Json_WrittenAndReadAgain_IsTheSame()
    {
        MarkedLandmarks marks = KneeMarks(3) with { KnownSize = new KnownSize(LandmarkPoint.At(new PixelPoint(X: 3, Y: 4), 2), LandmarkPoint.At(new PixelPoint(X: 30, Y: 40), 2), 25, 0.1) };
        MarkedLandmarks again = LandmarksJson.Read(LandmarksJson.Write(marks), "marks.json", Knee, new PixelSpacing(SpacingMm, SpacingMm));
        Assert.Equal(marks.Points.OrderBy(point => point.Key).Select(point => (point.Key, point.Value.Point)), again.Points.OrderBy(point => point.Key).Select(point => (point.Key, point.Value.Point)));
        Assert.Equal(25, again.KnownSize!.SizeMm);
        Assert.Equal(Math.Sqrt(marks.Points["shaft-far"].VarianceX), Math.Sqrt(again.Points["shaft-far"].VarianceX), 1e-3);
    }

    [Theory]
    [InlineData("{", "not a file of landmarks")]
    [InlineData("""{"schema":"other/1","projection":"knee-lateral","landmarks":{}}""", "this version reads")]
    [InlineData("""{"schema":"hotlight.landmarks/1","projection":"knee-ap","landmarks":{}}""", "but 'knee-lateral' is judged")]
    [InlineData("""{"schema":"hotlight.landmarks/1","projection":"knee-lateral","landmarks":{"shaft-fra":{"x":1,"y":2}}}""", "did you mean 'shaft-far'")]
    [InlineData("""{"schema":"hotlight.landmarks/1","projection":"knee-lateral","landmarks":{"shaft-far":{"x":1}}}""", "look at $.landmarks.shaft-far")]
    [InlineData("""{"schema":"hotlight.landmarks/1","projection":"knee-lateral","landmarks":{"shaft-far":{"x":1,"y":2,"uncertaintyPixels":0}}}""", "above 0 pixels")]
    [InlineData("""{"schema":"hotlight.landmarks/1","projection":"knee-lateral","landmarks":{},"knownSize":{"one":{"x":1,"y":2},"other":{"x":1,"y":5},"sizeMm":-3}}""", "above 0 mm")]
    public void Json_ThatIsNoFileOfLandmarks_IsRefusedInOneSentence(string json, string words)
    {
        UnreadableLandmarksException error = Assert.Throws<UnreadableLandmarksException>(() => LandmarksJson.Read(json, "marks.json", Knee, null));
        Assert.Contains(words, error.Reason, StringComparison.Ordinal);
        Assert.Equal("marks.json", error.File);
    }

    private static ExposureGeometry Geometry(double? magnification) => new()
    {
        Spacing = new PixelSpacing(SpacingMm, SpacingMm),
        Columns = 2000,
        Rows = 2000,
        RecordedMagnification = magnification,
    };

    private static RelationResult Result(Projection projection, MarkedLandmarks marks, ExposureGeometry geometry, string relation)
        => Find(projection, marks, geometry, relation).Result ?? throw new InvalidOperationException(Find(projection, marks, geometry, relation).Why);

    private static RelationFinding Find(Projection projection, MarkedLandmarks marks, ExposureGeometry geometry, string relation, string? without = null)
    {
        MarkedLandmarks used = without is null ? marks : marks with { Points = marks.Points.Where(point => point.Key != without).ToDictionary(point => point.Key, point => point.Value) };
        return RelationMeasurer.Measure(projection, used, geometry).Single(finding => finding.Relation.Id == relation);
    }

    private static MarkedLandmarks With(MarkedLandmarks marks, string id, double x, double y)
        => marks with { Points = new Dictionary<string, LandmarkPoint>(marks.Points, StringComparer.Ordinal) { [id] = LandmarkPoint.At(new PixelPoint(X: x, Y: y), 1 / SpacingMm) } };

    // A knee with the femur upright above, the front toward +x: places in mm from (200, 200) mm.
    private static MarkedLandmarks KneeMarks(double backShiftMm) => Marks(
        "knee-lateral",
        ("lateral-condyle-back", -30, 0),
        ("medial-condyle-back", -30 + backShiftMm, 5),
        ("lateral-condyle-bottom", 0, 20),
        ("medial-condyle-bottom", 2, 21),
        ("shaft-far", 0, -150),
        ("shaft-near", 0, -50),
        ("patella-front", 50, -10),
        ("tibia-near", 0, 50),
        ("tibia-far", -60, 150));

    private static MarkedLandmarks ChestMarks(double rightMm, double leftMm) => Marks(
        "chest-pa",
        ("spinous-line", 0, 0),
        ("right-clavicle-end", -rightMm, 0),
        ("left-clavicle-end", leftMm, 0));

    private static MarkedLandmarks Marks(string projection, params (string Id, double XMm, double YMm)[] places)
        => new(projection, places.ToDictionary(place => place.Id, place => LandmarkPoint.At(new PixelPoint(X: (200 + place.XMm) / SpacingMm, Y: (200 + place.YMm) / SpacingMm), 1 / SpacingMm)));

    private static MarkedLandmarks Moved(MarkedLandmarks marks, double degrees, bool mirrored)
    {
        (double sine, double cosine) = Math.SinCos(double.DegreesToRadians(degrees));
        return marks with
        {
            Points = marks.Points.ToDictionary(point => point.Key, point =>
            {
                double x = (point.Value.Point.X - 1000) * (mirrored ? -1 : 1), y = point.Value.Point.Y - 1000;
                return LandmarkPoint.At(new PixelPoint(X: 1000 + (x * cosine) - (y * sine), Y: 1000 + (x * sine) + (y * cosine)), 1 / SpacingMm);
            }),
        };
    }
}
