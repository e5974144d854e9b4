using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Projection;

/// <summary>The path lengths of a body, by projecting the closed meshes of its surfaces.</summary>
/// <remarks>
/// <para>Surfaces are meshed once in their own frames and kept (<see cref="MeshCache"/>); a new placement, tube or receptor projects them anew.</para>
/// <para>Nested surfaces: cortical bone is what lies between a bone's outer surface and the one deeper by its cortex; what lies within that is spongy. Muscle is cut off at the skin, bone takes the place of muscle first and of fat next, air takes the place of muscle.</para>
/// <para>Method: docs/methods/projection.md.</para>
/// </remarks>
internal sealed class BodyProjection
{
    // Facets in a lung take air away: at larger cells it shows.
    private const float CoarsestAirCellMm = 7;

    // From here on a trunk's pixels are about as large as its struts lie apart.
    private const float TexturePixelMm = 0.6f;

    private static readonly Grain Unevenness = new(0x0B0E, 2);
    private readonly BeamGeometry geometry;
    private readonly MeshProjector projector;
    private readonly ParallelOptions options;
    private readonly ulong textureSeed;
    private readonly MeshCache cache;
    private readonly ProjectionDetail detail;

    /// <param name="geometry">Source and receptor.</param>
    /// <param name="textureSeed">Seed of the spongy bone's and the fat planes' texture: the same for all exposures of one person.</param>
    /// <param name="window">The part of the image that is wanted; all of it when null. Lengths outside it stay 0.</param>
    /// <param name="cache">Where meshes are kept; the common one when null.</param>
    /// <param name="detail">How finely; as for an exposure when null.</param>
    /// <param name="cancellation">Stops the work.</param>
    public BodyProjection(BeamGeometry geometry, ulong textureSeed, PixelWindow? window = null, MeshCache? cache = null, ProjectionDetail? detail = null, CancellationToken cancellation = default)
    {
        this.geometry = geometry;
        this.detail = detail ?? ProjectionDetail.Full;
        this.textureSeed = textureSeed;
        this.cache = cache ?? MeshCache.Common;
        options = new ParallelOptions { CancellationToken = cancellation };
        projector = new MeshProjector(geometry, cancellation) { Window = window ?? PixelWindow.All };
    }

    /// <summary>The path lengths of a body where it is placed.</summary>
    /// <param name="body">The part, its joints set.</param>
    /// <exception cref="ArgumentException">The body reaches up to the source.</exception>
    public PathLengths Project(Body body)
    {
        PathLengths paths = new(geometry.Rows, geometry.Columns);
        Vector3 middle = body.Placement.ToOuter(0.5f * (body.Skin.Bounds.Minimum + body.Skin.Bounds.Maximum));
        float pixelMm = (float)geometry.SpacingMm * Math.Clamp((geometry.Source.Z - middle.Z) / geometry.Source.Z, 0.2f, 1);
        MakeMeshes(body, pixelMm);

        // One after the other: sums in single precision depend on their order, and the same seed has to give the same bytes.
        GrainField grain = new(textureSeed);
        int samples = IsTrunk(body) && pixelMm >= TexturePixelMm ? detail.TrunkGrainSamples : detail.GrainSamples;
        projector.Nested([
            .. body.Bones.Select(bone => Surfaces(Outer(bone, pixelMm), Inner(bone, pixelMm), bone.Pose.Within(body.Placement), new Sponge(bone, grain, samples), paths)),
            .. body.Tubes.Select(tube => Surfaces(Outer(tube), Inner(tube), body.Placement, new Sponge(tube, grain, samples), paths)),
        ]);

        ChordMap? skin = Chords(body.Skin, body, SkinCell(body, pixelMm), withHeights: false);
        ChordMap? muscle = Chords(body.Muscle, body, MuscleCell(body, pixelMm), body.FatPlanes > 0);
        ChordMap? pads = Chords(body.FatPads, body, PadCell(pixelMm), withHeights: false);
        ChordMap? air = Chords(body.Air, body, AirCell(pixelMm), withHeights: false);
        ChordMap? gas = Chords(body.Gas, body, AirCell(pixelMm), withHeights: false);
        ChordMap? strands = body.Strands.Count == 0 ? null : projector.Chords(Strands(body), body.Placement, withHeights: false);
        FatPlanes? planes = muscle is null || body.FatPlanes <= 0 ? null : Planes(muscle, body);
        Combine(paths, skin, muscle, pads, air, gas, strands, planes, (float)body.AirDensityShare);
        return paths;
    }

