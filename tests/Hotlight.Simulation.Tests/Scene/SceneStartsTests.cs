using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation.Tests.Scene;

/// <summary>The letter that a scene begins with lies on the side of the body that it names.</summary>
public sealed class SceneStartsTests
{
    [Theory]
    [InlineData("chest", "pa", "ClavicleMedialEnd")]
    [InlineData("chest", "ap", "ClavicleMedialEnd")]
    [InlineData("lumbarSpine", "ap", "PedicleL3")]
    [InlineData("pelvis", "ap", "IschialSpine")]
    [InlineData("pelvis", "frog", "IschialSpine")]
    [Trait("evidence", "independent")]
    public void Letter_OfATrunkFromFrontOrBehind_LiesOnItsSide(string part, string view, string landmark)
    {
        SceneDocument start = SceneStarts.For(part, view);
        LabPlacement placed = Lab.Place(start);
        double At(string side) => (placed.Landmarks.Single(each => each.Name == side + landmark).Pixel.X - (placed.Columns / 2.0)) * placed.SpacingMm;
        string nearer = Math.Abs(start.Marker!.CentreMm[0] - At("left")) < Math.Abs(start.Marker.CentreMm[0] - At("right")) ? "L" : "R";
        Assert.Equal(nearer, start.Marker.Letter);
    }
}
