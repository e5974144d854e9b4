using Hotlight.Measure.Anatomy;

namespace Hotlight.Measure.Tests.Anatomy;

public sealed class SurfaceFitTests
{
    private const int Rows = 53;
    private const int Columns = 71;

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(double.PositiveInfinity)]
    [InlineData(1.1)]
    public void Evaluate_KnownSurface_IsThePolynomialBelowTheCeiling(double ceiling)
    {
        double[] surface = [1, 0.3, -0.2, 0.1, 0.05, -0.15];
        var level = new float[Rows * Columns];

        SurfaceFit.Evaluate(surface, Rows, Columns, ceiling, level);

        for (int i = 0; i < level.Length; i++)
        {
            // One step of single precision at values of 1 to 2.
            Assert.Equal(Math.Min(ceiling, At(surface, i)), level[i], 1.2e-7);
        }
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Fit_ExactSurface_IsFoundButForTheRidge()
    {
        double[] planted = [1, 0.3, -0.2, 0.1, 0.05, -0.15], found = [1, 0, 0, 0, 0, 0];
        var values = new float[Rows * Columns];
        var chosen = new bool[values.Length];
        for (int i = 0; i < values.Length; i++)
        {
            values[i] = (float)At(planted, i);
            chosen[i] = true;
        }

        Assert.True(SurfaceFit.Fit(values, chosen, Rows, Columns, 6, ref found, out double sigma));

        // The ridge of 0.002 takes from x and y, with a mean square of 1/3, 0.6 %; from xy, 1/9, 1.8 %; from x² and y², of variance 4/45, 2.2 %.
        for (int k = 1; k < 6; k++)
        {
            Assert.InRange(found[k] / planted[k], 1 - 0.025, 1.001);
        }

        Assert.InRange(sigma, 0, 0.025 * 0.3);
    }

    [Fact]
    public void Fit_TooFewCells_LeavesTheSurface()
    {
        double[] surface = [2, 0, 0, 0, 0, 0];
        var chosen = new bool[Rows * Columns];
        chosen[0] = chosen[5] = true;

        Assert.False(SurfaceFit.Fit(new float[Rows * Columns], chosen, Rows, Columns, 3, ref surface, out _));

        Assert.Equal([2, 0, 0, 0, 0, 0], surface);
    }

    private static double At(double[] s, int i)
    {
        double x = (2.0 * (i % Columns) / Columns) - 1, y = (2.0 * (i / Columns) / Rows) - 1;
        return s[0] + (s[1] * x) + (s[2] * y) + (s[3] * x * x) + (s[4] * x * y) + (s[5] * y * y);
    }
}
