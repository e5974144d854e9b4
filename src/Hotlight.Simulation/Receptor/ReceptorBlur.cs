using Hotlight.Core;
using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Receptor;

/// <summary>The spread of a receptor, round, before the element's aperture: a sum of Gaussians.</summary>
/// <remarks>MTF(f) = Σ share·exp(−2π²σ²f²), times sinc(a·f) of an element of side a in each direction. In the element raster each Gaussian is integrated over the elements, so the aperture is part of the spread.</remarks>
internal sealed class ReceptorBlur
{
    // 1/(1 + x²) as a sum of Gaussians exp(−s·x²), within 0.0014 for x from 0 to 3.2 (least fourth power of the error).
    private static readonly (double Share, double Exponent)[] UnitLorentzian = [(0.245898, 0.1013951), (0.488199, 0.6574555), (0.265903, 2.3826245)];

    private ReceptorBlur(IReadOnlyList<(double Share, double SigmaMm)> parts) => Parts = parts;

    /// <summary>Shares, adding up to 1, and standard deviations in mm of the Gaussians.</summary>
    public IReadOnlyList<(double Share, double SigmaMm)> Parts { get; }

    /// <summary>One Gaussian.</summary>
    /// <param name="sigmaMm">Standard deviation, in mm, 0 or more.</param>
    public static ReceptorBlur Gaussian(double sigmaMm) => new([(1, Preconditions.Within(sigmaMm, 0, 10))]);

    /// <summary>The form 1/(1 + H·f²), by which scintillators are usually described (Siewerdsen et al., Med Phys 1997; from memory), within 0.0014 up to f = 3.2/√H.</summary>
    /// <param name="spreadMm2">H, in mm², above 0.</param>
    public static ReceptorBlur Lorentzian(double spreadMm2)
    {
        Preconditions.AboveZero(spreadMm2);

        // exp(−s·H·f²) = exp(−2π²σ²f²).
        return new([.. UnitLorentzian.Select(part => (part.Share, Math.Sqrt(part.Exponent * spreadMm2 / 2) / Math.PI))]);
    }

    /// <summary>Presampled MTF along a row or column, with the aperture of an element.</summary>
    /// <param name="frequencyPerMm">Spatial frequency, in mm⁻¹.</param>
    /// <param name="apertureMm">Side of an element, in mm; 0 for the spread alone.</param>
    public double PresampledMtf(double frequencyPerMm, double apertureMm)
    {
        double x = Math.PI * apertureMm * frequencyPerMm;
        double aperture = Math.Abs(x) < 1e-9 ? 1 : Math.Sin(x) / x;
        return aperture * Parts.Sum(part => part.Share * Math.Exp(-2 * Math.PI * Math.PI * part.SigmaMm * part.SigmaMm * frequencyPerMm * frequencyPerMm));
    }

    /// <summary>The spread signal, a new block; edges repeat their last sample.</summary>
    /// <param name="signal">Signal of each element; not changed.</param>
    /// <param name="spacingMm">Side of an element, in mm, above 0.</param>
    public Raster<float> Spread(Raster<float> signal, double spacingMm)
    {
        int rows = signal.Rows;
        int columns = signal.Columns;
        float[][] kernels = [.. Parts.Select(part => Kernel(part.SigmaMm / Preconditions.AboveZero(spacingMm)))];
        Raster<float>[] across = [.. kernels.Select(_ => new Raster<float>(rows, columns))];
        Parallel.For(0, rows, row =>
        {
            int reach = kernels.Max(kernel => kernel.Length / 2);
            float[] padded = new float[columns + (2 * reach)];
            ReadOnlySpan<float> from = signal.Row(row);
            from.CopyTo(padded.AsSpan(reach));
            padded.AsSpan(0, reach).Fill(from[0]);
            padded.AsSpan(reach + columns).Fill(from[^1]);
            for (int part = 0; part < kernels.Length; part++)
            {
                float[] kernel = kernels[part];
                int start = reach - (kernel.Length / 2);
                Span<float> to = across[part].Row(row);
                for (int k = 0; k < kernel.Length; k++)
                {
                    Convolution.AddScaled(padded.AsSpan(start + k, columns), kernel[k], to);
                }
            }
        });
        Raster<float> spread = new(rows, columns);
        Parallel.For(0, rows, row =>
        {
            Span<float> to = spread.Row(row);
            for (int part = 0; part < kernels.Length; part++)
            {
                float[] kernel = kernels[part];
                int reach = kernel.Length / 2;
                float share = (float)Parts[part].Share;
                for (int k = -reach; k <= reach; k++)
                {
                    Convolution.AddScaled(across[part].Row(Math.Clamp(row + k, 0, rows - 1)), share * kernel[k + reach], to);
                }
            }
        });
        return spread;
    }

    /// <summary>Shares of a Gaussian in the elements around its own, cut at 4 sigma, with sum 1.</summary>
    /// <param name="sigma">Standard deviation, in elements.</param>
    internal static float[] Kernel(double sigma)
    {
        if (sigma < 0.01)
        {
            return [1];
        }

        int reach = (int)Math.Ceiling((4 * sigma) - 0.5 + 1e-9);
        reach = Math.Max(reach, 1);
        double[] shares = new double[(2 * reach) + 1];
        for (int k = -reach; k <= reach; k++)
        {
            shares[k + reach] = Normal((k + 0.5) / sigma) - Normal((k - 0.5) / sigma);
        }

        double sum = shares.Sum();
        return [.. shares.Select(share => (float)(share / sum))];
    }

    // Normal distribution by the series and continued fraction of the error function, |error| below 1e-12.
    private static double Normal(double z) => 0.5 * (1 + ErrorFunction(z / Math.Sqrt(2)));

    private static double ErrorFunction(double x)
    {
        double size = Math.Abs(x);
        if (size < 3)
        {
            // Σ 2^n x^(2n+1)/(1·3·…·(2n+1)), times 2/√π·exp(−x²).
            double term = size;
            double sum = size;
            for (int n = 1; n < 60; n++)
            {
                term *= 2 * size * size / ((2 * n) + 1);
                sum += term;
            }

            return Math.Sign(x) * 2 / Math.Sqrt(Math.PI) * Math.Exp(-size * size) * sum;
        }

        double fraction = 0;
        for (int n = 40; n > 0; n--)
        {
            fraction = n / 2.0 / (size + fraction);
        }

        return Math.Sign(x) * (1 - (Math.Exp(-size * size) / Math.Sqrt(Math.PI) / (size + fraction)));
    }
}
