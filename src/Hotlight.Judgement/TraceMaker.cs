using Hotlight.Catalogue;

namespace Hotlight.Judgement;

/// <summary>Says how a verdict came about, and by running the rules again with other lines, what would have changed it.</summary>
internal sealed class TraceMaker(VerdictWeigher weigher, Projection projection, ExaminationContext context, IReadOnlyList<ChecklistLine> answered, WeighedVerdict outcome)
{
    // Beyond it the smallest set is searched by leaving lines out one by one instead of trying every set.
    private const int MostLinesTriedInEverySet = 10;

    private const int MostSetsTold = 5;

    public VerdictTrace Make()
    {
        IReadOnlyList<ChecklistLine> deciding = outcome.Rule == 5
            ? [.. outcome.Lines.Where(line => line is { Required: true, State: ChecklistState.Met })]
            : outcome.Sorted.Of(outcome.Rule);
        return new VerdictTrace
        {
            Rules = [.. Enumerable.Range(1, 5).Select(RuleOf)],
            Weighed = outcome.Steps,
            DecidedBy = [.. outcome.Lines.Where(deciding.Contains).Select(line => line.Id)],
            WouldChange = [.. Lighter(), .. Heavier(), .. OtherContext()],
            Unknown =
            [
                .. outcome.Lines.Where(line => outcome.Sorted.Open.Contains(line) || line is { State: ChecklistState.CannotTell, Misses.Count: > 0 }).Select(line => new Reason(line.Id, line.Question)),
                .. context.PurposeId is null ? [new Reason("purpose", "What the examination is asked for is not given, so every line weighs in full.")] : Array.Empty<Reason>(),
            ],
        };
    }

    private static VerdictKind KindOf(int rule) => rule switch
    {
        1 => VerdictKind.Repeat,
        2 => VerdictKind.Undetermined,
        3 or 4 => VerdictKind.AcceptWithRemark,
        _ => VerdictKind.Accept,
    };

    private static string Told(int rule) => rule switch
    {
        1 => "a repeat would be weighed",
        2 => "the verdict would be open",
        3 => "the image would be kept and the person who reports asked",
        4 => "the image would be kept with a remark",
        _ => "the image would be kept",
    };

    private static ChecklistLine Met(ChecklistLine line) => line with { State = ChecklistState.Met, DecidedBy = DecidedBy.Reader, MissId = null };

    private static ChecklistLine Missed(ChecklistLine line, Miss miss) => line with { State = ChecklistState.NotMet, DecidedBy = DecidedBy.Reader, MissId = miss.Id, Weight = miss.Weight };

    private VerdictRule RuleOf(int rule) => new(
        rule,
        rule switch
        {
            1 => "a line of weight repeat is not met",
            2 => "a required line is undecided, or missed in a way that was not named",
            3 => "a line of weight consult is not met",
            4 => "a line of weight remark is not met",
            _ => "no line stands against the image",
        },
        rule == 5 ? outcome.Rule == 5 : outcome.Sorted.Of(rule).Count > 0,
        rule == outcome.Rule,
        [.. outcome.Sorted.Of(rule).Select(line => line.Id)]);

    private int RuleWith(Func<ChecklistLine, ChecklistLine> change) => weigher.Run([.. answered.Select(change)], context).Rule;

    /// <summary>The smallest sets of deciding lines that, met, give another verdict.</summary>
    private IEnumerable<OtherVerdict> Lighter()
    {
        string[] deciding = [.. outcome.Sorted.Of(outcome.Rule).Select(line => line.Id)];
        int RuleWithout(IReadOnlyCollection<string> ids) => RuleWith(line => ids.Contains(line.Id) ? Met(line) : line);
        if (deciding.Length == 0)
        {
            return [];
        }

        if (deciding.Length > MostLinesTriedInEverySet)
        {
            var left = deciding.ToList();
            foreach (string id in deciding)
            {
                string[] fewer = [.. left.Where(other => other != id)];
                if (fewer.Length > 0 && RuleWithout(fewer) != outcome.Rule)
                {
                    left = [.. fewer];
                }
            }

            return [Together(left, RuleWithout(left))];
        }

        for (int size = 1; size <= deciding.Length; size++)
        {
            OtherVerdict[] found =
            [
                .. Enumerable.Range(1, (1 << deciding.Length) - 1)
                    .Where(set => System.Numerics.BitOperations.PopCount((uint)set) == size)
                    .Select(string[] (set) => [.. deciding.Where((_, index) => (set >> index & 1) == 1)])
                    .Select(ids => (ids, rule: RuleWithout(ids)))
                    .Where(pair => pair.rule != outcome.Rule)
                    .Take(MostSetsTold)
                    .Select(pair => Together(pair.ids, pair.rule)),
            ];
            if (found.Length > 0)
            {
                return found;
            }
        }

        return [];
    }

