using Hotlight.Core;

namespace Hotlight.Statistics.Trends;

/// <summary>A change of the target exposure index.</summary>
/// <param name="Index">Index of the first entry with the new target.</param>
/// <param name="From">Target before.</param>
/// <param name="To">Target after.</param>
/// <param name="DeviationIndexShift">By how much the deviation index of one and the same exposure moves: −10·log₁₀(to/from).</param>
public sealed record TargetStep(int Index, double From, double To, double DeviationIndexShift);

/// <summary>Finds where the target exposure index was changed, since that moves the deviation index without any exposure having changed.</summary>
public static class TargetDrift
{
    /// <summary>Every change of the target, in order.</summary>
    /// <remarks>Method: DI = 10·log₁₀(EI/EI_T) (IEC 62494-1), so a target raised from a to b lowers it by 10·log₁₀(b/a).</remarks>
    /// <param name="targets">Target exposure indices in order of time, of one room and projection, all above 0; null where the record has none, which is passed over.</param>
    /// <exception cref="ArgumentOutOfRangeException">A target is not finite and above 0.</exception>
    public static IReadOnlyList<TargetStep> Steps(IReadOnlyList<double?> targets)
    {
        ArgumentNullException.ThrowIfNull(targets);
        List<TargetStep> steps = [];
        double? before = null;
        for (int index = 0; index < targets.Count; index++)
        {
            if (targets[index] is not { } target)
            {
                continue;
            }

            Preconditions.AboveZero(target, "a target");
            if (before is { } old && old != target)
            {
                steps.Add(new TargetStep(index, old, target, -10 * Math.Log10(target / old)));
            }

            before = target;
        }

        return steps;
    }
}
