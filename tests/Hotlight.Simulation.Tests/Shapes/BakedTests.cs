using System.Numerics;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Shapes;

public sealed class BakedTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Distance_OfABakedSphere_IsThatOfTheSphereWithinItsCells()
    {
        Baked baked = new(new Ellipsoid(Vector3.Zero, new Vector3(20)), 1, new Box(new Vector3(-50), new Vector3(50)));

        // Trilinear in cells of 1 mm of a distance whose curvature is 1/r: the error is at most 3·h²/(8·r), 0.019 mm at 20 mm.
        Assert.All(new[] { new Vector3(19.3f, 2.2f, 1.7f), new Vector3(10.4f, -11.6f, 12.1f), new Vector3(-0.5f, 20.5f, 0.4f) }, point
            => Assert.Equal(point.Length() - 20, baked.Distance(point), 0.03f));
    }
}
