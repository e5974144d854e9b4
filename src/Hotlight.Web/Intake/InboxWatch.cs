using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;

namespace Hotlight.Web.Intake;

/// <summary>Looks through the inbox while the bench runs: when the system says that something changed, and every few seconds, since not every file system says so.</summary>
internal sealed class InboxWatch(CaseWorkflow cases, ArrivalLog log, BenchOptions options, TimeProvider clock, ILogger<InboxWatch> errors) : BackgroundService
{
    private static readonly TimeSpan Soon = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan Later = TimeSpan.FromSeconds(5);

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (options.InboxFolder is not { } folder)
        {
            return;
        }

        await Task.Yield();
        var inbox = new Inbox(cases, log, folder, options.InboxRemoves, options.UploadLimitBytes, clock);
        using var changed = new SemaphoreSlim(0, 1);
        using FileSystemWatcher? watcher = Watch(folder, changed);
        bool failed = false;
        while (!stoppingToken.IsCancellationRequested)
        {
            bool waits = false;
            try
            {
                waits = await inbox.LookAsync(stoppingToken);
                failed = false;
            }
            catch (Exception error) when (error is not OperationCanceledException)
            {
                // A folder on another machine may be away for a while: said once, looked for again.
                if (!failed)
                {
                    errors.LogError(error, "The inbox cannot be read.");
                    failed = true;
                }
            }

            if (waits)
            {
                await Task.Delay(Soon, stoppingToken);
            }
            else
            {
                await changed.WaitAsync(Later, stoppingToken);
            }
        }
    }

    private static FileSystemWatcher? Watch(string folder, SemaphoreSlim changed)
    {
        void Wake()
        {
            try
            {
                changed.Release();
            }
            catch (Exception error) when (error is SemaphoreFullException or ObjectDisposedException)
            {
                // It is awake already, or the bench stops.
            }
        }

        try
        {
            Directory.CreateDirectory(folder);
            var watcher = new FileSystemWatcher(folder) { IncludeSubdirectories = true };
            watcher.Created += (_, _) => Wake();
            watcher.Changed += (_, _) => Wake();
            watcher.Renamed += (_, _) => Wake();
            watcher.EnableRaisingEvents = true;
            return watcher;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            // The system has no more watches to give, or does not watch this folder: it is looked through every few seconds.
            return null;
        }
    }
}
