using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>A straight line on the reduced image that may end the field: its outward normal, and along it what supports that.</summary>
/// <remarks>Points p with n·p = Rho lie on it, n·p &gt; Rho beyond it. Position along it is t = d·p with d = (−n.y, n.x).</remarks>
internal sealed class EdgeLine
{
    private const int MaximumShift = 3;
    private readonly int firstT;
    private readonly int[] inside;
    private readonly int[] rising;
    private readonly int[] falling;
    private readonly int[] outerCount;
    private readonly int[] constantCount;
    private readonly double[] outerSum;
    private readonly double[] outerSquare;
    private readonly double[] outerTexture;
    private readonly double[] innerTexture;
    private readonly int[] innerCount;
    private readonly double[] farTexture;
    private readonly int[] farCount;
    private readonly double[] nearTexture;
    private readonly int[] nearCount;
    private readonly double[] stepSum;
    private readonly double[] stepSquare;
    private readonly int[] stepCount;

    private EdgeLine(double normalX, double normalY, double rho, int firstT, int count)
    {
        NormalX = normalX;
        NormalY = normalY;
        Rho = rho;
        this.firstT = firstT;
        inside = new int[count + 1];
        rising = new int[count + 1];
        falling = new int[count + 1];
        outerCount = new int[count + 1];
        constantCount = new int[count + 1];
        outerSum = new double[count + 1];
        outerSquare = new double[count + 1];
        outerTexture = new double[count + 1];
        innerTexture = new double[count + 1];
        innerCount = new int[count + 1];
        farTexture = new double[count + 1];
        farCount = new int[count + 1];
        nearTexture = new double[count + 1];
        nearCount = new int[count + 1];
        stepSum = new double[count + 1];
        stepSquare = new double[count + 1];
        stepCount = new int[count + 1];
    }

    internal double NormalX { get; }

    internal double NormalY { get; }

    internal double Rho { get; }

    /// <summary>Angle of the outward normal, in degrees, (−180, 180].</summary>
    internal double NormalDegrees => Math.Atan2(NormalY, NormalX) * 180 / Math.PI;

    internal int FirstT => firstT;

    internal int EndT => firstT + inside.Length - 1;

    /// <summary>Refines a rough line to the strongest gradients near it and reads what lies along it; null when too little of it is seen.</summary>
    internal static EdgeLine? Along(ReducedImage image, GradientField gradient, double normalX, double normalY, double rho, float threshold, int leastLength)
    {
        for (int pass = 0; pass < 2; pass++)
        {
            if (!Refit(gradient, ref normalX, ref normalY, ref rho, threshold, pass == 0 ? MaximumShift : 2, leastLength))
            {
                return null;
            }
        }

        var line = Empty(gradient.Rows, gradient.Columns, normalX, normalY, rho);
        line?.Read(image, gradient, threshold);
        return line;
    }

    /// <summary>Reads what lies along a line that is known already; null when the frame leaves too little of it.</summary>
    internal static EdgeLine? At(ReducedImage image, GradientField gradient, double normalX, double normalY, double rho, float threshold)
    {
        EdgeLine? line = Empty(gradient.Rows, gradient.Columns, normalX, normalY, rho);
        line?.Read(image, gradient, threshold);
        return line;
    }

    internal EdgeLine Reversed(ReducedImage image, GradientField gradient, float threshold)
    {
        EdgeLine line = Empty(gradient.Rows, gradient.Columns, -NormalX, -NormalY, -Rho)!;
        line.Read(image, gradient, threshold);
        return line;
    }

    /// <summary>What is seen between two positions along the line.</summary>
    internal SegmentEvidence Between(double fromT, double toT)
    {
        int a = Math.Clamp((int)Math.Ceiling(fromT) - firstT, 0, inside.Length - 1), b = Math.Clamp((int)Math.Floor(toT) + 1 - firstT, 0, inside.Length - 1);
        if (b <= a)
        {
            return default;
        }

        int length = inside[b] - inside[a];
        int up = rising[b] - rising[a], down = falling[b] - falling[a];
        int outers = outerCount[b] - outerCount[a], inners = innerCount[b] - innerCount[a], fars = farCount[b] - farCount[a], steps = stepCount[b] - stepCount[a];
        double outerMean = outers == 0 ? 0 : (outerSum[b] - outerSum[a]) / outers;
        double stepMean = steps == 0 ? 0 : (stepSum[b] - stepSum[a]) / steps;
        return new SegmentEvidence(
            Length: length,
            Coverage: length == 0 ? 0 : (double)Math.Max(up, down) / length,
            Opposed: length == 0 ? 0 : (double)Math.Min(up, down) / length,
            Rises: up >= down,
            OutsideMean: outerMean,
            OutsideSpread: outers == 0 ? 0 : Math.Sqrt(Math.Max(0, ((outerSquare[b] - outerSquare[a]) / outers) - (outerMean * outerMean))),
            OutsideTexture: outers == 0 ? 0 : (outerTexture[b] - outerTexture[a]) / outers,
            OutsideConstant: outers == 0 ? 0 : (double)(constantCount[b] - constantCount[a]) / outers,
            InsideTexture: inners == 0 ? 0 : (innerTexture[b] - innerTexture[a]) / inners,
            FarTexture: fars == 0 ? 0 : (farTexture[b] - farTexture[a]) / fars,
            WithinTexture: nearCount[b] == nearCount[a] ? 0 : (nearTexture[b] - nearTexture[a]) / (nearCount[b] - nearCount[a]),
            StepMean: stepMean,
            StepSpread: steps == 0 ? 0 : Math.Sqrt(Math.Max(0, ((stepSquare[b] - stepSquare[a]) / steps) - (stepMean * stepMean))));
    }

