using System.Globalization;
using Hotlight.Workflows.Cases;
using Npgsql;

namespace Hotlight.Store.Postgres;

/// <summary>Passes on what other servers of the same database change: the database itself tells (triggers on the tables, with the commit), and this listens.</summary>
/// <param name="address">Where the database is.</param>
/// <param name="news">Told of what others changed; one's own changes are told where they are made.</param>
internal sealed class CaseNewsRelay(PostgresAddress address, CaseNews news) : IAsyncDisposable
{
    /// <summary>Name of the channel for cases and readings that are opened like cases; the migrations write it too.</summary>
    public const string Channel = "hotlight_cases";

    /// <summary>Name of the channel for what changes beside the cases; the migration writes it too.</summary>
    public const string ChannelBeside = "hotlight_beside";

    private static readonly TimeSpan Pause = TimeSpan.FromSeconds(2);
    private readonly CancellationTokenSource stop = new();
    private readonly string self = new NpgsqlConnectionStringBuilder(address.ConnectionString).ApplicationName!;
    private Task? listening;

    /// <summary>Begins to listen; when this returns nothing that is told from now on is missed while the connection holds.</summary>
    /// <param name="cancellation">Stops the beginning.</param>
    public async Task StartAsync(CancellationToken cancellation)
    {
        NpgsqlConnection connection = await ConnectAsync(cancellation);
        listening = Task.Run(() => ListenAsync(connection), CancellationToken.None);
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await stop.CancelAsync();
        if (listening is not null)
        {
            await listening;
        }

        stop.Dispose();
    }

    private async Task<NpgsqlConnection> ConnectAsync(CancellationToken cancellation)
    {
        // A connection of its own, outside the pool, that notices a server gone silent.
        var settings = new NpgsqlConnectionStringBuilder(address.ConnectionString) { Pooling = false, KeepAlive = 30 };
        var connection = new NpgsqlConnection(settings.ConnectionString);
        try
        {
            await connection.OpenAsync(cancellation);
            connection.Notification += (_, told) => Pass(told.Channel, told.Payload);
            await using NpgsqlCommand command = connection.CreateCommand();
            command.CommandText = $"LISTEN {Channel}; LISTEN {ChannelBeside}";
            await command.ExecuteNonQueryAsync(cancellation);
            return connection;
        }
        catch
        {
            await connection.DisposeAsync();
            throw;
        }
    }

    private async Task ListenAsync(NpgsqlConnection? connection)
    {
        while (!stop.IsCancellationRequested)
        {
            try
            {
                if (connection is null)
                {
                    connection = await ConnectAsync(stop.Token);

                    // Settings and queue are worked with whether or not a page is opened: they are looked at again.
                    news.TellBeside(StoreTopic.Settings);
                    news.TellBeside(StoreTopic.Queue);
                }

                while (true)
                {
                    await connection.WaitAsync(stop.Token);
                }
            }
            catch (OperationCanceledException)
            {
                break;
            }
            catch (Exception error) when (error is NpgsqlException or IOException or ObjectDisposedException or InvalidOperationException)
            {
                // The server went away: listen again as soon as it is back. What was told meanwhile is seen when a page is opened again.
                if (connection is not null)
                {
                    await connection.DisposeAsync();
                    connection = null;
                }

                await Task.Delay(Pause, stop.Token).ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.None, TaskScheduler.Default);
            }
        }

        if (connection is not null)
        {
            await connection.DisposeAsync();
        }
    }

    // "server|case|event|version", and "server|topic|about" on the other channel.
    private void Pass(string channel, string payload)
    {
        string[] parts = payload.Split('|');
        if (channel == ChannelBeside)
        {
            if (parts.Length == 3 && parts[0] != self && Enum.TryParse(parts[1], out StoreTopic topic))
            {
                news.TellBeside(topic, Guid.TryParse(parts[2], out Guid about) ? about : Guid.Empty);
            }

            return;
        }

        if (parts.Length == 4 && parts[0] != self && Guid.TryParse(parts[1], out Guid id) && Enum.TryParse(parts[2], out CaseEvent what)
            && int.TryParse(parts[3], NumberStyles.None, CultureInfo.InvariantCulture, out int version))
        {
            news.Tell(id, what, version);
        }
    }
}
