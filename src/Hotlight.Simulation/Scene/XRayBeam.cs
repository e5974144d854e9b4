using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Grid;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Receptor;
using Hotlight.Simulation.Scatter;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Scene;

/// <summary>Energies of a beam and the signal that each gives.</summary>
/// <param name="EnergiesKev">Energies, in keV, rising.</param>
/// <param name="Signal">Signal of the receptor at each energy, in µGy of the calibration beam, per mAs at 1 m with nothing in the beam.</param>
internal sealed record BeamQuality(double[] EnergiesKev, double[] Signal);

/// <summary>The beam of a scene: tube, collimator, grid and receptor, wired together.</summary>
internal sealed class XRayBeam
{
    /// <summary>Number of energies that the beam is computed at.</summary>
    public const int Energies = 25;

    /// <summary>Steps of the water that hardens a quick picture's beam before the grid, in mm.</summary>
    private const double GridStepMm = 10;

    private readonly SceneDocument scene;
    private readonly SceneSetup setup;
    private readonly BeamGeometry geometry;
    private readonly TubeSpectrum spectrum;
    private readonly BeamEnergies energies;
    private readonly HeelEffect heel;
    private readonly Vector3 along;
    private readonly Vector3 anode;
    private readonly ImageReceptor receptor;
    private readonly ReceptorFaults faults;
    private readonly ReceptorResponse response;
    private readonly AntiScatterGrid? grid;
    private readonly GridTransmission? through;
    private readonly double thicknessMm;
    private Raster<float>? water;

    /// <param name="setup">The scene in the room.</param>
    /// <param name="bins">Number of energies.</param>
    public XRayBeam(SceneSetup setup, int bins = Energies)
    {
        this.setup = setup;
        scene = setup.Scene;
        geometry = setup.Geometry;
        SceneTube settings = scene.Tube;
        FocalSpot spot = new(Math.Max(1e-3, settings.FocalSpotMm), Math.Max(1e-3, settings.FocalSpotMm));
        XRayTube tube = new()
        {
            AnodeAngleDegrees = settings.AnodeAngleDegrees,
            RipplePercent = settings.RipplePercent,
            Filtration = [.. settings.Filters.Select(filter => new FilterLayer(Material.ByName(filter.Material), filter.ThicknessMm))],
            FocalSpot = spot,
        };
        (spectrum, heel) = Emission.Of(tube, settings.TubeVoltageKvp);
        energies = spectrum.Binned(bins);
        along = Vector3.Normalize(-geometry.Source);
        Vector3 side = settings.AnodeSide switch
        {
            "top" => -Vector3.UnitY,
            "bottom" => Vector3.UnitY,
            "left" => -Vector3.UnitX,
            _ => Vector3.UnitX,
        };
        anode = Vector3.Normalize(side - (Vector3.Dot(side, along) * along));
        Leaves = new Leaves(geometry, scene.Collimator, (settings.FocalSpotMm, settings.FocalSpotMm));
        (receptor, faults) = ReceptorOf(scene, geometry);
        response = receptor.ResponseTo(energies);
        Quality = new BeamQuality([.. energies.EnergiesKev], response.SignalMicrograyPerMas());
        thicknessMm = Math.Max(0, setup.HighestZ() - setup.Middle.Z - (scene.Part?.LiftMm ?? 0));
        if (scene.Grid is { } asked)
        {
            // What falls on the grid has come through the part; its direction across the strips is counted from the receptor's middle.
            bool down = asked.Strips == "down";
            grid = new AntiScatterGrid
            {
                Ratio = asked.Ratio,
                LinesPerCm = asked.LinesPerCm,
                FocalDistanceMm = asked.FocalDistanceMm ?? double.PositiveInfinity,
                OrientationDegrees = down ? 0 : 90,
                Moving = !asked.Stationary,
                CentreMm = asked.OffCentreMm + (down ? setup.Middle.X : -setup.Middle.Y),
                TiltDegrees = asked.TiltDegrees,
                UpsideDown = asked.UpsideDown,
                ReceptorGapMm = Math.Min(10, scene.Receptor.GapMm / 2),
            };

            // A part that is turned a little is as thick as before to the grid.
            double waterMm = setup.IsQuick ? GridStepMm * Math.Round(0.7 * thicknessMm / GridStepMm) : 0.7 * thicknessMm;
            through = grid.In(
                spectrum.Behind(new FilterLayer(Material.Water, waterMm)).Binned(bins),
                geometry,
                setup.IsQuick ? FormattableString.Invariant($"{Emission.KeyOf(tube, settings.TubeVoltageKvp)}/{waterMm:R}/{bins}") : null);
        }
    }

