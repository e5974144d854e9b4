using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Meshes;

/// <summary>Turns a body given as a signed distance into a closed mesh.</summary>
/// <remarks>
/// <para>Surface nets (Gibson 1998): one point in every cell that the surface crosses, one quadrilateral for every lattice edge that it crosses. The points are then moved onto the surface along the distance's gradient, within their cells, so that all that is left of the error is the facets' sagitta, about cell²/(8·radius of curvature). Method: docs/methods/meshes.md.</para>
/// <para>Always closed: cells are found by walking the surface from block to block, and the outermost lattice points count as outside. Parts thinner than a cell may be lost; edges sharper than a cell are rounded by at most a cell.</para>
/// <para>Distances are evaluated only near the surface. A block is passed over when all its corners lie on one side and farther away than <see cref="Steepness"/> times the way from any of its points to a corner: so a distance may grow up to that many times faster than the true one.</para>
/// </remarks>
internal static class ShapeMesher
{
    /// <summary>How much faster than the true distance a shape's may grow without a part of it being passed over.</summary>
    private const float Steepness = 1.6f;

    private const long MostPoints = 60_000_000;

    /// <summary>The surface of a shape.</summary>
    /// <param name="shape">The body; its bounds must hold it.</param>
    /// <param name="cellMm">Side of a cell, in mm.</param>
    /// <returns>A closed mesh, empty where the shape is.</returns>
    /// <exception cref="ArgumentException">The cell is not above 0, or so small that the lattice would exceed 60 million points.</exception>
    public static TriangleMesh FromShape(Shape shape, float cellMm) => FromDistance(shape.Distance, shape.Bounds, cellMm);

    /// <summary>The surface where a function is zero.</summary>
    /// <param name="distance">Signed distance, in mm, negative inside; called from several threads.</param>
    /// <param name="bounds">A box that holds the inside; what reaches beyond it is cut off about a cell outside it.</param>
    /// <param name="cellMm">Side of a cell, in mm.</param>
    /// <exception cref="ArgumentException">The cell is not above 0, or so small that the lattice would exceed 60 million points.</exception>
    public static TriangleMesh FromDistance(Func<Vector3, float> distance, Box bounds, float cellMm)
    {
        Preconditions.AboveZero(cellMm);
        Vector3 size = bounds.Maximum - bounds.Minimum;
        if (!(size.X > 0 && size.Y > 0 && size.Z > 0))
        {
            return TriangleMesh.Empty;
        }

        return new Lattice(distance, bounds, cellMm).Mesh();
    }

    private sealed class Lattice
    {
        /// <summary>Cells along the side of the smallest block.</summary>
        private const int Block = 2;

        private const int Coarsest = 16;
        private readonly Func<Vector3, float> distance;
        private readonly float cellMm;
        private readonly Vector3 origin;
        private readonly int columns;
        private readonly int rows;
        private readonly int layers;
        private readonly int layerStride;
        private readonly float[] values;

        public Lattice(Func<Vector3, float> distance, Box bounds, float cellMm)
        {
            this.distance = distance;
            this.cellMm = cellMm;
            Vector3 cells = (bounds.Maximum - bounds.Minimum) / cellMm;
            if (!(cells.X < 1e6f && cells.Y < 1e6f && cells.Z < 1e6f))
            {
                throw new ArgumentException($"Cells of {cellMm} mm are too small for a box of {bounds.Maximum - bounds.Minimum} mm.", nameof(cellMm));
            }

            columns = RoundUp(cells.X) + 1;
            rows = RoundUp(cells.Y) + 1;
            layers = RoundUp(cells.Z) + 1;
            long points = (long)columns * rows * layers;
            if (points > MostPoints)
            {
                throw new ArgumentException($"Cells of {cellMm} mm would need {points} lattice points; the limit is {MostPoints}.", nameof(cellMm));
            }

            layerStride = columns * rows;
            Vector3 spare = new Vector3(columns - 1, rows - 1, layers - 1) - cells;
            origin = bounds.Minimum - (0.5f * cellMm * spare);
            values = GC.AllocateUninitializedArray<float>((int)points);

            static int RoundUp(float cells) => ((int)MathF.Ceiling(cells) + 3 + Coarsest - 1) / Coarsest * Coarsest;
        }