    /// <summary>Shape instances of one content differ from body to body; the numbers that shape the inner surface are compared by value.</summary>
    private static ulong Fingerprint(Bone bone, float cellMm)
    {
        ulong hash = 0xCBF29CE484222325;
        Add(cellMm);
        Add(bone.UnevenMm);
        foreach (char letter in bone.Name)
        {
            Add(letter);
        }

        Add(bone.AxisOrigin.X);
        Add(bone.AxisOrigin.Y);
        Add(bone.AxisOrigin.Z);
        Add(bone.Axis.X);
        Add(bone.Axis.Y);
        Add(bone.Axis.Z);
        float reach = (bone.Surface.Bounds.Maximum - bone.Surface.Bounds.Minimum).Length();
        for (int k = -64; k <= 64; k++)
        {
            Add(bone.CortexMm.At(reach * k / 64));
        }

        return hash;

        void Add(float value) => hash = Stamp(hash, value);
    }

    /// <summary>FNV-1a over the four bytes at once: enough for telling a few hundred variants apart.</summary>
    private static ulong Stamp(ulong hash, float value)
    {
        hash = (hash ^ BitConverter.SingleToUInt32Bits(value)) * 0x100000001B3;
        return hash ^ (hash >> 29);
    }

    /// <summary>A step of a coarse ladder, so that a small change of magnification asks for no new mesh.</summary>
    private static float Rung(float cellMm)
        => cellMm <= 0.4f ? 0.4f : cellMm <= 0.55f ? 0.55f : cellMm <= 0.8f ? 0.8f : cellMm <= 1.1f ? 1.1f : cellMm <= 1.6f ? 1.6f : cellMm <= 2.2f ? 2.2f : cellMm <= 3.2f ? 3.2f : 4.4f;

    /// <summary>Small bones get finer cells; for coarse pixels coarser ones do.</summary>
    private static float BoneCell(Bone bone, float pixelMm)
    {
        Vector3 size = bone.Surface.Bounds.Maximum - bone.Surface.Bounds.Minimum;
        float wanted = Math.Clamp(MathF.Min(size.X, MathF.Min(size.Y, size.Z)) / 36, 0.55f, 0.8f);
        float cell = Rung(MathF.Max(wanted, 1.5f * pixelMm));

        // A very large bone is kept within some 40 million lattice points.
        while ((size.X + 8) * (size.Y + 8) * (size.Z + 8) / (cell * cell * cell) > 4e7f)
        {
            cell *= 1.3f;
        }

        return cell;
    }

    private static bool IsTrunk(Body body) => body.SoftCellMm >= 3;

    private float Coarser(float boneCellMm) => MathF.Max(boneCellMm, MathF.Min(1.4f * boneCellMm, detail.CoarsestBoneCellMm));

    private float SkinCell(Body body, float pixelMm) => detail.SkinCells * Rung(MathF.Max(body.SoftCellMm, 3 * pixelMm));

    private float MuscleCell(Body body, float pixelMm) => (IsTrunk(body) ? detail.SkinCells : detail.MuscleCells) * Rung(MathF.Max(body.SoftCellMm, 3 * pixelMm));

    private float PadCell(float pixelMm) => detail.PadCells * Rung(MathF.Max(1.1f, 3 * pixelMm));

    private float AirCell(float pixelMm) => MathF.Min(CoarsestAirCellMm, detail.AirCells * Rung(MathF.Max(1.6f, 3 * pixelMm)));

