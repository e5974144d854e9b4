using System.Security.Cryptography;
using Hotlight.Store;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Web;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;
using Microsoft.AspNetCore.Builder;
using Microsoft.Data.Sqlite;
using Npgsql;

namespace Hotlight.Kills;

/// <summary>Where a killed program works.</summary>
/// <param name="Folder">Its folder; the data folder of the bench lies in it.</param>
/// <param name="Store">Address of a PostgreSQL database; null: records in a file.</param>
public sealed record WorkPlace(string Folder, string? Store)
{
    /// <summary>The bench's data folder.</summary>
    public string Data => Path.Combine(Folder, "data");

    /// <summary>The records, where they lie in a file.</summary>
    public string Records => Path.Combine(Data, KeptRecords.FileName);

    private BenchOptions Options => new() { Port = 0, DataFolder = Data, WithDemoCases = false, Setting = IntakeSetting.Clinical, Store = Store is null ? null : PostgresAddress.Parse(Store + "?timeout=300&command%20timeout=300") };

    /// <summary>Starts the bench in this process.</summary>
    public Task<WebApplication> StartAsync() => Bench.StartAsync(Options, TextWriter.Null);

    /// <summary>Opens the records as the bench does.</summary>
    public Task<KeptRecords> OpenAsync()
    {
        Directory.CreateDirectory(Data);
        return KeptRecords.OpenAsync(Options, TimeProvider.System, new CaseNews());
    }

    /// <summary>Waits until the server has noticed that whoever asked is gone, and done what it was still doing.</summary>
    public async Task SettledAsync()
    {
        if (Store is null)
        {
            return;
        }

        var address = new Uri(Store);
        await using var open = new NpgsqlConnection($"Host={address.Host};Port={address.Port};Username={address.UserInfo};Database={address.AbsolutePath[1..]}");
        await open.OpenAsync();
        await using NpgsqlCommand command = open.CreateCommand();
        command.CommandText = "SELECT COUNT(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid() AND (xact_start IS NOT NULL OR state = 'active')";
        while ((long)(await command.ExecuteScalarAsync())! > 0)
        {
            await Task.Delay(20);
        }
    }

    /// <summary>Looks records, audit trail and kept files over.</summary>
    /// <param name="kept">The opened records.</param>
    /// <param name="faults">Where faults are put, a sentence each.</param>
    public async Task LookOverAsync(KeptRecords kept, List<string> faults)
    {
        faults.AddRange((await kept.Trail.CheckAsync()).Faults);
        faults.AddRange((Store is null ? await SqliteUpkeep.CheckAsync(Records) : await PostgresUpkeep.CheckAsync(PostgresAddress.Parse(Store))).Faults);
        string files = Path.Combine(Data, "files");
        foreach (string file in Directory.Exists(files) ? Directory.EnumerateFiles(files, "*", SearchOption.AllDirectories) : [])
        {
            if (Path.GetFileName(Path.GetDirectoryName(file)) != "arriving" && Hash(await File.ReadAllBytesAsync(file)) != Path.GetFileName(file))
            {
                faults.Add($"The file {Path.GetFileName(file)} is not what its name says.");
            }
        }
    }

    /// <summary>Whether a kept file is there, whole.</summary>
    /// <param name="hash">Its SHA-256.</param>
    public bool HasFile(string hash) => Path.Combine(Data, "files", hash[..2], hash) is { } path && File.Exists(path) && Hash(File.ReadAllBytes(path)) == hash;

    /// <summary>SHA-256 in small hexadecimal digits.</summary>
    /// <param name="content">Of what.</param>
    public static string Hash(byte[] content) => Convert.ToHexStringLower(SHA256.HashData(content));

    /// <summary>Lets go of every file that this process holds.</summary>
    public static void LetGo() => SqliteConnection.ClearAllPools();
}
