namespace Hotlight.Measure.Document;

/// <summary>What was done to the pixels.</summary>
public enum ProcessingKind
{
    /// <summary>Edges made steeper than they were exposed.</summary>
    EdgeEnhancement,

    /// <summary>Noise taken out.</summary>
    Smoothing,

    /// <summary>Part of the image covered with one constant value.</summary>
    Mask,

    /// <summary>Letters, lines or labels drawn into the pixels.</summary>
    DrawnText,

    /// <summary>Compression that loses detail, in blocks.</summary>
    LossyBlocks,

    /// <summary>More pixels made out of fewer.</summary>
    Upsampling,

    /// <summary>Grey steps missing from the histogram: fewer bits spread over more.</summary>
    HistogramGaps,
}

/// <summary>One sign of processing.</summary>
public sealed record ProcessingSign
{
    /// <summary>What was done.</summary>
    public required ProcessingKind Kind { get; init; }

    /// <summary>How clearly it shows, 0.5 at the limit of detection towards 1: 1 − 0.5·exp(1 − strength over limit). A rank, not a probability.</summary>
    public required double Confidence { get; init; }

    /// <summary>What was seen, one sentence.</summary>
    public required string Sentence { get; init; }

    /// <summary>The figure it rests on, in the unit that the sentence gives; null where it rests on none.</summary>
    public double? Figure { get; init; }
}

/// <summary>Signs of what was done to the pixels after the exposure.</summary>
public sealed record ProcessingMeasurement
{
    /// <summary>What was seen, one sentence each; empty where the pixels show no sign of processing.</summary>
    public required IReadOnlyList<string> Signs { get; init; }

    /// <summary>The same signs with kind, confidence and figure, most certain first.</summary>
    public IReadOnlyList<ProcessingSign>? Details { get; init; }

    /// <summary>What could not be looked for in this image, one sentence each; null where all was.</summary>
    public IReadOnlyList<string>? CannotTell { get; init; }
}
