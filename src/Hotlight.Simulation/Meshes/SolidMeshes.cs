using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Meshes;

/// <summary>One station of a swept tube.</summary>
/// <param name="Point">A point of its middle line, in mm.</param>
/// <param name="HalfHeight">Half the section along the tube's height direction, in mm.</param>
/// <param name="HalfThickness">Half the section across it, in mm.</param>
internal readonly record struct SweepStation(Vector3 Point, float HalfHeight, float HalfThickness);

/// <summary>Meshes of plain solids. All points lie on the surface, so chords are too short by at most the facets' sagitta.</summary>
internal static class SolidMeshes
{
    /// <summary>A sphere by parallels and meridians.</summary>
    /// <param name="centre">Centre, in mm.</param>
    /// <param name="radiusMm">Radius, in mm.</param>
    /// <param name="parts">Facets around the equator, 3 or more; half as many from pole to pole.</param>
    public static TriangleMesh Sphere(Vector3 centre, float radiusMm, int parts = 64)
    {
        Preconditions.AboveZero(radiusMm);
        int around = Math.Max(3, parts);
        int rings = Math.Max(1, (around / 2) - 1);
        List<Vector3> points = [];
        for (int ring = 1; ring <= rings; ring++)
        {
            (double height, double radius) = Math.SinCos((Math.PI * ring / (rings + 1)) - (Math.PI / 2));
            for (int part = 0; part < around; part++)
            {
                (double sin, double cos) = Math.SinCos(2 * Math.PI * part / around);
                points.Add(centre + (radiusMm * new Vector3((float)(radius * cos), (float)(radius * sin), (float)height)));
            }
        }

        return Capped(points, around, rings, centre - (radiusMm * Vector3.UnitZ), centre + (radiusMm * Vector3.UnitZ));
    }

    /// <summary>A box of twelve triangles.</summary>
    /// <param name="box">Its corners, in mm.</param>
    public static TriangleMesh Cuboid(Box box)
        => TriangleMesh.KnownClosed(
            [.. box.Corners()],
            [0, 2, 1, 1, 2, 3, 4, 5, 6, 5, 7, 6, 0, 1, 4, 1, 5, 4, 2, 6, 3, 3, 6, 7, 0, 4, 2, 2, 4, 6, 1, 3, 5, 3, 7, 5]);

    /// <summary>A straight cylinder with flat ends.</summary>
    /// <param name="from">Middle of one end, in mm.</param>
    /// <param name="to">Middle of the other end, in mm.</param>
    /// <param name="radiusMm">Radius, in mm.</param>
    /// <param name="parts">Facets around, 3 or more.</param>
    public static TriangleMesh Cylinder(Vector3 from, Vector3 to, float radiusMm, int parts = 64)
        => Tube([new SweepStation(from, radiusMm, radiusMm), new SweepStation(to, radiusMm, radiusMm)], AnyAcross(to - from), parts);

    /// <summary>A ring of round section.</summary>
    /// <param name="centre">Centre, in mm.</param>
    /// <param name="axis">Direction through the hole.</param>
    /// <param name="ringRadiusMm">From the centre to the middle of the section, in mm.</param>
    /// <param name="sectionRadiusMm">Radius of the section, in mm; less than the ring's.</param>
    /// <param name="around">Facets around the ring, 3 or more.</param>
    /// <param name="parts">Facets around the section, 3 or more.</param>
    public static TriangleMesh Torus(Vector3 centre, Vector3 axis, float ringRadiusMm, float sectionRadiusMm, int around = 96, int parts = 32)
    {
        Preconditions.AboveZero(ringRadiusMm);
        Preconditions.Within(sectionRadiusMm, 1e-6, ringRadiusMm);
        around = Math.Max(3, around);
        parts = Math.Max(3, parts);
        Vector3 up = Vector3.Normalize(axis);
        Vector3 u = AnyAcross(up);
        Vector3 v = Vector3.Cross(up, u);
        Vector3[] points = new Vector3[around * parts];
        int[] corners = new int[points.Length * 6];
        int to = 0;
        for (int ring = 0; ring < around; ring++)
        {
            (double sin, double cos) = Math.SinCos(2 * Math.PI * ring / around);
            Vector3 outwards = ((float)cos * u) + ((float)sin * v);
            int next = (ring + 1) % around;
            for (int part = 0; part < parts; part++)
            {
                (double height, double along) = Math.SinCos(2 * Math.PI * part / parts);
                points[(ring * parts) + part] = centre + ((ringRadiusMm + (sectionRadiusMm * (float)along)) * outwards) + (sectionRadiusMm * (float)height * up);
                int other = (part + 1) % parts;
                int a = (ring * parts) + part;
                int b = (next * parts) + part;
                int c = (next * parts) + other;
                int d = (ring * parts) + other;
                new[] { a, b, c, a, c, d }.CopyTo(corners, to);
                to += 6;
            }
        }

        return TriangleMesh.KnownClosed(points, corners);
    }

