using Hotlight.Workflows.Measuring;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;

namespace Hotlight.Store;

/// <summary>A case that is to be measured. One row a case: its file never changes, so case, version and settings say what is to be done.</summary>
public sealed class MeasuringJobRow
{
    /// <summary>The case.</summary>
    public Guid CaseId { get; set; }

    /// <summary>Version of Hotlight that is to measure.</summary>
    public required string MeasureBy { get; set; }

    /// <summary>Key of the settings it is to measure with.</summary>
    public required string MeasureWith { get; set; }

    /// <summary>Number of the settings' version.</summary>
    public int SettingsNumber { get; set; }

    /// <summary>The highest is taken first.</summary>
    public long Place { get; set; }

    /// <summary>How it stands.</summary>
    public QueuedState State { get; set; }

    /// <summary>How many attempts were begun.</summary>
    public int Attempts { get; set; }

    /// <summary>Identifies the taking; null where nobody has taken it.</summary>
    public Guid? Lease { get; set; }

    /// <summary>Who is on it, or was last.</summary>
    public string? Worker { get; set; }

    /// <summary>When it was asked for.</summary>
    public DateTimeOffset Asked { get; set; }

    /// <summary>When it may be taken: of one that waits when the next attempt may begin, of one that is taken when the taking ends unless it is extended.</summary>
    public DateTimeOffset Due { get; set; }

    /// <summary>Why the last attempt failed.</summary>
    public string? Reason { get; set; }
}

/// <summary>The model of the measuring queue.</summary>
internal static class MeasuringModel
{
    /// <summary>Longest reason, in characters.</summary>
    public const int ReasonMaxLength = 300;

    /// <summary>Longest name of a worker, in characters.</summary>
    public const int WorkerMaxLength = 100;

    /// <summary>Adds it to the store's model.</summary>
    /// <param name="modelBuilder">The model.</param>
    /// <param name="time">How times are kept.</param>
    public static void Build(ModelBuilder modelBuilder, ValueConverter<DateTimeOffset, long> time) => modelBuilder.Entity<MeasuringJobRow>(row =>
    {
        row.ToTable("MeasuringJobs");
        row.HasKey(each => each.CaseId);
        row.Property(each => each.MeasureBy).HasMaxLength(100);
        row.Property(each => each.MeasureWith).HasMaxLength(64);
        row.Property(each => each.Worker).HasMaxLength(WorkerMaxLength);
        row.Property(each => each.Reason).HasMaxLength(ReasonMaxLength);
        row.Property(each => each.Asked).HasConversion(time);
        row.Property(each => each.Due).HasConversion(time);
        row.HasOne<CaseRow>().WithMany().HasForeignKey(each => each.CaseId).OnDelete(DeleteBehavior.Cascade);

        // The next one is read from the end of it, however long the queue is.
        row.HasIndex(each => new { each.Place, each.CaseId });
    });
}
