using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Receptor;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Scene;

/// <summary>Everything that is in one exposure.</summary>
internal sealed record ExposureScene
{
    public required Body Body { get; init; }

    public required BeamGeometry Geometry { get; init; }

    public required Technique Technique { get; init; }

    public required Collimation Collimation { get; init; }

    public SideMarker? Marker { get; init; }

    /// <summary>A rectangle left visible when the rest is masked afterwards: left, top, right, bottom in pixels; null for none.</summary>
    public (int Left, int Top, int Right, int Bottom)? Mask { get; init; }

    public required double TargetExposureIndex { get; init; }

    /// <summary>Scatter at the receptor over primary, for each mm of tissue crossed; effective, without source.</summary>
    public double ScatterPerMm { get; init; } = 0.008;

    /// <summary>Relative change of intensity per mm along y by the heel effect.</summary>
    public double HeelPerMm { get; init; } = 0.0005;

    public double ReceptorBlurMm { get; init; } = 0.11;

    /// <summary>Share of the quanta that count.</summary>
    public double DetectedShare { get; init; } = 0.55;

    /// <summary>Signal at which the receptor is full, in µGy.</summary>
    public double SaturationMicrogray { get; init; } = 120;

    public int Coarsening { get; init; } = 3;

    /// <summary>Width of the presentation's window over the anatomy's range of values.</summary>
    public double WindowWidthShare { get; init; } = 0.8;

    public double WindowDarkTail { get; init; } = 0.01;

    public double SharpeningShare { get; init; } = 0.3;

    public double SharpeningMm { get; init; } = 2.5;

    public required ulong Seed { get; init; }
}

/// <summary>The receptor's signal of one exposure, in µGy, with what is true of it.</summary>
internal sealed record SimulatedExposure(Raster<float> SignalMicrogray, PathLengths Paths, SceneTruth Truth);

/// <summary>Runs an exposure: path lengths, attenuation, collimator, scatter, focal spot, receptor.</summary>
internal static class ExposureSimulator
{
    public static SimulatedExposure Expose(ExposureScene scene, CancellationToken cancellation)
    {
        BeamGeometry geometry = scene.Geometry;
        PathLengths paths = new BodyProjector(geometry, Reach(scene), scene.Seed, cancellation).Project(scene.Body, scene.Coarsening);
        cancellation.ThrowIfCancellationRequested();
        Raster<float> primary = Primary(scene, paths);
        Raster<float> signal = AddScatter(scene, primary, paths);

        // The focal spot as seen at the part's height: sigma of a uniform spot of width P is P/√12.
        double height = 0.5 * new Posed(scene.Body.Placement, scene.Body.Skin).Bounds.Maximum.Z;
        double penumbraMm = PenumbraMm(scene.Technique.FocalSpotMm, geometry.SourceImageDistanceMm, height);
        Raster<float> clean = GaussianBlur.Blurred(signal, penumbraMm / Math.Sqrt(12) / geometry.SpacingMm);
        ReceptorNoise receptor = new(geometry.SpacingMm, scene.ReceptorBlurMm, scene.DetectedShare, 0.006);
        Raster<float> read = receptor.Read(clean, scene.Seed);
        Raster<float> twin = GaussianBlur.Blurred(clean, scene.ReceptorBlurMm / geometry.SpacingMm);
        cancellation.ThrowIfCancellationRequested();
        SceneTruth truth = Truth(scene, paths, read, twin);
        return new SimulatedExposure(read, paths, truth);
    }

    /// <summary>Kerma-area product of the beam, in dGy·cm²: the air kerma without patient and grid, summed over the collimator's opening (at half intensity) in the receptor's plane.</summary>
    /// <remarks>It is the same in every plane across the beam, since kerma falls and area grows with the square of the distance; so it stands for the reading of a meter at the tube. Air, scatter and the tail beyond the edge are left out.</remarks>
    internal static double KermaAreaProductDgyCm2(ExposureScene scene)
    {
        // 1 µGy·mm² is 10⁻⁵ dGy times 10⁻² cm².
        const double DgyCm2PerMicrograyMm2 = 1e-7;
        const int Steps = 64;
        BeamGeometry geometry = scene.Geometry;
        Collimation opening = scene.Collimation;
        float x0 = geometry.ReceptorX(opening.CentrePixels.X);
        float y0 = geometry.ReceptorY(opening.CentrePixels.Y);
        (double sin, double cos) = Math.SinCos(opening.TiltDegrees * Math.PI / 180);
        double share = 0;
        for (int down = 0; down < Steps; down++)
        {
            double v = (((down + 0.5) / Steps) - 0.5) * opening.HeightMm;
            for (int across = 0; across < Steps; across++)
            {
                double u = (((across + 0.5) / Steps) - 0.5) * opening.WidthMm;
                float x = x0 + (float)((u * cos) - (v * sin));
                float y = y0 + (float)((u * sin) + (v * cos));

                // Kerma at a point falls with the square of its distance from the source; the tilt of the plane does not enter.
                double obliquity = geometry.Obliquity(x, y);
                share += HeelShare(scene, y) / (obliquity * obliquity);
            }
        }

        return scene.Technique.IncidentKermaMicrogray * share / (Steps * Steps) * opening.WidthMm * opening.HeightMm * DgyCm2PerMicrograyMm2;
    }

