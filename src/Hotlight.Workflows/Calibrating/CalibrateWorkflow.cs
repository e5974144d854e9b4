using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Exposure;

namespace Hotlight.Workflows.Calibrating;

/// <summary>A flat exposure to calibrate by.</summary>
/// <param name="Path">Path of the file; never changed.</param>
/// <param name="KermaMicrogray">Air kerma measured at the receptor, in µGy, above 0.</param>
public sealed record FlatFile(string Path, double KermaMicrogray);

/// <summary>Makes a calibration of a receptor from flat exposures of known kerma.</summary>
public static class CalibrateWorkflow
{
    /// <summary>Reads the exposures and fits the relation.</summary>
    /// <param name="files">The exposures.</param>
    /// <param name="meterPercent">Relative standard uncertainty of the kerma meter, in percent; null when not known.</param>
    /// <param name="note">A note for the file.</param>
    /// <param name="cancellation">Stops before the next file.</param>
    /// <returns>Cannot-tell, with one sentence, where the exposures do not give a calibration.</returns>
    /// <exception cref="UnreadableImageException">A file is not a radiograph.</exception>
    public static Figure<CalibrationFit> Run(IReadOnlyList<FlatFile> files, double? meterPercent = null, string? note = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(files);
        var points = new List<CalibrationPoint>();
        foreach (FlatFile file in files)
        {
            cancellation.ThrowIfCancellationRequested();
            Radiograph radiograph = RadiographReader.Read(file.Path, cancellation);
            Figure<FlatExposure> flat = FlatExposure.Measure(radiograph);
            if (!flat.IsMeasured)
            {
                return Figure<CalibrationFit>.CannotTell($"{radiograph.FileName}: {flat.Why}");
            }

            points.Add(new CalibrationPoint(flat.Value.ModalityValue, file.KermaMicrogray));
        }

        return CalibrationFit.Of(points, meterPercent, note);
    }
}
