using System.Numerics;

namespace Hotlight.Simulation.Shapes;

/// <summary>A capital letter of round strokes in the x-y plane (y down, as on an image), cut out of a sheet.</summary>
/// <remarks>Drawn in a box 14 high with strokes 2.5 wide, scaled to the letter's height.</remarks>
internal sealed class Letter : Shape
{
    private readonly (Vector2 From, Vector2 To)[] strokes;
    private readonly float halfStroke;
    private readonly float halfThickness;
    private readonly float reach;

    // From one letter of a word to the next, beyond the middles of the strokes, in the strokes' own units.
    private const float GapUnits = 4.4f;

    /// <param name="text">R, L or a word of capitals.</param>
    /// <param name="heightMm">Height, in mm.</param>
    /// <param name="thicknessMm">Thickness of the sheet, in mm; the letter's middle lies at z = 0.</param>
    /// <exception cref="ArgumentException">The text is empty or holds a sign that is no capital A to Z.</exception>
    public Letter(string text, double heightMm, double thicknessMm)
    {
        float scale = (float)(heightMm / 14);
        strokes = [.. Line(text).Select(stroke => (stroke.From * scale, stroke.To * scale))];
        halfStroke = 1.25f * scale;
        halfThickness = (float)(thicknessMm / 2);
        reach = MathF.Max((float)heightMm, strokes.Max(stroke => MathF.Max(MathF.Abs(stroke.From.X), MathF.Abs(stroke.To.X))) + (0.3f * (float)heightMm));
    }

    public override Box Bounds => new(new Vector3(-reach, -Half, -halfThickness), new Vector3(reach, Half, halfThickness));

    /// <summary>Farthest from the middle along the line that the strokes may reach, in mm.</summary>
    public float ReachMm => reach;

    private float Half => halfStroke / 1.25f * 14;

    /// <summary>Half the width of the strokes, in mm.</summary>
    public float HalfStrokeMm => halfStroke;

    /// <summary>Distance of a place of the x-y plane from the middle of the nearest stroke, in mm.</summary>
    public float FromStrokes(Vector2 place)
    {
        float nearest = float.MaxValue;
        foreach ((Vector2 from, Vector2 to) in strokes)
        {
            Vector2 line = to - from;
            Vector2 offset = place - from;
            float share = Math.Clamp(Vector2.Dot(offset, line) / line.LengthSquared(), 0, 1);
            nearest = MathF.Min(nearest, (offset - (share * line)).Length());
        }

        return nearest;
    }

    public override float Distance(Vector3 point)
    {
        float inPlane = FromStrokes(new Vector2(point.X, point.Y)) - halfStroke;
        float through = MathF.Abs(point.Z) - halfThickness;
        return inPlane > 0 && through > 0 ? MathF.Sqrt((inPlane * inPlane) + (through * through)) : MathF.Max(inPlane, through);
    }

    // The letters side by side, the middle of the line at 0.
    private static List<(Vector2 From, Vector2 To)> Line(string text)
    {
        if (text.Length == 1)
        {
            return [.. Strokes(text[0])];
        }

        List<(Vector2 From, Vector2 To)> line = [];
        float at = 0;
        foreach (char letter in text)
        {
            (Vector2 From, Vector2 To)[] own = [.. Strokes(letter)];
            float left = own.Min(stroke => MathF.Min(stroke.From.X, stroke.To.X)), right = own.Max(stroke => MathF.Max(stroke.From.X, stroke.To.X));
            Vector2 move = new(at - left, 0);
            line.AddRange(own.Select(stroke => (stroke.From + move, stroke.To + move)));
            at += right - left + GapUnits;
        }

        Vector2 back = new((at - GapUnits) / 2, 0);
        return [.. line.Select(stroke => (stroke.From - back, stroke.To - back))];
    }

    private static IEnumerable<(Vector2 From, Vector2 To)> Strokes(char letter)
    {
        if (letter is not ('R' or 'L'))
        {
            foreach ((Vector2 from, Vector2 to) in Capitals.Strokes(letter))
            {
                yield return (new(-3.6f + (7.2f * from.X), -5.8f + (11.6f * from.Y)), new(-3.6f + (7.2f * to.X), -5.8f + (11.6f * to.Y)));
            }

            yield break;
        }

        yield return (new(-3.6f, -5.8f), new(-3.6f, 5.8f));
        if (letter == 'L')
        {
            yield return (new(-3.6f, 5.8f), new(3.6f, 5.8f));
            yield break;
        }

        yield return (new(-3.6f, -5.8f), new(0.6f, -5.8f));
        Vector2 previous = new(0.6f, -5.8f);
        for (int piece = 1; piece <= 8; piece++)
        {
            (float sin, float cos) = MathF.SinCos(MathF.PI * piece / 8);
            Vector2 next = new(0.6f + (3 * sin), -2.8f - (3 * cos));
            yield return (previous, next);
            previous = next;
        }

        yield return (new(-3.6f, 0.2f), new(0.6f, 0.2f));
        yield return (new(0.2f, 0.2f), new(3.8f, 5.8f));
    }
}
