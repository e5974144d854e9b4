using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>A straight line u = offset + slope·t through points of which some belong to something else.</summary>
internal static class StraightFit
{
    /// <summary>Reweighted least squares (Tukey's biweight, 4.685 times the spread from the median absolute residual), begun from the best of many two-point lines.</summary>
    internal static (double Offset, double Slope) Robust(IReadOnlyList<double> ts, IReadOnlyList<double> us)
    {
        LineFit fit = Fit(ts, us);
        return (fit.Offset, fit.Slope);
    }

    internal static LineFit Fit(IReadOnlyList<double> ts, IReadOnlyList<double> us, double leastScale = 0.05) => Fit([.. ts], [.. us], leastScale);

    private static LineFit Fit(ReadOnlySpan<double> ts, ReadOnlySpan<double> us, double leastScale)
    {
        int count = ts.Length;
        if (count < 2)
        {
            return new LineFit(count == 1 ? us[0] : 0, 0, double.PositiveInfinity, double.PositiveInfinity, 0, double.PositiveInfinity, 0);
        }

        // Least median of absolute residuals over two-point lines on a fixed pattern: no random source, so the same image gives the same figure.
        double offset = 0, slope = 0, bestMedian = double.PositiveInfinity;
        double[] residuals = new double[count], order = new double[count];
        int tries = 120;
        for (int k = 0; k < tries; k++)
        {
            int i = (int)((k * 0.6180339887 % 1) * count), j = (int)((k * 0.7548776662 % 1) * count);
            if (Math.Abs(ts[i] - ts[j]) < 0.15 * Math.Abs(ts[count - 1] - ts[0]))
            {
                continue;
            }

            double s = (us[j] - us[i]) / (ts[j] - ts[i]), o = us[i] - (s * ts[i]);
            int place = (int)(count * 0.6), better = 0;
            for (int m = 0; m < count; m++)
            {
                residuals[m] = Math.Abs(us[m] - o - (s * ts[m]));
                better += residuals[m] < bestMedian ? 1 : 0;
            }

            if (better > place)
            {
                (bestMedian, offset, slope) = (OrderStatistic.At(residuals.AsSpan(), place), o, s);
            }
        }

        double scale = leastScale, weightSum = 0, tMean = 0, tSpread = 0;
        for (int pass = 0; pass < 8; pass++)
        {
            for (int m = 0; m < count; m++)
            {
                residuals[m] = Math.Abs(us[m] - offset - (slope * ts[m]));
            }

            residuals.CopyTo(order, 0);
            scale = Math.Max(leastScale, OrderStatistic.At(order.AsSpan(), count / 2) / 0.6745);
            double w = 0, wt = 0, wu = 0;
            for (int m = 0; m < count; m++)
            {
                double weight = Weight(residuals[m], scale);
                w += weight;
                wt += weight * ts[m];
                wu += weight * us[m];
            }

            if (w < 2)
            {
                break;
            }

            double tm = wt / w, um = wu / w, stt = 0, stu = 0;
            for (int m = 0; m < count; m++)
            {
                double weight = Weight(residuals[m], scale), dt = ts[m] - tm;
                stt += weight * dt * dt;
                stu += weight * dt * (us[m] - um);
            }

            if (stt <= 0)
            {
                break;
            }

            slope = stu / stt;
            offset = um - (slope * tm);
            (weightSum, tMean, tSpread) = (w, tm, stt);
        }

        int inliers = residuals.Count(r => r < 3 * scale);
        return new LineFit(
            offset,
            slope,
            weightSum > 2 ? scale / Math.Sqrt(weightSum) : double.PositiveInfinity,
            tSpread > 0 ? scale / Math.Sqrt(tSpread) : double.PositiveInfinity,
            tMean,
            scale,
            (double)inliers / count);
    }

    private static double Weight(double residual, double scale)
    {
        double r = residual / (4.685 * scale);
        return r >= 1 ? 0 : (1 - (r * r)) * (1 - (r * r));
    }
}

/// <summary>A robust straight line: u = Offset + Slope·t; one standard deviation of its middle and of its slope; the spread of points about it and the share within three spreads.</summary>
internal readonly record struct LineFit(double Offset, double Slope, double MiddleUncertainty, double SlopeUncertainty, double MiddleT, double Spread, double InlierShare);
