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
}
