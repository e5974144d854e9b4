using System.Buffers;
using System.Numerics;
using System.Runtime.ExceptionServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Projection;

/// <summary>A plane of path lengths and the share of a surface's chord that it takes; a negative share takes away.</summary>
internal readonly record struct WeightedPlane(Raster<float> LengthsMm, float Weight);

/// <summary>A surface with one inside it.</summary>
/// <param name="Outer">A closed surface.</param>
/// <param name="Inner">A closed surface within it; may be empty. What of it lies beside the outer one's shadow is left out.</param>
/// <param name="Pose">Where both are in the room.</param>
/// <param name="Take">Receives the rows.</param>
internal sealed record NestedSurfaces(TriangleMesh Outer, TriangleMesh Inner, Pose Pose, MeshProjector.NestedRow Take);

/// <summary>Chords of one surface over the part of the image that it covers.</summary>
/// <param name="Top">First row.</param>
/// <param name="Left">First column.</param>
/// <param name="LengthsMm">Length of every ray within the surface, in mm.</param>
/// <param name="HeightsMm">Height z of the middle of what the ray crosses, weighted by length, in mm; what it holds where the length is 0 means nothing. Null where it was not asked for.</param>
internal sealed record ChordMap(int Top, int Left, Raster<float> LengthsMm, Raster<float>? HeightsMm);

/// <summary>A part of the image, all four sides included.</summary>
internal readonly record struct PixelWindow(int Top, int Left, int Bottom, int Right)
{
    public static PixelWindow All { get; } = new(0, 0, int.MaxValue, int.MaxValue);
}

/// <summary>Exact cone-beam projection of closed surfaces: the length of every ray within them.</summary>
/// <remarks>
/// <para>Signed depth accumulation: every triangle adds the distance at which a ray leaves through it and takes away that at which a ray enters; the sum over a closed surface is the length inside. Method: docs/methods/projection.md.</para>
/// <para>Watertight: the crossing of an edge with a row is computed from the edge's two end points alone, always from the upper one, and a triangle covers the half-open interval between two crossings. So neighbours share neither a pixel nor a gap, and every ray enters as often as it leaves.</para>
/// <para>Parts below the receptor (z &lt; 0) are cut off at it. The sums do not depend on the number of threads.</para>
/// </remarks>
internal sealed class MeshProjector
{
    private const int BandRows = 16;
    private const int PairsAtOnce = 8;
    private readonly BeamGeometry geometry;
    private readonly ParallelOptions options;

    /// <param name="geometry">Source and receptor.</param>
    /// <param name="cancellation">Stops the work.</param>
    public MeshProjector(BeamGeometry geometry, CancellationToken cancellation = default)
    {
        this.geometry = geometry;
        options = new ParallelOptions { CancellationToken = cancellation };
    }

    /// <summary>Pixels outside this part are left alone; all of the receptor unless told otherwise.</summary>
    public PixelWindow Window { get; init; } = PixelWindow.All;

    /// <summary>Receives what one row of a nested pair of surfaces crosses, from the first to the last column that is touched; rows come in any order and from several threads.</summary>
    public delegate void NestedRow(int row, int left, ReadOnlySpan<float> outerMm, ReadOnlySpan<float> innerMm, ReadOnlySpan<float> innerHeightsMm);

    private delegate void RowSink(int row, int left, Span<float> lengthsMm, Span<float> heightsMm);

    /// <summary>Adds a surface's chords to one plane.</summary>
    /// <param name="mesh">A closed surface.</param>
    /// <param name="pose">Where it is in the room; a mirrored pose is welcome.</param>
    /// <param name="weight">Factor of the chords.</param>
    /// <param name="lengthsMm">Rows × columns of the receptor, in mm; added to.</param>
    /// <exception cref="ArgumentException">The mesh is open, the plane has another size, or a point lies at the source's height or above.</exception>
    public void Add(TriangleMesh mesh, Pose pose, float weight, Raster<float> lengthsMm)
        => Add(mesh, pose, new WeightedPlane(lengthsMm, weight));

