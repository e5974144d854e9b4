using Hotlight.Judgement;
using Hotlight.Statistics.Agreement;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Tests.Readings;

public sealed class AgreementReportTests
{
    private const string Line = "marker.side";
    private static readonly DateTimeOffset Day = new(2026, 3, 1, 8, 0, 0, TimeSpan.Zero);

    // statsmodels test data: rows reader 1, columns reader 2; kappa 0.4842, linear 0.4701, both printed to four digits.
    [Fact]
    public void Pair_PublishedTableOfThreeCategories_GivesItsKappas()
    {
        AgreementReport report = Report(Readings(Table([[0, 4, 1], [0, 8, 0], [0, 1, 5]])));

        PairAgreement pair = report.Pair(0, 1)[0];

        Assert.Equal(19, pair.Cases);
        Assert.Equal(0.4842, pair.Kappa.Value!.Value, 5e-5);
        Assert.Equal(0.4701, pair.Linear.Value!.Value, 5e-5);
        Assert.Equal(0.2137, pair.Kappa.Value.Interval.Value!.Lower, 5e-5);
        Assert.Equal(0.7547, pair.Kappa.Value.Interval.Value!.Upper, 5e-5);

        // 13 of 19 alike by counting the diagonal; repeat against not: 1 case each way, so p is 1 (identity b = c).
        Assert.Equal(13.0 / 19, pair.Percent.Value!.Fraction, 1e-12);
        Assert.Equal((1, 1, 1.0), (pair.Repeats.Value!.FirstOnly, pair.Repeats.Value.SecondOnly, pair.Repeats.Value.Exact.PValue));
        Assert.Equal(6, report.Verdict.Divided.Count(each => each.Case.PairwiseDisagreement > 0));
    }

    // Binary data of two observers in ten units (reader-agreement data sheet, section 3): A 0100000010, B 1110010000, alpha 0.095238 = 1 − 19·8/(2·14·6), by the coincidences [[10,4],[4,2]].
    [Fact]
    public void Alpha_BinaryTextbookData_GivesItsValueOnALine()
    {
        const string A = "0100000010";
        const string B = "1110010000";
        AgreementReport report = Report(
        [
            .. A.Select((letter, place) => Reading(place, "A", line: letter == '1' ? ChecklistState.Met : ChecklistState.NotMet)),
            .. B.Select((letter, place) => Reading(place, "B", line: letter == '1' ? ChecklistState.Met : ChecklistState.NotMet)),
        ]);

        QuestionAgreement line = Assert.Single(report.Lines);

        Assert.Equal((Line, 10), (line.LineId, line.PairableCases));
        Assert.Equal(0.095238, line.Alpha.Value!.Value, 5e-7);
        Assert.NotNull(line.Alpha.Value.Interval.Value);
        Assert.Equal(0.6, line.Percent.Value!.Value, 1e-12);
    }

    // Kappa paradox (reader-agreement data sheet, section 1): [[118,5],[2,0]], kappa −0.023392, AC1 0.940776, alpha −0.024691; there with two categories.
    [Fact]
    public void Ac1_OneAnswerRare_StandsBesideAKappaBelowZero()
    {
        var readings = new List<OwnReading>();
        (int Count, ChecklistState First, ChecklistState Second)[] cells = [(118, ChecklistState.Met, ChecklistState.Met), (5, ChecklistState.Met, ChecklistState.NotMet), (2, ChecklistState.NotMet, ChecklistState.Met)];
        foreach ((int count, ChecklistState first, ChecklistState second) in cells)
        {
            for (int one = 0; one < count; one++)
            {
                int place = readings.Count / 2;
                readings.Add(Reading(place, "A", line: first));
                readings.Add(Reading(place, "B", line: second));
            }
        }

        AgreementReport report = Report([.. readings]);

        Assert.Equal(-0.023392, report.Pair(0, 1)[1].Kappa.Value!.Value, 5e-7);
        Assert.Equal(-0.024691, report.Lines[0].Alpha.Value!.Value, 5e-7);

        // With the four answers of a line on the scale chance is Σπ(1 − π)/3: π 0.972, 0.028, so pe = 2·0.972·0.028/3 = 0.018144 and AC1 = (0.944 − 0.018144)/(1 − 0.018144).
        Assert.Equal((0.944 - 0.018144) / (1 - 0.018144), report.Lines[0].Ac1.Value!.Value, 1e-9);
    }

