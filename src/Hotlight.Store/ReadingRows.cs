using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;

namespace Hotlight.Store;

/// <summary>A reading as it is kept; see <see cref="OwnReading"/> for what the members mean. It outlives its case: what a reader finished stays with the reader.</summary>
public sealed class ReadingRow : IAnsweredRow
{
    /// <summary>Identifies the reading.</summary>
    public Guid Id { get; set; }

    /// <summary>The case; it may be gone.</summary>
    public Guid CaseId { get; set; }

    /// <summary>Title of the case.</summary>
    public required string CaseTitle { get; set; }

    /// <summary>Projection of the case.</summary>
    public required string ProjectionId { get; set; }

    /// <summary>Who reads.</summary>
    public Guid ReaderId { get; set; }

    /// <summary>The reader's pseudonym then.</summary>
    public required string ReaderPseudonym { get; set; }

    /// <summary>The reader's role then.</summary>
    public PersonRole ReaderRole { get; set; }

    /// <summary>Whether the reader is made for the demo.</summary>
    public bool IsInvented { get; set; }

    /// <summary>Which of the reader's readings of the case.</summary>
    public int Number { get; set; }

    /// <summary>What the reader could know of others' answers.</summary>
    public ReadingCondition Condition { get; set; }

    /// <summary>The answers, as JSON.</summary>
    public required string AnswersJson { get; set; }

    /// <summary>Term of the verdict.</summary>
    public string? Verdict { get; set; }

    /// <summary>Place in the history of answers.</summary>
    public int AnswerStep { get; set; }

    /// <summary>Last step the history holds.</summary>
    public int LastAnswerStep { get; set; }

    /// <summary>Goes up by one with every change.</summary>
    public int Version { get; set; }

    /// <summary>How long the reader worked, in seconds.</summary>
    public double ReadingSeconds { get; set; }

    /// <summary>When it began.</summary>
    public DateTimeOffset Begun { get; set; }

    /// <summary>When it last changed.</summary>
    public DateTimeOffset Changed { get; set; }

    /// <summary>When it was finished; null while it is under way.</summary>
    public DateTimeOffset? Finished { get; set; }

    /// <summary>What it came to, as JSON.</summary>
    public string? ResultJson { get; set; }
}

/// <summary>A step in the history of a reading's answers.</summary>
public sealed class ReadingStepRow : IAnswerStepRow
{
    /// <summary>The reading.</summary>
    public Guid ReadingId { get; set; }

    /// <summary>Number of the step, from 1.</summary>
    public int Step { get; set; }

    /// <summary>All answers after the step, as JSON.</summary>
    public required string AnswersJson { get; set; }

    /// <summary>Term of the verdict after the step.</summary>
    public string? Verdict { get; set; }

    /// <summary>What changed, for the reader.</summary>
    public required string Label { get; set; }

    /// <summary>Key under which following steps become one.</summary>
    public string? MergeKey { get; set; }

    /// <summary>When it was given.</summary>
    public DateTimeOffset Given { get; set; }
}

/// <summary>A case that is read blind.</summary>
public sealed class BlindCallRow
{
    /// <summary>The case.</summary>
    public Guid CaseId { get; set; }

    /// <summary>When it was called for.</summary>
    public DateTimeOffset Called { get; set; }

    /// <summary>Who called for it.</summary>
    public Guid? CalledBy { get; set; }
}

/// <summary>A remark in the discussion of a case.</summary>
public sealed class RemarkRow
{
    /// <summary>Identifies the remark.</summary>
    public Guid Id { get; set; }

    /// <summary>The case.</summary>
    public Guid CaseId { get; set; }

    /// <summary>The line; null: the case as a whole.</summary>
    public string? LineId { get; set; }

    /// <summary>Who wrote it.</summary>
    public Guid AuthorId { get; set; }

    /// <summary>The author's pseudonym then.</summary>
    public required string AuthorPseudonym { get; set; }

    /// <summary>The author's role then.</summary>
    public PersonRole AuthorRole { get; set; }

    /// <summary>Whether the author is made for the demo.</summary>
    public bool IsInvented { get; set; }

    /// <summary>What it says; empty: taken away.</summary>
    public required string Text { get; set; }

    /// <summary>When it was written.</summary>
    public DateTimeOffset Written { get; set; }

    /// <summary>When it was last changed.</summary>
    public DateTimeOffset? Edited { get; set; }

    /// <summary>Goes up by one with every change.</summary>
    public int Version { get; set; }
}

/// <summary>A supervisor's word that a learner has reached a requirement.</summary>
public sealed class SignOffRow
{
    /// <summary>Identifies the sign-off.</summary>
    public Guid Id { get; set; }

    /// <summary>The learner.</summary>
    public Guid LearnerId { get; set; }

    /// <summary>The learner's pseudonym then.</summary>
    public required string LearnerPseudonym { get; set; }

    /// <summary>The learner's role then.</summary>
    public PersonRole LearnerRole { get; set; }

    /// <summary>Who signed.</summary>
    public Guid SupervisorId { get; set; }

