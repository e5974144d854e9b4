using Hotlight.Audit;
using Hotlight.Core;
using Hotlight.Privacy.Publishing;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Web.Lessons;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.WalkThroughs;

namespace Hotlight.Web.WalkThroughs;

/// <summary>A walk-through on its way out of the bench.</summary>
public sealed class WalkThroughExportJob
{
    private readonly CancellationTokenSource stop = new();

    internal WalkThroughExportJob(string name, string mediaType) => (Name, MediaType) = (name, mediaType);

    /// <summary>Raised when something of it changed; not on the page's own thread.</summary>
    public event Action? Changed;

    /// <summary>Name of the file.</summary>
    public string Name { get; }

    /// <summary>Kind of the file.</summary>
    public string MediaType { get; }

    /// <summary>How much is done, 0 to 1.</summary>
    public double Share { get; private set; }

    /// <summary>Where the file is fetched from; null: it is not there.</summary>
    public string? Address { get; private set; }

    /// <summary>Whether the file is there.</summary>
    public bool IsDone => Address is not null;

    /// <summary>Why it will not be there, one sentence; null: nothing is in the way.</summary>
    public string? Failure { get; private set; }

    /// <summary>Places in which something identifying stands; empty: none.</summary>
    public IReadOnlyList<PublicationFinding> Places { get; private set; } = [];

    /// <summary>Places of the picture that were blacked out.</summary>
    public int Covered { get; internal set; }

    /// <summary>Size of the file, in bytes.</summary>
    public long Bytes { get; private set; }

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

    internal void Done(string address, long bytes)
    {
        (Address, Bytes) = (address, bytes);
        Changed?.Invoke();
    }

    internal void Fail(string why, IReadOnlyList<PublicationFinding>? places = null)
    {
        (Failure, Places) = (why, places ?? []);
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

/// <summary>Makes what leaves the bench of walk-throughs, one at a time.</summary>
public sealed class ExportDesk(WalkThroughWorkflow walks, SharedFileDesk files, BenchLanguage language, ILogger<ExportDesk> log) : IDisposable
{
    private readonly SemaphoreSlim oneAtATime = new(1);
    private readonly CancellationTokenSource closing = new();

    /// <summary>Begins to make a file.</summary>
    /// <param name="caseId">The case.</param>
    /// <param name="form">What is made.</param>
    /// <param name="heightPixels">Of a film: its height, 720 or 1080.</param>
    /// <param name="hasDrawnCaptions">Of a film: whether captions are drawn into the pictures.</param>
    public WalkThroughExportJob Begin(Guid caseId, WalkThroughForm form, int heightPixels, bool hasDrawnCaptions)
    {
        (string ending, string mediaType) = form switch
        {
            WalkThroughForm.Page => ("html", "text/html; charset=utf-8"),
            WalkThroughForm.Mp4 => ("mp4", "video/mp4"),
            WalkThroughForm.WebM => ("webm", "video/webm"),
            _ => ("json", "application/json"),
        };
        var job = new WalkThroughExportJob($"walk-through.{ending}", mediaType);
        _ = Task.Run(() => RunAsync(job, caseId, form, new FilmOptions(form == WalkThroughForm.WebM ? FilmKind.WebM : FilmKind.Mp4, heightPixels, hasDrawnCaptions)));
        return job;
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        closing.Cancel();
        closing.Dispose();
        oneAtATime.Dispose();
    }

    private async Task RunAsync(WalkThroughExportJob job, Guid caseId, WalkThroughForm form, FilmOptions film)
    {
        language.Speak();
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(job.Stopped, closing.Token);
        string path = files.NewPath();
        bool isOffered = false;
        try
        {
            await oneAtATime.WaitAsync(stop.Token);
            try
            {
                OpenWalkThrough open = await walks.OpenAsync(caseId, stop.Token);
                PublishableWalkThrough made = await walks.PublishableAsync(open, stop.Token);
                job.Covered = made.Covered.Count;
                switch (form)
                {
                    case WalkThroughForm.Page:
                        await File.WriteAllBytesAsync(path, WalkThroughPage.Make(made.Walk, made.Radiograph, await walks.VoicesAsync(open, stop.Token)), stop.Token);
                        break;
                    case WalkThroughForm.Json:
                        await File.WriteAllTextAsync(path, WalkThroughJson.Write(made.Walk, indented: true) + "\n", stop.Token);
                        break;
                    default:
                        await WalkThroughFilm.MakeAsync(made.Walk, made.Radiograph, await walks.VoicesAsync(open, stop.Token), film, path, new Told<double>(job.Tell), stop.Token);
                        break;
                }

                byte[] content = await File.ReadAllBytesAsync(path, stop.Token);
                WalkThroughExport.Demand(made, job.Name, content);
                job.Done(files.Offer(path, job.Name, job.MediaType, new AuditEvent(AuditAct.Exported, AuditSubject.Case, caseId.ToString(), $"walk-through, {job.MediaType}")), content.LongLength);
                isOffered = true;
            }
            finally
            {
                oneAtATime.Release();
            }
        }
        catch (OperationCanceledException)
        {
            job.Fail("Stopped; nothing was written.");
        }
        catch (PublicationStoppedException error)
        {
            job.Fail("Nothing was published.", error.Findings);
        }
        catch (Exception error) when (error is FilmRefusedException or LessonRefusedException or FileNotKeptException or CaseGoneException or UnreadableImageException or UnreadableWalkThroughException)
        {
            job.Fail(error.Message);
        }
        catch (Exception error)
        {
            log.LogError(error, "A walk-through could not be written.");
            job.Fail(error is IOException ? "The file could not be written: the disk does not take it." : "The file could not be made.");
        }
        finally
        {
            if (!isOffered)
            {
                SharedFileDesk.Drop(path);
            }
        }
    }
}
