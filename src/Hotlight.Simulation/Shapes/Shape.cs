using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A closed body as a signed distance, in mm: negative inside. Exact for spheres and capsules, first order for the others.</summary>
internal abstract class Shape
{
    /// <summary>A box that holds the body.</summary>
    public abstract Box Bounds { get; }

    /// <summary>Signed distance of a point, in mm, negative inside.</summary>
    public abstract float Distance(Vector3 point);

    public static Shape operator +(Shape first, Shape second) => new SmoothUnion(1.5f, first, second);
}

/// <summary>An ellipsoid with axes parallel to the frame's.</summary>
internal sealed class Ellipsoid(Vector3 centre, Vector3 radii) : Shape
{
    private readonly Vector3 inverse = Vector3.One / radii;

    public override Box Bounds => new(centre - radii, centre + radii);

    public override float Distance(Vector3 point)
    {
        Vector3 scaled = (point - centre) * inverse;
        float k0 = scaled.Length();
        float k1 = (scaled * inverse).Length();
        return k1 < 1e-9f ? -MathF.Min(radii.X, MathF.Min(radii.Y, radii.Z)) : k0 * (k0 - 1) / k1;
    }
}

/// <summary>Two spheres and the cone that touches both.</summary>
internal sealed class TaperedCapsule(Vector3 from, Vector3 to, float fromRadius, float toRadius) : Shape
{
    private readonly Vector3 along = to - from;
    private readonly float lengthSquared = MathF.Max(1e-6f, (to - from).LengthSquared());

    public override Box Bounds => Box.Around(from, fromRadius).With(Box.Around(to, toRadius));

    public override float Distance(Vector3 point)
    {
        // Along a slanted surface the nearest axis point is not the foot of the perpendicular; the error
        // is second order in the taper, and exact for equal radii.
        Vector3 offset = point - from;
        float share = Math.Clamp(Vector3.Dot(offset, along) / lengthSquared, 0, 1);
        return (offset - (share * along)).Length() - (fromRadius + (share * (toRadius - fromRadius)));
    }
}

/// <summary>Several bodies merged with rounded seams.</summary>
internal sealed class SmoothUnion(float seamMm, params Shape[] parts) : Shape
{
    private const float MarginMm = 26;
    private readonly Box bounds = parts.Select(part => part.Bounds).Aggregate((a, b) => a.With(b)).Grown(seamMm * 0.25f);
    private readonly Box[] partBounds = [.. parts.Select(part => part.Bounds.Grown(seamMm + MarginMm))];

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point)
    {
        float distance = float.MaxValue;
        for (int part = 0; part < parts.Length; part++)
        {
            // A part this far off changes nothing but the skip length, not even the seam of an outer union: its box is a lower bound.
            Vector3 outside = Vector3.Max(Vector3.Max(partBounds[part].Minimum - point, point - partBounds[part].Maximum), Vector3.Zero);
            if (outside != Vector3.Zero)
            {
                // Most boxes lie farther off than what is near already: then no root is needed.
                float room = distance - seamMm - MarginMm;
                if (room > 0 && outside.LengthSquared() < room * room)
                {
                    distance = MathF.Min(distance, outside.Length() + seamMm + MarginMm);
                }

                continue;
            }

            float other = parts[part].Distance(point);
            float mix = MathF.Max(seamMm - MathF.Abs(distance - other), 0);
            distance = MathF.Min(distance, other) - (mix * mix / (4 * seamMm));
        }

        return distance;
    }
}

/// <summary>One body with another taken out of it, with a rounded rim.</summary>
internal sealed class SmoothCut(float rimMm, Shape body, params Shape[] removed) : Shape
{
    private readonly Box[] removedBounds = [.. removed.Select(cut => cut.Bounds)];

    public override Box Bounds => body.Bounds;