    /// <summary>Adds a surface's chords to several planes at once: a nested surface adds to its inner material and takes from the outer.</summary>
    /// <param name="mesh">A closed surface.</param>
    /// <param name="pose">Where it is in the room.</param>
    /// <param name="planes">What each plane gets; planes have the receptor's size.</param>
    /// <exception cref="ArgumentException">The mesh is open, a plane has another size, or a point lies at the source's height or above.</exception>
    public void Add(TriangleMesh mesh, Pose pose, params WeightedPlane[] planes)
    {
        foreach (WeightedPlane plane in planes)
        {
            if (plane.LengthsMm.Rows != geometry.Rows || plane.LengthsMm.Columns != geometry.Columns)
            {
                throw new ArgumentException($"A plane of {plane.LengthsMm.Rows} × {plane.LengthsMm.Columns} does not fit a receptor of {geometry.Rows} × {geometry.Columns}.", nameof(planes));
            }
        }

        using Shadow? shadow = Cast(mesh, pose);
        if (shadow is null)
        {
            return;
        }

        Accumulate(shadow, withHeights: false, (row, left, lengths, _) =>
        {
            foreach (WeightedPlane plane in planes)
            {
                Convolution.AddScaled(lengths, plane.Weight, plane.LengthsMm.Row(row).Slice(left, lengths.Length));
            }
        });
    }

    /// <summary>A surface's chords alone, over the part of the image that it covers; null where it covers none.</summary>
    /// <param name="mesh">A closed surface.</param>
    /// <param name="pose">Where it is in the room.</param>
    /// <param name="withHeights">Whether the mean height of every chord is wanted too.</param>
    /// <exception cref="ArgumentException">The mesh is open, or a point lies at the source's height or above.</exception>
    public ChordMap? Chords(TriangleMesh mesh, Pose pose, bool withHeights)
    {
        using Shadow? shadow = Cast(mesh, pose);
        if (shadow is null)
        {
            return null;
        }

        ChordMap map = new(
            shadow.Top,
            shadow.Left,
            new Raster<float>(shadow.Bottom - shadow.Top + 1, shadow.Right - shadow.Left + 1),
            withHeights ? new Raster<float>(shadow.Bottom - shadow.Top + 1, shadow.Right - shadow.Left + 1) : null);
        Accumulate(shadow, withHeights, (row, left, lengths, heights) =>
        {
            lengths.CopyTo(map.LengthsMm.Row(row - map.Top)[(left - map.Left)..]);
            if (map.HeightsMm is not null)
            {
                heights.CopyTo(map.HeightsMm.Row(row - map.Top)[(left - map.Left)..]);
            }
        });
        return map;
    }

    /// <summary>Chords of a surface and of one inside it, row by row, without keeping them.</summary>
    /// <param name="outer">A closed surface.</param>
    /// <param name="inner">A closed surface within it; may be empty. What of it lies beside the outer one's shadow is left out.</param>
    /// <param name="pose">Where both are in the room.</param>
    /// <param name="take">Receives the rows.</param>
    /// <exception cref="ArgumentException">A mesh is open, or a point lies at the source's height or above.</exception>
    public void Nested(TriangleMesh outer, TriangleMesh inner, Pose pose, NestedRow take) => Nested([new NestedSurfaces(outer, inner, pose, take)]);

    /// <summary>The same for several pairs, one after the other: what each thread is given does not depend on their number.</summary>
    /// <param name="surfaces">The pairs.</param>
    /// <exception cref="ArgumentException">A mesh is open, or a point lies at the source's height or above.</exception>
    public void Nested(IReadOnlyList<NestedSurfaces> surfaces)
    {
        // Projecting points and sorting triangles are each one thread's work: several pairs at a time.
        for (int start = 0; start < surfaces.Count; start += PairsAtOnce)
        {
            (Shadow? Outer, Shadow? Inner)[] cast = new (Shadow?, Shadow?)[Math.Min(PairsAtOnce, surfaces.Count - start)];
            try
            {
                int from = start;
                Each(cast.Length, pair =>
                {
                    NestedSurfaces own = surfaces[from + pair];
                    cast[pair].Outer = Cast(own.Outer, own.Pose);
                    cast[pair].Inner = cast[pair].Outer is { } frame ? Cast(own.Inner, own.Pose, frame) : null;
                });
                for (int pair = 0; pair < cast.Length; pair++)
                {
                    if (cast[pair].Outer is { } shadow)
                    {
                        Nested(shadow, cast[pair].Inner, surfaces[start + pair].Take);
                    }
                }
            }
            finally
            {
                foreach ((Shadow? outer, Shadow? inner) in cast)
                {
                    outer?.Dispose();
                    inner?.Dispose();
                }
            }
        }
    }