        public TriangleMesh Mesh()
        {
            BlockGrid blocks = Near();
            CloseIn(blocks);
            return Quads(blocks);
        }

        private float Evaluate(int column, int row, int layer)
        {
            float value = distance(origin + (cellMm * new Vector3(column, row, layer)));

            // A number that is none counts as outside; so does everything on the outermost points.
            if (!float.IsFinite(value))
            {
                value = float.MaxValue / 4;
            }

            bool border = column == 0 || row == 0 || layer == 0 || column == columns - 1 || row == rows - 1 || layer == layers - 1;
            return border ? MathF.Max(value, 1e-3f * cellMm) : value;
        }

        /// <summary>From coarse blocks to fine ones: only those that the surface may cross are looked at closer.</summary>
        private BlockGrid Near()
        {
            BlockGrid blocks = new(columns, rows, layers, Coarsest, all: true);
            Fill(blocks, Coarsest, known: 0);
            for (int side = Coarsest; ; side /= 2)
            {
                Drop(blocks, side);
                if (side == Block)
                {
                    Fill(blocks, 1, known: Block);
                    return blocks;
                }

                Fill(blocks, side / 2, known: side);
                blocks = blocks.Halved();
            }
        }

        /// <summary>Evaluates the points of the wanted blocks at multiples of a step, except those at multiples of a known step.</summary>
        private void Fill(BlockGrid blocks, int step, int known)
        {
            int side = blocks.Side;
            Parallel.For(0, ((layers - 1) / step) + 1, slab =>
            {
                int layer = slab * step;
                for (int row = 0; row < rows; row += step)
                {
                    int at = (layer * layerStride) + (row * columns);
                    bool lineKnown = known > 0 && layer % known == 0 && row % known == 0;
                    for (int blockColumn = 0; blockColumn < blocks.Columns; blockColumn++)
                    {
                        bool here = blocks.Touches(blockColumn, row, layer);
                        bool before = blockColumn > 0 && blocks.Touches(blockColumn - 1, row, layer);
                        int first = blockColumn * side;
                        if ((here || before) && !(lineKnown && first % known == 0))
                        {
                            values[at + first] = Evaluate(first, row, layer);
                        }

                        if (!here)
                        {
                            continue;
                        }

                        for (int column = first + step; column < first + side; column += step)
                        {
                            if (!(lineKnown && column % known == 0))
                            {
                                values[at + column] = Evaluate(column, row, layer);
                            }
                        }

                        if (blockColumn == blocks.Columns - 1 && !(lineKnown && (first + side) % known == 0))
                        {
                            values[at + first + side] = Evaluate(first + side, row, layer);
                        }
                    }
                }
            });
        }

        /// <summary>Gives up the blocks whose corners all lie far on one side.</summary>
        private void Drop(BlockGrid blocks, int side)
        {
            // From any point of a cube the nearest corner is at most half the diagonal away.
            float reach = Steepness * 0.5f * MathF.Sqrt(3) * side * cellMm;
            Parallel.For(0, blocks.Layers, layer =>
            {
                for (int row = 0; row < blocks.Rows; row++)
                {
                    for (int column = 0; column < blocks.Columns; column++)
                    {
                        if (!blocks.Wanted(column, row, layer))
                        {
                            continue;
                        }

                        int at = (layer * side * layerStride) + (row * side * columns) + (column * side);
                        float low = float.MaxValue;
                        float high = float.MinValue;
                        for (int corner = 0; corner < 8; corner++)
                        {
                            float value = values[at + ((corner & 1) * side) + (((corner >> 1) & 1) * side * columns) + ((corner >> 2) * side * layerStride)];
                            low = MathF.Min(low, value);
                            high = MathF.Max(high, value);
                        }

                        if (low > reach || high < -reach)
                        {
                            blocks.Drop(column, row, layer);
                        }
                    }
                }
            });
        }

