using System.Globalization;
using Hotlight.Workflows.Readings;
using Hotlight.Workflows.Teaching.Rounds;

namespace Hotlight.Web.Rounds;

/// <summary>Words of rounds as the pages say them.</summary>
internal static class RoundWords
{
    /// <summary>How far a round is.</summary>
    public static string Of(RoundState state) => state switch
    {
        RoundState.Open => "open: being read blind",
        RoundState.Shown => "shown: being talked over",
        RoundState.Agreed => "consensus recorded",
        _ => "closed",
    };

    /// <summary>An answer's term in words.</summary>
    /// <param name="lineId">The line; null: the verdict.</param>
    /// <param name="term">The term; null: none.</param>
    /// <param name="none">What stands where there is none.</param>
    public static string Answer(string? lineId, string? term, string none) => term is null ? none : lineId is null ? Words.OfVerdict(term) : term.Replace('-', ' ');

    /// <summary>Where a discussion is.</summary>
    /// <param name="thread">The discussion.</param>
    /// <param name="questionOf">Question of a line.</param>
    public static string About(RoundThread thread, Func<string, string> questionOf)
    {
        string where = thread.Place is { } place
            ? string.Create(CultureInfo.InvariantCulture, $"{(place.IsBox ? "a box" : "a point")} on the image, column {place.X:0}, row {place.Y:0}")
            : thread.LineId is null ? "the case as a whole" : string.Empty;
        string line = thread.LineId is { } id ? questionOf(id) : string.Empty;
        return where.Length > 0 && line.Length > 0 ? $"{where}; {line}" : where + line;
    }

    /// <summary>Names with commas between.</summary>
    /// <param name="voices">Whose.</param>
    public static string Names(IEnumerable<RoundVoice> voices) => string.Join(", ", voices.Select(each => each.Name));

    /// <summary>A count with its noun.</summary>
    public static string Count(int count, string one, string? many = null) => string.Create(CultureInfo.InvariantCulture, $"{count} {(count == 1 ? one : many ?? one + "s")}");

    /// <summary>Why answers were shown.</summary>
    /// <param name="view">The round.</param>
    public static string Shown(RoundView view) => view.Shown is not { } shown
        ? $"The answers are shown since {Words.Time(view.ReadUntil)}, when reading ended."
        : shown.By == RoundShownBy.AllFinished ? $"The answers are shown since {Words.Time(shown.At)}, when everybody had finished." : $"The answers are shown since {Words.Time(shown.At)}: {view.Teacher} ended the reading.";

    /// <summary>A question of the report; null where two readers or more did not answer it.</summary>
    public static QuestionAgreement? Question(RoundView view, string? lineId) => lineId is null ? view.Report?.Verdict : view.Report?.Lines.FirstOrDefault(each => each.LineId == lineId);
}
