using System.Buffers.Binary;
using System.Diagnostics;
using System.Runtime.InteropServices;
using System.Text;

namespace Hotlight.Imaging.Jpeg;

/// <summary>Starts Hotlight.Worker, keeps one warm, and stops it when it takes too long. One stream at a time. A worker that ends between two streams is replaced at once, before the next one comes.</summary>
internal sealed class Jpeg2000Worker : IDisposable
{
    // The numbers of the worker's WireFormat.
    private const int Magic = 0x484A324B;
    private const int Decoded = 0;
    private const int LibraryAbsent = 2;
    private const int MagicGuards = 0x48475244;
    private const int Guards = 3;

    private static readonly TimeSpan LongestStart = TimeSpan.FromSeconds(20);

    private readonly string? libraryName;
    private readonly TimeSpan? patience;
    private readonly SemaphoreSlim turn = new(1, 1);
    private volatile Process? process;

    // Whether the worker has decoded a stream: only such a one is replaced ahead, so that one that cannot start is not started without end.
    private volatile bool hasServed;
    private volatile bool isDisposed;

    /// <summary>A worker that loads the library by a name of its own, null for the usual names, and waits so long for each stream, null for the usual time.</summary>
    public Jpeg2000Worker(string? libraryName = null, TimeSpan? patience = null)
    {
        this.libraryName = libraryName;
        this.patience = patience;
    }

    /// <summary>The one worker of this process. It ends when its standard input does, so with its parent.</summary>
    public static Jpeg2000Worker Shared { get; } = new();

    /// <summary>The worker's process while it is warm, else null.</summary>
    internal int? ProcessId => process is { HasExited: false } ? process.Id : null;

    /// <summary>Decodes a stream whose header says this size.</summary>
    public ushort[] Decode(ReadOnlySpan<byte> stream, int rows, int columns, CancellationToken cancellation)
    {
        turn.Wait(cancellation);
        try
        {
            long pixels = (long)rows * columns;

            // A stream of 9 million pixels takes 0.6 s on two cores, 1.3 s on one: three times that, and start-up.
            TimeSpan longest = patience ?? TimeSpan.FromSeconds(Math.Max(4, 2.5 + (0.45 * pixels / 1e6)));
            return DecodeOnce(stream, rows, columns, longest, cancellation, isLast: false) ?? DecodeOnce(stream, rows, columns, longest, cancellation, isLast: true)!;
        }
        finally
        {
            turn.Release();
        }
    }

    // Null where the worker ended under the stream, which may be no fault of the stream, such as a machine short of memory: it is then tried once more.
    private ushort[]? DecodeOnce(ReadOnlySpan<byte> stream, int rows, int columns, TimeSpan longest, CancellationToken cancellation, bool isLast)
    {
        long pixels = (long)rows * columns;
        Process worker = Start();
        longest = WithStart(longest);
        using CancellationTokenRegistration stop = cancellation.Register(static state => Kill((Process)state!), worker);
        using Watch watch = new(worker, longest);
        try
        {
            Ask(worker.StandardInput.BaseStream, stream, memoryBytes: (20 * pixels) + (3L * stream.Length) + (32L * 1024 * 1024));
            ushort[] words = Answer(worker.StandardOutput.BaseStream, rows, columns);
            hasServed = true;
            return words;
        }
        catch (Exception error) when (error is IOException or EndOfStreamException or InvalidDataException)
        {
            Kill(worker);
            worker.Dispose();
            process = null;
            cancellation.ThrowIfCancellationRequested();
            return watch.HasGivenUp ? throw new ImageFormatException(FormattableString.Invariant($"its JPEG 2000 pixel data took more than {longest.TotalSeconds:0.#} s to decode and was given up."), error)
                : isLast || error is InvalidDataException ? throw new ImageFormatException("its JPEG 2000 pixel data is damaged and stopped its decoder.", error)
                : null;
        }
    }

