using Hotlight.Poses.Proposal;

namespace Hotlight.Proposals;

/// <summary>Errors of the proposals of one point.</summary>
internal sealed class Tally
{
    private readonly List<double> distances = [];
    private readonly List<double> deviations = [];

    /// <summary>How often it was to be found.</summary>
    public int Asked { get; private set; }

    /// <summary>How often it was proposed though it is not in the picture.</summary>
    public int False { get; private set; }

    /// <summary>How often it was not in the picture.</summary>
    public int Hidden { get; private set; }

    /// <summary>Distances from the true places.</summary>
    public IReadOnlyList<double> Distances => distances;

    /// <summary>Errors of single coordinates over their stated deviation.</summary>
    public IReadOnlyList<double> Deviations => deviations;

    /// <summary>Adds a point that is there.</summary>
    /// <param name="proposed">What was proposed; null for nothing.</param>
    /// <param name="right">Error to the right, in pixels.</param>
    /// <param name="down">Error downwards, in pixels.</param>
    /// <param name="unit">What one pixel is in the unit of the table.</param>
    public void Add(ProposedPlace? proposed, double right, double down, double unit)
    {
        Asked++;
        if (proposed is not null)
        {
            distances.Add(Math.Sqrt((right * right) + (down * down)) * unit);
            deviations.Add(Math.Abs(right) / proposed.UncertaintyPixels);
            deviations.Add(Math.Abs(down) / proposed.UncertaintyPixels);
        }
    }

    /// <summary>Adds a point that is not in the picture.</summary>
    /// <param name="proposed">What was proposed; null for nothing.</param>
    public void AddHidden(ProposedPlace? proposed)
    {
        Hidden++;
        False += proposed is null ? 0 : 1;
    }

    /// <summary>Adds another tally.</summary>
    public void Add(Tally other)
    {
        distances.AddRange(other.distances);
        deviations.AddRange(other.deviations);
        Asked += other.Asked;
        Hidden += other.Hidden;
        False += other.False;
    }

    /// <summary>A row of the table.</summary>
    public string Row(string name)
        => FormattableString.Invariant($"| {name} | {distances.Count} of {Asked} | {At(distances, 0.5):0.0} | {At(distances, 0.9):0.0} | {100.0 * deviations.Count(each => each <= 1) / Math.Max(1, deviations.Count):0} % | {False} of {Hidden} |");

    /// <summary>A share of values lies below it.</summary>
    public static double At(IEnumerable<double> values, double share)
    {
        double[] all = [.. values.Order()];
        return all.Length == 0 ? double.NaN : all[Math.Min(all.Length - 1, (int)(share * all.Length))];
    }
}
