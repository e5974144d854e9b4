using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Objects;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Scene;

/// <summary>Path lengths of everything in the beam, for one position of the part.</summary>
/// <param name="Part">Lengths in the part.</param>
/// <param name="Others">Lengths in other materials by name; a hollow takes away.</param>
internal sealed record BeamPaths(PathLengths Part, IReadOnlyDictionary<string, Raster<float>> Others);

/// <summary>The primary radiation: what comes straight from the focal spot through everything in the beam.</summary>
internal sealed class PrimaryBeam(BeamGeometry geometry, BeamQuality beam, CancellationToken cancellation)
{
    /// <summary>Share of the sum over energies per pixel, Beer and Lambert: Σ w(E)·exp(−Σ μ(E)·t).</summary>
    /// <param name="paths">Lengths in mm.</param>
    /// <param name="illumination">What each pixel would get with nothing in the beam, in µGy; the sum multiplies it.</param>
    /// <param name="share">Factor of the result, for a slice of the exposure.</param>
    /// <param name="sum">Rows × columns, in µGy; added to.</param>
    public void Add(BeamPaths paths, Raster<float> illumination, float share, Raster<float> sum)
    {
        double total = beam.Signal.Sum();
        int energies = beam.EnergiesKev.Length;
        float[] weights = [.. beam.Signal.Select(weight => (float)(share * weight / total))];
        float[] soft = Coefficients(Material.SoftTissue);
        float[] fat = Coefficients(Material.Adipose);
        float[] bone = Coefficients(Material.CorticalBone);
        (float[] Mu, Raster<float> Lengths)[] others = [.. paths.Others.Select(other => (Coefficients(Material.ByName(other.Key)), other.Value))];
        int columns = geometry.Columns;
        Parallel.For(0, geometry.Rows, new ParallelOptions { CancellationToken = cancellation }, () => new float[2 * columns], (row, _, scratch) =>
        {
            ReadOnlySpan<float> softRow = paths.Part.Soft.Row(row);
            ReadOnlySpan<float> fatRow = paths.Part.Fat.Row(row);
            ReadOnlySpan<float> boneRow = paths.Part.Bone.Row(row);
            ReadOnlySpan<float> lightRow = illumination.Row(row);
            Span<float> to = sum.Row(row);
            Span<float> depth = scratch.AsSpan(0, columns);
            Span<float> through = scratch.AsSpan(columns, columns);
            through.Clear();

            // Nothing of an object on this row: most rows.
            List<(float[] Mu, Raster<float> Lengths)> present = [.. others.Where(other => other.Lengths.Row(row).ContainsAnyExcept(0f))];
            int lanes = Vector<float>.Count;
            for (int k = 0; k < energies; k++)
            {
                Vector<float> softMu = new(soft[k]);
                Vector<float> fatMu = new(fat[k]);
                Vector<float> boneMu = new(bone[k]);
                Vector<float> weight = new(weights[k]);
                if (present.Count > 0)
                {
                    depth.Clear();
                    foreach ((float[] mu, Raster<float> lengths) in present)
                    {
                        Convolution.AddScaled(lengths.Row(row), mu[k], depth);
                    }
                }

                int at = 0;
                for (; at <= columns - lanes; at += lanes)
                {
                    Vector<float> sumDepth = (softMu * new Vector<float>(softRow[at..])) + (fatMu * new Vector<float>(fatRow[at..])) + (boneMu * new Vector<float>(boneRow[at..]));
                    if (present.Count > 0)
                    {
                        sumDepth += new Vector<float>(depth[at..]);
                    }

                    (new Vector<float>(through[at..]) + (weight * Vector.Exp(-sumDepth))).CopyTo(through[at..]);
                }

                for (; at < columns; at++)
                {
                    float tail = (soft[k] * softRow[at]) + (fat[k] * fatRow[at]) + (bone[k] * boneRow[at]) + (present.Count > 0 ? depth[at] : 0);
                    through[at] += weights[k] * MathF.Exp(-tail);
                }
            }

            for (int column = 0; column < columns; column++)
            {
                to[column] += through[column] * lightRow[column];
            }

            return scratch;
        }, _ => { });
    }

    /// <summary>Lengths in everything that is not the part.</summary>
    /// <param name="items">The things.</param>
    /// <param name="placement">The part's frame in the room, for what moves with it.</param>
    public Dictionary<string, Raster<float>> Others(IEnumerable<BeamItem> items, Pose placement)
    {
        Dictionary<string, Raster<float>> lengths = [];
        MeshProjector projector = new(geometry, cancellation);
        foreach (BeamItem item in items)
        {
            if (!lengths.TryGetValue(item.Material, out Raster<float>? plane))
            {
                plane = new Raster<float>(geometry.Rows, geometry.Columns);
                lengths.Add(item.Material, plane);
            }

            projector.Add(item.Mesh, item.MovesWithPart ? item.Pose.Within(placement) : item.Pose, item.Share, plane);
        }

        return lengths;
    }

    private float[] Coefficients(Material material) => [.. beam.EnergiesKev.Select(energy => (float)material.LinearAttenuationPerMm(energy))];
}