        /// <summary>Walks on: where the surface leaves a wanted block through a face into one that was passed over, that one is wanted too. So no surface ends in a hole.</summary>
        private void CloseIn(BlockGrid blocks)
        {
            List<(int Column, int Row, int Layer)>[] found = new List<(int, int, int)>[blocks.Layers];
            Parallel.For(0, blocks.Layers, layer =>
            {
                List<(int, int, int)> here = [];
                for (int row = 0; row < blocks.Rows; row++)
                {
                    for (int column = 0; column < blocks.Columns; column++)
                    {
                        if (blocks.Wanted(column, row, layer))
                        {
                            Escapes(blocks, column, row, layer, here);
                        }
                    }
                }

                found[layer] = here;
            });
            Stack<(int Column, int Row, int Layer)> waiting = new(found.SelectMany(list => list));
            List<(int, int, int)> next = [];
            while (waiting.TryPop(out (int Column, int Row, int Layer) block))
            {
                if (blocks.Wanted(block.Column, block.Row, block.Layer))
                {
                    continue;
                }

                blocks.Want(block.Column, block.Row, block.Layer);
                for (int layer = block.Layer * Block; layer <= (block.Layer + 1) * Block; layer++)
                {
                    for (int row = block.Row * Block; row <= (block.Row + 1) * Block; row++)
                    {
                        for (int column = block.Column * Block; column <= (block.Column + 1) * Block; column++)
                        {
                            values[(layer * layerStride) + (row * columns) + column] = Evaluate(column, row, layer);
                        }
                    }
                }

                next.Clear();
                Escapes(blocks, block.Column, block.Row, block.Layer, next);
                foreach ((int, int, int) other in next)
                {
                    waiting.Push(other);
                }
            }
        }

        private void Escapes(BlockGrid blocks, int column, int row, int layer, List<(int, int, int)> found)
        {
            int at = (layer * Block * layerStride) + (row * Block * columns) + (column * Block);
            Check(column - 1, row, layer, at, columns, layerStride);
            Check(column + 1, row, layer, at + Block, columns, layerStride);
            Check(column, row - 1, layer, at, 1, layerStride);
            Check(column, row + 1, layer, at + (Block * columns), 1, layerStride);
            Check(column, row, layer - 1, at, 1, columns);
            Check(column, row, layer + 1, at + (Block * layerStride), 1, columns);

            void Check(int toColumn, int toRow, int toLayer, int corner, int across, int down)
            {
                if (toColumn < 0 || toRow < 0 || toLayer < 0 || toColumn >= blocks.Columns || toRow >= blocks.Rows || toLayer >= blocks.Layers
                    || blocks.Wanted(toColumn, toRow, toLayer))
                {
                    return;
                }

                bool inside = values[corner] < 0;
                for (int v = 0; v <= Block; v++)
                {
                    for (int u = 0; u <= Block; u++)
                    {
                        if (values[corner + (u * across) + (v * down)] < 0 != inside)
                        {
                            found.Add((toColumn, toRow, toLayer));
                            return;
                        }
                    }
                }
            }
        }

