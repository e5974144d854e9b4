using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Projection;

/// <summary>Casts a ray from the source to every pixel and adds up how much of each material it crosses.</summary>
internal sealed class BodyProjector
{
    private readonly BeamGeometry geometry;
    private readonly Grain fine;
    private readonly Grain coarse;
    private readonly CancellationToken cancellation;
    private readonly Box reach;

    /// <param name="geometry">Source and receptor.</param>
    /// <param name="reach">The part of the room that the beam crosses; nothing is cast outside it.</param>
    /// <param name="seed">Seed of the grain.</param>
    /// <param name="cancellation">Stops the work.</param>
    public BodyProjector(BeamGeometry geometry, Box reach, ulong seed, CancellationToken cancellation = default)
    {
        this.reach = reach;
        this.geometry = geometry;
        this.cancellation = cancellation;
        (fine, coarse) = Grain.Pair(seed);
    }

    /// <summary>The path lengths of a body.</summary>
    /// <param name="body">The part in its pose.</param>
    /// <param name="coarsening">Soft surfaces are cast on every n-th pixel and interpolated; bones on every pixel.</param>
    public PathLengths Project(Body body, int coarsening)
    {
        PathLengths paths = new(geometry.Rows, geometry.Columns);
        foreach (Bone bone in body.Bones)
        {
            AddBone(InRoom(bone, body.Placement), paths);
        }

        // One after the other: sums in single precision depend on their order, and the same seed has to give the same bytes.
        foreach (Phantom.Tube tube in body.Tubes)
        {
            AddTube(InRoom(tube, body.Placement), paths);
        }

        Raster<float> skin = Chords(Bake(new Posed(body.Placement, body.Skin), body.SoftCellMm), 1.5f, coarsening, 0, body.Placement.TurnToOuter(body.Fibres), out _);
        Raster<float> muscle = Chords(Bake(new Posed(body.Placement, body.Muscle), body.SoftCellMm), 1.5f, coarsening, body.FatPlanes, body.Placement.TurnToOuter(body.Fibres), out Raster<float>? planes);
        Raster<float>? pads = body.FatPads is null ? null : Chords(Bake(new Posed(body.Placement, body.FatPads), 1.2f), 1.2f, coarsening, 0, body.Placement.TurnToOuter(body.Fibres), out _);
        Raster<float>? air = body.Air is null ? null : Chords(Bake(new Posed(body.Placement, body.Air), 2), 2f, coarsening, 0, body.Placement.TurnToOuter(body.Fibres), out _);
        Raster<float>? strands = null;
        if (body.Strands.Count > 0)
        {
            strands = new Raster<float>(geometry.Rows, geometry.Columns);
            foreach (Strand strand in body.Strands)
            {
                AddStrand(strand with { From = body.Placement.ToOuter(strand.From), To = body.Placement.ToOuter(strand.To) }, strands);
            }
        }

        float airKeeps = (float)body.AirDensityShare;
        Parallel.For(0, geometry.Rows, row =>
        {
            Span<float> softRow = paths.Soft.Row(row);
            Span<float> fatRow = paths.Fat.Row(row);
            Span<float> skinRow = paths.Skin.Row(row);
            Span<float> boneRow = paths.Bone.Row(row);
            Span<float> volumeRow = paths.BoneVolume.Row(row);
            for (int column = 0; column < softRow.Length; column++)
            {
                float whole = Interpolated(skin, row, column, coarsening);
                float inMuscle = MathF.Min(whole, Interpolated(muscle, row, column, coarsening));
                float inPlanes = planes is null ? 0 : Interpolated(planes, row, column, coarsening);
                float inPads = pads is null ? 0 : Interpolated(pads, row, column, coarsening);
                float inAir = air is null ? 0 : Interpolated(air, row, column, coarsening);
                float volume = MathF.Min(volumeRow[column], whole);
                float bone = MathF.Min(boneRow[column], volume);
                float marrow = volume - bone;
                float fat = MathF.Max(0, whole - inMuscle) + inPlanes + inPads;
                float lean = MathF.Max(0, inMuscle - inPlanes - inPads);

                // Bone takes the place of muscle first; marrow is half fat.
                float free = MathF.Max(0, lean - volume);
                fat = MathF.Max(0, fat - MathF.Max(0, volume - lean));
                float replacedByAir = MathF.Min(inAir, free);
                float strand = strands is null ? 0 : strands[row, column];
                softRow[column] = free - (replacedByAir * (1 - airKeeps)) + (0.5f * marrow) + (strand * (1 - airKeeps));
                fatRow[column] = fat + (0.5f * marrow);
                skinRow[column] = whole;
            }
        });
        return paths;
    }

