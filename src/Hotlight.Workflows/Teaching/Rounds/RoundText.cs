using System.Globalization;
using System.Text;
using Hotlight.Workflows.Readings;

namespace Hotlight.Workflows.Teaching.Rounds;

/// <summary>A round's consensus as a table of comma-separated values (RFC 4180). Its answers and its agreement are written by <see cref="AgreementText"/>.</summary>
public static class RoundText
{
    /// <summary>Every record of the consensus, the earlier ones too: one row a record and voice.</summary>
    /// <param name="view">The round as it is shown.</param>
    public static string Consensus(RoundView view)
    {
        ArgumentNullException.ThrowIfNull(view);
        var text = new StringBuilder();
        AgreementText.Row(text, "case", "case_title", "question", "agreed", "stands", "recorded_utc", "recorded_by", "note", "reader", "voice", "why");
        Dictionary<Guid, string> titles = view.Cases.ToDictionary(each => each.CaseId, each => each.Title);
        foreach (RoundConsensus record in view.Consensus)
        {
            string[] about =
            [
                record.CaseId.ToString(),
                titles.GetValueOrDefault(record.CaseId) ?? "",
                record.LineId ?? "verdict",
                record.Agreed ?? "no agreement",
                view.StandsOn(record.CaseId, record.LineId) == record ? "yes" : "no",
                record.Recorded.UtcDateTime.ToString("yyyy-MM-ddTHH:mm:ssZ", CultureInfo.InvariantCulture),
                record.RecordedBy,
                record.Note ?? "",
            ];
            foreach (RoundVoice voice in record.AgreedBy)
            {
                AgreementText.Row(text, [.. about, voice.Name, "shares it", ""]);
            }

            foreach (RoundDissent dissent in record.Dissent)
            {
                AgreementText.Row(text, [.. about, dissent.Name, "dissents", dissent.Why]);
            }

            if (record.AgreedBy.Count + record.Dissent.Count == 0)
            {
                AgreementText.Row(text, [.. about, "", "", ""]);
            }
        }

        return text.ToString();
    }
}
