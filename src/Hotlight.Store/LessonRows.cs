using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Teaching;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;

namespace Hotlight.Store;

/// <summary>A lesson as it is kept; see <see cref="Lesson"/> for what the members mean.</summary>
public sealed class LessonRow
{
    /// <summary>Identifies it.</summary>
    public Guid Id { get; set; }

    /// <summary>What it is.</summary>
    public LessonKind Kind { get; set; }

    /// <summary>The case it is made of.</summary>
    public Guid? CaseId { get; set; }

    /// <summary>Who made it.</summary>
    public Guid? OwnerId { get; set; }

    /// <summary>The owner's pseudonym then.</summary>
    public required string OwnerPseudonym { get; set; }

    /// <summary>Whether it is made for the demo.</summary>
    public bool IsInvented { get; set; }

    /// <summary>Its title.</summary>
    public required string Title { get; set; }

    /// <summary>What it is found by.</summary>
    public string? Key { get; set; }

    /// <summary>What it holds, as JSON.</summary>
    public required string BodyJson { get; set; }

    /// <summary>Goes up by one with every change.</summary>
    public int Version { get; set; }

    /// <summary>When it was begun.</summary>
    public DateTimeOffset Begun { get; set; }

    /// <summary>When it last changed.</summary>
    public DateTimeOffset Changed { get; set; }

    /// <summary>When it was closed.</summary>
    public DateTimeOffset? Ended { get; set; }
}

/// <summary>The part of the model that holds lessons.</summary>
internal static class LessonModel
{
    /// <summary>Adds the table.</summary>
    /// <param name="modelBuilder">The model.</param>
    /// <param name="time">How times are kept.</param>
    public static void Build(ModelBuilder modelBuilder, ValueConverter<DateTimeOffset, long> time)
    {
        modelBuilder.Entity<LessonRow>(row =>
        {
            row.ToTable("Lessons");
            row.HasKey(each => each.Id);
            row.Property(each => each.Title).HasMaxLength(Lesson.TitleMaxLength);
            row.Property(each => each.Key).HasMaxLength(Lesson.KeyMaxLength);
            row.Property(each => each.OwnerPseudonym).HasMaxLength(Person.PseudonymMaxLength);
            row.Property(each => each.Version).IsConcurrencyToken();
            row.Property(each => each.Begun).HasConversion(time);
            row.Property(each => each.Changed).HasConversion(time);
            row.Property(each => each.Ended).HasConversion(time);
            row.HasIndex(each => new { each.Kind, each.Key }).IsUnique();
            row.HasIndex(each => new { each.Kind, each.Changed });
            row.HasIndex(each => new { each.CaseId, each.Kind });
            row.HasIndex(each => new { each.OwnerId, each.Kind });
            row.HasOne<CaseRow>().WithMany().HasForeignKey(each => each.CaseId).OnDelete(DeleteBehavior.Cascade);
        });
    }
}
