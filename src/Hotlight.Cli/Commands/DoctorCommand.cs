using System.ComponentModel;
using System.Globalization;
using System.Net.Sockets;
using System.Runtime.InteropServices;
using System.Text.Json;
using Hotlight.Audit;
using Hotlight.Cli.Rendering;
using Hotlight.Imaging;
using Hotlight.Privacy.Publishing;
using Hotlight.Store;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Cases;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight doctor [--data DIR | --store ADDR] [--port N] [--json]: what is missing on this machine and how to get it. Changes nothing.</summary>
internal sealed class DoctorCommand : Command<DoctorCommand.Settings>
{
    private const long LittleMemoryBytes = 2L * 1024 * 1024 * 1024;
    private const long LittleRoomBytes = 2L * 1024 * 1024 * 1024;

    private enum State
    {
        Fine,
        Without,
        Wrong,
    }

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        List<Finding> found =
        [
            Machine(),
            Program("JPEG 2000", Library("libopenjp2.so.7"), "JPEG 2000 files cannot be opened", "libopenjp2-7"),
            Guards(cancellationToken),
            Program("Text in pixels", TextReadingProgram.Installed?.Name, "text drawn into pixels is found by its strokes alone, and a person must look every picture over before it is published", "tesseract-ocr"),
            Program("Films", InPath("ffmpeg"), "walk-throughs cannot be written as films", "ffmpeg"),
            .. Folder(settings.DataFolder),
            .. settings.Server is { } server ? Server(server, cancellationToken) : File(settings.DataFolder, cancellationToken),
            Port(settings.Port),
        ];
        if (settings.Json)
        {
            Terminal.Output.WriteLine(JsonSerializer.Serialize(found.Select(each => new { what = each.What, state = Word(each.State), says = each.Says, remedy = each.Remedy }), new JsonSerializerOptions { WriteIndented = true }));
        }
        else
        {
            int wide = found.Max(each => each.What.Length);
            foreach (Finding each in found)
            {
                Terminal.Output.WriteLine($"{Word(each.State),-7}  {each.What.PadRight(wide)}  {each.Says}");
                if (each.Remedy is not null)
                {
                    Terminal.Output.WriteLine($"{string.Empty,-7}  {string.Empty.PadRight(wide)}  {each.Remedy}");
                }
            }
        }

