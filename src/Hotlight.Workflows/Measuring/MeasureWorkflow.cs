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

/// <summary>One file of many: what was measured, or why it cannot be.</summary>
/// <param name="Path">The file.</param>
/// <param name="Measured">What was measured; null where it cannot be read.</param>
/// <param name="Error">Why it cannot be read; null where it was measured.</param>
public sealed record MeasuredPath(RadiographPath Path, MeasuredRadiograph? Measured, UnreadableImageException? Error);

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

    /// <summary>Reads and measures many files in their order; while one is measured, the next is read. A file that cannot be read never stops the rest.</summary>
    /// <param name="paths">The files; never changed.</param>
    /// <param name="options">What the caller knows that the files do not say.</param>
    /// <param name="cancellation">Stops before the next file.</param>
    public static IEnumerable<MeasuredPath> RunAll(IReadOnlyList<RadiographPath> paths, MeasureOptions options, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(paths);
        ArgumentNullException.ThrowIfNull(options);
        return All(paths, options, cancellation);
    }

    private static IEnumerable<MeasuredPath> All(IReadOnlyList<RadiographPath> paths, MeasureOptions options, CancellationToken cancellation)
    {
        Task<ReadFile>? next = paths.Count > 0 ? Begin(paths[0]) : null;
        for (int index = 0; index < paths.Count; index++)
        {
            ReadFile read = next!.GetAwaiter().GetResult();
            next = index + 1 < paths.Count ? Begin(paths[index + 1]) : null;
            cancellation.ThrowIfCancellationRequested();
            yield return read.Radiograph is { } radiograph
                ? new MeasuredPath(paths[index], new MeasuredRadiograph(radiograph, RadiographMeasure.Measure(radiograph, options, read.Ms)), null)
                : new MeasuredPath(paths[index], null, read.Error);
        }

        Task<ReadFile> Begin(RadiographPath path) => Task.Run(() => ReadOne(path.Path, cancellation), cancellation);
    }

    private static ReadFile ReadOne(string path, CancellationToken cancellation)
    {
        long start = Stopwatch.GetTimestamp();
        try
        {
            return new ReadFile(RadiographReader.Read(path, cancellation), null, Stopwatch.GetElapsedTime(start).TotalMilliseconds);
        }
        catch (UnreadableImageException error)
        {
            return new ReadFile(null, error, 0);
        }
    }

    private sealed record ReadFile(Radiograph? Radiograph, UnreadableImageException? Error, double Ms);
}
