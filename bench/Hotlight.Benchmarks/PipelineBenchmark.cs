using System.Diagnostics;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Artifacts;
using Hotlight.Measure.Clipping;
using Hotlight.Measure.Display;
using Hotlight.Measure.Document;
using Hotlight.Measure.Exposure;
using Hotlight.Measure.Histogram;
using Hotlight.Measure.Markers;
using Hotlight.Measure.Mottle;
using Hotlight.Measure.Processing;
using Hotlight.Measure.Regions;
using Hotlight.Measure.Sharpness;

namespace Hotlight.Benchmarks;

/// <summary>Times reading and every step of measuring in a warm process.</summary>
internal sealed class PipelineBenchmark
{
    private readonly Dictionary<string, List<double>> times = [];
    private readonly Dictionary<string, double> processorTimes = [];

    /// <summary>The steps and their times in ms, in the order first run.</summary>
    public IReadOnlyDictionary<string, List<double>> Times => times;

    /// <summary>Processor time of all cores together that each step took over all rounds, in ms: it tells less of what else the machine does.</summary>
    public IReadOnlyDictionary<string, double> ProcessorTimes => processorTimes;

    /// <summary>The document of the last round.</summary>
    public MeasurementDocument? Last { get; private set; }

    /// <summary>Size of the last round's image, in millions of pixels.</summary>
    public double Megapixels { get; private set; }

    /// <summary>Runs the pipeline over a file.</summary>
    /// <param name="path">The file.</param>
    /// <param name="warmUp">Rounds that do not count.</param>
    /// <param name="rounds">Rounds that count.</param>
    /// <param name="steps">Whether single steps are timed too, after the whole.</param>
    /// <param name="progress">Told after each round.</param>
    public void Run(string path, int warmUp, int rounds, bool steps, Action<int> progress)
    {
        for (int round = -warmUp; round < rounds; round++)
        {
            if (round == 0)
            {
                times.Clear();
                processorTimes.Clear();
            }

            Radiograph? read = null;
            MeasurementDocument? document = null;
            Time("read + measure", () =>
            {
                read = Time("· read", () => RadiographReader.Read(path));
                return document = Time("· measure", () => RadiographMeasure.Measure(read));
            });
            Radiograph radiograph = read!;
            Last = document!;
            Megapixels = (double)radiograph.Rows * radiograph.Columns / 1e6;
            if (!steps)
            {
                progress(round + warmUp + 1);
                continue;
            }

            var options = new MeasureOptions();
            RadiographRegions regions = Time("· · field, anatomy, collimation", () => RegionFinder.Find(radiograph, options));
            FieldHistogram histogram = Time("· · histogram", () => FieldHistogram.Count(radiograph, regions.Map));
            Figure<ExposureMeasurement> exposure = Time("· · exposure", () => ExposureMeasure.Measure(radiograph, regions, options, histogram));
            Time("· · mottle", () => MottleMeasure.Measure(radiograph, regions, options, histogram, exposure));
            Time("· · clipping", () => ClippingMeasure.Measure(radiograph, regions, options, histogram));
            Figure<DisplayMeasurement> display = Time("· · display", () => DisplayMeasure.Measure(radiograph, regions, options, histogram));
            Figure<MarkersMeasurement> markers = Time("· · markers", () => MarkersMeasure.Measure(radiograph, regions, options));
            Time("· · artifacts", () => ArtifactMeasure.Measure(radiograph, regions, options, markers.Value?.Found, histogram));
            Time("· · processing", () => ProcessingMeasure.Measure(radiograph, regions, options, display, histogram));
            Time("· · sharpness", () => SharpnessMeasure.Measure(radiograph, regions, options, histogram, excluded: []));
            Time("document as JSON", () => MeasurementJson.Write(Last));
            progress(round + warmUp + 1);
        }
    }

    private T Time<T>(string step, Func<T> work)
    {
        Environment.ProcessCpuUsage before = Environment.CpuUsage;
        long start = Stopwatch.GetTimestamp();
        T result = work();
        Add(step, Stopwatch.GetElapsedTime(start).TotalMilliseconds);
        processorTimes[step] = processorTimes.GetValueOrDefault(step) + (Environment.CpuUsage.TotalTime - before.TotalTime).TotalMilliseconds;
        return result;
    }

    private void Add(string step, double milliseconds)
    {
        if (!times.TryGetValue(step, out List<double>? list))
        {
            times[step] = list = [];
        }

        list.Add(milliseconds);
    }
}
