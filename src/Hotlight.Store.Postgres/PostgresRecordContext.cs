using System.Data;
using System.Data.Common;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

namespace Hotlight.Store.Postgres;

/// <summary>The record store in a PostgreSQL database.</summary>
public sealed class PostgresRecordContext : RecordContext
{
    // Beside those of the exposures and of the migrations.
    private const long TrailLock = 0x484C_0004;

    /// <summary>Creates the context.</summary>
    /// <param name="options">Options from <see cref="PostgresRecords"/>.</param>
    public PostgresRecordContext(DbContextOptions<PostgresRecordContext> options)
        : base(options)
    {
    }

    /// <inheritdoc/>
    internal override async Task<DbTransaction> BeginReadingAsync(CancellationToken cancellation)
        => await Database.GetDbConnection().BeginTransactionAsync(IsolationLevel.RepeatableRead, cancellation);

    /// <inheritdoc/>
    internal override bool HoldsWritersOff => false;

    /// <inheritdoc/>
    internal override string SkipWhatOthersHold => "FOR UPDATE OF j SKIP LOCKED";

    /// <inheritdoc/>
    internal override Task HoldTrailAsync(CancellationToken cancellation) => Database.ExecuteSqlAsync($"SELECT pg_advisory_xact_lock({TrailLock})", cancellation);

    /// <inheritdoc/>
    internal override IQueryable<CaseRow> CasesToChange(Guid[] ids)
        => Cases.FromSql($"""SELECT * FROM "Cases" WHERE "Id" = ANY ({ids}) ORDER BY "Id" FOR UPDATE""");

    /// <inheritdoc/>
    protected override void OnModelCreating(ModelBuilder modelBuilder)
    {
        base.OnModelCreating(modelBuilder);

        // A row of an index here holds at most 2.7 kB: the words to search in stay in the table.
        IMutableEntityType cases = modelBuilder.Entity<CaseRow>().Metadata;
        cases.RemoveIndex(cases.FindIndex("IX_Cases_Worklist")!);
        modelBuilder.Entity<CaseRow>().HasIndex(each => new { each.Deleted, each.ListOrder, each.Id, each.State, each.Verdict, each.ReceivedBy, each.ProjectionId, each.AssigneeId, each.Dated, each.IsInvented }, "IX_Cases_Worklist");

        // Texts are ordered letter by letter, whatever the language of the server, and what is missing stands first: as in the embedded store.
        foreach (IMutableEntityType type in modelBuilder.Model.GetEntityTypes())
        {
            foreach (IMutableProperty property in type.GetProperties().Where(property => property.ClrType == typeof(string)))
            {
                property.SetCollation("C");
            }

            foreach (IMutableIndex index in type.GetIndexes())
            {
                index.SetNullSortOrder(Enumerable.Repeat(NullSortOrder.NullsFirst, index.Properties.Count).ToArray());
            }
        }
    }
}
