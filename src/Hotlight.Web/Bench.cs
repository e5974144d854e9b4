using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography.X509Certificates;
using Hotlight.Audit;
using Hotlight.Catalogue;
using Hotlight.Privacy;
using Hotlight.Store;
using Hotlight.Web.Audit;
using Hotlight.Web.Components;
using Hotlight.Web.Endpoints;
using Hotlight.Web.Endpoints.DicomWeb;
using Hotlight.Web.Help;
using Hotlight.Web.Intake;
using Hotlight.Web.Lessons;
using Hotlight.Web.People;
using Hotlight.Web.Rounds;
using Hotlight.Web.Sharing;
using Hotlight.Web.Upkeep;
using Hotlight.Web.WalkThroughs;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.People;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Records;
using Hotlight.Workflows.Repeats;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Collections;
using Hotlight.Workflows.Teaching.Handouts;
using Hotlight.Workflows.Teaching.Practice;
using Hotlight.Workflows.Teaching.Rounds;
using Hotlight.Workflows.Teaching.WalkThroughs;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Components.Server.Circuits;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.Logging.Console;

namespace Hotlight.Web;

/// <summary>Puts the bench together and starts it.</summary>
public static class Bench
{
    /// <summary>How long a deleted case can be put back.</summary>
    public static readonly TimeSpan DeletedAreKeptFor = TimeSpan.FromDays(7);

    /// <summary>Starts the bench; when this returns it answers.</summary>
    /// <param name="options">How it is started.</param>
    /// <param name="progress">Where long work is said in one line.</param>
    /// <param name="clock">Tells the time; null: the machine's.</param>
    /// <exception cref="BenchRefusedException">It cannot start: the port is taken or the data folder cannot be written.</exception>
    public static async Task<WebApplication> StartAsync(BenchOptions options, TextWriter progress, TimeProvider? clock = null)
    {
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(progress);
        options.CheckAddress();
        clock ??= TimeProvider.System;

        // What the bench begins by itself it does by itself; requests and live connections say who acts in them.
        Acting.As(Actor.Program);
        var news = new CaseNews();
        KeptRecords kept;
        IFileStore files;
        ClinicWorkflow clinic;
        IntakePolicy intake;
        FolderHold? hold = null;
        try
        {
            MakeFolder(options.DataFolder);
            hold = options.Store is null ? FolderHold.Take(options.DataFolder) : null;
            if (options.InboxFolder is { } inbox)
            {
                MakeInbox(inbox);
            }

            files = new FolderFileStore(Path.Combine(options.DataFolder, "files"));
            kept = await KeptRecords.OpenAsync(options, clock, news);
            kept = hold is null ? kept : kept with { Hold = hold.With(kept.Hold) };
            if (options.IsDepartment)
            {
                kept = kept.Guarded();
            }

            clinic = new ClinicWorkflow(kept.Clinic, news);
            await clinic.LoadAsync();
            intake = new IntakePolicy(options.Setting, PrivacyKey.Open(Path.Combine(options.DataFolder, "privacy.key")));
        }
        catch (FormatException error)
        {
            hold?.Dispose();
            throw new BenchRefusedException($"The settings of the clinic cannot be read, perhaps because a later version kept them: {error.Message}", error);
        }
        catch (BenchRefusedException)
        {
            hold?.Dispose();
            throw;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException or FileNotKeptException or AuditRefusedException)
        {
            hold?.Dispose();
            throw new BenchRefusedException(error is FileNotKeptException or AuditRefusedException ? error.Message : $"The data folder {options.DataFolder} cannot be written: {error.Message}", error);
        }

        if (!options.IsLocal && !await kept.Accounts.AnyAsync())
        {
            await kept.DisposeAsync();
            throw new BenchRefusedException("There is no account yet, so the bench answers no other machine: make the first administrator with 'hotlight people add-administrator'.");
        }

        WebApplication bench;
        try
        {
            bench = Build(options, kept, files, clinic, intake, clock, news);
        }
        catch (BenchRefusedException)
        {
            await kept.DisposeAsync();
            throw;
        }

        bench.Services.GetRequiredService<DemoCaseImport>().Output = progress;
        try
        {
            await bench.StartAsync();
        }
        catch (IOException error) when (error.GetBaseException() is SocketException { SocketErrorCode: SocketError.AddressAlreadyInUse })
        {
            await bench.DisposeAsync();
            throw new BenchRefusedException($"Port {options.Port} is taken on {options.Listen}; stop what uses it or give another with --port.", error);
        }
        catch (BenchRefusedException)
        {
            await bench.DisposeAsync();
            throw;
        }
        catch (SocketException error)
        {
            await bench.DisposeAsync();
            throw new BenchRefusedException($"Port {options.Port} cannot be used on {options.Listen}: {error.Message}", error);
        }
        catch (Exception error) when (Refusals.SentenceOf(error) is not null)
        {
            await bench.DisposeAsync();
            throw new BenchRefusedException(Refusals.SentenceOf(error)!, error);
        }

        try
        {
            WalkThroughWorkflow walks = bench.Services.GetRequiredService<WalkThroughWorkflow>();
            IReadOnlyList<Lesson> walked = await walks.AllAsync();
            foreach (string hash in await kept.Records.RemoveDeletedAsync(clock.GetUtcNow() - DeletedAreKeptFor))
            {
                files.Remove(hash);
            }

            await walks.ForgetGoneAsync(walked);
        }
        catch (Exception error) when (Refusals.SentenceOf(error) is not null)
        {
            await bench.DisposeAsync();
            throw new BenchRefusedException(Refusals.SentenceOf(error)!, error);
        }

        if (options.IsDepartment && !await kept.Accounts.AnyAsync())
        {
            IssuedInvitation first = await bench.Services.GetRequiredService<AccountWorkflow>().InviteAsync("administrator", PersonRole.Administrator, null, "Administrator", null);
            progress.WriteLine($"Nobody has an account yet. The first administrator opens this link, once, within {AccountWorkflow.InvitationHolds.Days} days: {first.LinkAt(AddressFor(bench, options))}");
        }

        return bench;
    }

