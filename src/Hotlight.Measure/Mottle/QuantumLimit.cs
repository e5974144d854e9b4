namespace Hotlight.Measure.Mottle;

/// <summary>The noise that counted photons alone would leave.</summary>
internal static class QuantumLimit
{
    /// <summary>Photons per mm² and µGy of the beam RQA5: the squared signal-to-noise ratio of an ideal receptor, per mm² and µGy.</summary>
    /// <remarks>Source: IEC 62220-1, table of SNR²in for RQA5 (from memory). Other beams differ: for the same signal a soft beam of 55 kV brings up to half as many photons more, one behind a thick part a tenth or two fewer.</remarks>
    public const double PhotonsPerMm2PerMicrogray = 30174;

    /// <summary>Air kerma at which a receptor that counts every photon shows the same noise power towards frequency 0.</summary>
    /// <param name="relativeNoisePower">Noise power towards frequency 0 over the squared signal, in pixels: relative variance of a pixel times the correlation of its neighbours.</param>
    /// <param name="pixelAreaMm2">Area of a pixel at the receptor.</param>
    /// <remarks>A blur takes noise out of single pixels, but none at frequency 0; so the blur of the receptor does not flatter it. NNPS(0) = 1 / (q · K).</remarks>
    public static double IdealKermaMicrogray(double relativeNoisePower, double pixelAreaMm2)
        => 1 / (PhotonsPerMm2PerMicrogray * pixelAreaMm2 * relativeNoisePower);
}
