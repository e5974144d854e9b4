using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A bent plate of uneven thickness, such as the wing of the ilium: an outline in a plane, and for each place in it where the plate's middle lies off the plane and how thick it is.</summary>
internal sealed class Blade : Shape
{
    private readonly Pose frame;
    private readonly Outline outline;
    private readonly Func<Vector2, float> bowMm;
    private readonly Func<Vector2, float, float> halfThicknessMm;
    private readonly float rimMm;
    private readonly float steepness;

    /// <param name="frame">Frame of the plate: x and y in its plane.</param>
    /// <param name="corners">Corners of the outline in that frame, in mm.</param>
    /// <param name="bowMm">How far the middle lies off the plane at a place, in mm.</param>
    /// <param name="halfThicknessMm">Half the thickness at a place and at its distance from the outline, in mm.</param>
    /// <param name="rimMm">Rounding of the rim, in mm, at most half the thickness.</param>
    /// <param name="steepest">Greatest slope of bow and thickness; distances are divided by what it does to them.</param>
    public Blade(Pose frame, (double U, double V)[] corners, Func<Vector2, float> bowMm, Func<Vector2, float, float> halfThicknessMm, float rimMm, float steepest)
    {
        this.frame = frame;
        outline = Outline.FromFront(corners);
        this.bowMm = bowMm;
        this.halfThicknessMm = halfThicknessMm;
        this.rimMm = rimMm;
        steepness = MathF.Sqrt(1 + (steepest * steepest));
        float low = 0;
        float high = 0;
        for (float u = outline.Minimum.X; u <= outline.Maximum.X; u += 3)
        {
            for (float v = outline.Minimum.Y; v <= outline.Maximum.Y; v += 3)
            {
                float inPlane = outline.Distance(new Vector3(u, v, 0), out _);
                if (inPlane < 3)
                {
                    float bow = bowMm(new Vector2(u, v));
                    float half = halfThicknessMm(new Vector2(u, v), MathF.Min(inPlane, 0));
                    low = MathF.Min(low, bow - half);
                    high = MathF.Max(high, bow + half);
                }
            }
        }

        Bounds = frame.ToOuter(new Box(new Vector3(outline.Minimum, low - 1), new Vector3(outline.Maximum, high + 1)));
    }

    public override Box Bounds { get; }

    public override float Distance(Vector3 point)
    {
        Vector3 local = frame.ToLocal(point);
        Vector2 place = new(local.X, local.Y);
        float inPlane = outline.Distance(local with { Z = 0 }, out _);
        Vector2 kept = Vector2.Clamp(place, outline.Minimum, outline.Maximum);
        float half = halfThicknessMm(kept, MathF.Min(inPlane, 0));
        float rim = MathF.Min(rimMm, half);
        float across = inPlane + rim;
        float through = MathF.Abs(local.Z - bowMm(kept)) - half + rim;
        float distance = across > 0 && through > 0 ? MathF.Sqrt((across * across) + (through * through)) - rim : MathF.Max(across, through) - rim;
        return distance / steepness;
    }
}