    /// <summary>A bone's distance with its unevenness, which is its own and not the exposure's.</summary>
    private static Func<Vector3, float> Uneven(Bone bone)
    {
        Shape surface = bone.Surface;
        float height = bone.UnevenMm;
        if (height <= 0)
        {
            return surface.Distance;
        }

        uint name = 2166136261;
        foreach (char letter in bone.Name)
        {
            name = (name ^ letter) * 16777619;
        }

        Vector3 offset = new(name & 63, (name >> 6) & 63, (name >> 12) & 63);
        return point =>
        {
            float distance = surface.Distance(point);
            return MathF.Abs(distance) > 3 ? distance : distance + (height * Unevenness.At((point * 0.35f) + offset));
        };
    }

    private TriangleMesh Outer(Phantom.Tube tube) => Swept(tube, 0, 0);

    private TriangleMesh Inner(Phantom.Tube tube) => Swept(tube, 1, tube.CortexMm);

    private TriangleMesh Swept(Phantom.Tube tube, ulong surface, float insetMm) => cache.Get(tube, Stamp(Stamp(surface, detail.TubeParts), detail.TubeStep), () =>
    {
        // Fewer facets inscribed in one ellipse have less area: the section makes up for it, so that no more than its corners changes.
        float grown = MathF.Sqrt((float)(Facets(ProjectionDetail.Full.TubeParts) / Facets(detail.TubeParts)));
        int last = tube.Stations.Count - 1;
        return SolidMeshes.Tube(
            [.. tube.Stations.Where((_, at) => at % detail.TubeStep == 0 || at == last).Select(station => new SweepStation(station.Point, grown * MathF.Max(0.05f, station.HalfHeight - insetMm), grown * MathF.Max(0.05f, station.HalfThickness - insetMm)))],
            tube.HeightAxis,
            detail.TubeParts);
    });

    /// <summary>Area of a regular polygon over that of its circle.</summary>
    private static double Facets(int parts) => parts / (2 * Math.PI) * Math.Sin(2 * Math.PI / parts);

    private TriangleMesh Outer(Bone bone, float pixelMm)
    {
        float cell = Coarser(BoneCell(bone, pixelMm));
        return cache.Get(bone.Surface, Fingerprint(bone, cell), () => ShapeMesher.FromDistance(Uneven(bone), bone.Surface.Bounds.Grown(bone.UnevenMm), cell));
    }

    private TriangleMesh Inner(Bone bone, float pixelMm)
    {
        float cell = Coarser(BoneCell(bone, pixelMm));
        return cache.Get(bone.Surface, ~Fingerprint(bone, cell), () =>
        {
            Func<Vector3, float> outer = Uneven(bone);
            return ShapeMesher.FromDistance(
                point => outer(point) + bone.CortexMm.At(Vector3.Dot(point - bone.AxisOrigin, bone.Axis)),
                bone.Surface.Bounds,
                cell);
        });
    }

    private TriangleMesh Soft(Shape shape, Body body, float cellMm)
    {
        if (!detail.OnlyOverReceptor)
        {
            return cache.Get(shape, BitConverter.SingleToUInt32Bits(cellMm), () => ShapeMesher.FromShape(shape, cellMm));
        }

        Box box = OverReceptor(shape.Bounds, body.Placement);
        ulong variant = Stamp(0xCBF29CE484222325, cellMm);
        foreach (Vector3 corner in (ReadOnlySpan<Vector3>)[box.Minimum, box.Maximum])
        {
            variant = Stamp(Stamp(Stamp(variant, corner.X), corner.Y), corner.Z);
        }

        return cache.Get(shape, variant, () => ShapeMesher.FromDistance(shape.Distance, box, cellMm));
    }

