using Hotlight.Core;
using Hotlight.Judgement;
using Hotlight.Statistics;
using Hotlight.Statistics.Agreement;
using Hotlight.Statistics.Proportions;

namespace Hotlight.Workflows.Readings;

/// <summary>Which cases and readers agreement is worked out over. Everything left empty picks all.</summary>
public sealed record AgreementQuery
{
    /// <summary>A tag that the cases bear; null: any.</summary>
    public string? Tag { get; init; }

    /// <summary>Projection of the cases; null: any.</summary>
    public string? ProjectionId { get; init; }

    /// <summary>Readings finished at this time or later; null: no limit.</summary>
    public DateTimeOffset? From { get; init; }

    /// <summary>Readings finished before this time; null: no limit.</summary>
    public DateTimeOffset? Before { get; init; }

    /// <summary>Cases picked by hand; empty: all that fit.</summary>
    public IReadOnlyList<Guid> CaseIds { get; init; } = [];

    /// <summary>Readers; empty: all who read.</summary>
    public IReadOnlyList<Guid> ReaderIds { get; init; } = [];

    /// <summary>Whether only readings count that were blind from beginning to end.</summary>
    public bool BlindOnly { get; init; }

    /// <summary>Whether lines count that a reader left to measurement or header: on those readers agree because nobody decided.</summary>
    public bool WithLinesLeft { get; init; }
}

/// <summary>How far readers agree on one question: a line of the checklist, or the verdict.</summary>
public sealed record QuestionAgreement
{
    /// <summary>The line; null: the verdict.</summary>
    public string? LineId { get; init; }

    /// <summary>The question.</summary>
    public required string Question { get; init; }

    /// <summary>The answers, cases × readers.</summary>
    public required ReadingTable Table { get; init; }

    /// <summary>Cases in the table's order.</summary>
    public required IReadOnlyList<Guid> CaseIds { get; init; }

    /// <summary>Mean over cases of the share of pairs of readers that agree.</summary>
    public required Figure<AgreementEstimate> Percent { get; init; }

    /// <summary>Fleiss' kappa; cannot-tell unless every case was answered by as many readers.</summary>
    public required Figure<AgreementEstimate> Fleiss { get; init; }

    /// <summary>Krippendorff's alpha with its bootstrap interval: ordinal for the verdict, nominal for a line.</summary>
    public required Figure<AgreementEstimate> Alpha { get; init; }

    /// <summary>Gwet's AC1.</summary>
    public required Figure<AgreementEstimate> Ac1 { get; init; }

    /// <summary>Cases that two readers or more answered, the most divided first.</summary>
    public required IReadOnlyList<DividedReading> Divided { get; init; }

    /// <summary>Cases that two readers or more answered.</summary>
    public int PairableCases => Table.Cases.Count(each => each.Categories.Count(category => category is not null) >= 2);
}

/// <summary>How far one case divides its readers.</summary>
/// <param name="CaseId">The case.</param>
/// <param name="Case">How.</param>
public sealed record DividedReading(Guid CaseId, DividedCase Case);

/// <summary>How far two readers agree on one question.</summary>
public sealed record PairAgreement
{
    /// <summary>The line; null: the verdict.</summary>
    public string? LineId { get; init; }

    /// <summary>The question.</summary>
    public required string Question { get; init; }

    /// <summary>Cases that both answered.</summary>
    public required long Cases { get; init; }

    /// <summary>Share of them on which they agree, with Wilson's interval.</summary>
    public required Figure<ProportionEstimate> Percent { get; init; }

    /// <summary>Cohen's kappa.</summary>
    public required Figure<AgreementEstimate> Kappa { get; init; }

    /// <summary>Kappa with linear weights; cannot-tell for a line, whose answers have no order.</summary>
    public required Figure<AgreementEstimate> Linear { get; init; }

    /// <summary>Kappa with quadratic weights; cannot-tell for a line.</summary>
    public required Figure<AgreementEstimate> Quadratic { get; init; }

    /// <summary>For the verdict, whether both call for a repeat equally often; cannot-tell for a line.</summary>
    public required Figure<McNemar> Repeats { get; init; }
}

/// <summary>What agreement was worked out from, and what it is.</summary>
public sealed record AgreementReport
{
    /// <summary>Readers of the tables, in their order.</summary>
    public required IReadOnlyList<CaseReader> Readers { get; init; }