    /// <summary>Chord lengths of one body on a coarser grid, in mm.</summary>
    public Raster<float> Chords(Shape shape, float stepMm, int coarsening, float planesShare, Vector3 fibres, out Raster<float>? planes)
    {
        int rows = ((geometry.Rows - 1) / coarsening) + 2;
        int columns = ((geometry.Columns - 1) / coarsening) + 2;
        Raster<float> chords = new(rows, columns);
        Raster<float>? planeChords = planesShare > 0 ? new Raster<float>(rows, columns) : null;
        Box box = shape.Bounds;
        if (box.Minimum.X >= box.Maximum.X || box.Minimum.Y >= box.Maximum.Y || box.Minimum.Z >= box.Maximum.Z)
        {
            planes = null;
            return chords;
        }

        float source = (float)geometry.SourceImageDistanceMm;
        (Vector3 across, Vector3 along, Vector3 through) = Frame(fibres);
        ParallelOptions options = new() { CancellationToken = cancellation };
        Parallel.For(0, rows, options, row =>
        {
            float py = geometry.ReceptorY(row * coarsening);
            Span<float> chordRow = chords.Row(row);
            Span<float> planeRow = planeChords is null ? [] : planeChords.Row(row);
            for (int column = 0; column < columns; column++)
            {
                float px = geometry.ReceptorX(column * coarsening);
                if (!Clip(box, px, py, source, out float low, out float high))
                {
                    continue;
                }

                float obliquity = geometry.Obliquity(px, py);
                float previousZ = low;
                float previousD = shape.Distance(At(px, py, low, source));
                float sum = 0;
                float planeSum = 0;
                float z = low;
                while (z < high)
                {
                    z = MathF.Min(high, z + MathF.Max(stepMm, 0.6f * previousD));
                    Vector3 point = At(px, py, z, source);
                    float distance = shape.Distance(point);
                    float length = (z - previousZ) * Inside(previousD, distance);
                    sum += length;
                    if (length > 0 && planesShare > 0)
                    {
                        Vector3 place = new(Vector3.Dot(point, across) / 2.6f, Vector3.Dot(point, along) / 22f, Vector3.Dot(point, through) / 2.6f);
                        float grain = coarse.At(place);
                        if (grain > 0.6f)
                        {
                            planeSum += length * MathF.Min(1, (grain - 0.6f) * 1.5f) * planesShare * 4;
                        }
                    }

                    previousD = distance;
                    previousZ = z;
                }

                chordRow[column] = sum * obliquity;
                if (planesShare > 0)
                {
                    planeRow[column] = MathF.Min(planeSum, sum) * obliquity;
                }
            }
        });
        planes = planeChords;
        return chords;
    }

    private static Bone InRoom(Bone bone, Pose placement)
    {
        Pose pose = bone.Pose.Within(placement);
        return new Bone
        {
            Name = bone.Name,
            Surface = new Posed(pose, bone.Surface),
            AxisOrigin = pose.ToOuter(bone.AxisOrigin),
            Axis = pose.TurnToOuter(bone.Axis),
            CortexMm = bone.CortexMm,
            SpongyShare = bone.SpongyShare,
            GrainDepth = bone.GrainDepth,
            GrainAcrossMm = bone.GrainAcrossMm,
            GrainAlongMm = bone.GrainAlongMm,
            UnevenMm = bone.UnevenMm,
        };
    }

