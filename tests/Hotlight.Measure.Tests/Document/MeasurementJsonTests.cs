using System.Globalization;
using System.Text.Json;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Measure.Tests.Document;

/// <summary>The document against its contract: members, order, nulls, terms.</summary>
public class MeasurementJsonTests
{
    private const string ExpectedFull = """
        {"schema":"hotlight.measurements/1","file":"case-07.dcm",
        "image":{"status":"measured","source":"dicom","columns":2000,"rows":2400,"bitsStored":14,"pixelSpacingMm":0.15,"boneIs":"bright","presentationIntent":"for-processing"},
        "field":{"status":"measured","outline":[[10.5,20],[1990,20],[1990,2380.25],[10.5,2380.25]],"areaMm2":41250,"areaPercentOfImage":61,"sides":[{"side":"top","edge":"beam","tiltDegrees":0.4,"tiltDegreesUncertainty":0.05},{"side":"right","edge":"mask","tiltDegrees":0},{"side":"bottom","edge":"receptor","tiltDegrees":0},{"side":"left","edge":"beam","tiltDegrees":-0.4}]},
        "anatomy":{"status":"measured","percentOfField":43,"boneIsPercentOfAnatomy":22,"outlines":[[[1,2],[3,4],[5,6]]],"leaves":["bottom"]},
        "collimation":{"status":"measured","emptyPercentOfField":57,"tighterField":[[1,1],[2,1],[2,2],[1,2]],"areaReductionPercent":38,"skinMarginMm":20},
        "exposure":{"status":"measured","basis":"header","exposureIndex":312,"targetExposureIndex":250,"deviationIndex":0.96,"headerAgrees":true,"receptorAirKermaMicrogray":3.12},
        "mottle":{"status":"measured","relativeNoisePercent":2.4,"signalToNoise":41.7,"visible":false,"places":[[100,200]]},
        "clipping":{"status":"measured","saturatedPercentOfAnatomy":0.3,"floorPercentOfAnatomy":0,"skinLineLostPercent":4,"lostSkinLines":[[[7,8],[9,10]]]},
        "sharpness":{"status":"measured","edgeBlurMm":0.31,"directionRatio":1.05,"directionDegrees":12,"motion":"not-seen"},
        "markers":{"status":"measured","found":[{"letter":"R","kind":"lead","mirrored":false,"rotationDegrees":3,"center":[150,160],"insideField":true,"overAnatomy":false}]},
        "artifacts":{"status":"measured","found":[{"kind":"foreign-object","center":[5,6],"areaMm2":12,"linesPerMm":null},{"kind":"grid-lines","center":[1000,1200],"linesPerMm":4.1}]},
        "display":{"status":"measured","windowCenter":8000,"windowWidth":9000,"contrastPercent":61,"meanBrightnessPercent":48},
        "processing":{"status":"measured","signs":["The pixels were drawn over."]},
        "timingMs":{"read":40,"measure":180}}
        """;

    private const string ExpectedUnknown = """
        {"schema":"hotlight.measurements/1","file":"photo.png",
        "image":{"status":"measured","source":"png","columns":30,"rows":20,"bitsStored":8,"pixelSpacingMm":null,"boneIs":"dark","presentationIntent":"unknown"},
        "field":{"status":"cannot-tell","why":"Unknown."},
        "anatomy":{"status":"cannot-tell","why":"Unknown."},
        "collimation":{"status":"cannot-tell","why":"Unknown."},
        "exposure":{"status":"measured","basis":"reader","exposureIndex":100.5,"headerAgrees":null,"receptorAirKermaMicrogray":1.005},
        "mottle":{"status":"cannot-tell","why":"Unknown."},
        "clipping":{"status":"cannot-tell","why":"Unknown."},
        "sharpness":{"status":"cannot-tell","why":"Unknown."},
        "markers":{"status":"cannot-tell","why":"Unknown."},
        "artifacts":{"status":"cannot-tell","why":"Unknown."},
        "display":{"status":"cannot-tell","why":"Unknown."},
        "processing":{"status":"cannot-tell","why":"Unknown."},
        "timingMs":{"read":0,"measure":0.5}}
        """;

