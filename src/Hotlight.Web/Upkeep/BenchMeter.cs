using System.Diagnostics.Metrics;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Measuring;
using Microsoft.AspNetCore.Components.Server.Circuits;
using OpenTelemetry.Exporter;
using OpenTelemetry.Metrics;
using OpenTelemetry.Resources;

namespace Hotlight.Web.Upkeep;

/// <summary>What the bench counts of itself, for whoever looks after it. No measure bears anything of a case, a person or an address.</summary>
internal sealed class BenchMeter : IDisposable
{
    /// <summary>Name of the meter.</summary>
    public const string Name = "Hotlight";

    private readonly Meter meter;
    private readonly CaseNews news;
    private readonly Counter<long> changes;
    private int connections;

    /// <summary>Begins to count.</summary>
    /// <param name="meters">Makes meters.</param>
    /// <param name="news">Tells of changes.</param>
    /// <param name="workers">The workers on the measuring queue.</param>
    public BenchMeter(IMeterFactory meters, CaseNews news, QueueWorkers workers)
    {
        this.news = news;
        meter = meters.Create(Name);
        changes = meter.CreateCounter<long>("hotlight.case.changes", "{change}", "Changes of cases by kind: added, changed, deleted, put_back.");
        meter.CreateObservableGauge("hotlight.queue.left", () => workers.Progress.Left, "{case}", "Cases that wait to be measured.");
        meter.CreateObservableGauge("hotlight.queue.given_up", () => workers.Progress.GivenUp, "{case}", "Cases that could not be measured.");
        meter.CreateObservableUpDownCounter("hotlight.page.connections", () => Volatile.Read(ref connections), "{connection}", "Live connections of open pages.");
        news.Happened += OnHappened;
    }

    /// <summary>A page's live connection began or ended.</summary>
    /// <param name="by">1 or -1.</param>
    public void Connected(int by) => Interlocked.Add(ref connections, by);

    /// <inheritdoc/>
    public void Dispose()
    {
        news.Happened -= OnHappened;
        meter.Dispose();
    }

    private void OnHappened(Guid id, CaseEvent what, int version)
        => changes.Add(1, new KeyValuePair<string, object?>("kind", what switch { CaseEvent.Added => "added", CaseEvent.Deleted => "deleted", CaseEvent.PutBack => "put_back", _ => "changed" }));

    /// <summary>Sends what is counted to a collector of OpenTelemetry, where one was named.</summary>
    /// <param name="services">The bench's services.</param>
    /// <param name="collector">The collector's address for OTLP over HTTP; null: nothing is sent.</param>
    public static void Add(IServiceCollection services, Uri? collector)
    {
        services.AddSingleton<BenchMeter>();
        services.AddScoped<CircuitHandler, CountingCircuit>();
        if (collector is null)
        {
            return;
        }

        services.AddOpenTelemetry()
            .ConfigureResource(resource => resource.Clear().AddService("hotlight", serviceVersion: typeof(BenchMeter).Assembly.GetName().Version?.ToString(3), autoGenerateServiceInstanceId: true))
            .WithMetrics(metrics => metrics
                .AddMeter(Name)
                .AddMeter("Microsoft.AspNetCore.Hosting", "Microsoft.AspNetCore.Server.Kestrel", "System.Runtime")
                .AddOtlpExporter((exporter, reader) =>
                {
                    exporter.Endpoint = new Uri(collector, "/v1/metrics");
                    exporter.Protocol = OtlpExportProtocol.HttpProtobuf;
                    reader.PeriodicExportingMetricReaderOptions.ExportIntervalMilliseconds = 15_000;
                }));
    }
}

/// <summary>Counts live connections.</summary>
internal sealed class CountingCircuit(BenchMeter meter) : CircuitHandler
{
    /// <inheritdoc/>
    public override Task OnConnectionUpAsync(Circuit circuit, CancellationToken cancellationToken)
    {
        meter.Connected(1);
        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public override Task OnConnectionDownAsync(Circuit circuit, CancellationToken cancellationToken)
    {
        meter.Connected(-1);
        return Task.CompletedTask;
    }
}
