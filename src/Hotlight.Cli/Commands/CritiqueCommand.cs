using System.ComponentModel;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Positioning;
using Hotlight.Workflows.Critiques;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight critique FILE --projection ID [--answers FILE] [--purpose ID] [--ability WORD] [--repeats N] [--shown LINE] [--landmarks FILE] [--thresholds FILE] [--clinic FILE] [--explain] [--json].</summary>
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
            var inputs = new CritiqueInputs { AnswersPath = settings.AnswersPath, LandmarksPath = settings.LandmarksPath, ThresholdsPath = settings.ThresholdsPath, Clinic = ClinicFile.Read(settings.ClinicPath), Context = settings.ToContext(projection) };
            Critique critique = CritiqueWorkflow.Run(settings.File, projection, inputs, settings.ToOptions(), cancellationToken);
            if (settings.Json)
            {
                Terminal.Output.WriteLine(CritiqueJson.Write(critique, indented: true));
            }
            else
            {
                Write(critique, settings.Explain);
            }

            return HotlightCommandLine.Done;
        }
        catch (Exception error) when (error is UnreadableImageException or UnreadableAnswersException or UnreadableLandmarksException or UnreadableThresholdsException)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static void Write(Critique critique, bool explain)
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
        Block(Texts.Get("critique.verdict"), StateWidth, $"{CritiqueText.Verdict(critique.Verdict.Kind)}. {critique.Verdict.Sentence}", indent: 0);
        foreach (Reason reason in critique.Verdict.Reasons)
        {
            Block(Role(critique, reason), StateWidth, reason.Sentence);
        }

        foreach (Reason open in critique.Verdict.Open)
        {
            Block(Texts.Get("critique.still-open"), StateWidth, open.Sentence);
        }

        if (critique.ReaderVerdict is { } own)
        {
            Block("READER", StateWidth, $"{CritiqueText.Verdict(own.Kind)}, {(own.Agrees ? "as the verdict above" : "against the verdict above, which stays beside it")}. {own.Reason}", indent: 0);
        }

        if (explain && critique.Trace is { } trace)
        {
            Terminal.Output.WriteLine();
            Terminal.Output.WriteLine("How the verdict came about");
            string? before = null;
            foreach ((string label, string sentence) in CritiqueText.Trace(trace))
            {
                Block(label == before ? string.Empty : label, StateWidth, sentence);
                before = label;
            }
        }

        if (critique.Changes.Count > 0)
        {
            Terminal.Output.WriteLine();
            Terminal.Output.WriteLine(Texts.Get("critique.next-exposure"));
            for (int index = 0; index < critique.Changes.Count; index++)
            {
                Change change = critique.Changes[index];
                Block($"{index + 1}  {CritiqueText.Step(change.Step)}", StateWidth, $"{change.Instruction} {change.Why}{(change.Settled is null ? string.Empty : " " + change.Settled)}");
            }
        }

        Terminal.Output.WriteLine();
        Terminal.Output.WriteLine(Texts.Get("critique.cost"));
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
        VerdictKind.Repeat when critique.Lines.Single(line => line.Id == reason.LineId).Weight != Weight.Repeat => Texts.Get("critique.besides"),
        VerdictKind.Undetermined => Texts.Get("critique.so-far"),
        _ => Texts.Get("critique.because"),
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

    internal sealed class Settings : MeasureSettings, ILanguageSettings
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

        [CommandOption("--language <CODE>")]
        [Description("Language of the texts: en, de, es, or one of the folder that the environment variable HOTLIGHT_LANGUAGE_FOLDER names; else en.")]
        public string? Language { get; init; }

        [CommandOption("--json")]
        [Description("Print the critique as one JSON document.")]
        public bool Json { get; init; }

        [CommandOption("--purpose <ID>")]
        [Description("What the examination is asked for, one of the projection's purposes; lines it does not need weigh one step less.")]
        public string? Purpose { get; init; }

        [CommandOption("--ability <WORD>")]
        [Description("Whether the patient can take the position: can, cannot-move, trauma, child, cast or large-body.")]
        public string? Ability { get; init; }

        [CommandOption("--repeats <N>")]
        [Description("How many repeats of this view the examination has had already.")]
        public string? Repeats { get; init; }

        [CommandOption("--shown <LINE>")]
        [Description("A line that an earlier image or another view of the examination already shows; may be given again for others.")]
        public string[]? Shown { get; init; }

        [CommandOption("--landmarks <FILE>")]
        [Description("Marked landmarks (JSON): they decide the relations that points can decide.")]
        public string? LandmarksPath { get; init; }

        [CommandOption("--thresholds <FILE>")]
        [Description("Your clinic's own thresholds (JSON), in the form of data/judgement/thresholds.json.")]
        public string? ThresholdsPath { get; init; }

        [CommandOption("--clinic <FILE>")]
        [Description(ClinicFile.Help)]
        public string? ClinicPath { get; init; }

        [CommandOption("--explain")]
        [Description("Print how the verdict came about: rules, weights, what would have changed it, what is not known.")]
        public bool Explain { get; init; }

        public override string? ProjectionId => Projection;

        /// <summary>What the options say of the examination; null where they say nothing.</summary>
        /// <exception cref="RefusedException">A word is not known, or the projection has no such purpose or line.</exception>
        public ExaminationContext? ToContext(Projection projection)
        {
            if (Purpose is null && Ability is null && Repeats is null && Shown is null or [])
            {
                return null;
            }

            int? repeats = Repeats is null ? null
                : int.TryParse(Repeats, System.Globalization.NumberStyles.None, System.Globalization.CultureInfo.InvariantCulture, out int number) && number <= 100 ? number
                : throw new RefusedException($"--repeats takes a whole number from 0 to 100, such as --repeats 1; '{Repeats}' is not one.");
            PatientAbility? ability = Ability switch
            {
                null => null,
                "can" => PatientAbility.Can,
                "cannot-move" => PatientAbility.CannotMove,
                "trauma" => PatientAbility.Trauma,
                "child" => PatientAbility.Child,
                "cast" => PatientAbility.Cast,
                "large-body" => PatientAbility.LargeBody,
                _ => throw new RefusedException($"--ability is can, cannot-move, trauma, child, cast or large-body; '{Ability}' is none of them."),
            };
            var context = new ExaminationContext { PurposeId = Purpose, Ability = ability, RepeatsAlready = repeats, ShownElsewhere = Shown ?? [] };
            return context.Fault(projection) is { } fault ? throw new RefusedException(fault) : context;
        }
    }
}
