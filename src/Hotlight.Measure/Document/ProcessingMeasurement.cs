namespace Hotlight.Measure.Document;

/// <summary>Signs of what was done to the pixels after the exposure.</summary>
public sealed record ProcessingMeasurement
{
    /// <summary>What was seen, one sentence each; empty where the pixels show no sign of processing.</summary>
    public required IReadOnlyList<string> Signs { get; init; }
}