    private static Phantom.Tube InRoom(Phantom.Tube tube, Pose placement) => tube with
    {
        Stations = [.. tube.Stations.Select(station => station with { Point = placement.ToOuter(station.Point) })],
        HeightAxis = placement.TurnToOuter(tube.HeightAxis),
    };

    private Baked Bake(Shape shape, float cellMm) => new(shape, MathF.Max(cellMm, 5 * (float)geometry.SpacingMm), reach);

    private static Vector3 At(float px, float py, float z, float source)
    {
        float scale = 1 - (z / source);
        return new Vector3(px * scale, py * scale, z);
    }

    /// <summary>The share of an interval that lies inside, with the crossing placed by linear interpolation.</summary>
    private static float Inside(float before, float after)
    {
        if (before <= 0)
        {
            return after <= 0 ? 1 : before / (before - after);
        }

        return after < 0 ? after / (after - before) : 0;
    }

    private static float Interpolated(Raster<float> coarseRaster, int row, int column, int coarsening)
    {
        if (coarsening == 1)
        {
            return coarseRaster[row, column];
        }

        int r = row / coarsening;
        int c = column / coarsening;
        float rs = (row - (r * coarsening)) / (float)coarsening;
        float cs = (column - (c * coarsening)) / (float)coarsening;
        ReadOnlySpan<float> upper = coarseRaster.Row(r);
        ReadOnlySpan<float> lower = coarseRaster.Row(r + 1);
        float a = upper[c] + (cs * (upper[c + 1] - upper[c]));
        float b = lower[c] + (cs * (lower[c + 1] - lower[c]));
        return a + (rs * (b - a));
    }

    private static bool Clip(Box box, float px, float py, float source, out float low, out float high)
    {
        low = MathF.Max(0, box.Minimum.Z);
        high = box.Maximum.Z;

        // x = px (1 − z/source) has to lie within the box; the same for y.
        return Narrow(px, box.Minimum.X, box.Maximum.X, source, ref low, ref high)
            && Narrow(py, box.Minimum.Y, box.Maximum.Y, source, ref low, ref high)
            && low < high;
    }

    private static bool Narrow(float p, float minimum, float maximum, float source, ref float low, ref float high)
    {
        if (MathF.Abs(p) < 1e-6f)
        {
            return minimum <= 0 && maximum >= 0;
        }

        float first = source * (1 - (minimum / p));
        float second = source * (1 - (maximum / p));
        low = MathF.Max(low, MathF.Min(first, second));
        high = MathF.Min(high, MathF.Max(first, second));
        return low < high;
    }

    private static (Vector3 Across, Vector3 Along, Vector3 Through) Frame(Vector3 direction)
    {
        Vector3 along = Vector3.Normalize(direction);
        Vector3 hint = MathF.Abs(along.Z) < 0.9f ? Vector3.UnitZ : Vector3.UnitX;
        Vector3 across = Vector3.Normalize(Vector3.Cross(along, hint));
        return (across, along, Vector3.Cross(across, along));
    }

