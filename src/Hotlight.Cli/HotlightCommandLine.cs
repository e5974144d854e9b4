using System.Globalization;
using Hotlight.Cli.Commands;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Spectre.Console;
using Spectre.Console.Cli;

namespace Hotlight.Cli;

/// <summary>The command line: results on standard output, progress and errors on standard error, exit status 0 (done), 2 (something could not be read, written or was asked for wrongly), 130 (stopped by the person) or 1 (Hotlight itself failed).</summary>
public static class HotlightCommandLine
{
    /// <summary>Exit status when all was done.</summary>
    public const int Done = 0;

    /// <summary>Exit status when a file could not be read or the call was wrong.</summary>
    public const int Refused = 2;

    /// <summary>Exit status when the person stopped it: 128 and the number of the interrupt signal, as shells have it.</summary>
    public const int Stopped = 130;

    /// <summary>Runs a call.</summary>
    /// <param name="args">The words after the program's name.</param>
    /// <param name="output">Standard output.</param>
    /// <param name="errors">Standard error.</param>
    /// <param name="cancellation">Stops it before the next file.</param>
    /// <returns>The exit status.</returns>
    public static int Run(IReadOnlyList<string> args, TextWriter output, TextWriter errors, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(args);
        ArgumentNullException.ThrowIfNull(errors);
        if (args.Contains(string.Empty))
        {
            errors.WriteLine("hotlight: an empty word was given where a file's name or a value belongs; check the variable it came from.");
            return Refused;
        }

        Terminal.Bind(output, errors);
        IAnsiConsole console = AnsiConsole.Create(new AnsiConsoleSettings
        {
            Ansi = AnsiSupport.No,
            ColorSystem = ColorSystemSupport.NoColors,
            Interactive = InteractionSupport.No,
            Out = new PlainConsoleOutput(output),
        });
        var application = new CommandApp();
        application.Configure(configuration =>
        {
            configuration.SetApplicationName("hotlight");
            configuration.SetApplicationVersion(typeof(HotlightCommandLine).Assembly.GetName().Version!.ToString(3));
            configuration.ConfigureConsole(console);
            configuration.UseStrictParsing();
            configuration.SetExceptionHandler((error, _) => Explain(error, args, errors));
            configuration.SetInterceptor(new CallCheck());
            configuration.AddCommand<MeasureCommand>("measure")
                .WithDescription("Measure radiographs: field, anatomy, collimation, exposure, mottle, clipping, sharpness, markers, artifacts, display, processing.")
                .WithExample("measure", "wrist.dcm")
                .WithExample("measure", "wrist.dcm", "--json")
                .WithExample("measure", "october/", "--to", "october.jsonl")
                .WithExample("measure", "flat.png", "--spacing", "0.15", "--calibration", "room2.json");
            configuration.AddCommand<CritiqueCommand>("critique")
                .WithDescription("Go down the checklist of a projection: lines, verdict, changes for the next exposure, cost of a repeat.")
                .WithExample("critique", "wrist.dcm", "--projection", "wrist-pa")
                .WithExample("critique", "wrist.dcm", "--projection", "wrist-pa", "--answers", "mine.json", "--json")
                .WithExample("critique", "knee.dcm", "--projection", "knee-lateral", "--answers", "mine.json", "--purpose", "fracture-check", "--landmarks", "marks.json", "--explain");
            configuration.AddCommand<ShowCommand>("show")
                .WithDescription("Draw the radiograph with what was measured on it, and a legend.")
                .WithExample("show", "wrist.dcm", "--out", "wrist.png")
                .WithExample("show", "folder/a.dcm", "folder/b.dcm", "--sheet", "sheet.png");
            configuration.AddCommand<WalkThroughCommand>("walk-through")
                .WithDescription("Tell a critique step by step, to learn from: one HTML file that plays anywhere, or a film with captions; de-identified.")
                .WithExample("walk-through", "wrist.dcm", "--projection", "wrist-pa", "--to", "teaching/")
                .WithExample("walk-through", "wrist.dcm", "--projection", "wrist-pa", "--answers", "mine.json", "--to", "teaching/", "--html", "--mp4", "--language", "de")
                .WithExample("walk-through", "--case", "0199f0c2-8d1e-7cc3-b1a2-3f5e6d7c8b9a", "--data", "var/bench", "--to", "teaching/", "--webm", "--height", "1080");
            configuration.AddCommand<CalibrateCommand>("calibrate")
                .WithDescription("Make a calibration of a receptor from flat exposures of known kerma, for 'hotlight measure --calibration'.")
                .WithExample("calibrate", "flat-1.dcm:1.0", "flat-2.dcm:2.5", "flat-3.dcm:10", "--out", "room-2.json", "--plot", "room-2.png");
            configuration.AddCommand<PositionCommand>("position")
                .WithDescription("Tell by marked landmarks which relations of a projection hold, and by how many degrees the part is off.")
                .WithExample("position", "--projection", "knee-lateral")
                .WithExample("position", "knee.dcm", "--projection", "knee-lateral", "--landmarks", "marks.json", "--snap", "2");
            configuration.AddCommand<LandmarksCommand>("landmarks")
                .WithDescription("Propose where the landmarks of a chest PA, a lateral elbow, an ankle or a knee AP lie; a reader looks at each before it counts.")
                .WithExample("landmarks", "chest.png", "--projection", "chest-pa")
                .WithExample("landmarks", "ankle.dcm", "--projection", "ankle-mortise", "--out", "proposed.json");
            configuration.AddCommand<PoseCommand>("pose")
                .WithDescription("Fit the lab's phantom to marked points: how the part lay, each angle with its uncertainty, and what the view does not determine.")
                .WithExample("pose", "--projection", "knee-lateral")
                .WithExample("pose", "knee.dcm", "--projection", "knee-lateral", "--landmarks", "marks.json", "--side", "R")
                .WithExample("pose", "knee.dcm", "--projection", "knee-lateral", "--landmarks", "marks.json", "--snap", "2", "--json")
                .WithExample("pose", "knee.dcm", "--projection", "knee-lateral", "--landmarks", "marks.json", "--match", "--picture", "repeat.png")
                .WithExample("pose", "knee.dcm", "--projection", "knee-ap", "--propose");
            configuration.AddBranch("catalogue", catalogue =>
            {
                catalogue.SetDescription("The catalogue of projections and a clinic's own entries.");
                catalogue.AddCommand<CatalogueCheckCommand>("check")
                    .WithDescription("Check a catalogue: every fault at once, with file, member and what was expected.")
                    .WithExample("catalogue", "check")
                    .WithExample("catalogue", "check", "our-projections/")
                    .WithExample("catalogue", "check", "--language-folder", "our-languages/");
            });
            configuration.AddCommand<TechniqueCommand>("technique")
                .WithDescription("Work out the next exposure's technique, step by step with the reason of each, and what it costs: deviation index, distance, voltage, grid, thickness, cast, tube angle.")
                .WithExample("technique", "--mas", "5", "--kvp", "60", "--deviation-index", "-2.3")
                .WithExample("technique", "--mas", "10", "--kvp", "70", "--distance", "1000", "--new-distance", "1150", "--grid", "none", "--new-grid", "8:1")
                .WithExample("technique", "--ma", "200", "--time", "0.05", "--kvp", "80", "--new-kvp", "92", "--motion", "chest", "--largest-ma", "500")
                .WithExample("technique", "--mas", "5", "--kvp", "60", "--deviation-index", "-2.3", "--kap", "0.8", "--field", "240x300", "--new-field", "180x240");
            configuration.AddCommand<ProjectionsCommand>("projections")
                .WithDescription("List the projections of the catalogue, or say all of one.")
                .WithExample("projections")
                .WithExample("projections", "wrist-pa")
                .WithExample("projections", "wrist-pa", "--language", "de");
            configuration.AddCommand<ExposeCommand>("expose")
                .WithDescription("Simulate exposures of invented phantoms with known truth: DICOM files for processing and for presentation, and truth.json.")
                .WithExample("expose", "--example", "wrist:pa")
                .WithExample("expose", "scene.json", "--out", "exposure")
                .WithExample("expose", "scene.json", "--series", "20", "--vary", "position,exposure", "--out", "practice");
            configuration.AddCommand<DeidentifyCommand>("deidentify")
                .WithDescription("Take the patient's identity out of files, by the Basic Application Level Confidentiality Profile of DICOM PS3.15; what is measured by stays.")
                .WithExample("deidentify", "wrist.dcm", "wrist-teaching.dcm")
                .WithExample("deidentify", "october/", "teaching-set/", "--key", "our.key")
                .WithExample("deidentify", "october/", "teaching-set/", "--dry-run", "--table")
                .WithExample("deidentify", "october/", "teaching-set/", "--project", "wrist-study", "--pixels", "black-out", "--show", "looked-at/")
                .WithExample("deidentify", "wrist.dcm", "out.dcm", "--keep", "patient", "--json");
            configuration.AddCommand<CheckIdentityCommand>("check-identity")
                .WithDescription("Search files that were cleaned, by Hotlight or by anything else, for every identifying value of the originals: in all encodings, in what is packed inside, in names of files; says where something stands, never what.")
                .WithExample("check-identity", "teaching-set/", "--originals", "october/")
                .WithExample("check-identity", "wrist-clean.dcm", "--originals", "wrist.dcm", "--allow", "dates,device", "--pixels");
            configuration.AddCommand<HandoutCommand>("handout")
                .WithDescription("Make a page to learn from out of a critique: the de-identified image with numbered evidence, verdict, corrections, what is unknown, questions; as HTML and PDF.")
                .WithExample("handout", "wrist.dcm", "--projection", "wrist-pa", "--answers", "mine.json", "--to", "handouts/")
                .WithExample("handout", "--case", "0199f0c2-8d1e-7cc3-b1a2-3f5e6d7c8b9a", "--to", "handouts/", "--language", "de")
                .WithExample("handout", "wrist.png", "--projection", "wrist-pa", "--to", "handouts/", "--pdf", "--cover");
            configuration.AddCommand<ReportCommand>("report")
                .WithDescription("Write the repeat analysis of a month as PDF: rates, reasons, what calls for a look, rooms, exposure index.")
                .WithExample("report", "--month", "2026-10", "--out", "october.pdf")
                .WithExample("report", "--month", "2026-10", "--site", "Saltmarsh Lane (invented)", "--data", "bench-data/", "--out", "october.pdf");
            configuration.AddBranch("records", records =>
            {
                records.SetDescription("The records of a department's exposures, as the bench keeps them.");
                records.AddCommand<RecordsBringInCommand>("bring-in")
                    .WithDescription("Bring exposures in: a folder of DICOM files (headers, dose reports, key object selections), or a table by a mapping; kept whole or not at all.")
                    .WithExample("records", "bring-in", "archive/2026-10/", "--data", "var/bench")
                    .WithExample("records", "bring-in", "rejects.csv", "--mapping", "reject-list.json", "--data", "var/bench")
                    .WithExample("records", "bring-in", "rejects.csv", "--mapping", "reject-list.json", "--check");
                records.AddCommand<RecordsLookCommand>("look")
                    .WithDescription("Look at a table and write the mapping that is proposed for it, to be corrected and used by 'records bring-in'.")
                    .WithExample("records", "look", "rejects.csv");
                records.AddCommand<RecordsListCommand>("list")
                    .WithDescription("List what was brought in, the newest first.")
                    .WithExample("records", "list", "--data", "var/bench");
                records.AddCommand<RecordsTakeBackCommand>("take-back")
                    .WithDescription("Take the exposures of one bringing-in back out.")
                    .WithExample("records", "take-back", "0199f0c2-8d1e-7cc3-b1a2-3f5e6d7c8b9a", "--data", "var/bench");
            });
            configuration.AddCommand<QueueCommand>("queue")
                .WithDescription("List the cases that are still to be measured, those a bench is on, and those that could not be measured, with the reason.")
                .WithExample("queue", "--data", "var/bench")
                .WithExample("queue", "--again", "--data", "var/bench")
                .WithExample("queue", "--json", "--store", "postgres://hotlight@db.example/hotlight");
            configuration.AddBranch("people", people =>
            {
                people.SetDescription("Accounts of a department's bench, for whoever has the machine.");
                people.AddCommand<PeopleAddAdministratorCommand>("add-administrator")
                    .WithDescription("Make an administrator's account and write the link that sets it up, once.")
                    .WithExample("people", "add-administrator", "--name", "rowan", "--pseudonym", "Rowan", "--data", "var/bench")
                    .WithExample("people", "add-administrator", "--name", "rowan", "--store", "postgres://hotlight@db.example/hotlight", "--address", "https://hotlight.example.org");
                people.AddCommand<PeopleNewLinkCommand>("new-link")
                    .WithDescription("Write a new link for somebody who lost phone or password; used, it sets the account up anew.")
                    .WithExample("people", "new-link", "--name", "rowan", "--data", "var/bench");
            });
            configuration.AddBranch("collection", collection =>
            {
                collection.SetDescription("Collections: cases in an order, shared as one file.");
                collection.AddCommand<CollectionLookCommand>("look")
                    .WithDescription("Say what a collection's file holds, and check every file in it.")
                    .WithExample("collection", "look", "wrists.zip");
            });
            configuration.AddBranch("audit", audit =>
            {
                audit.SetDescription("The audit trail: who saw, changed, exported or deleted what.");
                audit.AddCommand<AuditCheckCommand>("check")
                    .WithDescription("Check the chain of seals: that no entry was changed, removed or put in between.")
                    .WithExample("audit", "check", "--data", "var/bench");
                audit.AddCommand<AuditListCommand>("list")
                    .WithDescription("List the newest entries.")
                    .WithExample("audit", "list", "--last", "20", "--data", "var/bench")
                    .WithExample("audit", "list", "--case", "6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11", "--json");
                audit.AddCommand<AuditExportCommand>("export")
                    .WithDescription("Write all entries as audit messages of the DICOM standard (PS3.15 A.5), one in a line.")
                    .WithExample("audit", "export", "trail.xml", "--data", "var/bench");
                audit.AddCommand<AuditRemoveCommand>("remove")
                    .WithDescription("Remove what is older than the clinic's policy keeps; the trail says that it was done.")
                    .WithExample("audit", "remove", "--older-than", "3650", "--data", "var/bench");
            });
            configuration.AddBranch("store", store =>
            {
                store.SetDescription("Upkeep of the bench's records: backup, restore, check, export, import.");
                store.AddCommand<StoreBackupCommand>("backup")
                    .WithDescription("Copy the records into one file, while the bench may run; the copy is looked over before it gets its name.")
                    .WithExample("store", "backup", "records-october.db", "--data", "var/bench")
                    .WithExample("store", "backup", "records-october.dump", "--store", "postgres://hotlight@db.example/hotlight");
                store.AddCommand<StoreRestoreCommand>("restore")
                    .WithDescription("Put a backup in place of the records; those that are there are kept beside, and a bench must not run.")
                    .WithExample("store", "restore", "records-october.db", "--data", "var/bench", "--replace");
                store.AddCommand<StoreCheckCommand>("check")
                    .WithDescription("Look the records over: the file, references, and whether every sum is what the exposures give.")
                    .WithExample("store", "check", "--data", "var/bench");
                store.AddCommand<StoreExportCommand>("export")
                    .WithDescription("Write everything of the records into a new folder as CSV, JSON lines or Parquet.")
                    .WithExample("store", "export", "everything", "--format", "parquet", "--data", "var/bench");
                store.AddCommand<StoreImportCommand>("import")
                    .WithDescription("Take an export into a new store, without loss.")
                    .WithExample("store", "import", "everything", "--data", "var/new-bench");
            });
            configuration.AddCommand<DoctorCommand>("doctor")
                .WithDescription("Say what is missing or wrong on this machine, and what to do about it; nothing is changed.")
                .WithExample("doctor")
                .WithExample("doctor", "--data", "var/bench", "--json");
            configuration.AddCommand<DemoCommand>("demo")
                .WithDescription("List the invented demo cases, or write them as DICOM files.")
                .WithExample("demo")
                .WithExample("demo", "--out", "demo-cases");
        });
        CultureInfo before = CultureInfo.CurrentUICulture;
        try
        {
            // English whatever the machine's language: a call says what it wants by --language.
            CultureInfo.CurrentUICulture = CultureInfo.GetCultureInfo(Texts.Fallback);
            return application.Run(NamesAfterDashes(NegativeNumbers(args)), cancellation);
        }
        finally
        {
            CultureInfo.CurrentUICulture = before;
        }
    }