    /// <summary>The part of a box that rays to the receptor cross, in steps of <see cref="ProjectionDetail.StepMm"/>, so that a small change of pose asks for no new mesh.</summary>
    private Box OverReceptor(Box bounds, Pose placement)
    {
        float top = Math.Clamp(placement.ToOuter(bounds).Maximum.Z, 0, 0.95f * geometry.Source.Z);
        Vector3 low = new(float.MaxValue);
        Vector3 high = new(float.MinValue);
        foreach (double row in (ReadOnlySpan<double>)[-0.5, geometry.Rows - 0.5])
        {
            foreach (double column in (ReadOnlySpan<double>)[-0.5, geometry.Columns - 0.5])
            {
                foreach (float height in (ReadOnlySpan<float>)[0, top])
                {
                    Vector3 corner = placement.ToLocal(geometry.PointOfRay(geometry.ReceptorX(column), geometry.ReceptorY(row), height));
                    low = Vector3.Min(low, corner);
                    high = Vector3.Max(high, corner);
                }
            }
        }

        // What is cut off ends at the lattice's border; a step and a half beyond the rays it does no harm.
        low = Vector3.Max(bounds.Minimum, Stepped(low - new Vector3(0.5f * ProjectionDetail.StepMm), down: true));
        high = Vector3.Min(bounds.Maximum, Stepped(high + new Vector3(0.5f * ProjectionDetail.StepMm), down: false));
        return new Box(low, Vector3.Max(low, high));

        static Vector3 Stepped(Vector3 place, bool down)
        {
            Vector3 steps = place / ProjectionDetail.StepMm;
            return ProjectionDetail.StepMm * (down
                ? new Vector3(MathF.Floor(steps.X), MathF.Floor(steps.Y), MathF.Floor(steps.Z))
                : new Vector3(MathF.Ceiling(steps.X), MathF.Ceiling(steps.Y), MathF.Ceiling(steps.Z)));
        }
    }

    private TriangleMesh Strands(Body body) => cache.Get(body.Strands, (ulong)detail.StrandParts, () =>
    {
        // An octagon inscribed in a circle has 0.9003 of its area: the radius makes up for it.
        float grown = (float)Math.Sqrt(1 / Facets(detail.StrandParts));
        return TriangleMesh.Joined([.. body.Strands
            .Where(strand => Vector3.DistanceSquared(strand.From, strand.To) > 1e-6f)
            .Select(strand => SolidMeshes.Tube(
                [new SweepStation(strand.From, grown * strand.FromRadius, grown * strand.FromRadius), new SweepStation(strand.To, grown * strand.ToRadius, grown * strand.ToRadius)],
                MathF.Abs((strand.To - strand.From).Z) < 0.8f * Vector3.Distance(strand.From, strand.To) ? Vector3.UnitZ : Vector3.UnitX,
                detail.StrandParts))]);
    });

    /// <summary>Makes all meshes that are not kept yet, several at a time.</summary>
    private void MakeMeshes(Body body, float pixelMm)
    {
        List<Action> work = [];
        foreach (Bone bone in body.Bones)
        {
            work.Add(() => Outer(bone, pixelMm));
            work.Add(() => Inner(bone, pixelMm));
        }

        foreach (Phantom.Tube tube in body.Tubes)
        {
            work.Add(() => Outer(tube));
            work.Add(() => Inner(tube));
        }

        if (body.Strands.Count > 0)
        {
            work.Add(() => Strands(body));
        }

        Add(body.Skin, SkinCell(body, pixelMm));
        Add(body.Muscle, MuscleCell(body, pixelMm));
        Add(body.FatPads, PadCell(pixelMm));
        Add(body.Air, AirCell(pixelMm));
        Add(body.Gas, AirCell(pixelMm));
        Parallel.ForEach(work, options, each => each());

        void Add(Shape? shape, float cellMm)
        {
            if (shape is not null)
            {
                work.Add(() => Soft(shape, body, cellMm));
            }
        }
    }

    private ChordMap? Chords(Shape? shape, Body body, float cellMm, bool withHeights)
        => shape is null ? null : projector.Chords(Soft(shape, body, cellMm), body.Placement, withHeights);

