using System.ComponentModel;
using System.Globalization;
using Hotlight.Cli.Rendering;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight records take-back ID [--data DIR].</summary>
internal sealed class RecordsTakeBackCommand : Command<RecordsTakeBackCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (!Guid.TryParse(settings.Id, out Guid id))
        {
            throw new RefusedException($"'{settings.Id}' is no identifier of a bringing-in; 'hotlight records list' shows them.");
        }

        long taken = settings.Open().Log.TakeBackAsync(id, cancellationToken).GetAwaiter().GetResult();
        Terminal.Output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{taken} exposures were taken out of the records."));
        return HotlightCommandLine.Done;
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandArgument(0, "<ID>")]
        [Description("Identifier of the bringing-in, as 'hotlight records list' shows it")]
        public string Id { get; init; } = string.Empty;
    }
}
