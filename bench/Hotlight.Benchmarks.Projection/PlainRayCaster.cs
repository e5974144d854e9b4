using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Projection;

namespace Hotlight.Benchmarks.Projection;

/// <summary>A ray for every pixel through a hierarchy of boxes split at the median, all crossings added up: the plain way, for comparison.</summary>
internal sealed class PlainRayCaster
{
    private const int LeafSize = 4;
    private readonly Vector3[] points;
    private readonly List<(Vector3 Low, Vector3 High, int Left, int First, int Count)> nodes = [];

    public PlainRayCaster(TriangleMesh mesh)
    {
        int[] order = [.. Enumerable.Range(0, mesh.TriangleCount)];
        Vector3[] middles = new Vector3[order.Length];
        for (int triangle = 0; triangle < order.Length; triangle++)
        {
            middles[triangle] = (Corner(triangle, 0) + Corner(triangle, 1) + Corner(triangle, 2)) / 3;
        }

        nodes.Add(default);
        Split(0, 0, order.Length);
        points = new Vector3[3 * order.Length];
        for (int place = 0; place < order.Length; place++)
        {
            for (int corner = 0; corner < 3; corner++)
            {
                points[(3 * place) + corner] = Corner(order[place], corner);
            }
        }

        Vector3 Corner(int triangle, int corner) => mesh.Vertices[mesh.Corners[(3 * triangle) + corner]];

        void Split(int node, int first, int count)
        {
            Vector3 low = new(float.MaxValue);
            Vector3 high = new(float.MinValue);
            for (int place = first; place < first + count; place++)
            {
                for (int corner = 0; corner < 3; corner++)
                {
                    low = Vector3.Min(low, Corner(order[place], corner));
                    high = Vector3.Max(high, Corner(order[place], corner));
                }
            }

            if (count <= LeafSize)
            {
                nodes[node] = (low, high, -1, first, count);
                return;
            }

            Vector3 size = high - low;
            int axis = size.X >= size.Y && size.X >= size.Z ? 0 : size.Y >= size.Z ? 1 : 2;
            Array.Sort(order, first, count, Comparer<int>.Create((a, b) => middles[a][axis].CompareTo(middles[b][axis])));
            int left = nodes.Count;
            nodes.Add(default);
            nodes.Add(default);
            nodes[node] = (low, high, left, 0, 0);
            Split(left, first, count / 2);
            Split(left + 1, first + (count / 2), count - (count / 2));
        }
    }

    public void Cast(BeamGeometry geometry, Raster<float> lengthsMm)
    {
        (Vector3 Low, Vector3 High, int Left, int First, int Count)[] tree = [.. nodes];
        Vector3 source = geometry.Source;
        Parallel.For(0, geometry.Rows, row =>
        {
            Span<int> stack = stackalloc int[64];
            for (int column = 0; column < geometry.Columns; column++)
            {
                Vector3 way = new Vector3(geometry.ReceptorX(column), geometry.ReceptorY(row), 0) - source;
                Vector3 inverse = Vector3.One / way;
                float sum = 0;
                int depth = 1;
                stack[0] = 0;
                while (depth > 0)
                {
                    ref (Vector3 Low, Vector3 High, int Left, int First, int Count) node = ref tree[stack[--depth]];
                    Vector3 one = (node.Low - source) * inverse;
                    Vector3 other = (node.High - source) * inverse;
                    Vector3 near = Vector3.Min(one, other);
                    Vector3 far = Vector3.Max(one, other);
                    if (MathF.Max(near.X, MathF.Max(near.Y, near.Z)) > MathF.Min(far.X, MathF.Min(far.Y, far.Z)))
                    {
                        continue;
                    }

                    if (node.Left >= 0)
                    {
                        stack[depth++] = node.Left;
                        stack[depth++] = node.Left + 1;
                        continue;
                    }

                    for (int place = node.First; place < node.First + node.Count; place++)
                    {
                        // Möller and Trumbore 1997.
                        Vector3 a = points[3 * place];
                        Vector3 u = points[(3 * place) + 1] - a;
                        Vector3 v = points[(3 * place) + 2] - a;
                        Vector3 p = Vector3.Cross(way, v);
                        float determinant = Vector3.Dot(u, p);
                        Vector3 from = source - a;
                        float share = Vector3.Dot(from, p) / determinant;
                        Vector3 q = Vector3.Cross(from, u);
                        float second = Vector3.Dot(way, q) / determinant;
                        if (share >= 0 && second >= 0 && share + second <= 1)
                        {
                            float t = Vector3.Dot(v, q) / determinant;
                            sum += determinant > 0 ? -t : t;
                        }
                    }
                }

                lengthsMm[row, column] = sum * way.Length();
            }
        });
    }
}
