using System.Diagnostics;
using System.Globalization;
using System.Text;
using Hotlight.Records;
using Hotlight.Store;
using Hotlight.Store.Log;
using Hotlight.Store.Sqlite;
using Hotlight.Testing;

namespace Hotlight.Cli.Tests;

/// <summary>The program is killed at random points of a bringing-in: every table is in the records whole or not at all, and no sum is wrong. Five times; HOTLIGHT_KILLS says otherwise.</summary>
[Collection("command line")]
public sealed class KilledImportTests : IDisposable
{
    private const int Rows = 3000;
    private static readonly int Kills = int.Parse(Environment.GetEnvironmentVariable("HOTLIGHT_KILLS") ?? "5", CultureInfo.InvariantCulture);
    private readonly ScratchFolder folder = new();

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
        long kept = await CountAsync();
        Assert.Equal(Rows, kept);
        int broken = 0;
        for (int table = 1; table <= Kills; table++)
        {
            File.WriteAllText(folder[$"{table}.csv"], TableOf(table));
            using Process process = Start(table);
            await Task.Delay(TimeSpan.FromMilliseconds(usual * (0.2 + random.NextDouble())));
            process.Kill();
            await process.WaitForExitAsync();

            long now = await CountAsync();
            Assert.Contains(now - kept, new long[] { 0, Rows });
            broken += now == kept ? 1 : 0;
            kept = now;
            StoreCheck found = await SqliteUpkeep.CheckAsync(Store);
            Assert.Empty(found.Faults);
            Assert.Equal(kept, found.Entries);
        }

        // Brought in once more, whatever became of each: all are there, each once.
        for (int table = 1; table <= Kills; table++)
        {
            Assert.Equal(0, CommandLineCall.Run("records", "bring-in", folder[$"{table}.csv"], "--mapping", folder["mapping.json"], "--data", folder["data"]).ExitStatus);
        }

        Assert.Equal((Kills + 1L) * Rows, await CountAsync());
        Assert.Equal((Kills + 1L) * Rows, (await SqliteUpkeep.CheckAsync(Store)).Entries);
        Assert.Empty((await SqliteUpkeep.CheckAsync(Store)).Faults);
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

    private async Task<long> CountAsync()
    {
        ExposureLog log = SqliteRecords.Log(Store, TimeProvider.System);
        long entries = await log.CountEntriesAsync(new LogQuery());
        Assert.Equal(entries, (await log.ListAsync(new LogQuery(), 0, int.MaxValue)).Select(each => each.Key).Distinct().Count());
        return entries;
    }

    private Process Start(int table)
    {
        var start = new ProcessStartInfo("dotnet") { RedirectStandardOutput = true, RedirectStandardError = true };
        foreach (string word in new[] { Path.Combine(AppContext.BaseDirectory, "hotlight.dll"), "records", "bring-in", folder[$"{table}.csv"], "--mapping", folder["mapping.json"], "--data", folder["data"] })
        {
            start.ArgumentList.Add(word);
        }

        Process process = Process.Start(start)!;
        _ = process.StandardOutput.ReadToEndAsync();
        _ = process.StandardError.ReadToEndAsync();
        return process;
    }
}
