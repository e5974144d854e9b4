using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Anatomy;
using Hotlight.Measure.Collimation;
using Hotlight.Measure.Document;
using Hotlight.Measure.Field;

namespace Hotlight.Measure.Regions;

/// <summary>Finds field, anatomy and direct exposure of a radiograph.</summary>
/// <remarks>Method, range of use and measured accuracy: docs/methods/field.md, docs/methods/anatomy.md, docs/methods/collimation.md.</remarks>
public static class RegionFinder
{
    // What thresholds alone do not tell of the share's error, in points of the field, so that two thirds of the phantom lab's tuning exposures lie within one
    // standard deviation: rendering for presentation rounds skin off (docs/methods/anatomy.md).
    private const double PresentationModelPercent = 0.35;
    private const double ProcessingModelPercent = 0.1;

    /// <summary>Finds the regions.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="options">What the caller knows.</param>
    public static RadiographRegions Find(Radiograph radiograph, MeasureOptions options)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(options);
        if (radiograph.Relationship == PixelRelationship.Linear && radiograph.PresentationIntent == PresentationIntent.ForProcessing)
        {
            // Equal shares of the signal are equal steps of its logarithm: what thick anatomy and what a thin one take away are seen alike.
            LogarithmicPixels log = LogarithmicPixels.Of(radiograph);
            RadiographRegions regions = FindIn(radiograph with { Pixels = log.Pixels }, options, log.StepsPerEFold);
            return regions.DirectPixelValue is { } level ? regions with { DirectPixelValue = log.ToLinear(level) } : regions;
        }

