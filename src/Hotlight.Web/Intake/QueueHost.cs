using Hotlight.Workflows.Measuring;

namespace Hotlight.Web.Intake;

/// <summary>Keeps the workers on the measuring queue at work while the bench runs.</summary>
internal sealed class QueueHost(QueueWorkers workers, ILogger<QueueHost> log) : BackgroundService
{
    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        await Task.Yield();
        workers.Troubled += OnTroubled;
        try
        {
            await workers.RunAsync(stoppingToken);
        }
        finally
        {
            workers.Troubled -= OnTroubled;
        }
    }

    private void OnTroubled(Exception error) => log.LogError(error, "Measuring in the background met an error; it is tried again.");
}