    /// <summary>The address by which browsers reach the bench.</summary>
    /// <param name="bench">The started bench.</param>
    /// <param name="options">How it was started.</param>
    public static string AddressFor(WebApplication bench, BenchOptions options)
    {
        ArgumentNullException.ThrowIfNull(options);
        Uri address = AddressOf(bench);
        return options.Hosts is [{ } host, ..] ? $"{address.Scheme}://{host}:{address.Port}" : options.IsDepartment ? $"{address.Scheme}://localhost:{address.Port}" : address.ToString();
    }

    /// <summary>The address the bench answers on.</summary>
    /// <param name="bench">The started bench.</param>
    public static Uri AddressOf(WebApplication bench)
    {
        ArgumentNullException.ThrowIfNull(bench);
        return new Uri(bench.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.First());
    }

    /// <summary>The address of the door for guests of rounds; null: there is none.</summary>
    /// <param name="bench">The started bench.</param>
    public static Uri? DoorOf(WebApplication bench)
    {
        ArgumentNullException.ThrowIfNull(bench);
        return bench.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.Skip(1).FirstOrDefault() is { } address ? new Uri(address) : null;
    }

    private static ProjectionCatalogue CatalogueOf(BenchOptions options, BenchLanguage language)
    {
        if (string.IsNullOrWhiteSpace(options.CatalogueFolder))
        {
            return language.In(ProjectionCatalogue.BuiltIn);
        }

        try
        {
            return language.In(ProjectionCatalogue.BuiltIn.With(ProjectionCatalogue.Load(options.CatalogueFolder)));
        }
        catch (UnreadableCatalogueException error)
        {
            throw new BenchRefusedException($"{error.Errors[0]} {(error.Errors.Count > 1 ? $"There are {error.Errors.Count - 1} more faults; " : string.Empty)}'hotlight catalogue check' lists all.");
        }
    }

