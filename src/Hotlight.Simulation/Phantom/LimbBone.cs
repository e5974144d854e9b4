using System.Numerics;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Phantom;

/// <summary>A bone of a limb as drawn, before it is scaled and posed. Lengths in mm of the grown-up.</summary>
/// <param name="Name">Name, unique within the part.</param>
/// <param name="Surface">Outer surface.</param>
/// <param name="Segment">Which moving piece of the part it belongs to.</param>
/// <param name="From">Where the axis begins along which cortex and spongy share run.</param>
/// <param name="To">Where the axis leads.</param>
/// <param name="CortexMm">Thickness of the cortex against the distance along the axis.</param>
/// <param name="SpongyShare">Share of bone in the interior against the same distance.</param>
internal sealed record LimbBone(string Name, Shape Surface, string Segment, Vector3 From, Vector3 To, (double At, double Value)[] CortexMm, (double At, double Value)[] SpongyShare)
{
    /// <summary>Size of a grain cell across and along the axis, in mm.</summary>
    public float GrainAcrossMm { get; init; } = 0.33f;

    public float GrainAlongMm { get; init; } = 0.9f;

    /// <summary>Adds the bone to a part.</summary>
    /// <param name="builder">The part; its joint has to be that of the bone's segment.</param>
    /// <param name="scale">Size against the grown-up.</param>
    public void AddTo(BodyBuilder builder, float scale)
        => builder.Long(
            Name,
            () => scale == 1 ? Surface : new Scaled(scale, Surface),
            scale * From,
            scale * To,
            new Curve([.. CortexMm.Select(station => (scale * station.At, scale * station.Value))]),
            new Curve([.. SpongyShare.Select(station => (scale * station.At, station.Value))]),
            GrainAcrossMm,
            GrainAlongMm);

    /// <summary>This bone before its end has grown onto it: the shaft's side of the growth plate, and the end's own bone, smaller by the cartilage that covers it.</summary>
    /// <param name="plate">Middle of the growth plate.</param>
    /// <param name="outward">Unit direction from the shaft to the end.</param>
    /// <param name="plateMm">Thickness of the plate.</param>
    /// <param name="cartilageMm">Cartilage that still covers the end's bone.</param>
    /// <param name="waveMm">Unevenness of the plate.</param>
    /// <param name="waveLengthMm">Length of its waves.</param>
    public IEnumerable<LimbBone> SplitAt(Vector3 plate, Vector3 outward, float plateMm, float cartilageMm, float waveMm = 0.5f, float waveLengthMm = 18)
    {
        Vector3 half = 0.5f * plateMm * outward;
        yield return this with { Surface = new Trimmed(1.2f, Surface, new WavySide(plate - half, outward, waveMm, waveLengthMm)) };
        yield return this with
        {
            Name = Name + "Epiphysis",
            Surface = new Trimmed(1.6f, new Inset(Surface, cartilageMm), new WavySide(plate + half, -outward, waveMm, waveLengthMm)),
            CortexMm = [(0, 0.7)],
            SpongyShare = [(0, 0.26)],
        };
    }

    /// <summary>The point of a surface nearest to a point close to it, by steps along the gradient.</summary>
    public static Vector3 OnSurface(Shape surface, Vector3 near)
    {
        const float Step = 0.05f;
        Vector3 point = near;
        for (int round = 0; round < 40; round++)
        {
            float distance = surface.Distance(point);
            if (MathF.Abs(distance) < 0.02f)
            {
                break;
            }

            Vector3 gradient = new(
                surface.Distance(point + new Vector3(Step, 0, 0)) - surface.Distance(point - new Vector3(Step, 0, 0)),
                surface.Distance(point + new Vector3(0, Step, 0)) - surface.Distance(point - new Vector3(0, Step, 0)),
                surface.Distance(point + new Vector3(0, 0, Step)) - surface.Distance(point - new Vector3(0, 0, Step)));
            if (gradient.LengthSquared() < 1e-12f)
            {
                break;
            }

            point -= 0.8f * distance * Vector3.Normalize(gradient);
        }

        return point;
    }

    /// <summary>The point of a surface that lies furthest in a direction, sought near a start.</summary>
    /// <param name="surface">The surface.</param>
    /// <param name="near">A point near it.</param>
    /// <param name="direction">Unit direction.</param>
    public static Vector3 Furthest(Shape surface, Vector3 near, Vector3 direction)
    {
        Vector3 best = OnSurface(surface, near);
        for (float step = 4; step > 0.05f; step *= 0.6f)
        {
            for (int round = 0; round < 12; round++)
            {
                Vector3 next = OnSurface(surface, best + (step * direction));
                Vector3 side = Vector3.Normalize(Vector3.Cross(direction, MathF.Abs(direction.X) < 0.8f ? Vector3.UnitX : Vector3.UnitY));
                Vector3 other = Vector3.Cross(direction, side);
                Vector3 found = best;
                foreach (Vector3 tried in (Vector3[])[next, OnSurface(surface, best + (step * side)), OnSurface(surface, best - (step * side)), OnSurface(surface, best + (step * other)), OnSurface(surface, best - (step * other))])
                {
                    if (Vector3.Dot(tried, direction) > Vector3.Dot(found, direction) + 1e-3f && MathF.Abs(surface.Distance(tried)) < 0.1f)
                    {
                        found = tried;
                    }
                }

                if (found == best)
                {
                    break;
                }

                best = found;
            }
        }

        return best;
    }
}
