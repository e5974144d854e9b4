using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation;

/// <summary>A beam's opening at the receptor, in mm from the middle of the image.</summary>
internal sealed record FieldMm(double CentreX, double CentreY, double Width, double Height, double TiltDegrees);

/// <summary>A marker's place, in mm from the middle of the image.</summary>
internal sealed record MarkerMm(char Letter, TrueMarkerKind Kind, double X, double Y, double HeightMm, double RotationDegrees);

/// <summary>What the header says of the examination.</summary>
internal sealed record Examination(string BodyPart, string? ViewPosition, DxCode Region, DxCode View, string? PatientOrientation)
{
    // Codes: DICOM context groups 4009 and 4010.
    private static readonly DxCode Lateral = new("399067008", "lateral");
    private static readonly DxCode PosteroAnterior = new("272479007", "postero-anterior");
    private static readonly DxCode AnteroPosterior = new("399348003", "antero-posterior");
    private static readonly DxCode Wrist = new("74670003", "Wrist joint");
    private static readonly DxCode Elbow = new("16953009", "Elbow joint");
    private static readonly DxCode Knee = new("72696002", "Knee");

    public static Examination WristPa { get; } = new("WRIST", "PA", Wrist, PosteroAnterior, null);

    public static Examination WristLateral { get; } = new("WRIST", "LL", Wrist, Lateral, null);

    public static Examination ElbowLateral { get; } = new("ELBOW", "LL", Elbow, Lateral, null);

    public static Examination KneeAp { get; } = new("KNEE", "AP", Knee, AnteroPosterior, null);

    public static Examination KneeLateral { get; } = new("KNEE", "LL", Knee, Lateral, null);

    public static Examination ChestPa { get; } = new("CHEST", "PA", new("51185008", "Chest"), PosteroAnterior, "L\\F");
}

/// <summary>Everything that makes one demo case.</summary>
internal sealed record DemoRecipe
{
    public required string Id { get; init; }

    public required string Title { get; init; }

    public required string History { get; init; }

    public required string ProjectionId { get; init; }

    public string? Fault { get; init; }

    public required Examination Examination { get; init; }

    public required string Laterality { get; init; }

    public required int PatientNumber { get; init; }

    public required DateTime Acquired { get; init; }

    public required Technique Technique { get; init; }

    public required double Target { get; init; }

    public required double SpacingMm { get; init; }

    public required (double Width, double Height) SizeMm { get; init; }

    public required Func<Body> Body { get; init; }

    public required FieldMm Field { get; init; }

    public MarkerMm? Marker { get; init; }

    /// <summary>What a mask leaves visible: centre, width and height in mm from the middle of the image.</summary>
    public FieldMm? Mask { get; init; }

    public double ScatterPerMm { get; init; } = 0.008;

    public double WindowWidthShare { get; init; } = 0.8;

    /// <summary>Share of the anatomy that may be shown darker than the window's dark end.</summary>
    public double WindowDarkTail { get; init; } = 0.01;

    public double SharpeningShare { get; init; } = 0.3;

    public double SharpeningMm { get; init; } = 2.5;

    public double HeelPerMm { get; init; } = 0.0005;

    public string DetectorType { get; init; } = "SCINTILLATOR";

    /// <summary>Share of the quanta that the receptor counts.</summary>
    public double DetectedShare { get; init; } = 0.55;

    public int Coarsening { get; init; } = 3;

    public required ulong Seed { get; init; }

    public DemoCase ToCase() => new(Expose)
    {
        Id = Id,
        Title = Title,
        History = History,
        ProjectionId = ProjectionId,
        Fault = Fault,
        Technique = string.Create(
            CultureInfo.InvariantCulture,
            $"{Technique.TubeVoltageKvp:0} kVp, {Technique.ExposureMas:0.##} mAs, SID {Technique.SourceImageDistanceMm / 10:0} cm, {(Technique.Grid ? "grid" : "no grid")}, focal spot {Technique.FocalSpotMm:0.#} mm"),
    };

    /// <summary>The scene at another pixel spacing than the case's own, for looking and for tests.</summary>
    public ExposureScene Scene(double spacingMm)
    {
        BeamGeometry geometry = new((int)Math.Round(SizeMm.Height / spacingMm), (int)Math.Round(SizeMm.Width / spacingMm), spacingMm, Technique.SourceImageDistanceMm);
        PixelPoint centre = geometry.CentralRay;
        PixelPoint At(double x, double y) => new(X: centre.X + (x / spacingMm), Y: centre.Y + (y / spacingMm));
        return new ExposureScene
        {
            Body = Body(),
            Geometry = geometry,
            Technique = Technique,
            Collimation = new Collimation(At(Field.CentreX, Field.CentreY), Field.Width, Field.Height, Field.TiltDegrees)
            {
                // The leaves' far edge stands 250 mm from the source (common practice, no source).
                PenumbraMm = ExposureSimulator.PenumbraMm(Technique.FocalSpotMm, Technique.SourceImageDistanceMm, Technique.SourceImageDistanceMm - 250),
            },
            Marker = Marker is null ? null : new SideMarker(Marker.Letter, Marker.Kind, At(Marker.X, Marker.Y), Marker.HeightMm, Marker.RotationDegrees),
            Mask = Mask is null ? null : MaskPixels(At(Mask.CentreX, Mask.CentreY), spacingMm),
            TargetExposureIndex = Target,
            ScatterPerMm = ScatterPerMm,
            WindowWidthShare = WindowWidthShare,
            WindowDarkTail = WindowDarkTail,
            SharpeningShare = SharpeningShare,
            SharpeningMm = SharpeningMm,
            HeelPerMm = HeelPerMm,
            Coarsening = Coarsening,
            DetectedShare = DetectedShare,
            Seed = Seed,
        };
    }