    internal (double FromT, double ToT) ClipTo(double minimumX, double minimumY, double maximumX, double maximumY)
        => Clip(NormalX, NormalY, Rho, minimumX, minimumY, maximumX, maximumY);

    private static (double FromT, double ToT) Clip(double nx, double ny, double rho, double minimumX, double minimumY, double maximumX, double maximumY)
    {
        double from = double.NegativeInfinity, to = double.PositiveInfinity;
        double dx = -ny, dy = nx, x0 = nx * rho, y0 = ny * rho;
        Narrow(x0, dx, minimumX, maximumX, ref from, ref to);
        Narrow(y0, dy, minimumY, maximumY, ref from, ref to);
        return (from, to);
    }

    private static void Narrow(double origin, double slope, double low, double high, ref double from, ref double to)
    {
        if (Math.Abs(slope) < 1e-9)
        {
            if (origin < low || origin > high)
            {
                to = double.NegativeInfinity;
            }

            return;
        }

        double a = (low - origin) / slope, b = (high - origin) / slope;
        from = Math.Max(from, Math.Min(a, b));
        to = Math.Min(to, Math.Max(a, b));
    }

    private static EdgeLine? Empty(int rows, int columns, double nx, double ny, double rho)
    {
        (double from, double to) = Clip(nx, ny, rho, 0, 0, columns - 1, rows - 1);
        return to - from < 4 ? null : new EdgeLine(nx, ny, rho, (int)Math.Ceiling(from), (int)Math.Floor(to) - (int)Math.Ceiling(from) + 1);
    }

    // Straight least squares through the strongest gradient of each cross-section, with outliers dropped by the median distance.
    private static bool Refit(GradientField g, ref double nx, ref double ny, ref double rho, float threshold, int reach, int leastLength)
    {
        (double from, double to) = Clip(nx, ny, rho, 0, 0, g.Columns - 1, g.Rows - 1);
        if (to - from < leastLength)
        {
            return false;
        }

        double dx = -ny, dy = nx;
        var ts = new List<double>();
        var us = new List<double>();
        for (double t = Math.Ceiling(from); t <= to; t++)
        {
            double best = threshold, bestU = double.NaN;
            double before = 0, after = 0;
            for (int u = -reach; u <= reach; u++)
            {
                double component = Math.Abs(Component(g, (nx * (rho + u)) + (dx * t), (ny * (rho + u)) + (dy * t), nx, ny));
                if (component > best)
                {
                    best = component;
                    bestU = u;
                    before = Math.Abs(Component(g, (nx * (rho + u - 1)) + (dx * t), (ny * (rho + u - 1)) + (dy * t), nx, ny));
                    after = Math.Abs(Component(g, (nx * (rho + u + 1)) + (dx * t), (ny * (rho + u + 1)) + (dy * t), nx, ny));
                }
            }

            if (!double.IsNaN(bestU))
            {
                double bend = before - (2 * best) + after;
                ts.Add(t);
                us.Add(bestU + (bend < 0 ? Math.Clamp(0.5 * (before - after) / bend, -0.5, 0.5) : 0));
            }
        }

        if (ts.Count < leastLength / 2)
        {
            return false;
        }

        (double offset, double slope) = StraightFit.Robust(ts, us);
        double turn = Math.Atan(slope);

        // p(t) = n(ρ+offset+slope·t) + d·t: the new direction is d + slope·n.
        double length = Math.Sqrt(1 + (slope * slope));
        double newDx = (dx + (slope * nx)) / length, newDy = (dy + (slope * ny)) / length;
        double px = nx * (rho + offset), py = ny * (rho + offset);
        nx = newDy;
        ny = -newDx;
        rho = (nx * px) + (ny * py);
        return Math.Abs(turn) < 0.1;
    }