        int wrong = found.Count(each => each.State == State.Wrong);
        return wrong == 0 ? HotlightCommandLine.Done : throw new RefusedException($"{(wrong == 1 ? "1 thing is" : $"{wrong} things are")} wrong on this machine; what to do stands beside.");
    }

    private static string Word(State state) => state switch
    {
        State.Fine => "fine",
        State.Without => "without",
        _ => "wrong",
    };

    private static Finding Machine()
    {
        long memory = GC.GetGCMemoryInfo().TotalAvailableMemoryBytes;
        string says = string.Create(CultureInfo.InvariantCulture, $"{RuntimeInformation.FrameworkDescription} on {RuntimeInformation.OSDescription}, {RuntimeInformation.ProcessArchitecture}, {Environment.ProcessorCount} processors, {memory / (1024.0 * 1024 * 1024):0.0} GiB memory");
        return memory < LittleMemoryBytes
            ? new Finding("This machine", State.Wrong, says, "A radiograph of 16 million pixels takes about 0.4 GiB while it is measured: give the bench at least 2 GiB.")
            : new Finding("This machine", State.Fine, says);
    }

    private static Finding Program(string what, string? found, string without, string package)
        => found is not null
            ? new Finding(what, State.Fine, found)
            : new Finding(what, State.Without, $"Not installed: {without}. Everything else works.", $"Debian, Ubuntu: apt-get install {package}");

    // Asked of the worker, which tries each thing.
    private static Finding Guards(CancellationToken cancellation)
    {
        const string What = "Its decoder";
        NativeDecoding decoding = NativeDecoding.Ask(cancellation);
        return decoding.HoldsAll && decoding.IsLibraryThere ? new Finding(What, State.Fine, decoding.Sentence)
            : decoding is { IsWorkerThere: true, IsLibraryThere: false } ? new Finding(What, State.Without, "Not there; nothing to keep apart.")
            : new Finding(What, State.Without, decoding.Sentence, "What holds on which system: docs/hostile-images.md.");
    }

    // Looked for as a file: a native library is loaded by the worker alone.
    private static string? Library(string name)
        => new[] { "/usr/lib", "/usr/lib64", "/usr/local/lib", "/lib" }
            .Where(Directory.Exists)
            .SelectMany(folder => Directory.EnumerateDirectories(folder, "*-linux-*").Prepend(folder))
            .Select(folder => Path.Combine(folder, name))
            .FirstOrDefault(System.IO.File.Exists);

    private static string? InPath(string program)
        => (Environment.GetEnvironmentVariable("PATH") ?? string.Empty).Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries)
            .Select(folder => Path.Combine(folder, program))
            .FirstOrDefault(System.IO.File.Exists);

    private static IEnumerable<Finding> Folder(string folder)
    {
        const string What = "Data folder";
        if (!Directory.Exists(folder))
        {
            yield return new Finding(What, State.Without, $"{folder} is not there yet; the bench makes it at its first start.");
            yield break;
        }

        string trial = Path.Combine(folder, $"doctor-{Guid.NewGuid():N}.part");
        Finding? unwritable = null;
        try
        {
            System.IO.File.WriteAllBytes(trial, new byte[4096]);
            System.IO.File.Delete(trial);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            unwritable = new Finding(What, State.Wrong, $"{folder} cannot be written: {Terminal.Reason(error)}.", "Make room, or give the user who runs the bench the right to write there.");
        }

        if (unwritable is not null)
        {
            yield return unwritable;
            yield break;
        }

        long free = new DriveInfo(Path.GetFullPath(folder)).AvailableFreeSpace;
        string room = string.Create(CultureInfo.InvariantCulture, $"{folder}, {free / (1024.0 * 1024 * 1024):0.0} GiB free");
        yield return free < LittleRoomBytes
            ? new Finding(What, State.Wrong, room, "Make room: a radiograph takes 5 to 35 MB.")
            : new Finding(What, State.Fine, room);
        if (!OperatingSystem.IsWindows())
        {
            List<string> open = [];
            foreach (string each in new[] { folder }.Concat(new[] { "privacy.key", AuditTrail.KeyFileName, "records.db" }.Select(name => Path.Combine(folder, name)).Where(System.IO.File.Exists)))
            {
                const UnixFileMode Others = UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.OtherRead | UnixFileMode.OtherWrite;

                // What lies in a folder that nobody else may enter cannot be read by others, whatever its own rights are.
                bool isFolderShut = (System.IO.File.GetUnixFileMode(folder) & (UnixFileMode.GroupExecute | UnixFileMode.OtherExecute)) == 0;
                if ((System.IO.File.GetUnixFileMode(each) & Others) != 0 && !(isFolderShut && each != folder))
                {
                    open.Add(Path.GetFileName(each.TrimEnd('/')));
                }
            }

            yield return open.Count == 0
                ? new Finding("Rights", State.Fine, "Only the user who runs the bench can read the data folder.")
                : new Finding("Rights", State.Wrong, $"Others on this machine can read: {string.Join(", ", open)}.", $"chmod -R go-rwx {folder}");
        }

        DateTime newest = Directory.EnumerateFiles(folder).Select(System.IO.File.GetLastWriteTimeUtc).DefaultIfEmpty(DateTime.MinValue).Max();
        yield return newest > DateTime.UtcNow.AddMinutes(5)
            ? new Finding("Clock", State.Wrong, string.Create(CultureInfo.InvariantCulture, $"It is {DateTime.UtcNow:yyyy-MM-dd HH:mm} UTC here, and something in the data folder was written later than that."), "Set this machine's clock by a time server (systemd-timesyncd, chrony).")
            : new Finding("Clock", State.Fine, string.Create(CultureInfo.InvariantCulture, $"{DateTime.UtcNow:yyyy-MM-dd HH:mm} UTC, nothing in the data folder is newer."));
    }

    private static IEnumerable<Finding> File(string folder, CancellationToken cancellation)
    {
        string path = Path.Combine(folder, "records.db");
        if (!System.IO.File.Exists(path))
        {
            return [new Finding("Records", State.Without, "None yet; the bench makes them at its first start.")];
        }

        return [Records(() => SqliteUpkeep.CheckAsync(path, cancellation), path)];
    }

    private static IEnumerable<Finding> Server(PostgresAddress address, CancellationToken cancellation)
    {
        yield return Records(() => PostgresUpkeep.CheckAsync(address, cancellation), address.Shown);
        foreach (string program in new[] { "pg_dump", "pg_restore" })
        {
            yield return Program(program, InPath(program), "'hotlight store backup' and 'restore' cannot be used with PostgreSQL", "postgresql-client");
        }
    }

    private static Finding Records(Func<Task<StoreCheck>> check, string shown)
    {
        const string What = "Records";
        try
        {
            StoreCheck found = check().GetAwaiter().GetResult();
            string count = string.Create(CultureInfo.InvariantCulture, $"{shown}: {found.Cases} cases, {found.Entries} exposures");
            return found.Faults.Count == 0
                ? new Finding(What, State.Fine, count + ", no fault")
                : new Finding(What, State.Wrong, $"{count}, {found.Faults.Count} faults: {found.Faults[0]}", "Keep a copy as it is, then restore a sound backup: hotlight store restore.");
        }
        catch (Exception error) when (error is StoreRefusedException or FileNotKeptException)
        {
            return new Finding(What, State.Wrong, error.Message, "Start the version of Hotlight that wrote them, or look at the address and the server.");
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return new Finding(What, State.Wrong, $"{shown} cannot be read: {Terminal.Reason(error)}.", "Give the user who runs the bench the right to read it.");
        }
    }

    private static Finding Port(int port)
    {
        const string What = "Bench";
        try
        {
            using var client = new HttpClient { Timeout = TimeSpan.FromSeconds(5) };
            string said = client.GetStringAsync(new Uri($"http://127.0.0.1:{port}/ready")).GetAwaiter().GetResult();
            return said == "ready"
                ? new Finding(What, State.Fine, $"It answers on http://127.0.0.1:{port}.")
                : new Finding(What, State.Wrong, $"Something else answers on port {port}.", "Stop it, or give the bench another port with --port.");
        }
        catch (HttpRequestException error) when (error.InnerException is SocketException)
        {
            return new Finding(What, State.Without, $"Nothing answers on port {port}: the bench is not running there, and the port is free.");
        }
        catch (Exception error) when (error is HttpRequestException or OperationCanceledException)
        {
            return new Finding(What, State.Wrong, $"Something answers on port {port} and is not the bench, or the bench hangs.", "Look at its log, and start it again.");
        }
    }

    private sealed record Finding(string What, State State, string Says, string? Remedy = null);

    internal sealed class Settings : RecordsSettings
    {
        [CommandOption("--port <N>")]
        [Description("Port that the bench answers on (default 5180)")]
        [DefaultValue(5180)]
        public int Port { get; init; } = 5180;

        [CommandOption("--json")]
        [Description("What was found as JSON")]
        public bool Json { get; init; }

        /// <summary>The bench's data folder.</summary>
        public string DataFolder => Folder;

        /// <summary>The PostgreSQL database; null: a file in the data folder.</summary>
        public PostgresAddress? Server => Address();
    }
}
