using Hotlight.Catalogue;
using Hotlight.Privacy;
using Hotlight.Records;
using Hotlight.Records.Sources;
using Hotlight.Records.Sources.Tables;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Intake;

namespace Hotlight.Workflows.Records;

/// <summary>Brings exposures into the records: files and tables are read and looked over first, then kept whole or not at all.</summary>
public sealed class ExposureIntake
{
    /// <summary>Most faults that are listed; beyond them they are counted.</summary>
    public const int MostFaults = 500;

    // Keys of so many rows are compared, so that a key that does not tell rows apart is noticed; 16 bytes each.
    private const int MostKeys = 500_000;
    private readonly IExposureLog log;
    private readonly ProjectionWords projections;
    private readonly PrivacyKey key;
    private readonly ClinicWorkflow? clinic;
    private readonly IntakeSetting setting;

    /// <summary>Creates the intake.</summary>
    /// <param name="log">Where entries are kept.</param>
    /// <param name="catalogue">The projections.</param>
    /// <param name="key">The store's key, for pseudonyms.</param>
    /// <param name="setting">What the bench is set up for.</param>
    /// <param name="clinic">The clinic's settings; null: nothing is set.</param>
    public ExposureIntake(IExposureLog log, ProjectionCatalogue catalogue, PrivacyKey key, IntakeSetting setting, ClinicWorkflow? clinic = null)
    {
        ArgumentNullException.ThrowIfNull(log);
        ArgumentNullException.ThrowIfNull(catalogue);
        ArgumentNullException.ThrowIfNull(key);
        this.log = log;
        this.key = key;
        this.clinic = clinic;
        this.setting = setting;
        projections = new ProjectionWords(catalogue);
    }

    private ClinicSettings Settings => clinic?.Current.Settings ?? ClinicSettings.None;

    /// <summary>Reads files one after the other into a batch; nothing is kept yet.</summary>
    public FileBatch NewBatch() => new(new DicomSource(projections, new ClinicNaming(key, Settings, projections, setting), Settings.Shifts));

    /// <summary>Reads every file of a folder and the folders below it; nothing is kept yet.</summary>
    /// <param name="folder">The folder, or one file.</param>
    /// <param name="progress">Told after each file; null: nobody is.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="IOException">The folder cannot be read.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be read.</exception>
    public FileBatch ReadFolder(string folder, IProgress<FileBatch>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(folder);
        FileBatch batch = NewBatch();
        IEnumerable<string> files = File.Exists(folder)
            ? [folder]
            : Directory.EnumerateFiles(folder, "*", new EnumerationOptions { RecurseSubdirectories = true, IgnoreInaccessible = true, AttributesToSkip = FileAttributes.Hidden | FileAttributes.System });
        foreach (string file in files)
        {
            cancellation.ThrowIfCancellationRequested();
            string name = File.Exists(folder) ? Path.GetFileName(file) : Path.GetRelativePath(folder, file);
            try
            {
                using FileStream content = new(file, FileMode.Open, FileAccess.Read, FileShare.ReadWrite, bufferSize: 1);
                batch.Add(content, name, cancellation);
            }
            catch (Exception error) when (error is IOException or UnauthorizedAccessException)
            {
                batch.AddUnreadable(name, error.Message);
            }

            progress?.Report(batch);
        }

        return batch;
    }

    /// <summary>Keeps what the files of a batch told.</summary>
    /// <param name="batch">The batch.</param>
    /// <param name="title">What was brought in, for the reader; no path.</param>
    /// <param name="by">Who brings it in; null: not known.</param>
    /// <param name="progress">Told how many entries are through; null: nobody is.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <returns>Null where the batch holds no exposure.</returns>
    public async Task<LogImport?> KeepAsync(FileBatch batch, string title, Guid? by = null, IProgress<long>? progress = null, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(batch);
        IReadOnlyList<ExposureEntry> entries = batch.Entries();
        return entries.Count == 0
            ? null
            : await log.AddAsync(NewImport(title, entries.All(entry => entry.Source == EntrySource.DoseReport) ? EntrySource.DoseReport : EntrySource.Header, by), entries, progress, cancellation);
    }

