using System.Numerics;
using Hotlight.Core;

namespace Hotlight.Simulation.Projection;

/// <summary>Where source and receptor are. The receptor lies at z = 0; x follows columns, y follows rows, z runs towards the source, in mm.</summary>
/// <param name="Rows">Rows of the receptor.</param>
/// <param name="Columns">Columns of the receptor.</param>
/// <param name="SpacingMm">Distance of pixel centres, in mm.</param>
/// <param name="SourceImageDistanceMm">Distance from the source to the point where the central ray meets the receptor, in mm.</param>
internal sealed record BeamGeometry(int Rows, int Columns, double SpacingMm, double SourceImageDistanceMm)
{
    private readonly Vector3? source;

    /// <summary>The pixel at the origin of the room, where the central ray meets the receptor.</summary>
    public PixelPoint CentralRay { get; init; } = new(X: (Columns - 1) / 2.0, Y: (Rows - 1) / 2.0);

    /// <summary>The focal spot, in mm; straight above the origin unless told otherwise.</summary>
    public Vector3 Source
    {
        get => source ?? new Vector3(0, 0, (float)SourceImageDistanceMm);
        init => source = value;
    }

    /// <summary>A tube that is tilted and aimed at one pixel.</summary>
    /// <param name="rows">Rows of the receptor.</param>
    /// <param name="columns">Columns of the receptor.</param>
    /// <param name="spacingMm">Distance of pixel centres, in mm.</param>
    /// <param name="sourceImageDistanceMm">From the source to the receptor along the central ray, in mm.</param>
    /// <param name="aboutXDegrees">Tilt in the y-z plane, as seen along x; a positive one moves the source towards −y (up in the image). Within ±80.</param>
    /// <param name="aboutYDegrees">Tilt in the x-z plane, as seen along y; a positive one moves the source towards +x (right in the image). Within ±80.</param>
    /// <param name="centralRay">The pixel that the central ray meets.</param>
    /// <exception cref="ArgumentOutOfRangeException">A distance is not above 0 or an angle lies outside ±80°.</exception>
    public static BeamGeometry FromTube(int rows, int columns, double spacingMm, double sourceImageDistanceMm, double aboutXDegrees, double aboutYDegrees, PixelPoint centralRay)
    {
        Preconditions.AboveZero(spacingMm);
        Preconditions.AboveZero(sourceImageDistanceMm);
        double x = Math.Tan(Preconditions.Within(aboutYDegrees, -80, 80) * Math.PI / 180);
        double y = -Math.Tan(Preconditions.Within(aboutXDegrees, -80, 80) * Math.PI / 180);
        double scale = sourceImageDistanceMm / Math.Sqrt((x * x) + (y * y) + 1);
        return new BeamGeometry(Preconditions.AtLeastOne(rows), Preconditions.AtLeastOne(columns), spacingMm, sourceImageDistanceMm)
        {
            CentralRay = centralRay,
            Source = new Vector3((float)(x * scale), (float)(y * scale), (float)scale),
        };
    }

    /// <summary>Room x of a column, in mm.</summary>
    public float ReceptorX(double column) => (float)((column - CentralRay.X) * SpacingMm);

    /// <summary>Room y of a row, in mm.</summary>
    public float ReceptorY(double row) => (float)((row - CentralRay.Y) * SpacingMm);

    /// <summary>Length of the ray to a point of the receptor over the source's height above it: 1 straight under the source.</summary>
    public float Obliquity(float x, float y)
    {
        float dx = x - Source.X;
        float dy = y - Source.Y;
        return MathF.Sqrt((((dx * dx) + (dy * dy)) / (Source.Z * Source.Z)) + 1);
    }

    /// <summary>Inverse square and the receptor's tilt to the ray: intensity at a point of the receptor over that where the central ray meets it.</summary>
    /// <remarks>cos θ / r² with cos θ = height / r, so the third power of the ratio of the rays' lengths.</remarks>
    public float IntensityOverCentre(float x, float y)
    {
        float ratio = Obliquity(0, 0) / Obliquity(x, y);
        return ratio * ratio * ratio;
    }

    /// <summary>Where a point of the room falls on the receptor, in pixels.</summary>
    /// <param name="point">A point below the source, in mm.</param>
    public PixelPoint Project(Vector3 point)
    {
        double scale = Source.Z / ((double)Source.Z - point.Z);
        return new PixelPoint(
            X: ((Source.X + (((double)point.X - Source.X) * scale)) / SpacingMm) + CentralRay.X,
            Y: ((Source.Y + (((double)point.Y - Source.Y) * scale)) / SpacingMm) + CentralRay.Y);
    }

    /// <summary>The point of the ray to a place on the receptor at a given height, in mm.</summary>
    public Vector3 PointOfRay(float x, float y, float heightMm)
    {
        float share = heightMm / Source.Z;
        return new Vector3(x + (share * (Source.X - x)), y + (share * (Source.Y - y)), heightMm);
    }
}
