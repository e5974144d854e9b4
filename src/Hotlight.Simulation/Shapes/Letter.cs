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

    /// <param name="letter">R or L.</param>
    /// <param name="heightMm">Height, in mm.</param>
    /// <param name="thicknessMm">Thickness of the sheet, in mm; the letter's middle lies at z = 0.</param>
    /// <exception cref="ArgumentException">The letter is neither R nor L.</exception>
    public Letter(char letter, double heightMm, double thicknessMm)
    {
        float scale = (float)(heightMm / 14);
        strokes = [.. Strokes(letter).Select(stroke => (stroke.From * scale, stroke.To * scale))];
        halfStroke = 1.25f * scale;
        halfThickness = (float)(thicknessMm / 2);
        reach = (float)heightMm;
    }

    public override Box Bounds => new(new Vector3(-reach, -reach, -halfThickness), new Vector3(reach, reach, halfThickness));

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

    private static IEnumerable<(Vector2 From, Vector2 To)> Strokes(char letter)
    {
        if (letter is not ('R' or 'L'))
        {
            throw new ArgumentException($"There is no letter '{letter}'; there are R and L.", nameof(letter));
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
