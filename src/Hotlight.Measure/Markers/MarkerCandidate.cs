namespace Hotlight.Measure.Markers;

/// <summary>A place that may hold a letter.</summary>
/// <param name="X">Centre, pixels.</param>
/// <param name="Y">Centre, pixels.</param>
/// <param name="Height">Height of the letter, pixels.</param>
/// <param name="Score">What the finder thinks of it, 0 to 1.</param>
internal readonly record struct MarkerCandidate(double X, double Y, double Height, double Score);

/// <summary>A letter, or a clinic's word, as it was read.</summary>
internal sealed record ReadMarker
{
    /// <summary>"L" or "R"; for a word the side it stands for.</summary>
    internal required string Letter { get; init; }

    /// <summary>The word in capitals; null for a letter.</summary>
    internal string? Word { get; init; }

    /// <summary>Whether it reads only from behind.</summary>
    internal required bool Mirrored { get; init; }

    /// <summary>Probability of the letter and of its way round, by the reader, 0 to 1.</summary>
    internal required double Confidence { get; init; }

    /// <summary>Clockwise rotation, degrees, −180 to 180.</summary>
    internal required double RotationDegrees { get; init; }

    /// <summary>Spread of the rotation over eight ways of holding the patch, degrees; null for a word.</summary>
    internal required double? RotationSpreadDegrees { get; init; }

    /// <summary>Centre, pixels.</summary>
    internal required double X { get; init; }

    /// <summary>Centre, pixels.</summary>
    internal required double Y { get; init; }

    /// <summary>Height of the letter, pixels.</summary>
    internal required double Height { get; init; }

    /// <summary>Half the width of the box to draw, pixels; block capitals are about 0.7 of their height wide (from memory), a word's is measured.</summary>
    internal double HalfWidth
    {
        get => field > 0 ? field : 0.35 * Height;
        init;
    }

    /// <summary>Share of the letter that is seen, by the reader, 0 to 1.</summary>
    internal required double Visible { get; init; }
}
