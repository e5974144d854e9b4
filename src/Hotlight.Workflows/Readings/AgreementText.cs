using System.Globalization;
using System.Text;
using Hotlight.Core;
using Hotlight.Statistics.Agreement;

namespace Hotlight.Workflows.Readings;

/// <summary>Ratings and figures of agreement as tables of comma-separated values (RFC 4180), for another program to work out again.</summary>
public static class AgreementText
{
    /// <summary>The ratings: one row a reading and question, long form.</summary>
    /// <param name="report">The report.</param>
    public static string Ratings(AgreementReport report)
    {
        ArgumentNullException.ThrowIfNull(report);
        var text = new StringBuilder();
        Row(text, "case", "case_title", "invented_case", "projection", "reader", "invented_reader", "condition", "finished_utc", "question", "answer");
        Dictionary<Guid, ReadCase> cases = report.Cases.ToDictionary(each => each.Id);
        Dictionary<(Guid, Guid), OwnReading> readings = report.Readings.ToDictionary(each => (each.CaseId, each.Reader.Id));
        foreach (QuestionAgreement question in report.Lines.Prepend(report.Verdict))
        {
            for (int place = 0; place < question.CaseIds.Count; place++)
            {
                ReadCase read = cases[question.CaseIds[place]];
                for (int reader = 0; reader < report.Readers.Count; reader++)
                {
                    if (question.Table.Cases[place].Categories[reader] is { } category && readings.TryGetValue((read.Id, report.Readers[reader].Id), out OwnReading? reading))
                    {
                        Row(
                            text,
                            read.Id.ToString(),
                            read.Title,
                            YesNo(read.IsInvented),
                            reading.ProjectionId,
                            reading.Reader.Pseudonym,
                            YesNo(reading.Reader.IsInvented),
                            reading.Condition.ToString().ToLowerInvariant(),
                            reading.Finished!.Value.UtcDateTime.ToString("yyyy-MM-ddTHH:mm:ssZ", CultureInfo.InvariantCulture),
                            question.LineId ?? "verdict",
                            question.Table.Scale.Names[category]);
                    }
                }
            }
        }

        return text.ToString();
    }

    /// <summary>The figures: one row a question and coefficient.</summary>
    /// <param name="report">The report.</param>
    public static string Figures(AgreementReport report)
    {
        ArgumentNullException.ThrowIfNull(report);
        var text = new StringBuilder();
        Row(text, "question", "readers", "coefficient", "value", "lower_95", "upper_95", "cases", "readings", "cannot_tell", "method", "source");
        foreach (QuestionAgreement question in report.Lines.Prepend(report.Verdict))
        {
            Estimate(text, question.LineId, "all", "percent agreement", question.Percent);
            Estimate(text, question.LineId, "all", "fleiss kappa", question.Fleiss);
            Estimate(text, question.LineId, "all", "krippendorff alpha", question.Alpha);
            Estimate(text, question.LineId, "all", "gwet ac1", question.Ac1);
        }

        for (int first = 0; first < report.Readers.Count; first++)
        {
            for (int second = first + 1; second < report.Readers.Count; second++)
            {
                string pair = $"{report.Readers[first].Pseudonym} and {report.Readers[second].Pseudonym}";
                foreach (PairAgreement each in report.Pair(first, second))
                {
                    Estimate(text, each.LineId, pair, "cohen kappa", each.Kappa);
                    if (each.LineId is null)
                    {
                        Estimate(text, null, pair, "cohen kappa, linear weights", each.Linear);
                        Estimate(text, null, pair, "cohen kappa, quadratic weights", each.Quadratic);
                        Row(text, "verdict", pair, "mcnemar mid-p, repeat or not", each.Repeats.IsMeasured ? Number(each.Repeats.Value.MidP.PValue) : "", "", "", each.Cases.ToString(CultureInfo.InvariantCulture), "", each.Repeats.Why ?? "", each.Repeats.Value?.MidP.Method.Name ?? "", each.Repeats.Value?.MidP.Method.Source ?? "");
                    }
                }
            }
        }

        return text.ToString();
    }

    /// <summary>Appends a row of cells, quoted where they must be; a cell that a spreadsheet would take for a formula gets an apostrophe before it.</summary>
    /// <param name="text">Where to.</param>
    /// <param name="cells">The cells.</param>
    internal static void Row(StringBuilder text, params string[] cells)
    {
        for (int place = 0; place < cells.Length; place++)
        {
            text.Append(place == 0 ? "" : ",").Append(CsvCell.Of(cells[place]));
        }

        text.Append("\r\n");
    }

    /// <summary>A number as it is written in tables.</summary>
    /// <param name="value">The number.</param>
    internal static string Number(double value) => value.ToString("0.######", CultureInfo.InvariantCulture);

    private static string YesNo(bool value) => value ? "yes" : "no";

    private static void Estimate(StringBuilder text, string? lineId, string readers, string name, Figure<AgreementEstimate> figure)
    {
        AgreementEstimate? value = figure.Value;
        Row(
            text,
            lineId ?? "verdict",
            readers,
            name,
            value is null ? "" : Number(value.Value),
            value?.Interval.Value is { } low ? Number(low.Lower) : "",
            value?.Interval.Value is { } high ? Number(high.Upper) : "",
            value?.Cases.ToString(CultureInfo.InvariantCulture) ?? "",
            value?.Readings.ToString(CultureInfo.InvariantCulture) ?? "",
            figure.Why ?? value?.Interval.Why ?? "",
            value?.Method.Name ?? "",
            value?.Method.Source ?? "");
    }
}
