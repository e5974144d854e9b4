using System.Numerics;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>One metacarpal or phalanx: its length and its widths across and from palm to back, in mm.</summary>
internal readonly record struct RayBone(double Length, double BaseWidth, double BaseDepth, double ShaftWidth, double ShaftDepth, double HeadWidth, double HeadDepth);

/// <summary>One ray of the hand: bones from the metacarpal to the tip and where they lie at rest, in the wrist's frame.</summary>
/// <param name="Name">Of the ray, such as "third".</param>
/// <param name="Base">Middle of the metacarpal's base.</param>
/// <param name="Directions">Direction of each bone.</param>
/// <param name="Dorsal">Which way the back of the ray looks.</param>
/// <param name="Bones">Metacarpal, proximal, middle (not in the thumb) and distal phalanx.</param>
/// <param name="SkinMm">Radius of the finger at each of the joints beyond the metacarpal, and at the tip.</param>
internal sealed record Ray(string Name, Vector3 Base, Vector3[] Directions, Vector3 Dorsal, RayBone[] Bones, float[] SkinMm);

/// <summary>Metacarpals and phalanges.</summary>
/// <remarks>
/// Mean lengths of metacarpals and phalanges: Buryanov and Kotiuk, Int J Morphol 2010;28(3):755-758 (from memory).
/// Widths are common anatomical knowledge, no source. Bones are drawn in their own frame: x radial, y distal, z dorsal.
/// </remarks>
internal static class WristHand
{
    private const double CupMm = 1.6;
    private const double MetacarpophalangealMm = 1.7;
    private const double InterphalangealMm = 1.2;

    public static IReadOnlyList<Ray> Rays { get; } =
    [
        new(
            "first",
            V(30.6, 23.2, -10.5),
            [V(0.44, 0.87, -0.22), V(0.4, 0.91, -0.12), V(0.36, 0.93, -0.08)],
            V(0.62, -0.1, 0.78),
            [new(46.2, 15.5, 15.5, 9.8, 8.6, 15, 12.6), new(31.6, 14.4, 12, 9, 7.4, 12, 8.6), new(21.7, 13.2, 9.6, 6.6, 5, 9.6, 4.6)],
            [13.5f, 11.5f, 9.2f]),
        new(
            "second",
            V(13.4, 25.4, 1.2),
            [V(0.155, 1, 0), V(0.11, 1, -0.07), V(0.09, 1, -0.06), V(0.08, 1, -0.05)],
            V(0.12, 0, 1),
            [new(68.1, 17.4, 16.4, 8.6, 9, 14.8, 14.6), new(39.8, 15.4, 12.4, 9.2, 7.2, 11.4, 8.6), new(22.4, 12.6, 9.4, 7.8, 5.8, 10, 6.8), new(15.8, 10.2, 6.8, 4.6, 4, 8, 4)],
            [11.5f, 9.6f, 8.4f, 7.2f]),
        new(
            "third",
            V(0.8, 27.1, 1.6),
            [V(0.02, 1, 0), V(0, 1, -0.08), V(0, 1, -0.06), V(0, 1, -0.05)],
            Vector3.UnitZ,
            [new(64.6, 14.6, 17, 8.7, 9, 14.8, 14.8), new(44.6, 15.4, 12.8, 9.4, 7.4, 11.8, 8.8), new(26.3, 13, 9.8, 8.4, 6, 10.4, 7), new(17.4, 10.6, 7, 5, 4.2, 8.4, 4.2)],
            [11.5f, 9.8f, 8.7f, 7.4f]),
        new(
            "fourth",
            V(-11.4, 24.4, 1),
            [V(-0.1, 1, 0), V(-0.09, 1, -0.08), V(-0.08, 1, -0.06), V(-0.08, 1, -0.05)],
            V(-0.1, 0, 1),
            [new(58, 12.2, 12.8, 7, 7.8, 12.8, 13.2), new(41.4, 14.2, 12, 8.7, 7, 10.8, 8.2), new(25.7, 12.4, 9.2, 7.8, 5.6, 9.8, 6.6), new(17.3, 9.9, 6.6, 4.7, 4, 8, 4)],
            [11, 9.4f, 8.2f, 7]),
        new(
            "fifth",
            V(-20.2, 23.8, -0.8),
            [V(-0.24, 1, 0), V(-0.24, 1, -0.06), V(-0.22, 1, -0.06), V(-0.22, 1, -0.05)],
            V(-0.22, 0, 1),
            [new(53.7, 13.6, 11.6, 7.6, 7.2, 12, 12), new(32.7, 12.8, 10.6, 7.8, 6, 9.2, 7), new(18.1, 10.8, 8, 6.6, 4.8, 8.4, 5.8), new(16, 8.7, 6, 4, 3.6, 7, 3.6)],
            [9.8f, 8.3f, 7.4f, 6.3f]),
    ];

