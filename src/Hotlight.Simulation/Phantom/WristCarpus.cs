using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>The eight carpal bones and the distal ends of radius and ulna, in the wrist's frame at rest. Each hollow is cut by its neighbour grown by the cartilage between them, so that joint spaces are even.</summary>
internal sealed class WristCarpus
{
    /// <summary>Cartilage between the bones of the carpus, both layers, in mm.</summary>
    private const float MidcarpalMm = 1.45f;

    private const float RadiocarpalMm = 2f;

    private readonly Lazy<Shape> capitate;
    private readonly Lazy<Shape> hamate;
    private readonly Lazy<Shape> scaphoid;
    private readonly Lazy<Shape> lunate;
    private readonly Lazy<Shape> triquetrum;
    private readonly Lazy<Shape> trapezium;
    private readonly Lazy<Shape> trapezoid;
    private readonly Lazy<Shape> ulna;

    public WristCarpus()
    {
        capitate = new Lazy<Shape>(DrawCapitate);
        hamate = new Lazy<Shape>(DrawHamate);
        scaphoid = new Lazy<Shape>(DrawScaphoid);
        lunate = new Lazy<Shape>(DrawLunate);
        triquetrum = new Lazy<Shape>(DrawTriquetrum);
        trapezium = new Lazy<Shape>(DrawTrapezium);
        trapezoid = new Lazy<Shape>(DrawTrapezoid);
        ulna = new Lazy<Shape>(DrawUlna);
    }

    public Shape Capitate => capitate.Value;

    public Shape Hamate => hamate.Value;

    public Shape Scaphoid => scaphoid.Value;

    public Shape Lunate => lunate.Value;

    public Shape Triquetrum => triquetrum.Value;

    public Shape Trapezium => trapezium.Value;

    public Shape Trapezoid => trapezoid.Value;

    public Shape Ulna => ulna.Value;

    /// <summary>The pea bone lies before the triquetrum.</summary>
    public static Shape Pisiform() => new SmoothUnion(4, new Ellipsoid(V(-18.2, 1.4, -8.7), V(5.2, 6.4, 4)), new Ellipsoid(V(-17.6, 3.4, -9.5), V(4.2, 5, 3.8)));

    public Shape Radius()
    {
        Shape block = new QuadrantLoft(
            new(-205, 0.5, 13.5, -6.5, 6, 6, 0),
            new(-150, 1, 14.6, -6.2, 5.8, 7, 0),
            new(-110, 1.6, 15.6, -6, 5.8, 8, 0),
            new(-75, 1.6, 16, -6.2, 6, 9, 0),
            new(-52, 0, 16.6, -7.2, 6.8, 9, 0, 2.1),
            new(-38, -2.2, 17.6, -8.6, 8.4, 8.5, 0, 2.2),
            new(-28, -5.4, 18.9, -9.5, 9.6, 7.5, 0, 2.5),
            new(-20, -8.6, 20.6, -10, 10.3, 6.5, 0, 2.8),
            new(-12, -10.2, 22.8, -9.8, 10.4, 6, 0, 2.9),
            new(-5, -9.8, 23.2, -9.2, 10, 6, 0, 2.8),
            new(3, -9, 22.8, -8, 9, 6, 0, 2.6));
        Shape lister = new TaperedCapsule(V(4, -16, 9.2), V(3.6, -9.5, 9.4), 2.2f, 2.6f);
        Shape shape = new SmoothUnion(2.5f, block, lister);

        // The distal end slopes 22 degrees to the ulna and 11 degrees to the palm.
        shape = new SmoothShared(2.6f, shape, new HalfSpace(V(6, -5, 0), V(-0.4, 1, -0.19)));
        shape = new SmoothShared(2.5f, shape, new HalfSpace(V(6, -4.4, 8.6), V(-0.4, 1, 0.8)));
        shape = new SmoothShared(3.5f, shape, new HalfSpace(V(23, -3, -2), V(1, 0.36, -0.1)));
        return new SmoothCut(1.2f, shape, new Inset(Scaphoid, -RadiocarpalMm), new Inset(Lunate, -RadiocarpalMm), new TaperedCapsule(V(-19.6, -18.4, 0.6), V(-20, -50, 0.6), 9.9f, 6));
    }

