using System.Text.Json;
using Hotlight.Core;

namespace Hotlight.Teaching.Practice;

/// <summary>A word for how certain an answer is, with the chance it stands for.</summary>
/// <param name="Id">Identifier in kebab-case.</param>
/// <param name="Word">The word that is shown.</param>
/// <param name="Chance">The chance that the answer is right, 0.5 to below 1; common practice, no source.</param>
public sealed record CertaintyWord(string Id, string Word, double Chance);

/// <summary>Credit of a line and of a verdict, 0 to 1; docs/practice.md works examples.</summary>
public sealed record CreditRules
{
    /// <summary>The state is right, and of a fault a way of missing it that is true was named.</summary>
    public required double Right { get; init; }

    /// <summary>A fault was seen, but no way of missing it named.</summary>
    public required double RightStateNoWay { get; init; }

    /// <summary>A fault was seen and another way of missing it named.</summary>
    public required double RightStateOtherWay { get; init; }

    /// <summary>A fault was seen and the opposite way of missing it named: the correction would go the wrong way.</summary>
    public required double RightStateOppositeWay { get; init; }

    /// <summary>The answer is that it cannot be told.</summary>
    public required double CannotTell { get; init; }

    /// <summary>A fault was not seen.</summary>
    public required double Missed { get; init; }

    /// <summary>A fault was seen where there is none.</summary>
    public required double Imagined { get; init; }

    /// <summary>No answer was given.</summary>
    public required double Open { get; init; }

    /// <summary>The verdict is one of those that follow from the truth.</summary>
    public required double VerdictRight { get; init; }

    /// <summary>The verdict lies one step beside: accept, accept with remark, repeat.</summary>
    public required double VerdictOneStepOff { get; init; }

    /// <summary>The verdict lies two steps beside.</summary>
    public required double VerdictTwoStepsOff { get; init; }
}

/// <summary>How the next exercise is chosen by weakness.</summary>
/// <param name="PriorWeight">How many exercises the learner's record of a kind of fault weighs when one of its projections is judged, above 0.</param>
/// <param name="ExploreShare">Share of exercises that go to what was practised least, 0 to 1.</param>
public sealed record ChoiceRules(double PriorWeight, double ExploreShare);

/// <summary>The rules of practice, as they are shipped in data/practice/scoring.json.</summary>
public sealed record PracticeRules
{
    private static readonly Lazy<PracticeRules> Shipped = new(() => PracticeData.Read<PracticeRules>("practice-scoring.json"));

    /// <summary>The rules as shipped.</summary>
    public static PracticeRules Default => Shipped.Value;

    /// <summary>Words of certainty, the surest first.</summary>
    public required IReadOnlyList<CertaintyWord> Certainty { get; init; }

    /// <summary>Credit of answers.</summary>
    public required CreditRules Credit { get; init; }

    /// <summary>Fewest answers with a certainty for a figure of calibration.</summary>
    public required int LeastAnswers { get; init; }

    /// <summary>Fewest lines of a kind for a rate of what was missed or imagined.</summary>
    public required int LeastLines { get; init; }

    /// <summary>How the next exercise is chosen.</summary>
    public required ChoiceRules Choice { get; init; }

    /// <summary>The chance that a word stands for.</summary>
    /// <param name="certaintyId">The word's identifier; null: none was said.</param>
    /// <returns>Null where none was said, or the word is not known.</returns>
    public double? ChanceOf(string? certaintyId) => Certainty.FirstOrDefault(word => word.Id == certaintyId)?.Chance;
}

/// <summary>Reads the shipped files of practice.</summary>
internal static class PracticeData
{
    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web);

    /// <summary>Reads a shipped file.</summary>
    /// <typeparam name="T">What it holds.</typeparam>
    /// <param name="name">Name of the resource.</param>
    public static T Read<T>(string name)
    {
        using Stream stream = typeof(PracticeData).Assembly.GetManifestResourceStream(name) ?? throw new InvalidOperationException($"The file {name} is not shipped.");
        return JsonSerializer.Deserialize<T>(stream, Form) ?? throw new InvalidOperationException($"The file {name} is empty.");
    }
}
