using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>An axis-parallel box, in mm.</summary>
internal readonly record struct Box(Vector3 Minimum, Vector3 Maximum)
{
    public static Box Around(Vector3 centre, float radius) => new(centre - new Vector3(radius), centre + new Vector3(radius));

    public Box Grown(float mm) => new(Minimum - new Vector3(mm), Maximum + new Vector3(mm));

    public Box With(Box other) => new(Vector3.Min(Minimum, other.Minimum), Vector3.Max(Maximum, other.Maximum));

    public IEnumerable<Vector3> Corners()
    {
        for (int corner = 0; corner < 8; corner++)
        {
            yield return new Vector3(
                (corner & 1) == 0 ? Minimum.X : Maximum.X,
                (corner & 2) == 0 ? Minimum.Y : Maximum.Y,
                (corner & 4) == 0 ? Minimum.Z : Maximum.Z);
        }
    }
}
