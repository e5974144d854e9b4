using System.Numerics;

namespace Hotlight.Measure.Sharpness;

/// <summary>Fits a Gaussian edge-spread function on a slope to profiles of one sampling.</summary>
/// <remarks>
/// <para>Model: value(n) = a + b·n + A·Φ((n − n₀)/σ), Φ the normal distribution function; beside it the edge of a rounded body, A·√σ·R((n − n₀)/σ), whose sigma is taken where that leaves clearly less. For each window the best of a bank of templates is refined by Gauss and Newton's method. Windows go from wide to narrow: the widest that the model describes is used, so that fine texture on a blurred edge is not taken for a sharp one.</para>
/// </remarks>
internal sealed class EdgeSpreadFit
{
    // Windows to either side, in mm. The widest holds an edge blurred by a way of 6 mm (sigma 1.7 mm); the narrowest a thin cortex.
    private static readonly double[] WindowsMm = [4.0, 2.6, 1.7, 1.1, 0.7];

    // A window must reach this many sigma to either side, else the slope takes part of the step.
    private const double ReachInSigma = 2.3;

    // Sigma of the sharpest image there is: an element's own aperture has 0.29 pixels, the sampling adds 0.41.
    private const double LeastSigmaSteps = 0.5;
    private const double SigmaRatio = 1.25;
    private const double ShiftMm = 0.6;

    // What the fit may leave: 8 % of the step's height, or what chance leaves.
    private const double MostResidualShare = 0.08;
    private const double ResidualInNoise = 1.5;

    // The step must make most of the gradient that was seen on the smoothed image; else the edge is another one.
    private const double LeastShareOfGradient = 0.6;

    // A rounded body's edge is taken where it leaves this share or less of what the step leaves: as good as equal is chance, and a step blurred by motion is taken for rounded the more often the nearer this is to 1.
    private const double RoundedClearlyLess = 0.9;

    // Where its fit begins, from the step's: the contour lies outside the middle of the rise, and the blur is part of the step's. Begun at 0.3 and with twice the steps, texture is taken for rounded and the blur of the tuning exposures reads a quarter short.
    private const double RoundedShiftInSigma = 0.3;
    private const double RoundedSigmaShare = 0.6;

    // Height of the step over its standard error, with slope, place and blur free.
    private const double LeastSignificance = 6;
    private const int Refinements = 4;

    // Of the blur that is left when the sampling's own is taken off, in squared steps.
    private const double LeastVarianceSteps = 0.04;

    // The best template leaves more than the refined fit by what the grid of the bank is off: less than this factor.
    private const double TemplateLeeway = 1.6;

    // Where the values beside an edge are read, at least, in mm from its middle.
    private const double BesideMm = 0.45;

    private readonly Bank[] banks;
    private readonly double stepMm;

    /// <summary>Templates for one sampling.</summary>
    /// <param name="stepMm">Distance of neighbouring samples, in mm.</param>
    internal EdgeSpreadFit(double stepMm)
    {
        this.stepMm = stepMm;
        banks = [.. WindowsMm.Select(window => Math.Max(5, (int)Math.Round(window / stepMm))).Distinct().Select(reach => new Bank(reach, ShiftMm / stepMm))];
    }

    /// <summary>Reach that profiles need, in mm.</summary>
    internal static double ReachMm => WindowsMm[0];

    /// <summary>Fits one edge; null where no window has an edge that the model describes.</summary>
    /// <param name="profile">The profile.</param>
    /// <param name="candidate">Where it was taken.</param>
    /// <param name="smoothingMm">Sigma of the smoothing under the candidate's gradient, in mm; 0 when the gradient says nothing.</param>
    /// <param name="scale">The image's scale.</param>
    internal FittedEdge? Fit(EdgeProfile profile, EdgeCandidate candidate, double smoothingMm, ImageScale scale)
    {
        foreach (Bank bank in banks)
        {
            if (bank.Reach <= profile.WholeReach && bank.Reach <= profile.Reach && Fit(bank, profile, candidate, smoothingMm, scale) is { } found)
            {
                return found;
            }
        }

        return null;
    }

