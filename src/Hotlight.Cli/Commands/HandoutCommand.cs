using System.ComponentModel;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Measure.Document;
using Hotlight.Positioning;
using Hotlight.Privacy.Publishing;
using Hotlight.Store;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Teaching.Handouts;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Critiques;
using Hotlight.Workflows.Intake;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Handouts;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight handout FILE --projection ID [--answers FILE] --to DIR, or hotlight handout --case ID [--data DIR] --to DIR; [--language CODE] [--html] [--pdf] [--cover] [--looked-over].</summary>
internal sealed class HandoutCommand : Command<HandoutCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.File is null == settings.CaseId is null)
        {
            throw new RefusedException("handout takes a file, or a case of the bench with --case ID.");
        }

        if (settings.To is null || File.Exists(settings.To))
        {
            throw new RefusedException(settings.To is null ? "handout needs --to DIR, the folder that the handout goes into." : $"'{settings.To}' is a file; give a folder with --to.");
        }

        HandoutForms forms = (settings.Html ? HandoutForms.Html : HandoutForms.None) | (settings.Pdf ? HandoutForms.Pdf : HandoutForms.None);
        forms = forms == HandoutForms.None ? HandoutForms.Html | HandoutForms.Pdf : forms;
        try
        {
            IReadOnlyList<HandoutFile> files = settings.CaseId is null
                ? OfFile(settings, forms, cancellationToken)
                : OfCaseAsync(settings, forms, cancellationToken).GetAwaiter().GetResult();
            Directory.CreateDirectory(settings.To);
            foreach (HandoutFile file in files)
            {
                string path = Path.Combine(settings.To, file.Name);
                WholeFile.Write(path, file.Content);
                Terminal.Output.WriteLine(path);
            }

            return HotlightCommandLine.Done;
        }
        catch (PublicationStoppedException stopped)
        {
            foreach (PublicationFinding finding in stopped.Findings)
            {
                Terminal.Errors.WriteLine($"  {finding.Sentence}");
            }

            string help = stopped.Findings.Any(finding => finding.Box is not null) ? " --cover blacks out what was found in the pixels."
                : stopped.Findings.Any(finding => finding.Kind == IdentityKind.DrawnText) ? " Look the picture over; if it names nobody, say so with --looked-over."
                : string.Empty;
            throw RefusedException.Of(stopped.Message + help);
        }
        catch (Exception error) when (error is UnreadableImageException or UnreadableAnswersException or UnreadableLandmarksException or UnreadableThresholdsException or CaseGoneException or FileNotKeptException or LessonRefusedException)
        {
            throw RefusedException.Of(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the handout cannot be written to '{settings.To}': {Terminal.Reason(error)}.");
        }
    }

    private static IReadOnlyList<HandoutFile> OfFile(Settings settings, HandoutForms forms, CancellationToken cancellation)
    {
        if (settings.Projection is null)
        {
            throw new RefusedException("handout needs --projection ID for a file, such as --projection wrist-pa; 'hotlight projections' lists them.");
        }

        Projection projection = Projections.Find(settings.Projection, settings.CataloguePath);
        var inputs = new CritiqueInputs { AnswersPath = settings.AnswersPath, LandmarksPath = settings.LandmarksPath, ThresholdsPath = settings.ThresholdsPath, Clinic = ClinicFile.Read(settings.ClinicPath) };
        Critique critique = CritiqueWorkflow.Run(settings.File!, projection, inputs, settings.ToOptions(), cancellation);
        byte[] content = File.ReadAllBytes(settings.File!);
        Radiograph radiograph = RadiographReader.Read(content, Path.GetFileName(settings.File!), cancellation);
        KnownIdentity known = KnownIdentity.OfFile(content).With(IdentityKind.ClinicPerson, inputs.Clinic?.People.Select(person => person.Pseudonym) ?? []);
        DrawnText found = DrawnTextFinder.FindAsync(radiograph, known, CasePublisher.Hints(radiograph.Exposure, critique.Measurements), cancellation: cancellation).GetAwaiter().GetResult();
        PixelBox[] covered = settings.Cover ? [.. found.Places.Select(place => place.Box)] : [];
        Radiograph shown = PixelCover.Cover(radiograph, covered);
        Handout handout = HandoutWriter.Write(new HandoutFacts
        {
            Critique = critique,
            Version = CaseWorkflow.ThisVersion.Split('+')[0],
            HasCoveredPlaces = covered.Length > 0,
            Columns = shown.Columns,
            Rows = shown.Rows,
        });
        return HandoutWorkflow.Make(handout, critique, shown, known, new PublishedPicture("the radiograph", found, covered, [], settings.LookedOver), forms);
    }

    private static async Task<IReadOnlyList<HandoutFile>> OfCaseAsync(Settings settings, HandoutForms forms, CancellationToken cancellation)
    {
        if (!Guid.TryParse(settings.CaseId, out Guid id))
        {
            throw new RefusedException($"--case takes the identifier that stands in the case's address; '{settings.CaseId}' is not one.");
        }

        string folder = settings.Folder;
        string path = Path.Combine(folder, "records.db");
        PostgresAddress? address = settings.Address();
        if (address is null ? !File.Exists(path) : !Directory.Exists(folder))
        {
            throw new RefusedException($"'{folder}' holds no records; give the folder of your bench with --data.");
        }

        PostgresRecords? server = address is null ? null : await PostgresRecords.OpenAsync(address, TimeProvider.System);
        try
        {
            IRecordStore records = server?.Records ?? await SqliteRecords.OpenAsync(path, TimeProvider.System);
            var clinic = new ClinicWorkflow(server?.Clinic ?? SqliteRecords.Clinic(path, TimeProvider.System));
            await clinic.LoadAsync(cancellation);
            var files = new FolderFileStore(Path.Combine(folder, "files"));
            using var shelf = new RadiographShelf(files);
            ProjectionCatalogue catalogue = Projections.Catalogue(settings.CataloguePath);
            var cases = new CaseWorkflow(records, files, shelf, TimeProvider.System, catalogue, clinic, IntakePolicy.AsItIs);
            var publisher = new CasePublisher(records, files, shelf, clinic);
            var handouts = new HandoutWorkflow(cases, publisher, server?.Lessons ?? SqliteRecords.Lessons(path, TimeProvider.System), TimeProvider.System, catalogue, clinic);
            HandoutDraft draft = await handouts.OpenAsync(id, settings.Language ?? Texts.Fallback, cancellation);
            if (settings.Cover || settings.LookedOver)
            {
                PixelReview before = draft.Prepared.Review;
                draft = await handouts.ReviewAsync(draft, before with
                {
                    Covered = settings.Cover ? [.. before.Covered, .. draft.Prepared.Found.Places.Select(place => place.Box).Except(before.Covered)] : before.Covered,
                    LookedOver = before.LookedOver || settings.LookedOver,
                }, cancellation);
            }

            return HandoutWorkflow.Make(draft, forms);
        }
        finally
        {
            if (server is not null)
            {
                await server.DisposeAsync();
            }
        }
    }

    internal sealed class Settings : MeasureSettings, ILanguageSettings
    {
        [CommandArgument(0, "[FILE]")]
        [Description("The radiograph; left out with --case.")]
        public string? File { get; init; }

        [CommandOption("--case <ID>")]
        [Description("A case of the bench, by the identifier in its address; its answers and the teacher's words are used.")]
        public string? CaseId { get; init; }

        [CommandOption("--to <DIR>")]
        [Description("Folder that the handout goes into; it is made where it is not there.")]
        public string? To { get; init; }

        [CommandOption("-p|--projection <ID>")]
        [Description("The projection a file should be, such as wrist-pa.")]
        public string? Projection { get; init; }

        [CommandOption("-a|--answers <FILE>")]
        [Description("The reader's answers (JSON) for a file.")]
        public string? AnswersPath { get; init; }

        [CommandOption("--landmarks <FILE>")]
        [Description("Marked landmarks (JSON) for a file.")]
        public string? LandmarksPath { get; init; }

        [CommandOption("--thresholds <FILE>")]
        [Description("Your clinic's own thresholds (JSON) for a file.")]
        public string? ThresholdsPath { get; init; }

        [CommandOption("--clinic <FILE>")]
        [Description(ClinicFile.Help)]
        public string? ClinicPath { get; init; }

        [CommandOption("--language <CODE>")]
        [Description("Language of the handout: en, de, es, or one of the folder that the environment variable HOTLIGHT_LANGUAGE_FOLDER names; else en.")]
        public string? Language { get; init; }

        [CommandOption("--html")]
        [Description("Make the HTML file; without --html and --pdf both are made.")]
        public bool Html { get; init; }

        [CommandOption("--pdf")]
        [Description("Make the PDF.")]
        public bool Pdf { get; init; }

        [CommandOption("--cover")]
        [Description("Black out what is found of text in the pixels.")]
        public bool Cover { get; init; }

        [CommandOption("--looked-over")]
        [Description("Say that a person has looked the whole picture over and that it names nobody.")]
        public bool LookedOver { get; init; }

        [CommandOption("--data <DIR>")]
        [Description("Folder that the bench keeps its data in (default: the bench's own default folder)")]
        public string? Data { get; init; }

        [CommandOption("--store <ADDR>")]
        [Description("PostgreSQL database that the bench keeps its records in: postgres://user@host:5432/database")]
        public string? Store { get; init; }

        public override string? ProjectionId => Projection;

        public string Folder => Data ?? Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData, Environment.SpecialFolderOption.DoNotVerify), "hotlight");

        public PostgresAddress? Address()
        {
            try
            {
                return Store is null ? null : PostgresAddress.Parse(Store);
            }
            catch (FormatException error)
            {
                throw RefusedException.Of(error.Message);
            }
        }
    }
}