    private static Shape DrawUlna()
    {
        Shape block = new QuadrantLoft(
            new(-205, -28, -14, -6, 6),
            new(-150, -27, -13.6, -5.6, 5.8),
            new(-110, -26.4, -13.8, -5.4, 5.4),
            new(-75, -25.6, -14.4, -5, 5.2),
            new(-50, -25.2, -15.2, -4.8, 5.2),
            new(-36, -25.8, -15, -5, 5.8),
            new(-27, -27, -13.6, -6.4, 7.2),
            new(-21, -27.7, -12.2, -7.4, 8),
            new(-17, -27.6, -11.9, -7.4, 8),
            new(-15, -26.8, -12.8, -6.4, 7.2),
            new(-14.2, -25, -15, -5, 6));
        Shape styloid = new SmoothUnion(2, new TaperedCapsule(V(-24.4, -18, 2.8), V(-25.3, -11.8, 3.2), 3.2f, 2f), new TaperedCapsule(V(-25.3, -11.8, 3.2), V(-25, -8.8, 3.4), 2f, 1.2f));
        Shape dome = new Ellipsoid(V(-18, -17, 0.6), V(5.8, 3.8, 6));
        Shape fovea = new Ellipsoid(V(-23.2, -12.4, 1), V(1.7, 2.2, 3));
        return new SmoothCut(1.5f, new SmoothUnion(2.4f, block, dome, styloid), fovea);
    }

    private static Shape DrawCapitate()
    {
        Shape body = new Profiled(
            2.6,
            [(-5.2, 4), (-2.4, 1.6), (0.8, 1.2), (3.4, 2.6), (5, 5.6), (5.2, 9), (4.7, 12.2), (6.2, 16.4), (7.8, 20.2), (7.4, 23.2), (4.4, 24.9), (-1, 26.1), (-5.4, 25.9), (-6.6, 21.4), (-5.8, 14), (-6.2, 10), (-6.2, 6.8)],
            [(-6, 3.2), (-3.4, 1.4), (0.4, 1), (4, 2.2), (6.4, 5), (6.7, 8.4), (6, 11.6), (7.4, 15), (9.4, 19.2), (9.2, 23), (4.6, 25.4), (-2, 26.4), (-7.4, 24.9), (-9.4, 20.4), (-8, 15), (-6.2, 11.4), (-6.8, 8), (-7, 5.4)]);
        return body;
    }

    private Shape DrawHamate()
    {
        Shape body = new Profiled(
            2,
            [(-7.6, 4.6), (-6.2, 9), (-5.4, 14), (-6.4, 20), (-7, 21.8), (-9.6, 23.4), (-13.6, 22.8), (-17.8, 20.8), (-21, 18.2), (-21.4, 15.4), (-18.4, 11.8), (-14.4, 8), (-10.6, 4.8)],
            [(-4.6, 4), (0, 3.2), (5, 4.8), (7.6, 9), (9, 15.4), (8.4, 20.6), (4, 23.6), (-2, 25), (-6.4, 22.6), (-6.8, 14), (-6, 8)]);
        Shape hook = new SmoothUnion(3, new TaperedCapsule(V(-13.6, 18.6, -5), V(-12.6, 18.2, -11.4), 3.8f, 3f), new TaperedCapsule(V(-12.6, 18.8, -11.4), V(-11.4, 16.8, -14), 3.1f, 2.6f));
        return new SmoothCut(0.8f, new SmoothUnion(3, body, hook), new Inset(Capitate, -1.05f));
    }

