using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;

namespace Hotlight.Store;

/// <summary>The model of the record store, common to every provider; each provider has its own class and migrations.</summary>
public abstract class RecordContext : DbContext
{
    /// <summary>Creates the context.</summary>
    /// <param name="options">The provider's options.</param>
    protected RecordContext(DbContextOptions options)
        : base(options)
    {
    }

    /// <summary>The cases, deleted ones with them.</summary>
    public DbSet<CaseRow> Cases => Set<CaseRow>();

    /// <summary>The history of answers.</summary>
    public DbSet<AnswerStepRow> AnswerSteps => Set<AnswerStepRow>();

    /// <summary>Facts of the store itself.</summary>
    public DbSet<FactRow> Facts => Set<FactRow>();

    /// <inheritdoc/>
    protected override void OnModelCreating(ModelBuilder modelBuilder)
    {
        ArgumentNullException.ThrowIfNull(modelBuilder);

        // Times are kept as UTC ticks: every provider orders them alike.
        var time = new ValueConverter<DateTimeOffset, long>(value => value.UtcTicks, ticks => new DateTimeOffset(ticks, TimeSpan.Zero));
        modelBuilder.Entity<CaseRow>(row =>
        {
            row.HasKey(each => each.Id);
            row.Property(each => each.Title).HasMaxLength(Workflows.Cases.CaseRecord.TitleMaxLength);
            row.Property(each => each.FileName).HasMaxLength(Workflows.Cases.CaseRecord.FileNameMaxLength);
            row.Property(each => each.ContentHash).HasMaxLength(64);
            row.Property(each => each.ProjectionId).HasMaxLength(100);
            row.Property(each => each.MeasuredBy).HasMaxLength(100);
            row.Property(each => each.Verdict).HasMaxLength(40);
            row.Property(each => each.Version).IsConcurrencyToken();
            row.Property(each => each.Created).HasConversion(time);
            row.Property(each => each.Changed).HasConversion(time);
            row.Property(each => each.Deleted).HasConversion(time);
            row.HasIndex(each => each.ContentHash);
            row.HasIndex(each => new { each.Deleted, each.Created });
        });
        modelBuilder.Entity<AnswerStepRow>(row =>
        {
            row.HasKey(each => new { each.CaseId, each.Step });
            row.Property(each => each.Label).HasMaxLength(300);
            row.Property(each => each.MergeKey).HasMaxLength(200);
            row.Property(each => each.Verdict).HasMaxLength(40);
            row.Property(each => each.Given).HasConversion(time);
            row.HasOne<CaseRow>().WithMany().HasForeignKey(each => each.CaseId).OnDelete(DeleteBehavior.Cascade);
        });
        modelBuilder.Entity<FactRow>(row =>
        {
            row.HasKey(each => each.Name);
            row.Property(each => each.Name).HasMaxLength(100);
        });
    }
}
