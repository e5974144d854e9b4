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
          --department  people sign in, each with a role; the first administrator's link is
                        printed at the first start
          --listen ADDR address of this machine to answer on (default 127.0.0.1); another than
                        127.0.0.1 only with --department, an account and --certificate
          --host NAMES  names or addresses by which browsers reach the bench, with commas
                        between; needed with --listen
          --certificate FILE  certificate for TLS, PEM or PFX
          --certificate-key FILE  its key, PEM, where it is not in the same file
          --certificate-password-file FILE  file with the password of key or PFX
          --idle-minutes N  a session ends after so long without a key or a click (default 30)
          --session-hours N  a session ends after so long in any case (default 12)
          --hospital-sign-in URL  OpenID Connect provider of the hospital's own sign-in
          --hospital-client ID  the bench's name there (default hotlight)
          --hospital-secret-file FILE  file with the bench's secret there
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
        ["--department"] = false, ["--host"] = true, ["--certificate"] = true, ["--certificate-key"] = true, ["--certificate-password-file"] = true,
        ["--idle-minutes"] = true, ["--session-hours"] = true, ["--hospital-sign-in"] = true, ["--hospital-client"] = true, ["--hospital-secret-file"] = true,
    };

    /// <summary>Whether people sign in, each with a role; else a single reader works here.</summary>
    public bool IsDepartment { get; init; }

    /// <summary>The address of this machine that is answered on.</summary>
    public IPAddress Listen { get; init; } = IPAddress.Loopback;

    /// <summary>Names and addresses by which browsers reach the bench, besides 127.0.0.1 and localhost; the first stands in links.</summary>
    public IReadOnlyList<string> Hosts { get; init; } = [];

    /// <summary>File of the certificate, PEM or PFX; null: no TLS.</summary>
    public string? CertificateFile { get; init; }

    /// <summary>File of its key, PEM; null: in the same file.</summary>
    public string? CertificateKeyFile { get; init; }

    /// <summary>Password of the key or the PFX; null: none.</summary>
    public string? CertificatePassword { get; init; }

    /// <summary>How long nobody may do anything in a session, above 0.</summary>
    public TimeSpan SessionIdle { get; init; } = TimeSpan.FromMinutes(30);

    /// <summary>How long a session may last, above 0.</summary>
    public TimeSpan SessionWhole { get; init; } = TimeSpan.FromHours(12);

    /// <summary>How often live connections are looked at whether their sessions stand.</summary>
    public TimeSpan SessionWatch { get; init; } = TimeSpan.FromSeconds(15);

    /// <summary>The hospital's own sign-in; null: there is none.</summary>
    public HospitalSignIn? Hospital { get; init; }

    /// <summary>Whether only this machine reaches the bench.</summary>
    public bool IsLocal => IPAddress.IsLoopback(Listen);

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
                    options = options with { Listen = IPAddress.TryParse(address, out IPAddress? parsed) ? parsed : throw new BenchRefusedException($"--listen takes an address of this machine, such as 127.0.0.1 or 10.1.2.3, not '{address}'.") };
                    break;
                case "--department":
                    options = options with { IsDepartment = true };
                    break;
                case "--host":
                    string[] hosts = Value().Split(',', StringSplitOptions.TrimEntries);
                    options = Array.Find(hosts, each => Uri.CheckHostName(each) is not (UriHostNameType.Dns or UriHostNameType.IPv4)) is { } wrong
                        ? throw new BenchRefusedException($"--host takes a name such as hotlight.example.org, not '{wrong}'.")
                        : options with { Hosts = [.. options.Hosts, .. hosts] };
                    break;
                case "--certificate":
                    options = options with { CertificateFile = Path.GetFullPath(Value()) };
                    break;
                case "--certificate-key":
                    options = options with { CertificateKeyFile = Path.GetFullPath(Value()) };
                    break;
                case "--certificate-password-file":
                    options = options with { CertificatePassword = ReadSecret(Value(), "--certificate-password-file") };
                    break;
                case "--idle-minutes":
                    options = options with { SessionIdle = TimeSpan.FromMinutes(Whole(Value(), "--idle-minutes", 1, 24 * 60)) };
                    break;
                case "--session-hours":
                    options = options with { SessionWhole = TimeSpan.FromHours(Whole(Value(), "--session-hours", 1, 7 * 24)) };
                    break;
                case "--hospital-sign-in":
                    string provider = Value();
                    options = Uri.TryCreate(provider, UriKind.Absolute, out Uri? issuer) && (issuer.Scheme == Uri.UriSchemeHttps || (issuer.Scheme == Uri.UriSchemeHttp && issuer.IsLoopback))
                        ? options with { Hospital = (options.Hospital ?? HospitalSignIn.Unset) with { Issuer = issuer } }
                        : throw new BenchRefusedException($"--hospital-sign-in takes the https address of an OpenID Connect provider, not '{provider}'.");
                    break;
                case "--hospital-client":
                    options = options with { Hospital = (options.Hospital ?? HospitalSignIn.Unset) with { ClientId = Value() } };
                    break;
                case "--hospital-secret-file":
                    options = options with { Hospital = (options.Hospital ?? HospitalSignIn.Unset) with { ClientSecret = ReadSecret(Value(), "--hospital-secret-file") } };
                    break;
                default:
                    throw new BenchRefusedException($"There is no option '{parts[0]}'; see --help.");
            }
        }

        options.CheckAddress();
        return options;
    }

    /// <summary>Refuses what would let other machines in without accounts and TLS. Whether there is an account is asked when the store is open.</summary>
    /// <exception cref="BenchRefusedException">The options do not go together.</exception>
    internal void CheckAddress()
    {
        if (!IsDepartment && (!IsLocal || CertificateFile is not null || Hosts.Count > 0 || Hospital is not null))
        {
            throw new BenchRefusedException(IsLocal ? "--certificate, --host and --hospital-sign-in go with --department." : NoAccounts);
        }

        if (!IsLocal && CertificateFile is null)
        {
            throw new BenchRefusedException("The bench answers other machines only with TLS: give its certificate with --certificate.");
        }

        if (!IsLocal && Hosts.Count == 0)
        {
            throw new BenchRefusedException("Say with --host by which name browsers reach the bench; it answers to no other.");
        }

        if (Hospital is { Issuer: null })
        {
            throw new BenchRefusedException("--hospital-client and --hospital-secret-file go with --hospital-sign-in.");
        }
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

    private static string ReadSecret(string path, string option)
    {
        try
        {
            return File.ReadAllText(path).TrimEnd('\r', '\n') is { Length: > 0 } secret ? secret : throw new BenchRefusedException($"The file of {option} is empty.");
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException or ArgumentException)
        {
            throw new BenchRefusedException($"The file of {option} cannot be read: {error.Message}", error);
        }
    }

    private static int Whole(string text, string option, int least, int most)
        => int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out int value) && value >= least && value <= most
            ? value
            : throw new BenchRefusedException($"{option} takes a whole number from {least} to {most}, not '{text}'.");

    private const string NoAccounts = "Without accounts the bench listens on 127.0.0.1 only: other addresses need --department, an account and --certificate.";
}

/// <summary>The hospital's own sign-in, an OpenID Connect provider.</summary>
/// <param name="Issuer">Its address; null: not given.</param>
/// <param name="ClientId">The bench's name there.</param>
/// <param name="ClientSecret">The bench's secret there; null: a public client, with proof of key alone.</param>
public sealed record HospitalSignIn(Uri? Issuer, string ClientId, string? ClientSecret)
{
    /// <summary>Nothing given yet.</summary>
    public static HospitalSignIn Unset { get; } = new(null, "hotlight", null);
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
