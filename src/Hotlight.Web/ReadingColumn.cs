using System.Globalization;
using Hotlight.Judgement;
using Hotlight.Workflows.Readings;

namespace Hotlight.Web;

/// <summary>A column of answers that stand side by side.</summary>
/// <param name="Name">Whose.</param>
/// <param name="Note">How and when they were given; may be empty.</param>
/// <param name="About">The same at length.</param>
/// <param name="IsInvented">Whether nobody of that name exists.</param>
/// <param name="Result">The answers.</param>
public sealed record ReadingColumn(string Name, string Note, string About, bool IsInvented, ReadingResult Result)
{
    /// <summary>The column of a finished reading; null where a later version of Hotlight kept it.</summary>
    /// <param name="reading">The reading.</param>
    public static ReadingColumn? Of(OwnReading reading)
    {
        ArgumentNullException.ThrowIfNull(reading);
        try
        {
            string note = $"{ReadingWords.Of(reading.Condition)}, {reading.Finished!.Value.ToLocalTime().ToString("yyyy-MM-dd", CultureInfo.InvariantCulture)}";
            return new ReadingColumn(reading.Reader.Pseudonym, note, $"Finished {Words.Time(reading.Finished.Value)}; judged by Hotlight {reading.Result!.JudgedBy}", reading.Reader.IsInvented, reading.Result);
        }
        catch (System.Text.Json.JsonException)
        {
            // It stands in the list of readers, not in the table.
            return null;
        }
    }

    /// <summary>The answers of all columns to a line, those that nobody decided left out.</summary>
    /// <param name="columns">The columns.</param>
    /// <param name="lineId">The line.</param>
    public static IEnumerable<string> AnswersTo(IReadOnlyList<ReadingColumn> columns, string lineId)
        => columns.Select(column => column.Result.Lines.FirstOrDefault(each => each.Id == lineId)).OfType<ReadLine>().Where(each => each.IsReaders || each.DecidedBy != DecidedBy.Nobody).Select(each => each.State.ToString());

    /// <summary>Whether not all answers are the same.</summary>
    /// <param name="answers">The answers.</param>
    public static bool Differ(IEnumerable<string> answers) => answers.Distinct().Skip(1).Any();
}
