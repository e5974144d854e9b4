using Hotlight.Cli.Commands;
using Hotlight.Cli.Rendering;
using Spectre.Console;
using Spectre.Console.Cli;

namespace Hotlight.Cli;

/// <summary>The command line: results on standard output, progress and errors on standard error, exit status 0 (done), 2 (something could not be read or was asked for wrongly) or 1 (Hotlight itself failed).</summary>
public static class HotlightCommandLine
{
    /// <summary>Exit status when all was done.</summary>
    public const int Done = 0;

    /// <summary>Exit status when a file could not be read or the call was wrong.</summary>
    public const int Refused = 2;

    /// <summary>Runs a call.</summary>
    /// <param name="args">The words after the program's name.</param>
    /// <param name="output">Standard output.</param>
    /// <param name="errors">Standard error.</param>
    /// <returns>The exit status.</returns>
    public static int Run(IReadOnlyList<string> args, TextWriter output, TextWriter errors)
    {
        ArgumentNullException.ThrowIfNull(args);
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
            configuration.SetExceptionHandler((error, _) => Explain(error, errors));
            configuration.AddCommand<MeasureCommand>("measure")
                .WithDescription("Measure radiographs: field, anatomy, collimation, exposure, mottle, clipping, display.")
                .WithExample("measure", "wrist.dcm")
                .WithExample("measure", "wrist.dcm", "--json")
                .WithExample("measure", "flat.png", "--spacing", "0.15", "--calibration", "room2.json");
            configuration.AddCommand<CritiqueCommand>("critique")
                .WithDescription("Go down the checklist of a projection: lines, verdict, changes for the next exposure, cost of a repeat.")
                .WithExample("critique", "wrist.dcm", "--projection", "wrist-pa")
                .WithExample("critique", "wrist.dcm", "--projection", "wrist-pa", "--answers", "mine.json", "--json");
            configuration.AddCommand<ShowCommand>("show")
                .WithDescription("Draw the radiograph with what was measured on it, and a legend.")
                .WithExample("show", "wrist.dcm", "--out", "wrist.png")
                .WithExample("show", "folder/a.dcm", "folder/b.dcm", "--sheet", "sheet.png");
            configuration.AddCommand<ProjectionsCommand>("projections")
                .WithDescription("List the projections of the catalogue, or say all of one.")
                .WithExample("projections")
                .WithExample("projections", "wrist-pa");
            configuration.AddCommand<DemoCommand>("demo")
                .WithDescription("List the invented demo cases, or write them as DICOM files.")
                .WithExample("demo")
                .WithExample("demo", "--out", "demo-cases");
        });
        return application.Run(args);
    }

    private static int Explain(Exception error, TextWriter errors)
    {
        if (error is CommandAppException)
        {
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
            errors.WriteLine("hotlight: stopped.");
            return Refused;
        }

        errors.WriteLine($"hotlight: an error of Hotlight itself: {error.Message} ({error.GetType().Name}). Nothing was changed.");
        return 1;
    }
}