    // The parser takes -2.3 for an option of that name; joined to the option before it, it is a value.
    private static IEnumerable<string> NegativeNumbers(IReadOnlyList<string> args)
    {
        for (int index = 0; index < args.Count; index++)
        {
            string word = args[index];
            if (word == "--")
            {
                foreach (string rest in args.Skip(index))
                {
                    yield return rest;
                }

                yield break;
            }

            bool joins = word.StartsWith("--", StringComparison.Ordinal) && !word.Contains('=', StringComparison.Ordinal)
                && index + 1 < args.Count && args[index + 1].StartsWith('-')
                && double.TryParse(args[index + 1], NumberStyles.Float, CultureInfo.InvariantCulture, out _);
            yield return joins ? $"{word}={args[++index]}" : word;
        }
    }

    // What follows a lone -- are names, also those that begin with a dash (POSIX utility conventions, guideline 10).
    private static IEnumerable<string> NamesAfterDashes(IEnumerable<string> args)
    {
        bool names = false;
        foreach (string word in args)
        {
            if (!names && word == "--")
            {
                names = true;
                continue;
            }

            yield return names && word.StartsWith('-') ? $"./{word}" : word;
        }
    }

    private static int Explain(Exception error, IReadOnlyList<string> args, TextWriter errors)
    {
        if (error is CommandAppException)
        {
            if (args.FirstOrDefault(word => word.StartsWith('-') && File.Exists(word)) is { } dashed)
            {
                errors.WriteLine($"hotlight: to name a file that begins with a dash, put -- before it: -- {dashed}.");
                return Refused;
            }

            // The parser's message is the sentence; its drawing of the call is left out.
            errors.WriteLine($"hotlight: {error.Message.TrimEnd('.')}. Try 'hotlight --help'.");
            return Refused;
        }

        if (error is RefusedException)
        {
            errors.WriteLine($"hotlight: {error.Message}");
            return Refused;
        }

        if (error is OperationCanceledException)
        {
            errors.WriteLine("hotlight: stopped; what was not finished is not written.");
            return Stopped;
        }

        if (error is IOException)
        {
            // Every file read or written has its own sentence by now: what is left is standard output.
            errors.WriteLine($"hotlight: the output cannot be written: {Terminal.Reason(error)}.");
            return Refused;
        }

        errors.WriteLine($"hotlight: an error of Hotlight itself: {error.Message} ({error.GetType().Name}). Nothing was changed.");
        return 1;
    }
}