    /// <summary>Draws the rays; fingers bend by a share of the joints' settings.</summary>
    /// <param name="drawing">Takes the bones and landmarks.</param>
    /// <param name="carpus">What the bases of the metacarpals are cut by.</param>
    /// <param name="hand">Where the hand lies.</param>
    /// <param name="fingerFlexionDegrees">Of every joint of fingers 2 to 5.</param>
    /// <param name="fanDegrees">Step in flexion from one finger to the next, least for the little finger.</param>
    /// <returns>Soft tissue of the digits, in the part's frame in the adult's mm.</returns>
    public static List<Shape> Draw(UpperLimbDrawing drawing, WristCarpus carpus, Pose hand, double fingerFlexionDegrees, double fanDegrees)
    {
        List<Shape> digits = [];
        List<Vector3> webs = [];
        for (int index = 0; index < Rays.Count; index++)
        {
            Ray ray = Rays[index];
            bool thumb = index == 0;
            RayBone[] bones = ray.Bones;
            Pose rest = Pose.Along(ray.Base, ray.Base + ray.Directions[0], ray.Dorsal);
            string metacarpal = ray.Name + " metacarpal";
            drawing.Joint = hand;
            Shape[] neighbours = thumb ? [carpus.Trapezium] : [carpus.Trapezoid, carpus.Trapezium, carpus.Capitate, carpus.Hamate];
            Pose metacarpalRest = rest;
            int ordinal = index;
            drawing.Long(
                metacarpal,
                () => MetacarpalIn(metacarpalRest, ordinal, neighbours),
                rest.Origin,
                rest.ToOuter(V(0, bones[0].Length, 0)),
                Cortex(bones[0], 1.15),
                Spongy(bones[0]),
                thumb
                    ? [new GrowthPlate("base", rest.ToOuter(V(0, 9, 0)), -rest.Y, 1.6f, 1)]
                    : [new GrowthPlate("head", rest.ToOuter(V(0, bones[0].Length - 11, 0)), rest.Y, 1.6f, 1)]);
            drawing.Mark(ray.Name + "MetacarpalHead", metacarpal, rest.ToOuter(V(0, bones[0].Length, -0.8)));
            drawing.Mark(ray.Name + "MetacarpalBase", metacarpal, rest.ToOuter(V(0, 0.5, 0)));

            double fan = thumb ? 0 : fanDegrees * (4 - index);
            double[] bends = thumb
                ? [0, 0]
                : [(0.8 * fingerFlexionDegrees) + fan, fingerFlexionDegrees + (0.25 * fan), 0.6 * fingerFlexionDegrees];
            Pose turned = Pose.Identity;
            Pose parent = rest;
            double parentHinge = bones[0].Length - MetacarpalRadius(bones[0]);
            List<Vector3> chain = [hand.ToOuter(rest.ToOuter(V(0, bones[0].Length * 0.72, 0)))];
            for (int joint = 1; joint < bones.Length; joint++)
            {
                bool last = joint == bones.Length - 1;
                bool onMetacarpal = joint == 1;
                RayBone bone = bones[joint];
                RayBone before = bones[joint - 1];
                Vector3 hinge = parent.ToOuter(V(0, parentHinge, -0.8));
                Vector3 apex = parent.ToOuter(V(0, before.Length + (onMetacarpal ? MetacarpophalangealMm - CupMm : InterphalangealMm - (0.6 * CupMm)), -0.8));
                turned = About(hinge, parent.X, -bends[joint - 1]).Within(turned);
                Pose restPose = Pose.Along(apex, apex + ray.Directions[joint], ray.Dorsal);
                drawing.Joint = restPose.Within(turned).Within(hand);
                string name = PhalanxName(ray, joint);
                RayBone head = before;
                drawing.Long(
                    name,
                    () => onMetacarpal || !last ? Phalanx(bone, head, onMetacarpal) : DistalPhalanx(bone, head),
                    Vector3.Zero,
                    V(0, bone.Length, 0),
                    Cortex(bone, last ? 0.6 : 0.95),
                    last ? [(0, 0.3), (bone.Length * 0.4, 0.14), (bone.Length * 0.75, 0.2), (bone.Length, 0.26)] : Spongy(bone),
                    [new GrowthPlate("base", V(0, 5.2, 0), -Vector3.UnitY, 1.4f, 0.7f)]);
                drawing.Mark(Camel(name) + "Base", name, V(0, CupMm, 0));
                drawing.Mark(Camel(name) + (last ? "Tuft" : "Head"), name, V(0, bone.Length, 0));
                chain.Add(drawing.Joint.ToOuter(V(0, 0, 0)));
                if (onMetacarpal && !thumb)
                {
                    webs.Add(drawing.Joint.ToOuter(V(0, 0.36 * bone.Length, -1.5)));
                }

                if (last)
                {
                    chain.Add(drawing.Joint.ToOuter(V(0, bone.Length - ray.SkinMm[^1] + 4, 0.4)));
                    digits.Add(new SmoothUnion(2, Nail(drawing.Joint, bone, ray.SkinMm[^1])));
                }

                parent = restPose;
                parentHinge = bone.Length - HeadRadius(bone);
            }

            List<Shape> flesh = thumb ? [new TaperedCapsule(hand.ToOuter(V(25, 14, -8)), chain[0], 13.5f, 15)] : [];
            flesh.Add(new TaperedCapsule(chain[0], chain[1], thumb ? 15 : 9, ray.SkinMm[0]));
            for (int joint = 1; joint < chain.Count - 1; joint++)
            {
                flesh.Add(new TaperedCapsule(chain[joint], chain[joint + 1], ray.SkinMm[joint - 1], ray.SkinMm[joint]));
            }

            digits[^1] = new SmoothUnion(1, new SmoothUnion(6, [.. flesh]), digits[^1]);
        }

        for (int web = 1; web < webs.Count; web++)
        {
            digits.Add(new TaperedCapsule(webs[web - 1], webs[web], 4.5f, 4.5f));
        }

        return digits;
    }

