using Microsoft.EntityFrameworkCore.Design;

namespace Hotlight.Store.Sqlite;

/// <summary>Gives the migrations tool a context; nothing is opened by it.</summary>
internal sealed class DesignTimeContext : IDesignTimeDbContextFactory<SqliteRecordContext>
{
    /// <inheritdoc/>
    public SqliteRecordContext CreateDbContext(string[] args) => new(SqliteRecords.Options("design.db"));
}