    private NestedSurfaces Surfaces(TriangleMesh outer, TriangleMesh inner, Pose pose, Sponge sponge, PathLengths paths)
    {
        Vector3 source = pose.ToLocal(geometry.Source);
        return new NestedSurfaces(outer, inner, pose, (row, left, lengths, insides, heights) =>
        {
            Span<float> boneRow = paths.Bone.Row(row).Slice(left, lengths.Length);
            Span<float> volumeRow = paths.BoneVolume.Row(row).Slice(left, lengths.Length);
            float y = geometry.ReceptorY(row);
            for (int column = 0; column < lengths.Length; column++)
            {
                float volume = lengths[column];
                if (volume <= 0)
                {
                    continue;
                }

                float bone = volume;
                if (insides[column] > 1e-3f)
                {
                    float spongy = MathF.Min(insides[column], volume);
                    Vector3 foot = pose.ToLocal(new Vector3(geometry.ReceptorX(left + column), y, 0));
                    Vector3 way = source - foot;
                    float share = sponge.Share(foot + (heights[column] / geometry.Source.Z * way), Vector3.Normalize(way), spongy);
                    bone = volume - (spongy * (1 - share));
                }

                boneRow[column] += bone;
                volumeRow[column] += volume;
            }
        });
    }

    /// <summary>Fat planes between the muscles, on every few pixels: they are broader than those.</summary>
    private FatPlanes Planes(ChordMap muscle, Body body)
    {
        Grain coarse = Grain.Pair(textureSeed).Coarse;
        int step = Math.Max(1, (int)((IsTrunk(body) ? detail.TrunkPlaneStepMm : detail.PlaneStepMm) / geometry.SpacingMm));
        Raster<float> lengths = new(((muscle.LengthsMm.Rows - 1) / step) + 2, ((muscle.LengthsMm.Columns - 1) / step) + 2);
        Vector3 along = Vector3.Normalize(body.Fibres);
        Vector3 across = Vector3.Normalize(Vector3.Cross(along, MathF.Abs(along.Z) < 0.9f ? Vector3.UnitZ : Vector3.UnitX));
        Vector3 through = Vector3.Cross(across, along);
        Vector3 source = body.Placement.ToLocal(geometry.Source);
        Parallel.For(0, lengths.Rows, options, coarseRow =>
        {
            int row = Math.Min(coarseRow * step, muscle.LengthsMm.Rows - 1);
            for (int coarseColumn = 0; coarseColumn < lengths.Columns; coarseColumn++)
            {
                int column = Math.Min(coarseColumn * step, muscle.LengthsMm.Columns - 1);
                float length = muscle.LengthsMm[row, column];
                if (length < 0.5f)
                {
                    continue;
                }

                Vector3 foot = body.Placement.ToLocal(new Vector3(geometry.ReceptorX(muscle.Left + column), geometry.ReceptorY(muscle.Top + row), 0));
                Vector3 way = source - foot;
                Vector3 middle = foot + (muscle.HeightsMm![row, column] / geometry.Source.Z * way);
                Vector3 unit = Vector3.Normalize(way);
                int samples = Math.Clamp((int)(length / 4), 2, 64);
                float piece = length / samples;
                float sum = 0;
                for (int sample = 0; sample < samples; sample++)
                {
                    Vector3 point = middle + ((((sample + 0.5f) * piece) - (0.5f * length)) * unit);
                    float grain = coarse.At(new Vector3(Vector3.Dot(point, across) / 2.6f, Vector3.Dot(point, along) / 22f, Vector3.Dot(point, through) / 2.6f));
                    sum += grain > 0.6f ? piece * MathF.Min(1, (grain - 0.6f) * 1.5f) : 0;
                }

                lengths[coarseRow, coarseColumn] = MathF.Min(sum * body.FatPlanes * 4, length);
            }
        });
        return new FatPlanes(muscle.Top, muscle.Left, step, lengths);
    }