    public static string PhalanxName(Ray ray, int joint)
        => $"{ray.Name} {(joint == 1 ? "proximal" : joint == ray.Bones.Length - 1 ? "distal" : "middle")} phalanx";

    private static string Camel(string name) => string.Concat(name.Split(' ').Select((word, at) => at == 0 ? word : char.ToUpperInvariant(word[0]) + word[1..]));

    private static (double At, double Mm)[] Cortex(RayBone bone, double share)
    {
        double shaft = share * 0.24 * bone.ShaftWidth;
        return [(0, 0.6), (5, 0.55), (bone.Length * 0.3, 0.75 * shaft), (bone.Length * 0.52, shaft), (bone.Length * 0.7, 0.7 * shaft), (bone.Length * 0.86, 0.45), (bone.Length, 0.5)];
    }

    private static (double At, double Share)[] Spongy(RayBone bone)
        => [(0, 0.3), (4, 0.24), (bone.Length * 0.26, 0.1), (bone.Length * 0.42, 0.03), (bone.Length * 0.62, 0.03), (bone.Length * 0.78, 0.12), (bone.Length * 0.9, 0.22), (bone.Length, 0.25)];

    private static double MetacarpalRadius(RayBone bone) => 0.49 * bone.HeadDepth;

    private static double HeadRadius(RayBone bone) => 0.52 * bone.HeadDepth;

