using Hotlight.Catalogue;
using Hotlight.Core;

namespace Hotlight.Positioning;

/// <summary>What is known of source, part and receptor of one exposure.</summary>
public sealed record ExposureGeometry
{
    /// <summary>Pixel spacing at the receptor; null where it is not known: then only fractions and angles can be told.</summary>
    public PixelSpacing? Spacing { get; init; }

    /// <summary>Columns of the image.</summary>
    public required int Columns { get; init; }

    /// <summary>Rows of the image.</summary>
    public required int Rows { get; init; }

    /// <summary>Distance from source to receptor, in mm; null: the projection's own is taken, with an uncertainty of 5 %.</summary>
    public double? SourceImageDistanceMm { get; init; }

    /// <summary>Magnification that the header records (0018,1114); null where it does not.</summary>
    public double? RecordedMagnification { get; init; }

    /// <summary>Whether the patient is a child, whose landmarks lie closer together than the catalogue says; where it is not known an adult is taken.</summary>
    public bool IsChild { get; init; }

    /// <summary>Where the central ray meets the receptor, in pixels; null where it is not known: then a turn cannot be told apart from lying off the central ray.</summary>
    public PixelPoint? CentralRay { get; init; }

    /// <summary>One standard deviation of the central ray's place, in mm at the receptor.</summary>
    /// <remarks>Default: light field and beam may differ by 2 % of the distance from source to receptor (21 CFR 1020.31 as the reference sheet quotes it, from memory); two standard deviations of 20 mm at 1 m.</remarks>
    public double CentralRayUncertaintyMm { get; init; } = 10;
}

/// <summary>How much larger the part's landmarks are on the receptor than they are.</summary>
/// <param name="Factor">Source to receptor over source to landmarks, 1 or more.</param>
/// <param name="Uncertainty">One standard deviation.</param>
/// <param name="From">Where it comes from, a phrase.</param>
public sealed record Magnification(double Factor, double Uncertainty, string From)
{
    // A recorded factor is the console's estimate from a part's usual thickness; a rule of this project, no outside source.
    private const double RecordedUncertainty = 0.02;

    // A distance that the chart gives and nobody measured; a rule of this project.
    private const double ChartDistanceUncertainty = 0.05;

    /// <summary>The magnification from what is known: an object of known size, else the header's factor, else the distances.</summary>
    /// <param name="geometry">The exposure.</param>
    /// <param name="projection">Its projection, for the usual distances.</param>
    /// <param name="marked">What the reader marked.</param>
    /// <returns>The magnification, or why the known size cannot give one.</returns>
    public static Figure<Magnification> Of(ExposureGeometry geometry, Projection projection, MarkedLandmarks marked)
    {
        ArgumentNullException.ThrowIfNull(geometry);
        ArgumentNullException.ThrowIfNull(projection);
        ArgumentNullException.ThrowIfNull(marked);
        if (marked.KnownSize is { } known)
        {
            return FromKnownSize(known, geometry);
        }

        if (geometry.RecordedMagnification is { } recorded && recorded is >= 1 and <= 3)
        {
            return Figure<Magnification>.Measured(new Magnification(recorded, RecordedUncertainty * recorded, Texts.Get("magnification.from.header")));
        }

        bool isRecorded = geometry.SourceImageDistanceMm is > 0;
        double source = isRecorded ? geometry.SourceImageDistanceMm!.Value : projection.SourceImageDistanceMm.Value;
        SourcedRange range = projection.ObjectReceptorDistanceMm;
        double middle = (range.From + range.To) / 2;

        // Anywhere in the range is alike: the standard deviation of an even spread.
        double spread = (range.To - range.From) / Math.Sqrt(12);
        if (middle >= source)
        {
            return Figure<Magnification>.CannotTell(Texts.Get("magnification.why.distance", Texts.Number(source, "0")));
        }

        double factor = source / (source - middle);
        double byObject = factor * spread / (source - middle);
        double bySource = isRecorded ? 0 : factor * middle / (source - middle) * ChartDistanceUncertainty;
        return Figure<Magnification>.Measured(new Magnification(
            factor,
            Math.Sqrt((byObject * byObject) + (bySource * bySource)),
            isRecorded ? Texts.Get("magnification.from.recorded") : Texts.Get("magnification.from.usual")));
    }

    private static Figure<Magnification> FromKnownSize(KnownSize known, ExposureGeometry geometry)
    {
        if (geometry.Spacing is not { } spacing)
        {
            return Figure<Magnification>.CannotTell(Texts.Get("magnification.why.no-spacing"));
        }

        if (known.SizeMm <= 0 || !double.IsFinite(known.SizeMm))
        {
            return Figure<Magnification>.CannotTell(Texts.Get("magnification.why.size"));
        }

        var length = Measure.Landmarks.LandmarkMeasures.Distance(known.One, known.Other, spacing);
        if (!length.IsMeasured)
        {
            return Figure<Magnification>.CannotTell(Texts.Get("magnification.why.same-place"));
        }

        double factor = length.Value.Mm!.Value / known.SizeMm;
        if (factor is < 0.98 or > 3)
        {
            return Figure<Magnification>.CannotTell(Texts.Get("magnification.why.impossible", Texts.Number(length.Value.Mm.Value, "0.0"), Texts.Number(known.SizeMm, "0.0"), Texts.Number(factor, "0.00")));
        }

        double byLength = length.Value.MmUncertainty!.Value / known.SizeMm;
        double bySize = factor * known.SizeUncertaintyMm / known.SizeMm;
        return Figure<Magnification>.Measured(new Magnification(Math.Max(1, factor), Math.Sqrt((byLength * byLength) + (bySize * bySize)), Texts.Get("magnification.from.known-size")));
    }
}
