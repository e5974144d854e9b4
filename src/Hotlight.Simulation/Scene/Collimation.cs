using Hotlight.Core;
using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Scene;

/// <summary>A rectangular collimator opening as it falls on the receptor.</summary>
internal sealed record Collimation(PixelPoint CentrePixels, double WidthMm, double HeightMm, double TiltDegrees)
{
    /// <summary>Full width of the penumbra at the receptor, in mm: focal spot times (source-image − source-leaf) over source-leaf.</summary>
    public double PenumbraMm { get; init; } = 2.4;

    /// <summary>Share of the intensity from outside the focal spot that passes beyond the edge, falling off with <see cref="TailMm"/>.</summary>
    public double OffFocusShare { get; init; } = 0.006;

    public double TailMm { get; init; } = 12;

    public double LeafTransmission { get; init; } = 0.0006;

    /// <summary>The four corners at half intensity, clockwise from the upper left, in pixels; they may lie beyond the stored image.</summary>
    public PixelPoint[] Corners(BeamGeometry geometry)
    {
        double halfWidth = WidthMm / 2 / geometry.SpacingMm;
        double halfHeight = HeightMm / 2 / geometry.SpacingMm;
        (double sin, double cos) = Math.SinCos(TiltDegrees * Math.PI / 180);
        return [.. new[] { (-1, -1), (1, -1), (1, 1), (-1, 1) }.Select(corner => new PixelPoint(
            X: CentrePixels.X + (corner.Item1 * halfWidth * cos) - (corner.Item2 * halfHeight * sin),
            Y: CentrePixels.Y + (corner.Item1 * halfWidth * sin) + (corner.Item2 * halfHeight * cos)))];
    }

    /// <summary>How far inside the opening's nearest edge a pixel lies, in mm, negative outside.</summary>
    public double InsideMm(double column, double row, double spacingMm)
    {
        (double sin, double cos) = Math.SinCos(TiltDegrees * Math.PI / 180);
        double x = (column - CentrePixels.X) * spacingMm;
        double y = (row - CentrePixels.Y) * spacingMm;
        double across = (WidthMm / 2) - Math.Abs((x * cos) + (y * sin));
        double down = (HeightMm / 2) - Math.Abs((y * cos) - (x * sin));
        return Math.Min(across, down);
    }

    /// <summary>Intensity at a pixel over that without a collimator, 0 to 1.</summary>
    public double Transmission(double column, double row, double spacingMm)
    {
        (double sin, double cos) = Math.SinCos(TiltDegrees * Math.PI / 180);
        double x = (column - CentrePixels.X) * spacingMm;
        double y = (row - CentrePixels.Y) * spacingMm;
        double across = (WidthMm / 2) - Math.Abs((x * cos) + (y * sin));
        double down = (HeightMm / 2) - Math.Abs((y * cos) - (x * sin));
        double open = Ramp(across) * Ramp(down);
        double outside = Math.Max(0, -Math.Min(across, down));
        double tail = OffFocusShare * Math.Exp(-outside / TailMm);
        return (open * (1 - tail - LeafTransmission)) + tail + LeafTransmission;
    }

    /// <summary>The share of a uniform square focal spot that is seen past a straight edge.</summary>
    private double Ramp(double insideMm) => Math.Clamp((insideMm / PenumbraMm) + 0.5, 0, 1);
}
