using System.Numerics;
using Hotlight.Core;

namespace Hotlight.Simulation.Projection;

/// <summary>Where source and receptor are. The receptor lies at z = 0, the source above the origin; x follows columns, y follows rows, in mm.</summary>
internal sealed record BeamGeometry(int Rows, int Columns, double SpacingMm, double SourceImageDistanceMm)
{
    /// <summary>The pixel under the source.</summary>
    public PixelPoint CentralRay { get; init; } = new(X: (Columns - 1) / 2.0, Y: (Rows - 1) / 2.0);

    public float ReceptorX(double column) => (float)((column - CentralRay.X) * SpacingMm);

    public float ReceptorY(double row) => (float)((row - CentralRay.Y) * SpacingMm);

    /// <summary>Length of a ray over its height: 1 under the source.</summary>
    public float Obliquity(float x, float y) => MathF.Sqrt(((x * x) + (y * y)) / (float)(SourceImageDistanceMm * SourceImageDistanceMm) + 1);

    /// <summary>Inverse square and the receptor's tilt to the ray: intensity over that under the source.</summary>
    public float IntensityOverCentre(float x, float y)
    {
        float obliquity = Obliquity(x, y);
        return 1 / (obliquity * obliquity * obliquity);
    }

    /// <summary>Where a point of the room falls on the receptor, in pixels.</summary>
    public PixelPoint Project(Vector3 point)
    {
        double scale = SourceImageDistanceMm / (SourceImageDistanceMm - point.Z);
        return new PixelPoint(X: (point.X * scale / SpacingMm) + CentralRay.X, Y: (point.Y * scale / SpacingMm) + CentralRay.Y);
    }
}
