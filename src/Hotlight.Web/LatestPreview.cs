using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Web;

/// <summary>Makes previews of scenes, as <see cref="LatestPicture{T}"/> does.</summary>
/// <param name="show">Shows a preview, or the sentence why there is none; the next is begun when it has ended.</param>
/// <param name="log">Where failures are noted.</param>
internal sealed class LatestPreview(Func<SceneDocument, LabPreview?, string?, Task> show, ILogger log)
    : LatestPicture<LabPreview>((scene, stop) => Lab.Preview(scene, LongestSide, stop), show, log)
{
    /// <summary>Pixels along the longer side.</summary>
    public const int LongestSide = 512;
}

/// <summary>Makes pictures away from the page's own thread, one at a time and always of the newest scene: what is overtaken while another is made is never begun.</summary>
/// <typeparam name="T">The picture.</typeparam>
/// <param name="make">Makes a picture of a scene.</param>
/// <param name="show">Shows a picture, or the sentence why there is none; the next is begun when it has ended.</param>
/// <param name="log">Where failures are noted.</param>
internal class LatestPicture<T>(Func<SceneDocument, CancellationToken, T> make, Func<SceneDocument, T?, string?, Task> show, ILogger log) : IDisposable
    where T : class
{
    private readonly Lock gate = new();
    private SceneDocument? waiting;
    private SceneDocument? running;
    private CancellationTokenSource? stopping;
    private bool isClosed;

    /// <summary>Asks for a preview. One of another part or view that is being made is stopped; one of the same is finished, so that the picture follows while a slider is dragged.</summary>
    /// <param name="scene">The scene.</param>
    public void Ask(SceneDocument scene)
    {
        ArgumentNullException.ThrowIfNull(scene);
        lock (gate)
        {
            if (isClosed)
            {
                return;
            }

            waiting = scene;
            if (stopping is null)
            {
                stopping = new CancellationTokenSource();
                _ = Task.Run(WorkAsync);
            }
            else if (running?.Id != scene.Id)
            {
                stopping.Cancel();
            }
        }
    }

    /// <summary>Stops; nothing is shown any more.</summary>
    public void Dispose()
    {
        lock (gate)
        {
            isClosed = true;
            waiting = null;
            stopping?.Cancel();
        }
    }

    private async Task WorkAsync()
    {
        while (true)
        {
            SceneDocument scene;
            CancellationToken stop;
            lock (gate)
            {
                running = waiting;
                waiting = null;
                stopping?.Dispose();
                stopping = null;
                if (running is null)
                {
                    return;
                }

                scene = running;
                stopping = new CancellationTokenSource();
                stop = stopping.Token;
            }

            try
            {
                T preview = make(scene, stop);
                await ShowAsync(scene, preview, null, stop);
            }
            catch (OperationCanceledException)
            {
                // Overtaken by a scene of another part or view.
            }
            catch (UnreadableSceneException error)
            {
                await ShowAsync(scene, null, error.Reason, stop);
            }
            catch (Exception error)
            {
                log.LogError(error, "A preview could not be made.");
                await ShowAsync(scene, null, "this scene could not be exposed; take the last step back.", stop);
            }
        }
    }

    private async Task ShowAsync(SceneDocument scene, T? preview, string? reason, CancellationToken stop)
    {
        if (stop.IsCancellationRequested)
        {
            return;
        }

        try
        {
            await show(scene, preview, reason);
        }
        catch (Exception error) when (error is not OutOfMemoryException)
        {
            // The page is gone or its connection is down; the next preview shows what is newest.
            log.LogDebug(error, "A preview could not be shown.");
        }
    }
}
