using Hotlight.Catalogue;

namespace Hotlight.Judgement;

/// <summary>Puts a reader's answer on a line. Against measurement or header it needs a reason, and both stay visible.</summary>
internal static class ReaderAnswer
{
    public static bool NeedsRemark(ChecklistLine line, ChecklistState state)
    {
        // A line the reader has already overruled is compared with what had been decided before.
        ChecklistState earlier = line.Overridden?.State ?? line.State;
        DecidedBy by = line.Overridden?.DecidedBy ?? line.DecidedBy;
        bool overrules = by is DecidedBy.Measurement or DecidedBy.Header && earlier != ChecklistState.CannotTell && earlier != state;
        return overrules || (line.Required && state == ChecklistState.NotApplicable);
    }

    public static ChecklistLine Apply(ChecklistLine line, Answer answer)
    {
        if (answer.Miss is not null && line.Misses.All(miss => miss.Id != answer.Miss))
        {
            throw new ArgumentException($"'{answer.Miss}' is not a way of missing '{line.Id}'.", nameof(answer));
        }

        string? remark = string.IsNullOrWhiteSpace(answer.Remark) ? null : answer.Remark.Trim();
        if (NeedsRemark(line, answer.State) && remark is null)
        {
            return line with
            {
                Hint = line.DecidedBy is DecidedBy.Measurement or DecidedBy.Header
                    ? $"The reader's answer was not taken: it goes against the {Name(line.DecidedBy)} and gives no reason. Add a remark."
                    : "The reader's answer was not taken: a required line is left out only with a reason. Add a remark.",
            };
        }

        if (line is { Section: ChecklistSection.Positioning, DecidedBy: DecidedBy.Measurement, State: ChecklistState.NotMet } && answer.State == ChecklistState.NotMet)
        {
            return Seen(line, answer, remark);
        }

        if (line.State == answer.State && line.DecidedBy is DecidedBy.Measurement or DecidedBy.Header && line.State != ChecklistState.CannotTell)
        {
            return WithWeightOf(line with { Remark = remark, MissId = answer.Miss });
        }

        if (answer.State == ChecklistState.CannotTell && line.DecidedBy == DecidedBy.Nobody)
        {
            return line with { DecidedBy = DecidedBy.Reader, Explanation = "The reader cannot tell.", Remark = remark };
        }

        bool overrules = line.DecidedBy is DecidedBy.Measurement or DecidedBy.Header && line.State != ChecklistState.CannotTell;
        return WithWeightOf(line with
        {
            State = answer.State,
            DecidedBy = DecidedBy.Reader,
            MissId = answer.State == ChecklistState.NotMet ? answer.Miss : null,
            Remark = remark,
            Explanation = Sentence(line, answer),
            Overridden = overrules ? new EarlierDecision { State = line.State, DecidedBy = line.DecidedBy, Explanation = line.Explanation } : line.Overridden,
        });
    }

    /// <summary>A relation that marks found missed and a person sees missed: from here on it is the person's word. Another way of missing it than the marks say needs a remark.</summary>
    private static ChecklistLine Seen(ChecklistLine line, Answer answer, string? remark)
    {
        bool otherWay = answer.Miss is not null && answer.Miss != line.MissId;
        if (otherWay && remark is null)
        {
            return line with { Hint = $"The reader's answer was not taken: it names another way of missing than the marks ({line.MissId}) and gives no reason. Add a remark." };
        }

        return WithWeightOf(line with
        {
            DecidedBy = DecidedBy.Reader,
            MissId = answer.Miss ?? line.MissId,
            Remark = remark,
            Hint = null,
            Explanation = otherWay ? Sentence(line, answer) : $"The reader sees it too. {line.Explanation}",
            Overridden = otherWay ? new EarlierDecision { State = line.State, DecidedBy = line.DecidedBy, Explanation = line.Explanation } : line.Overridden,
        });
    }

    private static ChecklistLine WithWeightOf(ChecklistLine line)
        => line.Miss is { } miss ? line with { Weight = miss.Weight } : line;

    private static string Sentence(ChecklistLine line, Answer answer)
    {
        Miss? miss = line.Misses.FirstOrDefault(candidate => candidate.Id == answer.Miss);
        return answer.State switch
        {
            ChecklistState.Met => "The reader says yes.",
            ChecklistState.NotMet when miss is not null => $"The reader sees: {miss.Looks}. {miss.Means}",
            ChecklistState.NotMet => "The reader says no.",
            ChecklistState.NotApplicable => "The reader leaves this line out.",
            _ => "The reader cannot tell.",
        };
    }

    private static string Name(DecidedBy by) => by == DecidedBy.Header ? "header" : "measurement";
}
