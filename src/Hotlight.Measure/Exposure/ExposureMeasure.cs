using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Clipping;
using Hotlight.Measure.Document;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Exposure;

/// <summary>Exposure index, deviation index and receptor air kerma: from the reader, the header, calibrated pixels, or an older indicator whose scale the reader names, in this order; otherwise cannot-tell.</summary>
/// <remarks>
/// <para>An indicator whose value the reader gives counts as the reader's figure; one whose value stands in the header comes last.</para>
/// <para>Method: EI = 100 · K/µGy; DI = 10 · log10(EI / EI_T). From pixels: K is the median over the anatomy in the field of the kerma that the calibration gives for each pixel. docs/methods/exposure.md.</para>
/// <para>Holds when: the header has (0018,1411); or the pixels are not for presentation, a calibration is given, and the median is not at a limit of the signal. An older indicator (Sensitivity, Relative X-Ray Exposure) is converted only where the reader says which scale it is on (<see cref="IndicatorScale"/>): the header does not say.</para>
/// <para>Not: patient dose; the index is about the receptor.</para>
/// <para>Source: IEC 62494-1:2008; AAPM Report 116 (2009).</para>
/// </remarks>
public static class ExposureMeasure
{
    /// <summary>How far the header's deviation index may lie from the formula and still agree.</summary>
    public const double HeaderTolerance = 0.1;

    /// <summary>Exposure index for an air kerma of 1 µGy: IEC 62494-1:2008, c0 = 100 per µGy, exact.</summary>
    public const double ExposureIndexPerMicrogray = 100;

    /// <summary>Relative standard deviation of indicated against measured kerma over systems in clinical use, in percent.</summary>
    /// <remarks>Source: AAPM 2020 meeting abstract on the measured variation of TG-116 calibrations: 866.8 EI per mR, SD 62.7, coefficient of variation 7.2 %.</remarks>
    public const double FieldSpreadPercent = 7.2;

    // Receptors are used from below a µGy to a few tens; what lies far beyond was meant on another scale.
    private const double LeastKermaMicrogray = 0.01;
    private const double MostKermaMicrogray = 1000;

    /// <summary>The deviation index, IEC 62494-1: 10 · log10(EI / EI_T); 0 on target, +3.01 at twice the target.</summary>
    /// <param name="exposureIndex">EI, above 0.</param>
    /// <param name="targetExposureIndex">EI_T, above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">A value is not finite and above 0.</exception>
    public static double DeviationIndex(double exposureIndex, double targetExposureIndex)
        => 10 * Math.Log10(Preconditions.AboveZero(exposureIndex) / Preconditions.AboveZero(targetExposureIndex));

