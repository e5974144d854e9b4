namespace Hotlight.Measure.Document;

/// <summary>The image as it is shown by its own first window, over the anatomy.</summary>
public sealed record DisplayMeasurement
{
    /// <summary>Window center, in modality values.</summary>
    public required double WindowCenter { get; init; }

    /// <summary>Window width, in modality values.</summary>
    public required double WindowWidth { get; init; }

    /// <summary>Spread of shown brightness over the anatomy, 5th to 95th percentile, as a share of the full range, 0 to 100.</summary>
    public required double ContrastPercent { get; init; }

    /// <summary>Mean shown brightness over the anatomy, 0 (black) to 100 (white).</summary>
    public required double MeanBrightnessPercent { get; init; }

    /// <summary>Where the window comes from: "file" or "anatomy" (none in the file, or one that shows nothing).</summary>
    public string? WindowBasis { get; init; }

    /// <summary>Anatomy whose values lie below the window: shown with the darkest or lightest grey alone, 0 to 100.</summary>
    public double? BelowWindowPercentOfAnatomy { get; init; }

    /// <summary>Anatomy whose values lie above the window, 0 to 100.</summary>
    public double? AboveWindowPercentOfAnatomy { get; init; }

    /// <summary>Center of a window from the anatomy's own range, in modality values: see <see cref="ProposedWindowRule"/>.</summary>
    public double? ProposedWindowCenter { get; init; }

    /// <summary>Width of that window, in modality values.</summary>
    public double? ProposedWindowWidth { get; init; }

    /// <summary>The rule of the proposed window, one sentence.</summary>
    public string? ProposedWindowRule { get; init; }

    /// <summary>How far the image overshoots beside the skin line and strong edges, in percent of the step; 0 where it does not, absent where there are no edges to see it on.</summary>
    public double? EdgeOvershootPercent { get; init; }

    /// <summary>One standard deviation, in points.</summary>
    public double? EdgeOvershootPercentUncertainty { get; init; }

    /// <summary>The histogram of the field and of the anatomy; absent where no pixel is anatomy.</summary>
    public ValueHistogram? Histogram { get; init; }
}

/// <summary>Counts of pixel values in equal bins, in modality values.</summary>
public sealed record ValueHistogram
{
    /// <summary>Lower edge of the first bin, in modality values.</summary>
    public required double From { get; init; }

    /// <summary>Width of a bin, in modality values.</summary>
    public required double BinWidth { get; init; }

    /// <summary>Pixels of the field in each bin.</summary>
    public required IReadOnlyList<long> Field { get; init; }

    /// <summary>Pixels of the anatomy in each bin.</summary>
    public required IReadOnlyList<long> Anatomy { get; init; }
}