    // The first failure itself, as without threads.
    private void Each(int count, Action<int> act)
    {
        try
        {
            Parallel.For(0, count, options, act);
        }
        catch (AggregateException several)
        {
            ExceptionDispatchInfo.Capture(several.Flatten().InnerExceptions[0]).Throw();
        }
    }

    private void Nested(Shadow shadow, Shadow? within, NestedRow take)
    {
        int width = shadow.Right - shadow.Left + 1;
        Parallel.For(0, shadow.Bands, options, band =>
        {
            int first = shadow.Top + (band * BandRows);
            int last = Math.Min(shadow.Bottom, first + BandRows - 1);
            int size = width * BandRows;
            float[] scratch = ArrayPool<float>.Shared.Rent(3 * size);
            Array.Clear(scratch, 0, 3 * size);
            Span<int> lows = stackalloc int[BandRows];
            Span<int> highs = stackalloc int[BandRows];
            Span<int> innerLows = stackalloc int[BandRows];
            Span<int> innerHighs = stackalloc int[BandRows];
            Span<float> outerSums = scratch.AsSpan(0, size);
            Span<float> innerSums = scratch.AsSpan(size, size);
            Span<float> innerMoments = scratch.AsSpan(2 * size, size);
            FillBand(shadow, band, first, last, outerSums, [], lows, highs);
            if (within is not null)
            {
                FillBand(within, band, first, last, innerSums, innerMoments, innerLows, innerHighs);
            }

            for (int row = first; row <= last; row++)
            {
                int low = lows[row - first];
                int count = highs[row - first] - low;
                if (count <= 0)
                {
                    continue;
                }

                int at = ((row - first) * width) + low;
                Span<float> lengths = outerSums.Slice(at, count);
                Span<float> insides = innerSums.Slice(at, count);
                Span<float> heights = innerMoments.Slice(at, count);
                Finish(row, shadow.Left + low, shadow.Reference, lengths, []);
                if (within is not null)
                {
                    Finish(row, shadow.Left + low, within.Reference, insides, heights);
                }

                take(row, shadow.Left + low, lengths, insides, heights);
            }

            ArrayPool<float>.Shared.Return(scratch);
        });
    }

