using System.Data.Common;
using System.Globalization;
using System.Runtime.CompilerServices;
using Hotlight.Core;
using Hotlight.Records;
using Hotlight.Workflows.Records;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store.Log;

/// <summary>Keeps a department's exposures in the database of the records, through the connection of its context. Entries are narrow rows; names are codes; sums are kept by triggers (docs/records.md).</summary>
public abstract partial class ExposureLog : IExposureLog
{
    private readonly Func<RecordContext> open;
    private readonly TimeProvider clock;
    private readonly NameCodes codes;

    /// <summary>Creates the log.</summary>
    /// <param name="open">Opens a context of the provider.</param>
    /// <param name="clock">Tells the time.</param>
    protected ExposureLog(Func<RecordContext> open, TimeProvider clock)
    {
        ArgumentNullException.ThrowIfNull(open);
        ArgumentNullException.ThrowIfNull(clock);
        this.open = open;
        this.clock = clock;
        codes = new NameCodes(open);
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<LogImport>> ImportsAsync(string site, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(site);
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        await using DbCommand command = log.Command("SELECT id, site, title, source, at, given_by, added, completed, known, is_taken_back FROM log_imports WHERE site = @site ORDER BY at DESC, seq DESC");
        Add(command, "site", codes.CodeOf(NameKind.Site, site));
        var imports = new List<LogImport>();
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            imports.Add(ReadImport(reader));
        }

        return imports;
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<LogExtent>> ExtentsAsync(CancellationToken cancellation = default)
    {
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);

        // How many from the smallest table; the first and the last day from the ends of a key.
        await using DbCommand command = log.Command("""
            SELECT s.site, (SELECT MIN(day) FROM log_day_totals d WHERE d.site = s.site AND d.n + d.tests > 0), (SELECT MAX(day) FROM log_day_totals d WHERE d.site = s.site AND d.n + d.tests > 0), s.entries
            FROM (SELECT site, CAST(SUM(n + tests) AS bigint) AS entries FROM log_year_performer_rooms WHERE n + tests > 0 GROUP BY site) AS s
            """);
        var extents = new List<LogExtent>();
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            extents.Add(new LogExtent(codes.NameOf(reader.GetInt32(0))!, DateOnly.FromDayNumber(reader.GetInt32(1)), DateOnly.FromDayNumber(reader.GetInt32(2)), reader.GetInt64(3)));
        }

        return [.. extents.OrderBy(each => each.Site, StringComparer.Ordinal)];
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<string?>> NamesAsync(string site, LogDimension dimension, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(site);
        if (dimension is not (LogDimension.Projection or LogDimension.Room or LogDimension.Receptor or LogDimension.Performer))
        {
            throw new ArgumentException($"{dimension} takes no names; projection, room, receptor and performer do.", nameof(dimension));
        }

        LogSummary summary = LogSummary.Counts.First(each => each.Dimensions.Contains(dimension));
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        await using DbCommand command = log.Command($"SELECT DISTINCT {LogSummary.ColumnOf(dimension)} FROM {summary.Table} WHERE site = @site AND n + tests > 0");
        Add(command, "site", codes.CodeOf(NameKind.Site, site));
        var names = new List<string?>();
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            names.Add(codes.NameOf(reader.GetInt32(0)));
        }