    /// <summary>Penumbra at the receptor, in mm: P = F·OID/(SID − OID).</summary>
    internal static double PenumbraMm(double focalSpotMm, double sourceImageDistanceMm, double objectImageDistanceMm)
        => focalSpotMm * objectImageDistanceMm / (sourceImageDistanceMm - objectImageDistanceMm);

    /// <summary>Signal over the direct exposure's kerma, for one ray: the energy that arrives, in the calibration beam's kerma.</summary>
    internal static double[] SignalWeights(BeamSpectrum beam)
    {
        // The calibration beam of IEC 62494-1 is RQA5: 70 kV behind 21 mm Al added to 2.5 mm.
        double calibration = new BeamSpectrum(70, 23.5).EnergyPerMm2PerMicrogray();
        double[] weights = new double[beam.EnergiesKev.Length];
        for (int bin = 0; bin < weights.Length; bin++)
        {
            weights[bin] = beam.PhotonsPerMm2PerMicrogray[bin] * beam.EnergiesKev[bin] / calibration;
        }

        return weights;
    }

    /// <summary>The room that the beam and the tail beyond its edge cross: rays converge, so it is widest at the receptor.</summary>
    private static Box Reach(ExposureScene scene)
    {
        const float BeyondMm = 25;
        BeamGeometry geometry = scene.Geometry;
        PixelPoint[] corners = scene.Collimation.Corners(geometry);
        float left = Math.Max(geometry.ReceptorX(0), geometry.ReceptorX(corners.Min(corner => corner.X)) - BeyondMm);
        float right = Math.Min(geometry.ReceptorX(geometry.Columns), geometry.ReceptorX(corners.Max(corner => corner.X)) + BeyondMm);
        float top = Math.Max(geometry.ReceptorY(0), geometry.ReceptorY(corners.Min(corner => corner.Y)) - BeyondMm);
        float bottom = Math.Min(geometry.ReceptorY(geometry.Rows), geometry.ReceptorY(corners.Max(corner => corner.Y)) + BeyondMm);
        return new Box(new Vector3(left, top, 0), new Vector3(right, bottom, (float)geometry.SourceImageDistanceMm / 2));
    }

    private static Raster<float> Primary(ExposureScene scene, PathLengths paths)
    {
        BeamGeometry geometry = scene.Geometry;
        BeamSpectrum beam = scene.Technique.Beam();
        double[] weights = SignalWeights(beam);
        int bins = weights.Length;
        float[] soft = Coefficients(Material.SoftTissue);
        float[] fat = Coefficients(Material.Adipose);
        float[] bone = Coefficients(Material.CorticalBone);
        float[] lead = Coefficients(Material.Lead);
        float[] acrylic = Coefficients(Material.Acrylic);
        float[] share = [.. weights.Select(weight => (float)(weight * scene.Technique.DirectKermaMicrogray))];
        Raster<float> primary = new(geometry.Rows, geometry.Columns);
        Parallel.For(0, geometry.Rows, row =>
        {
            Span<float> line = primary.Row(row);
            ReadOnlySpan<float> softRow = paths.Soft.Row(row);
            ReadOnlySpan<float> fatRow = paths.Fat.Row(row);
            ReadOnlySpan<float> boneRow = paths.Bone.Row(row);
            float y = geometry.ReceptorY(row);
            float heel = HeelShare(scene, y);
            for (int column = 0; column < line.Length; column++)
            {
                float open = (float)scene.Collimation.Transmission(column, row, geometry.SpacingMm);
                (float leadMm, float acrylicMm) = MarkerPaths(scene, column, row);
                float sum = 0;
                for (int bin = 0; bin < bins; bin++)
                {
                    float depth = (soft[bin] * softRow[column]) + (fat[bin] * fatRow[column]) + (bone[bin] * boneRow[column]);
                    if (acrylicMm > 0)
                    {
                        depth += (lead[bin] * leadMm) + (acrylic[bin] * acrylicMm);
                    }

                    sum += share[bin] * MathF.Exp(-depth);
                }

                line[column] = sum * open * heel * geometry.IntensityOverCentre(geometry.ReceptorX(column), y);
            }
        });
        return primary;

        float[] Coefficients(Material material) => [.. beam.EnergiesKev.Select(energy => (float)material.LinearAttenuationPerMm(energy))];
    }

