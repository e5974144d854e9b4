using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Sockets;
using Hotlight.Store.Postgres;
using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace Hotlight.Store.Tests;

/// <summary>A PostgreSQL server of the tests' own, on the loopback address, with its data in a temporary folder; one for all tests of the process.</summary>
/// <remarks>It ends with this process, however that ends: a shell beside the server waits for the end of its own input, which only this process holds open, and then stops the server and removes the folder.</remarks>
public sealed class PostgresServer : IDisposable
{
    /// <summary>Said where the server is not installed.</summary>
    public const string Missing = "skipped: PostgreSQL is not installed here (Debian: apt-get install postgresql)";

    // $0 the server's program, $1 the folder, $2 the port. A signal from the terminal ends cat, and what follows is done.
    private const string Watch = """
        trap : INT TERM HUP
        "$0" -D "$1/data" -p "$2" -c listen_addresses=127.0.0.1 -c unix_socket_directories="$1" -c fsync=off -c max_connections=200 -c shared_buffers=64MB </dev/null >"$1/log" 2>&1 &
        server=$!
        cat >/dev/null
        kill -QUIT $server 2>/dev/null
        wait $server
        rm -rf "$1"
        """;

    private static readonly TimeSpan LongestStart = TimeSpan.FromSeconds(120);
    private static readonly Lazy<PostgresServer> Started = new(() => new PostgresServer());
    private readonly string folder;
    private readonly int port;
    private readonly Process watch;
    private readonly Lazy<string> opened;
    private int databases;

    private PostgresServer()
    {
        folder = Directory.CreateTempSubdirectory("hotlight-postgres-").FullName;
        port = FreePort();
        opened = new Lazy<string>(Opened);
        if (IsRoot)
        {
            // The server refuses to run as root.
            Run("chown", ["postgres", folder]);
        }

        (string initdb, string[] before) = AsServer(Program("initdb")!);
        Run(initdb, [.. before, "-D", Path.Combine(folder, "data"), "-U", "hotlight", "-A", "trust", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync"]);
        (string shell, string[] words) = AsServer("/bin/sh");
        watch = Process.Start(new ProcessStartInfo(shell, [.. words, "-c", Watch, Program("postgres")!, folder, port.ToString(CultureInfo.InvariantCulture)]) { RedirectStandardInput = true, WorkingDirectory = "/" })!;
        AppDomain.CurrentDomain.ProcessExit += (_, _) => Dispose();
        WaitUntilReady();
    }

    /// <summary>Whether a server can be started.</summary>
    public static bool IsInstalled { get; } = OperatingSystem.IsLinux() && Program("initdb") is not null && Program("postgres") is not null && (!IsRoot || File.ReadLines("/etc/passwd").Any(line => line.StartsWith("postgres:", StringComparison.Ordinal)));

    /// <summary>The server, started with the first use.</summary>
    public static PostgresServer Instance => Started.Value;

    private static bool IsRoot => Environment.UserName == "root";

    /// <summary>Makes a database.</summary>
    /// <param name="isEmpty">Whether it has no tables yet; else those of this version, copied from a database that was opened once.</param>
    /// <returns>What it is opened with.</returns>
    public string NewDatabase(bool isEmpty = false)
    {
        string template = isEmpty ? "template0" : opened.Value;
        string name = $"test_{Interlocked.Increment(ref databases)}";
        Execute($"CREATE DATABASE {name} TEMPLATE {template}");
        return ConnectionTo(name);
    }

    /// <summary>Address of a database as a person writes it.</summary>
    /// <param name="connection">What it is opened with.</param>
    public static string AddressOf(string connection)
    {
        var parts = new NpgsqlConnectionStringBuilder(connection);
        return $"postgres://{parts.Username}@{parts.Host}:{parts.Port}/{parts.Database}";
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        NpgsqlConnection.ClearAllPools();
        watch.StandardInput.Close();
        watch.WaitForExit();
        watch.Dispose();
    }

    private static string? Program(string name) => (Environment.GetEnvironmentVariable("PATH") ?? string.Empty).Split(Path.PathSeparator)
        .Concat(Directory.Exists("/usr/lib/postgresql") ? Directory.GetDirectories("/usr/lib/postgresql").OrderDescending(StringComparer.Ordinal).Select(version => Path.Combine(version, "bin")) : [])
        .Select(place => Path.Combine(place, name)).FirstOrDefault(File.Exists);

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    private static (string Program, string[] Words) AsServer(string program) => IsRoot ? ("runuser", ["-u", "postgres", "--", program]) : (program, []);

    private void WaitUntilReady()
    {
        var clock = Stopwatch.StartNew();
        while (true)
        {
            try
            {
                Execute("SELECT 1");
                return;
            }
            catch (NpgsqlException) when (clock.Elapsed < LongestStart && !watch.HasExited)
            {
                Thread.Sleep(100);
            }
        }
    }

    private static void Run(string program, string[] arguments)
    {
        // Its output is not read: the server would hold the pipe open.
        var start = new ProcessStartInfo("/bin/sh", ["-c", "exec \"$0\" \"$@\" >/dev/null 2>&1 </dev/null", program, .. arguments]) { WorkingDirectory = "/" };
        using Process process = Process.Start(start)!;
        process.WaitForExit();
        if (process.ExitCode != 0)
        {
            throw new InvalidOperationException($"{program} {string.Join(' ', arguments)} ended with {process.ExitCode}.");
        }
    }

    private string Opened()
    {
        Execute("CREATE DATABASE opened TEMPLATE template0");
        var settings = new NpgsqlConnectionStringBuilder(ConnectionTo("opened")) { Pooling = false, Timeout = 120, CommandTimeout = 300 };
        using (var context = new PostgresRecordContext(PostgresRecords.Options(settings.ConnectionString)))
        {
            context.Database.Migrate();
        }

        return "opened";
    }

    private void Execute(string sql)
    {
        using var connection = new NpgsqlConnection(ConnectionTo("postgres"));
        connection.Open();
        using NpgsqlCommand command = connection.CreateCommand();
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }

    private string ConnectionTo(string database) => $"Host=127.0.0.1;Port={port};Username=hotlight;Database={database}";
}