    private static Shape MetacarpalIn(Pose rest, int index, Shape[] neighbours)
    {
        RayBone bone = Rays[index].Bones[0];
        double length = bone.Length;
        double w = bone.BaseWidth / 2;
        double d = bone.BaseDepth / 2;
        double s = bone.ShaftWidth / 2;
        double t = bone.ShaftDepth / 2;
        double h = bone.HeadWidth / 2;
        double radius = MetacarpalRadius(bone);

        // Bases are wider at the back than in the palm; shafts are concave to the palm; heads bear a tubercle on either side.
        Shape body = new QuadrantLoft(
            new(-5, -w, w, -d, d, 0, 0.35 * d, 2.6),
            new(2, -w, w, -d, d, 0, 0.35 * d, 2.6),
            new(6, -0.92 * w, 0.92 * w, -0.92 * d, 0.95 * d, 0, 0.3 * d, 2.4),
            new(length * 0.2, (-0.4 * w) - (0.55 * s), (0.4 * w) + (0.55 * s), (-0.4 * d) - (0.35 * t), (0.4 * d) + (0.62 * t), 0, 0.2 * d, 2.1),
            new(length * 0.34, -1.06 * s, 1.06 * s, -0.7 * t, 1.35 * t, 0, 0.6 * t, 2),
            new(length * 0.5, -s, s, -0.6 * t, 1.4 * t, 0, 0.7 * t, 2),
            new(length * 0.6, -1.1 * s, 1.1 * s, -0.68 * t, 1.36 * t, 0, 0.4 * t, 2),
            new(length - 16.5, (-0.65 * s) - (0.4 * h), (0.65 * s) + (0.4 * h), -0.9 * t, 1.3 * t, 0, 0.2 * t, 2),
            new(length - 11.5, -0.95 * h, 0.95 * h, (-0.5 * radius) - (0.5 * t), 0.9 * radius, 0, 0, 2.1),
            new(length - 9, -1.0 * h, 1.0 * h, -0.95 * radius, 0.84 * radius, 0, 0.3 * radius, 2.2),
            new(length - 6.5, -0.93 * h, 0.93 * h, -0.98 * radius, 0.76 * radius, 0, 0, 2.2),
            new(length - 5, -0.8 * h, 0.8 * h, -0.9 * radius, 0.66 * radius, 0, 0, 2.2));
        Shape local = new SmoothUnion(1.5f, body, MetacarpalHead(bone, V(0, length - radius, -0.8), 0));
        if (index == 2)
        {
            // The styloid process at the radial back of the third base.
            local = new SmoothUnion(2, local, new TaperedCapsule(V(5, 3, 5.5), V(6, -2.6, 6), 2.6f, 1.4f));
        }
        else if (index == 0)
        {
            local = new SmoothUnion(2.5f, local, new TaperedCapsule(V(-3, 4, -5), V(-5.5, -0.4, -6), 3, 2));
        }

        Shape whole = new SmoothCut(1, new Posed(rest, local), [.. neighbours.Select(each => (Shape)new Inset(each, -1.1f))]);
        return index is 0 or 1 ? whole : new SmoothCut(0.8f, whole, Neighbour(index - 1));

        static Shape Neighbour(int index)
        {
            // The base of the next metacarpal on the radial side, with the space between the bases.
            Ray ray = Rays[index];
            double w = (ray.Bones[0].BaseWidth / 2) + 1.1;
            double d = (ray.Bones[0].BaseDepth / 2) + 2;
            return new Posed(Pose.Along(ray.Base, ray.Base + ray.Directions[0], ray.Dorsal), new QuadrantLoft(
                new(-8, -w, w, -d, d, 0, 0.35 * d, 3),
                new(8, -0.94 * w, 0.94 * w, -d, d, 0, 0.35 * d, 3),
                new(20, -0.6 * w, 0.6 * w, -d, d, 0, 0.35 * d, 2)));
        }
    }

    private static Shape Phalanx(RayBone bone, RayBone before, bool onMetacarpal)
    {
        double length = bone.Length;
        double w = bone.BaseWidth / 2;
        double d = bone.BaseDepth / 2;
        double s = bone.ShaftWidth / 2;
        double t = bone.ShaftDepth / 2;
        double h = bone.HeadWidth / 2;
        double r = HeadRadius(bone);
        Shape body = new QuadrantLoft(
            new(-0.4, -0.8 * w, 0.8 * w, -0.78 * d, 0.74 * d, 0, 0, 2.3),
            new(0.6, -0.96 * w, 0.96 * w, -0.95 * d, 0.88 * d, 0, 0, 2.4),
            new(2.6, -w, w, -d, 0.94 * d, 0, 0, 2.4),
            new(5.5, -0.9 * w, 0.9 * w, -0.82 * d, 0.86 * d, 0, 0, 2.3),
            new(length * 0.3, (-0.35 * w) - (0.66 * s), (0.35 * w) + (0.66 * s), (-0.2 * d) - (0.45 * t), (0.3 * d) + (0.75 * t), 0, 0, 2),
            new(length * 0.5, -1.04 * s, 1.04 * s, -0.62 * t, 1.3 * t, 0, -0.1 * t, 2),
            new(length * 0.68, -s, s, -0.7 * t, 1.15 * t, 0, -0.2 * t, 2),
            new(length - (2 * r) - 1.5, -0.84 * h, 0.84 * h, -0.8 * r, 0.86 * r, 0, 0, 2.1),
            new(length - (1.5 * r), -0.96 * h, 0.96 * h, -0.98 * r, 0.72 * r, 0, 0, 2.2),
            new(length - (0.9 * r), -0.94 * h, 0.94 * h, -1.0 * r, 0.62 * r, 0, 0, 2.2),
            new(length - (0.6 * r), -0.84 * h, 0.84 * h, -0.9 * r, 0.5 * r, 0, 0, 2.2));
        Shape trochlea = Trochlea(bone, V(0, length - r, -0.8), 0);
        return new SmoothCut(0.8f, new SmoothUnion(1.2f, body, trochlea), onMetacarpal ? MetacarpalSocket(before) : CondyleSocket(before));
    }