    private FittedEdge? Fit(Bank bank, EdgeProfile profile, EdgeCandidate candidate, double smoothingMm, ImageScale scale)
    {
        int length = (2 * bank.Reach) + 1;
        ReadOnlySpan<double> values = profile.Values.AsSpan(profile.Reach - bank.Reach, length);
        double noise = 0;
        foreach (double variance in profile.ErrorVariance.AsSpan(profile.Reach - bank.Reach, length))
        {
            noise += variance;
        }

        noise = Math.Sqrt(noise / length);
        (double shift, double sigma, double height, double left) = bank.Best(values);
        if (sigma > 0.999 * bank.LargestSigma || left > TemplateLeeway * Math.Max(MostResidualShare * height, ResidualInNoise * noise))
        {
            return null;
        }

        Refined fit = Refine(values, bank.Reach, shift, sigma, isRounded: false);
        if (!(fit.Step > 0) || fit.Sigma > bank.Reach / ReachInSigma || fit.Sigma < 0.3 || Math.Abs(fit.Shift) > bank.ShiftLimit + 1)
        {
            return null;
        }

        double error = Math.Max(noise, fit.Residual);
        double gradient = fit.Step / Math.Sqrt(2 * Math.PI * ((smoothingMm * smoothingMm) + (fit.Sigma * fit.Sigma * stepMm * stepMm)));
        if (fit.Residual > Math.Max(MostResidualShare * fit.Step, ResidualInNoise * noise)
            || (smoothingMm > 0 && gradient < LeastShareOfGradient * candidate.Gradient)
            || fit.Step < LeastSignificance * error * fit.StepErrorPerNoise)
        {
            return null;
        }

        double variance2 = Math.Max((fit.Sigma * fit.Sigma) - profile.AddedVarianceSteps, LeastVarianceSteps);
        double shiftMm = fit.Shift * stepMm;
        double beside = Math.Max(2 * fit.Sigma, BesideMm / stepMm);
        return new FittedEdge(
            candidate.X + (shiftMm * candidate.NormalX / scale.ColumnSpacingMm),
            candidate.Y + (shiftMm * candidate.NormalY / scale.RowSpacingMm),
            candidate.DirectionDegrees,
            Math.Sqrt(variance2) * stepMm,
            Rounded(values, bank.Reach, fit) is { } rounded ? Math.Sqrt(Math.Max((rounded * rounded) - profile.AddedVarianceSteps, LeastVarianceSteps)) * stepMm : Math.Sqrt(variance2) * stepMm,
            error * fit.SigmaErrorPerNoise * fit.Sigma * fit.Sigma / variance2,
            fit.Step,
            fit.Residual / fit.Step,
            bank.Reach * stepMm,
            shiftMm,
            error * fit.ShiftErrorPerNoise * stepMm,
            profile.At(fit.Shift - beside),
            profile.At(fit.Shift + beside),
            candidate);
    }

    /// <summary>Sigma of a rounded body's edge, in steps, where it describes the profile clearly better than the step does; else null. The body may lie on either side.</summary>
    private static double? Rounded(ReadOnlySpan<double> values, int reach, Refined step)
    {
        Span<double> turned = stackalloc double[values.Length];
        for (int at = 0; at < values.Length; at++)
        {
            turned[at] = -values[values.Length - 1 - at];
        }

        double shift = RoundedShiftInSigma * step.Sigma, sigma = RoundedSigmaShare * step.Sigma;
        Refined up = Refine(values, reach, step.Shift - shift, sigma, isRounded: true);
        Refined down = Refine(turned, reach, -step.Shift - shift, sigma, isRounded: true);
        double least = RoundedClearlyLess * step.Residual;
        double? found = null;
        foreach (Refined one in (ReadOnlySpan<Refined>)[up, down])
        {
            if (one.Sigma > 0 && one.Residual > 0 && one.Residual < least)
            {
                least = one.Residual;
                found = one.Sigma;
            }
        }

        return found;
    }

