using System.Collections.Concurrent;
using Hotlight.Core;
using Hotlight.Privacy.Publishing;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Teaching;

namespace Hotlight.Web.WalkThroughs;

/// <summary>A walk-through on its way out of the bench.</summary>
public sealed class WalkThroughExportJob
{
    private readonly CancellationTokenSource stop = new();

    internal WalkThroughExportJob(Guid id, string name, string mediaType, string path) => (Id, Name, MediaType, Path) = (id, name, mediaType, path);

    /// <summary>Raised when something of it changed; not on the page's own thread.</summary>
    public event Action? Changed;

    /// <summary>Identifies it.</summary>
    public Guid Id { get; }

    /// <summary>Name of the file.</summary>
    public string Name { get; }

    /// <summary>Kind of the file.</summary>
    public string MediaType { get; }

    /// <summary>How much is done, 0 to 1.</summary>
    public double Share { get; private set; }

    /// <summary>Whether the file is there.</summary>
    public bool IsDone { get; private set; }

    /// <summary>Why it will not be there, one sentence; null: nothing is in the way.</summary>
    public string? Failure { get; private set; }

    /// <summary>Places in which something identifying stands; empty: none.</summary>
    public IReadOnlyList<PublicationFinding> Places { get; private set; } = [];

    /// <summary>Places of the picture that were blacked out.</summary>
    public int Covered { get; internal set; }

    /// <summary>Size of the file, in bytes.</summary>
    public long Bytes { get; private set; }

    internal string Path { get; }

    internal CancellationToken Stopped => stop.Token;

    /// <summary>Stops it; nothing is left of it.</summary>
    public void Cancel() => stop.Cancel();

    internal void Tell(double share)
    {
        bool isNews = (int)(share * 100) != (int)(Share * 100);
        Share = share;
        if (isNews)
        {
            Changed?.Invoke();
        }
    }

    internal void End(string? failure, IReadOnlyList<PublicationFinding>? places = null)
    {
        Failure = failure;
        Places = places ?? [];
        IsDone = failure is null;
        Bytes = IsDone ? new FileInfo(Path).Length : 0;
        Changed?.Invoke();
    }
}

/// <summary>What a walk-through is given away as.</summary>
public enum WalkThroughForm
{
    /// <summary>One HTML file.</summary>
    Page,

    /// <summary>A film, MP4.</summary>
    Mp4,

    /// <summary>A film, WebM.</summary>
    WebM,

    /// <summary>The walk-through's own JSON, without image and voice.</summary>
    Json,
}

/// <summary>Makes what leaves the bench of walk-throughs, one at a time, and holds it for an hour.</summary>
public sealed class ExportDesk(WalkThroughWorkflow walks, BenchOptions options, BenchLanguage language, TimeProvider clock, ILogger<ExportDesk> log) : IDisposable
{
    private static readonly TimeSpan HeldFor = TimeSpan.FromHours(1);
    private readonly ConcurrentDictionary<Guid, (WalkThroughExportJob Job, DateTimeOffset Begun)> jobs = new();
    private readonly SemaphoreSlim oneAtATime = new(1);

    private string Folder => Path.Combine(options.DataFolder, "exports");

    /// <summary>Begins to make a file.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="form">What is made.</param>
    /// <param name="heightPixels">Of a film: its height, 720 or 1080.</param>
    /// <param name="hasDrawnCaptions">Of a film: whether captions are drawn into the pictures.</param>
    public WalkThroughExportJob Begin(Guid caseId, WalkThroughForm form, int heightPixels, bool hasDrawnCaptions)
    {
        RemoveOld();
        Directory.CreateDirectory(Folder);
        Guid id = Guid.NewGuid();
        (string ending, string mediaType) = form switch
        {
            WalkThroughForm.Page => ("html", "text/html; charset=utf-8"),
            WalkThroughForm.Mp4 => ("mp4", "video/mp4"),
            WalkThroughForm.WebM => ("webm", "video/webm"),
            _ => ("json", "application/json"),
        };
        var job = new WalkThroughExportJob(id, $"walk-through.{ending}", mediaType, Path.Combine(Folder, id.ToString("N")));
        jobs[id] = (job, clock.GetUtcNow());
        _ = Task.Run(() => RunAsync(job, caseId, form, new FilmOptions(form == WalkThroughForm.WebM ? FilmKind.WebM : FilmKind.Mp4, heightPixels, hasDrawnCaptions)));
        return job;
    }

    /// <summary>A file that is ready; null where it is not.</summary>
    /// <param name="id">The file.</param>
    public WalkThroughExportJob? Find(Guid id) => jobs.TryGetValue(id, out (WalkThroughExportJob Job, DateTimeOffset Begun) found) && found.Job.IsDone ? found.Job : null;

    /// <inheritdoc/>
    public void Dispose()
    {
        foreach ((WalkThroughExportJob job, _) in jobs.Values)
        {
            job.Cancel();
            File.Delete(job.Path);
        }

        oneAtATime.Dispose();
    }

    private async Task RunAsync(WalkThroughExportJob job, Guid caseId, WalkThroughForm form, FilmOptions film)
    {
        language.Speak();
        string unseen = job.Path + ".unseen";
        try
        {
            await oneAtATime.WaitAsync(job.Stopped);
            try
            {
                OpenWalkThrough open = await walks.OpenAsync(caseId, job.Stopped);
                PublishableWalkThrough made = await walks.PublishableAsync(open, job.Stopped);
                job.Covered = made.Covered.Count;
                switch (form)
                {
                    case WalkThroughForm.Page:
                        await File.WriteAllBytesAsync(unseen, WalkThroughPage.Make(made.Walk, made.Radiograph, await walks.VoicesAsync(open, job.Stopped)), job.Stopped);
                        break;
                    case WalkThroughForm.Json:
                        await File.WriteAllTextAsync(unseen, WalkThroughJson.Write(made.Walk, indented: true) + "\n", job.Stopped);
                        break;
                    default:
                        await WalkThroughFilm.MakeAsync(made.Walk, made.Radiograph, await walks.VoicesAsync(open, job.Stopped), film, unseen, new Told(job.Tell), job.Stopped);
                        break;
                }

                WalkThroughExport.Demand(made, job.Name, await File.ReadAllBytesAsync(unseen, job.Stopped));
                File.Move(unseen, job.Path);
                job.End(null);
            }
            finally
            {
                oneAtATime.Release();
            }
        }
        catch (OperationCanceledException)
        {
            job.End("Stopped; nothing was written.");
        }
        catch (PublicationStoppedException error)
        {
            job.End("Nothing was published.", error.Findings);
        }
        catch (Exception error) when (error is FilmRefusedException or LessonRefusedException or FileNotKeptException or CaseGoneException or UnreadableImageException or UnreadableWalkThroughException)
        {
            job.End(error.Message);
        }
        catch (Exception error)
        {
            log.LogError(error, "A walk-through could not be written.");
            job.End(error is IOException ? "The file could not be written: the disk does not take it." : "The file could not be made.");
        }
        finally
        {
            File.Delete(unseen);
        }
    }

    private void RemoveOld()
    {
        foreach ((Guid id, (WalkThroughExportJob job, DateTimeOffset begun)) in jobs.Where(each => clock.GetUtcNow() - each.Value.Begun > HeldFor).ToArray())
        {
            jobs.TryRemove(id, out _);
            job.Cancel();
            File.Delete(job.Path);
        }
    }

    private sealed class Told(Action<double> say) : IProgress<double>
    {
        public void Report(double value) => say(value);
    }
}
