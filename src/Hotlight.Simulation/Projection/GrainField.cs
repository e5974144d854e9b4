using System.Numerics;

namespace Hotlight.Simulation.Projection;

/// <summary>The texture of spongy bone: rods along y, thinner struts across, of mean 0 and standard deviation 1 at a point, repeated in all directions.</summary>
/// <remarks>
/// <para>Drawn, not measured: ridges of band-limited noise stand for struts. Rods are about <see cref="RodSpacingCells"/> cells apart and a quarter of that thick (common knowledge of spongy bone, no source). Method: docs/methods/projection.md.</para>
/// <para>The block is laid obliquely to the axes and bent a little, so that its repeats line up neither along a ray nor side by side. One block serves all seeds; a seed chooses where in it one is.</para>
/// </remarks>
internal sealed class GrainField
{
    /// <summary>Distance of neighbouring rods, in cells.</summary>
    public const int RodSpacingCells = 8;

    private const int Side = 128;
    private const int SideMask = Side - 1;
    private const int Length = 64;
    private const int LengthMask = Length - 1;

    /// <summary>Texture × 16.</summary>
    private static readonly Lazy<sbyte[]> Block = new(Draw);
    private readonly Vector3 offset;
    private readonly sbyte[] cells = Block.Value;

    public GrainField(ulong seed)
    {
        SplitMix random = new(seed ^ 0x51A7);
        offset = new Vector3((float)random.NextUniform() * 1000, (float)random.NextUniform() * 1000, (float)random.NextUniform() * 1000);
    }

    /// <summary>Adds up the texture at places along a straight line, nearest cell.</summary>
    /// <param name="first">The first place, in cells.</param>
    /// <param name="step">From place to place, in cells.</param>
    /// <param name="to">Receives the texture at each place.</param>
    public void Along(Vector3 first, Vector3 step, Span<float> to)
    {
        // Slopes without a common measure, so that no repeat falls on a row, a column or a ray.
        first += offset;
        float x = (0.8480f * first.X) + (0.5299f * first.Z) + (3 * Bend((0.0041f * first.Y) + (0.0029f * first.X)));
        float y = first.Y + (0.061f * first.X) + (0.043f * first.Z);
        float z = (0.8480f * first.Z) - (0.5299f * first.X) + (3 * Bend(0.0033f * first.Y));
        float stepX = (0.8480f * step.X) + (0.5299f * step.Z);
        float stepY = step.Y + (0.061f * step.X) + (0.043f * step.Z);
        float stepZ = (0.8480f * step.Z) - (0.5299f * step.X);
        for (int at = 0; at < to.Length; at++)
        {
            int i = (int)MathF.Floor(x) & SideMask;
            int j = (int)MathF.Floor(y) & LengthMask;
            int k = (int)MathF.Floor(z) & SideMask;
            to[at] = cells[(((k * Length) + j) * Side) + i] * (1 / 16f);
            x += stepX;
            y += stepY;
            z += stepZ;
        }
    }

    /// <summary>A wave between −1 and 1 with period 1, of parabolas.</summary>
    private static float Bend(float x)
    {
        float t = (2 * (x - MathF.Floor(x))) - 1;
        return 4 * t * (1 - MathF.Abs(t));
    }

    private static sbyte[] Draw()
    {
        // A ridge where one noise is small is a sheet; where sheets of two noises cross there are rods. Rods run along y, so their noise changes slowly there.
        float[] first = Noise(1, 2.3, 9, 2.3);
        float[] second = Noise(2, 3.2, 9, 3.2);
        float[] third = Noise(3, 5, 2.2, 5);
        float[] fourth = Noise(4, 3.4, 3, 3.4);
        float[] slow = Noise(5, 6, 9, 6);
        float[] drawn = new float[first.Length];
        double sum = 0;
        double squares = 0;
        for (int at = 0; at < drawn.Length; at++)
        {
            float rods = Ridge(first[at], 0.5f) * Ridge(second[at], 1.1f);
            float struts = Ridge(third[at], 0.35f) * Ridge(fourth[at], 0.7f);
            float value = (rods + (0.8f * struts)) * MathF.Max(0.2f, 1 + (0.5f * slow[at]));
            drawn[at] = value;
            sum += value;
            squares += value * (double)value;
        }

        double mean = sum / drawn.Length;
        float scale = (float)(16 / Math.Sqrt((squares / drawn.Length) - (mean * mean)));
        sbyte[] block = new sbyte[drawn.Length];
        for (int at = 0; at < drawn.Length; at++)
        {
            block[at] = (sbyte)Math.Clamp(MathF.Round((drawn[at] - (float)mean) * scale), -127, 127);
        }

        return block;
    }

