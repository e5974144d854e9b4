using System.Runtime.InteropServices;
using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Artifacts;

/// <summary>A fall of direct exposure from one side of the field to the other.</summary>
/// <param name="IsAcross">True where it falls along a row, false down or up the rows.</param>
/// <param name="TowardsHigher">Whether the side of less signal is the right or lower one.</param>
/// <param name="Fall">ln of the signal on the one side over that on the other, 0 or more, over the whole field.</param>
/// <param name="FallSigma">One standard deviation of it.</param>
internal readonly record struct SignalFall(bool IsAcross, bool TowardsHigher, double Fall, double FallSigma);

/// <summary>Looks for grid cut-off as a fall of direct exposure to one side that the heel effect does not give.</summary>
/// <remarks>
/// <para>Method: −ln signal of the direct exposure in ten strips across the field, the median of each, a straight line through them by least squares. Anatomy has no part in it. The fall is one-sided where no strip turns back by more than a fifth of it.</para>
/// <para>Holds when: the signal is proportional to exposure and not at its end, and direct exposure lies in the outer quarter on both sides. Elsewhere it cannot be told: a loss that is even over the field (a focused grid off centre) looks like a low mAs, and behind the body a fall is the body's own.</para>
/// </remarks>
internal static class GridCutOff
{
    // Most that anode and distance give from one side of a field to the other, as a share: heel effect up to 25 % (common practice, no source), and (1 + (215/1000)²)^−1.5, 7 %, where a field of 430 mm at 1000 mm lies all to one side. Rounded up.
    public const double MostOfHeel = 0.35;

    private const int Strips = 10;

    // A strip's median is used from this many cells on.
    private const int LeastCells = 12;

    // A strip that turns back by this share of the fall: not one-sided.
    private const double MostBack = 0.2;

    // Beyond this share of direct cells at the end of the scale nothing falls any more.
    private const double MostSaturated = 0.02;

    /// <summary>The fall along each direction in which it can be told: none, one or two, the larger first.</summary>
    /// <param name="scale">The attenuation scale; −ln of the signal.</param>
    /// <param name="scan">The image by block means.</param>
    /// <param name="span">The field.</param>
    /// <param name="map">Labels.</param>
    /// <param name="end">The value on the scale of a receptor at its end: the least attenuation that a pixel can hold.</param>
    public static List<SignalFall> Falls(AttenuationScale scale, ArtifactScan scan, FieldSpan span, RegionMap map, float end)
    {
        var cells = new List<(int X, int Y, float Value)>();
        int saturated = 0;
        for (int row = 0; row < map.Labels.Rows; row++)
        {
            int y = (row * map.Step) + (map.Step / 2);
            ReadOnlySpan<byte> labels = map.Labels.Row(row);
            for (int column = 0; column < labels.Length; column++)
            {
                int x = (column * map.Step) + (map.Step / 2);
                if ((RegionLabel)labels[column] != RegionLabel.Direct || !span.Holds(y, x) || y / scan.Step >= scan.ReducedRows || x / scan.Step >= scan.ReducedColumns)
                {
                    continue;
                }

                float value = scan.Reduced[(y / scan.Step * scan.ReducedColumns) + (x / scan.Step)];
                saturated += value <= end + scale.Step ? 1 : 0;
                cells.Add((x, y, value));
            }
        }

        var falls = new List<SignalFall>();
        if (cells.Count == 0 || saturated > MostSaturated * cells.Count)
        {
            return falls;
        }

        int top = 0, bottom = span.Rows - 1;
        while (top < bottom && span.Row(top).End <= span.Row(top).First)
        {
            top++;
        }

        while (bottom > top && span.Row(bottom).End <= span.Row(bottom).First)
        {
            bottom--;
        }

        int left = span.Columns, right = 0;
        for (int row = top; row <= bottom; row++)
        {
            (int first, int past) = span.Row(row);
            if (past > first)
            {
                left = Math.Min(left, first);
                right = Math.Max(right, past - 1);
            }
        }

        if (Along(cells, cell => (double)(cell.X - left) / Math.Max(1, right - left)) is { } across)
        {
            falls.Add(new SignalFall(true, across.Slope > 0, Math.Abs(across.Slope), across.Sigma));
        }

        if (Along(cells, cell => (double)(cell.Y - top) / Math.Max(1, bottom - top)) is { } down)
        {
            falls.Add(new SignalFall(false, down.Slope > 0, Math.Abs(down.Slope), down.Sigma));
        }

        falls.Sort((a, b) => b.Fall.CompareTo(a.Fall));
        return falls;
    }

    /// <summary>The line through the strips' medians; null where the outer strips are empty or the strips are not in order.</summary>
    private static (double Slope, double Sigma)? Along(List<(int X, int Y, float Value)> cells, Func<(int X, int Y, float Value), double> place)
    {
        var strips = new List<float>[Strips];
        foreach ((int X, int Y, float Value) cell in cells)
        {
            (strips[Math.Clamp((int)(place(cell) * Strips), 0, Strips - 1)] ??= []).Add(cell.Value);
        }

        var points = new List<(double At, double Value)>();
        for (int strip = 0; strip < Strips; strip++)
        {
            if (strips[strip] is { } own && own.Count >= LeastCells)
            {
                points.Add(((strip + 0.5) / Strips, OrderStatistic.At(CollectionsMarshal.AsSpan(own), own.Count / 2)));
            }
        }

        // The outer quarter on both sides, and something between.
        if (points.Count < 4 || points[0].At > 0.26 || points[^1].At < 0.74)
        {
            return null;
        }

        double meanAt = points.Average(point => point.At), mean = points.Average(point => point.Value);
        double moment = points.Sum(point => (point.At - meanAt) * (point.At - meanAt));
        double slope = points.Sum(point => (point.At - meanAt) * (point.Value - mean)) / moment;
        double rest = points.Sum(point => Math.Pow(point.Value - mean - (slope * (point.At - meanAt)), 2));
        double back = 0;
        for (int at = 1; at < points.Count; at++)
        {
            back = Math.Max(back, -Math.Sign(slope) * (points[at].Value - points[at - 1].Value));
        }

        return back > MostBack * Math.Abs(slope) ? null : (slope, Math.Sqrt(rest / (points.Count - 2) / moment));
    }
}
