using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Statistics.Proportions;
using Hotlight.Statistics.Trends;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Teaching.Practice;

namespace Hotlight.Workflows.Readings;

/// <summary>What a reading is held against.</summary>
/// <param name="Name">Whose answers, for people: a supervisor's pseudonym, or that they are the case's own.</param>
/// <param name="Result">The answers.</param>
public sealed record Reference(string Name, ReadingResult Result);

/// <summary>One finished reading of a learner, held against the reference.</summary>
public sealed record ProgressReading
{
    /// <summary>The reading.</summary>
    public required OwnReading Reading { get; init; }

    /// <summary>What it came to.</summary>
    public required ReadingResult Result { get; init; }

    /// <summary>What it is held against; null: there is none yet.</summary>
    public Reference? Reference { get; init; }

    /// <summary>Lines that were compared, and whether both said the same.</summary>
    public required IReadOnlyList<ComparedLine> Lines { get; init; }

    /// <summary>Whether the verdicts are the same; null without a reference or with an undetermined one.</summary>
    public bool? VerdictAgrees { get; init; }

    /// <summary>Lines on which both said the same.</summary>
    public int Agreed => Lines.Count(line => line.Agrees);

    /// <summary>Share of compared lines on which both said the same, 0 to 1; null when none was compared.</summary>
    public double? Share => Lines.Count == 0 ? null : (double)Agreed / Lines.Count;

    /// <summary>Whether it counts for a requirement: of its projection, and up to its standard.</summary>
    /// <param name="requirement">The requirement.</param>
    public bool Meets(CompetencyRequirement requirement)
    {
        ArgumentNullException.ThrowIfNull(requirement);
        return Share is { } share && (100 * share) + 1e-9 >= requirement.LeastAgreementPercent && (!requirement.VerdictMustAgree || VerdictAgrees == true);
    }

    /// <summary>Holds a reading against a reference.</summary>
    /// <remarks>A line is compared where one of the two readers answered it and the reference is decided: a reference that cannot tell is nothing to agree with. A line that the learner left open and the reference answered is not agreed.</remarks>
    /// <param name="reading">The finished reading.</param>
    /// <param name="result">What it came to.</param>
    /// <param name="reference">What it is held against; null: none.</param>
    public static ProgressReading Of(OwnReading reading, ReadingResult result, Reference? reference)
    {
        ArgumentNullException.ThrowIfNull(reading);
        ArgumentNullException.ThrowIfNull(result);
        return new ProgressReading
        {
            Reading = reading,
            Result = result,
            Reference = reference,
            Lines = reference is null
                ? []
                :
                [
                    .. from own in result.Lines
                       join other in reference.Result.Lines on own.Id equals other.Id
                       where (own.IsReaders || other.IsReaders) && other.DecidedBy != DecidedBy.Nobody && other.State != ChecklistState.CannotTell
                       select new ComparedLine(own.Id, own.Question, own.State, other.State),
                ],
            VerdictAgrees = reference is null || reference.Result.Stands == VerdictKind.Undetermined ? null : reference.Result.Stands == result.Stands,
        };
    }
}

/// <summary>A line of a reading beside the reference.</summary>
/// <param name="Id">The line.</param>
/// <param name="Question">Its question.</param>
/// <param name="Own">What the learner said.</param>
/// <param name="Other">What the reference says.</param>
public sealed record ComparedLine(string Id, string Question, ChecklistState Own, ChecklistState Other)
{
    /// <summary>Whether both say the same.</summary>
    public bool Agrees => Own == Other;
}

/// <summary>Progress in one projection.</summary>
/// <param name="ProjectionId">The projection.</param>
/// <param name="Readings">Finished first readings.</param>
/// <param name="Compared">Those with a reference.</param>
/// <param name="Lines">Lines on which learner and reference agree, with Wilson's interval.</param>
/// <param name="Verdicts">Readings whose verdict is the reference's, with Wilson's interval.</param>
public sealed record ProjectionProgress(string ProjectionId, int Readings, int Compared, Figure<ProportionEstimate> Lines, Figure<ProportionEstimate> Verdicts);

