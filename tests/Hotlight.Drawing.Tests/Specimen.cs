using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Drawing.Tests;

/// <summary>An invented forearm of two shafts in a field, and a measurement document written by hand for it. No patient, no place.</summary>
internal static class Specimen
{
    /// <summary>A radiograph: dark surround, bright direct exposure turned dark by its polarity, soft tissue, two bones.</summary>
    public static Radiograph Radiograph(int columns, int rows, double? spacingMm = 0.15, string fileName = "specimen-forearm.dcm", PixelSpacing? spacing = null)
    {
        var pixels = new Raster<ushort>(rows, columns);
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                double x = (column + 0.5) / columns;
                double y = (row + 0.5) / rows;
                double value = 300;
                if (x is > 0.12 and < 0.9 && y > 0.08)
                {
                    double across = Math.Abs(x - 0.5) / (0.2 + (0.05 * Math.Sin(5 * y)));
                    value = 3800;
                    if (across < 1)
                    {
                        value -= 2200 * Math.Sqrt(1 - (across * across));
                        foreach (double bone in new[] { 0.43, 0.57 })
                        {
                            double inBone = Math.Abs(x - bone) / 0.045;
                            value -= inBone < 1 ? 900 * Math.Sqrt(1 - (inBone * inBone)) : 0;
                        }
                    }
                }

                pixels[row, column] = (ushort)Math.Clamp(value, 0, 4095);
            }
        }

        return new Radiograph
        {
            FileName = fileName,
            Source = ImageSource.Dicom,
            Pixels = pixels,
            BitsStored = 12,
            HighIsShownDark = true,
            PresentationIntent = PresentationIntent.ForPresentation,
            ReceptorSpacing = spacing ?? (spacingMm is { } mm ? new PixelSpacing(rowSpacingMm: mm, columnSpacingMm: mm) : null),
            Windows = [new VoiTransform { Center = 2048, Width = 4096 }],
            Encoding = "made for a test",
        };
    }

    /// <summary>A document with every section measured that this version measures; places scale with the image.</summary>
    public static MeasurementDocument Measured(Radiograph radiograph)
    {
        PixelPoint At(double x, double y) => new(X: (x * radiograph.Columns) - 0.5, Y: (y * radiograph.Rows) - 0.5);
        PixelPoint[] left = [.. Enumerable.Range(0, 41).Select(step => At(0.5 - 0.2 - (0.05 * Math.Sin(5 * Down(step))), Down(step)))];
        PixelPoint[] right = [.. Enumerable.Range(0, 41).Select(step => At(0.5 + 0.2 + (0.05 * Math.Sin(5 * Down(step))), Down(step)))];
        return CannotTell(radiograph) with
        {
            Field = Figure<FieldMeasurement>.Measured(new FieldMeasurement
            {
                Outline = [At(0.12, 0.08), At(0.9, 0.085), At(0.9, 1), At(0.12, 1)],
                AreaMm2 = radiograph.ReceptorSpacing is { } spacing ? 0.7176 * radiograph.Rows * radiograph.Columns * spacing.PixelAreaMm2 : null,
                AreaMm2Uncertainty = radiograph.ReceptorSpacing is null ? null : 212,
                AreaPercentOfImage = 71.8,
                AreaPercentOfImageUncertainty = 0.37,
                Sides =
                [
                    new FieldSideMeasurement { Side = FieldSide.Top, Edge = FieldEdge.Beam, TiltDegrees = 0.41, TiltDegreesUncertainty = 0.12 },
                    new FieldSideMeasurement { Side = FieldSide.Right, Edge = FieldEdge.Mask, TiltDegrees = 0, TiltDegreesUncertainty = 0.03 },
                    new FieldSideMeasurement { Side = FieldSide.Bottom, Edge = FieldEdge.Receptor, TiltDegrees = 0 },
                    new FieldSideMeasurement { Side = FieldSide.Left, Edge = FieldEdge.Beam, TiltDegrees = -0.3, TiltDegreesUncertainty = 0.12 },
                ],
            }),
            Anatomy = Figure<AnatomyMeasurement>.Measured(new AnatomyMeasurement
            {
                PercentOfField = 53.2,
                PercentOfFieldUncertainty = 1.3,
                BoneIsPercentOfAnatomy = 22.4,
                BoneIsPercentOfAnatomyUncertainty = 3.1,
                Outlines = [[.. left.Reverse(), .. right]],
                Leaves = [FieldSide.Top, FieldSide.Bottom],
            }),
            Collimation = Figure<CollimationMeasurement>.Measured(new CollimationMeasurement
            {
                EmptyPercentOfField = 46.8,
                EmptyPercentOfFieldUncertainty = 1.3,
                TighterField = [At(0.2, 0.08), At(0.8, 0.083), At(0.8, 1), At(0.2, 1)],
                AreaReductionPercent = 23,
                SkinMarginMm = 20,
                SkinToEdgeMm = [0, 41.2, 0, 38.5],
            }),
            Exposure = Figure<ExposureMeasurement>.Measured(new ExposureMeasurement
            {
                Basis = ExposureBasis.Header,
                ExposureIndex = 312,
                TargetExposureIndex = 250,
                DeviationIndex = 0.962,
                HeaderAgrees = true,
                ReceptorAirKermaMicrogray = 3.12,
            }),
            Mottle = Figure<MottleMeasurement>.Measured(new MottleMeasurement
            {
                RelativeNoisePercent = 2.43,
                RelativeNoisePercentUncertainty = 0.18,
                SignalToNoise = 41.2,
                Visible = false,
                Scale = "linear signal",
                Places = [At(0.36, 0.3), At(0.64, 0.35), At(0.35, 0.62), At(0.66, 0.7)],
                PlaceSidePixels = Math.Max(1, radiograph.Columns / 40),
            }),
            Clipping = Figure<ClippingMeasurement>.Measured(new ClippingMeasurement
            {
                SaturatedPercentOfAnatomy = 0.31,
                FloorPercentOfAnatomy = 0,
                SkinLineLostPercent = 8.2,
                LostSkinLines = [right[18..26]],
            }),
            Display = Figure<DisplayMeasurement>.Measured(new DisplayMeasurement
            {
                WindowCenter = 2048,
                WindowWidth = 4096,
                ContrastPercent = 61,
                MeanBrightnessPercent = 48,
                WindowBasis = "file",
            }),
        };

        static double Down(int step) => 0.085 + (step / 40.0 * 0.913);
    }

    /// <summary>A document in which nothing but the image's own facts is known.</summary>
    public static MeasurementDocument CannotTell(Radiograph radiograph) => new()
    {
        File = radiograph.FileName,
        Image = Figure<ImageFacts>.Measured(new ImageFacts
        {
            Source = radiograph.Source,
            Columns = radiograph.Columns,
            Rows = radiograph.Rows,
            BitsStored = radiograph.BitsStored,
            PixelSpacingMm = radiograph.ReceptorSpacing?.ColumnSpacingMm,
            BoneIs = BoneShade.Bright,
            PresentationIntent = radiograph.PresentationIntent,
        }),
        Field = Figure<FieldMeasurement>.CannotTell("No straight edge of a beam or a mask is seen, and the image's border is not direct exposure; draw the field by hand to go on."),
        Anatomy = Figure<AnatomyMeasurement>.CannotTell("Without the field, skin and surround cannot be told apart."),
        Collimation = Figure<CollimationMeasurement>.CannotTell("Without field and anatomy there is nothing to compare."),
        Exposure = Figure<ExposureMeasurement>.CannotTell("The file carries no exposure index, and the relation of its pixels to exposure is not known; give one with --calibration."),
        Mottle = Figure<MottleMeasurement>.CannotTell("Fewer than 4 even places of soft tissue are large enough."),
        Clipping = Figure<ClippingMeasurement>.CannotTell("Without the anatomy there is nothing to look at."),
        Sharpness = Figure<SharpnessMeasurement>.CannotTell("This version does not measure sharpness yet; judge it by eye at full size."),
        Markers = Figure<MarkersMeasurement>.CannotTell("This version does not find side markers yet; the reader says whether one is there."),
        Artifacts = Figure<ArtifactsMeasurement>.CannotTell("This version does not find artifacts yet; the reader says whether any are there."),
        Processing = Figure<ProcessingMeasurement>.CannotTell("This version does not look for signs of processing yet."),
        Display = Figure<DisplayMeasurement>.CannotTell("The anatomy is not known."),
        TimingMs = new TimingMs(),
    };
}
