using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Measure.Exposure;

/// <summary>One flat exposure of known kerma.</summary>
/// <param name="ModalityValue">Modality value at the middle.</param>
/// <param name="KermaMicrogray">Air kerma at the receptor, in µGy, above 0.</param>
public sealed record CalibrationPoint(double ModalityValue, double KermaMicrogray);

/// <summary>A calibration fitted to flat exposures of known kerma, with what the fit leaves.</summary>
/// <remarks>
/// <para>The three relations of <see cref="Calibration"/> are straight lines of the modality value over K, log10 K or √K. Each is fitted by least squares of the residuals in K, relative to K; the one with the least root mean square is kept.
/// Which of two relations is meant cannot be told from exposures that lie close together: the kermas must span a factor of four.</para>
/// </remarks>
public sealed record CalibrationFit
{
    /// <summary>Fewest exposures: a line through two always fits.</summary>
    public const int LeastPoints = 3;

    /// <summary>Least ratio of the largest kerma to the smallest.</summary>
    public const double LeastSpan = 4;

    /// <summary>Largest residual of one exposure, in percent of its kerma, with which a calibration is given: about one and a half times the spread of calibrations found between systems in use (<see cref="ExposureMeasure.FieldSpreadPercent"/>).</summary>
    public const double MostResidualPercent = 10;

    /// <summary>The calibration.</summary>
    public required Calibration Calibration { get; init; }

    /// <summary>The exposures, by rising kerma.</summary>
    public required IReadOnlyList<CalibrationPoint> Points { get; init; }

    /// <summary>For each exposure, the kerma by the calibration less the true one, in percent of it.</summary>
    public required IReadOnlyList<double> ResidualsPercent { get; init; }

    /// <summary>Standard deviation of the residuals, with two degrees of freedom taken by the line, in percent.</summary>
    public required double ResidualDeviationPercent { get; init; }

    /// <summary>Fits the relation.</summary>
    /// <param name="points">The exposures; at least <see cref="LeastPoints"/>, spanning a factor of <see cref="LeastSpan"/>.</param>
    /// <param name="meterPercent">Relative standard uncertainty of the kerma meter, in percent; null when not known.</param>
    /// <param name="note">A note for the file.</param>
    /// <returns>Cannot-tell, with one sentence, where the exposures do not give a calibration.</returns>
    public static Figure<CalibrationFit> Of(IReadOnlyList<CalibrationPoint> points, double? meterPercent = null, string? note = null)
    {
        ArgumentNullException.ThrowIfNull(points);
        foreach (CalibrationPoint point in points)
        {
            Preconditions.AboveZero(point.KermaMicrogray, nameof(points));
        }

        CalibrationPoint[] sorted = [.. points.OrderBy(point => point.KermaMicrogray)];
        if (sorted.Length < LeastPoints)
        {
            return CannotTell($"a calibration needs {LeastPoints} flat exposures of different kerma or more, so that the fit can be checked; {sorted.Length} {(sorted.Length == 1 ? "was" : "were")} given.");
        }

        if (sorted[^1].KermaMicrogray < LeastSpan * sorted[0].KermaMicrogray)
        {
            return CannotTell($"the exposures go from {sorted[0].KermaMicrogray:0.###} to {sorted[^1].KermaMicrogray:0.###} µGy; they must span a factor of {LeastSpan} or more, or the relation cannot be told.");
        }

        int rising = 0;
        for (int at = 1; at < sorted.Length; at++)
        {
            rising += Math.Sign(sorted[at].ModalityValue - sorted[at - 1].ModalityValue);
        }

        if (Math.Abs(rising) != sorted.Length - 1 && sorted.Zip(sorted.Skip(1)).All(pair => pair.Second.KermaMicrogray > 1.02 * pair.First.KermaMicrogray))
        {
            return CannotTell("the pixel values do not rise or fall with the kerma all the way; two exposures were mixed up, or one was read with another setting.");
        }

        CalibrationFit? best = null;
        foreach (PixelRelationship relation in (PixelRelationship[])[PixelRelationship.Linear, PixelRelationship.Logarithmic, PixelRelationship.SquareRoot])
        {
            if (FitOne(relation, sorted, meterPercent, note) is { } fit && (best is null || fit.ResidualDeviationPercent < best.ResidualDeviationPercent))
            {
                best = fit;
            }
        }

        if (best is null)
        {
            return CannotTell("all exposures have the same pixel value, so nothing follows the kerma; give images for processing.");
        }

        int worst = Enumerable.Range(0, sorted.Length).MaxBy(at => Math.Abs(best.ResidualsPercent[at]));
        return Math.Abs(best.ResidualsPercent[worst]) <= MostResidualPercent
            ? Figure<CalibrationFit>.Measured(best)
            : CannotTell($"no linear, logarithmic or square-root relation fits: the best, {NameOf(best.Calibration.Relationship)}, is off by {best.ResidualsPercent[worst]:+0;−0} % at {sorted[worst].KermaMicrogray:0.###} µGy, and {MostResidualPercent:0} % is the most; check the kermas, or that all were read alike.");
    }

