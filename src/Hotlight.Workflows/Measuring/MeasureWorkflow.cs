using System.Diagnostics;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Workflows.Clinic;

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
    /// <param name="clinic">The clinic's settings, for what the options leave open; null: none.</param>
    /// <param name="projectionId">The projection it is measured for; null: none.</param>
    /// <exception cref="UnreadableImageException">The file is not a radiograph Hotlight can judge.</exception>
    public static MeasuredRadiograph Run(string path, MeasureOptions options, CancellationToken cancellation = default, ClinicSettings? clinic = null, string? projectionId = null)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        ArgumentNullException.ThrowIfNull(options);
        long start = Stopwatch.GetTimestamp();
        Radiograph radiograph = RadiographReader.Read(path, cancellation);
        double readMs = Stopwatch.GetElapsedTime(start).TotalMilliseconds;
        return new MeasuredRadiograph(radiograph, RadiographMeasure.Measure(radiograph, clinic?.Fill(options, radiograph.Exposure, projectionId) ?? options, readMs));
    }

    /// <summary>Reads and measures many files, several at once, and gives them in their order. A file that cannot be read never stops the rest.</summary>
    /// <remarks>
    /// One file uses both of two cores only part of the time; two files at once use them all of it. At most as many files are in work as there are cores and as the memory
    /// holds at 400 MB each; a large image takes the place of several. What is told does not depend on it.
    /// </remarks>
    /// <param name="paths">The files; never changed.</param>
    /// <param name="options">What the caller knows that the files do not say.</param>
    /// <param name="cancellation">Stops before the next file.</param>
    /// <param name="clinic">The clinic's settings, for what the options leave open; null: none.</param>
    public static IEnumerable<MeasuredPath> RunAll(IReadOnlyList<RadiographPath> paths, MeasureOptions options, CancellationToken cancellation = default, ClinicSettings? clinic = null)
    {
        ArgumentNullException.ThrowIfNull(paths);
        ArgumentNullException.ThrowIfNull(options);
        return All(paths, options, clinic, cancellation);
    }

    private static IEnumerable<MeasuredPath> All(IReadOnlyList<RadiographPath> paths, MeasureOptions options, ClinicSettings? clinic, CancellationToken cancellation)
    {
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        var room = new MeasuringRoom(MeasuringRoom.PlacesHere());
        var begun = new Queue<Task<MeasuredPath>>();
        int next = 0;
        try
        {
            while (next < paths.Count || begun.Count > 0)
            {
                for (; next < paths.Count && begun.Count < room.Places; next++)
                {
                    RadiographPath path = paths[next];
                    begun.Enqueue(Task.Run(() => RunOne(path, options, clinic, room, stop.Token), stop.Token));
                }

                MeasuredPath measured = begun.Dequeue().GetAwaiter().GetResult();
                cancellation.ThrowIfCancellationRequested();
                yield return measured;
            }
        }
        finally
        {
            // Whoever stops asking gets no more files begun; those in work end by themselves before the source of the token goes.
            stop.Cancel();
            while (begun.TryDequeue(out Task<MeasuredPath>? left))
            {
                ((IAsyncResult)left).AsyncWaitHandle.WaitOne();
                _ = left.Exception;
            }
        }
    }

    private static MeasuredPath RunOne(RadiographPath path, MeasureOptions options, ClinicSettings? clinic, MeasuringRoom room, CancellationToken cancellation)
    {
        cancellation.ThrowIfCancellationRequested();
        long start = Stopwatch.GetTimestamp();
        Radiograph radiograph;
        try
        {
            radiograph = RadiographReader.Read(path.Path, cancellation);
        }
        catch (UnreadableImageException error)
        {
            return new MeasuredPath(path, null, error);
        }

        double readMs = Stopwatch.GetElapsedTime(start).TotalMilliseconds;
        int places = room.Enter((long)radiograph.Rows * radiograph.Columns);
        try
        {
            cancellation.ThrowIfCancellationRequested();
            return new MeasuredPath(path, new MeasuredRadiograph(radiograph, RadiographMeasure.Measure(radiograph, clinic?.Fill(options, radiograph.Exposure, null) ?? options, readMs)), null);
        }
        finally
        {
            room.Leave(places);
        }
    }
}
