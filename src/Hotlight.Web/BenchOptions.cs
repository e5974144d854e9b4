using System.Globalization;
using System.Net;
using Hotlight.Core;
using Hotlight.Store.Postgres;
using Hotlight.Web.Upkeep;
using Hotlight.Workflows.Intake;

namespace Hotlight.Web;

/// <summary>How the bench is started.</summary>
public sealed record BenchOptions
{
    /// <summary>The port where none is given.</summary>
    public const int DefaultPort = 5180;

    /// <summary>Text of <c>--help</c>.</summary>
    public const string Help = """
        Hotlight: the bench for judging radiographs, on this machine only.

        Hotlight.Web [--port 5180] [--data DIR] [--store ADDR] [--catalogue DIR] [--language CODE] [--no-demo]
                     [--setting teaching|clinical] [--inbox DIR [--inbox-removes]]
                     [--receive-port N [--receive-title TITLE]] [--web-token-file FILE]
                     [--settings-file FILE] [--check] [--log lines|json] [--log-level LEVEL]

          --port N      port on 127.0.0.1; 0 takes a free one
          --data DIR    folder that keeps cases and files (made when missing)
          --store ADDR  PostgreSQL database that keeps the records instead of a file in the
                        data folder: postgres://user@host:5432/database; several benches may
                        share it with one data folder; the password is better left to
                        PGPASSFILE or PGPASSWORD
          --catalogue DIR  your clinic's own projections, over the built-in ones
          --language CODE  language of the texts: en, de, es, or one of the folder that
                        the environment variable HOTLIGHT_LANGUAGE_FOLDER names (default en)
          --no-demo     without the invented demo cases
          --setting S   teaching: the patient's identity is taken out of every file that
                        comes in, and only that file is kept (default);
                        clinical: files are kept as they are
          --inbox DIR   folder whose files are brought in; they move to DIR/taken, and to
                        DIR/refused with the reason beside
          --inbox-removes  files of the inbox that are kept as cases are removed, not moved
          --receive-port N  takes DICOM images (C-STORE) on this port of 127.0.0.1; off by default
          --receive-title TITLE  the name by which senders call it (default HOTLIGHT)
          --rounds-port N
                        a second port on 127.0.0.1 that shows guests of rounds their round and
                        nothing else: the one to lead a tunnel to
          --web-token-file FILE  file with the word that other programs on this machine send
                        to use DICOMweb (at least 16 characters); without it DICOMweb is off
          --settings-file FILE
                        these options in one JSON file, by their names without dashes:
                        { "port": 5180, "data": "/srv/hotlight", "no-demo": true };
                        options beside it win
          --check       looks the settings over, opens nothing and ends
          --log FORM    lines (default) or json: how the log is written; neither holds a
                        patient's data
          --log-level L error (default), warning or information
          --metrics-collector URL
                        sends what the bench counts of itself to a collector of OpenTelemetry
                        (OTLP over HTTP); off by default
          --audit-kept-days N
                        entries of the audit trail older than N days are removed, and the trail
                        says so; without it they are kept for good
          --help        this text

        For education and quality improvement. Not a diagnostic device; it gives no diagnosis.
        """;

    /// <summary>Port on the loopback address, 0 to 65535; 0 takes a free one.</summary>
    public int Port { get; init; } = DefaultPort;

    /// <summary>Port on the loopback address by which only guests of rounds come in, 0 to 65535, 0 a free one; null: none.</summary>
    public int? RoundsPort { get; init; }

    /// <summary>Folder that keeps cases and files.</summary>
    public required string DataFolder { get; init; }

    /// <summary>The PostgreSQL database that keeps the records; null: a SQLite file in the data folder.</summary>
    public PostgresAddress? Store { get; init; }

    /// <summary>Folder of the clinic's own projections, over the built-in ones; null: none.</summary>
    public string? CatalogueFolder { get; init; }

    /// <summary>Code of the language of the texts, such as "de".</summary>
    public string Language { get; init; } = Texts.Fallback;

    /// <summary>A clinic's own folder of languages, over the built-in ones; null or blank: none.</summary>
    public string? LanguageFolder { get; init; }

    /// <summary>Whether the invented demo cases are brought in at the first start.</summary>
    public bool WithDemoCases { get; init; } = true;

    /// <summary>Most bytes of one file.</summary>
    public long UploadLimitBytes { get; init; } = 256L * 1024 * 1024;

    /// <summary>What the bench is set up for: whether files keep their patient's identity.</summary>
    public IntakeSetting Setting { get; init; } = IntakeSetting.Teaching;

    /// <summary>Folder whose files are brought in; null: none is watched.</summary>
    public string? InboxFolder { get; init; }

    /// <summary>Whether files of the inbox that are kept as cases are removed instead of moved.</summary>
    public bool InboxRemoves { get; init; }

    /// <summary>Port on the loopback address that takes DICOM images, 0 to 65535, 0 a free one; null: none.</summary>
    public int? ReceivePort { get; init; }

