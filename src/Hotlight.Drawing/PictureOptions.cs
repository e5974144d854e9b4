using Hotlight.Core;

namespace Hotlight.Drawing;

/// <summary>What surrounds the radiograph.</summary>
public enum PictureSurround
{
    /// <summary>Light paper with dark text: for print and documents.</summary>
    Paper,

    /// <summary>Dark grey with light text: for a screen in a dim room.</summary>
    Dim,
}

/// <summary>How a picture is made. The default is made for print and documents.</summary>
public sealed record PictureOptions
{
    private readonly int longSidePixels = 1600;

    /// <summary>Longest side of the radiograph in the picture, in pixels, 256 to 6000. It is never enlarged beyond this and never by a fraction.</summary>
    /// <exception cref="ArgumentOutOfRangeException">The value is outside [256, 6000].</exception>
    public int LongSidePixels
    {
        get => longSidePixels;
        init => longSidePixels = (int)Preconditions.Within(value, 256, 6000);
    }

    /// <summary>Name of the projection for the caption, such as "Wrist PA"; null leaves it out.</summary>
    public string? Projection { get; init; }

    /// <summary>Whether the marks are drawn on the radiograph.</summary>
    public bool ShowsMarks { get; init; } = true;

    /// <summary>Whether the legend with the figures is drawn.</summary>
    public bool ShowsLegend { get; init; } = true;

    /// <summary>What surrounds the radiograph.</summary>
    public PictureSurround Surround { get; init; }
}
