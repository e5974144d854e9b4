using System.Collections.Concurrent;
using System.Data.Common;
using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store.Log;

/// <summary>What a coded name is the name of. The numbers are kept in records: never change one.</summary>
internal enum NameKind
{
    /// <summary>A site; the clinic's own has the empty name.</summary>
    Site = 1,

    /// <summary>A projection of the catalogue.</summary>
    Projection = 2,

    /// <summary>A source's words for a projection.</summary>
    GivenProjection = 3,

    /// <summary>A room.</summary>
    Room = 4,

    /// <summary>A receptor.</summary>
    Receptor = 5,

    /// <summary>A pseudonym of who exposed.</summary>
    Performer = 6,
}

/// <summary>Names kept as numbers: an entry is narrow, and a name stands once. A code once given stays; 0 stands for "not told".</summary>
/// <param name="open">Opens a context of the provider.</param>
internal sealed class NameCodes(Func<RecordContext> open)
{
    /// <summary>Code of what is not told.</summary>
    public const int NotTold = 0;

    /// <summary>Code of a name that no entry has.</summary>
    public const int Unknown = -1;

    private readonly ConcurrentDictionary<(NameKind Kind, string Name), int> codes = new();
    private readonly ConcurrentDictionary<int, string> names = new();

    /// <summary>The code of a name; <see cref="Unknown"/> where it has none.</summary>
    /// <param name="kind">What it is the name of.</param>
    /// <param name="name">The name; null: not told. A blank name tells nothing either, but for a site.</param>
    public int CodeOf(NameKind kind, string? name)
        => IsTold(kind, name) ? codes.GetValueOrDefault((kind, name!), Unknown) : NotTold;

    /// <summary>The name of a code; null: not told.</summary>
    /// <param name="code">The code, of an entry that is kept.</param>
    public string? NameOf(int code)
    {
        if (code == NotTold)
        {
            return null;
        }

        if (!names.TryGetValue(code, out string? name))
        {
            // Another process gave the code after the names were read here. Rare, and a reader may be open: on a connection of its own.
            using RecordContext context = open();
            context.Database.OpenConnection();
            LoadAsync(context.Database.GetDbConnection(), CancellationToken.None).GetAwaiter().GetResult();
            name = names[code];
        }

        return name;
    }

    /// <summary>Reads all names.</summary>
    /// <param name="connection">An open connection.</param>
    /// <param name="cancellation">Stops the reading.</param>
    public async Task LoadAsync(DbConnection connection, CancellationToken cancellation)
    {
        await using DbCommand command = connection.CreateCommand();
        command.CommandText = "SELECT id, kind, name FROM log_names";
        await using DbDataReader reader = await command.ExecuteReaderAsync(cancellation);
        while (await reader.ReadAsync(cancellation))
        {
            int code = reader.GetInt32(0);
            string name = reader.GetString(2);
            names[code] = name;
            codes[((NameKind)reader.GetInt32(1), name)] = code;
        }
    }

    /// <summary>Gives a code to every name that has none, in a step of its own: a name without an entry harms nothing.</summary>
    /// <param name="connection">An open connection without a transaction.</param>
    /// <param name="wanted">The names.</param>
    /// <param name="cancellation">Stops before the step.</param>
    public async Task KeepAsync(DbConnection connection, IEnumerable<(NameKind Kind, string? Name)> wanted, CancellationToken cancellation)
    {
        // In one order for every writer, so that two never wait for each other in a circle.
        List<(NameKind Kind, string Name)> missing = [.. wanted.Where(each => CodeOf(each.Kind, each.Name) == Unknown).Select(each => (each.Kind, each.Name!)).Distinct()
            .OrderBy(each => each.Kind).ThenBy(each => each.Item2, StringComparer.Ordinal)];
        if (missing.Count == 0)
        {
            return;
        }

        await using DbTransaction transaction = await connection.BeginTransactionAsync(cancellation);
        await using (DbCommand command = connection.CreateCommand())
        {
            command.Transaction = transaction;
            command.CommandText = "INSERT INTO log_names (kind, name) VALUES (@kind, @name) ON CONFLICT (kind, name) DO NOTHING";
            DbParameter kind = command.CreateParameter();
            kind.ParameterName = "kind";
            DbParameter name = command.CreateParameter();
            name.ParameterName = "name";
            command.Parameters.Add(kind);
            command.Parameters.Add(name);
            foreach ((NameKind Kind, string Name) each in missing)
            {
                kind.Value = (int)each.Kind;
                name.Value = each.Name;
                await command.ExecuteNonQueryAsync(cancellation);
            }
        }

        await transaction.CommitAsync(cancellation);
        await LoadAsync(connection, cancellation);
    }

    private static bool IsTold(NameKind kind, string? name) => kind == NameKind.Site ? name is not null : !string.IsNullOrWhiteSpace(name);
}
