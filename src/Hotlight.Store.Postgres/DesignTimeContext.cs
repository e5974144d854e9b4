using Microsoft.EntityFrameworkCore.Design;

namespace Hotlight.Store.Postgres;

/// <summary>Gives the migrations tool a context; nothing is opened by it.</summary>
internal sealed class DesignTimeContext : IDesignTimeDbContextFactory<PostgresRecordContext>
{
    /// <inheritdoc/>
    public PostgresRecordContext CreateDbContext(string[] args) => new(PostgresRecords.Options("Host=localhost;Database=design"));
}
