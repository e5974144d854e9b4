using System.Diagnostics;
using System.Globalization;
using System.Text;
using Hotlight.Records;
using Hotlight.Store;
using Hotlight.Store.Log;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Store.Tests;
using Hotlight.Testing;
using Hotlight.Workflows.Records;
using Npgsql;

namespace Hotlight.Cli.Tests;

/// <summary>The program is killed at random points of a bringing-in: every table is in the records whole or not at all, and no sum is wrong. Five times with each database; HOTLIGHT_KILLS says otherwise.</summary>
[Collection("command line")]
public sealed class KilledImportTests : IDisposable
{
    private const int Rows = 3000;
    private static readonly int Kills = int.Parse(Environment.GetEnvironmentVariable("HOTLIGHT_KILLS") ?? "5", CultureInfo.InvariantCulture);
    private readonly ScratchFolder folder = new();
    private string[] where = [];

    private string Store => Path.Combine(folder["data"], "records.db");

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public async Task BringIn_KilledAtRandomPoints_LosesAndDoublesNothing()
    {
        Directory.CreateDirectory(folder["data"]);
        await SqliteRecords.OpenAsync(Store, TimeProvider.System);
        await BringInAndKillAsync(SqliteRecords.Log(Store, TimeProvider.System), () => SqliteUpkeep.CheckAsync(Store), () => Task.CompletedTask);
    }

    [PostgresFact]
    public async Task BringIn_KilledAtRandomPointsBeforePostgres_LosesAndDoublesNothing()
    {
        Directory.CreateDirectory(folder["data"]);
        string connection = PostgresServer.Instance.NewDatabase();
        string address = PostgresServer.AddressOf(connection);
        where = ["--store", address];
        await using PostgresRecords records = await PostgresRecords.OpenAsync(PostgresAddress.Parse(address), TimeProvider.System);
        await BringInAndKillAsync(records.Log, () => PostgresUpkeep.CheckAsync(PostgresAddress.Parse(address)), async () =>
        {
            // The server notices only after a while that whoever asked is gone: what it is still doing it does first.
            await using var open = new NpgsqlConnection(connection);
            await open.OpenAsync();
            await using NpgsqlCommand command = open.CreateCommand();
            command.CommandText = "SELECT COUNT(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid() AND (xact_start IS NOT NULL OR state = 'active')";
            while ((long)(await command.ExecuteScalarAsync())! > 0)
            {
                await Task.Delay(20);
            }
        });
    }

    private async Task BringInAndKillAsync(ExposureLog log, Func<Task<StoreCheck>> checkAsync, Func<Task> settledAsync)
    {
        File.WriteAllText(folder["0.csv"], TableOf(0));
        File.WriteAllText(folder["mapping.json"], CommandLineCall.Run("records", "look", folder["0.csv"]).Output);
        var clock = Stopwatch.StartNew();
        using (Process whole = Start(0))
        {
            await whole.WaitForExitAsync();
            Assert.Equal(0, whole.ExitCode);
        }

        // Killed anywhere from the start of the program to a little after its usual end.
        double usual = clock.Elapsed.TotalMilliseconds;
        var random = new Random(20261127);
        long kept = await CountAsync(log);
        Assert.Equal(Rows, kept);
        int broken = 0;
        for (int table = 1; table <= Kills; table++)
        {
            File.WriteAllText(folder[$"{table}.csv"], TableOf(table));
            using Process process = Start(table);
            await Task.Delay(TimeSpan.FromMilliseconds(usual * (0.2 + random.NextDouble())));
            process.Kill();
            await process.WaitForExitAsync();
            await settledAsync();

            long now = await CountAsync(log);
            Assert.Contains(now - kept, new long[] { 0, Rows });
            broken += now == kept ? 1 : 0;
            kept = now;
            StoreCheck found = await checkAsync();
            Assert.Empty(found.Faults);
            Assert.Equal(kept, found.Entries);
        }

        // Brought in once more, whatever became of each: all are there, each once.
        for (int table = 1; table <= Kills; table++)
        {
            Assert.Equal(0, CommandLineCall.Run(Words(table)).ExitStatus);
        }

        Assert.Equal((Kills + 1L) * Rows, await CountAsync(log));
        Assert.Equal((Kills + 1L) * Rows, (await checkAsync()).Entries);
        Assert.Empty((await checkAsync()).Faults);
        Assert.True(broken > 0 || Kills < 5, "No kill met a bringing-in under way: the test tested nothing.");
    }

    private static string TableOf(int table)
    {
        // A table of its own month, an exposure a minute.
        DateTime start = new DateTime(2020, 1, 1).AddMonths(table);
        var text = new StringBuilder("Datum;Uhrzeit;Raum;Untersuchung;Verworfen;Grund\n");
        for (int row = 0; row < Rows; row++)
        {
            DateTime at = start.AddMinutes(row * 7);
            text.Append(CultureInfo.InvariantCulture, $"{at:dd.MM.yyyy};{at:HH:mm};Raum {row % 5};{(row % 2 == 0 ? "Handgelenk p.a." : "Knie seitlich")};{(row % 11 == 0 ? "ja;Lagerung" : "nein;")}\n");
        }

        return text.ToString();
    }

    private static async Task<long> CountAsync(ExposureLog log)
    {
        long entries = await log.CountEntriesAsync(new LogQuery());
        Assert.Equal(entries, (await log.ListAsync(new LogQuery(), 0, int.MaxValue)).Select(each => each.Key).Distinct().Count());
        return entries;
    }

    private string[] Words(int table) => ["records", "bring-in", folder[$"{table}.csv"], "--mapping", folder["mapping.json"], "--data", folder["data"], .. where];

    private Process Start(int table)
    {
        var start = new ProcessStartInfo("dotnet") { RedirectStandardOutput = true, RedirectStandardError = true };
        foreach (string word in Words(table).Prepend(Path.Combine(AppContext.BaseDirectory, "hotlight.dll")))
        {
            start.ArgumentList.Add(word);
        }

        Process process = Process.Start(start)!;
        _ = process.StandardOutput.ReadToEndAsync();
        _ = process.StandardError.ReadToEndAsync();
        return process;
    }
}

/// <summary>A test that needs PostgreSQL, skipped with a clear word where the server is not installed.</summary>
[AttributeUsage(AttributeTargets.Method)]
internal sealed class PostgresFactAttribute : FactAttribute
{
    public PostgresFactAttribute() => Skip = PostgresServer.IsInstalled ? null : PostgresServer.Missing;
}
