using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>Vertebrae of the chest, each in its own frame: origin in the middle of the body, x left, y up, z back, in mm.</summary>
/// <remarks>
/// Bodies: typical thoracic ones are 12 to 31 mm deep, 22 to 36 mm wide and 12 to 25 mm high in front (200 dry vertebrae, Int J Anat Phys Biochem 2014;1(1)).
/// Heights grow from T2 (16.9 mm in front) to T9 (18.8 mm; 208 vertebrae, J Anat Soc India 2019;68:110). The growth of widths and depths from level to level is from memory.
/// </remarks>
internal static class ChestSpine
{
    /// <summary>Width, depth and height of the body, half span of the transverse processes, fall and length of the spinous process below and behind the body's middle.</summary>
    private static readonly (double Width, double Depth, double Height, double Span, double Fall, double Spine)[] Sizes =
    [
        (26, 17, 14.5, 26, 10, 42), (28, 17.5, 15.5, 33, 11, 52), (30, 18, 16.5, 37, 13, 54), (29, 19.5, 17.2, 34, 16, 53), (28, 21.5, 17.8, 31, 20, 52), (27.5, 23, 18.4, 30, 24, 51), (28, 24.5, 19, 30, 29, 50), (28.5, 26, 19.4, 30, 31, 50),
        (29, 27, 19.8, 30, 32, 50), (30, 28, 20.1, 29.5, 31, 50), (31, 29, 20.4, 28.5, 27, 50), (32.5, 29.8, 21.4, 26.5, 22, 51), (35, 30.4, 22.6, 23, 17, 52), (38, 31, 24, 20, 13, 54),
    ];

    /// <summary>Names of the vertebrae in <see cref="ChestMeasures.Bodies"/>.</summary>
    public static string LevelName(int index) => index < 2 ? $"C{6 + index}" : index < 14 ? $"T{index - 1}" : $"L{index - 13}";

    /// <summary>Draws one vertebra.</summary>
    /// <param name="index">0 is C6, 2 is T1, 13 is T12, 15 is L2.</param>
    /// <param name="size">A child's body is rounder at its rims, where the ring apophyses are still cartilage.</param>
    public static Shape Vertebra(int index, BodySize size)
    {
        if (index > 13)
        {
            return LumbarSpineBones.Vertebra(index - 13, size);
        }

        (double w, double d, double h, double span, double fall, double spine) = Sizes[index];
        bool child = size == BodySize.Child;
        double rim = child ? 1.9 : 0.9;
        double hw = w / 2;
        double hh = h / 2 * (child ? 0.93 : 1);
        double hd = d / 2;
        Shape block = new Column(
            new Slice(-hh, 0, 0, hw - rim, hd - rim, (hd * 0.86) - rim),
            new Slice(-hh + (0.8 * rim), 0, 0, hw - (0.25 * rim), hd - (0.25 * rim), hd * 0.86),
            new Slice(-hh * 0.55, 0, 0, hw * 0.945, hd * 0.955, hd * 0.84),
            new Slice(0, 0, 0, hw * 0.9, hd * 0.925, hd * 0.82),
            new Slice(hh * 0.55, 0, 0, hw * 0.94, hd * 0.955, hd * 0.84),
            new Slice(hh - (0.8 * rim), 0, 0, hw - (0.25 * rim), hd - (0.25 * rim), hd * 0.86),
            new Slice(hh, 0, 0, hw - rim, hd - rim, (hd * 0.86) - rim));
        Shape body = new SmoothCut(
            1.5f,
            block,
            new Ellipsoid(V(0, hh + 5.2, 1), V(hw * 0.92, 6.6, hd * 0.95)),
            new Ellipsoid(V(0, -hh - 4.9, 1), V(hw * 0.92, 6.6, hd * 0.95)));
        double arch = hd * 0.86;
        double canal = arch + 15.5;
        List<Shape> parts = [body];
        foreach (int side in new[] { 1, -1 })
        {
            double px = side * ((0.5 * w) - 4.6);
            parts.Add(new Ellipsoid(V(px, 0.2 * h, arch + 4), V(3.0, 0.26 * h, 8.5)));
            parts.Add(new TaperedCapsule(V(px * 1.02, 0.26 * h, arch + 9), V(side * (0.5 * w - 4), (0.5 * h) + 5.5, arch + 10), 3.2f, 2.3f));
            parts.Add(new TaperedCapsule(V(px * 0.95, 0.05 * h, arch + 12), V(side * (index == 13 ? 7.5 : 0.29 * w), (-0.5 * h) - 5, arch + (index == 13 ? 18.5 : 16.5)), 3.0f, 2.5f));
            parts.Add(new TaperedCapsule(V(px * 0.9, 0.16 * h, arch + 11.5), V(0, 0.0, canal + 3), 2.3f, 2.3f));
            parts.Add(new TaperedCapsule(V(px * 0.9, -0.2 * h, arch + 12.5), V(0, -0.34 * h, canal + 4), 2.2f, 2.4f));
            double back = index is > 2 and < 12 ? 12 : index >= 12 ? 5 : 6;
            parts.Add(new TaperedCapsule(V(px, 0.14 * h, arch + 10), V(side * (span - 4), 0.32 * h, arch + 10 + back), 3.6f, index is >= 2 and < 13 ? 4.4f : 3.0f));
        }

        double tip = spine - hd + 3;
        parts.Add(new TaperedCapsule(V(0, 0.02 * h, canal + 2), V(0, -fall + 4, tip - 4), 2.2f, 2.0f));
        parts.Add(new TaperedCapsule(V(0, -0.34 * h, canal + 3), V(0, -fall, tip), 2.2f, 2.7f));
        return new SmoothUnion(2.2f, [.. parts]);
    }

    /// <summary>Tip of the spinous process in the vertebra's frame.</summary>
    public static Vector3 SpinousTip(int index)
    {
        (_, double depth, _, _, double fall, double spine) = Sizes[index];
        return V(0, -fall, spine - (0.5 * depth) + 3 + 2.7);
    }
}
