using Hotlight.Core;
using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Receptor;

/// <summary>The receptor: quanta are counted, spread by the receptor's blur, and read with electronic noise.</summary>
/// <remarks>
/// Quanta per mm² and µGy: 30 174 for RQA5, IEC 62220-1:2003 (reference value from memory of the standard); the detected share is a setting.
/// Because counting comes before the blur, the noise is correlated as the receptor correlates it.
/// </remarks>
internal sealed record ReceptorNoise(double SpacingMm, double BlurSigmaMm, double DetectedShare, double ElectronicNoiseMicrogray)
{
    public const double QuantaPerMm2PerMicrogray = 30174;

    public double QuantaPerMicrogray => QuantaPerMm2PerMicrogray * SpacingMm * SpacingMm * DetectedShare;

    /// <summary>The signal as it is read, in µGy, a new block.</summary>
    /// <param name="kermaMicrogray">Signal without noise before the receptor's blur, in µGy.</param>
    /// <param name="seed">The same seed gives the same noise.</param>
    public Raster<float> Read(Raster<float> kermaMicrogray, ulong seed)
    {
        double quanta = QuantaPerMicrogray;
        Raster<float> counted = new(kermaMicrogray.Rows, kermaMicrogray.Columns);
        Parallel.For(0, kermaMicrogray.Rows, row =>
        {
            SplitMix random = SplitMix.ForRow(seed, row);
            ReadOnlySpan<float> from = kermaMicrogray.Row(row);
            Span<float> to = counted.Row(row);
            for (int column = 0; column < to.Length; column++)
            {
                to[column] = (float)(random.NextPoisson(from[column] * quanta) / quanta);
            }
        });
        Raster<float> read = GaussianBlur.Blurred(counted, BlurSigmaMm / SpacingMm);
        Parallel.For(0, read.Rows, row =>
        {
            SplitMix random = SplitMix.ForRow(seed ^ 0xE1EC7208, row);
            Span<float> line = read.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                line[column] += (float)(ElectronicNoiseMicrogray * random.NextGaussian());
            }
        });
        return read;
    }
}
