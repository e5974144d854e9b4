using System.Globalization;
using System.Text.Json;
using Hotlight.Audit;
using Hotlight.Web.People;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Measuring;
using Microsoft.Extensions.Diagnostics.HealthChecks;

namespace Hotlight.Web.Upkeep;

/// <summary>Whether the records can be read.</summary>
internal sealed class RecordsHealth(IRecordStore records) : IHealthCheck
{
    /// <inheritdoc/>
    public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default)
    {
        await records.FindFactAsync("health", cancellationToken);
        return HealthCheckResult.Healthy("The records can be read.");
    }
}

/// <summary>Whether the audit trail can be read; without it nothing is shown.</summary>
internal sealed class TrailHealth(AuditTrail trail) : IHealthCheck
{
    /// <inheritdoc/>
    public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default)
    {
        await foreach (AuditEntry newest in trail.ReadAsync(new AuditQuery { Newest = 1 }, cancellationToken))
        {
            return HealthCheckResult.Healthy("The audit trail can be read.", new Dictionary<string, object> { ["newest"] = newest.Number });
        }

        return HealthCheckResult.Unhealthy("The audit trail is empty, though the start of the bench stands in it.");
    }
}

/// <summary>Whether the data folder can be written and has room.</summary>
internal sealed class FolderHealth(BenchOptions options) : IHealthCheck
{
    /// <summary>Below so many bytes free, a warning: about a hundred radiographs.</summary>
    public const long FewBytes = 2L * 1024 * 1024 * 1024;

    /// <inheritdoc/>
    public async Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default)
    {
        string trial = Path.Combine(options.DataFolder, $"health-{Guid.NewGuid():N}.part");
        try
        {
            await File.WriteAllBytesAsync(trial, new byte[4096], cancellationToken);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return HealthCheckResult.Unhealthy("The data folder cannot be written: the disk is full or read-only.");
        }
        finally
        {
            File.Delete(trial);
        }

        long free = new DriveInfo(Path.GetFullPath(options.DataFolder)).AvailableFreeSpace;
        var data = new Dictionary<string, object> { ["freeBytes"] = free };
        return free < FewBytes
            ? HealthCheckResult.Degraded(string.Create(CultureInfo.InvariantCulture, $"Only {free / (1024 * 1024)} MiB are free in the data folder."), data: data)
            : HealthCheckResult.Healthy("The data folder can be written.", data);
    }
}

/// <summary>How far the measuring queue is.</summary>
internal sealed class QueueHealth(QueueWorkers workers) : IHealthCheck
{
    /// <inheritdoc/>
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context, CancellationToken cancellationToken = default)
    {
        MeasuringProgress now = workers.Progress;
        var data = new Dictionary<string, object> { ["left"] = now.Left, ["givenUp"] = now.GivenUp };
        return Task.FromResult(now.GivenUp > 0
            ? HealthCheckResult.Degraded(string.Create(CultureInfo.InvariantCulture, $"{now.GivenUp} cases could not be measured; 'hotlight queue' says why."), data: data)
            : HealthCheckResult.Healthy("The measuring queue is at work.", data));
    }
}

/// <summary>Says how the bench is, for whoever looks after it: at <c>/health</c>, as JSON, without anything of a case.</summary>
internal static class BenchHealth
{
    /// <summary>The address.</summary>
    public const string Address = "/health";

    private static readonly JsonSerializerOptions Form = new() { WriteIndented = true };

    /// <summary>Adds the checks.</summary>
    /// <param name="services">The bench's services.</param>
    public static void AddBenchHealth(this IServiceCollection services)
        => services.AddHealthChecks()
            .AddCheck<RecordsHealth>("records", timeout: TimeSpan.FromSeconds(10))
            .AddCheck<TrailHealth>("audit trail", timeout: TimeSpan.FromSeconds(10))
            .AddCheck<FolderHealth>("data folder", timeout: TimeSpan.FromSeconds(10))
            .AddCheck<QueueHealth>("measuring queue", timeout: TimeSpan.FromSeconds(10));

    /// <summary>Maps the address.</summary>
    /// <param name="routes">The bench's routes.</param>
    public static void MapBenchHealth(this IEndpointRouteBuilder routes)
        => routes.MapGet(Address, async (HttpContext context, HealthCheckService checks) =>
        {
            HealthReport report = await checks.CheckHealthAsync(context.RequestAborted);
            context.Response.Headers.CacheControl = "no-store";
            return TypedResults.Json(
                new
                {
                    status = Word(report.Status),
                    version = typeof(BenchHealth).Assembly.GetName().Version?.ToString(3),
                    checks = report.Entries.ToDictionary(
                        each => each.Key,
                        // An error's own sentence may name files; that there was one is enough here, and the log knows its kind.
                        each => new { status = Word(each.Value.Status), says = each.Value.Exception is null ? each.Value.Description : "It cannot be told: the check met an error; see the log.", facts = each.Value.Data }),
                },
                Form,
                "application/health+json",
                report.Status == HealthStatus.Unhealthy ? StatusCodes.Status503ServiceUnavailable : StatusCodes.Status200OK);
        }).WithMetadata(new OpenToAttribute(OpenScope.LocalProgram));

    private static string Word(HealthStatus status) => status switch
    {
        HealthStatus.Healthy => "pass",
        HealthStatus.Degraded => "warn",
        _ => "fail",
    };
}
