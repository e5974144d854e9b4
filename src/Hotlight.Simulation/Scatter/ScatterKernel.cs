using System.Globalization;
using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Tube;

namespace Hotlight.Simulation.Scatter;

/// <summary>How much scatter a thin beam throws on the receptor, and how far, behind water of a thickness.</summary>
/// <remarks>
/// <para>A sum of seven round Gaussians whose shares depend on thickness, energy and air gap: the superposition of thin beams of [seibert-boone-1988] with shares fitted to a Monte Carlo of water slabs
/// (data/physics/water-slabs, made for this project with xraylib's cross-sections). See docs/methods/scatter.md.</para>
/// <para>Holds for 0 to 400 mm of water, 20 to 150 keV, air gaps of 0 to 300 mm; beyond them the ends are kept. Parallel beam, slab without sides, receptor that absorbs all energy.</para>
/// </remarks>
internal sealed class ScatterKernel
{
    /// <summary>Standard deviations of the Gaussians in the receptor's plane, in mm.</summary>
    public static readonly IReadOnlyList<double> SigmasMm = [3, 8, 18, 40, 85, 180, 360];

    private const double StepMm = 5;

    private static readonly Lazy<Slabs> Shipped = new(Slabs.Load);

    private readonly float[][] shares;

    private ScatterKernel(float[][] shares) => this.shares = shares;

    /// <summary>The kernel of a beam behind an air gap.</summary>
    /// <param name="beam">The beam before the part.</param>
    /// <param name="airGapMm">From the part's exit surface to the receptor, in mm, 0 or more.</param>
    public static ScatterKernel Of(BeamEnergies beam, double airGapMm)
    {
        Preconditions.Within(airGapMm, 0, 10_000);
        int steps = (int)(Slabs.HighestMm / StepMm) + 1;
        float[][] shares = new float[steps][];
        for (int step = 0; step < steps; step++)
        {
            double thickness = step * StepMm;
            double[] sum = new double[SigmasMm.Count];
            double primary = 0;
            for (int k = 0; k < beam.EnergiesKev.Count; k++)
            {
                double energy = beam.EnergiesKev[k];

                // Weight of an energy: what of it gets through as primary.
                double weight = beam.PhotonsPerMm2PerMas[k] * energy * Math.Exp(-Material.Water.LinearAttenuationPerMm(energy) * thickness);
                primary += weight;
                double[] part = Shipped.Value.At(thickness, energy, airGapMm);
                for (int j = 0; j < sum.Length; j++)
                {
                    sum[j] += weight * part[j];
                }
            }

            shares[step] = [.. sum.Select(value => (float)(value / primary))];
        }

        return new ScatterKernel(shares);
    }

    /// <summary>Scatter over primary that each Gaussian carries, behind a thickness of water.</summary>
    /// <param name="waterMm">Thickness, in mm.</param>
    /// <param name="into">Seven values, in the order of <see cref="SigmasMm"/>.</param>
    public void SharesAt(float waterMm, Span<float> into)
    {
        float place = Math.Clamp(waterMm / (float)StepMm, 0, shares.Length - 1.001f);
        int k = (int)place;
        float part = place - k;
        float[] low = shares[k];
        float[] high = shares[k + 1];
        for (int j = 0; j < into.Length; j++)
        {
            into[j] = low[j] + ((high[j] - low[j]) * part);
        }
    }

    /// <summary>Scatter over primary at the centre of a round field, in energy at the receptor.</summary>
    /// <param name="waterMm">Thickness of water, in mm.</param>
    /// <param name="radiusMm">Radius of the field at the receptor, in mm; a square of side s counts as a circle of radius s/√π.</param>
    public double RatioAtCentre(double waterMm, double radiusMm)
    {
        Span<float> now = stackalloc float[SigmasMm.Count];
        SharesAt((float)waterMm, now);
        double ratio = 0;
        for (int j = 0; j < now.Length; j++)
        {
            ratio += now[j] * (1 - Math.Exp(-radiusMm * radiusMm / (2 * SigmasMm[j] * SigmasMm[j])));
        }

        return ratio;
    }

    /// <summary>The shipped table, with interpolation.</summary>
    private sealed class Slabs
    {
        public const double HighestMm = 400;

        private readonly double[] thicknesses;
        private readonly double[] energies;
        private readonly double[] gaps;
        private readonly Dictionary<(double, double, double), double[]> rows;

        private Slabs(Dictionary<(double Thickness, double Energy, double Gap), double[]> rows)
        {
            this.rows = rows;
            thicknesses = [.. rows.Keys.Select(key => key.Thickness).Distinct().Order()];
            energies = [.. rows.Keys.Select(key => key.Energy).Distinct().Order()];
            gaps = [.. rows.Keys.Select(key => key.Gap).Distinct().Order()];
        }

        public static Slabs Load()
        {
            using Stream stream = typeof(ScatterKernel).Assembly.GetManifestResourceStream("scatter-kernel.tsv")
                ?? throw new InvalidOperationException("The table of scatter is not in the assembly.");
            using StreamReader reader = new(stream);
            reader.ReadLine();
            Dictionary<(double, double, double), double[]> rows = [];
            while (reader.ReadLine() is { } line)
            {
                double[] cells = [.. line.Split('\t').Select(cell => double.Parse(cell, NumberStyles.Float, CultureInfo.InvariantCulture))];
                rows.Add((cells[0], cells[1], cells[2]), cells[3..]);
            }

            return new Slabs(rows);
        }

        // Straight lines in thickness (towards 0 at 0), energy and gap.
        public double[] At(double thicknessMm, double energyKev, double gapMm)
        {
            double[] sum = new double[SigmasMm.Count];
            (int t, double tPart) = Place(thicknesses, thicknessMm);
            (int e, double ePart) = Place(energies, energyKev);
            (int g, double gPart) = Place(gaps, gapMm);
            double thin = Math.Min(1, thicknessMm / thicknesses[0]);
            for (int corner = 0; corner < 8; corner++)
            {
                double weight = (((corner & 1) == 0) ? 1 - tPart : tPart) * (((corner & 2) == 0) ? 1 - ePart : ePart) * (((corner & 4) == 0) ? 1 - gPart : gPart);
                double[] row = rows[(thicknesses[t + (corner & 1)], energies[e + ((corner >> 1) & 1)], gaps[g + (corner >> 2)])];
                for (int j = 0; j < sum.Length; j++)
                {
                    sum[j] += thin * weight * row[j];
                }
            }

            return sum;
        }

        private static (int Index, double Part) Place(double[] grid, double value)
        {
            double held = Math.Clamp(value, grid[0], grid[^1]);
            int k = 0;
            while (k < grid.Length - 2 && held > grid[k + 1])
            {
                k++;
            }

            return (k, (held - grid[k]) / (grid[k + 1] - grid[k]));
        }
    }
}