        return [.. names.OrderBy(name => name is null).ThenBy(name => name, StringComparer.Ordinal)];
    }

    /// <inheritdoc/>
    public async Task<IReadOnlyList<ExposureEntry>> ListAsync(LogQuery query, int skip, int take, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        ArgumentOutOfRangeException.ThrowIfNegative(skip);
        Preconditions.AtLeastOne(take);
        var entries = new List<ExposureEntry>();
        await foreach (ExposureEntry entry in RowsAsync(query, $"ORDER BY e.exposed_at DESC, e.seq DESC LIMIT {Whole(take)} OFFSET {Whole(skip)}", cancellation))
        {
            entries.Add(entry);
        }

        return entries;
    }

    /// <inheritdoc/>
    public IAsyncEnumerable<ExposureEntry> ReadAsync(LogQuery query, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(query);
        return RowsAsync(query, "ORDER BY e.exposed_at, e.seq", cancellation);
    }

    /// <summary>Adds a parameter to a statement.</summary>
    /// <param name="command">The statement.</param>
    /// <param name="name">Its name, without the sign before it.</param>
    /// <param name="value">Its value; null: NULL.</param>
    protected static DbParameter Add(DbCommand command, string name, object? value)
    {
        ArgumentNullException.ThrowIfNull(command);
        DbParameter parameter = command.CreateParameter();
        parameter.ParameterName = name;
        parameter.Value = value ?? DBNull.Value;
        command.Parameters.Add(parameter);
        return parameter;
    }

    /// <summary>An identifier as the provider keeps it.</summary>
    /// <param name="id">The identifier.</param>
    protected abstract object Identifier(Guid id);

    private static string Whole(long number) => number.ToString(CultureInfo.InvariantCulture);

    private LogImport ReadImport(DbDataReader reader) => new()
    {
        Id = reader.GetGuid(0),
        Site = codes.NameOf(reader.GetInt32(1))!,
        Title = reader.GetString(2),
        Source = (EntrySource)reader.GetInt32(3),
        At = new DateTimeOffset(reader.GetInt64(4), TimeSpan.Zero),
        By = reader.IsDBNull(5) ? null : reader.GetGuid(5),
        Added = reader.GetInt64(6),
        Completed = reader.GetInt64(7),
        Known = reader.GetInt64(8),
        IsTakenBack = reader.GetInt32(9) != 0,
    };

    private async Task<LogConnection> OpenLogAsync(CancellationToken cancellation)
    {
        RecordContext context = open();
        try
        {
            await context.Database.OpenConnectionAsync(cancellation);
            return new LogConnection(context);
        }
        catch
        {
            await context.DisposeAsync();
            throw;
        }
    }

    private async IAsyncEnumerable<ExposureEntry> RowsAsync(LogQuery query, string ending, [EnumeratorCancellation] CancellationToken cancellation)
    {
        await using LogConnection log = await OpenLogAsync(cancellation);
        await codes.LoadAsync(log.Connection, cancellation);
        int? import = null;
        if (query.ImportId is { } importId)
        {
            import = await ImportNumberAsync(log, importId, cancellation) ?? NameCodes.Unknown;
        }

        await using DbCommand command = log.Command(
            $"SELECT i.id, {EntryColumns.List("e")} FROM log_entries e LEFT JOIN log_imports i ON i.seq = e.import WHERE {EntryFilter(query, import, "e.")} {ending}");
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            yield return EntryColumns.Read(reader, 1, codes, reader.IsDBNull(0) ? null : reader.GetGuid(0));
        }
    }

    private async Task<int?> ImportNumberAsync(LogConnection log, Guid importId, CancellationToken cancellation)
    {
        await using DbCommand command = log.Command("SELECT seq FROM log_imports WHERE id = @id");
        Add(command, "id", Identifier(importId));
        object? number = await command.ExecuteScalarAsync(cancellation);
        return number is null or DBNull ? null : Convert.ToInt32(number, CultureInfo.InvariantCulture);
    }

    /// <summary>An open connection of a context, and the transaction its statements belong to.</summary>
    /// <param name="context">The context, its connection open; owned.</param>
    protected sealed class LogConnection(RecordContext context) : IAsyncDisposable
    {
        /// <summary>The connection.</summary>
        public DbConnection Connection { get; } = context.Database.GetDbConnection();

        /// <summary>The transaction; null: none.</summary>
        public DbTransaction? Transaction { get; private set; }

        /// <summary>A statement in the transaction, when there is one; it may take as long as it takes.</summary>
        /// <param name="text">The statement.</param>
        public DbCommand Command(string text)
        {
            DbCommand command = Connection.CreateCommand();
            command.CommandText = text;
            command.Transaction = Transaction;
            command.CommandTimeout = 0;
            return command;
        }

        /// <summary>Begins a transaction.</summary>
        /// <param name="cancellation">Stops before it.</param>
        public async Task BeginAsync(CancellationToken cancellation) => Transaction = await Connection.BeginTransactionAsync(cancellation);

        /// <summary>Begins a transaction that only reads, all of it at one moment.</summary>
        /// <param name="cancellation">Stops before it.</param>
        public async Task BeginReadingAsync(CancellationToken cancellation)
            => Transaction = await context.BeginReadingAsync(cancellation);

        /// <summary>Keeps what the transaction did.</summary>
        /// <param name="cancellation">Stops before it.</param>
        public async Task CommitAsync(CancellationToken cancellation)
        {
            await Transaction!.CommitAsync(cancellation);
            await Transaction.DisposeAsync();
            Transaction = null;
        }

        /// <summary>Forgets what a transaction under way did; without one nothing happens.</summary>
        public async Task RollBackAsync()
        {
            if (Transaction is { } transaction)
            {
                Transaction = null;
                await transaction.DisposeAsync();
            }
        }

        /// <inheritdoc/>
        public async ValueTask DisposeAsync()
        {
            await RollBackAsync();

            await context.DisposeAsync();
        }
    }
}
