using System.Numerics;
using Hotlight.Core;

namespace Hotlight.Simulation.Scene;

/// <summary>A side letter: lead in an acrylic holder on the receptor, or drawn afterwards.</summary>
internal sealed record SideMarker(char Letter, TrueMarkerKind Kind, PixelPoint CentrePixels, double HeightMm, double RotationDegrees)
{
    public double LeadMm { get; init; } = 1.2;

    public double HolderMm { get; init; } = 2.2;

    public bool Mirrored { get; init; }

    /// <summary>Distance to the middle of the letter's strokes and to the holder's outline, in mm, of a pixel.</summary>
    public (double Stroke, double Holder) DistancesMm(double column, double row, double spacingMm)
    {
        (double sin, double cos) = Math.SinCos(RotationDegrees * Math.PI / 180);
        double x = (column - CentrePixels.X) * spacingMm;
        double y = (row - CentrePixels.Y) * spacingMm;
        double upright = ((x * cos) + (y * sin)) * (Mirrored ? -1 : 1);
        Vector2 place = new((float)upright, (float)((y * cos) - (x * sin)));
        float scale = (float)(HeightMm / 14);
        float nearest = float.MaxValue;
        foreach ((Vector2 from, Vector2 to) in Strokes())
        {
            Vector2 line = (to - from) * scale;
            Vector2 offset = place - (from * scale);
            float share = Math.Clamp(Vector2.Dot(offset, line) / line.LengthSquared(), 0, 1);
            nearest = MathF.Min(nearest, (offset - (share * line)).Length());
        }

        // The holder: a rounded tab, longer than high.
        double hx = Math.Abs(place.X) - (HeightMm * 0.62);
        double hy = Math.Abs(place.Y) - (HeightMm * 0.62);
        double holder = Math.Sqrt(Math.Pow(Math.Max(hx, 0), 2) + Math.Pow(Math.Max(hy, 0), 2)) + Math.Min(Math.Max(hx, hy), 0) - (HeightMm * 0.18);
        return (nearest, holder);
    }

    private IEnumerable<(Vector2 From, Vector2 To)> Strokes()
    {
        // Drawn in a box 14 high, y down; the stroke is 2.4 wide.
        yield return (new(-3.6f, -5.8f), new(-3.6f, 5.8f));
        if (Letter == 'L')
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
