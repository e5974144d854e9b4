using System.Diagnostics;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Document;

namespace Hotlight.Workflows.Measuring;

/// <summary>A radiograph that was read and measured.</summary>
/// <param name="Radiograph">What was read.</param>
/// <param name="Document">What was measured.</param>
public sealed record MeasuredRadiograph(Radiograph Radiograph, MeasurementDocument Document);

/// <summary>Reads a file and measures it: the one path that the command line and the bench share.</summary>
public static class MeasureWorkflow
{
    /// <summary>Reads and measures a file.</summary>
    /// <param name="path">Path of the file; never changed.</param>
    /// <param name="options">What the caller knows that the file does not say.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="UnreadableImageException">The file is not a radiograph Hotlight can judge.</exception>
    public static MeasuredRadiograph Run(string path, MeasureOptions options, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        ArgumentNullException.ThrowIfNull(options);
        long start = Stopwatch.GetTimestamp();
        Radiograph radiograph = RadiographReader.Read(path, cancellation);
        double readMs = Stopwatch.GetElapsedTime(start).TotalMilliseconds;
        return new MeasuredRadiograph(radiograph, RadiographMeasure.Measure(radiograph, options, readMs));
    }
}
