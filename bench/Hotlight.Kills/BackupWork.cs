using System.Globalization;
using Hotlight.Store;
using Hotlight.Store.Sqlite;
using Hotlight.Web;
using Hotlight.Workflows.Cases;
using Microsoft.Data.Sqlite;

namespace Hotlight.Kills;

/// <summary>Records are changed, backed up under new names, and a backup is put in their place. What is about to happen is said too: a kill leaves what was before or what comes after, and nothing else.</summary>
internal sealed class BackupWork : Work
{
    private readonly Dictionary<string, string> backups = new(StringComparer.Ordinal);
    private string fact = "none";

    /// <inheritdoc/>
    public override double LongestMs => 3000;

    /// <inheritdoc/>
    public override async Task WorkAsync(WorkPlace place, Random random, Acknowledgement acknowledged)
    {
        string folder = Directory.CreateDirectory(Path.Combine(place.Folder, "backups")).FullName;
        var made = new List<(string Path, string Fact)>();
        IRecordStore store = await SqliteRecords.OpenAsync(place.Records, TimeProvider.System);
        acknowledged.Begin();
        DateTimeOffset time = TimeProvider.System.GetUtcNow();
        for (int act = 0; ; act++)
        {
            string name = string.Create(CultureInfo.InvariantCulture, $"{Environment.ProcessId}-{act}");
            acknowledged.Say($"begins {name}");
            await store.KeepFactAsync("act", name);
            acknowledged.Say($"act {name}");
            string backup = Path.Combine(folder, name + ".db");
            await SqliteUpkeep.BackUpAsync(place.Records, backup);
            made.Add((backup, name));
            acknowledged.Say($"backup {name} {backup}");
            if (random.Next(2) == 0)
            {
                (string from, string then) = made[random.Next(made.Count)];
                acknowledged.Say($"begins {then}");
                time = time.AddSeconds(1);
                await SqliteUpkeep.RestoreAsync(from, place.Records, replaces: true, time);
                acknowledged.Say($"act {then}");
            }
        }
    }

    /// <inheritdoc/>
    public override async Task CheckAsync(WorkPlace place, IReadOnlyList<string> said, List<string> faults)
    {
        if (!File.Exists(place.Records))
        {
            faults.Add("No records are at their place.");
            return;
        }

        string? begun = null;
        foreach (string[] words in said.Select(line => line.Split(' ', 3)))
        {
            switch (words[0])
            {
                case "begins":
                    begun = words[1];
                    break;
                case "act":
                    (fact, begun) = (words[1], null);
                    break;
                default:
                    backups[words[2]] = words[1];
                    break;
            }
        }

        string there = await FactAsync(place.Records) ?? "none";
        if (there != fact && there != begun)
        {
            faults.Add($"'{fact}' was acknowledged, '{there}' is there.");
        }

        fact = there;
        foreach ((string path, string then) in backups)
        {
            if (!File.Exists(path) || await FactAsync(path) != then)
            {
                faults.Add($"The backup {Path.GetFileName(path)} is lost or holds something else.");
            }
        }

        // Whatever bears the name of a store is whole.
        foreach (string path in Directory.GetFiles(place.Folder, "*.db", SearchOption.AllDirectories))
        {
            StoreCheck found = await SqliteUpkeep.CheckAsync(path);
            faults.AddRange(found.Faults.Select(fault => $"{Path.GetFileName(path)}: {fault}"));
        }

        WorkPlace.LetGo();

        // What was looked over makes room for what comes.
        foreach (string path in Directory.GetFiles(place.Folder, "*.db", SearchOption.AllDirectories).Where(path => path != place.Records))
        {
            File.Delete(path);
        }

        backups.Clear();
    }

    private static async Task<string?> FactAsync(string path)
    {
        await using var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Pooling = false }.ToString());
        await connection.OpenAsync();
        await using SqliteCommand command = connection.CreateCommand();
        command.CommandText = "SELECT Value FROM Facts WHERE Name = 'act'";
        return (string?)await command.ExecuteScalarAsync();
    }
}
