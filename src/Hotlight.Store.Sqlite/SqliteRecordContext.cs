using Microsoft.EntityFrameworkCore;

namespace Hotlight.Store.Sqlite;

/// <summary>The record store in one SQLite file.</summary>
public sealed class SqliteRecordContext : RecordContext
{
    /// <summary>Creates the context.</summary>
    /// <param name="options">Options from <see cref="SqliteRecords.Options"/>.</param>
    public SqliteRecordContext(DbContextOptions<SqliteRecordContext> options)
        : base(options)
    {
    }
}
