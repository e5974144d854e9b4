namespace Hotlight.Measure.Landmarks;

/// <summary>First-order propagation of the points' uncertainty through a function of their coordinates.</summary>
/// <remarks>
/// <para>Source: JCGM 100:2008 (GUM), 5.1.2 and 5.2.2: u²(y) = Σ Σ cᵢ·cⱼ·u(xᵢ, xⱼ), with the sensitivities c by central differences. Points are independent of each other.</para>
/// <para>Holds when the function is as good as straight over one deviation of each point.</para>
/// </remarks>
public static class Propagation
{
    // Central differences of a smooth function: error of the order of the step squared; small against any figure's uncertainty, large against rounding.
    private const double StepPixels = 1e-4;

    /// <summary>Deviations of each of a function's results.</summary>
    /// <param name="points">The points.</param>
    /// <param name="function">Results from coordinates x₀, y₀, x₁, y₁, … in pixels.</param>
    public static double[] Deviations(IReadOnlyList<LandmarkPoint> points, Func<double[], double[]> function)
    {
        var at = new double[2 * points.Count];
        for (int i = 0; i < points.Count; i++)
        {
            at[2 * i] = points[i].Point.X;
            at[(2 * i) + 1] = points[i].Point.Y;
        }

        double[] variance = new double[function(at).Length];
        for (int i = 0; i < points.Count; i++)
        {
            double[] byX = Sensitivity(at, 2 * i, function), byY = Sensitivity(at, (2 * i) + 1, function);
            LandmarkPoint point = points[i];
            for (int k = 0; k < variance.Length; k++)
            {
                variance[k] += (byX[k] * byX[k] * point.VarianceX) + (byY[k] * byY[k] * point.VarianceY) + (2 * byX[k] * byY[k] * point.Covariance);
            }
        }

        return [.. variance.Select(value => Math.Sqrt(Math.Max(0, value)))];
    }

    private static double[] Sensitivity(double[] at, int index, Func<double[], double[]> function)
    {
        double[] moved = [.. at];
        moved[index] = at[index] + StepPixels;
        double[] above = function(moved);
        moved[index] = at[index] - StepPixels;
        double[] below = function(moved);
        return [.. above.Zip(below, (high, low) => (high - low) / (2 * StepPixels))];
    }
}