    /// <summary>What the worker may not do, as it has just tried: words of "network", "files", "programs", "processes", "memory", and "library" where the decoder is there.</summary>
    /// <exception cref="ImageFormatException">There is no worker, or it does not answer.</exception>
    public IReadOnlyList<string> AskGuards(CancellationToken cancellation)
    {
        turn.Wait(cancellation);
        try
        {
            Process worker = Start();
            using CancellationTokenRegistration stop = cancellation.Register(static state => Kill((Process)state!), worker);
            using Watch watch = new(worker, WithStart(patience ?? TimeSpan.FromSeconds(4)));
            try
            {
                byte[] head = new byte[16];
                BinaryPrimitives.WriteInt32LittleEndian(head, MagicGuards);
                worker.StandardInput.BaseStream.Write(head);
                worker.StandardInput.BaseStream.Flush();
                worker.StandardOutput.BaseStream.ReadExactly(head.AsSpan(0, 8));
                int length = BinaryPrimitives.ReadInt32LittleEndian(head.AsSpan(4));
                if (BinaryPrimitives.ReadInt32LittleEndian(head) != Guards || length is < 1 or > 4096)
                {
                    throw new InvalidDataException("The worker's answer makes no sense.");
                }

                byte[] words = new byte[length];
                worker.StandardOutput.BaseStream.ReadExactly(words);
                return Encoding.UTF8.GetString(words).Split(' ', StringSplitOptions.RemoveEmptyEntries);
            }
            catch (Exception error) when (error is IOException or EndOfStreamException or InvalidDataException)
            {
                Kill(worker);
                worker.Dispose();
                process = null;
                cancellation.ThrowIfCancellationRequested();
                throw new ImageFormatException("the worker that decodes JPEG 2000 does not answer.", error);
            }
        }
        finally
        {
            turn.Release();
        }
    }

    /// <summary>Ends the worker.</summary>
    public void Dispose()
    {
        isDisposed = true;
        turn.Wait();
        if (process is not null)
        {
            Kill(process);
            process.Dispose();
            process = null;
        }

        turn.Dispose();
    }

    private static void Ask(Stream input, ReadOnlySpan<byte> stream, long memoryBytes)
    {
        Span<byte> head = stackalloc byte[16];
        BinaryPrimitives.WriteInt32LittleEndian(head, Magic);
        BinaryPrimitives.WriteInt64LittleEndian(head[4..], memoryBytes);
        BinaryPrimitives.WriteInt32LittleEndian(head[12..], stream.Length);
        input.Write(head);
        input.Write(stream);
        input.Flush();
    }

    private static ushort[] Answer(Stream output, int rows, int columns)
    {
        byte[] head = new byte[16];
        output.ReadExactly(head.AsSpan(0, 8));
        int status = BinaryPrimitives.ReadInt32LittleEndian(head);
        if (status != Decoded)
        {
            int length = BinaryPrimitives.ReadInt32LittleEndian(head.AsSpan(4));
            if (length is < 1 or > 4096)
            {
                throw new InvalidDataException("The worker's answer makes no sense.");
            }

            byte[] sentence = new byte[length];
            output.ReadExactly(sentence);
            throw new ImageFormatException(status == LibraryAbsent ? "JPEG 2000 is not supported here: install libopenjp2-7." : Encoding.UTF8.GetString(sentence));
        }

        output.ReadExactly(head.AsSpan(8, 8));
        if (BinaryPrimitives.ReadInt32LittleEndian(head.AsSpan(4)) != columns || BinaryPrimitives.ReadInt32LittleEndian(head.AsSpan(8)) != rows)
        {
            throw new InvalidDataException("The worker's answer has another size.");
        }

        ushort[] words = GC.AllocateUninitializedArray<ushort>(rows * columns);
        output.ReadExactly(MemoryMarshal.AsBytes(words.AsSpan()));
        return words;
    }

    private static void Kill(Process process)
    {
        try
        {
            process.Kill();
        }
        catch (InvalidOperationException)
        {
            // It has ended already.
        }
    }

    /// <summary>Ends the worker when it has taken too long: by the clock on the wall, if it was at work; on a machine so busy that it was not, three times as long.</summary>
    private sealed class Watch : IDisposable
    {
        private static readonly TimeSpan Glance = TimeSpan.FromMilliseconds(100);
        private readonly Process worker;
        private readonly TimeSpan longest;
        private readonly TimeSpan usedBefore;
        private readonly long start = Stopwatch.GetTimestamp();
        private readonly Timer timer;
        private volatile bool hasGivenUp;