    /// <summary>The supervisor's pseudonym then.</summary>
    public required string SupervisorPseudonym { get; set; }

    /// <summary>The supervisor's role then.</summary>
    public PersonRole SupervisorRole { get; set; }

    /// <summary>Whether learner and supervisor are made for the demo.</summary>
    public bool IsInvented { get; set; }

    /// <summary>The requirement in the school's list.</summary>
    public Guid RequirementId { get; set; }

    /// <summary>The requirement in words.</summary>
    public required string Requirement { get; set; }

    /// <summary>What stood then.</summary>
    public required string Stood { get; set; }

    /// <summary>When it was signed.</summary>
    public DateTimeOffset Signed { get; set; }

    /// <summary>When it was taken back.</summary>
    public DateTimeOffset? Withdrawn { get; set; }

    /// <summary>Who took it back.</summary>
    public string? WithdrawnBy { get; set; }

    /// <summary>Why it was taken back.</summary>
    public string? WithdrawnReason { get; set; }
}

/// <summary>The part of the model that holds readings.</summary>
internal static class ReadingModel
{
    /// <summary>Longest term, label, line or title, in characters: as in the tables of cases.</summary>
    private const int TermMaxLength = 40;

    /// <summary>Adds the tables.</summary>
    /// <param name="modelBuilder">The model.</param>
    /// <param name="time">How times are kept.</param>
    public static void Build(ModelBuilder modelBuilder, ValueConverter<DateTimeOffset, long> time)
    {
        modelBuilder.Entity<ReadingRow>(row =>
        {
            row.ToTable("Readings");
            row.HasKey(each => each.Id);
            row.Property(each => each.CaseTitle).HasMaxLength(CaseRecord.TitleMaxLength);
            row.Property(each => each.ProjectionId).HasMaxLength(100);
            row.Property(each => each.ReaderPseudonym).HasMaxLength(Person.PseudonymMaxLength);
            row.Property(each => each.Verdict).HasMaxLength(TermMaxLength);
            row.Property(each => each.Version).IsConcurrencyToken();
            row.Property(each => each.Begun).HasConversion(time);
            row.Property(each => each.Changed).HasConversion(time);
            row.Property(each => each.Finished).HasConversion(time);

            // Two windows that begin at once begin one reading.
            row.HasIndex(each => new { each.CaseId, each.ReaderId, each.Number }).IsUnique();
            row.HasIndex(each => new { each.ReaderId, each.Finished });
            row.HasIndex(each => each.Finished);
        });
        modelBuilder.Entity<ReadingStepRow>(row =>
        {
            row.ToTable("ReadingSteps");
            row.HasKey(each => new { each.ReadingId, each.Step });
            row.Property(each => each.Label).HasMaxLength(300);
            row.Property(each => each.MergeKey).HasMaxLength(200);
            row.Property(each => each.Verdict).HasMaxLength(TermMaxLength);
            row.Property(each => each.Given).HasConversion(time);
            row.HasOne<ReadingRow>().WithMany().HasForeignKey(each => each.ReadingId).OnDelete(DeleteBehavior.Cascade);
        });
        modelBuilder.Entity<BlindCallRow>(row =>
        {
            row.ToTable("BlindCalls");
            row.HasKey(each => each.CaseId);
            row.Property(each => each.Called).HasConversion(time);
            row.HasOne<CaseRow>().WithMany().HasForeignKey(each => each.CaseId).OnDelete(DeleteBehavior.Cascade);
        });
        modelBuilder.Entity<RemarkRow>(row =>
        {
            row.ToTable("Remarks");
            row.HasKey(each => each.Id);
            row.Property(each => each.LineId).HasMaxLength(CaseRecord.KeyMaxLength);
            row.Property(each => each.AuthorPseudonym).HasMaxLength(Person.PseudonymMaxLength);
            row.Property(each => each.Text).HasMaxLength(CaseRemark.TextMaxLength);
            row.Property(each => each.Version).IsConcurrencyToken();
            row.Property(each => each.Written).HasConversion(time);
            row.Property(each => each.Edited).HasConversion(time);
            row.HasIndex(each => new { each.CaseId, each.Written });

            // What is said of a case goes with it.
            row.HasOne<CaseRow>().WithMany().HasForeignKey(each => each.CaseId).OnDelete(DeleteBehavior.Cascade);
        });
        modelBuilder.Entity<SignOffRow>(row =>
        {
            row.ToTable("SignOffs");
            row.HasKey(each => each.Id);
            row.Property(each => each.LearnerPseudonym).HasMaxLength(Person.PseudonymMaxLength);
            row.Property(each => each.SupervisorPseudonym).HasMaxLength(Person.PseudonymMaxLength);
            row.Property(each => each.WithdrawnBy).HasMaxLength(Person.PseudonymMaxLength);
            row.Property(each => each.WithdrawnReason).HasMaxLength(SignOff.ReasonMaxLength);
            row.Property(each => each.Signed).HasConversion(time);
            row.Property(each => each.Withdrawn).HasConversion(time).IsConcurrencyToken();
            row.HasIndex(each => new { each.LearnerId, each.Signed });
        });
    }
}
