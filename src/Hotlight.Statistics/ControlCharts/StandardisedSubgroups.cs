using Hotlight.Core;

namespace Hotlight.Statistics.ControlCharts;

/// <summary>The common ground of all charts of counts: centre, spread and distance of each subgroup in its own standard deviations.</summary>
/// <param name="Centre">Centre line.</param>
/// <param name="SigmaZ">Laney's factor, or 1.</param>
/// <param name="BaselineEvents">Events in the baseline.</param>
/// <param name="BaselineSize">Size of the baseline.</param>
/// <param name="First">Index of the baseline's first subgroup.</param>
/// <param name="Count">Subgroups in the baseline.</param>
/// <param name="Deviations">Standard deviation of each subgroup's value, SigmaZ taken in; NaN for an empty one.</param>
/// <param name="Z">Distance of each from the centre in those; NaN for an empty one.</param>
internal sealed record StandardisedSubgroups(double Centre, double SigmaZ, long BaselineEvents, double BaselineSize, int First, int Count, double[] Deviations, double[] Z)
{
    /// <summary>Works them out; a reason where the baseline does not hold enough.</summary>
    /// <param name="subgroups">The subgroups, in order of time.</param>
    /// <param name="kind">What is assumed of chance.</param>
    /// <param name="settings">Baseline, centre and spread.</param>
    /// <exception cref="ArgumentException">A size or a count makes no sense, or the baseline lies outside the list.</exception>
    public static Figure<StandardisedSubgroups> Of(IReadOnlyList<Subgroup> subgroups, ChartKind kind, ChartSettings settings)
    {
        ArgumentNullException.ThrowIfNull(subgroups);
        ArgumentNullException.ThrowIfNull(settings);
        Preconditions.AboveZero(settings.LimitSigmas);
        foreach (Subgroup subgroup in subgroups)
        {
            Check(subgroup, kind);
        }

        int count = settings.BaselineSubgroups ?? (subgroups.Count - settings.BaselineFirst);
        if (subgroups.Count == 0)
        {
            return Figure<StandardisedSubgroups>.CannotTell("There are no points to draw.");
        }

        if (settings.BaselineFirst < 0 || count < 1 || settings.BaselineFirst + count > subgroups.Count)
        {
            throw new ArgumentException($"The baseline of {count} subgroups from index {settings.BaselineFirst} lies outside the {subgroups.Count} given.", nameof(settings));
        }

        Subgroup[] baseline = [.. subgroups.Skip(settings.BaselineFirst).Take(count).Where(subgroup => subgroup.Size > 0)];
        double size = baseline.Sum(subgroup => subgroup.Size);
        long events = baseline.Sum(subgroup => subgroup.Events);
        if (settings.GivenCentre is null && size <= 0)
        {
            return Figure<StandardisedSubgroups>.CannotTell("The baseline is empty, so there is no centre line.");
        }

        double centre = settings.GivenCentre is { } given ? Preconditions.AboveZero(given, "the given centre") : events / size;
        if (centre <= 0 || (kind == ChartKind.Proportion && centre >= 1))
        {
            return Figure<StandardisedSubgroups>.CannotTell(centre <= 0
                ? "The baseline has no event, so limits cannot be drawn; choose a longer baseline or give a centre line."
                : "Everything in the baseline is an event, so limits cannot be drawn.");
        }

        double spread = kind == ChartKind.Proportion ? centre * (1 - centre) : centre;
        double[] deviations = [.. subgroups.Select(subgroup => subgroup.Size > 0 ? Math.Sqrt(spread / subgroup.Size) : double.NaN)];
        double[] z = [.. subgroups.Select((subgroup, index) => subgroup.Size > 0 ? ((subgroup.Events / subgroup.Size) - centre) / deviations[index] : double.NaN)];
        double sigmaZ = 1;
        if (settings.Overdispersion)
        {
            double[] watched = [.. z.Skip(settings.BaselineFirst).Take(count).Where(double.IsFinite)];
            if (watched.Length < 2)
            {
                return Figure<StandardisedSubgroups>.CannotTell("The baseline has fewer than two points, so the spread between them is not known.");
            }

            double range = 0;
            for (int index = 1; index < watched.Length; index++)
            {
                range += Math.Abs(watched[index] - watched[index - 1]);
            }

            // d₂ of two normal values: 2/√π = 1.12838.
            sigmaZ = range / (watched.Length - 1) / (2 / Math.Sqrt(Math.PI));
            if (sigmaZ <= 0)
            {
                return Figure<StandardisedSubgroups>.CannotTell("All points of the baseline are alike, so the spread between them is not known.");
            }

            for (int index = 0; index < z.Length; index++)
            {
                deviations[index] *= sigmaZ;
                z[index] /= sigmaZ;
            }
        }

        return Figure<StandardisedSubgroups>.Measured(new StandardisedSubgroups(centre, sigmaZ, events, size, settings.BaselineFirst, count, deviations, z));
    }

    /// <summary>Whether a subgroup helped to set the limits.</summary>
    /// <param name="index">Index of the subgroup.</param>
    public bool InBaseline(int index) => index >= First && index < First + Count;

    private static void Check(Subgroup subgroup, ChartKind kind)
    {
        if (!double.IsFinite(subgroup.Size) || subgroup.Size < 0)
        {
            throw new ArgumentException($"The size of {subgroup.Label} is {subgroup.Size}; it must be finite and 0 or more.");
        }

        if (subgroup.Events < 0 || (subgroup.Size == 0 && subgroup.Events > 0))
        {
            throw new ArgumentException($"The events of {subgroup.Label} are {subgroup.Events} of {subgroup.Size}; they must be 0 or more, and 0 where nothing was done.");
        }

        if (kind == ChartKind.Proportion && (subgroup.Size != Math.Floor(subgroup.Size) || subgroup.Events > subgroup.Size))
        {
            throw new ArgumentException($"{subgroup.Label} has {subgroup.Events} events of {subgroup.Size}; a p chart takes whole numbers, with no more events than exposures.");
        }

        if (kind == ChartKind.Count && subgroup.Size is not 0 and not 1)
        {
            throw new ArgumentException($"The size of {subgroup.Label} is {subgroup.Size}; on a c chart each is 1.");
        }
    }
}
