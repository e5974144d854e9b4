using System.Text.Json.Serialization;

namespace Hotlight.Workflows.Clinic;

/// <summary>One line of a school's own list: how many cases a learner has to read, of what, and how well.</summary>
public sealed record CompetencyRequirement
{
    /// <summary>Longest title, in characters.</summary>
    public const int TitleMaxLength = 80;

    /// <summary>Most cases that can be asked for.</summary>
    public const int CountHighest = 10_000;

    /// <summary>Identifies the requirement for good; never <see cref="Guid.Empty"/>.</summary>
    public required Guid Id { get; init; }

    /// <summary>What it is called, 1 to <see cref="TitleMaxLength"/> characters.</summary>
    public required string Title { get; init; }

    /// <summary>Whose it is.</summary>
    public PersonRole Role { get; init; } = PersonRole.Learner;

    /// <summary>The projection; null: any of <see cref="Region"/>.</summary>
    public string? ProjectionId { get; init; }

    /// <summary>The region of the catalogue whose projections count, such as "wrist"; null, and no projection: all.</summary>
    public string? Region { get; init; }

    /// <summary>Number of cases to read, 1 to <see cref="CountHighest"/>.</summary>
    public required int Count { get; init; }

    /// <summary>Least share of lines on which a reading agrees with the reference to count, in percent, 0 to 100.</summary>
    public double LeastAgreementPercent { get; init; } = 80;

    /// <summary>Whether the verdict must be the reference's too.</summary>
    public bool VerdictMustAgree { get; init; } = true;

    /// <summary>What counts for it; a list that does not say counts readings.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingDefault)]
    public RequirementSource Counts { get; init; }

    /// <summary>What is wrong with it, one sentence; null: nothing.</summary>
    internal string? Fault => Id == Guid.Empty || string.IsNullOrWhiteSpace(Title) || Title.Length > TitleMaxLength
        ? $"A requirement needs a title of 1 to {TitleMaxLength} characters."
        : Count is < 1 or > CountHighest
            ? $"The number of “{Title}” is a whole number from 1 to {CountHighest}."
            : !(LeastAgreementPercent is >= 0 and <= 100)
                ? $"The least agreement of “{Title}” is a percentage from 0 to 100."
                : ProjectionId is not null && Region is not null ? $"“{Title}” names a projection and a region; give one of them." : null;
}

/// <summary>What counts for a requirement.</summary>
public enum RequirementSource
{
    /// <summary>Readings of cases.</summary>
    Readings = 0,

    /// <summary>Finished exercises of practice.</summary>
    Practice = 1,

    /// <summary>Both.</summary>
    Either = 2,
}