    private void AddBone(Bone bone, PathLengths paths)
    {
        float step = MathF.Max(0.7f, (float)geometry.SpacingMm);

        // Small bones get finer cells; the finest detail drawn is about a millimetre.
        Vector3 size = bone.Surface.Bounds.Maximum - bone.Surface.Bounds.Minimum;
        float cellMm = Math.Clamp(MathF.Min(size.X, MathF.Min(size.Y, size.Z)) / 40, 0.4f, 0.8f);
        Baked surface = new(bone.Surface, MathF.Max(cellMm, 1.5f * (float)geometry.SpacingMm), reach);
        if (surface.IsEmpty)
        {
            return;
        }

        Box box = surface.Bounds;
        (int firstRow, int lastRow, int firstColumn, int lastColumn) = Shadow(box);
        float source = (float)geometry.SourceImageDistanceMm;
        (Vector3 across, Vector3 along, Vector3 through) = Frame(bone.Axis);
        across /= bone.GrainAcrossMm;
        Vector3 alongCells = along / bone.GrainAlongMm;
        through /= bone.GrainAcrossMm;
        ParallelOptions options = new() { CancellationToken = cancellation };
        Parallel.For(firstRow, lastRow + 1, options, row =>
        {
            float py = geometry.ReceptorY(row);
            Span<float> boneRow = paths.Bone.Row(row);
            Span<float> volumeRow = paths.BoneVolume.Row(row);
            for (int column = firstColumn; column <= lastColumn; column++)
            {
                float px = geometry.ReceptorX(column);
                if (!Clip(box, px, py, source, out float low, out float high))
                {
                    continue;
                }

                float previousZ = low;
                Vector3 point = At(px, py, low, source);
                float previousD = surface.Distance(point);
                float previousT = 0;
                float compact = 0;
                float volume = 0;
                float spongy = 0;
                float z = low;
                while (z < high)
                {
                    z = MathF.Min(high, z + MathF.Max(step, 0.6f * previousD));
                    point = At(px, py, z, source);
                    float distance = surface.Distance(point);
                    if (MathF.Min(distance, previousD) < 1.5f)
                    {
                        distance += bone.UnevenMm * coarse.At(point * 0.35f);
                        float s = Vector3.Dot(point - bone.AxisOrigin, bone.Axis);
                        float cortex = bone.CortexMm.At(s);
                        float outer = (z - previousZ) * Inside(previousD, distance);
                        if (outer > 0)
                        {
                            float inner = MathF.Min(outer, (z - previousZ) * Inside(previousD + previousT, distance + cortex));
                            volume += outer;
                            compact += outer - inner;
                            if (inner > 0)
                            {
                                Vector3 place = new(Vector3.Dot(point, across), Vector3.Dot(point, alongCells), Vector3.Dot(point, through));
                                float share = bone.SpongyShare.At(s) * (1 + (bone.GrainDepth * fine.Nearest(place)));
                                spongy += inner * Math.Clamp(share, 0, 1);
                            }
                        }

                        previousT = cortex;
                    }

                    previousD = distance;
                    previousZ = z;
                }

                float obliquity = geometry.Obliquity(px, py);
                boneRow[column] += (compact + spongy) * obliquity;
                volumeRow[column] += volume * obliquity;
            }
        });
    }

    /// <summary>Adds the chord of a thin tapered cylinder: 2·sqrt(r² − d²) across it, lengthened where it runs along the ray.</summary>
    private void AddStrand(Strand strand, Raster<float> chords)
    {
        float source = (float)geometry.SourceImageDistanceMm;
        PixelPoint from = geometry.Project(strand.From);
        PixelPoint to = geometry.Project(strand.To);
        float magnification = source / (source - (0.5f * (strand.From.Z + strand.To.Z)));
        float perPixel = (float)geometry.SpacingMm / magnification;
        float fromRadius = strand.FromRadius / perPixel;
        float toRadius = strand.ToRadius / perPixel;
        Vector2 start = new((float)from.X, (float)from.Y);
        Vector2 line = new Vector2((float)to.X, (float)to.Y) - start;
        float lengthSquared = MathF.Max(1e-3f, line.LengthSquared());
        float trueLength = Vector3.Distance(strand.From, strand.To);
        float stretch = Math.Clamp(trueLength / MathF.Max(0.5f, MathF.Sqrt(lengthSquared) * perPixel), 1, 4);
        float reach = MathF.Max(fromRadius, toRadius) + 1;
        int firstRow = Math.Max(0, (int)(MathF.Min(start.Y, start.Y + line.Y) - reach));
        int lastRow = Math.Min(geometry.Rows - 1, (int)(MathF.Max(start.Y, start.Y + line.Y) + reach));
        int firstColumn = Math.Max(0, (int)(MathF.Min(start.X, start.X + line.X) - reach));
        int lastColumn = Math.Min(geometry.Columns - 1, (int)(MathF.Max(start.X, start.X + line.X) + reach));
        for (int row = firstRow; row <= lastRow; row++)
        {
            Span<float> chordRow = chords.Row(row);
            for (int column = firstColumn; column <= lastColumn; column++)
            {
                Vector2 offset = new Vector2(column, row) - start;
                float share = Vector2.Dot(offset, line) / lengthSquared;
                if (share is < 0 or >= 1)
                {
                    continue;
                }

                float radius = fromRadius + (share * (toRadius - fromRadius));
                float d2 = (offset - (share * line)).LengthSquared();
                if (d2 < radius * radius)
                {
                    chordRow[column] += MathF.Min(2 * MathF.Sqrt((radius * radius) - d2) * perPixel * stretch, trueLength);
                }
            }
        }
    }

