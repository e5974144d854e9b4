using Hotlight.Imaging;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Histogram;

namespace Hotlight.Measure.Artifacts;

/// <summary>The scale artifacts are looked for in: higher is denser, a change of gain is a constant step.</summary>
/// <remarks>
/// <para>Where the file or a calibration gives a signal proportional to exposure: −ln of it, so a step of x is a change of gain by exp(x). Otherwise the pixel values themselves, turned so that denser is higher: most systems store about the logarithm, and nothing better is known.</para>
/// </remarks>
internal sealed class AttenuationScale
{
    private AttenuationScale(float[] byPixelValue, bool isLogarithm, double range, double denseRange, float step)
    {
        ByPixelValue = byPixelValue;
        IsLogarithm = isLogarithm;
        Range = range;
        DenseRange = denseRange;
        Step = step;
    }

    /// <summary>The attenuation of every pixel value, 0 to PixelMaximum.</summary>
    public float[] ByPixelValue { get; }

    /// <summary>Whether it is −ln of a signal proportional to exposure.</summary>
    public bool IsLogarithm { get; }

    /// <summary>Spread of the scale over the field, 1st to 99th percentile, above 0.</summary>
    public double Range { get; }

    /// <summary>Spread from the least dense hundredth of the field to its densest twentieth: metal over a few percent of the field does not stretch it.</summary>
    public double DenseRange { get; }

    /// <summary>What one grey step is worth at the field's median.</summary>
    public float Step { get; }

    /// <summary>What a contrast is a share of, as the document names it.</summary>
    public string ContrastBasis => IsLogarithm ? "signal" : "range";

    /// <summary>A difference on the scale as a contrast in percent of <see cref="ContrastBasis"/>.</summary>
    /// <param name="difference">Difference on the scale, positive for denser.</param>
    public double Percent(double difference)
        => IsLogarithm ? 100 * (1 - Math.Exp(-Math.Abs(difference))) : 100 * Math.Abs(difference) / Range;

    /// <summary>The scale of a radiograph; null where no pixel lies in the field.</summary>
    /// <param name="radiograph">The radiograph.</param>
    /// <param name="exposureSign">+1 where a higher pixel value means more exposure.</param>
    /// <param name="calibration">A calibration, or null.</param>
    /// <param name="histogram">Its histogram.</param>
    public static AttenuationScale? Of(Radiograph radiograph, int exposureSign, Calibration? calibration, FieldHistogram histogram)
    {
        if (histogram.FieldPixels == 0)
        {
            return null;
        }

        int low = FieldHistogram.Quantile(histogram.Field, histogram.FieldPixels, 0.01);
        int middle = FieldHistogram.Quantile(histogram.Field, histogram.FieldPixels, 0.5);
        int high = FieldHistogram.Quantile(histogram.Field, histogram.FieldPixels, 0.99);
        LinearSignal? signal = LinearSignal.Of(radiograph, calibration);
        var table = new float[radiograph.PixelMaximum + 1];
        if (signal is not null)
        {
            // The least signal that a pixel can hold and still say something: half a grey step above nothing.
            float step = Math.Abs(signal.ByPixelValue[Math.Min(middle + 1, table.Length - 1)] - signal.ByPixelValue[Math.Max(0, middle - 1)]) / 2;
            float least = Math.Max(step / 2, 1e-6f);
            for (int value = 0; value < table.Length; value++)
            {
                float own = signal.ByPixelValue[value];
                table[value] = -MathF.Log(float.IsFinite(own) ? Math.Max(own, least) : least);
            }
        }
        else
        {
            for (int value = 0; value < table.Length; value++)
            {
                table[value] = -exposureSign * value;
            }
        }

        double range = Math.Abs(table[high] - table[low]);
        int dense = FieldHistogram.Quantile(histogram.Field, histogram.FieldPixels, table[high] >= table[low] ? 0.95 : 0.05);
        double denseRange = Math.Max(Math.Abs(table[dense] - table[table[high] >= table[low] ? low : high]), 0.05 * range);
        float worth = Math.Abs(table[Math.Min(middle + 1, table.Length - 1)] - table[Math.Max(0, middle - 1)]) / 2;
        return range > 0 ? new AttenuationScale(table, signal is not null, range, denseRange, Math.Max(worth, 1e-6f)) : null;
    }
}