    /// <summary>Intensity over that under the source by the heel effect alone, at a place along y in mm.</summary>
    private static float HeelShare(ExposureScene scene, float y) => (float)Math.Max(0.3, 1 + (scene.HeelPerMm * y));

    private static (float LeadMm, float AcrylicMm) MarkerPaths(ExposureScene scene, int column, int row)
    {
        if (scene.Marker is not { Kind: TrueMarkerKind.Lead } marker)
        {
            return (0, 0);
        }

        double reach = marker.HeightMm * 1.3 / scene.Geometry.SpacingMm;
        if (Math.Abs(column - marker.CentrePixels.X) > reach || Math.Abs(row - marker.CentrePixels.Y) > reach)
        {
            return (0, 0);
        }

        (double stroke, double holder) = marker.DistancesMm(column, row, scene.Geometry.SpacingMm);
        double edge = scene.Geometry.SpacingMm;
        double inHolder = Math.Clamp(0.5 - (holder / edge), 0, 1);
        double inStroke = Math.Clamp(0.5 - ((stroke - (marker.HeightMm * 1.25 / 14)) / edge), 0, 1);
        return ((float)(inStroke * marker.LeadMm), (float)(Math.Max(inHolder, inStroke > 0 ? 1 : 0) * marker.HolderMm));
    }

    /// <summary>Scatter: a share of the primary that grows with the tissue crossed, spread over centimetres, also beyond the field.</summary>
    private static Raster<float> AddScatter(ExposureScene scene, Raster<float> primary, PathLengths paths)
    {
        BeamGeometry geometry = scene.Geometry;
        int cell = Math.Max(4, (int)Math.Round(3 / geometry.SpacingMm));
        int rows = ((geometry.Rows - 1) / cell) + 2;
        int columns = ((geometry.Columns - 1) / cell) + 2;
        Raster<float> source = new(rows, columns);
        float grid = scene.Technique.Grid ? 0.25f : 1;
        Parallel.For(0, rows, row =>
        {
            int r = Math.Min(geometry.Rows - 1, row * cell);
            for (int column = 0; column < columns; column++)
            {
                int c = Math.Min(geometry.Columns - 1, column * cell);
                float tissue = paths.Soft[r, c] + paths.Fat[r, c] + (1.8f * paths.Bone[r, c]);
                source[row, column] = primary[r, c] * tissue * (float)scene.ScatterPerMm * grid;
            }
        });
        double cellMm = cell * geometry.SpacingMm;
        Raster<float> near = GaussianBlur.Blurred(source, 18 / cellMm);
        Raster<float> far = GaussianBlur.Blurred(source, Math.Min(45 / cellMm, Math.Min(rows, columns) / 3.0));
        Raster<float> sum = new(geometry.Rows, geometry.Columns);
        Parallel.For(0, geometry.Rows, row =>
        {
            Span<float> line = sum.Row(row);
            ReadOnlySpan<float> from = primary.Row(row);
            int r = row / cell;
            float rs = (row - (r * cell)) / (float)cell;
            for (int column = 0; column < line.Length; column++)
            {
                int c = column / cell;
                float cs = (column - (c * cell)) / (float)cell;
                float upper = Mixed(r, c) + (cs * (Mixed(r, c + 1) - Mixed(r, c)));
                float lower = Mixed(r + 1, c) + (cs * (Mixed(r + 1, c + 1) - Mixed(r + 1, c)));
                line[column] = from[column] + upper + (rs * (lower - upper));
            }
        });
        return sum;

        float Mixed(int row, int column) => (0.65f * near[row, column]) + (0.35f * far[row, column]);
    }

