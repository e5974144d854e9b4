using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Objects;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Receptor;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Scene;

/// <summary>Works out what is true of an exposure from the scene, its path lengths and its noise-free twin; no measure is used.</summary>
internal static class SceneTruthBuilder
{
    private const int MaskStep = 4;

    public static SceneTruth Build(
        SceneSetup setup, XRayBeam beam, PathLengths paths, IReadOnlyDictionary<string, Raster<float>> others, Raster<float> read, Raster<float> clean, Raster<float> expected, Raster<float> scatter, double middleHeightMm)
    {
        BeamGeometry geometry = setup.Geometry;
        Leaves leaves = beam.Leaves;
        SceneDocument scene = setup.Scene;
        PixelPoint[] outline = leaves.Corners(geometry);
        (int Left, int Top, int Right, int Bottom)? mask = MaskPixels(setup);
        List<PixelPoint> visible = PolygonClip.ToRectangle(outline, -0.5, -0.5, geometry.Columns - 0.5, geometry.Rows - 0.5);
        if (mask is { } opening)
        {
            visible = PolygonClip.ToRectangle(visible, opening.Left - 0.5, opening.Top - 0.5, opening.Right + 0.5, opening.Bottom + 0.5);
        }

        Tally tally = Count(setup, leaves, mask, paths, others, read, clean, expected, scatter, beam.SaturationMicrogray);
        double mean = tally.Kerma / Math.Max(1, tally.KermaCount);
        tally.Values.Sort();
        double median = tally.Values.Count == 0 ? 0 : tally.Values[tally.Values.Count / 2];
        double index = ExposureIndex.Of(median);
        double target = scene.Records.TargetExposureIndex;
        return new SceneTruth
        {
            FieldOutline = visible,
            FieldAreaMm2 = PolygonClip.Area(visible) * geometry.SpacingMm * geometry.SpacingMm,
            BeamOutline = outline,
            Sides = PolygonClip.Sides(geometry, outline, mask),
            AnatomyPercentOfField = 100.0 * tally.Anatomy / Math.Max(1, tally.Field),
            BonePercentOfAnatomy = 100.0 * tally.Bony / Math.Max(1, tally.Anatomy),
            AnatomyMask = AnatomyMask(geometry, leaves, mask, paths),
            AnatomyMaskStep = MaskStep,
            RelativeNoisePercent = 100 * Math.Sqrt(tally.Noise / Math.Max(1, tally.NoiseCount)),
            MeanKermaMicrogray = mean,
            MedianKermaMicrogray = median,
            ExposureIndex = index,
            TargetExposureIndex = target,
            DeviationIndex = index > 0 ? ExposureIndex.Deviation(index, target) : double.NegativeInfinity,
            SaturatedPercentOfAnatomy = 100.0 * tally.Saturated / Math.Max(1, tally.Anatomy),
            Marker = Marker(setup, visible),
            Landmarks = Landmarks(setup, visible),
            Artifacts = Artifacts(setup, beam, read),
            Sharpness = Sharpness(setup, beam, middleHeightMm),
            Dose = beam.Dose(),
            ScatterPercentOfSignal = 100 * tally.Scatter / Math.Max(1e-9, tally.Kerma),
            GridCutOffShare = beam.GridCutOffShare,
        };
    }

    /// <summary>What a mask leaves visible, in pixels, both ends included; null without one.</summary>
    public static (int Left, int Top, int Right, int Bottom)? MaskPixels(SceneSetup setup)
    {
        if (setup.Scene.Rendering.Mask is not { } mask)
        {
            return null;
        }

        double spacing = setup.Geometry.SpacingMm;
        PixelPoint centre = setup.PixelsFromMiddle(mask.CentreMm);
        return (
            Math.Max(0, (int)Math.Round(centre.X - (mask.WidthMm / 2 / spacing))),
            Math.Max(0, (int)Math.Round(centre.Y - (mask.HeightMm / 2 / spacing))),
            Math.Min(setup.Geometry.Columns - 1, (int)Math.Round(centre.X + (mask.WidthMm / 2 / spacing))),
            Math.Min(setup.Geometry.Rows - 1, (int)Math.Round(centre.Y + (mask.HeightMm / 2 / spacing))));
    }

