using System.ComponentModel;
using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Cli.Rendering;
using Hotlight.Workflows.Measuring;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight queue [--again] [--most N] [--json] [--data DIR].</summary>
internal sealed class QueueCommand : Command<QueueCommand.Settings>
{
    private static readonly JsonSerializerOptions Json = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        IMeasuringQueue queue = settings.Open().Queue;
        if (settings.Again)
        {
            int again = queue.AskAgainAsync(cancellationToken).GetAwaiter().GetResult();
            Terminal.Errors.WriteLine($"hotlight: {(again == 0 ? "no case was given up" : again == 1 ? "1 case is asked for again" : $"{again} cases are asked for again")}.");
        }

        MeasuringProgress progress = queue.ProgressAsync(cancellationToken).GetAwaiter().GetResult();
        foreach (QueuedCase each in queue.ListAsync(settings.Most, cancellationToken).GetAwaiter().GetResult())
        {
            Terminal.Output.WriteLine(settings.IsJson ? JsonSerializer.Serialize(each, Json) : Line(each));
        }

        Terminal.Errors.WriteLine(progress.Left + progress.GivenUp == 0
            ? "hotlight: every case is measured."
            : string.Create(CultureInfo.InvariantCulture, $"hotlight: of {progress.Cases:N0} cases {progress.Waiting:N0} wait, {progress.Running:N0} are being measured, {progress.GivenUp:N0} were given up."));
        return HotlightCommandLine.Done;
    }

    private static string Line(QueuedCase each)
    {
        string what = each.State switch
        {
            QueuedState.Running => $"running   {each.Title}: attempt {each.Attempts}, {each.Worker}",
            QueuedState.GivenUp => $"given up  {each.Title}: {each.Reason}",
            _ when each.Reason is not null => string.Create(CultureInfo.InvariantCulture, $"waiting   {each.Title}: attempt {each.Attempts + 1} of {MeasuringJob.MostAttempts} not before {each.Due.ToLocalTime():yyyy-MM-dd HH:mm:ss}; {each.Reason}"),
            _ => string.Create(CultureInfo.InvariantCulture, $"waiting   {each.Title}: since {each.Asked.ToLocalTime():yyyy-MM-dd HH:mm:ss}"),
        };
        return $"{each.CaseId}  {what}";
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandOption("--again")]
        [Description("Ask again for the cases that were given up, before the list")]
        public bool Again { get; init; }

        [CommandOption("--most <N>")]
        [Description("How many cases to list at most (default: 50)")]
        [DefaultValue(50)]
        public int Most { get; init; } = 50;

        [CommandOption("--json")]
        [Description("One JSON object a case and line")]
        public bool IsJson { get; init; }

        public override Spectre.Console.ValidationResult Validate()
            => Most >= 1 ? Spectre.Console.ValidationResult.Success() : Spectre.Console.ValidationResult.Error("--most takes a number from 1 on.");
    }
}