/// <summary>Progress on one line of the checklist.</summary>
/// <param name="LineId">The line.</param>
/// <param name="Question">Its question in one of the projections.</param>
/// <param name="Agreed">Readings in which learner and reference agree on it, with Wilson's interval.</param>
/// <param name="Missed">Readings in which the reference found it missed and the learner did not.</param>
/// <param name="Imagined">Readings in which the learner found it missed and the reference met.</param>
public sealed record LineProgress(string LineId, string Question, Figure<ProportionEstimate> Agreed, int Missed, int Imagined);

/// <summary>How far a learner is with one requirement.</summary>
/// <param name="Requirement">The requirement.</param>
/// <param name="Read">Finished first readings of its projections, and finished exercises of practice where they count.</param>
/// <param name="Reached">Those up to its standard.</param>
/// <param name="WithoutReference">Those that nothing can be held against yet.</param>
/// <param name="SignOff">The sign-off that stands; null: none.</param>
public sealed record RequirementProgress(CompetencyRequirement Requirement, int Read, int Reached, int WithoutReference, SignOff? SignOff)
{
    /// <summary>How many are missing, 0 or more.</summary>
    public int Missing => Math.Max(0, Requirement.Count - Reached);

    /// <summary>Whether the number is reached.</summary>
    public bool IsReached => Missing == 0;
}

/// <summary>What a learner has read and how it compares with the references.</summary>
public sealed record LearnerProgress
{
    /// <summary>The learner.</summary>
    public required CaseReader Learner { get; init; }

    /// <summary>Finished first readings, the oldest first.</summary>
    public required IReadOnlyList<ProgressReading> Readings { get; init; }

    /// <summary>Readings left out because their case is blind to whoever looks, or a later version kept them.</summary>
    public required int LeftOut { get; init; }

    /// <summary>By projection, by name.</summary>
    public required IReadOnlyList<ProjectionProgress> Projections { get; init; }

    /// <summary>By line of the checklist, the weakest first.</summary>
    public required IReadOnlyList<LineProgress> Lines { get; init; }

    /// <summary>All compared lines.</summary>
    public required Figure<ProportionEstimate> AllLines { get; init; }

    /// <summary>All verdicts.</summary>
    public required Figure<ProportionEstimate> AllVerdicts { get; init; }

    /// <summary>Whether the share of agreed lines rises or falls from reading to reading.</summary>
    public required Figure<TrendTest> Trend { get; init; }

    /// <summary>Its slope, as share of lines a reading.</summary>
    public required Figure<TrendSlope> Slope { get; init; }

    /// <summary>The school's list for this learner; empty: there is none.</summary>
    public required IReadOnlyList<RequirementProgress> Requirements { get; init; }

    /// <summary>All sign-offs, those taken back with them, the newest first.</summary>
    public required IReadOnlyList<SignOff> SignOffs { get; init; }

    /// <summary>Finished exercises of practice, the oldest first; they are told apart from readings everywhere.</summary>
    public IReadOnlyList<PracticedExercise> Practice { get; init; } = [];