    /// <summary>Rounded to three significant digits, as a console prints a dose.</summary>
    private static double ThreeDigits(double value)
        => double.Parse(value.ToString("E2", CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);

    private (int Left, int Top, int Right, int Bottom) MaskPixels(PixelPoint centre, double spacingMm) => (
        (int)Math.Round(centre.X - (Mask!.Width / 2 / spacingMm)),
        (int)Math.Round(centre.Y - (Mask.Height / 2 / spacingMm)),
        (int)Math.Round(centre.X + (Mask.Width / 2 / spacingMm)),
        (int)Math.Round(centre.Y + (Mask.Height / 2 / spacingMm)));

    private DemoExposure Expose(bool forProcessing, CancellationToken cancellation)
    {
        Radiograph radiograph = MakeRadiograph(forProcessing, cancellation, out SceneTruth truth);
        using MemoryStream stream = new();
        DxObject.Write(stream, radiograph, new DxDescription
        {
            PatientId = string.Create(CultureInfo.InvariantCulture, $"SALTMARSH-{PatientNumber:000}"),
            PatientName = string.Create(CultureInfo.InvariantCulture, $"Invented^Demo {PatientNumber:00}"),
            Acquired = Acquired,
            AnatomicRegion = Examination.Region,
            View = Examination.View,
            Comments = "Invented demo case of the fictional Saltmarsh Lane teaching clinic: simulated, no patient was exposed. For education; not a diagnostic image.",
            Seed = forProcessing ? Id + "/for-processing" : Id,
        });
        return new DemoExposure(stream.ToArray(), truth);
    }

    /// <summary>The exposure before it is written.</summary>
    /// <param name="linear">True: for processing. False: for presentation.</param>
    /// <param name="cancellation">Stops the work.</param>
    /// <param name="truth">What is true of it.</param>
    public Radiograph MakeRadiograph(bool linear, CancellationToken cancellation, out SceneTruth truth)
    {
        ExposureScene scene = Scene(SpacingMm);
        SimulatedExposure exposure = ExposureSimulator.Expose(scene, cancellation);
        truth = exposure.Truth;
        RenderedPixels rendered = linear ? Rendering.Linear(scene, exposure) : Rendering.Presentation(scene, exposure);

        // The three figures are rounded as a console prints them, the third from the other two as printed.
        double index = Math.Round(exposure.Truth.ExposureIndex);
        Box skin = new Posed(scene.Body.Placement, scene.Body.Skin).Bounds;
        double partMm = Math.Round(skin.Maximum.Z - Math.Max(0, skin.Minimum.Z));
        return new Radiograph
        {
            FileName = Id + ".dcm",
            Source = ImageSource.Dicom,
            Pixels = rendered.Pixels,
            BitsStored = rendered.BitsStored,
            ReceptorSpacing = new PixelSpacing(SpacingMm, SpacingMm),
            HighIsShownDark = linear,
            PresentationIntent = linear ? PresentationIntent.ForProcessing : PresentationIntent.ForPresentation,
            Relationship = linear ? PixelRelationship.Linear : PixelRelationship.Logarithmic,
            RelationshipSign = linear ? 1 : -1,
            Windows = rendered.Window is null ? [] : [rendered.Window],
            LossyCompressed = false,
            Encoding = "explicit little endian",
            Exposure = new ExposureRecord
            {
                ExposureIndex = index,
                TargetExposureIndex = Target,
                DeviationIndex = Math.Round(10 * Math.Log10(index / Target), 2),
                TubeVoltageKvp = Technique.TubeVoltageKvp,
                ExposureMas = Technique.ExposureMas,
                ExposureTimeMs = Technique.ExposureTimeMs,
                TubeCurrentMa = Math.Round(Technique.TubeCurrentMa),
                SourceImageDistanceMm = Technique.SourceImageDistanceMm,
                FocalSpotMm = Technique.FocalSpotMm,
                KermaAreaProductDgyCm2 = ThreeDigits(ExposureSimulator.KermaAreaProductDgyCm2(scene)),
                Grid = Technique.Grid ? "FOCUSED" : "NONE",
                BodyPartThicknessMm = partMm,
                DetectorType = DetectorType,
                ExposureControlMode = "MANUAL",
                Modality = "DX",
                BodyPart = Examination.BodyPart,
                ViewPosition = Examination.ViewPosition,
                Laterality = Laterality,
                PatientOrientation = Examination.PatientOrientation,
                BurnedInAnnotation = Marker?.Kind == TrueMarkerKind.Annotation ? "YES" : "NO",
                ProcessingDescription = linear ? "none" : string.Create(CultureInfo.InvariantCulture, $"log, sharpening {SharpeningShare:0.##} within {SharpeningMm:0.##} mm"),
                Manufacturer = "invented",
            },
        };
    }
}
