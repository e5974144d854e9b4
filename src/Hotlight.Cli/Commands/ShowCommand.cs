using System.ComponentModel;
using Hotlight.Cli.Rendering;
using Hotlight.Core;
using Hotlight.Drawing;
using Hotlight.Measure;
using Hotlight.Workflows.Measuring;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight show FILE --out PNG; hotlight show FILE... --sheet PNG.</summary>
internal sealed class ShowCommand : Command<ShowCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        MeasureOptions options = settings.ToOptions();
        PictureOptions picture = settings.ToPicture();
        try
        {
            CheckTarget(settings.Out, "--out", settings.Files);
            CheckTarget(settings.Sheet, "--sheet", settings.Files);
            return (settings.Out, settings.Sheet) switch
            {
                ({ } path, null) when settings.Files.Length == 1 => One(settings.Files[0], path, options, picture, cancellationToken),
                ({ }, null) => throw new RefusedException("--out draws one radiograph; give one file, or --sheet PNG for several."),
                (null, { } path) => Sheet(settings.Files, path, options, cancellationToken),
                ({ }, { }) => throw new RefusedException("give --out PNG for one picture or --sheet PNG for many, not both."),
                _ => throw new RefusedException("show needs --out PNG, such as --out picture.png."),
            };
        }
        catch (IOException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    // Said before the work, not after it; and a radiograph is never written over, whatever was typed.
    private static void CheckTarget(string? path, string option, string[] files)
    {
        if (path is null)
        {
            return;
        }

        if (!string.Equals(Path.GetExtension(path), ".png", StringComparison.OrdinalIgnoreCase))
        {
            throw new RefusedException($"{option} writes a PNG picture; give a name that ends in .png, such as {option} picture.png; '{path}' does not.");
        }

        string target = Final(path);
        if (files.Any(file => string.Equals(Final(file), target, StringComparison.Ordinal)))
        {
            throw new RefusedException($"{option} would write over the radiograph '{path}'; give another name.");
        }

        PictureFile.Check(path);
    }

    // Where a path leads once its links are followed.
    private static string Final(string path)
    {
        try
        {
            return File.ResolveLinkTarget(path, returnFinalTarget: true)?.FullName ?? Path.GetFullPath(path);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return Path.GetFullPath(path);
        }
    }

    private static int One(string file, string path, MeasureOptions options, PictureOptions picture, CancellationToken cancellation)
    {
        try
        {
            MeasuredRadiograph measured = MeasureWorkflow.Run(file, options, cancellation);
            RadiographPicture.Save(path, measured.Radiograph, measured.Document, picture);
            return HotlightCommandLine.Done;
        }
        catch (UnreadableImageException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    private static int Sheet(string[] files, string path, MeasureOptions options, CancellationToken cancellation)
    {
        if (files.Length > ContactSheet.MostTiles)
        {
            throw new RefusedException($"a contact sheet holds {ContactSheet.MostTiles} radiographs at most; {files.Length} were given.");
        }

        var sheet = new ContactSheet();
        bool refused = false;
        using ProgressLine progress = ProgressLine.For(Terminal.Errors, files.Length);
        for (int index = 0; index < files.Length; index++)
        {
            cancellation.ThrowIfCancellationRequested();
            progress.Report(index, Path.GetFileName(files[index]));
            try
            {
                MeasuredRadiograph measured = MeasureWorkflow.Run(files[index], options, cancellation);
                sheet.Add(measured.Radiograph, measured.Document);
            }
            catch (UnreadableImageException error)
            {
                progress.Dispose();
                Terminal.Errors.WriteLine($"hotlight: {error.Message}");
                sheet.AddUnreadable(error.FileName, error.Reason);
                refused = true;
            }
        }

        sheet.Save(path);
        return refused ? HotlightCommandLine.Refused : HotlightCommandLine.Done;
    }

    internal sealed class Settings : MeasureSettings
    {
        [CommandArgument(0, "<FILE>")]
        [Description("Radiographs: DICOM (DX, CR, secondary capture), PNG, TIFF or JPEG.")]
        public string[] Files { get; init; } = [];

        [CommandOption("-o|--out <PNG>")]
        [Description("Where to write the picture of one radiograph.")]
        public string? Out { get; init; }

        [CommandOption("--sheet <PNG>")]
        [Description("Where to write a contact sheet of all the files.")]
        public string? Sheet { get; init; }

        [CommandOption("-p|--projection <ID>")]
        [Description("The projection: sets the skin margin and is named in the caption.")]
        public string? Projection { get; init; }

        [CommandOption("--plain")]
        [Description("The radiograph alone, without marks and legend.")]
        public bool Plain { get; init; }

        public override string? ProjectionId => Projection;

        public PictureOptions ToPicture() => new()
        {
            Projection = Projection is null ? null : Projections.Find(Projection).Name,
            ShowsMarks = !Plain,
            ShowsLegend = !Plain,
        };
    }
}