    private static SceneTruth Truth(ExposureScene scene, PathLengths paths, Raster<float> read, Raster<float> twin)
    {
        const int Step = 4;
        BeamGeometry geometry = scene.Geometry;
        int rows = (geometry.Rows + Step - 1) / Step;
        int columns = (geometry.Columns + Step - 1) / Step;
        Raster<byte> mask = new(rows, columns);
        PixelPoint[] beam = scene.Collimation.Corners(geometry);
        List<PixelPoint> visible = PolygonClip.ToRectangle(beam, -0.5, -0.5, geometry.Columns - 0.5, geometry.Rows - 0.5);
        if (scene.Mask is { } opening)
        {
            visible = PolygonClip.ToRectangle(visible, opening.Left - 0.5, opening.Top - 0.5, opening.Right + 0.5, opening.Bottom + 0.5);
        }

        long field = 0;
        long anatomy = 0;
        long bony = 0;
        long saturated = 0;
        double kerma = 0;
        double noise = 0;
        double softSignal = 0;
        long softCount = 0;
        List<float> values = [];
        for (int row = 0; row < geometry.Rows; row += 2)
        {
            for (int column = 0; column < geometry.Columns; column += 2)
            {
                double inside = scene.Collimation.InsideMm(column, row, geometry.SpacingMm);
                if (inside < 0)
                {
                    continue;
                }

                bool isAnatomy = paths.Skin[row, column] >= 1;
                if (isAnatomy)
                {
                    kerma += twin[row, column];
                    values.Add(twin[row, column]);
                }

                if (scene.Mask is { } hole && (column < hole.Left || column > hole.Right || row < hole.Top || row > hole.Bottom))
                {
                    continue;
                }

                field++;
                if (!isAnatomy)
                {
                    continue;
                }

                anatomy++;
                saturated += read[row, column] >= scene.SaturationMicrogray ? 1 : 0;
                if (paths.BoneVolume[row, column] >= 1)
                {
                    bony++;
                }
                else if (paths.Skin[row, column] > 6 && inside > 4)
                {
                    // Squares of the relative noise: a mean over places of different exposure, as a reader sees it.
                    double relative = (read[row, column] - twin[row, column]) / twin[row, column];
                    noise += relative * relative;
                    softSignal += twin[row, column];
                    softCount++;
                }
            }
        }

        for (int row = 0; row < rows; row++)
        {
            int r = Math.Min(geometry.Rows - 1, (row * Step) + (Step / 2));
            for (int column = 0; column < columns; column++)
            {
                int c = Math.Min(geometry.Columns - 1, (column * Step) + (Step / 2));
                bool shown = scene.Mask is not { } hole || (c >= hole.Left && c <= hole.Right && r >= hole.Top && r <= hole.Bottom);
                mask[row, column] = shown && paths.Skin[r, c] >= 1 && scene.Collimation.InsideMm(c, r, geometry.SpacingMm) >= 0 ? (byte)1 : (byte)0;
            }
        }

        values.Sort();
        double mean = kerma / Math.Max(1, values.Count);
        double index = 100 * mean;
        return new SceneTruth
        {
            FieldOutline = visible,
            BeamOutline = beam,
            Sides = PolygonClip.Sides(scene, beam),
            AnatomyPercentOfField = 100.0 * anatomy / Math.Max(1, field),
            BonePercentOfAnatomy = 100.0 * bony / Math.Max(1, anatomy),
            AnatomyMask = mask,
            AnatomyMaskStep = Step,
            RelativeNoisePercent = 100 * Math.Sqrt(noise / Math.Max(1, softCount)),
            MeanKermaMicrogray = mean,
            MedianKermaMicrogray = values.Count == 0 ? 0 : values[values.Count / 2],
            ExposureIndex = index,
            TargetExposureIndex = scene.TargetExposureIndex,
            DeviationIndex = 10 * Math.Log10(index / scene.TargetExposureIndex),
            SaturatedPercentOfAnatomy = 100.0 * saturated / Math.Max(1, anatomy),
            Marker = scene.Marker is null ? null : new MarkerTruth(
                scene.Marker.Letter,
                scene.Marker.Kind,
                scene.Marker.CentrePixels,
                scene.Marker.RotationDegrees,
                scene.Marker.Mirrored,
                PolygonClip.Contains(visible, scene.Marker.CentrePixels)),
        };
    }
}