    private static Shape DistalPhalanx(RayBone bone, RayBone before)
    {
        double length = bone.Length;
        double w = bone.BaseWidth / 2;
        double d = bone.BaseDepth / 2;
        double s = bone.ShaftWidth / 2;
        double t = bone.ShaftDepth / 2;
        double h = bone.HeadWidth / 2;
        Shape body = new QuadrantLoft(
            new(-0.4, -0.78 * w, 0.78 * w, -0.75 * d, 0.8 * d, 0, 0, 2.3),
            new(0.6, -0.95 * w, 0.95 * w, -0.92 * d, 0.95 * d, 0, 0, 2.3),
            new(2.4, -w, w, -d, d, 0, 0, 2.3),
            new(length * 0.26, -0.8 * w, 0.8 * w, -0.75 * d, 0.85 * d, 0, 0, 2.1),
            new(length * 0.48, -1.06 * s, 1.06 * s, -0.85 * t, 1.1 * t, 0, 0, 2),
            new(length * 0.66, -s, s, -t, 0.85 * t, 0, 0, 2),
            new(length * 0.78, -0.8 * h, 0.8 * h, -1.05 * t, 0.65 * t, 0, 0, 2),
            new(length * 0.86, -h, h, -1.05 * t, 0.5 * t, 0, 0, 2),
            new(length * 0.91, -0.98 * h, 0.98 * h, -0.95 * t, 0.42 * t, 0, 0, 2),
            new(length * 0.955, -0.8 * h, 0.8 * h, -0.8 * t, 0.34 * t, 0, 0, 2),
            new(length * 0.985, -0.5 * h, 0.5 * h, -0.6 * t, 0.24 * t, 0, 0, 2),
            new(length, -0.1 * h, 0.1 * h, -0.3 * t, 0.1 * t, 0, 0, 2));
        return new SmoothCut(0.7f, body, CondyleSocket(before));
    }

    /// <summary>The metacarpal's head with the cartilage on it, as the base of the proximal phalanx meets it.</summary>
    private static Shape MetacarpalSocket(RayBone before)
        => MetacarpalHead(before, V(0, CupMm - MetacarpophalangealMm - MetacarpalRadius(before), 0), MetacarpophalangealMm);

    private static Shape CondyleSocket(RayBone before)
        => Trochlea(before, V(0, (0.6 * CupMm) - InterphalangealMm - HeadRadius(before), 0), InterphalangealMm);

    /// <summary>A head that is round about the axis it bends on and domed across it.</summary>
    private static Shape MetacarpalHead(RayBone bone, Vector3 centre, double growMm)
    {
        double r = MetacarpalRadius(bone) + growMm;
        double h = (bone.HeadWidth / 2) + growMm;
        return Spool(centre, (-h, 0.35 * r), (-0.94 * h, 0.58 * r), (-0.8 * h, 0.77 * r), (-0.5 * h, 0.93 * r), (0, r), (0.5 * h, 0.93 * r), (0.8 * h, 0.77 * r), (0.94 * h, 0.58 * r), (h, 0.35 * r));
    }

    /// <summary>The pulley-shaped head of a phalanx, round about the axis it bends on, with a shallow groove.</summary>
    private static Shape Trochlea(RayBone bone, Vector3 centre, double growMm)
    {
        double r = HeadRadius(bone);
        double h = (bone.HeadWidth / 2) + growMm;
        return Spool(
            centre,
            (-h, (0.55 * r) + growMm),
            (-0.93 * h, (0.8 * r) + growMm),
            (-0.66 * h, r + growMm),
            (0, (0.83 * r) + growMm),
            (0.66 * h, r + growMm),
            (0.93 * h, (0.8 * r) + growMm),
            (h, (0.55 * r) + growMm));
    }

    private static Shape Spool(Vector3 centre, params (double X, double Radius)[] stations)
        => new Posed(new Pose(centre, -Vector3.UnitY, Vector3.UnitX, Vector3.UnitZ), new QuadrantLoft([.. stations.Select(each => new QuadrantSection(each.X, -each.Radius, each.Radius, -each.Radius, each.Radius))]));

    private static Shape Nail(Pose pose, RayBone bone, float radius)
        => new Posed(pose, new Posed(Pose.Turned(V(0, bone.Length - 3, radius - 0.2), 4, 0, 0), new Ellipsoid(Vector3.Zero, V(0.78 * radius, 6.5, 0.9))));
}
