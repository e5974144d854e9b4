using System.Numerics;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;
using static Hotlight.Simulation.Phantom.BodyBuilder;

namespace Hotlight.Simulation.Phantom;

/// <summary>The lungs' vessels and fissures as thin strands, at adult scale and in deep inspiration.</summary>
/// <remarks>Twigs are grown to points spread through the lung, each from the nearest limb of the tree so far; a limb's cross-section carries those of its twigs (as Murray's law, exponent 2.35).</remarks>
internal static class ChestVessels
{
    private const int Twigs = 300;
    private const double TwigRadiusMm = 0.6;
    private const double Exponent = 2.35;

    /// <summary>Grows the vessels of both lungs.</summary>
    /// <param name="inside">Signed distance to the lungs' surface, negative inside, at deep inspiration.</param>
    /// <param name="seed">Seed of the branching.</param>
    public static List<Strand> Grow(Shape inside, ulong seed)
    {
        List<Strand> strands = [];
        SplitMix random = new(seed);
        foreach (int side in new[] { 1, -1 })
        {
            // Arteries from the hilum, veins to the atrium below and in front of it.
            Tree(side > 0 ? [V(40, 20, 14), V(50, -18, 28)] : [V(-34, 6, 8), V(-43, -10, 12), V(-50, -44, 22)], Twigs, side, 1, ref random);
            Tree(side > 0 ? [V(44, 16, -12), V(54, -52, 20)] : [V(-44, 12, -14), V(-54, -50, 16)], Twigs * 2 / 3, side, 0.9, ref random);
        }

        return strands;

        void Tree(Vector3[] roots, int twigs, int side, double thickness, ref SplitMix random)
        {
            List<Vector3> points = [.. roots];
            List<int> parents = [.. roots.Select((_, k) => k - 1)];
            List<Vector3> targets = [];
            for (int tries = 0; targets.Count < twigs && tries < 40 * twigs; tries++)
            {
                // More to the bases than to the apices, as when standing.
                Vector3 target = V(side * (12 + (128 * random.NextUniform())), -180 + (330 * Math.Pow(random.NextUniform(), 1.25)), -90 + (185 * random.NextUniform()));
                if (inside.Distance(target) < -7 && targets.TrueForAll(other => Vector3.DistanceSquared(other, target) > 11 * 11))
                {
                    targets.Add(target);
                }
            }

            Vector3 hilum = roots[0];
            foreach (Vector3 target in targets.OrderBy(point => Vector3.DistanceSquared(point, hilum)))
            {
                int best = 0;
                double least = double.MaxValue;
                for (int k = 0; k < points.Count; k++)
                {
                    // Branches leave at sharp angles, pointing away from the hilum.
                    Vector3 step = target - points[k];
                    float length = step.Length();
                    Vector3 heading = Vector3.Normalize(points[k] - (parents[k] < 0 ? hilum - V(side * 12, 0, 0) : points[parents[k]]) + (0.15f * (points[k] - hilum)));
                    double cost = length * (1.9 - (1.4 * Vector3.Dot(step / MathF.Max(1e-3f, length), heading)));
                    if (cost < least)
                    {
                        least = cost;
                        best = k;
                    }
                }

                // A limb of a few bends, first along its parent's heading.
                Vector3 from = points[best];
                Vector3 run = target - from;
                float far = run.Length();
                Vector3 along = parents[best] < 0 ? Vector3.Normalize(run) : Vector3.Normalize(from - points[parents[best]]);
                Vector3 control = from + (0.28f * far * along);
                int pieces = Math.Max(2, (int)(far / 7));
                int last = best;
                for (int piece = 1; piece <= pieces; piece++)
                {
                    float t = piece / (float)pieces;
                    Vector3 at = ((1 - t) * (1 - t) * from) + (2 * t * (1 - t) * control) + (t * t * target);
                    if (piece < pieces)
                    {
                        at += 0.35f * V(random.NextGaussian(), random.NextGaussian(), random.NextGaussian());
                    }

                    points.Add(at);
                    parents.Add(last);
                    last = points.Count - 1;
                }
            }

            double[] flow = new double[points.Count];
            bool[] limb = new bool[points.Count];
            for (int k = points.Count - 1; k > 0; k--)
            {
                if (!limb[k])
                {
                    flow[k] += Math.Pow(TwigRadiusMm, Exponent);
                }

                if (parents[k] >= 0)
                {
                    flow[parents[k]] += flow[k];
                    limb[parents[k]] = true;
                }
            }

            for (int k = roots.Length; k < points.Count; k++)
            {
                double end = thickness * Math.Pow(flow[k], 1 / Exponent);
                double start = thickness * Math.Pow(Math.Min(flow[parents[k]], 1.6 * flow[k]), 1 / Exponent);
                Vector3 from = points[parents[k]];
                if (inside.Distance(points[k]) < -1.5f && inside.Distance(from) < -0.5f)
                {
                    strands.Add(new Strand(from, points[k], (float)start, (float)end));
                }
            }
        }
    }

    /// <summary>The fissures, seen only where the beam runs along them: rows of short strands in their surface.</summary>
    public static List<Strand> Fissures(Shape inside)
    {
        List<Strand> strands = [];

        // The horizontal one of the right lung, seen from the front.
        for (int row = 0; row < 7; row++)
        {
            double z = -74 + (9 * row);
            Line(44, step => V(-46 - (2.1 * step), -6 + (3.5 * Math.Sin((2.1 * step) / 34)) + (0.04 * step), z));
        }

        // The oblique ones, seen from the side.
        foreach (int side in new[] { 1, -1 })
        {
            for (int row = 0; row < 6; row++)
            {
                double x = side * (52 + (11 * row));
                Line(40, step => V(x, (side > 0 ? 62 : 52) - (5.0 * step), 78 - (3.7 * step) + (14 * Math.Sin(Math.PI * step / 40)) + (side * 3)));
            }
        }

        return strands;

        void Line(int steps, Func<int, Vector3> at)
        {
            for (int step = 0; step < steps; step++)
            {
                if (inside.Distance(at(step)) < -1 && inside.Distance(at(step + 1)) < -1)
                {
                    strands.Add(new Strand(at(step), at(step + 1), 0.4f, 0.4f));
                }
            }
        }
    }
}
