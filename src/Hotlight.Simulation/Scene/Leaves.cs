using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Scene;

/// <summary>A collimator: two pairs of leaves across the central ray, seen from a focal spot of finite size.</summary>
/// <remarks>
/// The opening is given in the plane across the central ray at the source-image distance. With the tube straight that plane is the receptor, and the field is the opening;
/// with the tube tilted the field on the receptor is the trapezium that the rays past the leaves make.
/// Penumbra in that plane: P = F·(SID − d)/d for leaves at d from the source. The share of a uniform square focal spot that is seen past a straight edge is linear over it.
/// Off-focus radiation of 0.6 % that falls off in 12 mm beyond the edge, and leaves that let 0.06 % through: common practice, no source.
/// </remarks>
internal sealed record Leaves
{
    /// <summary>Share of the intensity from outside the focal spot that passes beyond the edge, falling off with <see cref="TailMm"/>.</summary>
    public const double OffFocusShare = 0.006;

    public const double TailMm = 12;

    public const double LeafTransmission = 0.0006;

    private readonly Vector3 source;
    private readonly Vector3 along;
    private readonly Vector3 across;
    private readonly Vector3 down;
    private readonly double sourceImageDistanceMm;
    private readonly double halfWidth;
    private readonly double halfHeight;
    private readonly double centreX;
    private readonly double centreY;

    /// <param name="geometry">Source and receptor; the central ray leads from the source to the room's origin.</param>
    /// <param name="opening">The opening.</param>
    /// <param name="focalSpotMm">Effective size of the focal spot along the opening's width and height, in mm.</param>
    public Leaves(BeamGeometry geometry, SceneCollimator opening, (double Width, double Height) focalSpotMm)
    {
        source = geometry.Source;
        along = Vector3.Normalize(-source);
        Vector3 x = Vector3.Normalize(Vector3.UnitX - (Vector3.Dot(Vector3.UnitX, along) * along));
        Vector3 y = Vector3.Normalize(Vector3.UnitY - (Vector3.Dot(Vector3.UnitY, along) * along) - (Vector3.Dot(Vector3.UnitY, x) * x));
        (double sin, double cos) = Math.SinCos(opening.TurnDegrees * Math.PI / 180);
        across = ((float)cos * x) + ((float)sin * y);
        down = ((float)cos * y) - ((float)sin * x);
        sourceImageDistanceMm = source.Length();
        halfWidth = opening.WidthMm / 2;
        halfHeight = opening.HeightMm / 2;

        // The middle is given along the image's own directions, not along the turned leaves.
        centreX = (opening.CentreMm[0] * cos) + (opening.CentreMm[1] * sin);
        centreY = (opening.CentreMm[1] * cos) - (opening.CentreMm[0] * sin);
        double leverage = (sourceImageDistanceMm - opening.LeafDistanceMm) / opening.LeafDistanceMm;
        PenumbraMm = (focalSpotMm.Width * leverage, focalSpotMm.Height * leverage);
    }

    /// <summary>Full width of the penumbra across the central ray at the source-image distance, in mm, of the sides and of top and bottom.</summary>
    public (double Width, double Height) PenumbraMm { get; }

    /// <summary>The four corners at half intensity, clockwise from the upper left, in pixels; they may lie beyond the stored image.</summary>
    /// <exception cref="ArgumentException">A corner's ray runs beside the receptor.</exception>
    public PixelPoint[] Corners(BeamGeometry geometry)
        => [.. new[] { (-1, -1), (1, -1), (1, 1), (-1, 1) }.Select(corner =>
        {
            Vector3 direction = ((float)sourceImageDistanceMm * along)
                + ((float)(centreX + (corner.Item1 * halfWidth)) * across)
                + ((float)(centreY + (corner.Item2 * halfHeight)) * down);
            if (direction.Z >= -1e-3f * direction.Length())
            {
                throw new ArgumentException("The tube is tilted so far that a side of the field never meets the receptor; tilt it less or narrow the field.", nameof(geometry));
            }

            Vector3 place = source - (source.Z / direction.Z * direction);
            return new PixelPoint(X: (place.X / geometry.SpacingMm) + geometry.CentralRay.X, Y: (place.Y / geometry.SpacingMm) + geometry.CentralRay.Y);
        })];

    /// <summary>How far inside the opening's nearest edge the ray to a place on the receptor passes, in mm across the central ray at the source-image distance; negative outside.</summary>
    public double InsideMm(float x, float y)
    {
        (double insideWidth, double insideHeight) = Inside(x, y);
        return Math.Min(insideWidth, insideHeight);
    }

    /// <summary>Intensity at a place on the receptor over that without a collimator, 0 to 1.</summary>
    public float Transmission(float x, float y)
    {
        (double insideWidth, double insideHeight) = Inside(x, y);
        double open = Ramp(insideWidth, PenumbraMm.Width) * Ramp(insideHeight, PenumbraMm.Height);
        double inside = Math.Min(insideWidth, insideHeight);
        double tail = inside >= 0 ? OffFocusShare : OffFocusShare * Math.Exp(inside / TailMm);
        return (float)((open * (1 - tail - LeafTransmission)) + tail + LeafTransmission);
    }

    /// <summary>A ray through the opening: its angle from the central ray towards a direction, in degrees, and its length to the plane across the central ray over the source-image distance.</summary>
    /// <param name="width">Place across the opening, −1 to 1.</param>
    /// <param name="height">Place down the opening, −1 to 1.</param>
    /// <param name="towards">A unit vector across the central ray.</param>
    public (double Degrees, double Farther) Ray(double width, double height, Vector3 towards)
    {
        Vector3 offset = ((float)(centreX + (width * halfWidth)) * across) + ((float)(centreY + (height * halfHeight)) * down);
        double ratio = offset.Length() / sourceImageDistanceMm;
        return (Math.Atan2(Vector3.Dot(offset, towards), sourceImageDistanceMm) * 180 / Math.PI, Math.Sqrt(1 + (ratio * ratio)));
    }

    private static double Ramp(double insideMm, double penumbraMm)
        => penumbraMm <= 1e-9 ? (insideMm >= 0 ? 1 : 0) : Math.Clamp((insideMm / penumbraMm) + 0.5, 0, 1);

    private (double Width, double Height) Inside(float x, float y)
    {
        Vector3 ray = new(x - source.X, y - source.Y, -source.Z);
        double scale = sourceImageDistanceMm / Vector3.Dot(ray, along);
        return (
            halfWidth - Math.Abs((Vector3.Dot(ray, across) * scale) - centreX),
            halfHeight - Math.Abs((Vector3.Dot(ray, down) * scale) - centreY));
    }
}
