using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>One station of a <see cref="Swept"/> body: a point of its middle line and the radius there, in mm.</summary>
internal readonly record struct SweptStation(Vector3 Point, float Radius);

/// <summary>A round body that follows a smooth line through given points, with radii of its own and round ends.</summary>
internal sealed class Swept : Shape
{
    private const int PiecesPerStation = 8;
    private const float FarMm = 12;
    private readonly SweptStation[] line;
    private readonly Box bounds;

    /// <param name="stations">Two or more.</param>
    public Swept(params SweptStation[] stations)
    {
        Curve x = Along(stations, each => each.Point.X);
        Curve y = Along(stations, each => each.Point.Y);
        Curve z = Along(stations, each => each.Point.Z);
        Curve radius = Along(stations, each => each.Radius);
        int pieces = (stations.Length - 1) * PiecesPerStation;
        line = new SweptStation[pieces + 1];
        for (int piece = 0; piece <= pieces; piece++)
        {
            float at = piece / (float)PiecesPerStation;
            line[piece] = new SweptStation(new Vector3(x.At(at), y.At(at), z.At(at)), radius.At(at));
        }

        bounds = line.Select(each => Box.Around(each.Point, each.Radius)).Aggregate((a, b) => a.With(b));

        static Curve Along(SweptStation[] stations, Func<SweptStation, float> value) => new([.. stations.Select((each, at) => ((double)at, (double)value(each)))]);
    }

    public override Box Bounds => bounds;

    public override float Distance(Vector3 point)
    {
        // Far off, the distance to the box is a lower bound that costs nothing.
        float toBox = Vector3.Max(Vector3.Max(bounds.Minimum - point, point - bounds.Maximum), Vector3.Zero).Length();
        if (toBox > FarMm)
        {
            return toBox;
        }

        float nearest = float.MaxValue;
        for (int piece = 1; piece < line.Length; piece++)
        {
            (Vector3 from, float fromRadius) = line[piece - 1];
            (Vector3 to, float toRadius) = line[piece];
            Vector3 along = to - from;
            Vector3 offset = point - from;
            float share = Math.Clamp(Vector3.Dot(offset, along) / MathF.Max(1e-6f, along.LengthSquared()), 0, 1);
            nearest = MathF.Min(nearest, (offset - (share * along)).Length() - (fromRadius + (share * (toRadius - fromRadius))));
        }

        return nearest;
    }
}