    private void Combine(PathLengths paths, ChordMap? skin, ChordMap? muscle, ChordMap? pads, ChordMap? air, ChordMap? gas, ChordMap? strands, FatPlanes? planes, float airKeeps)
    {
        Parallel.For(0, geometry.Rows, options, () => new float[7 * geometry.Columns], (row, _, scratch) =>
        {
            int columns = geometry.Columns;
            Span<float> softRow = paths.Soft.Row(row);
            Span<float> fatRow = paths.Fat.Row(row);
            Span<float> skinRow = paths.Skin.Row(row);
            Span<float> boneRow = paths.Bone.Row(row);
            Span<float> volumeRow = paths.BoneVolume.Row(row);
            ReadOnlySpan<float> inSkin = Row(skin, row, scratch.AsSpan(0, columns));
            ReadOnlySpan<float> inMuscles = Row(muscle, row, scratch.AsSpan(columns, columns));
            ReadOnlySpan<float> inPads = Row(pads, row, scratch.AsSpan(2 * columns, columns));
            ReadOnlySpan<float> inAir = Row(air, row, scratch.AsSpan(3 * columns, columns));
            ReadOnlySpan<float> inGas = Row(gas, row, scratch.AsSpan(4 * columns, columns));
            ReadOnlySpan<float> inStrands = Row(strands, row, scratch.AsSpan(5 * columns, columns));
            Span<float> inPlanes = scratch.AsSpan(6 * columns, columns);
            inPlanes.Clear();
            planes?.CopyRow(row, inPlanes);
            for (int column = 0; column < columns; column++)
            {
                float volume = volumeRow[column];
                float whole = MathF.Max(inSkin[column], 0);
                if (whole == 0 && volume == 0)
                {
                    continue;
                }

                float inMuscle = MathF.Min(whole, MathF.Max(inMuscles[column], 0));
                float fatInside = inPlanes[column] + MathF.Max(inPads[column], 0);
                volume = MathF.Min(volume, whole);
                float bone = MathF.Min(boneRow[column], volume);
                float marrow = volume - bone;
                float fat = MathF.Max(0, whole - inMuscle) + MathF.Min(fatInside, inMuscle);
                float lean = MathF.Max(0, inMuscle - fatInside);

                // Bone takes the place of muscle first; marrow is half fat.
                float free = MathF.Max(0, lean - volume);
                fat = MathF.Max(0, fat - MathF.Max(0, volume - lean));
                float replacedByAir = MathF.Min(MathF.Max(inAir[column], 0), free);
                float replacedByGas = MathF.Min(MathF.Max(inGas[column], 0), free - replacedByAir);
                float strand = MathF.Min(MathF.Max(inStrands[column], 0), replacedByAir);
                softRow[column] = free - replacedByGas - ((replacedByAir - strand) * (1 - airKeeps)) + (0.5f * marrow);
                fatRow[column] = fat + (0.5f * marrow);
                skinRow[column] = whole;
            }

            return scratch;
        }, _ => { });
    }

    /// <summary>One row of a map over the whole width, zeros beside it.</summary>
    private static ReadOnlySpan<float> Row(ChordMap? map, int row, Span<float> scratch)
    {
        scratch.Clear();
        if (map is not null && row >= map.Top && row < map.Top + map.LengthsMm.Rows)
        {
            map.LengthsMm.Row(row - map.Top).CopyTo(scratch[map.Left..]);
        }

        return scratch;
    }

    /// <summary>How much bone is in the spongy interior along a ray.</summary>
    private sealed class Sponge
    {
        private readonly GrainField grain;
        private readonly Curve share;
        private readonly Vector3 origin;
        private readonly Vector3 axis;
        private readonly Vector3 across;
        private readonly Vector3 along;
        private readonly Vector3 through;
        private readonly float depth;
        private readonly float rodSpacingMm;
        private readonly int most;

        public Sponge(Bone bone, GrainField grain, int mostSamples)
            : this(grain, mostSamples, bone.SpongyShare, bone.AxisOrigin, bone.Axis, bone.GrainDepth, bone.GrainAcrossMm, bone.GrainAlongMm)
        {
        }

