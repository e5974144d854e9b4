using System.ComponentModel;
using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy;
using Hotlight.Privacy.Publishing;
using Hotlight.Workflows.Measuring;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight check-identity CLEANED --originals ORIGINALS [--allow KINDS] [--pixels] [--json].</summary>
internal sealed class CheckIdentityCommand : Command<CheckIdentityCommand.Settings>
{
    private static readonly JsonSerializerOptions Json = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
    };

    private static readonly Dictionary<string, IdentityKind> Kinds = new(StringComparer.Ordinal)
    {
        ["dates"] = IdentityKind.ExaminationDate,
        ["uids"] = IdentityKind.Uid,
        ["device"] = IdentityKind.Device,
        ["institution"] = IdentityKind.Institution,
        ["staff"] = IdentityKind.Staff,
    };

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.Originals is null)
        {
            throw new RefusedException("check-identity needs --originals FILE or FOLDER: what is searched for stands there.");
        }

        HashSet<IdentityKind> allowed = AllowedOf(settings.Allow);
        KnownIdentity known = KnownOf(settings.Originals, allowed, cancellationToken);
        if (known.Count == 0)
        {
            throw new RefusedException("the originals hold no identifying value that could be searched for; are they the originals?");
        }

        IdentitySearch search = new(known);
        IReadOnlyList<RadiographPath> paths = PathsOf(settings.Cleaned);
        bool isFolder = Directory.Exists(settings.Cleaned);
        int clean = 0, found = 0;
        bool refused = false;
        using ProgressLine progress = ProgressLine.For(Terminal.Errors, paths.Count);
        for (int index = 0; index < paths.Count; index++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            string path = paths[index].Path;
            string shown = isFolder ? Path.GetRelativePath(settings.Cleaned, path) : Path.GetFileName(path);
            progress.Report(index, shown);
            byte[] content;
            try
            {
                content = File.ReadAllBytes(path);
            }
            catch (Exception error) when (error is IOException or UnauthorizedAccessException)
            {
                progress.Dispose();
                Terminal.Errors.WriteLine($"hotlight: {shown}: it cannot be read: {Terminal.Reason(error)}.");
                refused = true;
                continue;
            }

            List<PublicationFinding> findings = [.. search.Names(shown, "its name or a folder it lies in"), .. search.Search(content, "it")];
            if (settings.Pixels)
            {
                findings.AddRange(Pixels(content, shown, known, cancellationToken));
            }

            IReadOnlyList<string> notes = Notes(content);
            clean += findings.Count == 0 ? 1 : 0;
            found += findings.Count == 0 ? 0 : 1;
            progress.Dispose();
            if (settings.Json)
            {
                Terminal.Output.WriteLine(JsonSerializer.Serialize(new { file = shown, isClean = findings.Count == 0, findings = findings.Select(finding => new { finding.Kind, finding.Sentence }), notes }, Json));
            }
            else
            {
                foreach (string sentence in findings.Select(finding => finding.Sentence).Concat(notes))
                {
                    Terminal.Output.WriteLine($"{shown}: {sentence}");
                }
            }
        }

        progress.Dispose();
        Terminal.Errors.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{search.Values} values of the originals searched for: {clean} {(clean == 1 ? "file holds" : "files hold")} none of them, {found} {(found == 1 ? "holds" : "hold")} some.{(settings.Pixels ? string.Empty : " The pixels were not read; --pixels reads them.")}"));
        return refused || found > 0 ? HotlightCommandLine.Refused : HotlightCommandLine.Done;
    }

    private static IEnumerable<PublicationFinding> Pixels(byte[] content, string name, KnownIdentity known, CancellationToken cancellation)
    {
        Radiograph radiograph;
        try
        {
            radiograph = RadiographReader.Read(content, name, cancellation);
        }
        catch (UnreadableImageException)
        {
            // No picture, no pixels.
            return [];
        }

        DrawnText drawn = DrawnTextFinder.FindAsync(radiograph, known, new DrawnTextHints(false, []), cancellation: cancellation).GetAwaiter().GetResult();
        return PublicationGate.Check(known, [new PublishedPicture("its pixels", drawn with { Places = [.. drawn.Places.Where(place => place.Kind != IdentityKind.DrawnText)], Unplaced = null }, [], [], LookedOver: true)]).Findings;
    }

    // Not found by a value, but worth a look.
    private static List<string> Notes(byte[] content)
    {
        List<string> notes = [];
        if (!DicomContent.LooksLikeDicom(content))
        {
            return notes;
        }

        try
        {
            DicomDataset dataset = DicomContent.Read(content, "it").Dataset;
            if (dataset.Text(0x00120062) != "YES")
            {
                notes.Add("It does not say that its patient's identity was removed (0012,0062).");
            }

            int isPrivate = dataset.Elements.Count(element => (element.Tag.Group & 1) == 1);
            if (isPrivate > 0)
            {
                notes.Add(string.Create(CultureInfo.InvariantCulture, $"{isPrivate} private {(isPrivate == 1 ? "attribute stands" : "attributes stand")} in it."));
            }

            if (dataset.Elements.Any(element => element.Tag.Group is (>= 0x5000 and <= 0x50FF) or (>= 0x6000 and <= 0x60FF)))
            {
                notes.Add("An overlay or a curve stands in it, which can hold written text: look at it.");
            }
        }
        catch (UnreadableImageException)
        {
            notes.Add("Its attributes cannot be read; its bytes were searched as they are.");
        }

        return notes;
    }

    private static KnownIdentity KnownOf(string originals, HashSet<IdentityKind> allowed, CancellationToken cancellation)
    {
        KnownIdentityBuilder known = new();
        foreach (RadiographPath one in PathsOf(originals))
        {
            cancellation.ThrowIfCancellationRequested();
            try
            {
                known.Add(KnownIdentity.OfFile(File.ReadAllBytes(one.Path)));
            }
            catch (UnreadableImageException) when (one.IsFound)
            {
                Terminal.Errors.WriteLine($"{Path.GetFileName(one.Path)}: its attributes cannot be read, so its values are not searched for.");
            }
            catch (Exception error) when (error is IOException or UnauthorizedAccessException)
            {
                throw new RefusedException($"{Path.GetFileName(one.Path)}: it cannot be read: {Terminal.Reason(error)}.");
            }
            catch (UnreadableImageException error)
            {
                throw new RefusedException(error.Message);
            }
        }

        return known.Without(allowed);
    }

    private static IReadOnlyList<RadiographPath> PathsOf(string name)
    {
        try
        {
            return RadiographPaths.Of([name]);
        }
        catch (FolderException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static HashSet<IdentityKind> AllowedOf(string? allow)
    {
        HashSet<IdentityKind> allowed = [];
        foreach (string part in (allow ?? string.Empty).Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries))
        {
            allowed.Add(Kinds.TryGetValue(part, out IdentityKind kind) ? kind : throw new RefusedException($"--allow does not know '{part}'; it takes {string.Join(", ", Kinds.Keys)}."));
        }

        return allowed;
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "<CLEANED>")]
        [Description("A file or a folder that somebody cleaned, with Hotlight or otherwise")]
        public string Cleaned { get; init; } = string.Empty;

        [CommandOption("--originals <PATH>")]
        [Description("The originals, a file or a folder; every name, number, date, address, institution, device and UID of their headers is searched for in every file")]
        public string? Originals { get; init; }

        [CommandOption("--allow <KINDS>")]
        [Description("What may stay, by commas: dates (of examinations), uids, device, institution, staff")]
        public string? Allow { get; init; }

        [CommandOption("--pixels")]
        [Description("Read the pixels too, where a program that reads text is installed")]
        public bool Pixels { get; init; }

        [CommandOption("--json")]
        [Description("A JSON line a file: kinds and places, never a value")]
        public bool Json { get; init; }
    }
}
