using System.ComponentModel;
using System.Globalization;
using Hotlight.Catalogue;
using Hotlight.Cli.Rendering;
using Hotlight.Records;
using Hotlight.Workflows.Records;
using Hotlight.Workflows.Repeats;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight report --month 2026-10 --out FILE.pdf [--site NAME] [--data DIR].</summary>
internal sealed class ReportCommand : Command<ReportCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
    {
        if (!DateOnly.TryParseExact(settings.Month + "-01", "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateOnly month))
        {
            throw new RefusedException($"--month takes a month as year and month, such as --month 2026-10; '{settings.Month}' is not one.");
        }

        string full = Path.GetFullPath(settings.Out);
        if (!string.Equals(Path.GetExtension(full), ".pdf", StringComparison.OrdinalIgnoreCase))
        {
            throw new RefusedException($"--out takes a name that ends in .pdf; '{settings.Out}' does not.");
        }

        if (Directory.Exists(full) || !Directory.Exists(Path.GetDirectoryName(full)))
        {
            throw new RefusedException($"--out cannot write '{settings.Out}': give the name of a file in a folder that is there.");
        }

        IExposureLog log = settings.Open().Log;
        IReadOnlyList<LogExtent> extents = log.ExtentsAsync(cancellationToken).GetAwaiter().GetResult();
        LogExtent extent = SiteOf(settings.Site, extents);
        if (month > extent.Last || month.AddMonths(1) <= extent.First)
        {
            throw new RefusedException($"{RepeatWords.Site(extent.Site)} has no exposures in {settings.Month}; its records reach from {RepeatWords.Day(extent.First)} to {RepeatWords.Day(extent.Last)}.");
        }

        var report = new MonthlyReport(new RepeatWorkflow(log), NameOf);
        byte[] pdf = report.MakeAsync(extent.Site, month, TimeProvider.System.GetLocalNow(), new Said(), cancellationToken).GetAwaiter().GetResult();
        try
        {
            WholeFile.Write(full, pdf);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the report cannot be written to '{settings.Out}': {Terminal.Reason(error)}.");
        }

        Terminal.Output.WriteLine(settings.Out);
        return HotlightCommandLine.Done;
    }

    private static LogExtent SiteOf(string? asked, IReadOnlyList<LogExtent> extents)
    {
        if (extents.Count == 0)
        {
            throw new RefusedException("there are no exposures in these records yet; bring some in first.");
        }

        string names = string.Join("; ", extents.Select(extent => extent.Site.Length == 0 ? "the clinic's own (left out)" : $"'{extent.Site}'"));
        return asked is null
            ? extents.FirstOrDefault(extent => extent.Site.Length == 0) ?? (extents.Count == 1 ? extents[0] : throw new RefusedException($"say with --site whose report is wanted: {names}."))
            : extents.FirstOrDefault(extent => extent.Site == asked) ?? throw new RefusedException($"there is no site '{asked}'; there is: {names}.");
    }

    private static string NameOf(LogDimension by, string? key) => by switch
    {
        _ when key is null => RepeatWords.NotTold,
        LogDimension.Projection => ProjectionCatalogue.BuiltIn.Find(key)?.Name ?? key,
        LogDimension.Shift or LogDimension.AgeGroup => RepeatWords.OfName(key),
        _ => key,
    };

    /// <summary>Progress, on standard error.</summary>
    private sealed class Said : IProgress<string>
    {
        public void Report(string value) => Terminal.Errors.WriteLine($"hotlight: {value}");
    }

    internal sealed class Settings : RecordsSettings
    {
        [CommandOption("--month <MONTH>", isRequired: true)]
        [Description("The month, such as 2026-10.")]
        public string Month { get; init; } = string.Empty;

        [CommandOption("-o|--out <FILE>", isRequired: true)]
        [Description("Where to write the report (.pdf).")]
        public string Out { get; init; } = string.Empty;

        [CommandOption("--site <NAME>")]
        [Description("The department (default: the clinic's own, or the only one there is).")]
        public string? Site { get; init; }
    }
}