    [Theory]
    [InlineData("")]
    [InlineData("de-DE")]
    public void Write_EveryMember_IsTheContractsTextInAnyCulture(string culture)
    {
        CultureInfo before = CultureInfo.CurrentCulture;
        CultureInfo.CurrentCulture = new CultureInfo(culture);
        try
        {
            Assert.Equal(OneLine(ExpectedFull), MeasurementJson.Write(Full()));
            Assert.Equal(OneLine(ExpectedUnknown), MeasurementJson.Write(Unknown()));
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    [Fact]
    public void Read_WrittenDocument_GivesTheSameDocument()
    {
        foreach (MeasurementDocument document in new[] { Full(), Unknown() })
        {
            string text = MeasurementJson.Write(document);
            Assert.Equal(text, MeasurementJson.Write(MeasurementJson.Read(text)));
            Assert.Equal(text, MeasurementJson.Write(MeasurementJson.Read(MeasurementJson.Write(document, indented: true))));
        }
    }

    [Fact]
    public void Write_CannotTell_CarriesNoFigure()
    {
        using JsonDocument document = JsonDocument.Parse(MeasurementJson.Write(Unknown()));
        foreach (JsonProperty section in document.RootElement.EnumerateObject().Where(section => section.Value.ValueKind == JsonValueKind.Object && section.Name != "timingMs"))
        {
            if (section.Value.GetProperty("status").GetString() == "cannot-tell")
            {
                Assert.Equal(["status", "why"], section.Value.EnumerateObject().Select(member => member.Name));
            }
        }
    }

    [Fact]
    public void Write_WholeMeasurement_HasEverySectionInOrder()
    {
        Radiograph radiograph = HandDrawn.Radiograph(64, 96, 12, (row, column) => 1000 + ((row * column) % 11));

        using JsonDocument document = JsonDocument.Parse(MeasurementJson.Write(RadiographMeasure.Measure(radiograph, readMs: 12.34)));

        Assert.Equal(
            ["schema", "file", "image", "field", "anatomy", "collimation", "exposure", "mottle", "clipping", "sharpness", "markers", "artifacts", "display", "processing", "timingMs"],
            document.RootElement.EnumerateObject().Select(member => member.Name));
        Assert.Equal(12.3, document.RootElement.GetProperty("timingMs").GetProperty("read").GetDouble());
        Assert.Equal(0.2, document.RootElement.GetProperty("image").GetProperty("pixelSpacingMm").GetDouble());
    }

    [Theory]
    [InlineData("null")]
    [InlineData("{}")]
    [InlineData("""{"schema": "hotlight.measurements/2"}""")]
    public void Read_NoDocumentOfThisVersion_Throws(string text)
        => Assert.Throws<JsonException>(() => MeasurementJson.Read(text));

    [Fact]
    public void Read_OtherSchema_SaysWhichItReads()
    {
        string other = MeasurementJson.Write(Unknown()).Replace("measurements/1", "measurements/9", StringComparison.Ordinal);

        Assert.Contains("hotlight.measurements/1", Assert.Throws<JsonException>(() => MeasurementJson.Read(other)).Message, StringComparison.Ordinal);
    }

    private static string OneLine(string text) => text.Replace("\r", "", StringComparison.Ordinal).Replace("\n", "", StringComparison.Ordinal);

    private static PixelPoint At(double x, double y) => new(X: x, Y: y);

    private static MeasurementDocument Full() => new()
    {
        File = "case-07.dcm",
        Image = Figure<ImageFacts>.Measured(new ImageFacts
        {
            Source = ImageSource.Dicom,
            Columns = 2000,
            Rows = 2400,
            BitsStored = 14,
            PixelSpacingMm = 0.15,
            BoneIs = BoneShade.Bright,
            PresentationIntent = PresentationIntent.ForProcessing,
        }),
        Field = Figure<FieldMeasurement>.Measured(new FieldMeasurement
        {
            Outline = [At(10.5, 20), At(1990, 20), At(1990, 2380.254), At(10.5, 2380.254)],
            AreaMm2 = 41250,
            AreaPercentOfImage = 61,
            Sides =
            [
                new FieldSideMeasurement { Side = FieldSide.Top, Edge = FieldEdge.Beam, TiltDegrees = 0.4, TiltDegreesUncertainty = 0.05 },
                new FieldSideMeasurement { Side = FieldSide.Right, Edge = FieldEdge.Mask, TiltDegrees = 0 },
                new FieldSideMeasurement { Side = FieldSide.Bottom, Edge = FieldEdge.Receptor, TiltDegrees = 0 },
                new FieldSideMeasurement { Side = FieldSide.Left, Edge = FieldEdge.Beam, TiltDegrees = -0.4 },
            ],
        }),
        Anatomy = Figure<AnatomyMeasurement>.Measured(new AnatomyMeasurement { PercentOfField = 43, BoneIsPercentOfAnatomy = 22, Outlines = [[At(1, 2), At(3, 4), At(5, 6)]], Leaves = [FieldSide.Bottom] }),
        Collimation = Figure<CollimationMeasurement>.Measured(new CollimationMeasurement
        {
            EmptyPercentOfField = 57,
            TighterField = [At(1, 1), At(2, 1), At(2, 2), At(1, 2)],
            AreaReductionPercent = 38,
            SkinMarginMm = 20,
        }),
        Exposure = Figure<ExposureMeasurement>.Measured(new ExposureMeasurement
        {
            Basis = ExposureBasis.Header,
            ExposureIndex = 312,
            TargetExposureIndex = 250,
            DeviationIndex = 0.96,
            HeaderAgrees = true,
            ReceptorAirKermaMicrogray = 3.12,
        }),
        Mottle = Figure<MottleMeasurement>.Measured(new MottleMeasurement { RelativeNoisePercent = 2.4, SignalToNoise = 41.7, Visible = false, Places = [At(100, 200)] }),
        Clipping = Figure<ClippingMeasurement>.Measured(new ClippingMeasurement { SaturatedPercentOfAnatomy = 0.3, FloorPercentOfAnatomy = 0, SkinLineLostPercent = 4, LostSkinLines = [[At(7, 8), At(9, 10)]] }),
        Sharpness = Figure<SharpnessMeasurement>.Measured(new SharpnessMeasurement { EdgeBlurMm = 0.31, DirectionRatio = 1.05, DirectionDegrees = 12, Motion = MotionSign.NotSeen }),
        Markers = Figure<MarkersMeasurement>.Measured(new MarkersMeasurement
        {
            Found = [new FoundMarker { Letter = "R", Kind = MarkerKind.Lead, Mirrored = false, RotationDegrees = 3, Center = At(150, 160), InsideField = true, OverAnatomy = false }],
        }),
        Artifacts = Figure<ArtifactsMeasurement>.Measured(new ArtifactsMeasurement
        {
            Found =
            [
                new FoundArtifact { Kind = ArtifactKind.ForeignObject, Center = At(5, 6), AreaMm2 = 12 },
                new FoundArtifact { Kind = ArtifactKind.GridLines, Center = At(1000, 1200), LinesPerMm = 4.1 },
            ],
        }),
        Processing = Figure<ProcessingMeasurement>.Measured(new ProcessingMeasurement { Signs = ["The pixels were drawn over."] }),
        Display = Figure<DisplayMeasurement>.Measured(new DisplayMeasurement { WindowCenter = 8000, WindowWidth = 9000, ContrastPercent = 61, MeanBrightnessPercent = 48 }),
        TimingMs = new TimingMs { Read = 40, Measure = 180 },
    };

    private static MeasurementDocument Unknown() => new()
    {
        File = "photo.png",
        Image = Figure<ImageFacts>.Measured(new ImageFacts { Source = ImageSource.Png, Columns = 30, Rows = 20, BitsStored = 8, BoneIs = BoneShade.Dark, PresentationIntent = PresentationIntent.Unknown }),
        Field = Figure<FieldMeasurement>.CannotTell("Unknown."),
        Anatomy = Figure<AnatomyMeasurement>.CannotTell("Unknown."),
        Collimation = Figure<CollimationMeasurement>.CannotTell("Unknown."),
        Exposure = Figure<ExposureMeasurement>.Measured(new ExposureMeasurement { Basis = ExposureBasis.Reader, ExposureIndex = 100.5, ReceptorAirKermaMicrogray = 1.005 }),
        Mottle = Figure<MottleMeasurement>.CannotTell("Unknown."),
        Clipping = Figure<ClippingMeasurement>.CannotTell("Unknown."),
        Sharpness = Figure<SharpnessMeasurement>.CannotTell("Unknown."),
        Markers = Figure<MarkersMeasurement>.CannotTell("Unknown."),
        Artifacts = Figure<ArtifactsMeasurement>.CannotTell("Unknown."),
        Processing = Figure<ProcessingMeasurement>.CannotTell("Unknown."),
        Display = Figure<DisplayMeasurement>.CannotTell("Unknown."),
        TimingMs = new TimingMs { Measure = 0.5 },
    };
}
