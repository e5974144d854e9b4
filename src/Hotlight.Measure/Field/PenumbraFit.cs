using Hotlight.Measure.Regions;

namespace Hotlight.Measure.Field;

/// <summary>
/// Fits the collimator's penumbra to the median profile across a side: where it lies, how wide it is, and how well a scale of exposure explains it.
/// </summary>
/// <remarks>
/// Model, in exposure, along u outwards: I(u) = (D + G·u)·R((u − x0)/w) + S + H·u, with R falling evenly from 1 to 0 over the width w: an even focal
/// spot behind a straight leaf (geometry). D and G stand for what gets through just inside and how it changes across the penumbra, S and H for scatter and
/// leakage beyond. The pixel is taken as b·ln(I); b is known for a linear signal, else the one that explains all sides of an image best: a wrong b bends
/// the penumbra. x0 is half of the primary intensity, which the contract calls the side.
/// </remarks>
internal sealed class PenumbraFit
{
    private const int MaximumProfiles = 200;
    private const int HalfSamples = 56;
    private const int Reweightings = 2;

    // Samples whose share of misfit is above this count less: markers, bone edges and the sharpening's overshoot.
    private const double Tolerated = 0.02;

    private readonly double[] places;
    private readonly double[] pixels;
    private readonly double[] intensity;

    private PenumbraFit(double[] places, double[] pixels, double span)
    {
        this.places = places;
        this.pixels = pixels;
        Span = span;
        intensity = new double[pixels.Length];
    }

    /// <summary>Difference between the highest and lowest pixel of the profile.</summary>
    internal double Span { get; }

    /// <summary>Reads the median profile across a line; null where too little of it is in the image.</summary>
    /// <param name="image">Pixels, rows × columns.</param>
    /// <param name="line">The line, within a penumbra of the side.</param>
    /// <param name="reach">How far to read to each side, in pixels.</param>
    /// <param name="sign">+1 when a higher pixel value is more exposure, else −1.</param>
    internal static PenumbraFit? Read(Hotlight.Core.ReadOnlyRaster<ushort> image, SideLine line, double reach, int sign)
    {
        double length = line.ToT - line.FromT, from = line.FromT + (0.05 * length), to = line.ToT - (0.05 * length);
        int count = Math.Clamp((int)(to - from), 0, MaximumProfiles);
        if (count < 12)
        {
            return null;
        }

        double spacing = (to - from) / count, dx = -line.NormalY, dy = line.NormalX;
        int half = Math.Clamp((int)Math.Ceiling(reach), 6, HalfSamples);
        var places = new List<double>((2 * half) + 1);
        var medians = new List<double>((2 * half) + 1);
        var column = new double[count];
        for (int k = -half; k <= half; k++)
        {
            double u = k * reach / half;
            int seen = 0;
            for (int j = 0; j < count; j++)
            {
                double t = from + ((j + 0.5) * spacing);
                double value = SideRefiner.At(image, (line.NormalX * (line.Rho + u)) + (dx * t), (line.NormalY * (line.Rho + u)) + (dy * t));
                if (!double.IsNaN(value))
                {
                    column[seen++] = sign * value;
                }
            }

            if (seen >= 0.5 * count)
            {
                places.Add(u);
                medians.Add((OrderStatistic.At(column.AsSpan(0, seen), (seen - 1) / 2) + OrderStatistic.At(column.AsSpan(0, seen), seen / 2)) / 2);
            }
        }

        // Both ends of the penumbra must be in view.
        if (places.Count < 12 || places[0] > -0.4 * reach || places[^1] < 0.25 * reach)
        {
            return null;
        }

        double span = medians.Max() - medians.Min();
        return span <= 0 ? null : new PenumbraFit([.. places], [.. medians], span);
    }