        public Watch(Process worker, TimeSpan longest)
        {
            this.worker = worker;
            this.longest = longest;
            usedBefore = Used();
            TimeSpan glance = Glance < longest ? Glance : longest;
            timer = new Timer(_ => Look(), null, glance, glance);
        }

        public bool HasGivenUp => hasGivenUp;

        public void Dispose()
        {
            using ManualResetEvent ended = new(false);
            if (timer.Dispose(ended))
            {
                ended.WaitOne();
            }
        }

        private void Look()
        {
            TimeSpan elapsed = Stopwatch.GetElapsedTime(start);
            if (elapsed >= longest && (elapsed >= 3 * longest || Used() - usedBefore >= longest / 2))
            {
                hasGivenUp = true;
                Kill(worker);
            }
        }

        private TimeSpan Used()
        {
            try
            {
                worker.Refresh();
                return worker.TotalProcessorTime;
            }
            catch (Exception error) when (error is InvalidOperationException or System.ComponentModel.Win32Exception)
            {
                // It has ended.
                return TimeSpan.Zero;
            }
        }
    }

    private Process Start()
    {
        if (process is { HasExited: false })
        {
            return process;
        }

        // It is gone or was stopped; the next stream gets a fresh one.

        process?.Dispose();
        process = null;
        string program = Path.Combine(AppContext.BaseDirectory, "Hotlight.Worker.dll");
        if (!File.Exists(program))
        {
            throw new ImageFormatException("JPEG 2000 is not supported here: Hotlight.Worker.dll is missing beside the program.");
        }

        // A program that brings its own run-time has the worker's starter beside it; there may be no dotnet at all.
        string starter = Path.ChangeExtension(program, OperatingSystem.IsWindows() ? ".exe" : null);
        bool hasStarter = File.Exists(starter);
        ProcessStartInfo start = new(hasStarter ? starter : DotnetHost())
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
            CreateNoWindow = true,
        };
        if (!hasStarter)
        {
            start.ArgumentList.Add(program);
        }

        if (libraryName is not null)
        {
            start.ArgumentList.Add(libraryName);
        }

        // The worker needs little managed memory, and no diagnostics port.
        start.Environment["DOTNET_GCHeapHardLimit"] = "0x4000000";
        start.Environment["DOTNET_EnableDiagnostics"] = "0";
        start.Environment["DOTNET_TieredCompilation"] = "1";
        try
        {
            hasServed = false;
            Process started = Process.Start(start) ?? throw new InvalidOperationException("No process was started.");
            started.Exited += OnEnded;
            started.EnableRaisingEvents = true;
            started.ErrorDataReceived += static (_, _) => { };
            started.BeginErrorReadLine();
            process = started;
            return started;
        }
        catch (Exception error) when (error is InvalidOperationException or System.ComponentModel.Win32Exception)
        {
            throw new ImageFormatException("JPEG 2000 is not supported here: its worker could not be started.", error);
        }
    }

    // Starting takes longer than decoding most streams: the next one does not wait for it.
    private void OnEnded(object? ended, EventArgs nothing)
    {
        try
        {
            // Whoever has the turn starts a worker when one is needed.
            if (!hasServed || isDisposed || !turn.Wait(0))
            {
                return;
            }
        }
        catch (ObjectDisposedException)
        {
            return;
        }

        try
        {
            if (!isDisposed && ReferenceEquals(ended, process))
            {
                Start();
            }
        }
        catch (ImageFormatException)
        {
            // The next stream says why there is none.
        }
        finally
        {
            turn.Release();
        }
    }

    // That a worker takes long to start, as on a crowded machine, is not the stream's fault.
    private TimeSpan WithStart(TimeSpan longest) => hasServed || patience is not null ? longest : longest + LongestStart;

    /// <summary>The dotnet program: this process itself, or the one beside the run-time it uses.</summary>
    private static string DotnetHost()
    {
        string name = OperatingSystem.IsWindows() ? "dotnet.exe" : "dotnet";
        if (Environment.ProcessPath is { } self && Path.GetFileName(self) == name)
        {
            return self;
        }

        // <root>/shared/Microsoft.NETCore.App/<version>/
        string runtime = RuntimeEnvironment.GetRuntimeDirectory();
        string beside = Path.GetFullPath(Path.Combine(runtime, "..", "..", "..", name));
        return File.Exists(beside) ? beside : name;
    }
}
