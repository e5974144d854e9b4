using System.Numerics;

namespace Hotlight.Simulation.Projection;

/// <summary>A seeded random block of space with mean 0 and standard deviation 1, repeated in all directions: the grain of spongy bone and of fat planes.</summary>
internal sealed class Grain
{
    private const int Side = 64;
    private static Tuple<ulong, Grain, Grain>? last;
    private readonly float[] cells = new float[Side * Side * Side];

    public Grain(ulong seed, int smoothing)
    {
        SplitMix random = new(seed);
        for (int cell = 0; cell < cells.Length; cell++)
        {
            cells[cell] = (float)random.NextGaussian();
        }

        for (int pass = 0; pass < smoothing; pass++)
        {
            Smooth(1);
            Smooth(Side);
            Smooth(Side * Side);
        }

        double squares = 0;
        foreach (float cell in cells)
        {
            squares += cell * (double)cell;
        }

        float scale = (float)(1 / Math.Sqrt(squares / cells.Length));
        for (int cell = 0; cell < cells.Length; cell++)
        {
            cells[cell] *= scale;
        }
    }

    /// <summary>A fine and a coarse grain of one seed; the last pair is kept, as views of one part are made in a row.</summary>
    public static (Grain Fine, Grain Coarse) Pair(ulong seed)
    {
        Tuple<ulong, Grain, Grain>? kept = last;
        if (kept is not null && kept.Item1 == seed)
        {
            return (kept.Item2, kept.Item3);
        }

        Grain fine = new(seed ^ 0x51A7, 1);
        Grain coarse = new(seed ^ 0xC0A5, 2);
        last = Tuple.Create(seed, fine, coarse);
        return (fine, coarse);
    }

    /// <summary>The grain at a place in cells, nearest cell.</summary>
    public float Nearest(Vector3 place)
    {
        int x = (int)MathF.Floor(place.X) & (Side - 1);
        int y = (int)MathF.Floor(place.Y) & (Side - 1);
        int z = (int)MathF.Floor(place.Z) & (Side - 1);
        return cells[(((z * Side) + y) * Side) + x];
    }

    /// <summary>The grain at a place in cells, trilinear.</summary>
    public float At(Vector3 place)
    {
        float fx = MathF.Floor(place.X);
        float fy = MathF.Floor(place.Y);
        float fz = MathF.Floor(place.Z);
        float sx = place.X - fx;
        float sy = place.Y - fy;
        float sz = place.Z - fz;
        int x0 = (int)fx & (Side - 1);
        int x1 = (x0 + 1) & (Side - 1);
        int y0 = ((int)fy & (Side - 1)) * Side;
        int y1 = (((int)fy + 1) & (Side - 1)) * Side;
        int z0 = ((int)fz & (Side - 1)) * Side * Side;
        int z1 = (((int)fz + 1) & (Side - 1)) * Side * Side;
        float a = Mix(Mix(cells[z0 + y0 + x0], cells[z0 + y0 + x1], sx), Mix(cells[z0 + y1 + x0], cells[z0 + y1 + x1], sx), sy);
        float b = Mix(Mix(cells[z1 + y0 + x0], cells[z1 + y0 + x1], sx), Mix(cells[z1 + y1 + x0], cells[z1 + y1 + x1], sx), sy);
        return Mix(a, b, sz);
    }

    private static float Mix(float from, float to, float share) => from + (share * (to - from));

    private void Smooth(int stride)
    {
        float[] before = (float[])cells.Clone();
        int wrap = Side * stride;
        for (int cell = 0; cell < cells.Length; cell++)
        {
            int place = cell / stride % Side;
            int next = place == Side - 1 ? cell + stride - wrap : cell + stride;
            int previous = place == 0 ? cell - stride + wrap : cell - stride;
            cells[cell] = (0.25f * before[previous]) + (0.5f * before[cell]) + (0.25f * before[next]);
        }
    }
}
