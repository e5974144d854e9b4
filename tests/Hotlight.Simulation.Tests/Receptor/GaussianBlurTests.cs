using Hotlight.Core;
using Hotlight.Simulation.Receptor;

namespace Hotlight.Simulation.Tests.Receptor;

public sealed class GaussianBlurTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Blurred_Step_FollowsTheErrorFunction()
    {
        Raster<float> step = new(9, 80);
        for (int row = 0; row < 9; row++)
        {
            step.Row(row)[40..].Fill(1);
        }

        Raster<float> blurred = GaussianBlur.Blurred(step, 3);

        // The step lies at 39.5; Φ(1.5/3) and Φ(4.5/3) of tables: 0.69146, 0.93319. The kernel is sampled and cut: 1e-3.
        Assert.Equal(0.69146, blurred[4, 41], 1e-3);
        Assert.Equal(0.93319, blurred[4, 44], 1e-3);
    }
}