    public override float Distance(Vector3 point)
    {
        float distance = body.Distance(point);
        if (distance > 6)
        {
            return distance;
        }

        for (int cut = 0; cut < removed.Length; cut++)
        {
            // What is this far off takes nothing away here: its box is a lower bound, doubled for distances that are of first order only.
            Vector3 outside = Vector3.Max(Vector3.Max(removedBounds[cut].Minimum - point, point - removedBounds[cut].Maximum), Vector3.Zero);
            float near = (2 * (rimMm - distance)) + 2;
            if (near > 0 && outside.LengthSquared() > near * near)
            {
                continue;
            }

            float other = -removed[cut].Distance(point);
            float mix = MathF.Max(rimMm - MathF.Abs(distance - other), 0);
            distance = MathF.Max(distance, other) + (mix * mix / (4 * rimMm));
        }

        return distance;
    }
}

/// <summary>The part that two bodies share.</summary>
internal sealed class Shared(Shape first, Shape second) : Shape
{
    public override Box Bounds => new(Vector3.Max(first.Bounds.Minimum, second.Bounds.Minimum), Vector3.Min(first.Bounds.Maximum, second.Bounds.Maximum));

    public override float Distance(Vector3 point) => MathF.Max(first.Distance(point), second.Distance(point));
}

/// <summary>A rigid placement: a frame of three unit axes at an origin. A mirrored frame makes the other side of the body.</summary>
internal readonly record struct Pose(Vector3 Origin, Vector3 X, Vector3 Y, Vector3 Z)
{
    public static Pose Identity { get; } = new(Vector3.Zero, Vector3.UnitX, Vector3.UnitY, Vector3.UnitZ);

    /// <summary>Local y runs from one point to another; local z is as near as it can be to the hint.</summary>
    public static Pose Along(Vector3 from, Vector3 to, Vector3 hintZ)
    {
        Vector3 y = Vector3.Normalize(to - from);
        Vector3 z = Vector3.Normalize(hintZ - (Vector3.Dot(hintZ, y) * y));
        return new Pose(from, Vector3.Cross(y, z), y, z);
    }

    /// <summary>A turn by Euler angles, in degrees, about z, then y, then x of the outer frame.</summary>
    public static Pose Turned(Vector3 origin, float aboutX, float aboutY, float aboutZ)
    {
        const float Radian = MathF.PI / 180;
        Quaternion turn = Quaternion.CreateFromAxisAngle(Vector3.UnitX, aboutX * Radian)
            * Quaternion.CreateFromAxisAngle(Vector3.UnitY, aboutY * Radian)
            * Quaternion.CreateFromAxisAngle(Vector3.UnitZ, aboutZ * Radian);
        return new Pose(origin, Vector3.Transform(Vector3.UnitX, turn), Vector3.Transform(Vector3.UnitY, turn), Vector3.Transform(Vector3.UnitZ, turn));
    }

    public Vector3 ToOuter(Vector3 local) => Origin + (local.X * X) + (local.Y * Y) + (local.Z * Z);

    public Vector3 ToLocal(Vector3 outer)
    {
        Vector3 offset = outer - Origin;
        return new Vector3(Vector3.Dot(offset, X), Vector3.Dot(offset, Y), Vector3.Dot(offset, Z));
    }

    public Vector3 TurnToOuter(Vector3 local) => (local.X * X) + (local.Y * Y) + (local.Z * Z);

    /// <summary>This pose seen through an outer one.</summary>
    public Pose Within(Pose outer) => new(outer.ToOuter(Origin), outer.TurnToOuter(X), outer.TurnToOuter(Y), outer.TurnToOuter(Z));

    public Box ToOuter(Box local)
    {
        Vector3 low = new(float.MaxValue);
        Vector3 high = new(float.MinValue);
        foreach (Vector3 corner in local.Corners())
        {
            Vector3 outer = ToOuter(corner);
            low = Vector3.Min(low, outer);
            high = Vector3.Max(high, outer);
        }

        return new Box(low, high);
    }
}

/// <summary>A body in a pose.</summary>
internal sealed class Posed(Pose pose, Shape body) : Shape
{
    private readonly Box bounds = pose.ToOuter(body.Bounds);

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point) => body.Distance(pose.ToLocal(point));
}

/// <summary>A body shrunk by a constant depth.</summary>
internal sealed class Inset(Shape body, float depthMm) : Shape
{
    public override Box Bounds => body.Bounds;

    public override float Distance(Vector3 point) => body.Distance(point) + depthMm;
}