    private static Tally Count(
        SceneSetup setup, Leaves leaves, (int Left, int Top, int Right, int Bottom)? mask, PathLengths paths, IReadOnlyDictionary<string, Raster<float>> others, Raster<float> read, Raster<float> clean, Raster<float> expected, Raster<float> scatter, double saturation)
    {
        BeamGeometry geometry = setup.Geometry;
        Tally tally = new();
        for (int row = 0; row < geometry.Rows; row += 2)
        {
            float y = geometry.ReceptorY(row);
            for (int column = 0; column < geometry.Columns; column += 2)
            {
                double inside = leaves.InsideMm(geometry.ReceptorX(column), y);
                if (inside < 0)
                {
                    continue;
                }

                bool isAnatomy = paths.Skin[row, column] >= 1;
                bool covered = isAnatomy && others.Values.Any(lengths => Math.Abs(lengths[row, column]) > 0.05f);
                if (isAnatomy && !covered)
                {
                    tally.Kerma += clean[row, column];
                    tally.KermaCount++;
                    tally.Scatter += scatter[row, column];
                    tally.Values.Add(clean[row, column]);
                }

                if (mask is { } hole && (column < hole.Left || column > hole.Right || row < hole.Top || row > hole.Bottom))
                {
                    continue;
                }

                tally.Field++;
                if (!isAnatomy)
                {
                    continue;
                }

                tally.Anatomy++;
                tally.Saturated += read[row, column] >= saturation ? 1 : 0;
                if (paths.BoneVolume[row, column] >= 1)
                {
                    tally.Bony++;
                }
                else if (paths.Skin[row, column] > 6 && inside > 4 && !covered && expected[row, column] > 0)
                {
                    // Squares of the relative noise: a mean over places of different exposure, as a reader sees it. Dead elements, gain steps and lag are faults, not chance.
                    double relative = (read[row, column] - expected[row, column]) / expected[row, column];
                    tally.Noise += relative * relative;
                    tally.NoiseCount++;
                }
            }
        }

        return tally;
    }

    private static Raster<byte> AnatomyMask(BeamGeometry geometry, Leaves leaves, (int Left, int Top, int Right, int Bottom)? mask, PathLengths paths)
    {
        int rows = (geometry.Rows + MaskStep - 1) / MaskStep;
        int columns = (geometry.Columns + MaskStep - 1) / MaskStep;
        Raster<byte> anatomy = new(rows, columns);
        for (int row = 0; row < rows; row++)
        {
            int r = Math.Min(geometry.Rows - 1, (row * MaskStep) + (MaskStep / 2));
            for (int column = 0; column < columns; column++)
            {
                int c = Math.Min(geometry.Columns - 1, (column * MaskStep) + (MaskStep / 2));
                bool shown = mask is not { } hole || (c >= hole.Left && c <= hole.Right && r >= hole.Top && r <= hole.Bottom);
                anatomy[row, column] = shown && paths.Skin[r, c] >= 1 && leaves.InsideMm(geometry.ReceptorX(c), geometry.ReceptorY(r)) >= 0 ? (byte)1 : (byte)0;
            }
        }

        return anatomy;
    }

    private static MarkerTruth? Marker(SceneSetup setup, List<PixelPoint> visible)
    {
        if (setup.Scene.Marker is not { } marker)
        {
            return null;
        }

        // A lead letter above the receptor is thrown outwards; a drawn one is where it was put.
        PixelPoint centre = marker.Kind == "lead"
            ? setup.Geometry.Project(SideMarkers.PoseOf(marker).Origin + setup.Middle)
            : setup.PixelsFromMiddle(marker.CentreMm);
        return new MarkerTruth(
            marker.Letter[0],
            marker.Kind == "lead" ? TrueMarkerKind.Lead : TrueMarkerKind.Annotation,
            centre,
            marker.TurnDegrees,
            marker.Mirrored,
            PolygonClip.Contains(visible, centre),
            marker.Word);
    }

    /// <summary>Landmarks of the placed part.</summary>
    /// <param name="setup">The scene, built up.</param>
    /// <param name="visible">Outline of the visible field, in pixels; null: the receptor.</param>
    internal static IReadOnlyList<LandmarkTruth> Landmarks(SceneSetup setup, List<PixelPoint>? visible)
    {
        if (setup.Body is not { } body)
        {
            return [];
        }

        return [.. body.Landmarks.Select(landmark =>
        {
            Vector3 place = body.Placement.ToOuter(landmark.Value);
            PixelPoint pixel = setup.Geometry.Project(place);
            return new LandmarkTruth(landmark.Key, pixel, place.Z, visible is null ? OnReceptor(setup, pixel) : PolygonClip.Contains(visible, pixel));
        })];
    }

    private static bool OnReceptor(SceneSetup setup, PixelPoint pixel)
        => pixel.X >= 0 && pixel.Y >= 0 && pixel.X <= setup.Geometry.Columns - 1 && pixel.Y <= setup.Geometry.Rows - 1;

