using System.Diagnostics;
using System.Globalization;
using DuckDB.NET.Data;
using Hotlight.Benchmarks.Records;
using Hotlight.Records;
using Hotlight.Store.Log;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Records;

CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
if (args.Length < 2 || args[0] is not ("load" or "ask" or "duckdb"))
{
    Console.Error.WriteLine("""
        load STORE ENTRIES   fills the log of a store (a file's path or postgres://...) with exposures of an invented department, a year at a time
        duckdb FILE ENTRIES  the same exposures as one table of a DuckDB file
        ask STORE [DUCKDB]   times every question of the pages, and the same of DuckDB alone on its file; the median of 5
        """);
    return 2;
}

long entries = args[0] == "ask" ? 0 : long.Parse(args[2], CultureInfo.InvariantCulture);

// A million: one department over 5 years. Ten million: a network's worth of rooms in one over 10.
InventedDepartment department = entries <= 2_000_000
    ? new InventedDepartment(20260310, entries, 5, 6, 40, 80)
    : new InventedDepartment(20260310, entries, 10, 30, 150, 130);
var all = Stopwatch.StartNew();
switch (args[0])
{
    case "load":
        await LoadAsync(await OpenAsync(args[1]), department);
        break;
    case "duckdb":
        FillDuckDb(args[1], department);
        break;
    default:
        await AskAsync(await OpenAsync(args[1]), args.Length > 2 ? args[2] : null);
        break;
}

Console.WriteLine($"{args[0]}: {all.Elapsed.TotalSeconds:0.0} s; load of the machine {File.ReadAllText("/proc/loadavg").Trim()}");
return 0;

static async Task<ExposureLog> OpenAsync(string store)
{
    if (PostgresAddress.IsOne(store))
    {
        return (await PostgresRecords.OpenAsync(PostgresAddress.Parse(store), TimeProvider.System)).Log;
    }

    await SqliteRecords.OpenAsync(store, TimeProvider.System);
    return SqliteRecords.Log(store, TimeProvider.System);
}

static async Task LoadAsync(ExposureLog log, InventedDepartment department)
{
    // A year a bringing-in, as an archive is brought in.
    using IEnumerator<ExposureEntry> rows = department.Generate().GetEnumerator();
    bool more = rows.MoveNext();
    while (more)
    {
        int year = rows.Current.ExposedAt.Year;
        IEnumerable<ExposureEntry> OfYear()
        {
            while (more && rows.Current.ExposedAt.Year == year)
            {
                yield return rows.Current;
                more = rows.MoveNext();
            }
        }

        var clock = Stopwatch.StartNew();
        LogImport kept = await log.AddAsync(new LogImport { Id = Guid.NewGuid(), Title = $"archive of {year}", Source = EntrySource.Header }, OfYear());
        Console.WriteLine($"{year}: {kept.Added} added in {clock.Elapsed.TotalSeconds:0.0} s");
    }
}

static void FillDuckDb(string path, InventedDepartment department)
{
    File.Delete(path);
    using var connection = new DuckDBConnection($"DataSource={path}");
    connection.Open();
    using DuckDBCommand command = connection.CreateCommand();
    command.CommandText = "CREATE TABLE e (exposed_at TIMESTAMP, projection VARCHAR, room VARCHAR, receptor VARCHAR, performer VARCHAR, shift VARCHAR, age_group VARCHAR, exposure_use VARCHAR, is_repeat BOOLEAN, reason VARCHAR, exposure_index DOUBLE, deviation_index DOUBLE, kap DOUBLE, entry_key VARCHAR)";
    command.ExecuteNonQuery();
    using DuckDBAppender appender = connection.CreateAppender("e");
    foreach (ExposureEntry each in department.Generate())
    {
        appender.CreateRow().AppendValue(each.ExposedAt).AppendValue(each.ProjectionId).AppendValue(each.Room).AppendValue(each.Receptor).AppendValue(each.Performer)
            .AppendValue(each.Shift.ToString()).AppendValue(each.AgeGroup.ToString()).AppendValue(each.Use.ToString()).AppendValue(each.IsRepeat).AppendValue(each.Reason?.ToString())
            .AppendValue(each.ExposureIndex).AppendValue(each.DeviationIndex).AppendValue(each.KermaAreaProductDgyCm2).AppendValue(each.Key).EndRow();
    }
}

static async Task AskAsync(ExposureLog log, string? duck)
{
    const int Rounds = 5;
    LogExtent extent = (await log.ExtentsAsync()).Single(each => each.Site.Length == 0);
    Console.WriteLine($"{extent.Entries} entries from {extent.First:yyyy-MM-dd} to {extent.Last:yyyy-MM-dd}; {Environment.ProcessorCount} processors");
    using DuckDBConnection? connection = duck is null ? null : new DuckDBConnection($"DataSource={duck};ACCESS_MODE=READ_ONLY;threads=2");
    connection?.Open();
    Console.WriteLine("| question | rows | store, ms | slowest | DuckDB alone, ms |");
    Console.WriteLine("| --- | ---: | ---: | ---: | ---: |");
    foreach (PageQuestion question in PageQuestion.All(extent.Last.AddDays(1)))
    {
        var own = new List<double>();
        var other = new List<double>();
        int rows = 0;
        for (int round = 0; round < Rounds; round++)
        {
            var clock = Stopwatch.StartNew();
            rows = await question.Ask(log);
            own.Add(clock.Elapsed.TotalMilliseconds);
            if (connection is not null && question.Sql is not null)
            {
                clock.Restart();
                using DuckDBCommand command = connection.CreateCommand();
                command.CommandText = question.Sql;
                using DuckDBDataReader reader = command.ExecuteReader();
                while (reader.Read())
                {
                }

                other.Add(clock.Elapsed.TotalMilliseconds);
            }
        }

        own.Sort();
        other.Sort();
        Console.WriteLine($"| {question.Name} | {rows} | {own[Rounds / 2]:0} | {own[^1]:0} | {(other.Count > 0 ? $"{other[Rounds / 2]:0}" : "-")} |");
    }
}