    /// <summary>A tube of elliptic section along stations, with flat ends: ribs, wires, pins, vessels.</summary>
    /// <param name="stations">Two or more, no two in a row in one place.</param>
    /// <param name="heightAxis">The direction that a section's height comes nearest to; where the tube runs along it, the height of the station before is kept.</param>
    /// <param name="parts">Facets around, 3 or more.</param>
    /// <exception cref="ArgumentException">There are fewer than two stations, or two in a row coincide.</exception>
    public static TriangleMesh Tube(IReadOnlyList<SweepStation> stations, Vector3 heightAxis, int parts = 24)
    {
        if (stations.Count < 2)
        {
            throw new ArgumentException($"A tube has {stations.Count} stations; it needs two or more.", nameof(stations));
        }

        parts = Math.Max(3, parts);
        List<Vector3> points = new(stations.Count * parts);
        Vector3 height = Vector3.Normalize(heightAxis);
        for (int station = 0; station < stations.Count; station++)
        {
            Vector3 forward = stations[Math.Min(station + 1, stations.Count - 1)].Point - stations[Math.Max(station - 1, 0)].Point;
            if (forward.LengthSquared() < 1e-12f || (station > 0 && Vector3.DistanceSquared(stations[station].Point, stations[station - 1].Point) < 1e-12f))
            {
                throw new ArgumentException($"Stations of a tube coincide near {stations[station].Point}.", nameof(stations));
            }

            forward = Vector3.Normalize(forward);
            Vector3 wanted = heightAxis - (Vector3.Dot(heightAxis, forward) * forward);
            if (wanted.LengthSquared() < 0.01f * heightAxis.LengthSquared())
            {
                wanted = height - (Vector3.Dot(height, forward) * forward);
                wanted = wanted.LengthSquared() < 1e-6f ? AnyAcross(forward) : wanted;
            }

            height = Vector3.Normalize(wanted);
            Vector3 thin = Vector3.Cross(forward, height);
            for (int part = 0; part < parts; part++)
            {
                (double sin, double cos) = Math.SinCos(2 * Math.PI * part / parts);
                points.Add(stations[station].Point + ((float)cos * stations[station].HalfHeight * height) + ((float)sin * stations[station].HalfThickness * thin));
            }
        }

        return Capped(points, parts, stations.Count, stations[0].Point, stations[^1].Point);
    }

    /// <summary>A unit vector across a direction.</summary>
    private static Vector3 AnyAcross(Vector3 direction)
    {
        Vector3 hint = MathF.Abs(direction.Z) < 0.8f * direction.Length() ? Vector3.UnitZ : Vector3.UnitX;
        return Vector3.Normalize(Vector3.Cross(hint, direction));
    }

    /// <summary>Rings of points, counter-clockwise seen from the last one, closed by two end points.</summary>
    private static TriangleMesh Capped(List<Vector3> points, int around, int rings, Vector3 first, Vector3 last)
    {
        List<int> corners = [];
        int start = points.Count;
        points.Add(first);
        points.Add(last);
        for (int part = 0; part < around; part++)
        {
            int next = (part + 1) % around;
            corners.AddRange([start, next, part]);
            for (int ring = 1; ring < rings; ring++)
            {
                int a = ((ring - 1) * around) + part;
                int b = ((ring - 1) * around) + next;
                corners.AddRange([a, b, b + around, a, b + around, a + around]);
            }

            int top = (rings - 1) * around;
            corners.AddRange([start + 1, top + part, top + next]);
        }

        return TriangleMesh.KnownClosed([.. points], [.. corners]);
    }
}
