using Hotlight.Core;

namespace Hotlight.Judgement;

/// <summary>How a line of the checklist went from one image to a later one.</summary>
public enum LineCourse
{
    /// <summary>Missed before, met now.</summary>
    PutRight,

    /// <summary>Met before, missed now.</summary>
    NewlyMissed,

    /// <summary>Missed in both.</summary>
    StillMissed,

    /// <summary>Met in both.</summary>
    StaysMet,

    /// <summary>Not decided in one of them, or only one checklist has the line.</summary>
    CannotTell,

    /// <summary>Of no meaning for one of them.</summary>
    NotApplicable,
}

/// <summary>Whether a later image put right what an earlier one missed.</summary>
public enum RepeatAnswer
{
    /// <summary>All that was to be put right is met, and nothing that asks for a repeat was lost.</summary>
    PutRight,

    /// <summary>All that was to be put right is met, but something else that asks for a repeat is missed now.</summary>
    PutRightButLost,

    /// <summary>Some of it.</summary>
    PartlyPutRight,

    /// <summary>None of it.</summary>
    NotPutRight,

    /// <summary>The earlier image missed nothing.</summary>
    NothingToPutRight,

    /// <summary>Lines that decide it are open.</summary>
    CannotTell,
}

/// <summary>One line in both images.</summary>
public sealed record LineComparison
{
    /// <summary>Identifier of the line.</summary>
    public required string LineId { get; init; }

    /// <summary>The part of the checklist it stands in.</summary>
    public required ChecklistSection Section { get; init; }

    /// <summary>The question.</summary>
    public required string Question { get; init; }

    /// <summary>How it stood in the first; null where its checklist does not have the line.</summary>
    public ChecklistState? First { get; init; }

    /// <summary>How it stands in the second; null where its checklist does not have the line.</summary>
    public ChecklistState? Second { get; init; }

    /// <summary>The figure in the first; null where there is none.</summary>
    public string? FirstFigure { get; init; }

    /// <summary>The figure in the second; null where there is none.</summary>
    public string? SecondFigure { get; init; }

    /// <summary>How it went.</summary>
    public required LineCourse Course { get; init; }

    /// <summary>Whether the line was among those the later image was made for.</summary>
    public bool WasAskedFor { get; init; }
}

/// <summary>One figure in both images.</summary>
public sealed record FigureComparison
{
    /// <summary>What it is a figure of, such as "Edge blur".</summary>
    public required string Name { get; init; }

    /// <summary>The first image's, in <see cref="Unit"/>.</summary>
    public required double First { get; init; }

    /// <summary>One standard deviation; null where none is stated.</summary>
    public double? FirstUncertainty { get; init; }

    /// <summary>The second image's, in <see cref="Unit"/>.</summary>
    public required double Second { get; init; }

    /// <summary>One standard deviation; null where none is stated.</summary>
    public double? SecondUncertainty { get; init; }

    /// <summary>The unit with its leading space, or empty.</summary>
    public required string Unit { get; init; }

    /// <summary>Second minus first, in <see cref="Unit"/>.</summary>
    public double Difference => Second - First;

    /// <summary>One standard deviation of the difference, both images measured apart; null where either is not stated.</summary>
    public double? DifferenceUncertainty => FirstUncertainty is { } first && SecondUncertainty is { } second ? Math.Sqrt((first * first) + (second * second)) : null;

    /// <summary>Whether the difference is more than twice its standard deviation (coverage about 95 %, JCGM 100:2008, 6.3.3); null where that is not stated.</summary>
    public bool? IsMoreThanUncertainty => DifferenceUncertainty is { } sigma ? Math.Abs(Difference) > 2 * sigma : null;

    /// <summary>The comparison in one sentence.</summary>
    public required string Sentence { get; init; }
}

/// <summary>Two critiques side by side: an original and its repeat, this and an earlier one, or this and a good example.</summary>
public sealed record CritiqueComparison
{
    /// <summary>Whether the second put right what the first missed.</summary>
    public required RepeatAnswer Answer { get; init; }

    /// <summary>That answer in one or two sentences.</summary>
    public required string Sentence { get; init; }

    /// <summary>What both exposures come to, one sentence; null where neither header has a dose quantity.</summary>
    public string? Dose { get; init; }

    /// <summary>Every line of either checklist, in teaching order.</summary>
    public required IReadOnlyList<LineComparison> Lines { get; init; }

    /// <summary>Figures that both images have.</summary>
    public required IReadOnlyList<FigureComparison> Figures { get; init; }

    /// <summary>What keeps the two from being compared like for like, one sentence each.</summary>
    public required IReadOnlyList<string> Cautions { get; init; }

    /// <summary>Compares two critiques.</summary>
    /// <param name="first">The earlier one, or the one to be put right.</param>
    /// <param name="second">The later one, or the one to hold it against.</param>
    public static CritiqueComparison Of(Critique first, Critique second)
    {
        ArgumentNullException.ThrowIfNull(first);
        ArgumentNullException.ThrowIfNull(second);
        return new ComparisonMaker(first, second).Make();
    }
}