    /// <summary>The readings that count, one a reader and case.</summary>
    public required IReadOnlyList<OwnReading> Readings { get; init; }

    /// <summary>The cases that were read, whose answers the reader who asks may see.</summary>
    public required IReadOnlyList<ReadCase> Cases { get; init; }

    /// <summary>Cases left out because they are blind to the reader who asks.</summary>
    public required int HiddenCases { get; init; }

    /// <summary>Readings left out because a later version of Hotlight kept them.</summary>
    public required int UnreadableReadings { get; init; }

    /// <summary>The verdict.</summary>
    public required QuestionAgreement Verdict { get; init; }

    /// <summary>The lines that two readers answered on one case or more, in teaching order.</summary>
    public required IReadOnlyList<QuestionAgreement> Lines { get; init; }

    /// <summary>How each reader's agreement with the rest moves from month to month, on the verdict; a case stands in the month in which its last reading was finished.</summary>
    public required IReadOnlyList<ReaderDrift> Drift { get; init; }

    /// <summary>The scale of verdicts: accept, accept with remark, repeat, in that order; an undetermined one is no answer.</summary>
    public static CategoryScale VerdictScale { get; } = new(["accept", "accept-with-remark", "repeat"]);

    /// <summary>The scale of a line: no order.</summary>
    public static CategoryScale LineScale { get; } = new(["met", "not-met", "cannot-tell", "not-applicable"]);

    /// <summary>Works agreement out.</summary>
    /// <param name="readings">Finished readings; of several of one reader on one case the first counts.</param>
    /// <param name="cases">The cases whose answers may be seen.</param>
    /// <param name="hiddenCases">How many others were left out.</param>
    /// <param name="withLinesLeft">Whether lines count that a reader left to measurement or header.</param>
    public static AgreementReport Of(IEnumerable<OwnReading> readings, IReadOnlyList<ReadCase> cases, int hiddenCases, bool withLinesLeft)
    {
        ArgumentNullException.ThrowIfNull(readings);
        ArgumentNullException.ThrowIfNull(cases);
        var known = cases.Select(each => each.Id).ToHashSet();
        var used = new List<(OwnReading Reading, ReadingResult Result)>();
        int unreadable = 0;
        foreach (OwnReading reading in readings.Where(each => each.IsFinished && known.Contains(each.CaseId)).GroupBy(each => (each.CaseId, each.Reader.Id)).Select(group => group.MinBy(each => each.Number)!))
        {
            try
            {
                used.Add((reading, reading.Result!));
            }
            catch (System.Text.Json.JsonException)
            {
                unreadable++;
            }
        }

        CaseReader[] readers = [.. used.Select(each => each.Reading).GroupBy(each => each.Reader.Id).Select(group => group.MaxBy(each => each.Finished)!.Reader).OrderBy(each => each.Pseudonym, StringComparer.OrdinalIgnoreCase)];
        ReadCase[] read = [.. cases.Where(each => used.Any(one => one.Reading.CaseId == each.Id)).OrderBy(each => each.Title, StringComparer.OrdinalIgnoreCase)];
        Dictionary<(Guid Case, Guid Reader), ReadingResult> results = used.ToDictionary(each => (each.Reading.CaseId, each.Reading.Reader.Id), each => each.Result);
        QuestionAgreement verdict = Question(null, "Verdict", VerdictScale, read, readers, results, result => VerdictCategory(result.Stands));
        QuestionAgreement[] lines =
        [
            .. used.SelectMany(each => each.Result.Lines).GroupBy(line => line.Id).Select(group => group.First()).OrderBy(line => line.Section)
                .Select(line => Question(line.Id, line.Question, LineScale, [.. read.Where(each => used.Any(one => one.Reading.CaseId == each.Id && one.Result.Lines.Any(own => own.Id == line.Id)))], readers, results, result => LineCategory(result, line.Id, withLinesLeft)))
                .Where(question => question.PairableCases > 0),
        ];
        DateTimeOffset[] last = [.. verdict.CaseIds.Select(id => used.Where(each => each.Reading.CaseId == id).Max(each => each.Reading.Finished!.Value))];
        string[] months = [.. last.Select(Month).Distinct().Order(StringComparer.Ordinal)];
        return new AgreementReport
        {
            Readers = readers,
            Readings = [.. used.Select(each => each.Reading)],
            Cases = read,
            HiddenCases = hiddenCases,
            UnreadableReadings = unreadable,
            Verdict = verdict,
            Lines = lines,
            Drift = months.Length == 0 ? [] : ReaderDrift.Of(verdict.Table, [.. last.Select(time => Array.IndexOf(months, Month(time)))], months),
        };
    }

