using System.Numerics;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Meshes;

/// <summary>A surface of flat triangles, in mm, in a frame of its own. Corners run counter-clockwise seen from outside, so that the enclosed volume is positive.</summary>
internal sealed class TriangleMesh
{
    private static readonly Lazy<int> Known = new(0);
    private readonly Vector3[] vertices;
    private readonly int[] corners;
    private readonly Lazy<int> openEdges;
    private readonly Lazy<Box> bounds;

    /// <param name="vertices">Points, in mm, all finite; owned from now on.</param>
    /// <param name="corners">Three indices for each triangle; owned from now on.</param>
    /// <exception cref="ArgumentException">The corners are no multiple of three, an index has no point, or a point is not finite.</exception>
    public TriangleMesh(Vector3[] vertices, int[] corners)
        : this(vertices, corners, knownClosed: false)
    {
        if (corners.Length % 3 != 0)
        {
            throw new ArgumentException($"A mesh has {corners.Length} corners, which is no multiple of three.", nameof(corners));
        }

        foreach (int corner in corners)
        {
            if ((uint)corner >= (uint)vertices.Length)
            {
                throw new ArgumentException($"A triangle asks for point {corner} of {vertices.Length}.", nameof(corners));
            }
        }

        foreach (Vector3 vertex in vertices)
        {
            if (!float.IsFinite(vertex.X) || !float.IsFinite(vertex.Y) || !float.IsFinite(vertex.Z))
            {
                throw new ArgumentException($"A point of the mesh is {vertex}; points must be finite.", nameof(vertices));
            }
        }
    }

    private TriangleMesh(Vector3[] vertices, int[] corners, bool knownClosed)
    {
        this.vertices = vertices;
        this.corners = corners;
        openEdges = knownClosed ? Known : new Lazy<int>(CountOpenEdges);
        bounds = new Lazy<Box>(FindBounds);
    }

    /// <summary>A mesh without triangles.</summary>
    public static TriangleMesh Empty { get; } = new([], [], knownClosed: true);

    public ReadOnlySpan<Vector3> Vertices => vertices;

    /// <summary>Three indices into <see cref="Vertices"/> for each triangle.</summary>
    public ReadOnlySpan<int> Corners => corners;

    public int TriangleCount => corners.Length / 3;

    public bool IsEmpty => corners.Length == 0;

    /// <summary>The smallest box around all points; a box of no size at the origin for a mesh without points.</summary>
    public Box Bounds => bounds.Value;

    /// <summary>Directed edges without a partner that runs the other way. 0 means closed.</summary>
    /// <remarks>An edge that four triangles share is closed when two run each way; so a surface may touch itself.</remarks>
    public int OpenEdges => openEdges.Value;

    public bool IsClosed => OpenEdges == 0;

    /// <summary>The enclosed volume by the divergence theorem, in mm³: Σ a·(b × c)/6. It means something for closed meshes only.</summary>
    public double VolumeMm3
    {
        get
        {
            Vector3 middle = 0.5f * (Bounds.Minimum + Bounds.Maximum);
            double sum = 0;
            for (int at = 0; at < corners.Length; at += 3)
            {
                Vector3 a = vertices[corners[at]] - middle;
                Vector3 b = vertices[corners[at + 1]] - middle;
                Vector3 c = vertices[corners[at + 2]] - middle;
                sum += (a.X * (((double)b.Y * c.Z) - ((double)b.Z * c.Y)))
                    + (a.Y * (((double)b.Z * c.X) - ((double)b.X * c.Z)))
                    + (a.Z * (((double)b.X * c.Y) - ((double)b.Y * c.X)));
            }

            return sum / 6;
        }
    }

    /// <summary>A mesh whose maker answers for its being closed and in range.</summary>
    public static TriangleMesh KnownClosed(Vector3[] vertices, int[] corners) => new(vertices, corners, knownClosed: true);

    /// <summary>Several meshes as one; closed when each of them is.</summary>
    public static TriangleMesh Joined(IReadOnlyCollection<TriangleMesh> parts)
    {
        Vector3[] vertices = new Vector3[parts.Sum(part => part.vertices.Length)];
        int[] corners = new int[parts.Sum(part => part.corners.Length)];
        int vertex = 0;
        int corner = 0;
        foreach (TriangleMesh part in parts)
        {
            part.vertices.CopyTo(vertices, vertex);
            foreach (int at in part.corners)
            {
                corners[corner++] = at + vertex;
            }

            vertex += part.vertices.Length;
        }

        return new TriangleMesh(vertices, corners, parts.All(part => part.openEdges.IsValueCreated && part.IsClosed));
    }