        private TriangleMesh Quads(BlockGrid blocks)
        {
            // One list for each layer of cells keeps the order whatever the number of threads.
            int cellLayers = layers - 1;
            List<int>[] cells = new List<int>[cellLayers];
            Parallel.For(0, blocks.Layers, blockLayer =>
            {
                for (int layer = blockLayer * Block; layer < (blockLayer + 1) * Block; layer++)
                {
                    List<int> here = [];
                    for (int row = 0; row < rows - 1; row++)
                    {
                        for (int blockColumn = 0; blockColumn < blocks.Columns; blockColumn++)
                        {
                            if (!blocks.Wanted(blockColumn, row / Block, blockLayer))
                            {
                                continue;
                            }

                            int at = (layer * layerStride) + (row * columns) + (blockColumn * Block);
                            for (int column = 0; column < Block; column++)
                            {
                                if (IsMixed(at + column))
                                {
                                    here.Add(at + column);
                                }
                            }
                        }
                    }

                    cells[layer] = here;
                }
            });
            int[] firsts = new int[cellLayers + 1];
            for (int layer = 0; layer < cellLayers; layer++)
            {
                firsts[layer + 1] = firsts[layer] + cells[layer].Count;
            }

            if (firsts[^1] == 0)
            {
                return TriangleMesh.Empty;
            }

            Vector3[] vertices = new Vector3[firsts[^1]];
            int[] vertexOf = GC.AllocateUninitializedArray<int>(values.Length);
            Parallel.For(0, cellLayers, layer =>
            {
                int vertex = firsts[layer];
                foreach (int cell in cells[layer])
                {
                    vertexOf[cell] = vertex;
                    vertices[vertex++] = PointIn(cell);
                }
            });
            List<int>[] corners = new List<int>[cellLayers];
            Parallel.For(0, cellLayers, layer =>
            {
                List<int> here = new(cells[layer].Count * 6);
                foreach (int cell in cells[layer])
                {
                    bool inside = values[cell] < 0;

                    // The four cells around an edge, counter-clockwise seen from its far end.
                    AddQuad(here, inside, values[cell + 1] < 0, cell, columns, layerStride);
                    AddQuad(here, inside, values[cell + columns] < 0, cell, layerStride, 1);
                    AddQuad(here, inside, values[cell + layerStride] < 0, cell, 1, columns);
                }

                corners[layer] = here;
            });
            int[] all = new int[corners.Sum(list => list.Count)];
            int to = 0;
            foreach (List<int> list in corners)
            {
                list.CopyTo(all, to);
                to += list.Count;
            }

            return TriangleMesh.KnownClosed(vertices, all);

            void AddQuad(List<int> list, bool from, bool until, int cell, int across, int down)
            {
                if (from == until)
                {
                    return;
                }

                int a = vertexOf[cell - across - down];
                int b = vertexOf[cell - down];
                int c = vertexOf[cell];
                int d = vertexOf[cell - across];
                if (!from)
                {
                    (b, d) = (d, b);
                }

                // The shorter diagonal folds less.
                if (Vector3.DistanceSquared(vertices[a], vertices[c]) <= Vector3.DistanceSquared(vertices[b], vertices[d]))
                {
                    list.AddRange([a, b, c, a, c, d]);
                }
                else
                {
                    list.AddRange([a, b, d, b, c, d]);
                }
            }
        }

        private bool IsMixed(int cell)
        {
            bool inside = values[cell] < 0;
            return values[cell + 1] < 0 != inside
                || values[cell + columns] < 0 != inside
                || values[cell + columns + 1] < 0 != inside
                || values[cell + layerStride] < 0 != inside
                || values[cell + layerStride + 1] < 0 != inside
                || values[cell + layerStride + columns] < 0 != inside
                || values[cell + layerStride + columns + 1] < 0 != inside;
        }

        /// <summary>The mean of the crossings of the cell's edges, moved onto the surface.</summary>
        private Vector3 PointIn(int cell)
        {
            float v000 = values[cell];
            float v100 = values[cell + 1];
            float v010 = values[cell + columns];
            float v110 = values[cell + columns + 1];
            float v001 = values[cell + layerStride];
            float v101 = values[cell + layerStride + 1];
            float v011 = values[cell + layerStride + columns];
            float v111 = values[cell + layerStride + columns + 1];
            Vector3 sum = Vector3.Zero;
            int count = 0;
            Cross(v000, v100, Vector3.Zero, Vector3.UnitX);
            Cross(v010, v110, Vector3.UnitY, Vector3.UnitX);
            Cross(v001, v101, Vector3.UnitZ, Vector3.UnitX);
            Cross(v011, v111, new Vector3(0, 1, 1), Vector3.UnitX);
            Cross(v000, v010, Vector3.Zero, Vector3.UnitY);
            Cross(v100, v110, Vector3.UnitX, Vector3.UnitY);
            Cross(v001, v011, Vector3.UnitZ, Vector3.UnitY);
            Cross(v101, v111, new Vector3(1, 0, 1), Vector3.UnitY);
            Cross(v000, v001, Vector3.Zero, Vector3.UnitZ);
            Cross(v100, v101, Vector3.UnitX, Vector3.UnitZ);
            Cross(v010, v011, Vector3.UnitY, Vector3.UnitZ);
            Cross(v110, v111, new Vector3(1, 1, 0), Vector3.UnitZ);
            Vector3 place = sum / count;

            // Gradient of the trilinear interpolation, per cell.
            Vector3 s = place;
            Vector3 r = Vector3.One - place;
            Vector3 gradient = new(
                (r.Y * r.Z * (v100 - v000)) + (s.Y * r.Z * (v110 - v010)) + (r.Y * s.Z * (v101 - v001)) + (s.Y * s.Z * (v111 - v011)),
                (r.X * r.Z * (v010 - v000)) + (s.X * r.Z * (v110 - v100)) + (r.X * s.Z * (v011 - v001)) + (s.X * s.Z * (v111 - v101)),
                (r.X * r.Y * (v001 - v000)) + (s.X * r.Y * (v101 - v100)) + (r.X * s.Y * (v011 - v010)) + (s.X * s.Y * (v111 - v110)));
            int layer = cell / layerStride;
            int row = (cell - (layer * layerStride)) / columns;
            int column = cell - (layer * layerStride) - (row * columns);
            Vector3 corner = origin + (cellMm * new Vector3(column, row, layer));
            float steep = gradient.LengthSquared();
            bool border = column == 0 || row == 0 || layer == 0 || column == columns - 2 || row == rows - 2 || layer == layers - 2;
            if (!border && steep > 1e-12f && float.IsFinite(steep))
            {
                // Newton along the gradient, then one secant step on the same line; each stays within the cell.
                float before = distance(corner + (cellMm * place));
                Vector3 moved = Vector3.Clamp(place - (before / steep * gradient), Vector3.Zero, Vector3.One);
                float after = distance(corner + (cellMm * moved));
                if (MathF.Abs(after) < MathF.Abs(before))
                {
                    float change = before - after;
                    Vector3 step = moved - place;
                    place = moved;
                    if (MathF.Abs(after) < 0.5f * MathF.Abs(change) && MathF.Abs(after) > 1e-5f * cellMm)
                    {
                        place = Vector3.Clamp(moved + (after / change * step), Vector3.Zero, Vector3.One);
                    }
                }
            }

            return corner + (cellMm * place);

            void Cross(float from, float to, Vector3 start, Vector3 along)
            {
                if (from < 0 != to < 0)
                {
                    sum += start + (from / (from - to) * along);
                    count++;
                }
            }
        }
    }