    /// <summary>Gauss and Newton's method over height, slope, step, place and the logarithm of sigma.</summary>
    private static Refined Refine(ReadOnlySpan<double> values, int reach, double shift, double sigma, bool isRounded)
    {
        const int Parameters = 5;
        Span<double> normal = stackalloc double[Parameters * Parameters];
        Span<double> right = stackalloc double[Parameters];
        Span<double> row = stackalloc double[Parameters];
        Span<double> inverse = stackalloc double[Parameters * Parameters];
        Span<double> solution = stackalloc double[Parameters];
        double step = 0, rest = double.PositiveInfinity;
        for (int iteration = 0; iteration <= Refinements; iteration++)
        {
            // Height, slope and step are linear and come anew each time; place and sigma are moved by their linearised part.
            normal.Clear();
            right.Clear();
            double total = 0;
            for (int n = -reach; n <= reach; n++)
            {
                double z = (n - shift) / sigma;
                (double below, double density) = isRounded ? RoundedEdge.Both(z) : NormalDistribution.Both(z);
                row[0] = 1;
                row[1] = (double)n / reach;
                row[2] = below;
                row[3] = -density / sigma;

                // √σ·R((n − n₀)/σ), its factor √σ in the height, which the derivative by log σ brings back.
                row[4] = (isRounded ? below / 2 : 0) - (z * density);
                double value = values[n + reach];
                total += value * value;
                for (int i = 0; i < Parameters; i++)
                {
                    right[i] += row[i] * value;
                    for (int j = i; j < Parameters; j++)
                    {
                        normal[(i * Parameters) + j] += row[i] * row[j];
                    }
                }
            }

            for (int i = 0; i < Parameters; i++)
            {
                for (int j = 0; j < i; j++)
                {
                    normal[(i * Parameters) + j] = normal[(j * Parameters) + i];
                }
            }

            if (!Invert(normal, inverse, Parameters))
            {
                return default;
            }

            double explained = 0;
            for (int i = 0; i < Parameters; i++)
            {
                solution[i] = 0;
                for (int j = 0; j < Parameters; j++)
                {
                    solution[i] += inverse[(i * Parameters) + j] * right[j];
                }

                explained += solution[i] * right[i];
            }

            step = solution[2];
            if (!(step > 0))
            {
                return default;
            }

            double moveShift = solution[3] / step, moveLog = solution[4] / step;
            rest = Math.Max(0, total - explained);
            if (iteration == Refinements || (Math.Abs(moveShift) < 0.01 * sigma && Math.Abs(moveLog) < 0.01))
            {
                return new Refined(
                    shift,
                    sigma,
                    step,
                    Math.Sqrt(rest / Math.Max(1, (2 * reach) + 1 - Parameters)),
                    Math.Sqrt(Math.Max(0, inverse[24])) / step,
                    Math.Sqrt(Math.Max(0, inverse[18])) / step,
                    Math.Sqrt(Math.Max(0, inverse[12])));
            }

            shift += Math.Clamp(moveShift, -sigma, sigma);
            sigma *= Math.Exp(Math.Clamp(moveLog, -0.3, 0.3));
        }

        return default;
    }

    /// <summary>Inverse of a symmetric positive matrix by Gauss and Jordan's method; false where it has none.</summary>
    private static bool Invert(ReadOnlySpan<double> from, Span<double> inverse, int size)
    {
        Span<double> work = stackalloc double[size * size];
        from.CopyTo(work);
        inverse.Clear();
        for (int i = 0; i < size; i++)
        {
            inverse[(i * size) + i] = 1;
        }

        for (int pivot = 0; pivot < size; pivot++)
        {
            double head = work[(pivot * size) + pivot];
            if (!(head > 1e-12 * from[(pivot * size) + pivot]))
            {
                return false;
            }

            for (int column = 0; column < size; column++)
            {
                work[(pivot * size) + column] /= head;
                inverse[(pivot * size) + column] /= head;
            }

            for (int row = 0; row < size; row++)
            {
                double factor = work[(row * size) + pivot];
                if (row == pivot || factor == 0)
                {
                    continue;
                }

                for (int column = 0; column < size; column++)
                {
                    work[(row * size) + column] -= factor * work[(pivot * size) + column];
                    inverse[(row * size) + column] -= factor * inverse[(pivot * size) + column];
                }
            }
        }

        return true;
    }

