using System.Net.Sockets;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Intake.Receiving;

namespace Hotlight.Web.Intake;

/// <summary>Runs the receiver of DICOM images while the bench runs, where one is asked for.</summary>
internal sealed class ReceiverHost(CaseWorkflow cases, ArrivalLog log, BenchOptions options) : BackgroundService
{
    private ImageReceiver? receiver;

    /// <summary>Port it listens on; null: none.</summary>
    public int? Port => receiver?.Address.Port;

    /// <summary>Binds the port, so that a taken one stops the start of the bench.</summary>
    /// <param name="cancellationToken">Stops it.</param>
    /// <exception cref="BenchRefusedException">The port is taken.</exception>
    public override Task StartAsync(CancellationToken cancellationToken)
    {
        if (options.ReceivePort is { } port)
        {
            try
            {
                receiver = new ImageReceiver(cases, log, options.ReceiveTitle, port);
            }
            catch (SocketException error)
            {
                throw new BenchRefusedException($"DICOM images cannot be received on port {port} of 127.0.0.1: {error.Message}.", error);
            }
        }

        return base.StartAsync(cancellationToken);
    }

    /// <inheritdoc/>
    protected override Task ExecuteAsync(CancellationToken stoppingToken) => receiver?.RunAsync(stoppingToken) ?? Task.CompletedTask;
}