    /// <summary>How far two readers agree on every question.</summary>
    /// <param name="first">Place of the first in <see cref="Readers"/>.</param>
    /// <param name="second">Place of the second.</param>
    public IReadOnlyList<PairAgreement> Pair(int first, int second)
        => [.. Lines.Prepend(Verdict).Select(question => PairOf(question, first, second)).Where(pair => pair.LineId is null || pair.Cases > 0)];

    private static string Month(DateTimeOffset time) => time.UtcDateTime.ToString("yyyy-MM", System.Globalization.CultureInfo.InvariantCulture);

    private static int? VerdictCategory(VerdictKind kind) => kind switch
    {
        VerdictKind.Accept => 0,
        VerdictKind.AcceptWithRemark => 1,
        VerdictKind.Repeat => 2,
        _ => null,
    };

    // A line that nobody decided is no answer, unless the reader said that it cannot be told.
    private static int? LineCategory(ReadingResult result, string lineId, bool withLinesLeft)
        => result.Lines.FirstOrDefault(each => each.Id == lineId) is not { } line || (!line.IsReaders && (!withLinesLeft || line.DecidedBy == DecidedBy.Nobody))
            ? null
            : line.State switch { ChecklistState.Met => 0, ChecklistState.NotMet => 1, ChecklistState.CannotTell => 2, _ => 3 };

    private static QuestionAgreement Question(string? lineId, string question, CategoryScale scale, ReadCase[] cases, CaseReader[] readers, Dictionary<(Guid Case, Guid Reader), ReadingResult> results, Func<ReadingResult, int?> category)
    {
        // Names of cases need not differ; the tables go by place.
        var table = new ReadingTable(scale, [.. readers.Select(each => each.Pseudonym)], [.. cases.Select(each => new CaseReadings(each.Id.ToString(), [.. readers.Select(reader => results.TryGetValue((each.Id, reader.Id), out ReadingResult? result) ? category(result) : null)]))]);
        return new QuestionAgreement
        {
            LineId = lineId,
            Question = question,
            Table = table,
            CaseIds = [.. cases.Select(each => each.Id)],
            Percent = PercentAgreement.OfAll(table),
            Fleiss = FleissOf(table),
            Alpha = KrippendorffAlpha.Of(table, lineId is null ? AlphaMetric.Ordinal : AlphaMetric.Nominal),
            Ac1 = GwetCoefficient.Of(table),
            Divided = [.. CaseDivision.Of(table).Select(each => new DividedReading(Guid.Parse(each.Case), each))],
        };
    }

    // Cases that nobody answered are no cases of the question.
    private static Figure<AgreementEstimate> FleissOf(ReadingTable table)
    {
        var answered = new ReadingTable(table.Scale, table.Readers, [.. table.Cases.Where(each => each.Categories.Any(category => category is not null))]);
        return FleissKappa.Of(answered.Counts());
    }

    private static PairAgreement PairOf(QuestionAgreement question, int first, int second)
    {
        long[,] table = question.Table.Pair(first, second);
        bool isVerdict = question.LineId is null;
        const int Repeat = 2;
        Figure<T> NoOrder<T>()
            where T : class => Figure<T>.CannotTell("The answers to a line have no order, so a near miss has no meaning.");
        return new PairAgreement
        {
            LineId = question.LineId,
            Question = question.Question,
            Cases = table.Cast<long>().Sum(),
            Percent = PercentAgreement.OfPair(table),
            Kappa = CohenKappa.Of(table, question.Table.Scale),
            Linear = isVerdict ? CohenKappa.Of(table, question.Table.Scale, KappaWeights.Linear) : NoOrder<AgreementEstimate>(),
            Quadratic = isVerdict ? CohenKappa.Of(table, question.Table.Scale, KappaWeights.Quadratic) : NoOrder<AgreementEstimate>(),
            Repeats = isVerdict ? McNemar.Of(table[Repeat, 0] + table[Repeat, 1], table[0, Repeat] + table[1, Repeat]) : Figure<McNemar>.CannotTell("The test is of verdicts: whether both call for a repeat equally often."),
        };
    }
}