    [Fact]
    public void Of_FewAnswers_CannotTellWithWhatToDo()
    {
        AgreementReport none = Report([]);
        Assert.Contains("two readers", none.Verdict.Percent.Why, StringComparison.Ordinal);
        Assert.Empty(none.Drift);

        AgreementReport one = Report([Reading(0, "A"), Reading(1, "A")]);
        Assert.False(one.Verdict.Alpha.IsMeasured);
        Assert.Empty(one.Lines);

        AgreementReport alike = Report([Reading(0, "A"), Reading(0, "B"), Reading(1, "A"), Reading(1, "B")]);
        Assert.Equal(1, alike.Verdict.Percent.Value!.Value);
        Assert.False(alike.Verdict.Percent.Value.Interval.IsMeasured);
        Assert.Contains("one category", alike.Verdict.Alpha.Why, StringComparison.Ordinal);
        Assert.False(alike.Pair(0, 1)[0].Repeats.IsMeasured);
    }

    [Fact]
    public void Of_GapsLinesLeftAndUndetermined_AreNoAnswers()
    {
        OwnReading[] readings =
        [
            Reading(0, "A", VerdictKind.Undetermined), Reading(0, "B"), Reading(0, "C"),
            Reading(1, "A", line: ChecklistState.CannotTell), Reading(1, "B", line: ChecklistState.NotMet, isReaders: false), Reading(1, "C", line: ChecklistState.Met),
        ];
        AgreementReport report = Report(readings);

        Assert.Equal([null, 0, 0], report.Verdict.Table.Cases[0].Categories);
        QuestionAgreement line = Assert.Single(report.Lines);
        Assert.Equal([2, null, 0], line.Table.Cases[1].Categories);
        Assert.Contains("alpha", report.Verdict.Fleiss.Why, StringComparison.Ordinal);
        Assert.Equal(1, AgreementReport.Of(readings, Cases(readings), 0, withLinesLeft: true).Lines[0].Table.Cases[1].Categories[1]);
    }

    [Fact]
    public void Ratings_CellsThatASpreadsheetWouldRun_AreQuoted()
    {
        OwnReading[] readings = [Reading(0, "=A,\"1\""), Reading(0, "B")];
        string csv = AgreementText.Ratings(AgreementReport.Of(readings, Cases(readings), 0, false));
        string[] rows = csv.Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(5, rows.Length);
        Assert.Contains(",\"'=A,\"\"1\"\"\",", csv, StringComparison.Ordinal);
        Assert.Contains("fleiss kappa", AgreementText.Figures(AgreementReport.Of(readings, Cases(readings), 0, false)), StringComparison.Ordinal);
    }

    private static AgreementReport Report(OwnReading[] readings) => AgreementReport.Of(readings, Cases(readings), 0, false);

    private static ReadCase[] Cases(OwnReading[] readings) => [.. readings.Select(each => each.CaseId).Distinct().Select(id => new ReadCase(id, $"case {id.ToString()[..8]}", "wrist-pa", "", false, CaseState.New, 1))];

    private static List<(VerdictKind First, VerdictKind Second)> Table(int[][] table)
    {
        VerdictKind[] kinds = [VerdictKind.Accept, VerdictKind.AcceptWithRemark, VerdictKind.Repeat];
        return [.. from row in Enumerable.Range(0, 3) from column in Enumerable.Range(0, 3) from _ in Enumerable.Range(0, table[row][column]) select (kinds[row], kinds[column])];
    }

    private static OwnReading[] Readings(List<(VerdictKind First, VerdictKind Second)> pairs)
        => [.. pairs.SelectMany((pair, place) => new[] { Reading(place, "A", pair.First), Reading(place, "B", pair.Second) })];

    private static OwnReading Reading(int place, string reader, VerdictKind verdict = VerdictKind.Accept, ChecklistState line = ChecklistState.Met, bool isReaders = true) => new()
    {
        Id = Guid.NewGuid(),
        CaseId = new Guid(place + 1, 0, 0, new byte[8]),
        CaseTitle = "case",
        ProjectionId = "wrist-pa",
        Reader = new CaseReader(new Guid(reader[0], 0, 0, new byte[8]), reader, PersonRole.Reader),
        Number = 1,
        Condition = ReadingCondition.Blind,
        Begun = Day,
        Changed = Day,
        Finished = Day.AddDays(place),
        ResultJson = new ReadingResult
        {
            ProjectionId = "wrist-pa",
            ProjectionName = "Wrist PA",
            Lines = [new ReadLine(Line, ChecklistSection.SideMarker, "Is the marker R?", line, isReaders ? DecidedBy.Reader : DecidedBy.Measurement, isReaders, null, null, null)],
            Verdict = verdict,
            VerdictSentence = "",
            JudgedBy = "1",
            MeasuredBy = "1",
            MeasuredWith = "",
            DeviationScheme = "",
        }.Write(),
    };
}