    /// <summary>Projects all points and sorts the triangles into bands of rows.</summary>
    private Shadow? Cast(TriangleMesh mesh, Pose pose, Shadow? frame = null)
    {
        if (mesh.IsEmpty)
        {
            return null;
        }

        if (!mesh.IsClosed)
        {
            throw new ArgumentException($"The mesh has {mesh.OpenEdges} open edges; a length inside it means nothing.", nameof(mesh));
        }

        // Depth is t, the share of the way from source to receptor; 1/t is linear across a projected triangle. All of it is kept relative
        // to one depth in the middle of the mesh: entries and exits balance, so that depth falls out of the sums and single precision is enough.
        Box box = pose.ToOuter(mesh.Bounds);
        double height = geometry.Source.Z;
        if (box.Maximum.Z > height - 1)
        {
            CheckBelowSource(mesh, pose, height);
        }

        double middle = Math.Clamp(0.5 * (box.Minimum.Z + box.Maximum.Z), 0, height - 1);
        double reference = height / (height - middle);
        Shadow shadow = new(mesh, Vector3.Dot(Vector3.Cross(pose.X, pose.Y), pose.Z) < 0, reference);
        try
        {
            double perMm = 1 / geometry.SpacingMm;
            double sourceX = geometry.Source.X;
            double sourceY = geometry.Source.Y;
            double toColumn = (sourceX * perMm) + geometry.CentralRay.X;
            double toRow = (sourceY * perMm) + geometry.CentralRay.Y;
            Vector3 o = pose.Origin;
            int count = mesh.Vertices.Length;
            const int Chunk = 4096;
            Parallel.For(0, (count + Chunk - 1) / Chunk, options, chunk =>
            {
                ReadOnlySpan<Vector3> vertices = mesh.Vertices;
                int end = Math.Min(count, (chunk + 1) * Chunk);
                for (int at = chunk * Chunk; at < end; at++)
                {
                    Vector3 v = vertices[at];
                    double x = o.X + ((double)v.X * pose.X.X) + ((double)v.Y * pose.Y.X) + ((double)v.Z * pose.Z.X);
                    double y = o.Y + ((double)v.X * pose.X.Y) + ((double)v.Y * pose.Y.Y) + ((double)v.Z * pose.Z.Y);
                    double z = o.Z + ((double)v.X * pose.X.Z) + ((double)v.Y * pose.Y.Z) + ((double)v.Z * pose.Z.Z);
                    double q = height / (height - z);
                    shadow.Places[at] = new Place(((x - sourceX) * q * perMm) + toColumn, ((y - sourceY) * q * perMm) + toRow, q - reference);
                }
            });
            return shadow.Sort(geometry, Window, frame) ? shadow : Discard(shadow);
        }
        catch
        {
            shadow.Dispose();
            throw;
        }
    }

    private static Shadow? Discard(Shadow shadow)
    {
        shadow.Dispose();
        return null;
    }

    private static void CheckBelowSource(TriangleMesh mesh, Pose pose, double height)
    {
        float highest = float.MinValue;
        foreach (Vector3 vertex in mesh.Vertices)
        {
            highest = MathF.Max(highest, pose.ToOuter(vertex).Z);
        }

        if (highest > height - 1)
        {
            throw new ArgumentException($"The mesh reaches up to {highest:0.#} mm above the receptor; the source is at {height:0.#} mm and must be at least 1 mm higher.", nameof(mesh));
        }
    }

    private void Accumulate(Shadow shadow, bool withHeights, RowSink sink)
    {
        int width = shadow.Right - shadow.Left + 1;
        Parallel.For(0, shadow.Bands, options, band =>
        {
            int first = shadow.Top + (band * BandRows);
            int last = Math.Min(shadow.Bottom, first + BandRows - 1);
            int size = width * BandRows;
            float[] scratch = ArrayPool<float>.Shared.Rent(2 * size);
            Array.Clear(scratch, 0, withHeights ? 2 * size : size);
            Span<int> lows = stackalloc int[BandRows];
            Span<int> highs = stackalloc int[BandRows];
            Span<float> sums = scratch.AsSpan(0, size);
            Span<float> moments = withHeights ? scratch.AsSpan(size, size) : [];
            FillBand(shadow, band, first, last, sums, moments, lows, highs);
            for (int row = first; row <= last; row++)
            {
                int low = lows[row - first];
                int count = highs[row - first] - low;
                if (count > 0)
                {
                    Span<float> lengths = sums.Slice(((row - first) * width) + low, count);
                    Span<float> heights = withHeights ? moments.Slice(((row - first) * width) + low, count) : [];
                    Finish(row, shadow.Left + low, shadow.Reference, lengths, heights);
                    sink(row, shadow.Left + low, lengths, heights);
                }
            }

            ArrayPool<float>.Shared.Return(scratch);
        });
    }

    /// <summary>Adds up all triangles of a band and notes, for each row, the columns that were touched: from low to before high, counted from the shadow's left.</summary>
    private static void FillBand(Shadow shadow, int band, int first, int last, Span<float> sums, Span<float> moments, Span<int> lows, Span<int> highs)
    {
        lows.Fill(int.MaxValue);
        highs.Clear();
        foreach (int triangle in shadow.TrianglesOf(band))
        {
            Fill(shadow, triangle, first, last, sums, moments, lows, highs);
        }
    }