    /// <summary>Measures one radiograph.</summary>
    /// <param name="radiograph">The radiograph; borrowed.</param>
    /// <param name="regions">Its regions.</param>
    /// <param name="options">What the caller knows.</param>
    /// <exception cref="ArgumentOutOfRangeException">An index in the options is not above 0.</exception>
    public static Figure<ExposureMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options)
        => Measure(radiograph, regions, options, histogram: null);

    internal static Figure<ExposureMeasurement> Measure(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, FieldHistogram? histogram)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentNullException.ThrowIfNull(regions);
        ArgumentNullException.ThrowIfNull(options);
        double? headerIndex = Positive(radiograph.Exposure.ExposureIndex);
        if (options.ExposureIndex is { } given)
        {
            Preconditions.AboveZero(given, nameof(options.ExposureIndex));
            string beside = headerIndex is { } other && Math.Abs(other - given) > 0.5
                ? Text($" The header says {other:0.#}; the reader's figure is used.")
                : "";
            return Figure<ExposureMeasurement>.Measured(Build(radiograph, options, ExposureBasis.Reader, given, FieldSpreadPercent, "The exposure index was given by the reader." + beside + PixelsBeside(radiograph, regions, options, histogram)));
        }

        if (options.Indicator is { Value: not null } read)
        {
            return FromIndicator(radiograph, options, read);
        }

        if (headerIndex is { } index)
        {
            return Figure<ExposureMeasurement>.Measured(Build(radiograph, options, ExposureBasis.Header, index, FieldSpreadPercent, "The exposure index is the header's own (0018,1411)." + PixelsBeside(radiograph, regions, options, histogram)));
        }

        if (options.Calibration is { } calibration)
        {
            Figure<ExposureMeasurement> fromPixels = FromPixels(radiograph, regions, options, calibration, histogram);
            if (fromPixels.IsMeasured || options.Indicator is null)
            {
                return fromPixels;
            }
        }

        return options.Indicator is { } indicator
            ? FromIndicator(radiograph, options, indicator)
            : Figure<ExposureMeasurement>.CannotTell(WhatIsMissing(radiograph));
    }

    /// <summary>What the calibrated pixels say beside a figure of the header or the reader; empty where they say nothing.</summary>
    private static string PixelsBeside(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, FieldHistogram? histogram)
        => options.Calibration is { } calibration && FromPixels(radiograph, regions, options, calibration, histogram) is { IsMeasured: true } pixels
            ? Text($" The calibrated pixels over the anatomy give {pixels.Value.ExposureIndex:0.#}.")
            : "";

    private static Figure<ExposureMeasurement> FromIndicator(Radiograph radiograph, MeasureOptions options, ExposureIndicator indicator)
    {
        ExposureRecord record = radiograph.Exposure;
        bool isSensitivity = indicator.Family == IndicatorFamily.InverseSensitivity;

        // An inverse sensitivity is what Sensitivity is for; the others, some of which may be 0 or below, stand in Relative X-Ray Exposure.
        double? fromHeader = isSensitivity ? Positive(record.Sensitivity) ?? Positive(record.RelativeXRayExposure) : Finite(record.RelativeXRayExposure);
        if ((indicator.Value ?? fromHeader) is not { } value)
        {
            return Figure<ExposureMeasurement>.CannotTell($"The header holds no figure that could be the {IndicatorScale.NameOf(indicator.Family)}; give its value from the console.");
        }

        if (!double.IsFinite(value) || (isSensitivity && value <= 0))
        {
            return Figure<ExposureMeasurement>.CannotTell(Text($"{value:0.###} is no {IndicatorScale.NameOf(indicator.Family)}; read it again from the console."));
        }

        double? target = options.TargetExposureIndex ?? Positive(record.TargetExposureIndex);
        if (indicator.Family == IndicatorFamily.Log2Deviation && target is null)
        {
            return Figure<ExposureMeasurement>.CannotTell("A log2 deviation number says how far the exposure is from its target, and no target is known; give the clinic's target exposure index.");
        }

        double kerma = IndicatorScale.KermaMicrogray(indicator.Family, value, target / ExposureIndexPerMicrogray);
        if (!double.IsFinite(kerma) || !(kerma is > LeastKermaMicrogray and < MostKermaMicrogray))
        {
            return Figure<ExposureMeasurement>.CannotTell(Text($"As {IndicatorScale.NameOf(indicator.Family)}, {value:0.###} would be {kerma:0.###} µGy at the receptor, which no radiograph gets; it is on another scale."));
        }

        double beam = IndicatorScale.BeamPercent(indicator.Family);
        double percent = Math.Sqrt((FieldSpreadPercent * FieldSpreadPercent) + (beam * beam));
        string where = indicator.Value is not null ? "given by the reader" : isSensitivity && Positive(record.Sensitivity) is not null ? "the header's Sensitivity (0018,6000)" : "the header's Relative X-Ray Exposure (0018,1405)";
        string explanation = Text($"The {IndicatorScale.NameOf(indicator.Family)} of {value:0.###} is {where}; that it is on this scale was said by the reader. {IndicatorScale.FormulaOf(indicator.Family)}.")
            + (beam > 0 ? " As an exposure index it is approximate, because that beam is not the one of the standard." : "");
        return Figure<ExposureMeasurement>.Measured(Build(radiograph, options, indicator.Value is null ? ExposureBasis.Header : ExposureBasis.Reader, ExposureIndexPerMicrogray * kerma, percent, explanation, beam) with
        {
            Indicator = IndicatorScale.NameOf(indicator.Family),
            IndicatorValue = value,
        });
    }

    private static Figure<ExposureMeasurement> FromPixels(Radiograph radiograph, RadiographRegions regions, MeasureOptions options, Calibration calibration, FieldHistogram? histogram)
    {
        if (radiograph.PresentationIntent == PresentationIntent.ForPresentation)
        {
            return Figure<ExposureMeasurement>.CannotTell("The pixels were processed for presentation, so the receptor's calibration no longer holds for them; give the image for processing, or the exposure index from the console.");
        }

        if (!regions.Anatomy.IsMeasured)
        {
            return Figure<ExposureMeasurement>.CannotTell("The exposure is read over the anatomy, and the anatomy could not be told from the rest of the image; give the exposure index from the console.");
        }

        histogram ??= FieldHistogram.Count(radiograph, regions.Map);
        if (histogram.AnatomyPixels == 0)
        {
            return Figure<ExposureMeasurement>.CannotTell("The exposure is read over the anatomy, and no pixel of the image is anatomy; give the exposure index from the console.");
        }

        double[] kerma = Enumerable.Range(0, radiograph.PixelMaximum + 1)
            .Select(value => LinearSignal.KermaMicrogray(calibration, radiograph.Modality.Apply(value + radiograph.StoredMinimum))).ToArray();
        int median = MedianPixelValue(histogram.Anatomy, histogram.AnatomyPixels, kerma);
        SignalLimits limits = SignalLimits.Find(radiograph, histogram);
        double clippedPercent = 100.0 * (histogram.Anatomy[..(limits.Low + 1)].Sum() + histogram.Anatomy[limits.High..].Sum()) / histogram.AnatomyPixels;
        if (median <= limits.Low || median >= limits.High)
        {
            return Figure<ExposureMeasurement>.CannotTell(Text($"At least half of the anatomy lies at a limit of the signal ({clippedPercent:0} % of it is clipped), so its exposure has no upper or lower bound in the pixels; take the exposure index from the console."));
        }

        if (!(kerma[median] > 0))
        {
            return Figure<ExposureMeasurement>.CannotTell("The calibration gives no exposure above zero for the anatomy's pixels, so it does not belong to this image.");
        }

        // The rim of the anatomy is where the outline may be off; what the median does without it is what the region's choice is worth.
        double regionFraction = histogram.AnatomyInteriorPixels > 0
            ? Math.Abs(kerma[MedianPixelValue(histogram.AnatomyInterior, histogram.AnatomyInteriorPixels, kerma)] / kerma[median] - 1)
            : 0;
        double stepFraction = Math.Abs(kerma[Math.Min(median + 1, kerma.Length - 1)] - kerma[Math.Max(median - 1, 0)]) / 2 / kerma[median] / Math.Sqrt(12);
        double? uncertaintyPercent = calibration.KermaUncertaintyPercent is { } own && double.IsFinite(regionFraction)
            ? Math.Sqrt((own * own) + (1e4 * ((regionFraction * regionFraction) + (stepFraction * stepFraction))))
            : null;
        string explanation = "The exposure index is 100 per µGy of the median air kerma over the anatomy in the field, by the calibration given"
            + (string.IsNullOrWhiteSpace(calibration.Note) ? "" : $" ({calibration.Note.Trim()})") + "."
            + (clippedPercent > 0 ? Text($" {clippedPercent:0.###} % of the anatomy lies at a limit of the signal; the median does not depend on how far beyond it.") : "")
            + (uncertaintyPercent is null ? " The calibration states no uncertainty, so none is given." : "");
        return Figure<ExposureMeasurement>.Measured(Build(radiograph, options, ExposureBasis.Pixels, ExposureIndexPerMicrogray * kerma[median], uncertaintyPercent, explanation) with
        {
            ValueOfInterestPixelValue = median,
            RelevantRegion = regions.Anatomy.Value.Outlines,
        });
    }

    private static ExposureMeasurement Build(Radiograph radiograph, MeasureOptions options, ExposureBasis basis, double index, double? uncertaintyPercent, string explanation, double beamPercent = 0)
    {
        double? headerTarget = Positive(radiograph.Exposure.TargetExposureIndex);
        double? target = options.TargetExposureIndex is { } given ? Preconditions.AboveZero(given, nameof(options.TargetExposureIndex)) : headerTarget;
        double? headerDeviation = radiograph.Exposure.DeviationIndex is { } value && double.IsFinite(value) ? value : null;
        bool? agrees = null;
        if (Positive(radiograph.Exposure.ExposureIndex) is { } headerIndex && headerTarget is { } own && headerDeviation is { } stated)
        {
            double formula = DeviationIndex(headerIndex, own);

            // 1e-9: 0.1 itself is not exact in binary, and "within 0.1" includes it.
            agrees = Math.Abs(stated - formula) <= HeaderTolerance + 1e-9;
            if (agrees == false)
            {
                explanation += Text($" The header states a deviation index of {stated:0.0#}, but its own figures give {formula:0.0#}.");
            }
        }

        double? deviation = target is { } wanted ? DeviationIndex(index, wanted) : null;
        if (deviation is null && basis == ExposureBasis.Header && headerDeviation is { } alone)
        {
            deviation = alone;
            explanation += " The deviation index is the header's own; no target is known to check it against.";
        }
        else if (options.TargetExposureIndex is { } used)
        {
            explanation += headerTarget is { } replaced && Math.Abs(replaced - used) > 0.5
                ? Text($" The target of {used:0.#} was given; the header's is {replaced:0.#}.")
                : Text($" The target of {used:0.#} was given.");
        }
        else if (target is null)
        {
            explanation += " No target exposure index is known, so there is no deviation index; give the clinic's target.";
        }

        if (basis != ExposureBasis.Pixels)
        {
            explanation += Text($" Its uncertainty is the spread of calibrations found between systems in use, {FieldSpreadPercent} %{(beamPercent > 0 ? $", and the beam's {beamPercent} %" : string.Empty)}.");
        }

        double? fraction = uncertaintyPercent / 100;
        return new ExposureMeasurement
        {
            Basis = basis,
            ExposureIndex = Math.Round(index, 2),
            ExposureIndexUncertainty = Rounded(index * fraction, 2),
            TargetExposureIndex = target,
            DeviationIndex = Rounded(deviation, 3),
            DeviationIndexUncertainty = deviation is null ? null : Rounded(10 / Math.Log(10) * fraction, 3),
            HeaderAgrees = agrees,
            ReceptorAirKermaMicrogray = Math.Round(index / ExposureIndexPerMicrogray, 4),
            ReceptorAirKermaMicrograyUncertainty = Rounded(index / ExposureIndexPerMicrogray * fraction, 4),
            Explanation = explanation,
        };
    }

    private static string WhatIsMissing(Radiograph radiograph)
    {
        const string Ask = "give the exposure index from the console, or a calibration of the receptor.";
        const string AskScale = "say which scale it is, or " + Ask;
        ExposureRecord record = radiograph.Exposure;
        if (Positive(record.Sensitivity) is { } sensitivity)
        {
            return Text($"The header holds no exposure index, only a read-out sensitivity of {sensitivity:0.###} on a maker's scale that it does not name; {AskScale}");
        }

        if (Positive(record.RelativeXRayExposure) is { } relative)
        {
            return Text($"The header holds no exposure index, only a relative x-ray exposure of {relative:0.###} on a maker's scale that it does not name; {AskScale}");
        }

        return radiograph.Relationship switch
        {
            PixelRelationship.Linear => $"The header holds no exposure index; it says that pixels are linear in exposure, but not how many units are one µGy; {Ask}",
            PixelRelationship.Logarithmic => $"The header holds no exposure index; it says that pixels are logarithmic in exposure, but not at which gain and offset; {Ask}",
            _ when radiograph.Source == ImageSource.Dicom => $"The header holds no exposure index, and nothing ties its pixels to exposure; {Ask}",
            _ => $"A picture file carries no exposure index, and nothing ties its pixels to exposure; {Ask}",
        };
    }

    /// <summary>The pixel value with half of the anatomy's pixels at or below its kerma; sorted by kerma, because a modality table need not be monotonic.</summary>
    private static int MedianPixelValue(long[] counts, long total, double[] kerma)
    {
        int[] occurring = Enumerable.Range(0, counts.Length).Where(value => counts[value] > 0).ToArray();
        Array.Sort(occurring.Select(value => kerma[value]).ToArray(), occurring);
        long sum = 0;
        foreach (int value in occurring)
        {
            sum += counts[value];
            if (2 * sum >= total)
            {
                return value;
            }
        }

        return occurring[^1];
    }

    private static double? Positive(double? value) => value is { } number && double.IsFinite(number) && number > 0 ? number : null;

    private static double? Finite(double? value) => value is { } number && double.IsFinite(number) ? number : null;

    private static double? Rounded(double? value, int digits) => value is { } number ? Math.Round(number, digits) : null;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