    /// <summary>The best place and width under a scale of exposure.</summary>
    /// <param name="stepsPerEFold">b, pixel steps for e times the exposure.</param>
    /// <param name="start">Where to begin the search.</param>
    internal PenumbraPlace At(double stepsPerEFold, PenumbraPlace start)
    {
        double top = pixels.Max();
        for (int i = 0; i < pixels.Length; i++)
        {
            intensity[i] = Math.Exp((pixels[i] - top) / stepsPerEFold);
        }

        // Shoulder and foot are moved apart from each other: in a logarithmic image the foot is sharp and the shoulder is not.
        double shoulder = start.Place - (start.Width / 2), foot = start.Place + (start.Width / 2), step = 0.25 * start.Width, least = 0.02 * start.Width;
        double shortest = Math.Max(1, 0.2 * start.Width), best = Misfit(shoulder, foot);
        while (step > least)
        {
            bool better = false;
            foreach ((double a, double f) in ((double A, double F)[])[(step, 0), (-step, 0), (0, step), (0, -step), (step, step), (-step, -step)])
            {
                double triedShoulder = shoulder + a, triedFoot = foot + f;
                if (triedShoulder <= places[0] || triedFoot >= places[^1] || triedFoot - triedShoulder < shortest)
                {
                    continue;
                }

                double misfit = Misfit(triedShoulder, triedFoot);
                if (misfit < best)
                {
                    (best, shoulder, foot, better) = (misfit, triedShoulder, triedFoot, true);
                }
            }

            if (!better)
            {
                step /= 2;
            }
        }

        return new PenumbraPlace((shoulder + foot) / 2, foot - shoulder, best * stepsPerEFold);
    }

    // Mean absolute misfit of ln(I) after a reweighted least-squares solution for D, G, S and H.
    private double Misfit(double shoulder, double foot)
    {
        double x0 = (shoulder + foot) / 2, width = foot - shoulder;
        Span<double> normal = stackalloc double[20];
        Span<double> solution = stackalloc double[4];
        Span<double> basis = stackalloc double[4];
        for (int pass = 0; pass < Reweightings; pass++)
        {
            normal.Clear();
            for (int i = 0; i < places.Length; i++)
            {
                Basis(places[i], x0, width, basis);
                double weight = 1 / intensity[i];
                if (pass > 0)
                {
                    double off = Math.Abs((Dot(basis, solution) * weight) - 1);
                    weight *= Math.Sqrt(Tolerated / Math.Max(Tolerated, off));
                }

                double squared = weight * weight;
                for (int a = 0; a < 4; a++)
                {
                    for (int b = a; b < 4; b++)
                    {
                        normal[(5 * a) + b] += squared * basis[a] * basis[b];
                    }

                    normal[(5 * a) + 4] += squared * basis[a] * intensity[i];
                }
            }

            if (!Solve(normal, solution))
            {
                return double.PositiveInfinity;
            }
        }

        double sum = 0;
        for (int i = 0; i < places.Length; i++)
        {
            Basis(places[i], x0, width, basis);
            sum += Math.Abs(Math.Log(Math.Max(1e-3, Dot(basis, solution) / intensity[i])));
        }

        return sum / places.Length;
    }

    private static void Basis(double u, double x0, double width, Span<double> basis)
    {
        double ramp = Math.Clamp(0.5 - ((u - x0) / width), 0, 1);
        basis[0] = ramp;
        basis[1] = ramp * (u - x0) / width;
        basis[2] = 1;
        basis[3] = (u - x0) / width;
    }

    private static double Dot(ReadOnlySpan<double> a, ReadOnlySpan<double> b) => (a[0] * b[0]) + (a[1] * b[1]) + (a[2] * b[2]) + (a[3] * b[3]);

    // Gauss on the upper triangle of a symmetric system of four, mirrored first.
    private static bool Solve(Span<double> m, Span<double> solution)
    {
        for (int a = 1; a < 4; a++)
        {
            for (int b = 0; b < a; b++)
            {
                m[(5 * a) + b] = m[(5 * b) + a];
            }
        }

        for (int a = 0; a < 4; a++)
        {
            m[(5 * a) + a] *= 1 + 1e-9;
            double pivot = m[(5 * a) + a];
            if (!(pivot > 1e-300))
            {
                return false;
            }

            for (int r = a + 1; r < 4; r++)
            {
                double f = m[(5 * r) + a] / pivot;
                for (int c = a; c < 5; c++)
                {
                    m[(5 * r) + c] -= f * m[(5 * a) + c];
                }
            }
        }

        for (int a = 3; a >= 0; a--)
        {
            double sum = m[(5 * a) + 4];
            for (int c = a + 1; c < 4; c++)
            {
                sum -= m[(5 * a) + c] * solution[c];
            }

            solution[a] = sum / m[(5 * a) + a];
        }

        return true;
    }
}

/// <summary>Where a penumbra lies across a line and how wide it is, in pixels, with the mean misfit in pixel values.</summary>
internal readonly record struct PenumbraPlace(double Place, double Width, double Misfit);