    /// <summary>From sums of t and t²/2 to millimetres.</summary>
    private void Finish(int row, int left, double reference, Span<float> lengths, Span<float> heights)
    {
        if (heights.Length > 0)
        {
            // The mean of t is the reference plus Σ±½(t − reference)²/Σ±(t − reference); height is (1 − t) × the source's height.
            float sourceHeight = geometry.Source.Z;
            float middle = (float)(1 / reference);
            for (int at = 0; at < heights.Length; at++)
            {
                float length = lengths[at];
                float offset = length > 1e-9f ? heights[at] / length : 0;
                heights[at] = (1 - middle - offset) * sourceHeight;
            }
        }

        double dy = ((row - geometry.CentralRay.Y) * geometry.SpacingMm) - geometry.Source.Y;
        float squares = (float)((dy * dy) + ((double)geometry.Source.Z * geometry.Source.Z));
        float spacing = (float)geometry.SpacingMm;
        float x = (float)(((left - geometry.CentralRay.X) * geometry.SpacingMm) - geometry.Source.X);
        int column = 0;
        if (Vector256.IsHardwareAccelerated)
        {
            Vector256<float> steps = Vector256.Create(0f, 1, 2, 3, 4, 5, 6, 7);
            for (; column <= lengths.Length - 8; column += 8)
            {
                Vector256<float> dx = Vector256.Create(x) + ((Vector256.Create((float)column) + steps) * spacing);
                Vector256<float> ray = Vector256.Sqrt((dx * dx) + Vector256.Create(squares));
                Span<float> eight = lengths.Slice(column, 8);
                (Vector256.Create<float>(eight) * ray).CopyTo(eight);
            }
        }

        for (; column < lengths.Length; column++)
        {
            float dx = x + (column * spacing);
            lengths[column] *= MathF.Sqrt((dx * dx) + squares);
        }
    }

    private static void Fill(Shadow shadow, int triangle, int first, int last, Span<float> sums, Span<float> moments, Span<int> lows, Span<int> highs)
    {
        int width = shadow.Right - shadow.Left + 1;
        ReadOnlySpan<int> corners = shadow.Mesh.Corners;
        Place a = shadow.Places[corners[triangle]];
        Place b = shadow.Places[corners[triangle + 1]];
        Place c = shadow.Places[corners[triangle + 2]];
        bool turned = shadow.Mirrored;
        if (b.Y < a.Y)
        {
            (a, b, turned) = (b, a, !turned);
        }

        if (c.Y < b.Y)
        {
            (b, c, turned) = (c, b, !turned);
            if (b.Y < a.Y)
            {
                (a, b, turned) = (b, a, !turned);
            }
        }

        // q = 1/t is linear: slopes from the three corners. Seen nearly edge-on they are huge; the clamp to the corners' range holds them.
        double area = ((b.X - a.X) * (c.Y - a.Y)) - ((c.X - a.X) * (b.Y - a.Y));
        double perColumn = 0;
        double perRow = 0;
        double start = a.Q;
        if (Math.Abs(area) > 1e-9)
        {
            perColumn = (((b.Q - a.Q) * (c.Y - a.Y)) - ((c.Q - a.Q) * (b.Y - a.Y))) / area;
            perRow = (((b.X - a.X) * (c.Q - a.Q)) - ((c.X - a.X) * (b.Q - a.Q))) / area;
        }
        else
        {
            start = (a.Q + b.Q + c.Q) / 3;
        }

        // The receptor ends every ray at t = 1, which is q = 1.
        double receptor = 1 - shadow.Reference;
        float lowest = (float)Math.Max(receptor, Math.Min(a.Q, Math.Min(b.Q, c.Q)));
        float highest = (float)Math.Max(receptor, Math.Max(a.Q, Math.Max(b.Q, c.Q)));
        float square = (float)(shadow.Reference * shadow.Reference);
        float single = (float)shadow.Reference;
        int firstRow = Math.Max(first, Ceiling(a.Y));
        int bend = Ceiling(b.Y);
        int lastRow = Math.Min(last, Ceiling(c.Y) - 1);
        for (int row = firstRow; row <= lastRow; row++)
        {
            double longSide = Crossing(a, c, row);
            double shortSide = row < bend ? Crossing(a, b, row) : Crossing(b, c, row);
            int from = Ceiling(shortSide);
            int to = Ceiling(longSide);

            // With the corners in order of rows and unturned, a triangle whose bend lies left faces away from the source: rays leave, + t.
            bool leaves = !turned;
            if (from > to)
            {
                (from, to, leaves) = (to, from, !leaves);
            }

            from = Math.Max(from, shadow.Left);
            to = Math.Min(to, shadow.Right + 1);
            if (from >= to)
            {
                continue;
            }

            float q = (float)(start + (perColumn * (from - a.X)) + (perRow * (row - a.Y)));
            int at = ((row - first) * width) + from - shadow.Left;
            Span<float> span = sums.Slice(at, to - from);
            Span<float> momentSpan = moments.Length == 0 ? [] : moments.Slice(at, to - from);
            lows[row - first] = Math.Min(lows[row - first], from - shadow.Left);
            highs[row - first] = Math.Max(highs[row - first], to - shadow.Left);
            AddSpan(span, momentSpan, q, (float)perColumn, lowest, highest, square, single, leaves ? -1 : 1);
        }
    }

