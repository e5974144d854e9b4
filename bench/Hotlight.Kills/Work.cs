namespace Hotlight.Kills;

/// <summary>One kind of work that is killed: how it is done, and what must be there afterwards.</summary>
internal abstract class Work
{
    /// <summary>Every kind, in order.</summary>
    public static IReadOnlyList<string> Kinds { get; } = ["critique", "import", "publishing", "migration", "backup", "queue"];

    /// <summary>The longest it is left at work, in ms.</summary>
    public virtual double LongestMs => 2000;

    /// <summary>A kind by its name.</summary>
    /// <param name="kind">One of <see cref="Kinds"/>.</param>
    public static Work Of(string kind) => kind switch
    {
        "critique" => new CritiqueWork(),
        "import" => new ImportWork(),
        "publishing" => new PublishingWork(),
        "migration" => new MigrationWork(),
        "backup" => new BackupWork(),
        "queue" => new QueueWork(),
        _ => throw new ArgumentException($"'{kind}' is none of {string.Join(", ", Kinds)}.", nameof(kind)),
    };

    /// <summary>Whether a kind is also done with records in PostgreSQL.</summary>
    /// <param name="kind">One of <see cref="Kinds"/>.</param>
    public static bool RunsOnPostgres(string kind) => kind is "critique" or "import" or "queue";

    /// <summary>Makes the place ready, once; nothing is killed meanwhile.</summary>
    public virtual async Task PrepareAsync(WorkPlace place)
    {
        await using (await place.OpenAsync())
        {
        }

        WorkPlace.LetGo();
    }

    /// <summary>Makes the place ready before each kill.</summary>
    public virtual Task BeforeAsync(WorkPlace place, Random random) => Task.CompletedTask;

    /// <summary>Works until it is killed.</summary>
    public abstract Task WorkAsync(WorkPlace place, Random random, Acknowledgement acknowledged);

    /// <summary>Starts again after a kill, and looks whether all is there.</summary>
    /// <param name="place">Where.</param>
    /// <param name="said">What was acknowledged since the start that was killed, in order.</param>
    /// <param name="faults">Where faults are put.</param>
    public abstract Task CheckAsync(WorkPlace place, IReadOnlyList<string> said, List<string> faults);

    /// <summary>Files left half written under names that nothing takes for whole.</summary>
    public virtual int Unfinished(WorkPlace place) => Directory.EnumerateFiles(place.Folder, "*", SearchOption.AllDirectories)
        .Count(file => file.Contains(".part", StringComparison.Ordinal) || file.Contains("/files/arriving/", StringComparison.Ordinal));
}
