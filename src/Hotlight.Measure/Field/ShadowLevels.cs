using System.Runtime.InteropServices;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>Whether what lies beyond a side of the shadow is unexposed: less exposure than at the side, and as little as almost anything in the field.</summary>
internal static class ShadowLevels
{
    // Cells nearer than this to the side belong to its penumbra.
    private const int Penumbra = 5;

    // Beyond the beam there is scatter that fades away; the other part of a patient varies as much as the part within.
    private const float MostUnrest = 0.025f;
    private const int BlockCells = 8;
    private const int LeastCellsPerBlock = 8;

    /// <summary>The exposure that an eighth of the field does not reach: about that of its densest bone; minus infinity where the field is too small to say.</summary>
    internal static float LeastOfField(List<ShadowSide> all, ReducedImage image, GradientField gradient, int sign)
    {
        var field = new List<float>();
        for (int row = 0; row < image.Rows; row += 3)
        {
            for (int column = 0; column < image.Columns; column += 3)
            {
                bool within = true;
                foreach (ShadowSide side in all)
                {
                    within &= Distance(side, column, row) < -3;
                }

                if (within)
                {
                    field.Add(sign * gradient.Smooth[(row * image.Columns) + column]);
                }
            }
        }

        return field.Count < 50 ? float.NegativeInfinity : OrderStatistic.At(CollectionsMarshal.AsSpan(field), (int)(field.Count * 0.12));
    }

    /// <summary>Compares the strip beyond a side with the field beside it and with the whole field; the ghost of an earlier exposure may be restless.</summary>
    internal static bool IsUnexposedBeyond(ShadowSide side, float leastOfField, ReducedImage image, GradientField gradient, int sign, bool isWithinGhost)
    {
        var beyond = new List<float>();
        var blocksBeyond = new Dictionary<(int Along, int Away), (float Sum, int Count)>();
        var beside = new List<float>();
        for (int row = 0; row < image.Rows; row += 2)
        {
            for (int column = 0; column < image.Columns; column += 2)
            {
                double distance = Distance(side, column, row);
                double t = (column * -side.NormalY) + (row * side.NormalX);
                bool along = t > side.FromT + 4 && t < side.ToT - 4;
                if (!along || (distance <= Penumbra && distance >= -3) || distance <= -12)
                {
                    continue;
                }

                float value = sign * gradient.Smooth[(row * image.Columns) + column];
                if (distance > Penumbra)
                {
                    beyond.Add(value);
                    Add(blocksBeyond, t, distance, value);
                }
                else
                {
                    beside.Add(value);
                }
            }
        }

        if (beside.Count < 20)
        {
            return false;
        }

        if (beyond.Count < 20)
        {
            // The side lies at the frame: only its own step can speak.
            return side.Coherence > 0.8;
        }

        float range = gradient.Range;
        Span<float> order = CollectionsMarshal.AsSpan(beyond);
        float middle = OrderStatistic.At(order, order.Length / 2), high = OrderStatistic.At(order, (int)(order.Length * 0.95));
        float nearby = OrderStatistic.At(CollectionsMarshal.AsSpan(beside), beside.Count / 2);
        float unrest = Unrest(blocksBeyond) / range;
        return (isWithinGhost || unrest < MostUnrest) && high < nearby + (0.02f * range) && middle < leastOfField + (0.05f * range);
    }

    // Block means, and the 85th percentile of the difference between neighbours along the side: large where there is anatomy, small where there is only scatter.
    private static float Unrest(Dictionary<(int Along, int Away), (float Sum, int Count)> blocks)
    {
        var differences = new List<float>();
        foreach (((int along, int away), (float sum, int count)) in blocks)
        {
            if (count >= LeastCellsPerBlock && blocks.TryGetValue((along + 1, away), out (float Sum, int Count) next) && next.Count >= LeastCellsPerBlock)
            {
                differences.Add(MathF.Abs((sum / count) - (next.Sum / next.Count)));
            }
        }

        return differences.Count == 0 ? 0 : OrderStatistic.At(CollectionsMarshal.AsSpan(differences), (int)(differences.Count * 0.85));
    }

    private static void Add(Dictionary<(int Along, int Away), (float Sum, int Count)> blocks, double along, double away, float value)
    {
        var key = ((int)Math.Floor(along / BlockCells), (int)Math.Floor(away / BlockCells));
        blocks.TryGetValue(key, out (float Sum, int Count) block);
        blocks[key] = (block.Sum + value, block.Count + 1);
    }

    private static double Distance(ShadowSide side, double column, double row) => (column * side.NormalX) + (row * side.NormalY) - side.Rho;
}
