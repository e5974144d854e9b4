using Hotlight.Imaging;

namespace Hotlight.Measure.Exposure;

/// <summary>For every pixel value, a signal proportional to x-ray intensity at the receptor, where the file or a calibration allows one.</summary>
/// <remarks>
/// <para>With a calibration: air kerma in µGy, by its inverse. From the header alone: only Pixel Intensity Relationship LIN with sign +1 on pixels that are not for presentation; then the modality value itself, in unknown units, with its zero at zero exposure.
/// PS3.3 defines LIN as proportional to x-ray beam intensity; a receptor that stores an offset with it breaks this, and a calibration is then the only way to know.</para>
/// <para>LOG without a calibration gives no linear signal: its gain is not in the file.</para>
/// </remarks>
public sealed class LinearSignal
{
    private LinearSignal(float[] byPixelValue, bool isKerma, string basis)
    {
        ByPixelValue = byPixelValue;
        IsKermaMicrogray = isKerma;
        Basis = basis;
    }

    /// <summary>The signal of each pixel value, 0 to PixelMaximum; NaN where the relation gives none.</summary>
    public float[] ByPixelValue { get; }

    /// <summary>Whether the signal is air kerma in µGy; otherwise its unit is unknown.</summary>
    public bool IsKermaMicrogray { get; }

    /// <summary>What the signal rests on, a phrase for the reader.</summary>
    public string Basis { get; }

    /// <summary>The signal of a radiograph's pixels, or null where neither file nor calibration gives one.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="calibration">A calibration of its receptor, or null.</param>
    public static LinearSignal? Of(Radiograph radiograph, Calibration? calibration)
    {
        if (radiograph.PresentationIntent == PresentationIntent.ForPresentation)
        {
            return null;
        }

        bool fromHeader = calibration is null;
        if (fromHeader && (radiograph.Relationship != PixelRelationship.Linear || radiograph.RelationshipSign != 1))
        {
            return null;
        }

        var signal = new float[radiograph.PixelMaximum + 1];
        for (int value = 0; value < signal.Length; value++)
        {
            double modality = radiograph.Modality.Apply(value + radiograph.StoredMinimum);
            signal[value] = (float)(calibration is null ? modality : KermaMicrogray(calibration, modality));
        }

        return fromHeader
            ? new LinearSignal(signal, isKerma: false, "the header's LIN relation, taken as zero at zero exposure")
            : new LinearSignal(signal, isKerma: true, "the calibration");
    }

    /// <summary>Air kerma of a modality value, in µGy; NaN where the relation gives none (a root of a negative number).</summary>
    /// <param name="calibration">The calibration.</param>
    /// <param name="modality">The modality value.</param>
    public static double KermaMicrogray(Calibration calibration, double modality)
    {
        double units = (modality - calibration.Offset) / calibration.Gain;
        return calibration.Relationship switch
        {
            PixelRelationship.Linear => units,
            PixelRelationship.Logarithmic => Math.Pow(10, units),
            PixelRelationship.SquareRoot => units >= 0 ? units * units : double.NaN,
            _ => double.NaN,
        };
    }
}
