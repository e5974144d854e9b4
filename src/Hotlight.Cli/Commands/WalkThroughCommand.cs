using System.ComponentModel;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Judgement;
using Hotlight.Positioning;
using Hotlight.Privacy.Publishing;
using Hotlight.Store;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Teaching.WalkThroughs;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Critiques;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.WalkThroughs;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight walk-through FILE --projection ID [--answers FILE] | --case ID --to DIR [--html] [--mp4] [--webm] [--json] [--language CODE].</summary>
internal sealed class WalkThroughCommand : Command<WalkThroughCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if ((settings.File is null) == (settings.Case is null))
        {
            throw new RefusedException("walk-through needs a file with --projection, or --case with the case's identifier; not both.");
        }

        if (settings.To is null)
        {
            throw new RefusedException("walk-through needs --to with the folder to write into.");
        }

        int height = settings.Height switch
        {
            null or "720" => 720,
            "1080" => 1080,
            _ => throw new RefusedException($"--height is 720 or 1080; '{settings.Height}' is neither."),
        };
        if ((settings.Mp4 || settings.WebM) && WalkThroughFilm.ProgramPath is null)
        {
            throw new RefusedException(WalkThroughFilm.NotInstalled);
        }

        if (File.Exists(settings.To))
        {
            throw new RefusedException($"the walk-through cannot be written to '{settings.To}': there is a file of that name; give a folder.");
        }

        try
        {
            (PublishableWalkThrough made, IReadOnlyDictionary<string, byte[]> voices) = MadeAsync(settings, cancellationToken).GetAwaiter().GetResult();
            if (made.Covered.Count > 0)
            {
                Terminal.Errors.WriteLine($"hotlight: text drawn into the pixels was blacked out in {made.Covered.Count} {(made.Covered.Count == 1 ? "place" : "places")}; look at the picture before you pass it on.");
            }

            Directory.CreateDirectory(settings.To);
            string stem = $"walk-through-{made.Walk.ProjectionId}";
            if (settings.Json)
            {
                Written(settings, made, stem + ".json", System.Text.Encoding.UTF8.GetBytes(WalkThroughJson.Write(made.Walk, indented: true) + "\n"));
            }

            if (settings.Html || !(settings.Mp4 || settings.WebM || settings.Json))
            {
                Written(settings, made, stem + ".html", WalkThroughPage.Make(made.Walk, made.Radiograph, voices));
            }

            foreach (FilmKind kind in new[] { FilmKind.Mp4, FilmKind.WebM }.Where(kind => kind == FilmKind.Mp4 ? settings.Mp4 : settings.WebM))
            {
                Filmed(settings, made, voices, new FilmOptions(kind, height, settings.DrawnCaptions), stem + (kind == FilmKind.Mp4 ? ".mp4" : ".webm"), cancellationToken);
            }

            return HotlightCommandLine.Done;
        }
        catch (PublicationStoppedException error)
        {
            throw new RefusedException(string.Join(" ", error.Findings.Select(finding => finding.Sentence).Prepend("nothing was published.").Distinct()));
        }
        catch (Exception error) when (error is FilmRefusedException or LessonRefusedException or FileNotKeptException or CaseGoneException or UnreadableWalkThroughException or UnreadableImageException or UnreadableAnswersException or UnreadableLandmarksException)
        {
            throw RefusedException.Of(error.Message);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the walk-through cannot be written to '{settings.To}': {Terminal.Reason(error)}.");
        }
    }

    private static void Written(Settings settings, PublishableWalkThrough made, string name, byte[] content)
    {
        WalkThroughExport.Demand(made, name, content);
        string path = Path.Combine(settings.To!, name);
        WholeFile.Write(path, content);
        Terminal.Output.WriteLine(path);
    }

    private static void Filmed(Settings settings, PublishableWalkThrough made, IReadOnlyDictionary<string, byte[]> voices, FilmOptions options, string name, CancellationToken cancellation)
    {
        // Beside its place and not in it, until its bytes were looked over.
        string path = Path.Combine(settings.To!, name);
        string unseen = path + ".unchecked";
        try
        {
            using ProgressLine progress = ProgressLine.ForSteps(Terminal.Errors, 100);
            WalkThroughFilm.MakeAsync(made.Walk, made.Radiograph, voices, options, unseen, new Told<double>(share => progress.Report((int)(100 * share), "per cent of the film")), cancellation).GetAwaiter().GetResult();
            WalkThroughExport.Demand(made, name, File.ReadAllBytes(unseen));
            File.Move(unseen, path, overwrite: true);
        }
        finally
        {
            File.Delete(unseen);
        }

        Terminal.Output.WriteLine(path);
    }

    private static async Task<(PublishableWalkThrough Made, IReadOnlyDictionary<string, byte[]> Voices)> MadeAsync(Settings settings, CancellationToken cancellation)
    {
        return settings.Case is null ? await OfFileAsync(settings, cancellation) : await OfCaseAsync(settings, cancellation);
    }

    private static async Task<(PublishableWalkThrough Made, IReadOnlyDictionary<string, byte[]> Voices)> OfFileAsync(Settings settings, CancellationToken cancellation)
    {
        string path = settings.File!;
        Projection projection = Projections.Find(settings.Projection ?? throw new RefusedException("walk-through of a file needs --projection ID, such as --projection wrist-pa; 'hotlight projections' lists them."), null);
        var inputs = new CritiqueInputs { AnswersPath = settings.AnswersPath, LandmarksPath = settings.LandmarksPath };
        Critique critique = CritiqueWorkflow.Run(path, projection, inputs, new Measure.MeasureOptions { SkinMarginMm = projection.Collimation.SkinMarginMm.Value }, cancellation);
        Radiograph radiograph = RadiographReader.Read(path, cancellation);
        WalkThrough walk = WalkThroughMaker.Make(critique, radiograph, settings.IsInvented);
        KnownIdentity known = settings.IsInvented ? KnownIdentity.None : KnownIdentity.OfFile(await File.ReadAllBytesAsync(path, cancellation)).With(IdentityKind.CaseLabel, Path.GetFileNameWithoutExtension(path));
        return (await WalkThroughExport.OfFileAsync(walk, critique, radiograph, known, settings.LookedOver, cancellation), new Dictionary<string, byte[]>());
    }

    private static async Task<(PublishableWalkThrough Made, IReadOnlyDictionary<string, byte[]> Voices)> OfCaseAsync(Settings settings, CancellationToken cancellation)
    {
        if (!Guid.TryParse(settings.Case, out Guid id))
        {
            throw new RefusedException($"--case takes the identifier of a case, the last part of its page's address; '{settings.Case}' is none.");
        }

        (IRecordStore records, ILessonStore lessons, ClinicWorkflow clinic, string folder) = settings.OpenCases();
        var files = new FolderFileStore(Path.Combine(folder, "files"));
        using var shelf = new RadiographShelf(files);
        var cases = new CaseWorkflow(records, files, shelf, TimeProvider.System, clinic: clinic);
        var walks = new WalkThroughWorkflow(cases, lessons, files, new TakeShelf(Path.Combine(folder, "takes"), TimeProvider.System), new CasePublisher(records, files, shelf, clinic), TimeProvider.System);
        OpenWalkThrough open = await walks.OpenAsync(id, cancellation);
        if (settings.LookedOver)
        {
            await walks.DecideAsync(open, [], lookedOver: true, cancellation);
        }

        PublishableWalkThrough made = await walks.PublishableAsync(open, cancellation);
        return (made, await walks.VoicesAsync(open, cancellation));
    }

    internal sealed class Settings : RecordsSettings, ILanguageSettings
    {
        [CommandArgument(0, "[FILE]")]
        [Description("The radiograph: DICOM (DX, CR, secondary capture), PNG, TIFF or JPEG.")]
        public string? File { get; init; }

        [CommandOption("-p|--projection <ID>")]
        [Description("With a file: the projection it should be, such as wrist-pa; 'hotlight projections' lists them.")]
        public string? Projection { get; init; }

        [CommandOption("-a|--answers <FILE>")]
        [Description("With a file: the reader's answers (JSON) to the lines that need a person.")]
        public string? AnswersPath { get; init; }

        [CommandOption("--landmarks <FILE>")]
        [Description("With a file: marked landmarks (JSON).")]
        public string? LandmarksPath { get; init; }

        [CommandOption("--invented")]
        [Description("With a file: it is a simulated exposure of an invented person, and is marked as one.")]
        public bool IsInvented { get; init; }

        [CommandOption("--case <ID>")]
        [Description("In place of a file: a case of the bench, with its walk-through as it was worked on and its recorded voices.")]
        public string? Case { get; init; }

        [CommandOption("--to <DIR>")]
        [Description("Folder to write into; it is made where needed.")]
        public string? To { get; init; }

        [CommandOption("--html")]
        [Description("Write one HTML file that needs nothing else; so it is where nothing is asked for.")]
        public bool Html { get; init; }

        [CommandOption("--mp4")]
        [Description("Write a film as MP4, with captions as a track; needs ffmpeg.")]
        public bool Mp4 { get; init; }

        [CommandOption("--webm")]
        [Description("Write a film as WebM, with captions as a track; needs ffmpeg.")]
        public bool WebM { get; init; }

        [CommandOption("--json")]
        [Description("Write the walk-through as JSON.")]
        public bool Json { get; init; }

        [CommandOption("--height <PIXELS>")]
        [Description("Height of the film, 720 or 1080; else 720.")]
        public string? Height { get; init; }

        [CommandOption("--drawn-captions")]
        [Description("Draw the captions into the pictures of the film too, for players that show no track.")]
        public bool DrawnCaptions { get; init; }

        [CommandOption("--looked-over")]
        [Description("Say that you looked the whole picture over and that no text in it names anybody; asked for where the bench cannot vouch for it.")]
        public bool LookedOver { get; init; }

        [CommandOption("--language <CODE>")]
        [Description("With a file: language of the texts: en, de, es, or one of the folder that the environment variable HOTLIGHT_LANGUAGE_FOLDER names; else en.")]
        public string? Language { get; init; }

        /// <summary>Opens the cases and lessons of a bench.</summary>
        public (IRecordStore Records, ILessonStore Lessons, ClinicWorkflow Clinic, string Folder) OpenCases()
        {
            ClinicWorkflow clinic = Open().Clinic;
            if (Address() is { } address)
            {
                PostgresRecords server = PostgresRecords.OpenAsync(address, TimeProvider.System).GetAwaiter().GetResult();
                return (server.Records, server.Lessons, clinic, Folder);
            }

            string path = Path.Combine(Folder, "records.db");
            return (SqliteRecords.OpenAsync(path, TimeProvider.System).GetAwaiter().GetResult(), SqliteRecords.Lessons(path, TimeProvider.System), clinic, Folder);
        }
    }
}