    private static WebApplication Build(BenchOptions options, KeptRecords kept, IFileStore files, ClinicWorkflow clinic, IntakePolicy intake, TimeProvider clock, CaseNews news)
    {
        X509Certificate2? certificate = BenchCertificate.Of(options);

        // The page's own files lie beside the program, wherever it is called from.
        WebApplicationBuilder builder = WebApplication.CreateBuilder(new WebApplicationOptions
        {
            ApplicationName = typeof(Bench).Assembly.GetName().Name,
            ContentRootPath = AppContext.BaseDirectory,
            EnvironmentName = Environments.Production,
        });
        builder.Configuration.Sources.Clear();
        builder.WebHost.UseStaticWebAssets();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = 1024 * 1024;

            // Fifty readers hold a few connections each; more than this is no department.
            kestrel.Limits.MaxConcurrentConnections = 2000;
            kestrel.Limits.MaxConcurrentUpgradedConnections = 1000;
            kestrel.Listen(options.Listen, options.Port, listen =>
            {
                if (certificate is not null)
                {
                    listen.UseHttps(certificate);
                }
            });
            if (options.RoundsPort is { } door)
            {
                kestrel.Listen(IPAddress.Loopback, door, GuestGate.MakeDoor);
            }
        });
        builder.Logging.ClearProviders();
        builder.Logging.AddConsole(console => console.FormatterName = options.LogForm == LogForm.Json ? JsonLog.FormatterName : LineLog.FormatterName)
            .AddConsoleFormatter<LineLog, ConsoleFormatterOptions>()
            .AddConsoleFormatter<JsonLog, ConsoleFormatterOptions>();
        builder.Logging.AddFilter((category, level) => level >= (category?.StartsWith("Hotlight.", StringComparison.Ordinal) == true ? options.LogLevel : LogLevel.Error));

        // Errors of the start are said in one sentence, without a trace beside it.
        builder.Logging.AddFilter("Microsoft.Extensions.Hosting", LogLevel.None);

        IServiceCollection services = builder.Services;
        services.AddSingleton(options);
        services.AddSingleton(clock);
        services.AddHttpContextAccessor();
        services.AddBenchHealth();
        BenchMeter.Add(services, options.MetricsCollector);
        services.AddSingleton(kept.Trail);
        services.AddSingleton<IAuditTrail>(kept.Trail);
        services.AddSingleton<LookTelling>();
        services.AddHostedService<AuditHost>();
        services.AddScoped<CircuitActor>();
        services.AddSingleton<IRecordStore>(new ReadingRecords(kept.Records, kept.Readings, news));
        services.AddSingleton(kept.Readings);
        services.AddSingleton(kept.Lessons);
        services.AddSingleton(kept.Queue);
        services.AddSingleton<IReadingHold, RoundHolds>();
        services.AddSingleton<ReadingWorkflow>();
        services.AddSingleton<RoundWorkflow>();
        services.AddSingleton<RoundCookie>();
        services.AddSingleton<RoundAddress>();
        services.AddScoped<CircuitGuest>();
        services.AddScoped<CircuitHandler, GuestCircuit>();
        services.AddRoundAttempts();
        services.AddPeople(options, kept.Accounts);
        services.AddSingleton<AgreementWorkflow>();
        services.AddSingleton<ProgressWorkflow>();
        services.AddSingleton<CasePublisher>();
        services.AddSingleton<HandoutWorkflow>();
        services.AddSingleton<CollectionWorkflow>();
        services.AddSingleton<SharedFileDesk>();
        services.AddSingleton<PracticeShelf>();
        services.AddSingleton<PracticeWorkflow>();
        services.AddScoped<ReadingSight>();
        services.AddSingleton<IExposureLog>(kept.Log);

        // Made by a call, so that it is closed with the bench.
        services.AddSingleton(_ => kept);
        services.AddSingleton(files);
        services.AddSingleton(clinic);
        services.AddSingleton<RepeatWorkflow>();
        services.AddScoped<CurrentReader>();
        services.AddSingleton(intake);
        var language = BenchLanguage.Of(options);
        language.Speak();
        services.AddSingleton(language);
        services.AddSingleton(CatalogueOf(options, language));
        services.AddSingleton<RadiographShelf>();
        services.AddSingleton<CaseWorkflow>();
        services.AddSingleton(new TakeShelf(Path.Combine(options.DataFolder, "takes"), clock));
        services.AddSingleton<WalkThroughWorkflow>();
        services.AddSingleton<ExportDesk>();
        services.AddSingleton(news);
        services.AddSingleton<CaseAttendance>();
        services.AddSingleton<GoodExamples>();
        services.AddSingleton(new HelpLibrary(HelpLibrary.BesideTheProgram));
        services.AddSingleton<DemoCaseImport>();
        services.AddHostedService(provider => provider.GetRequiredService<DemoCaseImport>());
        services.AddSingleton<QueueWorkers>();
        services.AddHostedService<QueueHost>();
        services.AddSingleton<ArrivalLog>();
        services.AddSingleton<InstanceIndex>();
        services.AddHostedService<InboxWatch>();
        services.AddSingleton<ReceiverHost>();
        services.AddHostedService(provider => provider.GetRequiredService<ReceiverHost>());
        services.AddSingleton(provider => new ExposureIntake(kept.Log, provider.GetRequiredService<ProjectionCatalogue>(), PrivacyKey.Open(Path.Combine(options.DataFolder, "privacy.key")), options.Setting, clinic));
        services.AddSingleton(provider => new CaseExposures(kept.Records, files, kept.Log, provider.GetRequiredService<ProjectionCatalogue>(), PrivacyKey.Open(Path.Combine(options.DataFolder, "privacy.key")), clinic));
        services.AddHostedService<CaseExposureKeeper>();
        services.AddSingleton(new MappingShelf(Path.Combine(options.DataFolder, "mappings")));
        services.AddSingleton<ExposureDesk>();
        services.AddSingleton<UploadDesk>();
        services.AddHostedService(provider => provider.GetRequiredService<UploadDesk>());
        services.AddDataProtection().SetApplicationName("hotlight").PersistKeysToFileSystem(Directory.CreateDirectory(Path.Combine(options.DataFolder, "keys")));
        services.AddAntiforgery(forgery =>
        {
            forgery.HeaderName = CaseEndpoints.TokenHeader;
            forgery.Cookie.Name = "hotlight.forgery";
            forgery.Cookie.SecurePolicy = CookieSecurePolicy.SameAsRequest;
            forgery.SuppressXFrameOptionsHeader = true;
        });
        services.AddProblemDetails();
        services.AddRazorComponents().AddInteractiveServerComponents(circuit =>
        {
            circuit.DisconnectedCircuitRetentionPeriod = TimeSpan.FromMinutes(10);
            circuit.DetailedErrors = false;
        });
        services.AddSignalR(hub => hub.MaximumReceiveMessageSize = 256 * 1024);

        WebApplication bench = builder.Build();
        bench.Services.GetRequiredService<KeptRecords>();
        bench.Services.GetRequiredService<BenchMeter>();
        bench.Use((HttpContext context, RequestDelegate next) =>
        {
            // Not async: what is set here holds for all that follows, also for a page's live connection, which begins with a request.
            language.Speak();
            return next(context);
        });
        bench.UseMiddleware<RequestLog>();
        bench.UseMiddleware<PageGuard>();
        if (options.IsDepartment)
        {
            bench.UseAuthentication();
        }

        bench.UseMiddleware<GuestGate>();
        bench.UseMiddleware<AccountGate>();
        bench.UseMiddleware<EndpointTelling>();
        bench.UseExceptionHandler("/error", createScopeForErrors: true);
        bench.UseMiddleware<RefusalAnswer>();
        bench.UseStatusCodePagesWithReExecute("/missing", createScopeForStatusCodePages: true);
        bench.UseMiddleware<NotAllowedAnswer>();
        bench.UseAntiforgery();
        bench.Use((context, next) => context.Features.Get<IAntiforgeryValidationFeature>() is { IsValid: false }
            ? TypedResults.Problem("The page is too old; reload it and try again.", statusCode: StatusCodes.Status400BadRequest).ExecuteAsync(context)
            : next(context));
        bench.UseRateLimiter();
        bench.MapStaticAssets();
        bench.MapCases();
        bench.MapClinic();
        bench.MapUploads();
        bench.MapExposures();
        SharedFileDesk.Map(bench);
        bench.MapPixels();
        bench.MapHandouts();
        bench.MapWalkThroughs();
        bench.MapRounds();
        if (options.IsDepartment)
        {
            bench.MapSignIn();
            bench.MapOwnAccount();
            bench.MapPeople();
        }

        bench.MapDicomWeb(options);
        bench.MapBenchHealth();
        bench.MapGet("/ready", () => TypedResults.Text("ready")).WithMetadata(new GuestMayAttribute(GuestScope.Anyone), new OpenToAttribute(OpenScope.Anyone));
        bench.MapRazorComponents<App>().AddInteractiveServerRenderMode(mode => mode.ContentSecurityFrameAncestorsPolicy = "'none'");
        return bench;
    }

    private static void MakeInbox(string folder)
    {
        try
        {
            Directory.CreateDirectory(folder);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new BenchRefusedException($"The inbox {folder} cannot be made or read: {error.Message}", error);
        }
    }

    private static void MakeFolder(string folder)
    {
        // Kept files may carry a patient's identity: only the user who runs the bench may look in.
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder);
        }
        else
        {
            Directory.CreateDirectory(folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
    }
}
