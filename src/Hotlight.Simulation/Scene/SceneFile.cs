using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Simulation.Receptor;

namespace Hotlight.Simulation.Scene;

/// <summary>Turns an exposure into a radiograph and a DICOM file.</summary>
internal static class SceneFile
{
    /// <summary>The exposure as a radiograph.</summary>
    /// <param name="exposure">The exposure.</param>
    /// <param name="linear">True: for processing, pixels proportional to the signal. False: for presentation.</param>
    public static Radiograph Radiograph(SimulatedExposure exposure, bool linear)
    {
        SceneDocument scene = exposure.Setup.Scene;
        SceneTube tube = scene.Tube;
        RenderedPixels rendered = linear ? Rendering.Linear(exposure) : Rendering.Presentation(exposure);

        // The three figures are rounded as a console prints them, the third from the other two as printed.
        double target = scene.Records.TargetExposureIndex;
        double index = Math.Round(exposure.Truth.ExposureIndex);
        Examination? examination = Examination.Of(scene);
        bool drawn = scene.Marker is { Kind: "annotation" };
        return new Radiograph
        {
            FileName = scene.Id + (linear ? "-for-processing.dcm" : ".dcm"),
            Source = ImageSource.Dicom,
            Pixels = rendered.Pixels,
            BitsStored = rendered.BitsStored,
            ReceptorSpacing = new PixelSpacing(scene.Receptor.SpacingMm, scene.Receptor.SpacingMm),
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
                TargetExposureIndex = target,
                DeviationIndex = index > 0 ? Math.Round(ExposureIndex.Deviation(index, target), 2) : null,
                TubeVoltageKvp = tube.TubeVoltageKvp,
                ExposureMas = tube.ExposureMas,
                ExposureTimeMs = tube.ExposureTimeMs,
                TubeCurrentMa = Math.Round(tube.ExposureMas / tube.ExposureTimeMs * 1000),
                SourceImageDistanceMm = tube.SourceImageDistanceMm,
                FocalSpotMm = tube.FocalSpotMm > 0 ? tube.FocalSpotMm : null,
                KermaAreaProductDgyCm2 = exposure.Truth.Dose is { } dose ? ThreeDigits(dose.KermaAreaProductDgyCm2) : null,
                Grid = scene.Grid is null ? "NONE" : scene.Grid.FocalDistanceMm is null ? "PARALLEL" : "FOCUSED",
                BodyPartThicknessMm = exposure.Setup.Body is null ? null : Math.Round(exposure.Setup.HighestZ() - exposure.Setup.Middle.Z),
                DetectorType = scene.Receptor.Kind switch
                {
                    "selenium" => "DIRECT",
                    "storage-phosphor" => "STORAGE",
                    _ => "SCINTILLATOR",
                },
                ExposureControlMode = "MANUAL",
                Modality = "DX",
                BodyPart = examination?.BodyPart,
                ViewPosition = examination?.ViewPosition,
                Laterality = scene.Records.Laterality ?? (scene.Part is { } part && Examination.IsPaired(part) ? part.Side : "U"),
                PatientOrientation = exposure.Setup.Body is { } body ? Examination.PatientOrientation(scene, body.Placement) : null,
                BurnedInAnnotation = drawn ? "YES" : "NO",
                ProcessingDescription = linear ? "none" : string.Create(CultureInfo.InvariantCulture, $"log, sharpening {scene.Rendering.SharpeningShare:0.##} within {scene.Rendering.SharpeningMm:0.##} mm"),
                Manufacturer = "invented",
            },
        };
    }

    /// <summary>The exposure as the bytes of a DICOM digital x-ray object.</summary>
    public static byte[] Dicom(SimulatedExposure exposure, bool linear)
    {
        SceneDocument scene = exposure.Setup.Scene;
        Examination? examination = Examination.Of(scene);
        using MemoryStream stream = new();
        DxObject.Write(stream, Radiograph(exposure, linear), new DxDescription
        {
            PatientId = scene.Records.PatientId,
            PatientName = scene.Records.PatientName,
            Acquired = scene.Records.Acquired,
            AnatomicRegion = examination?.Region,
            View = examination?.View,
            Comments = scene.Records.Comments,
            Seed = scene.Id + (linear ? "/for-processing" : ""),
        });
        return stream.ToArray();
    }

    /// <summary>Rounded to three significant digits, as a console prints a dose.</summary>
    private static double ThreeDigits(double value)
        => double.Parse(value.ToString("E2", CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
}
