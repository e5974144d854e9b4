using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement.Tests;

/// <summary>Lines on blur, markers and artifacts: what a figure settles, and what it leaves to the reader.</summary>
public sealed class FindingLinesTests
{
    [Fact]
    public void Sharpness_SharpAndStill_IsMetByMeasurement()
    {
        ChecklistLine line = Judge(Blurred(0.2, 1.05, MotionSign.NotSeen)).Line("sharpness.edges");
        Assert.Equal((ChecklistState.Met, DecidedBy.Measurement), (line.State, line.DecidedBy));
        Assert.Equal("edge blur 0.20 ± 0.02 mm", line.Figure);
    }

    [Theory]
    [InlineData(0.2, MotionSign.Seen)] // movement is weighed by a person: it can mean a repeat
    [InlineData(0.9, MotionSign.NotSeen)] // soft edges: whether detail is lost is for a person
    public void Sharpness_MovedOrSoft_IsForTheReader(double blurMm, MotionSign motion)
    {
        ChecklistLine line = Judge(Blurred(blurMm, 2.4, motion)).Line("sharpness.edges");
        Assert.Equal((ChecklistState.CannotTell, DecidedBy.Nobody), (line.State, line.DecidedBy));
        Assert.NotNull(line.Hint);
    }

    [Fact]
    public void Sharpness_WithoutSpacing_IsForTheReader()
        => Assert.Equal(ChecklistState.CannotTell, Judge(Blurred(null, 1.05, MotionSign.NotSeen)).Line("sharpness.edges").State);

    [Fact]
    public void Marker_LeadInTheFieldThatAgreesWithTheHeader_IsMet()
    {
        ChecklistLine line = Judge(Marked(Letter("R")), "R").Line("marker.side");
        Assert.Equal((ChecklistState.Met, DecidedBy.Measurement), (line.State, line.DecidedBy));
        Assert.Single(line.Evidence);
        Assert.Equal(EvidenceKind.SideMarker, line.Evidence[0].Kind);
    }

