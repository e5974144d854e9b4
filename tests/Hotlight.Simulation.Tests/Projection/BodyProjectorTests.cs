using System.Numerics;
using Hotlight.Core;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Projection;

public sealed class BodyProjectorTests
{
    // Far enough that rays are nearly parallel; the exact ray is used in every sum below.
    private static readonly BeamGeometry Geometry = new(121, 121, 1, 1000);

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 0)]
    [InlineData(12, 0)]
    [InlineData(-9, 14)]
    [InlineData(20, -11)]
    public void Chords_Sphere_IsTwiceRootOfRadiusSquaredMinusDistanceSquared(int dx, int dy)
    {
        Vector3 centre = new(3, -5, 60);
        const float Radius = 30;
        double chord = Chord(new Ellipsoid(centre, new Vector3(Radius)), 60 + dx, 60 + dy);

        // Distance of the ray from the sphere's centre: |(c − s) × u|, u the ray's unit vector.
        Vector3 source = new(0, 0, 1000);
        Vector3 pixel = new(dx, dy, 0);
        double distance = Vector3.Cross(centre - source, Vector3.Normalize(pixel - source)).Length();
        double expected = 2 * Math.Sqrt((Radius * Radius) - (distance * distance));

        // The crossing is placed linearly in a distance that is exact for a sphere: a step of 0.5 mm errs by at most step²/(8·radius) at each end.
        Assert.Equal(expected, chord, 0.02 + (0.001 * expected));
    }

    [Theory]
    [Trait("evidence", "analytic")]
    [InlineData(0, 0)]
    [InlineData(8, 10)]
    [InlineData(-15, 4)]
    public void Chords_Ellipsoid_IsThatOfTheSquashedSphere(int dx, int dy)
    {
        Vector3 centre = new(0, 0, 50);
        Vector3 radii = new(28, 20, 36);
        double chord = Chord(new Ellipsoid(centre, radii), 60 + dx, 60 + dy);

        // |o + t·u|² = 1 in coordinates divided by the radii: a quadratic in t; chord = √(b² − ac)·2/a.
        Vector3 source = new(0, 0, 1000);
        Vector3 u = Vector3.Normalize(new Vector3(dx, dy, 0) - source);
        Vector3 o = (source - centre) / radii;
        Vector3 d = u / radii;
        double a = Vector3.Dot(d, d);
        double b = Vector3.Dot(o, d);
        double c = (double)Vector3.Dot(o, o) - 1;
        double expected = 2 * Math.Sqrt((b * b) - (a * c)) / a;

        // The ellipsoid's distance is first order, and o·o is near 700 in single precision: 0.2 %.
        Assert.Equal(expected, chord, 0.03 + (0.002 * expected));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Chords_CapsuleAlongTheAxisOfColumns_IsThatOfACylinderInItsMiddle()
    {
        const float Radius = 15;
        double chord = Chord(new TaperedCapsule(new(-40, 0, 40), new(40, 0, 40), Radius, Radius), 60, 66);

        // At the middle the ray (0, 6·(1 − z/1000), z) crosses a cylinder along x: distance of the axis point (0, 40) from the line in the y-z plane.
        Vector3 u = Vector3.Normalize(new Vector3(0, 6, 0) - new Vector3(0, 0, 1000));
        double distance = Math.Abs((-960 * u.Y) - 0);
        double expected = 2 * Math.Sqrt((Radius * Radius) - (distance * distance));
        Assert.Equal(expected, chord, 0.02 + (0.001 * expected));
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Chords_BakedSphere_AgreesWithTheClosedFormWithinItsCells()
    {
        Ellipsoid sphere = new(new Vector3(0, 0, 60), new Vector3(25));
        Baked baked = new(sphere, 0.8f, new Box(new Vector3(-200), new Vector3(200)));
        double chord = Chord(baked, 70, 60);
        Vector3 u = Vector3.Normalize(new Vector3(10, 0, 0) - new Vector3(0, 0, 1000));
        double distance = Vector3.Cross(new Vector3(0, 0, -940), u).Length();
        double expected = 2 * Math.Sqrt((25.0 * 25) - (distance * distance));

        // Trilinear interpolation of a distance errs by at most 3·cell²/(8·radius) = 0.01 mm at each crossing, lengthened by the slant 25/chord half.
        Assert.Equal(expected, chord, 0.06);
    }

    [Fact]
    [Trait("evidence", "published")]
    public void Project_MagnificationOfAPointAboveTheReceptor_IsSidOverSod()
    {
        // Worked example of the geometry sheet: OID 10 cm at SID 110 cm gives 1.1000.
        BeamGeometry geometry = new(100, 100, 0.5, 1100);
        PixelPoint place = geometry.Project(new Vector3(10, 0, 100));
        Assert.Equal(10 * 1.1000, (place.X - geometry.CentralRay.X) * 0.5, 1e-4);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void IntensityOverCentre_OffTheCentralRay_FallsWithTheCubeOfTheCosine()
    {
        // Inverse square gives cos², the receptor's tilt to the ray one more: at 1000 mm off at SID 1000 mm, 45°, (1/√2)³.
        Assert.Equal(Math.Pow(0.5, 1.5), Geometry.IntensityOverCentre(1000, 0), 1e-6);
    }

    private static double Chord(Shape shape, int column, int row)
    {
        BodyProjector projector = new(Geometry, new Box(new Vector3(-500), new Vector3(500)), 1);
        return projector.Chords(shape, 0.5f, 1, 0, Vector3.UnitY, out _)[row, column];
    }
}
