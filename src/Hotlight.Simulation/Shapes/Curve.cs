namespace Hotlight.Simulation.Shapes;

/// <summary>A smooth curve through given stations, kept as a fine table; constant beyond its ends.</summary>
internal sealed class Curve
{
    private const int Cells = 512;
    private readonly float[] table = new float[Cells + 2];
    private readonly float first;
    private readonly float perCell;

    /// <summary>Monotone cubic (Fritsch and Carlson 1980) through the stations, which rise in position.</summary>
    public Curve(params (double At, double Value)[] stations)
    {
        first = (float)stations[0].At;
        double span = Math.Max(1e-6, stations[^1].At - stations[0].At);
        perCell = (float)(Cells / span);
        int count = stations.Length;
        double[] slope = new double[count];
        for (int k = 1; k < count - 1; k++)
        {
            double before = (stations[k].Value - stations[k - 1].Value) / (stations[k].At - stations[k - 1].At);
            double after = (stations[k + 1].Value - stations[k].Value) / (stations[k + 1].At - stations[k].At);
            slope[k] = before * after <= 0 ? 0 : 2 * before * after / (before + after);
        }

        if (count > 1)
        {
            slope[0] = (stations[1].Value - stations[0].Value) / (stations[1].At - stations[0].At);
            slope[^1] = (stations[^1].Value - stations[^2].Value) / (stations[^1].At - stations[^2].At);
        }

        int piece = 0;
        for (int cell = 0; cell <= Cells + 1; cell++)
        {
            double at = first + (Math.Min(cell, Cells) * span / Cells);
            while (piece < count - 2 && at > stations[piece + 1].At)
            {
                piece++;
            }

            if (count == 1)
            {
                table[cell] = (float)stations[0].Value;
                continue;
            }

            double width = stations[piece + 1].At - stations[piece].At;
            double t = Math.Clamp((at - stations[piece].At) / width, 0, 1);
            double t2 = t * t;
            double t3 = t2 * t;
            table[cell] = (float)((((2 * t3) - (3 * t2) + 1) * stations[piece].Value) + ((t3 - (2 * t2) + t) * width * slope[piece])
                + (((-2 * t3) + (3 * t2)) * stations[piece + 1].Value) + ((t3 - t2) * width * slope[piece + 1]));
        }
    }

    public static Curve Constant(double value) => new((0, value));

    public float At(float position)
    {
        float place = Math.Clamp((position - first) * perCell, 0, Cells);
        int cell = (int)place;
        float share = place - cell;
        return table[cell] + (share * (table[cell + 1] - table[cell]));
    }

    /// <summary>Values and slopes at once; the slope is 0 beyond the ends.</summary>
    public float At(float position, out float slope)
    {
        float place = Math.Clamp((position - first) * perCell, 0, Cells);
        int cell = (int)place;
        float step = table[cell + 1] - table[cell];
        slope = step * perCell;
        return table[cell] + ((place - cell) * step);
    }
}