    /// <summary>Reads a whole table by a mapping without keeping anything: the first entries, every fault, and whether rows can be told apart.</summary>
    /// <param name="content">The table, at its beginning.</param>
    /// <param name="mapping">What its columns mean.</param>
    /// <param name="shown">How many entries to give.</param>
    /// <param name="progress">Told how many rows are through; null: nobody is.</param>
    /// <param name="cancellation">Stops the reading.</param>
    /// <exception cref="FormatException">The mapping does not fit the table; the message is one sentence.</exception>
    public TableCheck Check(Stream content, TableMapping mapping, int shown = 20, IProgress<long>? progress = null, CancellationToken cancellation = default)
    {
        List<TableRow> first = [];
        List<SourceFault> faults = [];
        HashSet<UInt128> keys = [];
        SortedDictionary<string, long> unknown = new(StringComparer.Ordinal);
        long rows = 0, good = 0, faultCount = 0, same = 0;
        foreach (TableRow row in Reader().Read(content, mapping))
        {
            if ((++rows & 0x3FF) == 0)
            {
                cancellation.ThrowIfCancellationRequested();
                progress?.Report(rows);
            }

            if (row.Entry is not { } entry)
            {
                faultCount += row.Faults.Count;
                faults.AddRange(row.Faults.Take(MostFaults - faults.Count));
                continue;
            }

            good++;
            if (first.Count < shown)
            {
                first.Add(row);
            }

            if (entry is { ProjectionId: null, GivenProjection: { } given } && (unknown.ContainsKey(given) || unknown.Count < 100))
            {
                unknown[given] = unknown.GetValueOrDefault(given) + 1;
            }

            if (keys.Count < MostKeys && !keys.Add(KeyNumber(entry.Key)))
            {
                same++;
            }
        }

        return new TableCheck
        {
            Rows = rows,
            Good = good,
            First = first,
            Faults = faults,
            FaultCount = faultCount,
            SameKey = same,
            UnknownProjections = [.. unknown.OrderByDescending(pair => pair.Value).Select(pair => (pair.Key, pair.Value))],
        };
    }

    /// <summary>Keeps the rows of a table.</summary>
    /// <param name="content">The table, at its beginning; it is read once, row by row.</param>
    /// <param name="mapping">What its columns mean.</param>
    /// <param name="title">What was brought in, for the reader; no path.</param>
    /// <param name="leaveOutFaulty">Whether rows with a fault are left out; else the first one stops everything.</param>
    /// <param name="by">Who brings it in; null: not known.</param>
    /// <param name="progress">Told how many entries are through; null: nobody is.</param>
    /// <param name="cancellation">Stops before anything is kept.</param>
    /// <exception cref="FormatException">A row has a fault and faulty rows are not left out, or the mapping does not fit; nothing is kept.</exception>
    public Task<LogImport> KeepTableAsync(Stream content, TableMapping mapping, string title, bool leaveOutFaulty, Guid? by = null, IProgress<long>? progress = null, CancellationToken cancellation = default)
    {
        IEnumerable<ExposureEntry> Entries()
        {
            foreach (TableRow row in Reader().Read(content, mapping))
            {
                if (row.Entry is { } entry)
                {
                    yield return entry;
                }
                else if (!leaveOutFaulty)
                {
                    SourceFault fault = row.Faults[0];
                    throw new FormatException($"Line {row.Line}{(fault.Column is { } column ? $", “{column}”" : string.Empty)}: {fault.Sentence} Nothing was kept.");
                }
            }
        }

        return Task.Run(() => log.AddAsync(NewImport(title, EntrySource.Table, by), Entries(), progress, cancellation), cancellation);
    }

    private static LogImport NewImport(string title, EntrySource source, Guid? by) => new() { Id = Guid.CreateVersion7(), Title = title, Source = source, By = by };

    private static UInt128 KeyNumber(string rowKey)
    {
        byte[] hash = System.Security.Cryptography.SHA256.HashData(System.Text.Encoding.UTF8.GetBytes(rowKey));
        return System.Buffers.Binary.BinaryPrimitives.ReadUInt128BigEndian(hash);
    }

    private TableReader Reader() => new(projections, new ClinicNaming(key, Settings, projections, setting), Settings.Shifts);
}

/// <summary>What looking over a whole table showed.</summary>
public sealed record TableCheck
{
    /// <summary>Rows of the table.</summary>
    public long Rows { get; init; }

    /// <summary>Rows that are entries.</summary>
    public long Good { get; init; }

    /// <summary>The first of them.</summary>
    public IReadOnlyList<TableRow> First { get; init; } = [];

    /// <summary>Faults, the first <see cref="ExposureIntake.MostFaults"/>.</summary>
    public IReadOnlyList<SourceFault> Faults { get; init; } = [];

    /// <summary>How many faults there are.</summary>
    public long FaultCount { get; init; }

    /// <summary>Rows whose key an earlier row has; of those only the first is kept.</summary>
    public long SameKey { get; init; }

    /// <summary>What the table calls projections that fit none of the catalogue, with how many rows, the most frequent first.</summary>
    public IReadOnlyList<(string Words, long Rows)> UnknownProjections { get; init; } = [];
}
