using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;
using Hotlight.Positioning;
using Hotlight.Testing;

namespace Hotlight.Judgement.Tests;

/// <summary>One written case: findings, context, and what a careful teacher says of it and why.</summary>
public sealed record WrittenCase(
    string Id,
    string Projection,
    string Teacher,
    IReadOnlyDictionary<string, string> Answers,
    CaseExpectation Expected,
    CaseMeasured? Measured = null,
    CaseContext? Context = null,
    IReadOnlyList<CaseMark>? Landmarks = null)
{
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web)
    {
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        RespectRequiredConstructorParameters = true,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    /// <summary>The cases of one file: "tuning" or "held".</summary>
    public static IReadOnlyList<WrittenCase> Of(string file)
        => JsonSerializer.Deserialize<CaseFile>(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "tests", "Hotlight.Judgement.Tests", "WrittenCases", file + ".json")), Options)!.Cases;

    public Critique Judge()
    {
        Projection projection = ProjectionCatalogue.BuiltIn.Get(Projection);
        Answers answers = Tests.Cases.AllMet(projection);
        foreach ((string line, string answer) in Answers)
        {
            answers = answers.With(line, answer switch
            {
                "open" => null,
                "met" => new Answer(ChecklistState.Met),
                "no" => new Answer(ChecklistState.NotMet),
                _ => new Answer(ChecklistState.NotMet, answer),
            });
        }

        MeasurementDocument document = Tests.Cases.Measured(Measured?.DeviationIndex ?? 0, mottleVisible: Measured?.MottleVisible ?? false, saturatedPercent: Measured?.SaturatedPercent ?? 0, reductionPercent: Measured?.ReductionPercent ?? 5);
        if (Measured?.ExposureUnknown == true)
        {
            document = document with { Exposure = Figure<ExposureMeasurement>.CannotTell("The file has no exposure index.") };
        }

        ExposureRecord header = Tests.Cases.Header(projection) with { DeviationIndex = Measured?.DeviationIndex ?? 0 };
        var context = Context is null ? null : new ExaminationContext { PurposeId = Context.Purpose, Ability = Context.Ability, RepeatsAlready = Context.Repeats, ShownElsewhere = Context.Shown ?? [] };
        RelationFinding[]? marks = Landmarks is null ? null : [.. Landmarks.Select(mark => mark.Finding(projection))];
        return CritiqueBuilder.Build(header, document, projection, answers, null, context, marks);
    }

    /// <summary>What differs from the teacher's word; empty where nothing does.</summary>
    public IReadOnlyList<string> Differences()
    {
        Critique critique = Judge();
        var differences = new List<string>();
        void Demand(bool holds, string what)
        {
            if (!holds)
            {
                differences.Add($"{Id}: {what}");
            }
        }

        string instructions = string.Join(" | ", critique.Changes.Select(change => change.Instruction));
        string[] answered = [.. critique.Changes.SelectMany(change => (change.AlsoFor ?? []).Prepend(change.LineId))];
        Demand(critique.Verdict.Kind == Expected.Verdict, $"the verdict is {critique.Verdict.Kind}, the teacher says {Expected.Verdict}");
        foreach (string line in Expected.Deciding)
        {
            Demand(critique.Trace!.DecidedBy.Contains(line), $"{line} is not among the deciding lines ({string.Join(", ", critique.Trace.DecidedBy)})");
        }

        foreach (string line in Expected.Corrections)
        {
            Demand(answered.Contains(line), $"no correction for {line} ({string.Join(", ", answered)})");
        }

        foreach (string line in Expected.NoCorrections)
        {
            Demand(!answered.Contains(line), $"a correction for {line}");
        }

        foreach (string word in Expected.Words)
        {
            Demand(instructions.Contains(word, StringComparison.OrdinalIgnoreCase), $"no correction says '{word}': {instructions}");
        }

        foreach (string word in Expected.NoWords)
        {
            Demand(!instructions.Contains(word, StringComparison.OrdinalIgnoreCase), $"a correction says '{word}': {instructions}");
        }

        return differences;
    }

    private sealed record CaseFile(string Note, IReadOnlyList<WrittenCase> Cases);
}

public sealed record CaseExpectation(VerdictKind Verdict, IReadOnlyList<string> Deciding, IReadOnlyList<string> Corrections, IReadOnlyList<string> NoCorrections, IReadOnlyList<string> Words, IReadOnlyList<string> NoWords);

public sealed record CaseMeasured(double? DeviationIndex = null, bool? MottleVisible = null, double? SaturatedPercent = null, double? ReductionPercent = null, bool? ExposureUnknown = null);

public sealed record CaseContext(string? Purpose = null, PatientAbility? Ability = null, int? Repeats = null, IReadOnlyList<string>? Shown = null);

public sealed record CaseMark(string Relation, RelationState State, double Value, double Uncertainty, string? Miss = null, double? Degrees = null, double? DegreesUncertainty = null)
{
    public RelationFinding Finding(Projection projection)
    {
        PositionRelation relation = projection.Relations.Single(each => each.Id == Relation);
        RelationMeasure rule = relation.Measure!;
        return new RelationFinding(
            relation,
            new RelationResult
            {
                RelationId = Relation,
                Kind = rule.Kind,
                Value = Value,
                Uncertainty = Uncertainty,
                Unit = rule.Kind == RelationKind.Angle ? "°" : rule.Kind == RelationKind.Fraction ? string.Empty : "mm",
                State = State,
                MissId = Miss,
                Turn = Degrees is { } degrees ? new Turn(rule.Turn!.About, degrees, DegreesUncertainty!.Value, null) { Sign = Miss == rule.Above ? 1 : -1 } : null,
            },
            null,
            []);
    }
}