    private OtherVerdict Together(IReadOnlyList<string> ids, int rule) => new()
    {
        Kind = KindOf(rule),
        Lines = [.. ids.Select(id => new LineSetting(id, ChecklistState.Met, null))],
        Together = true,
        Sentence = $"With {Wording.Join(ids)} met, {Told(rule)}.",
    };

    /// <summary>Single lines that, missed or seen by a reader too, give a heavier verdict.</summary>
    private IEnumerable<OtherVerdict> Heavier()
    {
        var found = new SortedDictionary<int, List<LineSetting>>();
        foreach (ChecklistLine line in answered.Where(MayTurnHeavier))
        {
            foreach (Miss miss in line.Misses)
            {
                int rule = RuleWith(other => other.Id == line.Id ? Missed(other, miss) : other);
                if (rule < outcome.Rule && rule != 2)
                {
                    found.TryAdd(rule, []);
                    found[rule].Add(new LineSetting(line.Id, ChecklistState.NotMet, miss.Id));
                }
            }
        }

        return found.Select(pair => new OtherVerdict
        {
            Kind = KindOf(pair.Key),
            Lines = pair.Value,
            Together = false,
            Sentence = $"{Wording.Capital(Told(pair.Key))} if a reader saw one of these: {string.Join(", ", pair.Value.GroupBy(each => each.LineId).Select(line => $"{line.Key} ({string.Join(" or ", line.Select(each => each.MissId))})"))}.",
        });
    }

    // What a reader saw missed stays so; while the verdict is open, what a reader saw met is not asked again.
    private bool MayTurnHeavier(ChecklistLine line) => line.State switch
    {
        ChecklistState.NotApplicable => false,
        ChecklistState.NotMet => line.DecidedBy != DecidedBy.Reader || line.MissId is null,
        ChecklistState.Met => outcome.Rule != 2 || line.DecidedBy != DecidedBy.Reader,
        _ => true,
    };

    private IEnumerable<OtherVerdict> OtherContext()
    {
        (string What, ExaminationContext Other)[] others =
        [
            .. context.PurposeId is { } purpose ? [($"the purpose '{projection.Purposes.Single(each => each.Id == purpose).Name}'", context with { PurposeId = null })] : Array.Empty<(string, ExaminationContext)>(),
            .. context.RulesOutMoving ? [("the patient's limits", context with { Ability = null })] : Array.Empty<(string, ExaminationContext)>(),
            .. context.ShownElsewhere.Count > 0 ? [("what other images of the examination show", context with { ShownElsewhere = [] })] : Array.Empty<(string, ExaminationContext)>(),
            .. context.RepeatsAlready > 0 ? [("the repeats before", context with { RepeatsAlready = null })] : Array.Empty<(string, ExaminationContext)>(),
        ];
        (string What, int Rule)[] changed = [.. others.Select(other => (other.What, weigher.Run(answered, other.Other).Rule)).Where(other => other.Rule != outcome.Rule)];
        if (changed.Length == 0 && others.Length > 1)
        {
            int rule = weigher.Run(answered, ExaminationContext.None).Rule;
            changed = rule == outcome.Rule ? [] : [(Wording.Join(others.Select(other => other.What)), rule)];
        }

        return changed.Select(other => new OtherVerdict { Kind = KindOf(other.Rule), Lines = [], Together = true, Sentence = $"Without {other.What}, {Told(other.Rule)}." });
    }
}