    /// <summary>Adds a curved tube: for each pixel the longest chord of its pieces, so that bends neither double nor gape.</summary>
    private void AddTube(Phantom.Tube tube, PathLengths paths)
    {
        PixelPoint[] places = [.. tube.Stations.Select(station => geometry.Project(station.Point))];
        double reach = (tube.Stations.Max(station => MathF.Max(station.HalfHeight, station.HalfThickness)) * 1.4 / geometry.SpacingMm) + 2;
        int top = Math.Max(0, (int)(places.Min(place => place.Y) - reach));
        int bottom = Math.Min(geometry.Rows - 1, (int)(places.Max(place => place.Y) + reach));
        int left = Math.Max(0, (int)(places.Min(place => place.X) - reach));
        int right = Math.Min(geometry.Columns - 1, (int)(places.Max(place => place.X) + reach));
        if (top > bottom || left > right)
        {
            return;
        }

        int width = right - left + 1;
        float[] outer = new float[width * (bottom - top + 1)];
        float[] inner = new float[outer.Length];
        for (int k = 1; k < places.Length; k++)
        {
            AddPiece(tube, k, places, outer, inner, (top, bottom, left, right));
        }

        (Vector3 across, Vector3 along, Vector3 through) = Frame(tube.HeightAxis);
        for (int row = top; row <= bottom; row++)
        {
            Span<float> boneRow = paths.Bone.Row(row);
            Span<float> volumeRow = paths.BoneVolume.Row(row);
            for (int column = left; column <= right; column++)
            {
                int at = ((row - top) * width) + column - left;
                if (outer[at] <= 0)
                {
                    continue;
                }

                float x = geometry.ReceptorX(column);
                float y = geometry.ReceptorY(row);
                Vector3 place = new((x * across.X) + (y * across.Y), (x * along.X) + (y * along.Y), 7 * through.Z);
                float spongy = inner[at] * tube.SpongyShare * Math.Clamp(1 + (0.4f * fine.Nearest(place * 1.6f)), 0, 2);
                volumeRow[column] += outer[at];
                boneRow[column] += outer[at] - inner[at] + spongy;
            }
        }
    }