    /// <summary>Application entity title of the receiver, 1 to 16 characters.</summary>
    public string ReceiveTitle { get; init; } = "HOTLIGHT";

    /// <summary>The word that other programs send to use DICOMweb; null: DICOMweb is off.</summary>
    public string? WebToken { get; init; }

    /// <summary>For how many days entries of the audit trail are kept, at least 1; null: for good.</summary>
    public int? AuditKeptDays { get; init; }

    /// <summary>How the log is written.</summary>
    public LogForm LogForm { get; init; } = LogForm.Lines;

    /// <summary>The least grave of what the log tells.</summary>
    public LogLevel LogLevel { get; init; } = LogLevel.Error;

    /// <summary>Address of a collector of OpenTelemetry, for OTLP over HTTP; null: nothing is sent.</summary>
    public Uri? MetricsCollector { get; init; }

    /// <summary>Whether the settings are only looked over and nothing is opened.</summary>
    public bool IsCheckOnly { get; init; }

    /// <summary>Every option with its dashes; true: it takes a value.</summary>
    internal static IReadOnlyDictionary<string, bool> Names { get; } = new Dictionary<string, bool>(StringComparer.Ordinal)
    {
        ["--port"] = true, ["--data"] = true, ["--store"] = true, ["--catalogue"] = true, ["--language"] = true, ["--no-demo"] = false, ["--setting"] = true,
        ["--inbox"] = true, ["--inbox-removes"] = false, ["--receive-port"] = true, ["--receive-title"] = true, ["--rounds-port"] = true, ["--web-token-file"] = true,
        ["--listen"] = true, ["--audit-kept-days"] = true, ["--log"] = true, ["--log-level"] = true, ["--metrics-collector"] = true, ["--check"] = false, ["--help"] = false,
    };

    /// <summary>Whether only <see cref="Help"/> is wanted.</summary>
    public bool WantsHelp { get; init; }