    private static float Ridge(float noise, float width)
    {
        float share = noise / width;
        float square = share * share;
        return 1 / (1 + square + (square * square));
    }

    /// <summary>White noise smoothed by nearly Gaussian kernels, standard deviation 1.</summary>
    private static float[] Noise(ulong seed, double sigmaX, double sigmaY, double sigmaZ)
    {
        float[] noise = new float[Side * Length * Side];
        SplitMix random = new(seed ^ 0x7AB1E);
        for (int at = 0; at < noise.Length; at++)
        {
            // Uniform is near enough to normal once it is smoothed.
            noise[at] = (random.Next() >> 40) - (float)(1 << 23);
        }

        Smooth(noise, inner: 1, count: Side, sigmaX);
        Smooth(noise, inner: Side, count: Length, sigmaY);
        Smooth(noise, inner: Side * Length, count: Side, sigmaZ);
        double squares = 0;
        foreach (float value in noise)
        {
            squares += value * (double)value;
        }

        float scale = (float)(1 / Math.Sqrt(squares / noise.Length));
        for (int at = 0; at < noise.Length; at++)
        {
            noise[at] *= scale;
        }

        return noise;
    }

    /// <summary>Three running means along one direction, wrapped round: nearly a Gaussian.</summary>
    private static void Smooth(float[] values, int inner, int count, double sigma)
    {
        // Three boxes of width w = 2·half + 1 have a variance of 3(w² − 1)/12.
        int half = Math.Clamp((int)Math.Round((Math.Sqrt((4 * sigma * sigma) + 1) - 1) / 2), 1, (count / 2) - 1);
        int mask = count - 1;
        int lanes = inner == 1 ? 1 : Side;
        int groups = values.Length / count / lanes;
        Parallel.For(0, groups, group =>
        {
            // Lines of one group lie side by side; a block of them is smoothed at once.
            int start = inner == 1 ? group * count : inner == Side ? group * count * Side : group * Side;
            float[] from = new float[count * lanes];
            float[] to = new float[count * lanes];
            float[] sums = new float[lanes];
            for (int at = 0; at < count; at++)
            {
                values.AsSpan(start + (at * inner), lanes).CopyTo(from.AsSpan(at * lanes));
            }

            for (int pass = 0; pass < 3; pass++)
            {
                Array.Clear(sums);
                for (int at = -half; at <= half; at++)
                {
                    Add(sums, from.AsSpan((at & mask) * lanes, lanes), sums);
                }

                for (int at = 0; at < count; at++)
                {
                    sums.CopyTo(to, at * lanes);
                    Add(sums, from.AsSpan(((at + half + 1) & mask) * lanes, lanes), sums);
                    Take(sums, from.AsSpan(((at - half) & mask) * lanes, lanes), sums);
                }

                (from, to) = (to, from);
            }

            float scale = 1f / (((2 * half) + 1) * ((2 * half) + 1)) / ((2 * half) + 1);
            for (int at = 0; at < count; at++)
            {
                for (int lane = 0; lane < lanes; lane++)
                {
                    values[start + (at * inner) + lane] = from[(at * lanes) + lane] * scale;
                }
            }
        });

        static void Add(ReadOnlySpan<float> a, ReadOnlySpan<float> b, Span<float> sum)
        {
            int at = 0;
            for (; at <= sum.Length - Vector<float>.Count; at += Vector<float>.Count)
            {
                (new Vector<float>(a[at..]) + new Vector<float>(b[at..])).CopyTo(sum[at..]);
            }

            for (; at < sum.Length; at++)
            {
                sum[at] = a[at] + b[at];
            }
        }

        static void Take(ReadOnlySpan<float> a, ReadOnlySpan<float> b, Span<float> rest)
        {
            int at = 0;
            for (; at <= rest.Length - Vector<float>.Count; at += Vector<float>.Count)
            {
                (new Vector<float>(a[at..]) - new Vector<float>(b[at..])).CopyTo(rest[at..]);
            }

            for (; at < rest.Length; at++)
            {
                rest[at] = a[at] - b[at];
            }
        }
    }
}