    private void AddPiece(Phantom.Tube tube, int k, PixelPoint[] places, float[] outer, float[] inner, (int Top, int Bottom, int Left, int Right) area)
    {
        TubeStation from = tube.Stations[k - 1];
        TubeStation to = tube.Stations[k];
        float source = (float)geometry.SourceImageDistanceMm;
        float perPixel = (float)geometry.SpacingMm * (source - (0.5f * (from.Point.Z + to.Point.Z))) / source;
        Vector2 start = new((float)places[k - 1].X, (float)places[k - 1].Y);
        Vector2 line = new Vector2((float)places[k].X, (float)places[k].Y) - start;
        float lengthPixels = MathF.Max(0.01f, line.Length());
        Vector2 forward = line / lengthPixels;

        // The section's axes: as high as it can be, and thin across it; seen by the ray along z.
        Vector3 tangent = Vector3.Normalize(to.Point - from.Point);
        Vector3 height = Vector3.Normalize(tube.HeightAxis - (Vector3.Dot(tube.HeightAxis, tangent) * tangent));
        Vector3 thin = Vector3.Cross(tangent, height);
        Vector2 sideways = new(-forward.Y, forward.X);
        float heightShare = (height.X * sideways.X) + (height.Y * sideways.Y);
        float thinShare = (thin.X * sideways.X) + (thin.Y * sideways.Y);
        float sine = MathF.Max(0.3f, MathF.Sqrt(MathF.Max(0, 1 - (tangent.Z * tangent.Z))));
        float longest = MathF.Max(from.HalfHeight, to.HalfHeight) * 1.2f / perPixel;
        int firstRow = Math.Max(area.Top, (int)(MathF.Min(start.Y, start.Y + line.Y) - longest));
        int lastRow = Math.Min(area.Bottom, (int)(MathF.Max(start.Y, start.Y + line.Y) + longest));
        int firstColumn = Math.Max(area.Left, (int)(MathF.Min(start.X, start.X + line.X) - longest));
        int lastColumn = Math.Min(area.Right, (int)(MathF.Max(start.X, start.X + line.X) + longest));
        float overlap = MathF.Min(3, 1.2f / (perPixel * lengthPixels));
        int width = area.Right - area.Left + 1;
        for (int row = firstRow; row <= lastRow; row++)
        {
            for (int column = firstColumn; column <= lastColumn; column++)
            {
                Vector2 offset = new Vector2(column, row) - start;
                float share = Vector2.Dot(offset, forward) / lengthPixels;
                if (share < -overlap || share > 1 + overlap)
                {
                    continue;
                }

                share = Math.Clamp(share, 0, 1);
                float halfHeight = from.HalfHeight + (share * (to.HalfHeight - from.HalfHeight));
                float halfThin = from.HalfThickness + (share * (to.HalfThickness - from.HalfThickness));
                float extent = MathF.Sqrt((halfHeight * halfHeight * heightShare * heightShare) + (halfThin * halfThin * thinShare * thinShare));
                float distance = MathF.Abs(Vector2.Dot(offset, sideways)) * perPixel;
                if (distance >= extent)
                {
                    continue;
                }

                int at = ((row - area.Top) * width) + column - area.Left;
                float depth = halfHeight * halfThin / extent / sine;
                outer[at] = MathF.Max(outer[at], 2 * depth * MathF.Sqrt(1 - (distance * distance / (extent * extent))));
                float insideExtent = extent - tube.CortexMm;
                float insideDepth = depth - (tube.CortexMm / sine);
                if (distance < insideExtent && insideDepth > 0)
                {
                    inner[at] = MathF.Max(inner[at], 2 * insideDepth * MathF.Sqrt(1 - (distance * distance / (insideExtent * insideExtent))));
                }
            }
        }
    }

    private (int FirstRow, int LastRow, int FirstColumn, int LastColumn) Shadow(Box box)
    {
        double left = double.MaxValue;
        double right = double.MinValue;
        double top = double.MaxValue;
        double bottom = double.MinValue;
        foreach (Vector3 corner in box.Corners())
        {
            PixelPoint place = geometry.Project(corner);
            left = Math.Min(left, place.X);
            right = Math.Max(right, place.X);
            top = Math.Min(top, place.Y);
            bottom = Math.Max(bottom, place.Y);
        }

        return (Math.Max(0, (int)Math.Floor(top)), Math.Min(geometry.Rows - 1, (int)Math.Ceiling(bottom)),
            Math.Max(0, (int)Math.Floor(left)), Math.Min(geometry.Columns - 1, (int)Math.Ceiling(right)));
    }
}
