using System.Data.Common;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
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

    /// <summary>The long texts of the cases.</summary>
    public DbSet<CaseDocumentsRow> CaseDocuments => Set<CaseDocumentsRow>();

    /// <summary>The history of answers.</summary>
    public DbSet<AnswerStepRow> AnswerSteps => Set<AnswerStepRow>();

    /// <summary>Facts of the store itself.</summary>
    public DbSet<FactRow> Facts => Set<FactRow>();

    /// <summary>The people of the newest settings.</summary>
    public DbSet<PersonRow> People => Set<PersonRow>();

    /// <summary>The versions of the clinic's settings.</summary>
    public DbSet<ClinicRow> ClinicVersions => Set<ClinicRow>();

    /// <summary>The cases that are to be measured.</summary>
    public DbSet<MeasuringJobRow> MeasuringJobs => Set<MeasuringJobRow>();

    /// <summary>Begins a transaction on the open connection that only reads, sees one moment and holds no writer off.</summary>
    /// <param name="cancellation">Stops before it.</param>
    internal abstract Task<DbTransaction> BeginReadingAsync(CancellationToken cancellation);

    /// <summary>Whether a writing transaction holds every other writer off.</summary>
    internal virtual bool HoldsWritersOff => true;

    /// <summary>Holds every other writer of the audit trail off until the transaction under way ends.</summary>
    /// <param name="cancellation">Stops the waiting.</param>
    internal virtual Task HoldTrailAsync(CancellationToken cancellation) => Task.CompletedTask;

    /// <summary>Ends a query of one <c>j</c> that is to be changed, so that what other transactions are changing is passed over; empty where one writer holds every other off.</summary>
    internal virtual string SkipWhatOthersHold => string.Empty;

    /// <summary>Cases that are to be changed in the transaction under way, held until it ends so that nobody else changes them between.</summary>
    /// <param name="ids">Which.</param>
    internal virtual IQueryable<CaseRow> CasesToChange(Guid[] ids) => Cases.Where(each => ids.Contains(each.Id));

    /// <inheritdoc/>
    protected override void OnModelCreating(ModelBuilder modelBuilder)
    {
        ArgumentNullException.ThrowIfNull(modelBuilder);

        // Times are kept as UTC ticks: every provider orders them alike.
        var time = new ValueConverter<DateTimeOffset, long>(value => value.UtcTicks, ticks => new DateTimeOffset(ticks, TimeSpan.Zero));
        modelBuilder.Entity<CaseRow>(row =>
        {
            row.HasKey(each => each.Id);
            row.Property(each => each.Title).HasMaxLength(CaseRecord.TitleMaxLength);
            row.Property(each => each.TitleOrder).HasMaxLength(CaseRecord.TitleMaxLength);
            row.Property(each => each.FileName).HasMaxLength(CaseRecord.FileNameMaxLength);
            row.Property(each => each.ContentHash).HasMaxLength(64);
            row.Property(each => each.ProjectionId).HasMaxLength(100);
            row.Property(each => each.MeasuredBy).HasMaxLength(100);
            row.Property(each => each.Verdict).HasMaxLength(40);
            row.Property(each => each.Version).IsConcurrencyToken();
            row.Property(each => each.FilingVersion).IsConcurrencyToken();
            row.Property(each => each.Created).HasConversion(time);
            row.Property(each => each.Changed).HasConversion(time);
            row.Property(each => each.Deleted).HasConversion(time);
            row.Property(each => each.MeasuredWith).HasMaxLength(64);
            foreach (string name in new[] { nameof(CaseRow.PatientKey), nameof(CaseRow.PatientLabel), nameof(CaseRow.ExaminationKey), nameof(CaseRow.SeriesUid), nameof(CaseRow.SopInstanceUid), nameof(CaseRow.AccessionKey), nameof(CaseRow.ExaminationGroup), nameof(CaseRow.PatientGroup) })
            {
                row.Property(name).HasMaxLength(CaseRecord.KeyMaxLength);
            }

            row.Property(each => each.AssigneeOrder).HasMaxLength(Person.PseudonymMaxLength);
            row.Property(each => each.Modality).HasMaxLength(16);
            row.Property(each => each.Laterality).HasMaxLength(16);
            row.Property(each => each.Tags).HasMaxLength(CaseRecord.TagsMaxLength);
            row.Property(each => each.AcquiredAt).HasConversion(time);
            row.Property(each => each.Dated).HasConversion(time);
            row.HasOne(each => each.Documents).WithOne().HasForeignKey<CaseDocumentsRow>(each => each.CaseId).OnDelete(DeleteBehavior.Cascade);
            row.HasIndex(each => each.ContentHash);
            row.HasIndex(each => each.SopInstanceUid);

            // One for each order of the worklist; the place in the list settles ties, and the identifier makes each page a read of the index alone.
            row.HasIndex(each => new { each.Deleted, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.TitleOrder, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.PatientLabel, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.ProjectionId, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.Verdict, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.State, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.AssigneeOrder, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.AssigneeId, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.Dated, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.Changed, each.ListOrder, each.Id });
            row.HasIndex(each => new { each.Deleted, each.ExaminationGroup, each.ListOrder });
            row.HasIndex(each => new { each.Deleted, each.PatientGroup, each.ListOrder });

            // What is counted on every page of the list; and everything that words, filters and their counts look at.
            row.HasIndex(each => new { each.Deleted, each.State, each.Verdict, each.ReceivedBy });
            row.HasIndex(each => new { each.Deleted, each.ListOrder, each.Id, each.State, each.Verdict, each.ReceivedBy, each.ProjectionId, each.AssigneeId, each.Dated, each.IsInvented, each.SearchText }, "IX_Cases_Worklist");
        });
        modelBuilder.Entity<CaseDocumentsRow>(row => row.HasKey(each => each.CaseId));
        modelBuilder.Entity<AnswerStepRow>(row =>
        {
            row.HasKey(each => new { each.CaseId, each.Step });
            row.Property(each => each.Label).HasMaxLength(300);
            row.Property(each => each.MergeKey).HasMaxLength(200);
            row.Property(each => each.Verdict).HasMaxLength(40);
            row.Property(each => each.Given).HasConversion(time);
            row.HasOne<CaseRow>().WithMany().HasForeignKey(each => each.CaseId).OnDelete(DeleteBehavior.Cascade);
        });
        modelBuilder.Entity<PersonRow>(row =>
        {
            row.HasKey(each => each.Id);
            row.Property(each => each.Pseudonym).HasMaxLength(Person.PseudonymMaxLength);
        });
        modelBuilder.Entity<ClinicRow>(row =>
        {
            row.HasKey(each => each.Number);
            row.Property(each => each.Number).ValueGeneratedNever();
            row.Property(each => each.Label).HasMaxLength(300);
            row.Property(each => each.Changed).HasConversion(time);
        });
        modelBuilder.Entity<FactRow>(row =>
        {
            row.HasKey(each => each.Name);
            row.Property(each => each.Name).HasMaxLength(100);
        });
        ReadingModel.Build(modelBuilder, time);
        MeasuringModel.Build(modelBuilder, time);
        LessonModel.Build(modelBuilder, time);
        AuditModel.Build(modelBuilder, time);
        PeopleModel.Build(modelBuilder, time);
    }
}
