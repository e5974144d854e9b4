using System.ComponentModel;
using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure;
using Hotlight.Privacy;
using Hotlight.Privacy.Publishing;
using Hotlight.Workflows.Measuring;
using Hotlight.Workflows.Teaching;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight deidentify IN OUT [--keep PARTS] [--pixels look|black-out|leave] [--show FOLDER] [--project NAME] [--key FILE] [--dry-run] [--table] [--json] [--force].</summary>
internal sealed class DeidentifyCommand : Command<DeidentifyCommand.Settings>
{
    private const string Look = "look";
    private const string BlackOut = "black-out";
    private const string Leave = "leave";

    private static readonly JsonSerializerOptions Json = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
    };

    private static readonly Dictionary<string, Retained> Parts = new(StringComparer.Ordinal)
    {
        ["nothing"] = Retained.Nothing,
        ["dates"] = Retained.ModifiedDates,
        ["full-dates"] = Retained.FullDates,
        ["patient"] = Retained.PatientCharacteristics,
        ["words"] = Retained.CleanedDescriptors,
        ["device"] = Retained.DeviceIdentity,
        ["institution"] = Retained.InstitutionIdentity,
        ["uids"] = Retained.Uids,
        ["safe-private"] = Retained.SafePrivate,
        ["content"] = Retained.CleanedContent,
        ["graphics"] = Retained.CleanedGraphics,
    };

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.Pixels is not (Look or BlackOut or Leave))
        {
            throw new RefusedException($"--pixels does not know '{settings.Pixels}'; it takes {Look}, {BlackOut} or {Leave}.");
        }

        if (settings is { Pixels: Leave, Show: not null })
        {
            throw new RefusedException($"--show frames what is found in the pixels, and --pixels {Leave} does not look for it; leave one of them out.");
        }

        // What joins files to patients, and what shows the originals, must not be passed on with them.
        if (LiesIn(settings.Key, settings.Out))
        {
            throw new RefusedException("the key would lie among the files that you pass on, and whoever has both could join them to your patients; put it elsewhere.");
        }

        if (LiesIn(settings.Show, settings.Out))
        {
            throw new RefusedException("the pictures of --show hold what the originals show, and would lie among the files that you pass on; put them elsewhere.");
        }

        var deidentifier = new Deidentifier(KeyOf(settings), RetainedOf(settings.Keep));
        bool isFolder = Directory.Exists(settings.In);
        IReadOnlyList<RadiographPath> paths;
        try
        {
            paths = RadiographPaths.Of([settings.In]);
        }
        catch (FolderException error)
        {
            throw new RefusedException(error.Message);
        }

        if (isFolder && File.Exists(settings.Out))
        {
            throw new RefusedException($"'{settings.Out}' is a file; give a folder for the files of a folder.");
        }

        bool intoFolder = isFolder || Directory.Exists(settings.Out);
        bool refused = false;
        int written = 0, otherKind = 0, withText = 0;
        using ProgressLine progress = ProgressLine.For(Terminal.Errors, paths.Count);
        for (int index = 0; index < paths.Count; index++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            RadiographPath one = paths[index];
            progress.Report(index, Path.GetFileName(one.Path));
            try
            {
                byte[] content = ReadFile(one.Path);
                string name = Path.GetFileName(one.Path);
                DeidentifiedFile? cleanedObject = deidentifier.CleanObject(content, name, cancellationToken);
                DeidentifiedFile cleaned = cleanedObject ?? deidentifier.Clean(content, name, cancellationToken);
                bool isPng = false;
                if (cleanedObject is null && settings.Pixels != Leave)
                {
                    (cleaned, isPng) = LookOver(content, cleaned, name, settings, cancellationToken);
                }

                string target = TargetOf(settings, one.Path, intoFolder, isFolder, deidentifier, content, cleaned.Identity, isPng);
                if (cleaned.Report.Pixels is { Places.Count: > 0 } pixels)
                {
                    withText++;
                    if (settings.Show is { } shown && !settings.DryRun)
                    {
                        string picture = Path.ChangeExtension(Path.Combine(shown, isFolder ? Path.GetRelativePath(settings.In, one.Path) : name), ".png");
                        Write(picture, one.Path, PixelText.Framed(content, name, pixels.Places, cancellationToken), settings.Force);
                    }

                    if (!pixels.IsBlackedOut && pixels.Places.Any(place => place.NamesThePatient))
                    {
                        throw new RefusedException($"{name}: what identifies the patient is drawn into its pixels, so it was not written; --pixels {BlackOut} takes it out.");
                    }
                }

                if (!settings.DryRun)
                {
                    Write(target, one.Path, cleaned.Content, settings.Force);
                }

                written++;
                progress.Dispose();
                Say(settings, target, cleaned.Report);
            }
            catch (UnreadableImageException error) when (one.IsFound && error.IsOtherKind)
            {
                otherKind++;
            }
            catch (Exception error) when (error is UnreadableImageException or RefusedException)
            {
                progress.Dispose();
                Terminal.Errors.WriteLine($"hotlight: {error.Message}");
                refused = true;
            }
        }

        progress.Dispose();
        if (isFolder)
        {
            Terminal.Errors.WriteLine(Sum(settings, written, otherKind, withText));
        }

        return refused ? HotlightCommandLine.Refused : HotlightCommandLine.Done;
    }

    private static bool LiesIn(string? path, string folder)
        => path is not null && (Path.GetFullPath(path) + Path.DirectorySeparatorChar).StartsWith(Path.TrimEndingDirectorySeparator(Path.GetFullPath(folder)) + Path.DirectorySeparatorChar, StringComparison.Ordinal);

    private static string Sum(Settings settings, int written, int otherKind, int withText)
    {
        string left = otherKind > 0 ? string.Create(CultureInfo.InvariantCulture, $", {otherKind} of another kind left out") : string.Empty;
        string check = written == 0 ? string.Empty
            : settings.DryRun ? " Nothing was written: this was a dry run." : " No value that was taken out stands in what was written.";
        string pixels = settings.Pixels == Leave ? " Text drawn into the pixels was not looked for: look at each picture before you pass it on."
            : withText == 0 ? " No text was found in the pixels."
            : settings.Pixels == BlackOut ? string.Create(CultureInfo.InvariantCulture, $" Text in the pixels of {withText} was blacked out.")
            : string.Create(CultureInfo.InvariantCulture, $" Text was found in the pixels of {withText} and still stands there: look, or black it out with --pixels {BlackOut}.");
        return string.Create(CultureInfo.InvariantCulture, $"{written} {(settings.DryRun ? "would be written" : "written")}{left}.{check}{pixels}");
    }

    // Side markers are looked for only where text was found at all.
    private static (DeidentifiedFile File, bool IsPng) LookOver(byte[] content, DeidentifiedFile cleaned, string name, Settings settings, CancellationToken cancellation)
    {
        Radiograph radiograph = RadiographReader.Read(cleaned.Content, name, cancellation);
        var hints = new DrawnTextHints(radiograph.Exposure.BurnedInAnnotation == "YES", []);
        (DeidentifiedFile File, bool IsPng) looked = PixelText.LookAsync(content, cleaned, name, blackOut: false, hints, cancellation: cancellation).GetAwaiter().GetResult();
        bool found = looked.File.Report.Pixels!.Places.Count > 0;
        if (found)
        {
            hints = CasePublisher.Hints(radiograph.Exposure, RadiographMeasure.Measure(radiograph));
        }

        return found || settings.Pixels == BlackOut
            ? PixelText.LookAsync(content, cleaned, name, settings.Pixels == BlackOut, hints, cancellation: cancellation).GetAwaiter().GetResult()
            : looked;
    }

    private static string TargetOf(Settings settings, string path, bool intoFolder, bool isFolder, Deidentifier deidentifier, byte[] content, CaseIdentity identity, bool isPng)
    {
        string target = settings.Out;
        if (intoFolder)
        {
            // A folder can be called by a patient too.
            string[] folders = isFolder ? (Path.GetDirectoryName(Path.GetRelativePath(settings.In, path)) ?? string.Empty).Split(Path.DirectorySeparatorChar, StringSplitOptions.RemoveEmptyEntries) : [];
            target = Path.Combine([settings.Out, .. folders.Select(folder => deidentifier.FolderNameFor(content, folder, identity)), deidentifier.NameFor(content, Path.GetFileName(path), identity)]);
        }

        return isPng ? Path.ChangeExtension(target, ".png") : target;
    }

    private static void Say(Settings settings, string target, PrivacyReport report)
    {
        if (settings.Json)
        {
            Terminal.Output.WriteLine(JsonSerializer.Serialize(
                new { file = target, isDryRun = settings.DryRun ? true : (bool?)null, report.Edition, report.Options, report.Changes, report.Warnings, report.Pixels, report.Check }, Json));
            return;
        }

        int Sum(params PrivacyAction[] actions) => report.Changes.Where(change => actions.Contains(change.Action)).Sum(change => change.Count);
        string check = report.Check is { Values: > 0 } searched ? string.Create(CultureInfo.InvariantCulture, $" {searched.Values} values of the original searched for, none found.") : string.Empty;
        int blackened = Sum(PrivacyAction.BlackOut);
        string pixels = blackened > 0 ? string.Create(CultureInfo.InvariantCulture, $" {blackened} {(blackened == 1 ? "place" : "places")} blacked out in the pixels.") : string.Empty;
        Terminal.Errors.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{Path.GetFileName(target)}: {Sum(PrivacyAction.Remove)} removed, {Sum(PrivacyAction.Empty)} emptied, {Sum(PrivacyAction.Replace, PrivacyAction.ReplaceUid)} replaced, {Sum(PrivacyAction.ShiftDate)} dates moved, {Sum(PrivacyAction.CleanWords)} cleaned.{pixels}{check}"));
        foreach (string warning in report.Warnings)
        {
            Terminal.Errors.WriteLine($"  {warning}");
        }

        if (settings.Table)
        {
            Terminal.Output.WriteLine(target);
            foreach (PrivacyChange change in report.Changes)
            {
                Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {change.Tag,-12} {Done(change.Action),-12} {change.Count,5}  {change.Keyword ?? "private or unknown"}"));
            }

            foreach (PixelTextPlace place in report.Pixels?.Places ?? [])
            {
                Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  text in the pixels: column {place.Left}, row {place.Top}, {place.Width} × {place.Height} pixels{(place.NamesThePatient ? ", names the patient" : string.Empty)}"));
            }
        }
    }

    private static string Done(PrivacyAction action) => action switch
    {
        PrivacyAction.Remove => "removed",
        PrivacyAction.Empty => "emptied",
        PrivacyAction.ReplaceUid => "new UID",
        PrivacyAction.ShiftDate => "date moved",
        PrivacyAction.CleanWords or PrivacyAction.CleanContent => "cleaned",
        PrivacyAction.Replace => "replaced",
        PrivacyAction.BlackOut => "blacked out",
        _ => "kept",
    };

    private static byte[] ReadFile(string path)
    {
        try
        {
            return File.ReadAllBytes(path);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"{Path.GetFileName(path)}: it cannot be read: {Terminal.Reason(error)}.");
        }
    }

    private static void Write(string target, string source, byte[] content, bool force)
    {
        if (string.Equals(Path.GetFullPath(target), Path.GetFullPath(source), StringComparison.Ordinal))
        {
            throw new RefusedException($"{Path.GetFileName(source)}: the original is never written over; give another place.");
        }

        if (File.Exists(target) && !force)
        {
            throw new RefusedException($"{Path.GetFileName(target)}: there is a file of that name already; --force writes over it.");
        }

        try
        {
            if (Path.GetDirectoryName(Path.GetFullPath(target)) is { } folder)
            {
                Directory.CreateDirectory(folder);
            }

            WholeFile.Write(target, content);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"{Path.GetFileName(target)}: it cannot be written: {Terminal.Reason(error)}.");
        }
    }

    private static PrivacyKey KeyOf(Settings settings)
    {
        if (settings.Project is { } project && string.IsNullOrWhiteSpace(project))
        {
            throw new RefusedException("--project needs a name, such as --project \"wrist study\".");
        }

        string? path = settings.Key ?? (settings.Project is null ? null
            : Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData, Environment.SpecialFolderOption.DoNotVerify), "hotlight", "privacy.key"));
        try
        {
            if (path is null || (settings.DryRun && !File.Exists(path)))
            {
                return PrivacyKey.Fresh();
            }

            if (!File.Exists(path) && settings.Key is null)
            {
                Directory.CreateDirectory(Path.GetDirectoryName(path)!);
                Terminal.Errors.WriteLine($"A key for your projects was made: {path}. Keep a copy where the originals are, and give it to nobody: who has it and the originals can join them to what you pass on.");
            }

            var key = PrivacyKey.Open(path);
            return settings.Project is null ? key : key.ForProject(settings.Project);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the key '{path}' cannot be used: {Terminal.Reason(error)}.");
        }
    }

    private static Retained RetainedOf(string? keep)
    {
        if (keep is null)
        {
            return Retained.ForTeaching;
        }

        Retained retained = Retained.Nothing;
        foreach (string part in keep.Split(',', StringSplitOptions.TrimEntries))
        {
            retained |= Parts.TryGetValue(part, out Retained known) ? known : throw new RefusedException($"--keep does not know '{part}'; it takes {string.Join(", ", Parts.Keys)}.");
        }

        return retained;
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "<IN>")]
        [Description("A file, or a folder with all files below it")]
        public string In { get; init; } = string.Empty;

        [CommandArgument(1, "<OUT>")]
        [Description("A file, or a folder (made when missing); the original is never changed")]
        public string Out { get; init; } = string.Empty;

        [CommandOption("--keep <PARTS>")]
        [Description("Which options of the profile are chosen, by commas: nothing, dates (moved by a number of days), full-dates, patient (age, sex, size), words (technical terms of descriptions), device, institution, uids, safe-private (private attributes that the standard calls safe), content (of reports, item by item), graphics (drawn annotations) (default dates,patient,words)")]
        public string? Keep { get; init; }

        [CommandOption("--pixels <HOW>")]
        [Description("Text drawn into the pixels: look (found and told; a file whose pixels name the patient is not written), black-out (replaced for good), leave (not looked for)")]
        [DefaultValue(Look)]
        public string Pixels { get; init; } = Look;

        [CommandOption("--show <FOLDER>")]
        [Description("Write a picture of each original in whose pixels text was found, with the places framed; it shows what the original shows, so keep it where that is")]
        public string? Show { get; init; }

        [CommandOption("--project <NAME>")]
        [Description("Pseudonyms, UIDs and moved dates of one project: the same in every call, and not to be joined with another project's")]
        public string? Project { get; init; }

        [CommandOption("--key <FILE>")]
        [Description("Key that pseudonyms, UIDs and moved dates are made with, made when missing; keep it to yourself (default: with --project one in your own folder, else a fresh one for each call)")]
        public string? Key { get; init; }

        [CommandOption("--dry-run")]
        [Description("Say what would be changed; write nothing")]
        public bool DryRun { get; init; }

        [CommandOption("--table")]
        [Description("What was changed, attribute by attribute, on standard output: tag, what was done, how often, never a value")]
        public bool Table { get; init; }

        [CommandOption("--json")]
        [Description("The same as a JSON line a file, with the options, the places in the pixels and the outcome of the search for the original's values")]
        public bool Json { get; init; }

        [CommandOption("--force")]
        [Description("Write over files that are there")]
        public bool Force { get; init; }
    }
}
