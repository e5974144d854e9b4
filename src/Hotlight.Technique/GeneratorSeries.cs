using Hotlight.Core;

namespace Hotlight.Technique;

/// <summary>The mAs that a generator can be set to: a decade of preferred numbers, repeated by tens.</summary>
/// <param name="Id">Key: "r10", "r10-rounded" or "r20".</param>
/// <param name="Name">Name in the standard.</param>
/// <param name="Decade">The values from 1 up to, and without, 10, rising.</param>
public sealed record GeneratorSeries(string Id, string Name, IReadOnlyList<double> Decade)
{
    /// <summary>Ten steps a decade, ISO 3: each step is one deviation index. [preferred-numbers]</summary>
    public static GeneratorSeries R10 { get; } = new("r10", "R10", [1.00, 1.25, 1.60, 2.00, 2.50, 3.15, 4.00, 5.00, 6.30, 8.00]);

    /// <summary>Ten steps a decade with 3.2 in place of 3.15, as many consoles print it (ISO 497, from memory). [iso-497]</summary>
    public static GeneratorSeries R10Rounded { get; } = new("r10-rounded", "R'10", [1.00, 1.25, 1.60, 2.00, 2.50, 3.20, 4.00, 5.00, 6.30, 8.00]);

    /// <summary>Twenty steps a decade, ISO 3. [preferred-numbers]</summary>
    public static GeneratorSeries R20 { get; } = new("r20", "R20", [1.00, 1.12, 1.25, 1.40, 1.60, 1.80, 2.00, 2.24, 2.50, 2.80, 3.15, 3.55, 4.00, 4.50, 5.00, 5.60, 6.30, 7.10, 8.00, 9.00]);

    /// <summary>The series there are.</summary>
    public static IReadOnlyList<GeneratorSeries> All { get; } = [R10, R10Rounded, R20];

    /// <summary>The step nearest in ratio, so that the deviation index is moved least.</summary>
    /// <param name="mas">mAs, 10⁻⁶ to 10⁶.</param>
    public double NearestMas(double mas)
    {
        double exponent = Math.Floor(Math.Log10(Preconditions.Within(mas, 1e-6, 1e6)));
        double nearest = 0;
        double least = double.PositiveInfinity;
        for (int decade = (int)exponent - 1; decade <= (int)exponent + 1; decade++)
        {
            foreach (double value in Decade)
            {
                // Divided by an exact power of ten where the decade lies below 1: 0.315, not 0.31500000000000006.
                double step = decade < 0 ? value / Math.Pow(10, -decade) : value * Math.Pow(10, decade);
                double distance = Math.Abs(Math.Log(step / mas));
                if (distance < least)
                {
                    least = distance;
                    nearest = Math.Round(step, Math.Max(0, 2 - decade));
                }
            }
        }

        return nearest;
    }
}

/// <summary>The generator's step for a wanted mAs, and what rounding to it does.</summary>
/// <param name="Series">Key of the series.</param>
/// <param name="Mas">The step, in mAs.</param>
/// <param name="DeviationIndexShift">Deviation index that rounding adds, 10 · log10(step / wanted).</param>
public sealed record GeneratorStep(string Series, double Mas, double DeviationIndexShift);