    private Shape DrawScaphoid()
    {
        Shape body = new Profiled(
            2.8,
            [(3.2, -2), (3.3, -5.6), (4.8, -7.8), (7.6, -8.1), (11, -6.4), (13.8, -3.6), (15.8, -0.6), (18, 2), (20.8, 4.2), (21.8, 7.4), (20.2, 10.4), (16.4, 11.2), (11.6, 10.6), (7.4, 9), (4.6, 5), (3.2, 1.4)],
            [(6.6, -5), (4, -8.8), (-0.6, -9.2), (-5.4, -7.4), (-8.2, -3.6), (-10.6, 0.6), (-14, 3.8), (-16, 7.2), (-14.6, 10.6), (-10, 11.8), (-4.6, 11), (0.6, 8.6), (3.4, 4.6), (6, 0)],
            null);
        return new SmoothCut(0.9f, body, new Inset(Capitate, -MidcarpalMm));
    }

    private Shape DrawLunate()
    {
        Shape body = new Profiled(
            2.4,
            [(1.4, -0.4), (1.5, -4.6), (0.3, -8.2), (-3.2, -10.7), (-7.8, -10.8), (-11.2, -8), (-12, -4), (-10.6, -0.2), (-8.4, 2.8), (-5, 4.6), (-1, 4), (1.2, 2)],
            [(-9.6, 3.6), (-10.4, -1), (-9, -6), (-5, -9.8), (-0.4, -11), (4, -9.6), (7.2, -6.2), (8.2, -2), (7.4, 2.6), (4.6, 4), (0, 2), (-5.6, 4.6)]);
        return new SmoothCut(0.9f, body, new Inset(Capitate, -MidcarpalMm), new Inset(Hamate, -MidcarpalMm), new Inset(Scaphoid, -MidcarpalMm));
    }

    private Shape DrawTriquetrum()
    {
        Shape body = new Profiled(
            2.4,
            [(-12.6, -4.4), (-11.6, 0), (-11.8, 3.4), (-14.4, 6.8), (-18.4, 9.6), (-22.4, 9.6), (-24.6, 6), (-24, 1.6), (-21.6, -2.8), (-17.6, -6.4), (-14, -7)],
            [(-3.6, 4), (-4.4, 0), (-2.4, -4.6), (2, -6.8), (6.6, -4.6), (9, 0), (8.8, 5), (5.4, 9), (0, 9.2)]);
        return new SmoothCut(0.8f, body, new Inset(Hamate, -MidcarpalMm), new Inset(Lunate, -MidcarpalMm), new Inset(Pisiform(), -1.3f));
    }

    private Shape DrawTrapezoid()
    {
        Shape body = new Profiled(
            1.8,
            [(7, 13.4), (9.8, 11.4), (13.6, 12.4), (16.6, 14.8), (17.6, 18.6), (16, 22), (12.8, 24.8), (9.8, 23.2), (8.2, 20)],
            [(-3.6, 14.6), (-1.4, 12), (3, 11.4), (7, 12.4), (9.2, 16), (9, 20.4), (6, 23.8), (0.8, 24.8), (-3.2, 21)]);
        return new SmoothCut(0.7f, body, new Inset(Capitate, -MidcarpalMm), new Inset(Scaphoid, -MidcarpalMm), new Inset(Trapezium, -1.5f));
    }

    private Shape DrawTrapezium()
    {
        Shape body = new Posed(Pose.Turned(V(21.6, 16.6, -7.6), 0, -32, -24), new Profiled(
            2.2,
            [(-8.6, -1.4), (-7, -5.8), (-2, -7.6), (3.6, -7.2), (7.6, -4), (9.2, 1), (8.6, 5.8), (4.2, 6), (0, 5.6), (-4.6, 7), (-8, 6.4), (-8.8, 2.4)],
            [(-6, -4), (-2, -7), (3, -6.8), (5.6, -2.6), (6.4, 3.4), (4.6, 6.6), (0, 7.2), (-4.8, 6.2), (-6.8, 1)]));
        Shape ridge = new TaperedCapsule(V(18, 13, -13), V(19, 19, -13.4), 2.2f, 2);
        return new SmoothCut(0.8f, new SmoothUnion(2.5f, body, ridge), new Inset(Scaphoid, -MidcarpalMm));
    }
}
