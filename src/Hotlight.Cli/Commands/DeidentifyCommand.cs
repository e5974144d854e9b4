using System.ComponentModel;
using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Privacy;
using Hotlight.Workflows.Measuring;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight deidentify IN OUT [--keep PARTS] [--key FILE] [--json] [--force].</summary>
internal sealed class DeidentifyCommand : Command<DeidentifyCommand.Settings>
{
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
    };

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        var deidentifier = new Deidentifier(KeyOf(settings.Key), RetainedOf(settings.Keep));
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
        int written = 0;
        int otherKind = 0;
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
                DeidentifiedFile cleaned = deidentifier.Clean(content, name, cancellationToken);
                string target = intoFolder
                    ? Path.Combine(settings.Out, isFolder ? FolderOf(settings.In, one.Path) : string.Empty, deidentifier.NameFor(content, name, cleaned.Identity))
                    : settings.Out;
                Write(target, one.Path, cleaned.Content, settings.Force);
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
            Terminal.Errors.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{written} written{(otherKind > 0 ? $", {otherKind} of another kind left out" : string.Empty)}. Text drawn into the pixels is not looked for: look at each picture before you pass it on."));
        }

        return refused ? HotlightCommandLine.Refused : HotlightCommandLine.Done;
    }

    private static void Say(Settings settings, string target, PrivacyReport report)
    {
        if (settings.Json)
        {
            Terminal.Output.WriteLine(JsonSerializer.Serialize(new { file = target, report.Changes, report.Warnings }, Json));
            return;
        }

        int Sum(params PrivacyAction[] actions) => report.Changes.Where(change => actions.Contains(change.Action)).Sum(change => change.Count);
        Terminal.Errors.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{Path.GetFileName(target)}: {Sum(PrivacyAction.Remove)} removed, {Sum(PrivacyAction.Empty)} emptied, {Sum(PrivacyAction.Replace, PrivacyAction.ReplaceUid)} replaced, {Sum(PrivacyAction.ShiftDate)} dates moved, {Sum(PrivacyAction.CleanWords)} cleaned."));
        foreach (string warning in report.Warnings)
        {
            Terminal.Errors.WriteLine($"  {warning}");
        }
    }

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

    private static string FolderOf(string root, string path) => Path.GetDirectoryName(Path.GetRelativePath(root, path)) ?? string.Empty;

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

    private static PrivacyKey KeyOf(string? path)
    {
        try
        {
            return path is null ? PrivacyKey.Fresh() : PrivacyKey.Open(path);
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
        [Description("What stays beside the basic profile, by commas: nothing, dates (moved by a number of days), full-dates, patient (age, sex, size), words (technical terms), device, institution, uids (default dates,patient,words)")]
        public string? Keep { get; init; }

        [CommandOption("--key <FILE>")]
        [Description("Key for pseudonyms and replaced UIDs, made when missing; keep it to yourself (default: a fresh one for each call)")]
        public string? Key { get; init; }

        [CommandOption("--json")]
        [Description("What was changed, a JSON line a file on standard output: tags, actions, counts, never a value")]
        public bool Json { get; init; }

        [CommandOption("--force")]
        [Description("Write over files that are there")]
        public bool Force { get; init; }
    }
}