    /// <summary>Works progress out.</summary>
    /// <param name="learner">The learner.</param>
    /// <param name="readings">The readings, held against their references.</param>
    /// <param name="requirements">The school's list for this learner.</param>
    /// <param name="regionOf">Region of a projection; null: not known.</param>
    /// <param name="signOffs">The learner's sign-offs.</param>
    /// <param name="leftOut">How many readings were left out.</param>
    /// <param name="practice">Finished exercises of practice; null: none.</param>
    public static LearnerProgress Of(CaseReader learner, IReadOnlyList<ProgressReading> readings, IReadOnlyList<CompetencyRequirement> requirements, Func<string, string?> regionOf, IReadOnlyList<SignOff> signOffs, int leftOut, IReadOnlyList<PracticedExercise>? practice = null)
    {
        ArgumentNullException.ThrowIfNull(learner);
        ArgumentNullException.ThrowIfNull(readings);
        ArgumentNullException.ThrowIfNull(requirements);
        ArgumentNullException.ThrowIfNull(regionOf);
        ArgumentNullException.ThrowIfNull(signOffs);
        ProgressReading[] ordered = [.. readings.OrderBy(each => each.Reading.Finished).ThenBy(each => each.Reading.Id)];
        double[] shares = [.. ordered.Select(each => each.Share).OfType<double>()];
        double[] places = [.. Enumerable.Range(1, shares.Length).Select(place => (double)place)];
        const string Few = "Fewer than three readings could be compared, so no trend can be told; finish more readings of cases with a reference.";
        return new LearnerProgress
        {
            Learner = learner,
            Readings = ordered,
            LeftOut = leftOut,
            Projections =
            [
                .. ordered.GroupBy(each => each.Result.ProjectionId, StringComparer.Ordinal).OrderBy(group => group.Key, StringComparer.Ordinal)
                    .Select(group => new ProjectionProgress(group.Key, group.Count(), group.Count(each => each.Share is not null), Agreed(group), Verdicts(group))),
            ],
            Lines =
            [
                .. ordered.SelectMany(each => each.Lines).GroupBy(line => line.Id, StringComparer.Ordinal)
                    .Select(group => new LineProgress(
                        group.Key,
                        group.First().Question,
                        ProportionIntervals.Wilson(new EventCount(group.Count(line => line.Agrees), group.Count())),
                        group.Count(line => line is { Other: ChecklistState.NotMet, Own: not ChecklistState.NotMet }),
                        group.Count(line => line is { Own: ChecklistState.NotMet, Other: ChecklistState.Met })))
                    .OrderBy(line => line.Agreed.Value!.Fraction).ThenByDescending(line => line.Agreed.Value!.Count.Total).ThenBy(line => line.LineId, StringComparer.Ordinal),
            ],
            AllLines = Agreed(ordered),
            AllVerdicts = Verdicts(ordered),
            Trend = shares.Length < 3 ? Figure<TrendTest>.CannotTell(Few) : MonotoneTrend.MannKendall(places, shares),
            Slope = shares.Length < 3 ? Figure<TrendSlope>.CannotTell(Few) : MonotoneTrend.TheilSen(places, shares),
            Requirements = [.. requirements.Where(each => each.Role == learner.Role).Select(each => Progress(each, ordered, practice ?? [], regionOf, signOffs))],
            SignOffs = signOffs,
            Practice = practice ?? [],
        };
    }

    private static Figure<ProportionEstimate> Agreed(IEnumerable<ProgressReading> readings)
    {
        ComparedLine[] lines = [.. readings.SelectMany(each => each.Lines)];
        return lines.Length == 0
            ? Figure<ProportionEstimate>.CannotTell("No reading has a reference yet: a supervisor's finished reading of the case, or the case's own answers once it is done.")
            : ProportionIntervals.Wilson(new EventCount(lines.Count(line => line.Agrees), lines.Length));
    }

    private static Figure<ProportionEstimate> Verdicts(IEnumerable<ProgressReading> readings)
    {
        bool[] verdicts = [.. readings.Select(each => each.VerdictAgrees).OfType<bool>()];
        return verdicts.Length == 0
            ? Figure<ProportionEstimate>.CannotTell("No reading has a reference with a verdict yet.")
            : ProportionIntervals.Wilson(new EventCount(verdicts.Count(agrees => agrees), verdicts.Length));
    }

    private static RequirementProgress Progress(CompetencyRequirement requirement, ProgressReading[] readings, IReadOnlyList<PracticedExercise> practice, Func<string, string?> regionOf, IReadOnlyList<SignOff> signOffs)
    {
        PracticedExercise[] practised = [.. practice.Where(each => each.IsOf(requirement, regionOf))];
        ProgressReading[] fitting = [.. readings.Where(each => requirement.Counts != RequirementSource.Practice && (requirement.ProjectionId is null || each.Result.ProjectionId == requirement.ProjectionId) && (requirement.Region is null || regionOf(each.Result.ProjectionId) == requirement.Region))];
        return new RequirementProgress(requirement, fitting.Length + practised.Length, fitting.Count(each => each.Meets(requirement)) + practised.Count(each => each.Meets(requirement)), fitting.Count(each => each.Share is null), signOffs.FirstOrDefault(each => each.Stands && each.RequirementId == requirement.Id));
    }
}
