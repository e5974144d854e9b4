using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Tests.Document;

/// <summary>Radiographs and regions drawn by hand, so that the figures are tested apart from the finding of regions.</summary>
internal static class HandDrawn
{
    public const int Step = 8;

    public static Radiograph Radiograph(int rows, int columns, int bits, Func<int, int, double> value)
    {
        var pixels = new Raster<ushort>(rows, columns);
        double largest = (1 << bits) - 1;
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                pixels[row, column] = (ushort)Math.Clamp(Math.Round(value(row, column)), 0, largest);
            }
        }

        return new Radiograph
        {
            FileName = "drawn.dcm",
            Source = ImageSource.Dicom,
            Pixels = pixels,
            BitsStored = bits,
            Encoding = "uncompressed",
            ReceptorSpacing = new PixelSpacing(rowSpacingMm: 0.2, columnSpacingMm: 0.2),
            PresentationIntent = PresentationIntent.ForProcessing,
            Relationship = PixelRelationship.Linear,
            RelationshipSign = 1,
            HighIsShownDark = true,
        };
    }

    /// <summary>Regions whose cells are labelled by their middle pixel.</summary>
    public static RadiographRegions Regions(Radiograph radiograph, Func<int, int, RegionLabel> label, IReadOnlyList<PixelPoint>? skin = null, int exposureSign = 1, int step = Step)
    {
        var labels = new Raster<byte>((radiograph.Rows + step - 1) / step, (radiograph.Columns + step - 1) / step);
        for (int row = 0; row < labels.Rows; row++)
        {
            for (int column = 0; column < labels.Columns; column++)
            {
                labels[row, column] = (byte)label((row * step) + (step / 2), (column * step) + (step / 2));
            }
        }

        return new RadiographRegions
        {
            ExposureSign = exposureSign,
            ExposureSignBasis = "drawn",
            Field = Figure<FieldMeasurement>.Measured(new FieldMeasurement
            {
                Outline =
                [
                    new PixelPoint(X: 0, Y: 0), new PixelPoint(X: radiograph.Columns - 1, Y: 0),
                    new PixelPoint(X: radiograph.Columns - 1, Y: radiograph.Rows - 1), new PixelPoint(X: 0, Y: radiograph.Rows - 1),
                ],
                AreaPercentOfImage = 100,
                Sides = Enum.GetValues<FieldSide>().Select(side => new FieldSideMeasurement { Side = side, Edge = FieldEdge.Receptor, TiltDegrees = 0 }).ToArray(),
            }),
            Anatomy = Figure<AnatomyMeasurement>.Measured(new AnatomyMeasurement { PercentOfField = 50, Outlines = skin is null ? [] : [skin] }),
            Collimation = Figure<CollimationMeasurement>.CannotTell("not drawn"),
            Map = new RegionMap(labels, step),
        };
    }

    public static RadiographRegions AllSoftTissue(Radiograph radiograph) => Regions(radiograph, (_, _) => RegionLabel.SoftTissue);

    public static RadiographRegions NothingFound(Radiograph radiograph) => Regions(radiograph, (_, _) => RegionLabel.Outside) with
    {
        Anatomy = Figure<AnatomyMeasurement>.CannotTell("not found"),
        Field = Figure<FieldMeasurement>.CannotTell("not found"),
    };
}