    /// <summary>Adds sign × (1/(reference + q) − 1/reference) = −sign·q/(reference² + reference·q), and half its square.</summary>
    private static void AddSpan(Span<float> sums, Span<float> moments, float q, float step, float lowest, float highest, float square, float reference, float sign)
    {
        int at = 0;
        if (Vector256.IsHardwareAccelerated && sums.Length >= 8)
        {
            Vector256<float> lane = Vector256.Create(0f, 1, 2, 3, 4, 5, 6, 7) * step;
            for (; at <= sums.Length - 8; at += 8)
            {
                Vector256<float> value = Vector256.Min(Vector256.Max(Vector256.Create(q + (at * step)) + lane, Vector256.Create(lowest)), Vector256.Create(highest));
                Vector256<float> depth = value / (Vector256.Create(square) + (reference * value));
                Span<float> eight = sums.Slice(at, 8);
                (Vector256.Create<float>(eight) + (sign * depth)).CopyTo(eight);
                if (moments.Length > 0)
                {
                    Span<float> eightMoments = moments.Slice(at, 8);
                    (Vector256.Create<float>(eightMoments) - ((sign * 0.5f) * (depth * depth))).CopyTo(eightMoments);
                }
            }
        }

        for (; at < sums.Length; at++)
        {
            float value = MathF.Min(MathF.Max(q + (at * step), lowest), highest);
            float depth = value / (square + (reference * value));
            sums[at] += sign * depth;
            if (moments.Length > 0)
            {
                moments[at] -= sign * 0.5f * (depth * depth);
            }
        }
    }

    /// <summary>Column at which an edge crosses a row. Whoever shares the edge gets the same number: the upper point always comes first, and rounding never leaves the edge's own range.</summary>
    private static double Crossing(Place upper, Place lower, int row)
    {
        double x = upper.X + ((row - upper.Y) * ((lower.X - upper.X) / (lower.Y - upper.Y)));
        return Math.Min(Math.Max(x, Math.Min(upper.X, lower.X)), Math.Max(upper.X, lower.X));
    }

    private static int Ceiling(double value) => (int)Math.Ceiling(Math.Clamp(value, -1e9, 1e9));

    /// <summary>A point on the receptor in pixels, and 1/t relative to the reference.</summary>
    [StructLayout(LayoutKind.Auto)]
    private readonly record struct Place(double X, double Y, double Q);

    /// <summary>A projected mesh with its triangles by bands of rows.</summary>
    private sealed class Shadow(TriangleMesh mesh, bool mirrored, double reference) : IDisposable
    {
        private int[] starts = [];
        private int[]? sorted;

        public TriangleMesh Mesh => mesh;

        public bool Mirrored => mirrored;

        /// <summary>1/t in the middle of the mesh.</summary>
        public double Reference => reference;

        public Place[] Places { get; } = ArrayPool<Place>.Shared.Rent(mesh.Vertices.Length);

        public int Top { get; private set; }