    [Fact]
    public void Marker_OfTheOtherSide_IsForTheReaderAndNamesBoth()
    {
        ChecklistLine line = Judge(Marked(Letter("L")), "R").Line("marker.side");
        Assert.Equal(ChecklistState.CannotTell, line.State);
        Assert.Contains("reads L", line.Explanation, StringComparison.Ordinal);
        Assert.Contains("as R", line.Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void Marker_LettersOfBothSides_AreForTheReader()
        => Assert.Contains("both sides", Judge(Marked(Letter("R"), Letter("L")), "R").Line("marker.side").Explanation, StringComparison.Ordinal);

    [Fact]
    public void Marker_DrawnOnly_IsNotMetWithTheWayItIsMissed()
    {
        ChecklistLine line = Judge(Marked(Letter("R") with { Kind = MarkerKind.Annotation }), "R").Line("marker.side");
        Assert.Equal((ChecklistState.NotMet, DecidedBy.Measurement, "drawn-or-outside"), (line.State, line.DecidedBy, line.MissId));
    }

    [Fact]
    public void Marker_OutsideTheField_IsNotMet()
        => Assert.Equal(ChecklistState.NotMet, Judge(Marked(Letter("R") with { InsideField = false }), "R").Line("marker.side").State);

    [Fact]
    public void Marker_MirroredOrOverTheBody_IsForTheReader()
    {
        Assert.Contains("from behind", Judge(Marked(Letter("R") with { Mirrored = true }), "R").Line("marker.side").Explanation, StringComparison.Ordinal);
        Assert.Contains("over the body", Judge(Marked(Letter("R") with { OverAnatomy = true }), "R").Line("marker.side").Explanation, StringComparison.Ordinal);
    }

    [Fact]
    public void Marker_NoneFoundOrNoSideInTheHeader_IsForTheReader()
    {
        Assert.Equal(ChecklistState.CannotTell, Judge(Marked(), "R").Line("marker.side").State);
        Assert.Equal(ChecklistState.CannotTell, Judge(Marked(Letter("R")), null).Line("marker.side").State);
    }

    [Fact]
    public void Artifacts_FoundOrNot_StayForTheReaderWithWhatWasFound()
    {
        Assert.Equal("none found", Judge(With()).Line("artifacts.clear").Figure);
        ChecklistLine line = Judge(With(
            new FoundArtifact { Kind = ArtifactKind.ForeignObject, Center = new(500, 600), AreaMm2 = 20 },
            new FoundArtifact { Kind = ArtifactKind.ForeignObject, Center = new(900, 600), AreaMm2 = 20 },
            new FoundArtifact { Kind = ArtifactKind.GridLines, Center = new(1000, 1200), LinesPerMm = 4.1 })).Line("artifacts.clear");
        Assert.Equal("2 dense objects and grid lines", line.Figure);
        Assert.Equal(ChecklistState.CannotTell, line.State);
        Assert.Equal(2, Assert.Single(line.Evidence).Outlines.Count);
    }

    [Fact]
    public void Saturation_WhereTheSkinLineIsBurnedOut_IsForTheReader()
    {
        MeasurementDocument document = Cases.Measured();
        ClippingMeasurement clipping = document.Clipping.Value! with { SaturatedPercentOfAnatomy = 0.1, SkinLineLostPercent = 40 };
        ChecklistLine settled = Judge(document with { Clipping = Figure<ClippingMeasurement>.Measured(clipping) }).Line("exposure.saturation");
        ChecklistLine open = Judge(document with { Clipping = Figure<ClippingMeasurement>.Measured(clipping with { SaturatedIsAtLeast = true }) }).Line("exposure.saturation");
        Assert.Equal(ChecklistState.Met, settled.State);
        Assert.Equal((ChecklistState.CannotTell, true), (open.State, open.Required));
        Assert.Equal("at least 0.1 % of the anatomy", open.Figure);
    }

    [Fact]
    public void Measurements_OfEveryKindOfFault_NeverOrderARepeatAlone()
    {
        MeasurementDocument worst = Blurred(2, 5, MotionSign.Seen) with
        {
            Markers = Marked(Letter("L") with { Mirrored = true, OverAnatomy = true }).Markers,
            Artifacts = With(new FoundArtifact { Kind = ArtifactKind.ForeignObject, Center = new(500, 600) }).Artifacts,
        };
        Assert.NotEqual(VerdictKind.Repeat, Judge(worst, "R").Verdict.Kind);
    }

    private static FoundMarker Letter(string letter) => new()
    {
        Letter = letter,
        Kind = MarkerKind.Lead,
        Mirrored = false,
        RotationDegrees = 0,
        Center = new PixelPoint(200, 200),
        InsideField = true,
        OverAnatomy = false,
    };

    private static MeasurementDocument Blurred(double? blurMm, double ratio, MotionSign motion) => Cases.Measured() with
    {
        Sharpness = Figure<SharpnessMeasurement>.Measured(new SharpnessMeasurement
        {
            EdgeBlurMm = blurMm,
            EdgeBlurMmUncertainty = blurMm is null ? null : 0.02,
            DirectionRatio = ratio,
            DirectionDegrees = 30,
            Motion = motion,
        }),
    };

    private static MeasurementDocument Marked(params FoundMarker[] found)
        => Cases.Measured() with { Markers = Figure<MarkersMeasurement>.Measured(new MarkersMeasurement { Found = found }) };

    private static MeasurementDocument With(params FoundArtifact[] found)
        => Cases.Measured() with { Artifacts = Figure<ArtifactsMeasurement>.Measured(new ArtifactsMeasurement { Found = found }) };

    private static Critique Judge(MeasurementDocument document, string? side = null)
        => CritiqueBuilder.Build(new ExposureRecord { Laterality = side }, document, Cases.WristPa, Answers.None(Cases.WristPa.Id));
}
