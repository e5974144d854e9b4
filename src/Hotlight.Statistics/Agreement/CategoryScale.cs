using Hotlight.Core;

namespace Hotlight.Statistics.Agreement;

/// <summary>The answers readers could choose from, whether or not anybody chose them. Weighted coefficients depend on it, so it is never guessed from the answers given.</summary>
public sealed record CategoryScale
{
    /// <summary>Makes a scale.</summary>
    /// <param name="names">Names of the categories, in their order, each once, at least one.</param>
    /// <param name="values">Their values on an interval or ratio scale, strictly rising, as many; null: 1, 2, 3 and on.</param>
    /// <exception cref="ArgumentException">A name occurs twice, or values do not rise.</exception>
    public CategoryScale(IReadOnlyList<string> names, IReadOnlyList<double>? values = null)
    {
        ArgumentNullException.ThrowIfNull(names);
        Preconditions.AtLeastOne(names.Count);
        if (names.Distinct(StringComparer.Ordinal).Count() != names.Count)
        {
            throw new ArgumentException("A category's name occurs twice.", nameof(names));
        }

        Names = names;
        Values = values ?? [.. names.Select((_, index) => index + 1.0)];
        if (Values.Count != names.Count || Values.Any(value => !double.IsFinite(value)) || Values.Zip(Values.Skip(1)).Any(pair => pair.Second <= pair.First))
        {
            throw new ArgumentException($"There are {names.Count} categories; their values must be as many, finite and rising.", nameof(values));
        }
    }

    /// <summary>Names of the categories, in their order.</summary>
    public IReadOnlyList<string> Names { get; }

    /// <summary>Their values, strictly rising.</summary>
    public IReadOnlyList<double> Values { get; }

    /// <summary>Number of categories.</summary>
    public int Count => Names.Count;

    /// <summary>Agreement weights of each pair of categories, categories × categories, 1 on the diagonal, 0 for the ends of the scale.</summary>
    /// <remarks>Method: linear 1 − |v_i − v_j|/(v_max − v_min); quadratic 1 − (v_i − v_j)²/(v_max − v_min)²; none: 1 where alike, else 0. Cohen, Psychol Bull 1968;70:213.</remarks>
    /// <param name="weights">Which weights.</param>
    public double[,] Weights(KappaWeights weights)
    {
        double[,] matrix = new double[Count, Count];
        double range = Values[^1] - Values[0];
        for (int first = 0; first < Count; first++)
        {
            for (int second = 0; second < Count; second++)
            {
                double distance = first == second ? 0 : Math.Abs(Values[first] - Values[second]) / range;
                matrix[first, second] = weights switch
                {
                    KappaWeights.Linear => 1 - distance,
                    KappaWeights.Quadratic => 1 - (distance * distance),
                    _ => first == second ? 1 : 0,
                };
            }
        }

        return matrix;
    }
}