        /// <summary>A rib's interior is finer and fainter than that of a limb's bone.</summary>
        public Sponge(Phantom.Tube tube, GrainField grain, int mostSamples)
            : this(grain, mostSamples, Curve.Constant(tube.SpongyShare), Vector3.Zero, tube.HeightAxis, 0.4f, 0.4f, 0.8f)
        {
        }

        private Sponge(GrainField grain, int mostSamples, Curve share, Vector3 origin, Vector3 axis, float depth, float acrossMm, float alongMm)
        {
            this.grain = grain;
            most = mostSamples;
            this.share = share;
            this.origin = origin;
            this.axis = axis;
            this.depth = depth;

            // A rod and the gap beside it are about 2.4 times a bone's grain size.
            rodSpacingMm = 2.4f * acrossMm;
            float cellMm = rodSpacingMm / GrainField.RodSpacingCells;
            Vector3 unit = Vector3.Normalize(axis);
            Vector3 side = Vector3.Normalize(Vector3.Cross(unit, MathF.Abs(unit.Z) < 0.9f ? Vector3.UnitZ : Vector3.UnitX));
            across = side / cellMm;
            along = unit * (GrainField.RodSpacingCells / (1.2f * alongMm));
            through = Vector3.Cross(side, unit) / cellMm;
        }

        /// <summary>The mean share of bone along a chord, 0 to 1.</summary>
        /// <param name="middle">Middle of the chord, in the bone's frame.</param>
        /// <param name="direction">Unit vector along the ray, in the bone's frame.</param>
        /// <param name="lengthMm">Length of the chord.</param>
        public float Share(Vector3 middle, Vector3 direction, float lengthMm)
        {
            // The mean over n independent struts spreads by 1/√n: with fewer samples than struts the spread is scaled to that.
            float struts = lengthMm / rodSpacingMm;
            int samples = Math.Clamp((int)struts + 1, 1, most);
            float contrast = depth * MathF.Sqrt(MathF.Min(1, samples / MathF.Max(struts, 1e-3f)));
            Vector3 step = lengthMm / samples * direction;
            Vector3 first = middle - ((0.5f * (samples - 1)) * step) - origin;
            Span<float> textures = stackalloc float[samples];
            grain.Along(ToCells(first), ToCells(step), textures);
            float at = Vector3.Dot(first, axis);
            float onwards = Vector3.Dot(step, axis);
            bool slanted = MathF.Abs(onwards) * samples > 1;
            float here = share.At(slanted ? at : at + (0.5f * (samples - 1) * onwards));
            float sum = 0;
            for (int sample = 0; sample < samples; sample++)
            {
                if (slanted)
                {
                    here = share.At(at + (sample * onwards));
                }

                sum += Math.Clamp(here * (1 + (contrast * textures[sample])), 0, 1);
            }

            return sum / samples;
        }

        private Vector3 ToCells(Vector3 vector) => new(Vector3.Dot(vector, across), Vector3.Dot(vector, along), Vector3.Dot(vector, through));
    }

    /// <summary>Lengths in fat planes on every few pixels.</summary>
    private sealed class FatPlanes(int top, int left, int step, Raster<float> lengths)
    {
        public void CopyRow(int row, Span<float> to)
        {
            int down = row - top;
            if (down < 0 || down / step >= lengths.Rows - 1)
            {
                return;
            }

            int coarseRow = down / step;
            float rowShare = (down - (coarseRow * step)) / (float)step;
            ReadOnlySpan<float> upper = lengths.Row(coarseRow);
            ReadOnlySpan<float> lower = lengths.Row(coarseRow + 1);
            for (int coarse = 0; coarse < lengths.Columns - 1; coarse++)
            {
                float from = upper[coarse] + (rowShare * (lower[coarse] - upper[coarse]));
                float until = upper[coarse + 1] + (rowShare * (lower[coarse + 1] - upper[coarse + 1]));
                int first = left + (coarse * step);
                for (int k = 0; k < step && first + k < to.Length; k++)
                {
                    to[first + k] = from + ((until - from) * k / step);
                }
            }
        }
    }
}
