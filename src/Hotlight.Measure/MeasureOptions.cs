namespace Hotlight.Measure;

/// <summary>What a caller knows that the file does not say. The default knows nothing.</summary>
public sealed record MeasureOptions
{
    /// <summary>Margin between skin and the edge of the tighter field, in mm at the receptor; 20 mm where no projection gives another.</summary>
    public double SkinMarginMm { get; init; } = 20;

    /// <summary>Exposure index that the reader took from the console, IEC 62494-1, above 0; null: the header's, if any. A given one is used in place of the header's.</summary>
    public double? ExposureIndex { get; init; }

    /// <summary>Target exposure index of the clinic for this projection, IEC 62494-1, above 0; null: the header's, if any. A given one is used in place of the header's.</summary>
    public double? TargetExposureIndex { get; init; }

    /// <summary>Relation between stored values and receptor air kerma; null: the header's, if any.</summary>
    public Exposure.Calibration? Calibration { get; init; }

    /// <summary>An older exposure indicator with the scale that the reader says it is on; null: none is converted.</summary>
    public Exposure.ExposureIndicator? Indicator { get; init; }

    /// <summary>Words that the clinic marks its sides with, sought beside the letters L and R; null: only the letters are sought.</summary>
    public Markers.MarkerWords? MarkerWords { get; init; }

    /// <summary>Pixel spacing at the receptor given by the reader for a file without one, in mm; null: the file's.</summary>
    public Core.PixelSpacing? ReceptorSpacing { get; init; }
}