    /// <summary>The relation's name, as in a calibration file.</summary>
    /// <param name="relation">Linear, logarithmic or square root.</param>
    public static string NameOf(PixelRelationship relation) => relation switch
    {
        PixelRelationship.Linear => "linear",
        PixelRelationship.Logarithmic => "logarithmic",
        _ => "square-root",
    };

    private static CalibrationFit? FitOne(PixelRelationship relation, CalibrationPoint[] points, double? meterPercent, string? note)
    {
        // The residual in K relative to K is the residual of the modality value over gain · dX/dlnK, so those slopes are the weights; K for linear, 1 for logarithmic, √K / 2 for square root.
        double[] x = [.. points.Select(point => relation switch
        {
            PixelRelationship.Linear => point.KermaMicrogray,
            PixelRelationship.Logarithmic => Math.Log10(point.KermaMicrogray),
            _ => Math.Sqrt(point.KermaMicrogray),
        })];
        double[] slopes = [.. points.Select(point => relation switch
        {
            PixelRelationship.Linear => point.KermaMicrogray,
            PixelRelationship.Logarithmic => 1 / Math.Log(10),
            _ => Math.Sqrt(point.KermaMicrogray) / 2,
        })];
        double w = 0, wx = 0, wy = 0, wxx = 0, wxy = 0;
        for (int at = 0; at < points.Length; at++)
        {
            double weight = 1 / (slopes[at] * slopes[at]);
            w += weight;
            wx += weight * x[at];
            wy += weight * points[at].ModalityValue;
            wxx += weight * x[at] * x[at];
            wxy += weight * x[at] * points[at].ModalityValue;
        }

        double determinant = (w * wxx) - (wx * wx);
        double gain = determinant > 0 ? ((w * wxy) - (wx * wy)) / determinant : 0;
        double offset = (wy - (gain * wx)) / w;
        if (!double.IsFinite(gain) || gain == 0)
        {
            return null;
        }

        var calibration = new Calibration { Relationship = relation, Gain = gain, Offset = offset, Note = note };
        double[] residuals = [.. points.Select(point => 100 * ((LinearSignal.KermaMicrogray(calibration, point.ModalityValue) / point.KermaMicrogray) - 1))];
        if (residuals.Any(residual => !double.IsFinite(residual)))
        {
            return null;
        }

        double deviation = Math.Sqrt(residuals.Sum(residual => residual * residual) / (points.Length - 2));
        return new CalibrationFit
        {
            // Without the meter's own uncertainty the fit's alone would promise too much, so none is stated.
            Calibration = calibration with { KermaUncertaintyPercent = meterPercent is { } meter ? Math.Round(Math.Sqrt((deviation * deviation) + (meter * meter)), 2) : null },
            Points = points,
            ResidualsPercent = residuals,
            ResidualDeviationPercent = deviation,
        };
    }

    private static Figure<CalibrationFit> CannotTell(FormattableString why) => Figure<CalibrationFit>.CannotTell(why.ToString(CultureInfo.InvariantCulture));

    private static Figure<CalibrationFit> CannotTell(string why) => Figure<CalibrationFit>.CannotTell(why);
}