        public int Bottom { get; private set; }

        public int Left { get; private set; }

        public int Right { get; private set; }

        public int Bands => ((Bottom - Top) / BandRows) + 1;

        public ReadOnlySpan<int> TrianglesOf(int band) => sorted.AsSpan(starts[band], starts[band + 1] - starts[band]);

        /// <summary>Finds the part of the image that is covered and lists, for each band, the triangles that cover a pixel's centre there, in their order.</summary>
        /// <param name="geometry">The receptor.</param>
        /// <param name="window">The part of it that is wanted.</param>
        /// <param name="frame">A shadow whose part of the image and bands are taken over; null for its own.</param>
        /// <returns>False when nothing is covered.</returns>
        public bool Sort(BeamGeometry geometry, PixelWindow window, Shadow? frame)
        {
            double left = double.MaxValue;
            double right = double.MinValue;
            double top = double.MaxValue;
            double bottom = double.MinValue;
            foreach (Place place in Places.AsSpan(0, mesh.Vertices.Length))
            {
                left = Math.Min(left, place.X);
                right = Math.Max(right, place.X);
                top = Math.Min(top, place.Y);
                bottom = Math.Max(bottom, place.Y);
            }

            Left = Math.Max(Math.Max(0, window.Left), Ceiling(left));
            Right = Math.Min(Math.Min(geometry.Columns - 1, window.Right), Ceiling(right) - 1);
            Top = Math.Max(Math.Max(0, window.Top), Ceiling(top));
            Bottom = Math.Min(Math.Min(geometry.Rows - 1, window.Bottom), Ceiling(bottom) - 1);
            if (Left > Right || Top > Bottom)
            {
                return false;
            }

            if (frame is not null)
            {
                (Left, Right, Top, Bottom) = (frame.Left, frame.Right, frame.Top, frame.Bottom);
            }

            starts = new int[Bands + 1];
            ReadOnlySpan<int> corners = mesh.Corners;
            (int First, int Last)[] reach = ArrayPool<(int First, int Last)>.Shared.Rent(mesh.TriangleCount);
            for (int triangle = 0; triangle < mesh.TriangleCount; triangle++)
            {
                (int firstBand, int lastBand) = BandsOf(Places[corners[3 * triangle]], Places[corners[(3 * triangle) + 1]], Places[corners[(3 * triangle) + 2]]);
                reach[triangle] = (firstBand, lastBand);
                for (int band = firstBand; band <= lastBand; band++)
                {
                    starts[band + 1]++;
                }
            }

            for (int band = 0; band < Bands; band++)
            {
                starts[band + 1] += starts[band];
            }

            sorted = ArrayPool<int>.Shared.Rent(Math.Max(1, starts[^1]));
            int[] next = starts[..^1];
            for (int triangle = 0; triangle < mesh.TriangleCount; triangle++)
            {
                (int firstBand, int lastBand) = reach[triangle];
                for (int band = firstBand; band <= lastBand; band++)
                {
                    sorted[next[band]++] = 3 * triangle;
                }
            }

            ArrayPool<(int First, int Last)>.Shared.Return(reach);
            return true;
        }

        public void Dispose()
        {
            ArrayPool<Place>.Shared.Return(Places);
            if (sorted is not null)
            {
                ArrayPool<int>.Shared.Return(sorted);
                sorted = null;
            }
        }

        private (int First, int Last) BandsOf(Place a, Place b, Place c)
        {
            int firstRow = Math.Max(Top, Ceiling(Math.Min(a.Y, Math.Min(b.Y, c.Y))));
            int lastRow = Math.Min(Bottom, Ceiling(Math.Max(a.Y, Math.Max(b.Y, c.Y))) - 1);
            int firstColumn = Math.Max(Left, Ceiling(Math.Min(a.X, Math.Min(b.X, c.X))));
            int lastColumn = Math.Min(Right, Ceiling(Math.Max(a.X, Math.Max(b.X, c.X))) - 1);
            return firstRow > lastRow || firstColumn > lastColumn ? (0, -1) : ((firstRow - Top) / BandRows, (lastRow - Top) / BandRows);
        }
    }
}
