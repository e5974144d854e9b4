using System.Diagnostics;
using System.Globalization;
using DuckDB.NET.Data;
using Hotlight.Benchmarks.Records;
using Hotlight.Records;
using Hotlight.Store.Log;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Records;
using Npgsql;

CultureInfo.CurrentCulture = CultureInfo.InvariantCulture;
if (args.Length < 2 || args[0] is not ("load" or "fill" or "recount" or "check" or "ask" or "duckdb" or "pages"))
{
    Console.Error.WriteLine("""
        load STORE ENTRIES   fills the log of a store (a file's path or postgres://...) with exposures of an invented department, a year at a time
        fill STORE ENTRIES   the same, in PostgreSQL, with the triggers of the sums off; the sums are worked out once at the end
        recount STORE        works every sum out anew from the entries
        check STORE          compares every sum with the entries, as 'hotlight store check' does
        duckdb FILE ENTRIES  the same exposures as one table of a DuckDB file
        pages ADDRESS [PAGE...]  times the pages of a bench that runs on one of these stores, in Chromium; HOTLIGHT_BENCH: number of its process
        ask STORE [DUCKDB]   times every question of the pages, and the same of DuckDB alone on its file; 5 rounds after one
        """);
    return 2;
}

long entries = args[0] is "ask" or "recount" or "check" or "pages" ? 0 : long.Parse(args[2], CultureInfo.InvariantCulture);

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
    case "fill":
        ExposureLog filled = await OpenAsync(args[1]);
        await TriggersAsync(args[1], "DISABLE");
        await LoadAsync(filled, department);
        await filled.RecountAsync();
        await TriggersAsync(args[1], "ENABLE");
        break;
    case "pages":
        await PageTimes.TimeAsync(args[1].TrimEnd('/'), args[2..], () => PageTimes.ProcessorMs(Environment.GetEnvironmentVariable("HOTLIGHT_BENCH")) + PageTimes.ProcessorMs(Environment.GetEnvironmentVariable("HOTLIGHT_POSTMASTER")));
        break;
    case "recount":
        await (await OpenAsync(args[1])).RecountAsync();
        break;
    case "check":
        LogCheck found = await (await OpenAsync(args[1])).CheckAsync();
        Console.WriteLine($"{found.Entries} entries; {(found.Faults.Count == 0 ? "every sum is what the entries give" : string.Join(" ", found.Faults))}");
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

static async Task TriggersAsync(string store, string word)
{
    var address = new Uri(store);
    await using var connection = new NpgsqlConnection($"Host={address.Host};Port={(address.Port > 0 ? address.Port : 5432)};Username={address.UserInfo};Database={address.AbsolutePath[1..]}");
    await connection.OpenAsync();
    await using NpgsqlCommand command = connection.CreateCommand();
    command.CommandText = $"ALTER TABLE log_entries {word} TRIGGER USER";
    await command.ExecuteNonQueryAsync();
}

static async Task LoadAsync(ExposureLog log, InventedDepartment department)
{
    // A load that was stopped goes on with the first year that is missing.
    HashSet<string> there = [.. (await log.ImportsAsync(string.Empty)).Select(import => import.Title)];

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

        if (there.Contains(TitleOf(year)))
        {
            Console.WriteLine($"{year}: there already, {OfYear().Count()}");
            continue;
        }

        var clock = Stopwatch.StartNew();
        LogImport kept = await log.AddAsync(new LogImport { Id = Guid.NewGuid(), Title = TitleOf(year), Source = EntrySource.Header }, OfYear());
        Console.WriteLine($"{year}: {kept.Added} added in {clock.Elapsed.TotalSeconds:0.0} s");
    }
}

static string TitleOf(int year) => $"archive of {year}";

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
    Console.WriteLine("| question | rows | median ms | processor ms | DuckDB alone, median ms | its processor ms |");
    Console.WriteLine("| --- | ---: | ---: | ---: | ---: | ---: |");
    foreach (PageQuestion question in PageQuestion.All(extent.Last.AddDays(1)))
    {
        int rows = 0;
        (double wall, double processor) = await TimeAsync(async () => rows = await question.Ask(log));
        string other = "- | -";
        if (connection is not null && question.Sql is not null)
        {
            (double duckWall, double duckProcessor) = await TimeAsync(() =>
            {
                using DuckDBCommand command = connection.CreateCommand();
                command.CommandText = question.Sql;
                using DuckDBDataReader reader = command.ExecuteReader();
                while (reader.Read())
                {
                }

                return Task.CompletedTask;
            });
            other = $"{duckWall:0} | {duckProcessor:0}";
        }

        Console.WriteLine($"| {question.Name} | {rows} | {wall:0} | {processor:0} | {other} |");
    }

    // Processor time tells what a question costs, whatever else the machine does; the mean of the rounds, since a server's is told in hundredths of a second.
    static async Task<(double Wall, double Processor)> TimeAsync(Func<Task> ask)
    {
        await ask();
        var times = new List<double>();
        double before = ProcessorMs();
        for (int round = 0; round < Rounds; round++)
        {
            var clock = Stopwatch.StartNew();
            await ask();
            times.Add(clock.Elapsed.TotalMilliseconds);
        }

        times.Sort();
        return (times[Rounds / 2], (ProcessorMs() - before) / Rounds);
    }

    // This process and the PostgreSQL server named by HOTLIGHT_POSTMASTER (the number of its first process), with all it started.
    static double ProcessorMs()
        => Process.GetCurrentProcess().TotalProcessorTime.TotalMilliseconds + PageTimes.ProcessorMs(Environment.GetEnvironmentVariable("HOTLIGHT_POSTMASTER"));
}
