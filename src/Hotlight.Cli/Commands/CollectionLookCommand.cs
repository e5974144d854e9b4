using System.ComponentModel;
using System.Globalization;
using System.IO.Compression;
using Hotlight.Cli.Rendering;
using Hotlight.Teaching.Collections;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight collection look FILE.</summary>
internal sealed class CollectionLookCommand : Command<CollectionLookCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        try
        {
            using ZipArchive zip = ZipFile.OpenRead(settings.File);
            SharedCollection collection = CollectionZip.ReadContents(zip);
            Terminal.Output.WriteLine($"{collection.Title} ({collection.Schema}, {collection.MadeBy})");
            if (collection.Words.Length > 0)
            {
                Terminal.Output.WriteLine(collection.Words);
            }

            long bytes = 0;
            foreach (SharedCase each in collection.Cases)
            {
                foreach (SharedFile file in each.Files)
                {
                    cancellationToken.ThrowIfCancellationRequested();
                    bytes += CollectionZip.ReadFile(zip, each, file).LongLength;
                }

                Terminal.Output.WriteLine($"{each.Folder}  {each.Title}{(each.IsInvented ? " (invented)" : string.Empty)}: {each.Projection ?? "no projection"}; {string.Join(", ", each.Files.Select(file => file.Name))}");
            }

            Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{collection.Cases.Count} {(collection.Cases.Count == 1 ? "case" : "cases")}, {bytes / 1e6:0.0} MB, every file as the contents say."));
            Terminal.Output.WriteLine(collection.Caution);
            return HotlightCommandLine.Done;
        }
        catch (UnreadableCollectionException error)
        {
            throw new RefusedException($"'{settings.File}': {char.ToLowerInvariant(error.Message[0])}{error.Message[1..]}");
        }
        catch (InvalidDataException)
        {
            throw new RefusedException($"'{settings.File}' is no zip file, so it is no collection.");
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"'{settings.File}' cannot be read: {Terminal.Reason(error)}.");
        }
    }

    internal sealed class Settings : CommandSettings
    {
        [CommandArgument(0, "<FILE>")]
        [Description("The collection's file (.zip)")]
        public string File { get; init; } = string.Empty;
    }
}