    private static double Component(GradientField g, double x, double y, double nx, double ny)
    {
        int column = (int)Math.Round(x), row = (int)Math.Round(y);
        if ((uint)column >= (uint)g.Columns || (uint)row >= (uint)g.Rows)
        {
            return 0;
        }

        int i = (row * g.Columns) + column;
        return (g.X[i] * nx) + (g.Y[i] * ny);
    }

    private void Read(ReducedImage image, GradientField g, float threshold)
    {
        double dx = -NormalY, dy = NormalX;
        for (int k = 0; k < inside.Length - 1; k++)
        {
            double t = firstT + k;
            inside[k + 1] = inside[k] + 1;
            double most = 0, least = 0, mostMagnitude = 0, leastMagnitude = 0;
            for (int u = -1; u <= 1; u++)
            {
                double x = (NormalX * (Rho + u)) + (dx * t), y = (NormalY * (Rho + u)) + (dy * t);
                double component = Component(g, x, y, NormalX, NormalY);
                double along = Math.Abs(Component(g, x, y, dx, dy));
                if (component > most)
                {
                    most = component;
                    mostMagnitude = along;
                }

                if (component < least)
                {
                    least = component;
                    leastMagnitude = along;
                }
            }

            rising[k + 1] = rising[k] + (most > threshold && mostMagnitude < most ? 1 : 0);
            falling[k + 1] = falling[k] + (-least > threshold && leastMagnitude < -least ? 1 : 0);
            Band outer = BandAt(image, g, t, 2, 7, 1), near = BandAt(image, g, t, -7, -2, 1), far = BandAt(image, g, t, 9, 60, 3), withinFar = BandAt(image, g, t, -60, -9, 3);
            bool seen = outer.Count > 0;
            outerCount[k + 1] = outerCount[k] + (seen ? 1 : 0);
            outerSum[k + 1] = outerSum[k] + (seen ? outer.Mean : 0);
            outerSquare[k + 1] = outerSquare[k] + (seen ? outer.Mean * outer.Mean : 0);
            outerTexture[k + 1] = outerTexture[k] + (seen ? outer.Texture : 0);
            constantCount[k + 1] = constantCount[k] + (seen && outer.Constant ? 1 : 0);
            innerCount[k + 1] = innerCount[k] + (near.Count > 0 ? 1 : 0);
            innerTexture[k + 1] = innerTexture[k] + (near.Count > 0 ? near.Texture : 0);
            farCount[k + 1] = farCount[k] + (far.Count > 0 ? 1 : 0);
            farTexture[k + 1] = farTexture[k] + (far.Count > 0 ? far.Texture : 0);
            nearCount[k + 1] = nearCount[k] + (withinFar.Count > 0 ? 1 : 0);
            nearTexture[k + 1] = nearTexture[k] + (withinFar.Count > 0 ? withinFar.Texture : 0);
            bool both = seen && near.Count > 0;
            double step = both ? outer.Mean - near.Mean : 0;
            stepCount[k + 1] = stepCount[k] + (both ? 1 : 0);
            stepSum[k + 1] = stepSum[k] + step;
            stepSquare[k + 1] = stepSquare[k] + (step * step);
        }
    }

    private Band BandAt(ReducedImage image, GradientField g, double t, int from, int to, int stride)
    {
        double sum = 0, texture = 0;
        int count = 0;
        ushort low = ushort.MaxValue, high = 0;
        for (int u = from; u <= to; u += stride)
        {
            int column = (int)Math.Round((NormalX * (Rho + u)) - (NormalY * t)), row = (int)Math.Round((NormalY * (Rho + u)) + (NormalX * t));
            if ((uint)column >= (uint)image.Columns || (uint)row >= (uint)image.Rows)
            {
                continue;
            }

            int i = (row * image.Columns) + column;
            sum += image.Mean[i];
            texture += g.Magnitude[i];
            low = Math.Min(low, image.Minimum[i]);
            high = Math.Max(high, image.Maximum[i]);
            count++;
        }

        return count == 0 ? default : new Band(count, sum / count, texture / count, low == high);
    }

    private readonly record struct Band(int Count, double Mean, double Texture, bool Constant);
}

/// <summary>What is seen along a piece of a line; lengths in cells, levels in pixel values.</summary>
internal readonly record struct SegmentEvidence(
    int Length,
    double Coverage,
    double Opposed,
    bool Rises,
    double OutsideMean,
    double OutsideSpread,
    double OutsideTexture,
    double OutsideConstant,
    double InsideTexture,
    double FarTexture,
    double WithinTexture,
    double StepMean,
    double StepSpread);