    /// <summary>A fit in steps of the profile; errors per unit of noise.</summary>
    private readonly record struct Refined(double Shift, double Sigma, double Step, double Residual, double SigmaErrorPerNoise, double ShiftErrorPerNoise, double StepErrorPerNoise);

    /// <summary>Edge-spread functions of one window, height and slope taken out, each of unit length.</summary>
    private sealed class Bank
    {
        private readonly double[][] templates;
        private readonly (double Shift, double Sigma)[] meanings;
        private readonly double[] norms;
        private readonly double[] slope;

        internal Bank(int reach, double shiftLimit)
        {
            Reach = reach;
            ShiftLimit = Math.Min(shiftLimit, 0.4 * reach);
            int length = (2 * reach) + 1;
            slope = new double[length];
            double squares = 0;
            for (int n = -reach; n <= reach; n++)
            {
                squares += (double)n * n;
            }

            for (int n = -reach; n <= reach; n++)
            {
                slope[n + reach] = n / Math.Sqrt(squares);
            }

            var made = new List<double[]>();
            var meant = new List<(double, double)>();
            var sizes = new List<double>();
            LargestSigma = LeastSigmaSteps;
            for (double sigma = LeastSigmaSteps; sigma <= 1.15 * reach / ReachInSigma; sigma *= SigmaRatio)
            {
                LargestSigma = sigma;
                int shifts = (int)Math.Ceiling(ShiftLimit / (0.5 * sigma));
                for (int k = -shifts; k <= shifts; k++)
                {
                    double shift = k * 0.5 * sigma;
                    var template = new double[length];
                    for (int n = -reach; n <= reach; n++)
                    {
                        template[n + reach] = NormalDistribution.Below((n - shift) / sigma);
                    }

                    Project(template);
                    double norm = Math.Sqrt(template.Sum(value => value * value));
                    if (norm < 1e-6)
                    {
                        continue;
                    }

                    for (int i = 0; i < length; i++)
                    {
                        template[i] /= norm;
                    }

                    made.Add(template);
                    meant.Add((shift, sigma));
                    sizes.Add(norm);
                }
            }

            templates = [.. made];
            meanings = [.. meant];
            norms = [.. sizes];
        }

        internal int Reach { get; }

        internal double ShiftLimit { get; }

        internal double LargestSigma { get; }

        /// <summary>The template that explains most of a rising edge: its place and sigma, the height it gives and what it leaves (root mean square).</summary>
        internal (double Shift, double Sigma, double Height, double Left) Best(ReadOnlySpan<double> values)
        {
            double mean = 0, slant = 0, squares = 0;
            for (int i = 0; i < values.Length; i++)
            {
                mean += values[i];
                slant += values[i] * slope[i];
            }

            mean /= values.Length;
            for (int i = 0; i < values.Length; i++)
            {
                double rest = values[i] - mean - (slant * slope[i]);
                squares += rest * rest;
            }

            double most = 0;
            int best = 0;
            for (int k = 0; k < templates.Length; k++)
            {
                // The templates are free of height and slope, so the values' own need not be taken out.
                double product = Dot(templates[k], values);
                if (product > most)
                {
                    most = product;
                    best = k;
                }
            }

            return (meanings[best].Shift, meanings[best].Sigma, most / norms[best], Math.Sqrt(Math.Max(0, squares - (most * most)) / values.Length));
        }

        private static double Dot(double[] a, ReadOnlySpan<double> b)
        {
            int wide = Vector<double>.Count;
            var sum = Vector<double>.Zero;
            int i = 0;
            for (; i <= b.Length - wide; i += wide)
            {
                sum += new Vector<double>(a, i) * new Vector<double>(b[i..]);
            }

            double total = Vector.Sum(sum);
            for (; i < b.Length; i++)
            {
                total += a[i] * b[i];
            }

            return total;
        }

        private void Project(double[] template)
        {
            double mean = template.Average();
            double product = 0;
            for (int i = 0; i < template.Length; i++)
            {
                template[i] -= mean;
                product += template[i] * slope[i];
            }

            for (int i = 0; i < template.Length; i++)
            {
                template[i] -= product * slope[i];
            }
        }
    }
}
