using Hotlight.Core;
using Hotlight.Records;
using Hotlight.Records.Invented;
using Hotlight.Simulation;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Records;
using Hotlight.Workflows.Teaching;
using Hotlight.Workflows.Teaching.Practice;

namespace Hotlight.Web;

/// <summary>Brings the invented demo cases and the invented department's exposures in once, at the first start, while the page already answers.</summary>
internal sealed class DemoCaseImport(CaseWorkflow cases, IRecordStore records, IExposureLog exposures, ReadingWorkflow readings, IReadingStore readingStore, ILessonStore lessons, PracticeWorkflow practice, TimeProvider clock, BenchOptions options, ILogger<DemoCaseImport> log) : BackgroundService
{
    /// <summary>Name of the fact that holds which demo cases were brought in, their identifiers with a space between.</summary>
    public const string Fact = "demo-cases";

    /// <summary>Name of the fact that says that the invented department was brought in; one that is taken back is not made again.</summary>
    public const string DepartmentFact = "demo-department";

    /// <summary>Name of the fact that says that the invented readers' readings were made.</summary>
    public const string ReadingsFact = "demo-readings";

    /// <summary>Name of the fact that says that the invented learners' sessions of practice were made.</summary>
    public const string PracticeFact = "demo-practice";

    /// <summary>How far it is, one line for the reader; null when nothing is under way.</summary>
    public string? Progress { get; private set; }

    /// <summary>Raised when <see cref="Progress"/> or the list of cases changed.</summary>
    public event Action? Changed;

    /// <summary>Where progress is said besides the page.</summary>
    public TextWriter Output { get; set; } = TextWriter.Null;

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (!options.WithDemoCases)
        {
            return;
        }

        // The host waits for whatever runs before the first await.
        await Task.Yield();
        try
        {
            await BringInDepartmentAsync(stoppingToken);
            IReadOnlyList<DemoCase> all = DemoCases.All;
            List<string> done = [.. (await records.FindFactAsync(Fact, stoppingToken) ?? string.Empty).Split(' ', StringSplitOptions.RemoveEmptyEntries)];
            if (all.All(each => done.Contains(each.Id)))
            {
                await BringInReadingsAsync(stoppingToken);
                await BringInPracticeAsync(stoppingToken);
                return;
            }

            for (int place = 0; place < all.Count; place++)
            {
                DemoCase each = all[place];
                if (done.Contains(each.Id))
                {
                    continue;
                }

                Say($"Making the invented demo cases: {place + 1} of {all.Count}, {each.Title}");
                DemoExposure exposure = await Task.Run(() => each.Expose(stoppingToken), stoppingToken);
                await cases.BringInInventedAsync(each.FileName, new MemoryStream(exposure.Dicom, writable: false), each.Title, each.ProjectionId, CaseOrigin.Demo, stoppingToken);

                // One that the reader deletes later is not made again.
                done.Add(each.Id);
                await records.KeepFactAsync(Fact, string.Join(' ', done), stoppingToken);
            }

            Progress = null;
            await Output.WriteLineAsync($"{all.Count} invented demo cases are ready.");
            Changed?.Invoke();
            await BringInReadingsAsync(stoppingToken);
            await BringInPracticeAsync(stoppingToken);
        }
        catch (OperationCanceledException)
        {
            // The bench stops; the next start goes on with the next case.
        }
        catch (Exception error)
        {
            log.LogError(error, "A demo case could not be made.");
            Say("A demo case could not be made; the bench goes on without it.");
        }
    }

    private async Task BringInDepartmentAsync(CancellationToken stoppingToken)
    {
        if (await records.FindFactAsync(DepartmentFact, stoppingToken) is not null)
        {
            return;
        }

        DepartmentRecipe recipe = DepartmentRecipe.SaltmarshLane;
        Say("Making the exposures of the invented department");
        var import = new LogImport { Id = InventedDepartment.ImportIdOf(recipe), Site = recipe.Site, Title = "the invented department of the demo", Source = EntrySource.Table };
        LogImport kept = await Task.Run(() => exposures.AddAsync(import, InventedDepartment.Entries(recipe, ShiftHours.Usual), cancellation: stoppingToken), stoppingToken);
        await records.KeepFactAsync(DepartmentFact, kept.Id.ToString(), stoppingToken);
        Progress = null;
        Changed?.Invoke();
    }

    private async Task BringInReadingsAsync(CancellationToken stoppingToken)
    {
        if (await records.FindFactAsync(ReadingsFact, stoppingToken) is not null)
        {
            return;
        }

        // One of each: the reader may have brought the same file in again, or deleted some.
        IReadOnlyList<CaseSummary> kept = await records.ListAsync(new WorklistQuery { Origins = [CaseOrigin.Demo] }, 0, 10 * DemoCases.All.Count, stoppingToken);
        (DemoCase Demo, Guid CaseId)[] demo = [.. DemoCases.All.SelectMany(each => kept.Where(one => one.FileName == each.FileName && one.ProjectionId == each.ProjectionId).Take(1).Select(one => (each, one.Id)))];
        await Task.Run(() => InventedReadings.MakeAsync(readings, readingStore, cases, demo, clock.GetUtcNow(), stoppingToken), stoppingToken);
        await records.KeepFactAsync(ReadingsFact, "made", stoppingToken);
        Changed?.Invoke();
    }

    private async Task BringInPracticeAsync(CancellationToken stoppingToken)
    {
        if (await records.FindFactAsync(PracticeFact, stoppingToken) is null)
        {
            await Task.Run(() => InventedPractice.MakeAsync(lessons, practice, clock.GetUtcNow(), stoppingToken), stoppingToken);
            await records.KeepFactAsync(PracticeFact, "made", stoppingToken);
            Changed?.Invoke();
        }
    }

    private void Say(string line)
    {
        Progress = line;
        Output.WriteLine(line);
        Changed?.Invoke();
    }
}
