using System.Runtime.InteropServices;
using Hotlight.Cli;

using var stop = new CancellationTokenSource();
using PosixSignalRegistration interrupt = PosixSignalRegistration.Create(PosixSignal.SIGINT, signal =>
{
    // The first time what is begun is brought to a clean end; a second time the program ends at once.
    signal.Cancel = !stop.IsCancellationRequested;
    stop.Cancel();
});
return HotlightCommandLine.Run(args, Console.Out, Console.Error, stop.Token);
