using Hotlight.Audit;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;

namespace Hotlight.Store;

/// <summary>An entry of the audit trail as it is kept; see <see cref="AuditEntry"/> for what the members mean.</summary>
public sealed class AuditRow
{
    /// <summary>Its place in the trail.</summary>
    public long Number { get; set; }

    /// <summary>When.</summary>
    public DateTimeOffset At { get; set; }

    /// <summary>Who, by name.</summary>
    public required string By { get; set; }

    /// <summary>Who, by identifier.</summary>
    public Guid? ById { get; set; }

    /// <summary>In which role.</summary>
    public required string Role { get; set; }

    /// <summary>From which address.</summary>
    public required string Address { get; set; }

    /// <summary>What was done.</summary>
    public AuditAct Act { get; set; }

    /// <summary>What it is about.</summary>
    public AuditSubject Subject { get; set; }

    /// <summary>Which one.</summary>
    public required string SubjectId { get; set; }

    /// <summary>What more there is to say.</summary>
    public required string Detail { get; set; }

    /// <summary>Whether it did not come about.</summary>
    public bool IsFailure { get; set; }

    /// <summary>The seal of the entry before.</summary>
    public required string Previous { get; set; }

    /// <summary>The seal of this one.</summary>
    public required string Seal { get; set; }
}

/// <summary>Up to which number entries of the audit trail may be removed; a single row.</summary>
public sealed class AuditRetentionRow
{
    /// <summary>Always 1.</summary>
    public int Id { get; set; }

    /// <summary>The number.</summary>
    public long UpTo { get; set; }
}

/// <summary>The part of the model that holds the audit trail. Triggers of the migrations refuse every change of an entry, and the removal of one that no policy names.</summary>
internal static class AuditModel
{
    /// <summary>Adds the tables.</summary>
    /// <param name="modelBuilder">The model.</param>
    /// <param name="time">How times are kept.</param>
    public static void Build(ModelBuilder modelBuilder, ValueConverter<DateTimeOffset, long> time)
    {
        modelBuilder.Entity<AuditRow>(row =>
        {
            row.ToTable("AuditEntries");
            row.HasKey(each => each.Number);
            row.Property(each => each.Number).ValueGeneratedNever();
            row.Property(each => each.At).HasConversion(time);
            row.Property(each => each.By).HasMaxLength(AuditActor.MaxLength);
            row.Property(each => each.Role).HasMaxLength(AuditActor.MaxLength);
            row.Property(each => each.Address).HasMaxLength(AuditActor.MaxLength);
            row.Property(each => each.SubjectId).HasMaxLength(AuditEvent.SubjectIdMaxLength);
            row.Property(each => each.Detail).HasMaxLength(AuditEvent.DetailMaxLength);
            row.Property(each => each.Previous).HasMaxLength(AuditSeal.Digits);
            row.Property(each => each.Seal).HasMaxLength(AuditSeal.Digits);
            row.HasIndex(each => each.At);
            row.HasIndex(each => new { each.Subject, each.SubjectId, each.Number });
            row.HasIndex(each => new { each.By, each.Number });
        });
        modelBuilder.Entity<AuditRetentionRow>(row =>
        {
            row.ToTable("AuditRetention");
            row.HasKey(each => each.Id);
            row.Property(each => each.Id).ValueGeneratedNever();
        });
    }
}
