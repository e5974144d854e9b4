using System.Security.Cryptography;
using System.Text;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Workflows.Teaching.Practice;

/// <summary>An exposure of the lab, ready to be shown.</summary>
/// <param name="Key">What it is found by: a hash of its scene, which tells nothing of it.</param>
/// <param name="Radiograph">The image for presentation.</param>
/// <param name="Measurements">What was measured on it.</param>
/// <param name="Truth">What is true of it.</param>
public sealed record PracticeExposure(string Key, Radiograph Radiograph, MeasurementDocument Measurements, SceneTruth Truth);

/// <summary>Exposures of the lab that practice shows: made away from the page, one at a time, the last few kept in memory; one that is gone is made again from its scene, the same to the byte.</summary>
public sealed class PracticeShelf : IDisposable
{
    private const int Places = 8;
    private readonly Lock gate = new();
    private readonly LinkedList<Entry> entries = new();
    private readonly SemaphoreSlim exposing = new(1);
    private readonly CancellationTokenSource closing = new();

    /// <summary>The key of a scene.</summary>
    /// <param name="sceneJson">The scene as JSON.</param>
    public static string KeyOf(string sceneJson)
    {
        ArgumentNullException.ThrowIfNull(sceneJson);
        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(sceneJson)))[..32];
    }

    /// <summary>Begins to make an exposure if it is neither there nor being made; its end is not waited for.</summary>
    /// <param name="sceneJson">The scene as JSON.</param>
    public void Prepare(string sceneJson) => _ = EntryOf(sceneJson);

    /// <summary>An exposure; made when it is not there.</summary>
    /// <param name="sceneJson">The scene as JSON.</param>
    /// <param name="progress">Told the share that is done, 0 to 1.</param>
    /// <param name="cancellation">Stops the waiting; what is being made is finished.</param>
    /// <exception cref="UnreadableSceneException">The scene cannot be exposed.</exception>
    public async Task<PracticeExposure> TakeAsync(string sceneJson, Action<double>? progress = null, CancellationToken cancellation = default)
    {
        Entry entry = EntryOf(sceneJson);
        if (progress is not null)
        {
            entry.Progressed += progress;
            progress(entry.Share);
        }

        try
        {
            return await entry.Made.WaitAsync(cancellation);
        }
        finally
        {
            if (progress is not null)
            {
                entry.Progressed -= progress;
            }
        }
    }

    /// <summary>An exposure by its key; null where it is not in memory any more.</summary>
    /// <param name="key">The key.</param>
    public async Task<PracticeExposure?> FindAsync(string key)
    {
        Task<PracticeExposure>? made;
        lock (gate)
        {
            made = entries.FirstOrDefault(each => each.Key == key)?.Made;
        }

        return made is null ? null : await made;
    }

    /// <summary>Stops what is being made.</summary>
    public void Dispose()
    {
        closing.Cancel();
        closing.Dispose();
        exposing.Dispose();
    }

    private Entry EntryOf(string sceneJson)
    {
        string key = KeyOf(sceneJson);
        lock (gate)
        {
            Entry? known = entries.FirstOrDefault(each => each.Key == key);
            if (known is { Made.IsFaulted: true } or { Made.IsCanceled: true })
            {
                entries.Remove(known);
                known = null;
            }

            if (known is not null)
            {
                entries.Remove(known);
                entries.AddFirst(known);
                return known;
            }

            var entry = new Entry(key);
            CancellationToken stop = closing.Token;
            entry.Made = Task.Run(() => MakeAsync(entry, sceneJson, stop), stop);
            entries.AddFirst(entry);
            while (entries.Count > Places)
            {
                entries.RemoveLast();
            }

            return entry;
        }
    }

    private async Task<PracticeExposure> MakeAsync(Entry entry, string sceneJson, CancellationToken stop)
    {
        await exposing.WaitAsync(stop);
        try
        {
            SceneDocument scene = SceneJson.Read(sceneJson, "exercise");

            // Measuring comes after the exposure and takes about a tenth of it.
            LabExposure exposure = Lab.Expose(scene, null, new Told<double>(share => entry.Report(0.9 * share)), stop);
            Radiograph radiograph = RadiographReader.Read(exposure.ForPresentation(), "exercise.dcm", stop);
            MeasurementDocument measured = RadiographMeasure.Measure(radiograph);
            entry.Report(1);
            return new PracticeExposure(entry.Key, radiograph, measured, exposure.Truth);
        }
        finally
        {
            exposing.Release();
        }
    }

    private sealed class Entry(string key)
    {
        private double told = -1;

        public event Action<double>? Progressed;

        public string Key { get; } = key;

        public double Share { get; private set; }

        public Task<PracticeExposure> Made { get; set; } = null!;

        public void Report(double share)
        {
            Share = share;
            if (share - told >= 0.01 || share >= 1)
            {
                told = share;
                Progressed?.Invoke(share);
            }
        }
    }
}