    /// <summary>This mesh in an outer frame. A mirrored pose turns the corners round, so that outside stays outside.</summary>
    public TriangleMesh Transformed(Pose pose)
    {
        Vector3[] moved = new Vector3[vertices.Length];
        for (int at = 0; at < moved.Length; at++)
        {
            moved[at] = pose.ToOuter(vertices[at]);
        }

        bool mirrored = Vector3.Dot(Vector3.Cross(pose.X, pose.Y), pose.Z) < 0;
        return new TriangleMesh(moved, mirrored ? TurnedRound() : corners, openEdges.IsValueCreated && IsClosed);
    }

    /// <summary>The same surface with inside and outside exchanged.</summary>
    public TriangleMesh Flipped() => new(vertices, TurnedRound(), openEdges.IsValueCreated && IsClosed);

    /// <summary>Points of one place become one point, and triangles that lost a side are dropped: for files that repeat the points of every triangle.</summary>
    /// <param name="gridMm">0: only equal points are joined. Above 0: points are first rounded to this grid, in mm.</param>
    public TriangleMesh Welded(float gridMm = 0)
    {
        Dictionary<Vector3, int> known = new(vertices.Length / 4);
        List<Vector3> kept = [];
        int[] place = new int[vertices.Length];
        for (int at = 0; at < vertices.Length; at++)
        {
            Vector3 vertex = vertices[at];
            Vector3 key = gridMm > 0 ? new Vector3(MathF.Round(vertex.X / gridMm), MathF.Round(vertex.Y / gridMm), MathF.Round(vertex.Z / gridMm)) : vertex;
            if (!known.TryGetValue(key, out int index))
            {
                index = kept.Count;
                known.Add(key, index);
                kept.Add(vertex);
            }

            place[at] = index;
        }

        List<int> joined = new(corners.Length);
        for (int at = 0; at < corners.Length; at += 3)
        {
            int a = place[corners[at]];
            int b = place[corners[at + 1]];
            int c = place[corners[at + 2]];
            if (a != b && b != c && c != a)
            {
                joined.Add(a);
                joined.Add(b);
                joined.Add(c);
            }
        }

        return new TriangleMesh([.. kept], [.. joined], knownClosed: false);
    }

    private int[] TurnedRound()
    {
        int[] turned = new int[corners.Length];
        for (int at = 0; at < corners.Length; at += 3)
        {
            turned[at] = corners[at];
            turned[at + 1] = corners[at + 2];
            turned[at + 2] = corners[at + 1];
        }

        return turned;
    }

    private Box FindBounds()
    {
        if (vertices.Length == 0)
        {
            return new Box(Vector3.Zero, Vector3.Zero);
        }

        Vector3 low = vertices[0];
        Vector3 high = vertices[0];
        foreach (Vector3 vertex in vertices)
        {
            low = Vector3.Min(low, vertex);
            high = Vector3.Max(high, vertex);
        }

        return new Box(low, high);
    }

    private int CountOpenEdges()
    {
        // Undirected edge in the upper bits, direction in the lowest: partners lie side by side once sorted.
        ulong[] edges = new ulong[corners.Length];
        for (int at = 0; at < corners.Length; at++)
        {
            int from = corners[at];
            int to = corners[at % 3 == 2 ? at - 2 : at + 1];
            edges[at] = ((ulong)(uint)Math.Min(from, to) << 33) | ((ulong)(uint)Math.Max(from, to) << 1) | (from < to ? 1UL : 0UL);
        }

        Array.Sort(edges);
        int open = 0;
        int start = 0;
        while (start < edges.Length)
        {
            int end = start;
            int balance = 0;
            while (end < edges.Length && edges[end] >> 1 == edges[start] >> 1)
            {
                balance += (edges[end] & 1) == 1 ? 1 : -1;
                end++;
            }

            // A side that a triangle has with itself is no edge.
            open += (edges[start] >> 33) == ((edges[start] >> 1) & 0xFFFFFFFF) ? 0 : Math.Abs(balance);
            start = end;
        }

        return open;
    }
}