    /// <summary>Which blocks of a lattice are still wanted.</summary>
    private sealed class BlockGrid
    {
        private readonly bool[] wanted;

        public BlockGrid(int pointColumns, int pointRows, int pointLayers, int side, bool all)
        {
            Side = side;
            Columns = (pointColumns - 1) / side;
            Rows = (pointRows - 1) / side;
            Layers = (pointLayers - 1) / side;
            wanted = new bool[Columns * Rows * Layers];
            if (all)
            {
                Array.Fill(wanted, true);
            }
        }

        /// <summary>Cells along a block's side.</summary>
        public int Side { get; }

        public int Columns { get; }

        public int Rows { get; }

        public int Layers { get; }

        public bool Wanted(int column, int row, int layer) => wanted[(((layer * Rows) + row) * Columns) + column];

        public void Want(int column, int row, int layer) => wanted[(((layer * Rows) + row) * Columns) + column] = true;

        public void Drop(int column, int row, int layer) => wanted[(((layer * Rows) + row) * Columns) + column] = false;

        /// <summary>Whether a wanted block of a column of blocks holds a line of points, on its face or inside.</summary>
        public bool Touches(int column, int pointRow, int pointLayer)
        {
            int row = pointRow / Side;
            int layer = pointLayer / Side;
            bool rowFace = pointRow % Side == 0;
            bool layerFace = pointLayer % Side == 0;
            return Has(column, row, layer)
                || (rowFace && Has(column, row - 1, layer))
                || (layerFace && Has(column, row, layer - 1))
                || (rowFace && layerFace && Has(column, row - 1, layer - 1));
        }

        /// <summary>The same wanted space in blocks of half the side.</summary>
        public BlockGrid Halved()
        {
            BlockGrid half = new((Columns * Side) + 1, (Rows * Side) + 1, (Layers * Side) + 1, Side / 2, all: false);
            for (int layer = 0; layer < half.Layers; layer++)
            {
                for (int row = 0; row < half.Rows; row++)
                {
                    for (int column = 0; column < half.Columns; column++)
                    {
                        half.wanted[(((layer * half.Rows) + row) * half.Columns) + column] = Wanted(column / 2, row / 2, layer / 2);
                    }
                }
            }

            return half;
        }

        private bool Has(int column, int row, int layer) => row >= 0 && layer >= 0 && row < Rows && layer < Layers && Wanted(column, row, layer);
    }
}