    /// <summary>The folder where none is given: hotlight in the user's data folder (XDG_DATA_HOME).</summary>
    public static string DefaultDataFolder => Path.Combine(
        Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData, Environment.SpecialFolderOption.DoNotVerify), "hotlight");

    /// <summary>Reads the command line.</summary>
    /// <param name="arguments">The command line, without the program.</param>
    /// <exception cref="BenchRefusedException">An option is not known or its value is not allowed.</exception>
    public static BenchOptions Parse(IReadOnlyList<string> arguments)
    {
        ArgumentNullException.ThrowIfNull(arguments);
        arguments = SettingsFile.Expand(arguments, Names);
        var options = new BenchOptions { DataFolder = DefaultDataFolder, LanguageFolder = Environment.GetEnvironmentVariable(Texts.FolderVariable) };
        for (int index = 0; index < arguments.Count; index++)
        {
            string[] parts = arguments[index].Split('=', 2);
            string Value() => parts.Length == 2
                ? parts[1]
                : ++index < arguments.Count ? arguments[index] : throw new BenchRefusedException($"{parts[0]} needs a value; see --help.");
            switch (parts[0])
            {
                case "--help" or "-h":
                    options = options with { WantsHelp = true };
                    break;
                case "--port":
                    string text = Value();
                    options = int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out int port) && port <= IPEndPoint.MaxPort
                        ? options with { Port = port }
                        : throw new BenchRefusedException($"--port takes a number from 0 to {IPEndPoint.MaxPort}, not '{text}'.");
                    break;
                case "--catalogue":
                    options = options with { CatalogueFolder = Value() };
                    break;
                case "--language":
                    options = options with { Language = Value() };
                    break;
                case "--data":
                    string folder = Value();
                    options = string.IsNullOrWhiteSpace(folder)
                        ? throw new BenchRefusedException("--data needs the path of a folder.")
                        : options with { DataFolder = Path.GetFullPath(folder) };
                    break;
                case "--store":
                    try
                    {
                        options = options with { Store = PostgresAddress.Parse(Value()) };
                    }
                    catch (FormatException error)
                    {
                        throw new BenchRefusedException(error.Message, error);
                    }

                    break;
                case "--setting":
                    string setting = Value();
                    options = options with
                    {
                        Setting = setting switch
                        {
                            "teaching" => IntakeSetting.Teaching,
                            "clinical" => IntakeSetting.Clinical,
                            _ => throw new BenchRefusedException($"--setting takes teaching or clinical, not '{setting}'."),
                        },
                    };
                    break;
                case "--inbox":
                    string inbox = Value();
                    options = string.IsNullOrWhiteSpace(inbox)
                        ? throw new BenchRefusedException("--inbox needs the path of a folder.")
                        : options with { InboxFolder = Path.GetFullPath(inbox) };
                    break;
                case "--inbox-removes":
                    options = options with { InboxRemoves = true };
                    break;
                case "--receive-port":
                    string receive = Value();
                    options = int.TryParse(receive, NumberStyles.None, CultureInfo.InvariantCulture, out int receivePort) && receivePort <= IPEndPoint.MaxPort
                        ? options with { ReceivePort = receivePort }
                        : throw new BenchRefusedException($"--receive-port takes a number from 0 to {IPEndPoint.MaxPort}, not '{receive}'.");
                    break;
                case "--rounds-port":
                    string rounds = Value();
                    options = int.TryParse(rounds, NumberStyles.None, CultureInfo.InvariantCulture, out int roundsPort) && roundsPort <= IPEndPoint.MaxPort
                        ? options with { RoundsPort = roundsPort }
                        : throw new BenchRefusedException($"--rounds-port takes a number from 0 to {IPEndPoint.MaxPort}, not '{rounds}'.");
                    break;
                case "--log":
                    string form = Value();
                    options = options with
                    {
                        LogForm = form switch
                        {
                            "lines" => LogForm.Lines,
                            "json" => LogForm.Json,
                            _ => throw new BenchRefusedException($"--log takes lines or json, not '{form}'."),
                        },
                    };
                    break;
                case "--log-level":
                    string level = Value();
                    options = options with
                    {
                        LogLevel = level switch
                        {
                            "error" => LogLevel.Error,
                            "warning" => LogLevel.Warning,
                            "information" => LogLevel.Information,
                            _ => throw new BenchRefusedException($"--log-level takes error, warning or information, not '{level}'."),
                        },
                    };
                    break;
                case "--metrics-collector":
                    string collector = Value();
                    options = Uri.TryCreate(collector, UriKind.Absolute, out Uri? collectorAddress) && collectorAddress.Scheme is "http" or "https" && collectorAddress.UserInfo.Length == 0
                        ? options with { MetricsCollector = collectorAddress }
                        : throw new BenchRefusedException($"--metrics-collector takes the address of a collector, such as http://127.0.0.1:4318, not '{collector}'.");
                    break;
                case "--check":
                    options = options with { IsCheckOnly = true };
                    break;
                case "--audit-kept-days":
                    string days = Value();
                    options = int.TryParse(days, NumberStyles.None, CultureInfo.InvariantCulture, out int keptDays) && keptDays is > 0 and <= 36_525
                        ? options with { AuditKeptDays = keptDays }
                        : throw new BenchRefusedException($"--audit-kept-days takes a whole number of days, 1 or more, not '{days}'.");
                    break;
                case "--receive-title":
                    string title = Value().Trim();
                    options = title.Length is > 0 and <= 16 && title.All(letter => letter is > ' ' and < '\u007f' and not '\\')
                        ? options with { ReceiveTitle = title }
                        : throw new BenchRefusedException("--receive-title takes 1 to 16 letters, digits and signs without spaces.");
                    break;
                case "--web-token-file":
                    options = options with { WebToken = ReadToken(Value()) };
                    break;
                case "--no-demo":
                    options = options with { WithDemoCases = false };
                    break;
                case "--listen":
                    string address = Value();
                    if (!IPAddress.TryParse(address, out IPAddress? parsed) || !parsed.Equals(IPAddress.Loopback))
                    {
                        throw new BenchRefusedException(NoAccounts);
                    }

                    break;
                default:
                    throw new BenchRefusedException($"There is no option '{parts[0]}'; see --help.");
            }
        }

        return options;
    }

    /// <summary>Refuses addresses set in the environment that other machines could reach.</summary>
    /// <param name="setting">Reads a setting by name, such as ASPNETCORE_URLS; null where it is not set.</param>
    /// <exception cref="BenchRefusedException">An address beyond this machine is asked for.</exception>
    public static void RefuseOtherAddresses(Func<string, string?> setting)
    {
        ArgumentNullException.ThrowIfNull(setting);
        foreach (string name in new[] { "ASPNETCORE_URLS", "DOTNET_URLS", "URLS" })
        {
            foreach (string address in (setting(name) ?? string.Empty).Split(';', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
            {
                if (!Uri.TryCreate(address, UriKind.Absolute, out Uri? parsed) || !parsed.IsLoopback)
                {
                    throw new BenchRefusedException(NoAccounts);
                }
            }
        }
    }

    private static string ReadToken(string path)
    {
        const int Shortest = 16;
        string token;
        try
        {
            token = File.ReadAllText(path).Trim();
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException or ArgumentException)
        {
            throw new BenchRefusedException($"The file of --web-token-file cannot be read: {error.Message}", error);
        }

        return token.Length >= Shortest && token.All(letter => letter is > ' ' and < '\u007f')
            ? token
            : throw new BenchRefusedException($"The file of --web-token-file must hold one word of at least {Shortest} letters, digits or signs.");
    }

    private const string NoAccounts = "This version has no accounts, so the bench listens on 127.0.0.1 only and does not start on any other address.";
}

/// <summary>The bench does not start. The message is one sentence for the person at the terminal.</summary>
public sealed class BenchRefusedException : Exception
{
    /// <summary>Creates the error.</summary>
    /// <param name="reason">One sentence.</param>
    /// <param name="inner">The cause, when there is one.</param>
    public BenchRefusedException(string reason, Exception? inner = null)
        : base(reason, inner)
    {
    }
}
