using System.ComponentModel;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Workflows.Critiques;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight critique FILE --projection ID [--answers FILE] [--json].</summary>
internal sealed class CritiqueCommand : Command<CritiqueCommand.Settings>
{
    private const int StateWidth = 16;

    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (settings.Projection is null)
        {
            throw new RefusedException("critique needs --projection ID, such as --projection wrist-pa; 'hotlight projections' lists them.");
        }

        Projection projection = Projections.Find(settings.Projection, settings.CataloguePath);
        try
        {
            Critique critique = CritiqueWorkflow.Run(settings.File, projection, settings.AnswersPath, settings.ToOptions(), cancellationToken);
            if (settings.Json)
            {
                Terminal.Output.WriteLine(CritiqueJson.Write(critique, indented: true));
            }
            else
            {
                Write(critique);
            }

            return HotlightCommandLine.Done;
        }
        catch (Exception error) when (error is UnreadableImageException or UnreadableAnswersException)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static void Write(Critique critique)
    {
        Terminal.Output.WriteLine($"{critique.Measurements.File}  as  {critique.ProjectionName}");
        ChecklistSection? section = null;
        foreach (ChecklistLine line in critique.Lines)
        {
            if (section != line.Section)
            {
                section = line.Section;
                Terminal.Output.WriteLine();
                Terminal.Output.WriteLine(CritiqueText.Section(line.Section));
            }

            // What the reader decided says so in its own sentence, and the figure beside it is not the reader's.
            string by = line.DecidedBy is DecidedBy.Nobody or DecidedBy.Reader ? string.Empty : $" ({CritiqueText.DecidedBy(line.DecidedBy)})";
            string figure = line.Figure is null ? string.Empty : $" {Capital(line.Figure)}{by}.";
            Block(CritiqueText.State(line.State), StateWidth, line.Question + figure);

            // Who decided stands with the figure; without one, with the explanation.
            Detail(line.Figure is null && by.Length > 0 ? $"{line.Explanation?.TrimEnd('.')}{by}.".TrimStart() : line.Explanation);
            Detail(line.State is ChecklistState.CannotTell or ChecklistState.NotMet ? line.Hint : null);
            Detail(line.Remark is null ? null : $"Remark: {line.Remark}");
            if (line.Overridden is { } earlier)
            {
                Detail($"The reader overruled '{CritiqueText.State(earlier.State)}' ({CritiqueText.DecidedBy(earlier.DecidedBy)}).");
            }

            if (line is { State: ChecklistState.CannotTell, DecidedBy: DecidedBy.Nobody })
            {
                Detail($"Answer as \"{line.Id}\"{(line.Misses.Count == 0 ? string.Empty : $"; ways of missing: {string.Join(", ", line.Misses.Select(miss => miss.Id))}")}.");
            }
        }

        Terminal.Output.WriteLine();
        Block("VERDICT", StateWidth, $"{CritiqueText.Verdict(critique.Verdict.Kind)}. {critique.Verdict.Sentence}", indent: 0);
        foreach (Reason reason in critique.Verdict.Reasons)
        {
            Block(Role(critique, reason), StateWidth, reason.Sentence);
        }

        foreach (Reason open in critique.Verdict.Open)
        {
            Block("still open", StateWidth, open.Sentence);
        }

        if (critique.Changes.Count > 0)
        {
            Terminal.Output.WriteLine();
            Terminal.Output.WriteLine("For the next exposure");
            for (int index = 0; index < critique.Changes.Count; index++)
            {
                Block($"{index + 1}", 4, $"{critique.Changes[index].Instruction} {critique.Changes[index].Why}");
            }
        }

        Terminal.Output.WriteLine();
        Terminal.Output.WriteLine("What a repeat costs");
        Block(string.Empty, 0, critique.Cost.Sentence);
        Block(string.Empty, 0, critique.Cost.Gain);
        Terminal.Output.WriteLine();
        foreach (string caution in critique.Cautions)
        {
            Block(string.Empty, 0, caution, indent: 0);
        }
    }

    // A remark stands beside a repeat or an open question; it is no reason for either.
    private static string Role(Critique critique, Reason reason) => critique.Verdict.Kind switch
    {
        VerdictKind.Repeat when critique.Lines.Single(line => line.Id == reason.LineId).Weight != Weight.Repeat => "besides",
        VerdictKind.Undetermined => "so far",
        _ => "because",
    };

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];

    private static void Detail(string? text)
    {
        if (!string.IsNullOrEmpty(text))
        {
            Block(string.Empty, StateWidth, text);
        }
    }

    private static void Block(string label, int labelWidth, string text, int indent = 2)
    {
        foreach (string row in TextBlock.Hanging(label, labelWidth, text, indent))
        {
            Terminal.Output.WriteLine(row);
        }
    }

    internal sealed class Settings : MeasureSettings
    {
        [CommandArgument(0, "<FILE>")]
        [Description("The radiograph: DICOM (DX, CR, secondary capture), PNG, TIFF or JPEG.")]
        public string File { get; init; } = string.Empty;

        [CommandOption("-p|--projection <ID>")]
        [Description("The projection it should be, such as wrist-pa; 'hotlight projections' lists them.")]
        public string? Projection { get; init; }

        [CommandOption("-a|--answers <FILE>")]
        [Description("The reader's answers (JSON) to the lines that need a person.")]
        public string? AnswersPath { get; init; }

        [CommandOption("--json")]
        [Description("Print the critique as one JSON document.")]
        public bool Json { get; init; }

        public override string? ProjectionId => Projection;
    }
}
