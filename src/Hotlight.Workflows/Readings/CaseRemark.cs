namespace Hotlight.Workflows.Readings;

/// <summary>A short remark in the discussion of a case, tied to a line of the checklist or to the whole case.</summary>
public sealed record CaseRemark
{
    /// <summary>Longest text, in characters.</summary>
    public const int TextMaxLength = 1000;

    /// <summary>Identifies the remark.</summary>
    public required Guid Id { get; init; }

    /// <summary>The case it is about.</summary>
    public required Guid CaseId { get; init; }

    /// <summary>The line it is about; null: the case as a whole.</summary>
    public string? LineId { get; init; }

    /// <summary>Who wrote it.</summary>
    public required CaseReader Author { get; init; }

    /// <summary>What it says, 1 to <see cref="TextMaxLength"/> characters; empty once it was taken away.</summary>
    public required string Text { get; init; }

    /// <summary>When it was written.</summary>
    public required DateTimeOffset Written { get; init; }

    /// <summary>When its author last changed it; null: never.</summary>
    public DateTimeOffset? Edited { get; init; }

    /// <summary>Goes up by one with every change.</summary>
    public int Version { get; init; } = 1;

    /// <summary>Whether its author took it away: that there was one stays in sight, its text does not.</summary>
    public bool IsTakenAway => Text.Length == 0;
}

/// <summary>A case that is read blind: until it ends, nobody who has not finished an own reading sees any answers of the case.</summary>
/// <param name="CaseId">The case.</param>
/// <param name="Called">When it was called for.</param>
/// <param name="CalledBy">Who called for it.</param>
public sealed record BlindCall(Guid CaseId, DateTimeOffset Called, Guid? CalledBy);