    private static IReadOnlyList<ArtifactTruth> Artifacts(SceneSetup setup, XRayBeam beam, Raster<float> read)
    {
        List<ArtifactTruth> found = [];
        Pose placement = setup.Body?.Placement ?? Pose.Identity;
        foreach ((string kind, IReadOnlyList<BeamItem> items) in setup.ForeignObjects)
        {
            // Where the shadow of its surfaces lies: the middle and the area of their bounds' points on the receptor, each pixel once.
            if (kind is "slab")
            {
                continue;
            }

            (PixelPoint Centre, double AreaMm2)? shadow = Shadow(setup.Geometry, items, placement);
            if (shadow is { } seen)
            {
                found.Add(new ArtifactTruth("foreign-object", kind, seen.Centre, seen.AreaMm2, null));
            }
        }

        found.AddRange(beam.ReceptorArtifacts(read));
        return found;
    }

    private static (PixelPoint Centre, double AreaMm2)? Shadow(BeamGeometry geometry, IReadOnlyList<BeamItem> items, Pose placement)
    {
        Raster<byte> covered = new(geometry.Rows, geometry.Columns);
        MeshProjector projector = new(geometry);
        foreach (BeamItem item in items.Where(item => item.Share > 0))
        {
            if (projector.Chords(item.Mesh, item.MovesWithPart ? item.Pose.Within(placement) : item.Pose, withHeights: false) is not { } chords)
            {
                continue;
            }

            for (int row = 0; row < chords.LengthsMm.Rows; row++)
            {
                for (int column = 0; column < chords.LengthsMm.Columns; column++)
                {
                    if (chords.LengthsMm[row, column] > 0.02f)
                    {
                        covered[chords.Top + row, chords.Left + column] = 1;
                    }
                }
            }
        }

        double x = 0;
        double y = 0;
        long count = 0;
        for (int row = 0; row < covered.Rows; row++)
        {
            ReadOnlySpan<byte> line = covered.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                if (line[column] != 0)
                {
                    x += column;
                    y += row;
                    count++;
                }
            }
        }

        return count == 0 ? null : (new PixelPoint(X: x / count, Y: y / count), count * geometry.SpacingMm * geometry.SpacingMm);
    }

    private static SharpnessTruth Sharpness(SceneSetup setup, XRayBeam beam, double middleHeightMm)
    {
        double spot = beam.FocalSpotSigmaMm(middleHeightMm);
        double receptor = beam.ReceptorSigmaMm;
        double xx = (receptor * receptor) + (spot * spot);
        double yy = xx;
        double xy = 0;
        double way = 0;
        if (setup.Scene.Motion is { } motion && setup.Body is { } body)
        {
            // The middle of the part moves along a straight line at constant speed: variance L²/12 along it.
            Vector3 middle = body.Placement.ToOuter(body.Landmarks[setup.View!.Centring]);
            Pose end = SceneSimulator.Moved(setup, body.Placement, motion.ShiftMm[0], motion.ShiftMm[1], motion.TurnDegrees, motion.LeanDegrees, 1);
            PixelPoint from = setup.Geometry.Project(middle);
            PixelPoint to = setup.Geometry.Project(end.ToOuter(body.Landmarks[setup.View.Centring]));
            double dx = (to.X - from.X) * setup.Geometry.SpacingMm;
            double dy = (to.Y - from.Y) * setup.Geometry.SpacingMm;
            way = Math.Sqrt((dx * dx) + (dy * dy));
            xx += dx * dx / 12;
            yy += dy * dy / 12;
            xy += dx * dy / 12;
        }

        // Principal axes of the blur's covariance.
        double half = (xx + yy) / 2;
        double spread = Math.Sqrt((0.25 * (xx - yy) * (xx - yy)) + (xy * xy));
        double direction = 0.5 * Math.Atan2(2 * xy, xx - yy) * 180 / Math.PI;
        return new SharpnessTruth(
            Math.Sqrt(half - spread),
            Math.Sqrt((half + spread) / (half - spread)),
            spread < 1e-9 ? 0 : (direction + 180) % 180,
            way);
    }

    private sealed class Tally
    {
        public long Field { get; set; }

        public long Anatomy { get; set; }

        public long Bony { get; set; }

        public long Saturated { get; set; }

        public double Kerma { get; set; }

        public long KermaCount { get; set; }

        public double Scatter { get; set; }

        public double Noise { get; set; }

        public long NoiseCount { get; set; }

        public List<float> Values { get; } = [];
    }
}