    public Leaves Leaves { get; }

    public BeamQuality Quality { get; }

    /// <summary>Signal at which the receptor is full, in µGy.</summary>
    public double SaturationMicrogray => receptor.FullWellMicrogray;

    /// <summary>Sigma of the Gaussian of equal second moment near the axis of the receptor's spread and aperture, in mm: that with the presampled MTF's half-value frequency, σ = √(2·ln 2)/(2π·f).</summary>
    public double ReceptorSigmaMm
    {
        get
        {
            double low = 0.01;
            double high = 20;
            for (int step = 0; step < 60; step++)
            {
                double middle = (low + high) / 2;
                (low, high) = receptor.Blur.PresampledMtf(middle, receptor.SpacingMm) > 0.5 ? (middle, high) : (low, middle);
            }

            return Math.Sqrt(2 * Math.Log(2)) / (2 * Math.PI * low);
        }
    }

    /// <summary>Least primary transmission of the grid within the field over its best; 1 without a grid.</summary>
    public double GridCutOffShare { get; private set; } = 1;

    /// <summary>What each pixel would get with nothing in the beam and no grid, in µGy of the calibration beam.</summary>
    public Raster<float> Illumination()
    {
        double centre = Quality.Signal.Sum() * scene.Tube.ExposureMas * Math.Pow(1000 / scene.Tube.SourceImageDistanceMm, 2);
        Raster<float> light = new(geometry.Rows, geometry.Columns);
        Parallel.For(0, geometry.Rows, row =>
        {
            float y = geometry.ReceptorY(row);
            Span<float> line = light.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                float x = geometry.ReceptorX(column);
                line[column] = (float)(centre * heel.RelativeKermaAt(TowardsAnodeDegrees(x, y))) * geometry.IntensityOverCentre(x, y) * Leaves.Transmission(x, y);
            }
        });
        return light;
    }

    /// <summary>The same as <see cref="Illumination"/> with heel, distance and incidence by straight lines between every 16th pixel: within 0.01 %.</summary>
    public Raster<float> QuickIllumination()
    {
        const int Step = 16;
        float centre = (float)(Quality.Signal.Sum() * scene.Tube.ExposureMas * Math.Pow(1000 / scene.Tube.SourceImageDistanceMm, 2));
        Raster<float> nodes = new(((geometry.Rows - 1) / Step) + 2, ((geometry.Columns - 1) / Step) + 2);
        Parallel.For(0, nodes.Rows, row =>
        {
            float y = geometry.ReceptorY(row * Step);
            Span<float> line = nodes.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                float x = geometry.ReceptorX(column * Step);
                line[column] = centre * (float)heel.RelativeKermaAt(TowardsAnodeDegrees(x, y)) * geometry.IntensityOverCentre(x, y);
            }
        });
        Raster<float> light = new(geometry.Rows, geometry.Columns);
        Parallel.For(0, geometry.Rows, row =>
        {
            float y = geometry.ReceptorY(row);
            int node = row / Step;
            float down = (row - (node * Step)) / (float)Step;
            ReadOnlySpan<float> upper = nodes.Row(node);
            ReadOnlySpan<float> lower = nodes.Row(node + 1);
            Span<float> line = light.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                int left = column / Step;
                float across = (column - (left * Step)) / (float)Step;
                float here = upper[left] + (down * (lower[left] - upper[left]));
                float next = upper[left + 1] + (down * (lower[left + 1] - upper[left + 1]));
                line[column] = (here + (across * (next - here))) * Leaves.Transmission(geometry.ReceptorX(column), y);
            }
        });
        return light;
    }

    /// <summary>Scatter at the receptor without a grid, in the primary's unit.</summary>
    /// <param name="primary">Primary radiation without a grid, in µGy.</param>
    /// <param name="part">Lengths in the part, in mm.</param>
    /// <param name="others">Lengths in everything else, in mm.</param>
    public Raster<float> Scatter(Raster<float> primary, PathLengths part, IReadOnlyDictionary<string, Raster<float>> others)
    {
        // Mass crossed, as water of the same mass: scatter goes with the electrons, whose number per gram hardly differs.
        (double Density, Raster<float> Lengths)[] more = [.. others.Where(other => other.Key != "lead").Select(other => (Material.ByName(other.Key).DensityGramPerCm3, other.Value))];
        Raster<float> water = new(primary.Rows, primary.Columns);
        float soft = (float)Material.SoftTissue.DensityGramPerCm3;
        float fat = (float)Material.Adipose.DensityGramPerCm3;
        float bone = (float)Material.CorticalBone.DensityGramPerCm3;
        Parallel.For(0, water.Rows, row =>
        {
            ReadOnlySpan<float> softRow = part.Soft.Row(row);
            ReadOnlySpan<float> fatRow = part.Fat.Row(row);
            ReadOnlySpan<float> boneRow = part.Bone.Row(row);
            Span<float> to = water.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = (soft * softRow[column]) + (fat * fatRow[column]) + (bone * boneRow[column]);
            }

            foreach ((double density, Raster<float> lengths) in more)
            {
                ReadOnlySpan<float> from = lengths.Row(row);
                for (int column = 0; column < to.Length; column++)
                {
                    to[column] = MathF.Max(0, to[column] + ((float)density * from[column]));
                }
            }
        });
        this.water = water;
        double gap = scene.Receptor.GapMm + (scene.Part?.LiftMm ?? 0);
        return ScatterField.Behind(primary, water, ScatterKernel.Of(energies, gap), geometry.SpacingMm, setup.IsQuick ? 2 : 4);
    }

    /// <summary>Primary and scatter behind the grid, in place; without a grid nothing changes.</summary>
    public void ThroughGrid(Raster<float> primary, Raster<float> scatter)
    {
        if (through is null)
        {
            return;
        }

        Raster<float> shares = through.Primary();
        float scattered = (float)through.ScatterTransmission;
        Parallel.For(0, primary.Rows, row =>
        {
            Span<float> to = primary.Row(row);
            Span<float> more = scatter.Row(row);
            ReadOnlySpan<float> share = shares.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] *= share[column];
                more[column] *= scattered;
            }
        });
        double least = 1;
        for (int row = 0; row < geometry.Rows; row += 8)
        {
            for (int column = 0; column < geometry.Columns; column += 8)
            {
                float x = geometry.ReceptorX(column);
                float y = geometry.ReceptorY(row);
                if (Leaves.InsideMm(x, y) > 0)
                {
                    least = Math.Min(least, through.PrimaryAt(x, y));
                }
            }
        }

        GridCutOffShare = least / through.AlignedPrimaryTransmission;
    }

    /// <summary>The signal blurred by the focal spot as it is seen at a height over the receptor, a new block.</summary>
    public Raster<float> BlurredByFocalSpot(Raster<float> signal, double heightMm)
    {
        double penumbra = PenumbraMm(heightMm) / geometry.SpacingMm;
        return FocalSpotBlur.Spread(signal, penumbra, penumbra);
    }

    /// <summary>Sigma at the receptor of a uniform focal spot's penumbra P for an edge at a height: P/√12, in mm.</summary>
    public double FocalSpotSigmaMm(double heightMm) => PenumbraMm(heightMm) / Math.Sqrt(12);

    /// <summary>What the receptor reads, the same without noise and faults, and what it would read on average: faults without noise; in µGy of the calibration beam.</summary>
    /// <param name="signal">Signal before the receptor's spread, in µGy.</param>
    /// <param name="seed">Seed of the noise.</param>
    public (Raster<float> Read, Raster<float> Clean, Raster<float> Expected) Read(Raster<float> signal, ulong seed)
    {
        Raster<float> clean = receptor.ReadWithoutNoise(signal);
        Raster<float>? before = faults.LagShare > 0 ? Earlier(clean) : null;
        Raster<float> expected = clean;
        if (faults.GainStepPercent > 0 || before is not null || faults.DeadElementShare > 0 || faults.DeadColumns.Count > 0 || faults.DeadRows.Count > 0)
        {
            expected = new Raster<float>(clean.Rows, clean.Columns);
            for (int row = 0; row < clean.Rows; row++)
            {
                clean.Row(row).CopyTo(expected.Row(row));
            }

            expected = ReceptorReadOut.Finish(receptor with { ElectronicNoiseMicrogray = 0 }, expected, seed, faults, before);
        }

        return (water is null
            ? receptor.Read(signal, response.QuantaPerMicrogray(), seed, faults, before)
            : receptor.Read(signal, Quanta(water), seed, faults, before), clean, expected);
    }

    /// <summary>What the receptor reads and nothing else, in µGy of the calibration beam; with noise it is the same as <see cref="Read"/> gives.</summary>
    /// <param name="signal">Signal before the receptor's spread, in µGy.</param>
    /// <param name="seed">Seed of the noise.</param>
    /// <param name="noise">False: the same without noise and faults.</param>
    public Raster<float> ReadOnly(Raster<float> signal, ulong seed, bool noise)
    {
        if (!noise)
        {
            return receptor.ReadWithoutNoise(signal);
        }

        Raster<float>? before = faults.LagShare > 0 ? Earlier(receptor.ReadWithoutNoise(signal)) : null;
        return water is null
            ? receptor.Read(signal, response.QuantaPerMicrogray(), seed, faults, before)
            : receptor.Read(signal, Quanta(water), seed, faults, before);
    }

    /// <summary>What is wrong with grid and receptor, as the measurement document names it.</summary>
    /// <param name="read">What the receptor read: a dead element reads exactly 0.</param>
    public IEnumerable<ArtifactTruth> ReceptorArtifacts(Raster<float> read)
    {
        double spacing = geometry.SpacingMm;
        if (grid is { Moving: false } && through is not null)
        {
            yield return new ArtifactTruth("grid-lines", null, null, null, through.AliasedLineFrequencyPerMm(spacing));
        }

        if (scene.SecondExposure is not null && scene.Part is not null)
        {
            yield return new ArtifactTruth("double-exposure", null, null, null, null);
        }

        if (scene.Receptor.DeadElements > 0)
        {
            // They are scattered by chance, so their number is that asked for only on average.
            int lines = (faults.DeadColumns.Distinct().Count() * geometry.Rows) + (faults.DeadRows.Distinct().Count() * geometry.Columns)
                - (faults.DeadColumns.Distinct().Count() * faults.DeadRows.Distinct().Count());
            yield return new ArtifactTruth("dead-pixels", null, null, (read.Samples.Count(0f) - lines) * spacing * spacing, null);
        }

        foreach (int column in faults.DeadColumns)
        {
            yield return new ArtifactTruth("dead-line", "column", new PixelPoint(X: column, Y: (geometry.Rows - 1) / 2.0), geometry.Rows * spacing * spacing, null);
        }

        foreach (int row in faults.DeadRows)
        {
            yield return new ArtifactTruth("dead-line", "row", new PixelPoint(X: (geometry.Columns - 1) / 2.0, Y: row), geometry.Columns * spacing * spacing, null);
        }

        if (faults.GainStepPercent > 0)
        {
            for (int column = faults.BlockColumns; column < geometry.Columns; column += faults.BlockColumns)
            {
                yield return new ArtifactTruth("gain-step", null, new PixelPoint(X: column - 0.5, Y: (geometry.Rows - 1) / 2.0), null, null);
            }
        }
    }

    /// <summary>Dose of the exposure, a second one on the same receptor included: on the central ray at the height of the part's highest skin, and over the opening.</summary>
    public DoseTruth Dose()
    {
        double output = spectrum.KermaMicrograyPerMas;
        double mas = scene.Tube.ExposureMas * (1 + (scene.SecondExposure?.ExposureShare ?? 0));
        double distance = geometry.Source.Length();
        double atSkin = distance * (1 - (Math.Min(setup.HighestZ(), 0.9f * geometry.Source.Z) / geometry.Source.Z));
        double incident = AirKerma.IncidentMicrogray(output, mas, atSkin);
        double side = Math.Sqrt(scene.Collimator.WidthMm * scene.Collimator.HeightMm) * atSkin / distance;
        double backscatter = setup.Body is null ? 1 : Backscatter.FactorOf(scene.Tube.TubeVoltageKvp, spectrum.FirstHalfValueLayerMm(), side);

        // The product is the same in every plane: kerma falls as the area grows. Steps over the opening at the source-image distance; kerma at a point falls with the square of its own distance.
        const int Steps = 48;
        double sum = 0;
        for (int down = 0; down < Steps; down++)
        {
            for (int across = 0; across < Steps; across++)
            {
                double u = (across + 0.5) / Steps;
                double v = (down + 0.5) / Steps;
                (double angle, double farther) = Leaves.Ray((2 * u) - 1, (2 * v) - 1, anode);
                sum += heel.RelativeKermaAt(angle) / (farther * farther);
            }
        }

        double mean = AirKerma.IncidentMicrogray(output, mas, distance) * sum / (Steps * Steps);
        return new DoseTruth(incident, AirKerma.EntranceSurfaceMicrogray(incident, backscatter), AirKerma.AreaProductDgyCm2(mean, scene.Collimator.WidthMm * scene.Collimator.HeightMm));
    }

    private static (ImageReceptor Receptor, ReceptorFaults Faults) ReceptorOf(SceneDocument scene, BeamGeometry geometry)
    {
        SceneReceptor asked = scene.Receptor;
        ImageReceptor receptor = asked.Kind switch
        {
            "selenium" => ImageReceptor.SeleniumPanel(asked.SpacingMm),
            "storage-phosphor" => ImageReceptor.StoragePlate(asked.SpacingMm),
            _ => ImageReceptor.CaesiumIodidePanel(asked.SpacingMm),
        };
        SplitMix random = new(scene.Seed ^ 0xFA17UL);
        List<int> rows = [];
        List<int> columns = [];
        for (int line = 0; line < asked.DeadLines; line++)
        {
            if (random.NextUniform() < 0.5)
            {
                columns.Add((int)(random.NextUniform() * geometry.Columns));
            }
            else
            {
                rows.Add((int)(random.NextUniform() * geometry.Rows));
            }
        }

        return (receptor, new ReceptorFaults
        {
            GainStepPercent = asked.GainStepPercent,
            BlockColumns = Math.Max(1, (int)Math.Round(36 / asked.SpacingMm)),
            DeadElementShare = asked.DeadElements / (double)((long)geometry.Rows * geometry.Columns),
            DeadColumns = columns,
            DeadRows = rows,
            LagShare = asked.LagPercent / 100,
            ReceptorSeed = scene.Seed,
        });
    }

    // The earlier exposure that lag is of: the same, mirrored and moved by an eighth of the receptor.
    private static Raster<float> Earlier(Raster<float> clean)
    {
        Raster<float> earlier = new(clean.Rows, clean.Columns);
        int shift = clean.Rows / 8;
        for (int row = 0; row < clean.Rows; row++)
        {
            ReadOnlySpan<float> from = clean.Row((row + shift) % clean.Rows);
            Span<float> to = earlier.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = from[to.Length - 1 - column];
            }
        }

        return earlier;
    }

    private double PenumbraMm(double heightMm)
        => FocalSpot.PenumbraMm(scene.Tube.FocalSpotMm, geometry.Source.Z, Math.Clamp(heightMm, 0, 0.9 * geometry.Source.Z));

    // Quanta for one µGy fall slowly as the beam hardens: a table in steps of 20 mm and straight lines between.
    private Raster<float> Quanta(Raster<float> waterMm)
    {
        const int StepMm = 20;
        float[] table = [.. Enumerable.Range(0, 32).Select(step => (float)response.QuantaPerMicrogray(step * StepMm))];
        Raster<float> quanta = new(waterMm.Rows, waterMm.Columns);
        Parallel.For(0, quanta.Rows, row =>
        {
            ReadOnlySpan<float> from = waterMm.Row(row);
            Span<float> to = quanta.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                float place = Math.Clamp(from[column] / StepMm, 0, table.Length - 1.001f);
                int step = (int)place;
                to[column] = table[step] + ((place - step) * (table[step + 1] - table[step]));
            }
        });
        return quanta;
    }

    private double TowardsAnodeDegrees(float x, float y)
    {
        Vector3 ray = new(x - geometry.Source.X, y - geometry.Source.Y, -geometry.Source.Z);
        return Math.Atan2(Vector3.Dot(ray, anode), Vector3.Dot(ray, along)) * 180 / Math.PI;
    }

    /// <summary>Spectra and heel curves that were computed; a series and a preview ask for the same ones.</summary>
    private static class Emission
    {
        private static readonly System.Collections.Concurrent.ConcurrentDictionary<string, Lazy<(TubeSpectrum Spectrum, HeelEffect Heel)>> Known = new(StringComparer.Ordinal);

        public static string KeyOf(XRayTube tube, double tubeVoltageKvp)
            => FormattableString.Invariant($"{tubeVoltageKvp:R}/{tube.AnodeAngleDegrees:R}/{tube.RipplePercent:R}/") + string.Join('+', tube.Filtration.Select(layer => FormattableString.Invariant($"{layer.Material.Name} {layer.ThicknessMm:R}")));

        public static (TubeSpectrum Spectrum, HeelEffect Heel) Of(XRayTube tube, double tubeVoltageKvp)
        {
            string key = KeyOf(tube, tubeVoltageKvp);
            if (Known.Count > 256)
            {
                Known.Clear();
            }

            return Known.GetOrAdd(key, _ => new Lazy<(TubeSpectrum, HeelEffect)>(() => (tube.Spectrum(tubeVoltageKvp), tube.Heel(tubeVoltageKvp)))).Value;
        }
    }
}
