using Hotlight.Audit;

namespace Hotlight.Web.Audit;

/// <summary>Tells the trail that the bench starts and stops, holds it against what the data folder knows, and removes what the clinic's policy no longer keeps, once a day.</summary>
internal sealed class AuditHost(AuditTrail trail, BenchOptions options, TimeProvider clock, ILogger<AuditHost> log) : BackgroundService
{
    private static readonly TimeSpan Day = TimeSpan.FromDays(1);

    /// <inheritdoc/>
    public override async Task StartAsync(CancellationToken cancellationToken)
    {
        if (await trail.CompareHeadAsync(cancellationToken) is { } warning)
        {
            log.LogError("{Warning}", warning);
        }

        await trail.TellAsync(new AuditEvent(AuditAct.Started, AuditSubject.Bench, detail: $"version {typeof(AuditHost).Assembly.GetName().Version?.ToString(3)}") { By = AuditActor.Bench }, cancellationToken);
        await base.StartAsync(cancellationToken);
    }

    /// <inheritdoc/>
    public override async Task StopAsync(CancellationToken cancellationToken)
    {
        await base.StopAsync(cancellationToken);
        try
        {
            // Noted also where pages that stayed open have used up the time for stopping.
            await trail.TellAsync(new AuditEvent(AuditAct.Stopped, AuditSubject.Bench) { By = AuditActor.Bench }, CancellationToken.None);
        }
        catch (AuditRefusedException error)
        {
            // A bench whose disk is full must be able to stop.
            log.LogError(error, "That the bench stops could not be noted in the audit trail.");
        }
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (options.AuditKeptDays is not { } days)
        {
            return;
        }

        while (!stoppingToken.IsCancellationRequested)
        {
            try
            {
                await trail.RetainAsync(TimeSpan.FromDays(days), stoppingToken);
                await Task.Delay(Day, clock, stoppingToken);
            }
            catch (OperationCanceledException)
            {
                return;
            }
            catch (Exception error)
            {
                log.LogError(error, "Old entries of the audit trail could not be removed; it is tried again tomorrow.");
                await Task.Delay(Day, clock, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            }
        }
    }
}
