using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Judgement.Tests;

/// <summary>Documents, headers and answers that the tests judge; every figure is set by the test that uses it.</summary>
internal static class Cases
{
    public static Projection WristPa { get; } = ProjectionCatalogue.BuiltIn.Get("wrist-pa");

    /// <summary>A file without a header in which nothing could be measured.</summary>
    public static MeasurementDocument NothingKnown(ImageSource source = ImageSource.Png) => new()
    {
        File = "case.png",
        Image = Figure<ImageFacts>.Measured(new ImageFacts
        {
            Source = source,
            Columns = 2000,
            Rows = 2400,
            BitsStored = 12,
            BoneIs = BoneShade.Bright,
            PresentationIntent = PresentationIntent.Unknown,
        }),
        Field = Figure<FieldMeasurement>.CannotTell("No field edge was found."),
        Anatomy = Figure<AnatomyMeasurement>.CannotTell("The body could not be told from direct exposure."),
        Collimation = Figure<CollimationMeasurement>.CannotTell("No field edge was found."),
        Exposure = Figure<ExposureMeasurement>.CannotTell("The file has no exposure index and no relation between pixels and exposure."),
        Mottle = Figure<MottleMeasurement>.CannotTell("Too little soft tissue to measure mottle."),
        Clipping = Figure<ClippingMeasurement>.CannotTell("The body could not be told from direct exposure."),
        Sharpness = Figure<SharpnessMeasurement>.CannotTell("Sharpness is not measured by this version."),
        Markers = Figure<MarkersMeasurement>.CannotTell("Markers are not measured by this version."),
        Artifacts = Figure<ArtifactsMeasurement>.CannotTell("Artifacts are not measured by this version."),
        Processing = Figure<ProcessingMeasurement>.CannotTell("Processing is not measured by this version."),
        Display = Figure<DisplayMeasurement>.CannotTell("The image has no window."),
        TimingMs = new TimingMs { Read = 12, Measure = 80 },
    };

    /// <summary>A well measured wrist: field with four beam edges, forearm out at the bottom, hand out at the top.</summary>
    public static MeasurementDocument Measured(double? deviationIndex = 0, double? deviationUncertainty = null, bool mottleVisible = false, double saturatedPercent = 0, double reductionPercent = 5)
        => NothingKnown(ImageSource.Dicom) with
        {
            File = "case.dcm",
            Field = Figure<FieldMeasurement>.Measured(new FieldMeasurement
            {
                Outline = [new(100, 100), new(1900, 100), new(1900, 2300), new(100, 2300)],
                AreaMm2 = 89100,
                AreaPercentOfImage = 82.5,
                Sides = [.. Enum.GetValues<FieldSide>().Select(side => new FieldSideMeasurement { Side = side, Edge = FieldEdge.Beam, TiltDegrees = 0 })],
            }),
            Anatomy = Leaving(FieldSide.Top, FieldSide.Bottom),
            Collimation = Figure<CollimationMeasurement>.Measured(new CollimationMeasurement
            {
                EmptyPercentOfField = 40,
                TighterField = [new(300, 100), new(1500, 100), new(1500, 2300), new(300, 2300)],
                AreaReductionPercent = reductionPercent,
                SkinMarginMm = 25,
                SkinToEdgeMm = [0, 85, 0, 55],
            }),
            Exposure = Figure<ExposureMeasurement>.Measured(new ExposureMeasurement
            {
                Basis = ExposureBasis.Header,
                ExposureIndex = 250 * Math.Pow(10, (deviationIndex ?? 0) / 10),
                TargetExposureIndex = deviationIndex is null ? null : 250,
                DeviationIndex = deviationIndex,
                DeviationIndexUncertainty = deviationUncertainty,
                HeaderAgrees = deviationIndex is null ? null : true,
                ReceptorAirKermaMicrogray = 2.5,
            }),
            Mottle = Figure<MottleMeasurement>.Measured(new MottleMeasurement { RelativeNoisePercent = 2.4, SignalToNoise = 41.7, Visible = mottleVisible, Scale = "linear signal", Places = [new(500, 500)], PlaceSidePixels = 32 }),
            Clipping = Figure<ClippingMeasurement>.Measured(new ClippingMeasurement { SaturatedPercentOfAnatomy = saturatedPercent, FloorPercentOfAnatomy = 0, SkinLineLostPercent = 4 }),
            Display = Figure<DisplayMeasurement>.Measured(new DisplayMeasurement { WindowCenter = 2000, WindowWidth = 3000, ContrastPercent = 61, MeanBrightnessPercent = 48, WindowBasis = "file" }),
        };

    public static Figure<AnatomyMeasurement> Leaving(params FieldSide[] sides) => Figure<AnatomyMeasurement>.Measured(new AnatomyMeasurement
    {
        PercentOfField = 60,
        Outlines = [[new(400, 100), new(1400, 100), new(1400, 2300), new(400, 2300)]],
        Leaves = sides,
    });

    /// <summary>A header that carries everything a right wrist PA needs.</summary>
    public static ExposureRecord WristHeader { get; } = new()
    {
        ExposureIndex = 250,
        TargetExposureIndex = 250,
        DeviationIndex = 0,
        TubeVoltageKvp = 57,
        ExposureMas = 4,
        ExposureTimeMs = 20,
        SourceImageDistanceMm = 1000,
        KermaAreaProductDgyCm2 = 0.2,
        BodyPart = "WRIST",
        ViewPosition = "PA",
        Laterality = "R",
        HasAcquisitionTime = true,
    };

    /// <summary>A header that carries everything a right exposure of a projection needs.</summary>
    public static ExposureRecord Header(Projection projection) => WristHeader with
    {
        TubeVoltageKvp = (projection.TubeVoltageKvp.From + projection.TubeVoltageKvp.To) / 2,
        SourceImageDistanceMm = projection.SourceImageDistanceMm.Value,
        BodyPart = projection.Codes.BodyParts[0],
        ViewPosition = projection.Codes.ViewPositions[0],
        Laterality = projection.HasSide ? "R" : null,
    };

    /// <summary>Every line the reader must answer, answered with yes.</summary>
    public static Answers AllMet(Projection projection)
    {
        Answers answers = Answers.None(projection.Id);
        foreach (ChecklistLine line in CritiqueBuilder.BlankChecklist(projection).Where(line => line.Required))
        {
            answers = answers.With(line.Id, new Answer(ChecklistState.Met));
        }

        return answers;
    }

    public static Critique Judge(MeasurementDocument document, Answers? answers = null, ExposureRecord? exposure = null, JudgementRules? rules = null)
        => CritiqueBuilder.Build(exposure ?? WristHeader, document, WristPa, answers ?? AllMet(WristPa), rules);

    public static ChecklistLine Line(this Critique critique, string id) => critique.Lines.Single(line => line.Id == id);
}