        return FindIn(radiograph, options, 0);
    }

    private static RadiographRegions FindIn(Radiograph radiograph, MeasureOptions options, double stepsPerEFold)
    {
        PixelSpacing? spacing = radiograph.ReceptorSpacing ?? options.ReceptorSpacing;
        ReducedImage image = ReducedImage.From(radiograph.Pixels);
        FieldShape frame = FieldShape.From(radiograph.Rows, radiograph.Columns, MaskOpening.Find(radiograph));
        GradientField gradient = GradientField.From(image.Mean, image.Rows, image.Columns, frame.Found.Count > 0 ? (x, y) => frame.Holds(image.ToPixel(x), image.ToPixel(y)) : null);
        int presumed = radiograph.RelationshipSign is { } stated && stated != 0 ? Math.Sign(stated) : radiograph.HighIsShownDark ? 1 : -1;
        FieldShape field = FieldFinder.Find(radiograph, image, gradient, frame, presumed, stepsPerEFold);
        FieldCells cells = FieldCells.From(image, field);
        float threshold = FieldFinder.EdgeThreshold(gradient);
        ExposurePolarity polarity = ExposurePolarity.Find(radiograph, image, gradient, field, cells, threshold);
        if (polarity.Sign != presumed || field.Found.Any(side => FieldFinder.IsDirectExposureBeyond(side, field, image, gradient, polarity.Sign)))
        {
            // A straight limb or plate was taken for the field: once more, now that it is known which way exposure goes.
            field = FieldFinder.Find(radiograph, image, gradient, frame, polarity.Sign, stepsPerEFold, polarity.Sign);
            cells = FieldCells.From(image, field);
            polarity = ExposurePolarity.Find(radiograph, image, gradient, field, cells, threshold);
        }

        field = BeamEdges.Place(radiograph.Pixels, field, polarity.Sign, stepsPerEFold);
        cells = FieldCells.From(image, field);
        AnatomyCells anatomy = AnatomyFinder.Find(image, gradient, cells, polarity.Sign, polarity.Direct, spacing is { } mm ? image.Step * Math.Sqrt(mm.PixelAreaMm2) : null);
        TighterField tighter = TighterField.Find(field, image, anatomy, spacing, options.SkinMarginMm);
        if (field.HoldsSeveral)
        {
            return CannotTell(polarity, image);
        }

        double percent = Math.Clamp(100.0 * anatomy.Count / Math.Max(1, cells.Count), 0, 100);
        double model = radiograph.PresentationIntent == PresentationIntent.ForProcessing ? ProcessingModelPercent : PresentationModelPercent;
        double uncertainty = anatomy.Direct is null ? 1 : double.Hypot(anatomy.ThresholdSpreadPercent + (50.0 / Math.Sqrt(Math.Max(1, cells.Count))), model);
        return new RadiographRegions
        {
            ExposureSign = polarity.Sign,
            ExposureSignBasis = polarity.Basis,
            Field = Figure<FieldMeasurement>.Measured(field.ToMeasurement(spacing)),
            Anatomy = Figure<AnatomyMeasurement>.Measured(new AnatomyMeasurement
            {
                PercentOfField = Math.Round(percent, 2),
                PercentOfFieldUncertainty = Math.Round(uncertainty, 2),
                BoneIsPercentOfAnatomy = anatomy.BonePercent is { } bone ? Math.Round(bone, 1) : null,
                BoneIsPercentOfAnatomyUncertainty = anatomy.BonePercent is null ? null : BoneCells.ShareUncertainty,
                Outlines = OutlineTracer.Trace(anatomy.Anatomy, image, Math.Max(4, cells.Count / 500)),
                Leaves = tighter.Leaves,
            }),
            Collimation = Figure<CollimationMeasurement>.Measured(new CollimationMeasurement
            {
                EmptyPercentOfField = Math.Round(100 - percent, 2),
                EmptyPercentOfFieldUncertainty = Math.Round(uncertainty, 2),
                TighterField = tighter.Corners,
                AreaReductionPercent = Math.Round(Math.Clamp(100 * (1 - (ConvexOutline.Area(tighter.Corners) / field.Area)), 0, 100), 2),
                SkinMarginMm = spacing is null ? null : options.SkinMarginMm,
                SkinToEdgeMm = spacing is { } s ? [.. tighter.RoomPixels.Select((pixels, side) => Math.Round(pixels * TighterField.SideMmPerPixel(field, s, side), 2))] : null,
            }),
            Map = new RegionMap(new Raster<byte>(image.Rows, image.Columns, anatomy.Labels), image.Step)
            {
                BoneCells = anatomy.Bone is { } cellsOfBone ? new Raster<byte>(image.Rows, image.Columns, Array.ConvertAll(cellsOfBone, isBone => (byte)(isBone ? 1 : 0))) : null,
            },
            DirectPixelValue = anatomy.Direct is null ? null : MedianOfDirect(image, cells, anatomy),
        };
    }

    private static RadiographRegions CannotTell(ExposurePolarity polarity, ReducedImage image)
    {
        const string Why = "This image holds more than one exposure side by side, so it has no one field; give each exposure a file of its own.";
        return new RadiographRegions
        {
            ExposureSign = polarity.Sign,
            ExposureSignBasis = polarity.Basis,
            Field = Figure<FieldMeasurement>.CannotTell(Why),
            Anatomy = Figure<AnatomyMeasurement>.CannotTell(Why),
            Collimation = Figure<CollimationMeasurement>.CannotTell(Why),
            Map = new RegionMap(new Raster<byte>(image.Rows, image.Columns), image.Step),
        };
    }

    private static double? MedianOfDirect(ReducedImage image, FieldCells cells, AnatomyCells anatomy)
    {
        var values = new float[anatomy.Labels.Length];
        int count = 0;
        for (int i = 0; i < anatomy.Labels.Length; i++)
        {
            if (anatomy.Labels[i] == (byte)RegionLabel.Direct && cells.Kind[i] >= 2)
            {
                values[count++] = image.Mean[i];
            }
        }

        return count == 0 ? null : OrderStatistic.At(values.AsSpan(0, count), count / 2);
    }
}
