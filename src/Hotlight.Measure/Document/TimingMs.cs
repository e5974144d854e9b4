namespace Hotlight.Measure.Document;

/// <summary>How long it took, in ms.</summary>
public sealed record TimingMs
{
    /// <summary>Reading and decoding.</summary>
    public double Read { get; init; }

    /// <summary>Measuring.</summary>
    public double Measure { get; init; }
}
