using System.Data.Common;
using Microsoft.Data.Sqlite;
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

    /// <inheritdoc/>
    internal override Task<DbTransaction> BeginReadingAsync(CancellationToken cancellation)
        => Task.FromResult<DbTransaction>(((SqliteConnection)Database.GetDbConnection()).BeginTransaction(deferred: true));

    /// <inheritdoc/>
    protected override void OnModelCreating(ModelBuilder modelBuilder)
    {
        base.OnModelCreating(modelBuilder);

        // Pseudonyms are ordered without minding capitals.
        modelBuilder.Entity<CaseRow>().Property(row => row.PatientLabel).UseCollation("NOCASE");
        modelBuilder.Entity<PersonRow>().Property(row => row.Pseudonym).UseCollation("NOCASE");
    }
}
