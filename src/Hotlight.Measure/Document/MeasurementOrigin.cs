namespace Hotlight.Measure.Document;

/// <summary>Which file was measured and with what, so that a file of results can be taken up again.</summary>
public sealed record MeasurementOrigin
{
    /// <summary>Path of the file as it was given or found.</summary>
    public required string Path { get; init; }

    /// <summary>Length of the file, in bytes.</summary>
    public required long Bytes { get; init; }

    /// <summary>When the file was last written, UTC, ISO 8601.</summary>
    public required string Modified { get; init; }

    /// <summary>The version that measured.</summary>
    public required string MeasuredBy { get; init; }

    /// <summary>A short hash of what the caller told of the exposure.</summary>
    public required string Options { get; init; }
}
